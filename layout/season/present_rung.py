"""The rung an athlete is on, and what the book saw of them there."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from layout.athlete.athlete import Athlete
from layout.book.record import Group, Kind, Record
from layout.training.rungs import Ladder, Rung

LATELY: Final = 28
"""Days back from the latest attempt that place an athlete on the ladder (ours)."""


def matches(rung: Rung, kind: Kind, full: int) -> bool:
    """Whether an attempt was one of a rung's."""
    arcs = rung.drill.arcs * (rung.choices.cycles or rung.drill.cycles)
    phases = rung.drill.moves * (rung.choices.cycles or rung.drill.cycles)
    if rung.choices.arc is not None:
        arcs = tuple(
            rung.choices.arc if m == "hop" else a for m, a in zip(phases, arcs, strict=True)
        )
    strides = 0 if rung.drill.start == "stand" else rung.strides(full)
    here = full if kind.strides is None and kind.full else kind.strides
    return (rung.drill.slug, phases, arcs, strides) == (kind.drill, kind.phases, kind.arcs, here)


def seen_in(
    record: Record, ladder: Ladder, athlete: Athlete, at: str | None, on: datetime.date
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """What the book saw of an athlete on their present rung.

    `athlete`: with the strides of the full approach that plans count with. `at`: the rung, where a
    coach named it; else the highest that was jumped in the last four weeks before the latest
    attempt. Returns A table for `layout.training.seen.observed_from`, and the same in words.
    Refused: the rung named is not on the ladder.
    """
    rungs = ladder.rungs if at is None else (ladder.find(at),)
    if not len(record):
        return {}, ()
    latest = int(record.day.max())
    recent = latest - LATELY
    words = []
    if on.toordinal() - latest > LATELY:
        day = datetime.date.fromordinal(latest).isoformat()
        words.append(f"nothing since {day}: come back a rung lower and build up (Phasemark's rule)")
    here = None
    for rung in rungs:
        groups = [g for g in record.groups if matches(rung, g.kind, athlete.strides)]
        if any((record.day[g.rows] > recent).any() for g in groups):
            here = rung, groups
    table = _shape_seen(record, recent, words)
    if here is None:
        what = (
            "no drill of the last four weeks is a rung" if at is None else f"{at} not jumped lately"
        )
        return table, (*words, what)
    rung, groups = here
    sessions = int(np.unique(record.session[np.concatenate([g.rows for g in groups])]).size)
    table |= {"at": rung.slug, "sessions": min(sessions, 500)}
    words.append(f"on {rung.slug}, {sessions} session{'s' * (sessions != 1)}")
    hit, runs, past = _runs(record, groups, recent, rung.tolerance)
    if past > rung.tolerance and 2 * hit < runs:
        past_cm = f"{100 * past:.0f} cm"
        words.append(f"jumped {past_cm} past the marks: set new ones before runs are judged")
    elif 0 < runs <= 9999:
        table["hit"] = f"{hit}/{runs}"
        words.append(f"{hit} of {runs} runs with every mark within {100 * rung.tolerance:.0f} cm")
        side = "past" if past > 0 else "short of"
        words.append(f"in the middle {100 * abs(past):.0f} cm {side} the last mark")
    return table, tuple(words)


def _runs(
    record: Record, groups: Sequence[Group], recent: int, tolerance: float
) -> tuple[int, int, float]:
    """Runs with every mark met, all runs, and how far the last mark was passed in the middle [m]."""
    hit, runs = 0, 0
    beyond: list[float] = []
    for group in groups:
        if not group.kind.planned:
            continue
        marks = np.cumsum(group.lengths[record.day[group.rows] > recent], axis=1)
        marks = marks[np.isfinite(marks).all(axis=1)]
        far = marks - np.cumsum(group.kind.planned)
        off = np.abs(far).max(axis=1, initial=0.0)
        beyond += far[:, -1].tolist()
        hit, runs = hit + int((off <= tolerance + 1e-9).sum()), runs + len(marks)
    return hit, runs, float(np.median(beyond)) if beyond else 0.0


def _shape_seen(record: Record, recent: int, words: list[str]) -> dict[str, Any]:
    """Knee gap and step share, wherever they were seen; words are added to."""
    table: dict[str, Any] = {}
    gaps = record.knee_gap[record.day > recent]
    gaps = gaps[np.isfinite(gaps) & (np.abs(gaps) <= 0.5)]
    if gaps.size:
        table["knee_gap"] = f"{100 * float(np.median(gaps)):.1f} cm"
        words.append(f"knee gap {table['knee_gap']}")
    share = _step_share(record)
    if share is not None:
        table["step_share"] = round(100 * share, 2)
        words.append(f"step {100 * share:.1f} % of whole jumps")
    return table


def _step_share(record: Record) -> float | None:
    """Middle share of the step in whole jumps."""
    whole = [g.lengths for g in record.groups if g.kind.whole]
    lengths = np.concatenate(whole) if whole else np.zeros((0, 3))
    lengths = lengths[np.isfinite(lengths).all(axis=1)]
    if not len(lengths):
        return None
    share = float(np.median(lengths[:, 1] / lengths.sum(axis=1)))
    return share if 0.1 <= share <= 0.6 else None
