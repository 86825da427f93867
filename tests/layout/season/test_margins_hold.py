"""Forecasts of jumpers who are not the planner's: how often the margin holds what is jumped."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest

from animate.body.body import Array
from layout.athlete.ability import ability
from layout.athlete.athlete import Athlete, athlete_from
from layout.athlete.march import STAND_SPEED, Chain
from layout.book.record import Group, Kind, Record
from layout.plan.made import _forecast, wider
from layout.season.refit import calibrated, refit
from tests.impulse import Jumper, contact, drawn, flight, jumped, speed_after
from tests.layout.season.season_cases import HS, HSJ

DRILLS = (
    (HSJ, 4, True), (HSJ, 6, True), (HSJ, 8, True), (HS, 4, True), (HS, 6, True), (HSJ, 0, True),
    (("hop",) * 5, 4, False), (("step",) * 6, 6, False), (("hop", "hop", "step"), 6, True),
)  # fmt: skip
JUMPED = ((HSJ, None), (HSJ, 4), (HSJ, 8), (HS, 6), (HSJ, 0))
"""What a season has; the rest of `DRILLS` is new to the athlete."""
MIDDLE = 0.016
"""How far the middle of six attempts lies off, as a share of a phase."""
CASES = range(20_000, 20_060)
"""Fresh: the margins were set by others, 500 to 559."""


@lru_cache(maxsize=128)
def case(seed: int) -> tuple[Jumper, Athlete] | None:
    """A jumper and their athlete file; None where the jump is none that is seen."""
    who = drawn(np.random.default_rng(seed))
    full = jumped(who, HSJ, who.strides, True)
    total, shares = float(full.sum()), full / full.sum()
    if not 9.0 < total < 17.5 or shares.min() < 0.22 or shares.max() > 0.44:
        return None
    phases = "/".join(f"{d:.2f}" for d in full) + " m"
    table: dict[str, Any] = {
        "name": "A", "stature": round(who.stature, 2), "mass": round(who.mass), "leg": "left",
        "best": round(total, 2), "best_phases": phases, "target": round(total, 2), "split": phases,
        "strides": who.strides, "level": "intermediate", "born": 2000,
    }  # fmt: skip
    return who, athlete_from(table)


def season(who: Jumper, rng: np.random.Generator, count: int = 12) -> Record:
    """Attempts with 4 % of noise, run-ups timed."""
    groups, totals, speeds, row = [], [], [], 0
    for moves, few in JUMPED:
        strides = who.strides if few is None else few
        lengths = jumped(who, moves, strides, True)
        lengths = lengths * (1.0 + 0.04 * rng.standard_normal((count, len(moves))))
        kind = Kind("x", "x", moves, ("natural",) * len(moves), None, strides, True, strides == 0,
                    few is None, ())  # fmt: skip
        groups.append(Group(kind, np.arange(row, row + count), lengths))
        totals.append(lengths.sum(axis=1))
        timed = speed_after(who, strides) + 0.08 * rng.standard_normal(count) if strides else np.nan
        speeds.append(np.full(count, timed))
        row += count
    at, nothing = np.arange(row), np.full(row, np.nan)
    return Record(
        day=738000 + at % 20, session=at % 20, runs=np.ones(row, np.int64),
        contacts=np.full(row, 4), foul=np.zeros(row, bool), total=np.concatenate(totals),
        speed=np.concatenate(speeds), knee_gap=nothing, groups=tuple(groups), id=at + 1,
        wind=nothing, behind=nothing, said=(None,) * row,
    )  # fmt: skip


def off(who: Jumper, athlete: Athlete, rng: np.random.Generator) -> list[tuple[Array, Array]]:
    """Error in margins, and the margin [m], of every phase of `DRILLS` the athlete has strides for."""
    able, out = ability(athlete), []
    for moves, strides, sand in DRILLS:
        if strides >= who.strides:
            out.append((np.zeros(0), np.zeros(0)))
            continue
        stand = athlete.calibration.stand_speed or STAND_SPEED * able.form.entry
        entry = able.run.run_up(strides)[0] if strides else stand
        chain = Chain(moves, ("natural",) * len(moves), sand, strides == 0)
        made, sure = _forecast(athlete, able, chain, entry)
        jump = jumped(who, moves, strides, sand) * (1.0 + MIDDLE * rng.standard_normal(len(moves)))
        out.append(((jump - made.length[:, 0]) / sure, sure))
    return out


@lru_cache(maxsize=4)
def every(how: str) -> list[list[tuple[Array, Array]]]:
    """`off` of each case: untimed, timed, or fitted to a season."""
    out = []
    for seed in CASES:
        found = case(seed)
        if found is None:
            continue
        (who, athlete), rng = found, np.random.default_rng(seed)
        if how == "timed":
            athlete = replace(
                athlete, speed=round(who.speed * (1 + 0.015 * rng.standard_normal()), 2)
            )
        if how == "fitted":
            athlete = calibrated(athlete, refit(athlete, season(who, rng)))
        out.append(off(who, athlete, rng))
    return out


def _covered(how: str) -> tuple[float, float]:
    size = np.abs(np.concatenate([z for one in every(how) for z, _ in one]))
    return float((size < 1.0).mean()), float((size < 2.0).mean())


@pytest.mark.parametrize("how", ["untimed", "timed", "fitted"])
def test_one_margin_covers_about_two_thirds_and_two_nearly_all(how: str) -> None:
    one, two = _covered(how)
    assert 0.60 <= one <= 0.75
    assert 0.92 <= two <= 0.98


def test_a_fit_narrows_the_margin_of_what_was_measured_and_less_of_what_is_new() -> None:
    def mean(how: str, drills: range) -> float:
        return float(np.mean(np.concatenate([one[i][1] for one in every(how) for i in drills])))

    assert mean("fitted", range(6)) < 0.70 * mean("untimed", range(6))
    assert mean("fitted", range(6, 9)) > 1.5 * mean("fitted", range(6))
    assert wider(("step", "jump")).tolist() == [1.0, 1.0]


def test_the_jumpers_are_like_those_that_were_measured() -> None:
    """Contact times of .10 to .20 s in rising order, less speed lost at the board than at the jump, and a
    step that is the shortest phase: of the middle jumper."""
    rows = []
    for seed in CASES:
        who = drawn(np.random.default_rng(seed))
        vx, fall, one = who.speed, -0.35, []
        for i, move in enumerate(HSJ):
            out, up, time = contact(who, ("run", "hop", "step")[i], move, vx, fall)
            one += [time, 1.0 - out / vx]
            vx, (_, fall) = out, flight(who, out, up, "sand" if i == 2 else move)
        rows.append([*one, *jumped(who, HSJ, who.strides, True)])
    t0, loss0, t1, loss1, t2, loss2, hop, step, jump = np.median(rows, axis=0)
    assert 0.10 < t0 < t1 < t2 < 0.20
    assert 0.03 < loss0 < loss1 < loss2 < 0.17
    assert step < min(hop, jump)
