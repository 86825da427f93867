"""Hurdles of shared marks: held against the feet of everybody whose motion is at hand."""

from __future__ import annotations

import datetime

import pytest

from animate.motion.clearance import clearance, sweep_of
from layout.moving.clearing import cleared
from layout.moving.solved import motion_of
from layout.plan.drill import find_drill
from layout.plan.hurdles import MARGIN, SLACK
from layout.plan.value import Plan
from layout.plan.venue import find_venue
from layout.squad.batch import Runner, Settings, shared_out
from layout.squad.feet import STALE, room_over
from layout.squad.laid import SetOut
from layout.squad.sets import Tolerance
from tests.strategies import plan

OVER = "two-hops-step-over"


@pytest.fixture(scope="module", autouse=True)
def solved() -> None:
    """The motions of two of the demo's athletes, kept where the tests' motions are."""
    for who in ("odalys", "tevin"):
        motion_of(plan(who, OVER, "club"))


def laid(
    drill: str, names: tuple[str, ...], sets: int, feet: bool = True, hurdle: float | None = None
) -> SetOut:
    settings = Settings(find_venue("club"), datetime.date(2026, 11, 27), sets=sets,
                        tolerance=Tolerance(0.5))  # fmt: skip
    runners = [Runner(plan(who, drill, "club", hurdle=hurdle), 1.0, False) for who in names]
    return shared_out(runners, (), find_drill(drill), settings, feet)[0]


def own(who: str) -> Plan:
    made = plan(who, OVER, "club")
    return cleared(made, motion_of(made))


def test_own_marks_have_the_hurdle_where_the_athletes_own_sheet_has_it() -> None:
    for item in laid(OVER, ("odalys", "tevin"), 2).sets:
        wanted = own(item.athletes[0].name.lower())
        assert [h.x for h in item.hurdles] == pytest.approx([h.x for h in wanted.hurdles])


def test_who_has_too_little_room_on_shared_marks_is_named_with_what_mends_it() -> None:
    for who in ("odalys", "tevin"):
        motion_of(plan(who, OVER, "club", hurdle=0.40))
    made = laid(OVER, ("odalys", "tevin"), 1, hurdle=0.40)
    (note,) = [n for n in made.notes if n.code in ("hurdle-hit", "hurdle-tight")]
    assert note.grave
    assert note.text.startswith("Set A, the 40 cm hurdle in the step: too little room for Odalys; ")
    assert note.text.endswith(" Lower it to 30 cm.")
    assert not [n for n in made.notes if n.code == STALE]
    told = next(n for n in made.notes if n.code == "hurdle-held")
    assert "Odalys, Tevin" in told.text


@pytest.mark.parametrize("who", ["odalys", "tevin"])
def test_the_room_is_the_least_of_the_own_motion_laid_from_either_mark(who: str) -> None:
    (item,) = laid(OVER, ("odalys", "tevin"), 1).sets
    made = plan(who, OVER, "club")
    sweep = sweep_of(motion_of(made))
    for number, hurdle in enumerate(item.hurdles):
        flight = made.hurdles[number].flight
        ends = [made.contacts[k].x + hurdle.x - item.xs[k] for k in (flight, flight + 1)]
        tries = [x + d for x in (*ends, sum(ends) / 2) for d in (-SLACK, 0.0, SLACK)]
        seen = min(clearance(sweep, x, hurdle.height).z for x in tries)
        found = room_over(made, item, number)
        assert found <= seen + 0.001
        if max(ends) - min(ends) < 0.02:
            assert found == pytest.approx(seen, abs=0.03)
        assert found > MARGIN


def test_of_whom_no_motion_is_at_hand_it_is_said_and_no_more_is_promised() -> None:
    made = laid("three-hops-step-beside", ("imka", "sefa"), 1)
    (note,) = [n for n in made.notes if n.code == STALE]
    assert "Imka, Sefa" in note.text
    assert "line or a cone first" in note.text
    assert not [n for n in made.notes if n.code == "hurdle-held"]


def test_without_looking_nothing_is_promised() -> None:
    codes = {n.code for n in laid(OVER, ("odalys", "tevin"), 1, feet=False).notes}
    assert STALE in codes
    assert "hurdle-held" not in codes
