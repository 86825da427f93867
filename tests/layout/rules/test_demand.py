"""What a run demands is computed; a file may ask for more care than that, never for less."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.plan.drill import catalogue, drills_from
from layout.rules.demand import INTENSITIES, ROWS, Demand, demand_of
from layout.training.rungs import ladder, ladder_from
from layout.words.faults import BadInput
from layout.words.trade import LEVELS, MOVES
from tests.published import published

SHOCK_AGE: int = next(r["age"] for r in published("load.toml") if r["id"] == "shock-youngest")
FULL: dict[str, Any] = {
    "title": "Easy", "job": "Relabelled.", "phases": ["hop", "step", "jump"], "ends": "sand",
    "level": "beginner", "youngest": 6, "intensity": "low", "points": ["Tall."],
    "dose": {"beginner": [2, 3], "intermediate": [3, 3], "advanced": [3, 4]},
    "faults": ["Knees together -> hurried -> wait."],
}  # fmt: skip
runs = st.lists(st.sampled_from(MOVES[:2]), min_size=1, max_size=12)
strides = st.integers(0, 24)


def _weight(demand: Demand) -> tuple[int, int, int, int]:
    return (
        demand.youngest, LEVELS.index(demand.level), INTENSITIES.index(demand.intensity),
        demand.contacts,
    )  # fmt: skip


def _no_less(one: Demand, other: Demand) -> bool:
    return all(a >= b for a, b in zip(_weight(one), _weight(other), strict=True))


@pytest.mark.parametrize("slug", catalogue())
def test_the_catalogue_asks_no_less_than_its_runs_demand(slug: str) -> None:
    drill = catalogue()[slug]
    over = drill.hurdle is not None and drill.hurdle.place == "over"
    run_up = 24 if drill.full else drill.strides
    computed = demand_of(drill.chain, run_up, drill.ends == "track", over)
    own = Demand(drill.youngest, drill.level, drill.intensity, contacts=drill.contacts)
    assert _no_less(own, computed)
    # Calibrated, not slack: what is computed is at most a year under what a coach wrote.
    assert drill.youngest - computed.youngest <= 1


@given(runs, strides, strides, st.booleans(), st.booleans(), st.sampled_from([*MOVES, ""]))
def test_more_of_anything_never_demands_less(
    moves: list[str], one: int, more: int, track: bool, over: bool, last: str
) -> None:
    least = demand_of(moves, one, False, False)
    longer = [*moves, last] if last else moves
    assert _no_less(demand_of(longer, max(one, more), track and last != "jump", over), least)


def test_shock_level_starts_at_its_published_age() -> None:
    for youngest, _, intensity in ROWS.values():
        assert intensity != "very high" or youngest >= SHOCK_AGE


@pytest.mark.parametrize(
    ("changed", "fields"),
    [
        ({}, {"youngest", "level", "intensity"}),
        ({"full": True}, {"youngest", "level", "intensity"}),
        ({"strides": 1}, {"youngest", "level", "intensity"}),
        ({"youngest": 16, "level": "intermediate"}, {"intensity"}),
        ({"phases": ["hop", "hop", "step"]}, {"youngest", "level", "intensity"}),
        ({"phases": ["hop", "step"], "strides": 9}, {"youngest", "level", "intensity"}),
        ({"phases": ["step"], "cycles": 4}, {"youngest", "intensity"}),
    ],
)
def test_a_file_that_asks_for_less_care_is_refused(
    changed: dict[str, Any], fields: set[str]
) -> None:
    with pytest.raises(BadInput, match="needed, its run holds") as error:
        drills_from({"drill": {"easy": {**FULL, **changed}}}, "own.toml", "")
    assert {f.field.removeprefix("drill.easy.") for f in error.value.faults} == fields


def test_a_file_may_ask_for_more() -> None:
    more = {"phases": ["hop", "step"], "intensity": "high", "youngest": 15, "level": "advanced"}
    drill = drills_from({"drill": {"easy": {**FULL, **more}}}, "", "")["easy"]
    asked = drill.demand()
    assert (asked.youngest, asked.level, asked.intensity) == (15, "advanced", "high")
    del more["youngest"]
    bare = {k: v for k, v in {**FULL, **more, "level": "beginner"}.items() if k != "youngest"}
    assert drills_from({"drill": {"easy": bare}}, "", "")["easy"].youngest == 12


def test_strides_and_cycles_that_change_the_demand_count() -> None:
    sand, hops = catalogue()["hop-step-sand"], catalogue()["hop-step-hold"]
    assert sand.demand().youngest == sand.demand(strides=6).youngest == 11
    assert [sand.demand(strides=n).youngest for n in (8, 10, 16)] == [13, 15, 16]
    assert sand.demand(strides=8).level == "intermediate"
    assert hops.demand(cycles=2).youngest > hops.demand().youngest
    assert catalogue()["alternate-bounds"].demand(cycles=12).contacts == 13


@pytest.mark.parametrize(
    ("spoil", "field"),
    [
        (lambda r: {**r, "drill": "hop-step-sand", "strides": 10, "youngest": 11}, "youngest"),
        (lambda r: {**r, "drill": "hop-step-sand", "strides": 10, "level": "beginner"}, "level"),
        (lambda r: {**r, "drill": "full-triple-jump", "youngest": 6}, "youngest"),
        (lambda r: {**r, "drill": "hop-step-hold", "cycles": 3, "level": "beginner"}, "level"),
    ],
)
def test_a_rung_asks_for_no_less_than_its_version(
    spoil: Callable[[dict[str, Any]], dict[str, Any]], field: str
) -> None:
    rung = {"title": "Mine", "height": 1}
    with pytest.raises(BadInput, match="needed for this version") as error:
        ladder_from({"rung": {"mine": spoil(rung)}}, "own.toml", "")
    assert [f.field for f in error.value.faults] == [f"rung.mine.{field}"]


def test_a_rung_that_says_nothing_asks_what_its_version_demands() -> None:
    rung = {"title": "Mine", "height": 1, "drill": "hop-step-sand", "strides": 10}
    (made,) = ladder_from({"rung": {"mine": rung}}, "", "").rungs
    assert (made.youngest, made.level, made.intensity, made.rest) == (
        15, "intermediate", "high", 72,
    )  # fmt: skip


def test_rungs_as_shipped_are_no_harder_than_they_say() -> None:
    for rung in ladder().rungs:
        assert (rung.demand.youngest, rung.demand.level) == (rung.youngest, rung.level)
