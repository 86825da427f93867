"""Low hurdles: under the highest point, at heights the young may meet, and honestly unchecked."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.stances import GRAVITY
from layout.plan.drill import catalogue
from layout.plan.hurdles import (
    UNCHECKED,
    cm,
    flight_text,
    greatest,
    height_of,
    hurdles_for,
    sideways,
    signed_cm,
)
from layout.rules.standing import CONE, CONE_AGE, YOUNG_AGE, YOUNG_MOST, hurdle_allowed, standing
from layout.words.trade import LEVELS
from tests import strategies as own
from tests.published import published

LOAD = {row["id"]: row for row in published("load.toml")}
DRILLS = [s for s, d in catalogue().items() if d.hurdle]
TABLE: dict[str, Any] = {
    "name": "A",
    "stature": 1.7,
    "mass": 60,
    "leg": "right",
    "target": 11.0,
    "strides": 12,
}


def test_the_drills_with_hurdles_are_there() -> None:
    assert len(DRILLS) >= 4


@pytest.mark.parametrize("slug", DRILLS)
@pytest.mark.parametrize("name", own.CLUB)
def test_hurdles_stand_under_the_highest_point(name: str, slug: str) -> None:
    plan = own.plan(name, slug, "track")
    rule = catalogue()[slug].hurdle
    assert rule is not None
    assert [h.flight for h in plan.hurdles] == list(rule.under)
    for hurdle in plan.hurdles:
        flight = plan.flights[hurdle.flight]
        assert hurdle.x == pytest.approx(flight.apex_x)
        assert plan.contacts[hurdle.flight].x < hurdle.x < plan.contacts[hurdle.flight + 1].x
        top = height_of(flight, hurdle.x)
        assert top == pytest.approx(flight.apex_z)
        assert top >= max(height_of(flight, hurdle.x + d) for d in (-0.2, -0.05, 0.05, 0.2))
        assert hurdle.body_above == pytest.approx(flight.apex_z - hurdle.height)
        assert hurdle.checked == UNCHECKED == "not checked for clearance"
        assert hurdle.clearing is None
        assert any(n.code == "hurdle-unchecked" and UNCHECKED in n.text for n in plan.warnings)


@pytest.mark.parametrize("slug", DRILLS)
@pytest.mark.parametrize("leg", ["right", "left"])
def test_beside_stands_clear_of_the_feet_on_the_free_leg_s_side(slug: str, leg: str) -> None:
    plan = own.plan({**TABLE, "leg": leg}, slug, "track")
    feet = [abs(c.y) for c in plan.contacts]
    for hurdle in plan.hurdles:
        if hurdle.place == "beside":
            side = 1 if leg == "right" else -1  # y is positive to the left
            assert side * hurdle.y0 > 0
            assert side * hurdle.y1 > 0
            assert min(abs(hurdle.y0), abs(hurdle.y1)) > max(feet) + 0.1
        else:
            assert hurdle.y0 == -hurdle.y1 < 0
        assert max(abs(hurdle.y0), abs(hurdle.y1)) < plan.place.width / 2
    assert not any(n.code in ("misplaced", "underfoot") for n in plan.warnings)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("slug", DRILLS)
def test_the_grown_meet_the_drill_s_own_height(slug: str, level: str) -> None:
    plan = own.plan({**TABLE, "level": level, "born": 2000}, slug, "track")
    rule = catalogue()[slug].hurdle
    assert rule is not None
    wanted = rule.heights[LEVELS.index(level)]
    for hurdle in plan.hurdles:
        assert 100 * hurdle.height == pytest.approx(wanted)
        assert round(100 * hurdle.height) in LOAD["hurdle-heights"]["heights"]
        assert hurdle.thing == "hurdle"


@given(
    st.integers(8, 17),
    st.sampled_from(LEVELS),
    st.sampled_from(DRILLS),
    st.none() | st.floats(0.05, 0.60),
)
def test_the_young_meet_low_ones_whatever_is_asked(
    age: int, level: str, slug: str, asked: float | None
) -> None:
    plan = own.plan("imka", slug, "track")
    found = hurdles_for(catalogue()[slug], plan.flights, level, age, "right", asked)
    cone = LOAD["under-twelve-obstacle"]
    for hurdle in found:
        if age < cone["age"]:
            assert 100 * hurdle.height <= cone["height"]
            assert hurdle.thing == "cone"
        elif age < YOUNG_AGE:
            assert hurdle.height <= YOUNG_MOST
        elif asked is not None:
            assert hurdle.height == asked


def test_a_height_lowered_for_the_young_is_said() -> None:
    """The coach asked for 40 cm: what stands there instead is told, not only done."""
    plan = own.plan("bram", "two-hops-step-beside", "track", hurdle=0.40)
    assert {h.height for h in plan.hurdles} == {YOUNG_MOST}
    assert any(f"{100 * YOUNG_MOST:.0f} cm" in n.text for n in plan.notes)


@pytest.mark.parametrize(
    ("age", "height", "thing"),
    [(8, 0.05, "cone"), (11, 0.05, "cone"), (12, 0.23, "hurdle"), (14, 0.23, "hurdle"),
     (15, 0.50, "hurdle"), (30, 0.50, "hurdle")],
)  # fmt: skip
def test_heights_by_age(age: int, height: float, thing: str) -> None:
    """From 12 a low hurdle, from 15 the coach's own; of unknown age a cone, lower ones as they are."""
    assert hurdle_allowed(0.50, age) == (height, thing)
    assert hurdle_allowed(0.03, age)[0] == 0.03
    assert hurdle_allowed(0.50, standing(None, "advanced", 9.0, own.ON).age) == (0.05, "cone")


