"""Every published row is held against the program, and the table of them in the docs is fresh."""

from __future__ import annotations

import pytest

from layout.words.trade import LEVELS
from tests.published import moved
from tests.published.held import (
    DOCUMENT,
    META,
    NOT_YET,
    all_figures,
    document,
    figures,
    held,
    rows,
)
from tests.published.noticed import unnoticed

LIMBS = ("trunk", "upper_arm", "forearm", "hand", "thigh", "shank", "foot")
OUTSIDE = ("seen", "memory-high", "memory-medium", "memory-low")
ROWS = rows()
FIVE = {
    "a standing start": ("STAND_SPEED", "stand_speed", 0.06),
    "a low hop": ("march:ARCS[low]", "", 0.13),
    "the fall onto the board": ("carry:RUN_FALL", "", 0.15),
    "the hop's angle": ("carry:ANGLES[0]", "carry:UPWARD[0]", 0.03),
    "the margin of the approach": ("made:SPREAD[entry]", "SPREAD", 0.02),
}
"""Wrong constants that once passed every test of the planner together: name, name after a refit, and by
how much each was wrong at the least."""


def _names(pair: tuple[str, str]) -> str:
    return "/".join(pair)


@pytest.mark.parametrize("key", ROWS, ids=_names)
def test_every_figure_of_every_row_is_read_and_held(key: tuple[str, str]) -> None:
    assert key in held(), "no function of against_*.py holds this row"
    found, seen = figures(key, ROWS[key])
    assert found
    given = {n for f in found for n in f.key.split("[")[0].split("..")}
    numbers = {k for k, v in ROWS[key].items() if isinstance(v, (int, float, list))}
    assert numbers - META - given - seen.asked == set()
    for one in found:
        assert one.held or one.error <= NOT_YET.get(key, 0.0), one


def test_nothing_is_held_that_is_no_row() -> None:
    assert set(held()) <= set(ROWS)
    there = {file for file, _ in ROWS}
    assert {key for key in NOT_YET if key[0] in there} <= set(ROWS)


def test_every_figure_moved_by_three_of_its_margins_is_noticed() -> None:
    assert {key: names for key, row in ROWS.items() if (names := unnoticed(key, row))} == {}


def test_at_least_150_are_from_outside() -> None:
    """Seen or remembered of others; our own algebra and choices do not count."""
    outside = {(f.file, f.row, f.key) for f in all_figures() if f.tag in OUTSIDE}
    assert len(outside) >= 150, len(outside)


def test_the_table_in_the_docs_is_fresh() -> None:
    assert DOCUMENT.read_text(encoding="utf-8") == document(), "run python -m tests.published"


def test_the_table_has_every_constant_of_the_model() -> None:
    text = DOCUMENT.read_text(encoding="utf-8")
    for name in moved.constants():
        assert f"| {name.replace('|', '/')} |" in text, name


@pytest.mark.parametrize("what", FIVE)
def test_wrong_constants_no_longer_pass(what: str) -> None:
    """The table of the docs has another figure, so that its test fails; see also the rows."""
    *names, by = FIVE[what]
    found = [c for c in moved.constants() for n in names if n and str(n) in c]
    assert found
    fresh = document()
    for way in (float(by), -float(by)):
        with moved.moved(found[0], way):
            assert document() != fresh


PINNED = {
    "layout.athlete.march:ARCS[low]": (0.13, "approach/low-hop-rise"),
    "layout.athlete.march:ARCS[high]": (0.05, "approach/high-hop-rise"),
    "layout.athlete.carry:RUN_FALL": (0.15, "approach/last-stride-flight"),
    "layout.athlete.carry:SLOPE_RANGE[0]": (0.08, "mechanics/carry-slope"),
    "layout.athlete.carry:SLOPE_RANGE[1]": (0.24, "mechanics/carry-slope"),
    "layout.athlete.carry:SHOWN_MARGIN": (0.02, "mechanics/vy-bound"),
    "layout.plan.warn:REACH_DOUBT": (0.04, "mechanics/geometry-speed-trade-length"),
    "layout.rules.load:LONGEST_FAST_CONTACT": (0.02, "mechanics/fast-contact-limit"),
    "layout.rules.load:REST[0]": (6.0, "load/rest-between-sessions"),
    "layout.rules.load:REST[1]": (6.0, "load/rest-between-sessions"),
    "layout.rules.budget:YOUTH_SETS": (1.0, "load/youth-sets"),
    "layout.rules.budget:YOUTH_REPS": (1.0, "load/youth-reps"),
    "layout.rules.budget:YOUTH_SESSIONS": (1.0, "load/youth-sessions"),
    "layout.rules.standing:CAREFUL_AGE": (1.0, "load/careful-age"),
    "layout.rules.standing:AGES[1]": (5.0, "load/careful-age"),
    "layout.rules.standing:CONE_AGE": (1.0, "load/under-twelve-obstacle"),
    "layout.rules.standing:CONE": (0.02, "load/under-twelve-obstacle"),
    "layout.rules.ground:INTO_SAND": (0.05, "venue/sand-margin"),
    "layout.rules.ground:FALLS[along]": (50.0, "venue/fall-along"),
    "layout.rules.ground:FALLS[across]": (5.0, "venue/fall-across"),
    "layout.rules.wind:LEGAL_WIND": (0.2, "venue/wind-legal"),
    "layout.rules.wind:WORTH": (0.01, "mechanics/tailwind-worth"),
    "layout.words.split:LEAD": (0.2, "mechanics/dominance-threshold"),
    "animate.body.swing_table:KNEE_BEND_REACHED": (0.05, "swing/knee-bend-most"),
    "animate.body.swing_table:HIP_MOMENT_PER_MASS": (0.2, "swing/hip-moment"),
    "animate.body.body:FOOT_HEIGHT": (0.005, "segments.length/foot_height"),
    **{
        f"layout.rules.budget:BUDGET[{level}][{i}]": (10.0, f"load/contacts-{level}")
        for level in LEVELS for i in (0, 1)
    },
    **{f"layout.plan.drill:HURDLE_HEIGHTS[{i}]": (2.0, "load/hurdle-heights") for i in range(7)},
    **{f"animate.body.body:_LENGTH[{kind}]": (0.005, f"segments.length/{kind}") for kind in LIMBS},
    **{
        f"animate.body.body:_DE_LEVA[{build}][{kind}][{i}]": (0.005, f"segments/{kind}")
        for build in ("male", "female") for kind in ("head", *LIMBS) for i in range(3)
    },
}  # fmt: skip
"""Constants, the margin each may not move by, and a row that no longer holds when it does."""


@pytest.mark.parametrize("name", PINNED)
def test_a_constant_moved_by_its_margin_fails_its_row(name: str) -> None:
    by, where = PINNED[name]
    file, _, slug = where.partition("/")
    row = (file, slug)
    for way in (by, -by):
        with moved.moved(name, way):
            assert not all(f.held for f in figures(row, ROWS[row])[0]), way
    assert all(f.held for f in figures(row, ROWS[row])[0])
