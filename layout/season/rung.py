"""The rung an athlete is on, what the book saw of them there, and the marks of the next."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from animate.motion.measure_table import MEASURE
from layout.athlete.athlete import Athlete
from layout.book.pictures import Kept
from layout.book.record import Group, Kind, Record
from layout.plan.drill import Drill
from layout.plan.spacing import Choices, make_plan
from layout.plan.venue import Venue
from layout.season.positions import INSTANT
from layout.season.told import Told
from layout.training.rungs import Ladder, Rung
from layout.words.dates import iso, said_day
from layout.words.faults import BadInput
from layout.words.names import counted

SPACED: Final = 3
"""Drills whose new spacing is shown beside the next rung's (ours)."""


@dataclass(frozen=True)
class Spacing:
    """Marks of one drill before and after the refit."""

    title: str
    strides: int
    phases: tuple[str, ...]
    # before, after: phases [m]
    before: tuple[float, ...]
    after: tuple[float, ...]
    # start_before, start_after: start mark [m]
    start_before: float
    start_after: float
    next: bool  # whether it is the next rung's


def spacings_of(
    athlete: Athlete,
    refitted: Athlete | None,
    tolds: Sequence[Told],
    goal: Rung | None,
    drills: Mapping[str, Drill],
    venue: Venue,
    on: datetime.date,
) -> tuple[Spacing, ...]:
    """Old and new marks of the next rung and of what was jumped most."""
    if refitted is None:
        return ()
    asked: list[tuple[Drill, Choices, bool]] = []
    if goal is not None:
        asked.append((goal.drill, goal.choices, True))
    for told in tolds:
        drill = drills.get(told.kind.drill)
        if drill is None or drill.full or len(asked) > SPACED:
            continue
        strides = told.kind.strides if drill.start == "run" and told.kind.strides else None
        arcs = {a for m, a in zip(told.kind.phases, told.kind.arcs, strict=False) if m == "hop"}
        arc = arcs.pop() if len(arcs) == 1 and arcs != {"natural"} else None
        cycles = len(told.kind.phases) // len(drill.moves)
        if told.kind.phases != drill.moves * cycles:
            continue
        choices = Choices(
            strides=strides, arc=arc, cycles=cycles if cycles != drill.cycles else None
        )
        if (drill, choices) not in [(d, c) for d, c, _ in asked]:
            asked.append((drill, choices, False))
    out = []
    for drill, choices, is_next in asked:
        try:
            before = make_plan(athlete, drill, venue, on, choices)
            after = make_plan(refitted, drill, venue, on, choices)
        except BadInput:
            continue  # a drill that cannot be planned here has no marks to show
        out.append(Spacing(
            before.title, before.approach.strides, tuple(f.phase for f in before.flights),
            tuple(f.length for f in before.flights), tuple(f.length for f in after.flights),
            before.approach.length, after.approach.length, is_next,
        ))  # fmt: skip
    return tuple(out)


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
    record: Record,
    ladder: Ladder,
    athlete: Athlete,
    at: str | None,
    on: datetime.date,
    sights: Sequence[Kept] = (),
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """What the book saw of an athlete on their present rung.

    `athlete`: with the strides of the full approach that plans count with. `at`: the rung, where a
    coach named it; else the highest that was jumped in the last four weeks before the latest
    attempt. `sights`: what was measured on pictures. Returns a table for
    `layout.training.seen.observed_from`, and the same in words.
    """
    rungs = ladder.rungs if at is None else (ladder.find(at),)
    words: list[str] = []
    if not len(record):
        since = iso(on.toordinal() - LATELY)
        return _filmed([k for k in sights if k.day > since], words), tuple(words)
    latest = int(record.day.max())
    recent = latest - LATELY
    if on.toordinal() - latest > LATELY:
        since = said_day(latest)
        words.append(
            f"nothing since {since}: come back a rung lower and build up (Phasemark's rule)"
        )
    here = None
    for rung in rungs:
        groups = [g for g in record.groups if matches(rung, g.kind, athlete.strides)]
        if any((record.day[g.rows] > recent).any() for g in groups):
            here = rung, groups
    table = _shape_seen(record, recent, words)
    table |= _filmed([k for k in sights if k.day > iso(recent)], words)
    if here is None:
        what = (
            "no drill of the last four weeks is a rung" if at is None else f"{at} not jumped lately"
        )
        return table, (*words, what)
    rung, groups = here
    sessions = int(np.unique(record.session[np.concatenate([g.rows for g in groups])]).size)
    table |= {"at": rung.slug, "sessions": min(sessions, 500)}
    words.append(f"on {rung.title}, {counted(sessions, 'session')}")
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


def _filmed(sights: Sequence[Kept], words: list[str]) -> dict[str, Any]:
    """Knee gap at the step and contact time from pictures, before what was typed; words are added to."""
    table: dict[str, Any] = {}
    at_step = [k for k in sights if k.instant == INSTANT]
    for name, measure, seen, low, high in (
        ("knee_gap", MEASURE["knee_gap"], at_step, -0.5, 1.0),
        ("contact", MEASURE["contact_time"], sights, 0.08, 1.0),
    ):
        each = [k.measures[measure.name] for k in seen if measure.name in k.measures]
        found = [pair for pair in each if low <= pair[0] <= high]
        if found:
            value, margin = np.median(np.array(found), axis=0).tolist()
            table[name] = measure.shown(value)
            count = counted(len(found), "picture")
            words.append(f"{measure.label} {measure.with_margin(value, margin)} from {count}")
    return table


def _shape_seen(record: Record, recent: int, words: list[str]) -> dict[str, Any]:
    """Knee gap and step share, wherever they were seen; words are added to."""
    table: dict[str, Any] = {}
    gaps = record.knee_gap[record.day > recent]
    gaps = gaps[np.isfinite(gaps) & (np.abs(gaps) <= 0.5)]
    if gaps.size:
        table["knee_gap"] = f"{100 * float(np.median(gaps)):.1f} cm"
        words.append(f"knee gap {table['knee_gap']}, as put down")
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