def test_youth_limits_are_conservative() -> None:
    cone = LOAD["under-twelve-obstacle"]
    assert (cone["age"], cone["height"]) == (CONE_AGE, 100 * CONE)
    for row in ("wedge-age-9-11", "wedge-age-12-14"):
        assert LOAD[row]["height"] >= 100 * YOUNG_MOST


def test_no_hurdle_without_a_rule() -> None:
    plan = own.plan("imka", "alternate-bounds", "track")
    assert plan.hurdles == ()
    assert (
        hurdles_for(catalogue()["alternate-bounds"], plan.flights, "advanced", 20, "right", 0.3)
        == ()
    )


def test_every_cycle_gets_its_own() -> None:
    plan = own.plan("tevin", "two-hops-step-beside", "track", cycles=3)
    assert [h.flight for h in plan.hurdles] == [1, 2, 4, 5, 7, 8]


@given(st.floats(-2, 2))
def test_height_is_the_parabola(ahead: float) -> None:
    flight = own.plan("imka", "hop-step-sand").flights[0]
    assert height_of(flight, flight.start_x) == pytest.approx(flight.start_z)
    assert height_of(flight, flight.end_x) == pytest.approx(flight.end_z)
    time = ahead / flight.vx
    wanted = flight.apex_z - GRAVITY * time * time / 2
    assert height_of(flight, flight.apex_x + ahead) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("level", LEVELS)
def test_of_unknown_age_they_are_cones_at_any_level(level: str) -> None:
    plan = own.plan({**TABLE, "level": level}, DRILLS[0], "track", hurdle=0.50)
    assert {(h.height, h.thing) for h in plan.hurdles} == {(CONE, "cone")}


# --- what a checked one is told by ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("room", "age", "most"),
    [(-0.1, 25, 0.0), (0.099, 25, 0.0), (0.10, 25, 0.05), (0.199, 25, 0.05), (0.20, 25, 0.15),
     (0.28, 25, 0.23), (0.279, 25, 0.15), (0.35, 25, 0.30), (0.349, 25, 0.23), (1.0, 8, 0.05),
     (1.0, 11, 0.05), (1.0, 12, 0.23), (1.0, 14, 0.23), (0.55, 15, 0.50)],
)  # fmt: skip
def test_the_greatest_leaves_5_cm_and_keeps_the_youth_limit(
    room: float, age: int, most: float
) -> None:
    assert greatest(room, age) == most


@given(st.floats(0.0, 0.6), st.floats(0.0, 0.3))
def test_more_room_never_offers_less(room: float, more: float) -> None:
    assert greatest(room + more, 25) >= greatest(room, 25)


@given(st.floats(-2.0, 2.0))
def test_centimetres_are_never_kinder_than_they_are(gap: float) -> None:
    shown = signed_cm(gap)
    value = int(shown[1:].removesuffix(" cm")) * (1 if shown[0] == "+" else -1)
    assert value / 100 <= gap + 1e-7
    assert gap < value / 100 + 0.01 + 1e-7
    assert shown[1:] == cm(gap)


def test_flights_are_named_as_a_coach_does() -> None:
    plan = own.plan("tevin", "three-hops-step-over", "track")
    names = [flight_text(plan, f.number) for f in plan.flights]
    assert names == ["hop 1", "hop 2", "hop 3", "step"]


def test_sideways_is_for_those_beside_only() -> None:
    over = own.plan("tevin", "three-hops-step-over", "track")
    assert [sideways(h, over.contacts, 0.27) for h in over.hurdles] == [None] * 3
    beside = own.plan("tevin", "three-hops-step-beside", "track")
    room = [sideways(h, beside.contacts, 0.27) for h in beside.hurdles]
    assert all(r is not None and r > 0.1 for r in room)
    # Before the step every landing is on the other side; the step's is on the hurdle's own.
    assert room[0] == room[1]
    assert room[2] == pytest.approx((room[0] or 0) - 0.16)
