"""Limits of a plan, a drill, a venue and a choice: each begins where the rule says, to the figure."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest

from animate.body.stances import GRAVITY
from layout.athlete.ability import ability
from layout.athlete.bend import whole
from layout.athlete.carry import SLOPE_RANGE, form_from_jump
from layout.athlete.march import march
from layout.plan.drill import Choices, catalogue, drills_from, easier
from layout.plan.hurdles import (
    cm,
    flight_text,
    greatest,
    height_of,
    hurdles_for,
    sideways,
    signed_cm,
    wanted_height,
)
from layout.plan.made import chain_of, likely
from layout.plan.place import board_margins, choose_board
from layout.plan.ranges import apart, out_of_range
from layout.plan.spacing import make_plan
from layout.plan.stored import from_json, to_json
from layout.plan.tape import tape_card
from layout.plan.value import Clearing, Plan
from layout.plan.venue import Footprint, Venue, misplaced, venues, venues_from
from layout.plan.warn import footprints
from layout.rules.standing import standing
from layout.words.split_text import parse_split
from tests import strategies as own
from tests.limits import flips, taken_from_to

OVER = own.plan("imka", "two-hops-step-over", "track")
SAND = own.plan("imka", "full-triple-jump")
CLEARING = Clearing(0.1, 0.1, "foot", 0.2, 1.0, 0.4, 0.3, 0.0, None, ())
PARTS: dict[str, Any] = {
    "Contact": OVER.contacts[1], "Flight": OVER.flights[0], "Hurdle": OVER.hurdles[0], "Who": OVER.who,
    "Clearing": CLEARING, "ApproachPlan": OVER.approach, "Load": OVER.load, "Place": OVER.place,
    "Plan": OVER, "Note": OVER.notes[0],
}  # fmt: skip
X, SPEED, UP, HIGH = (-200, 200), (0, 15), (-10, 5), (-0.5, 3.5)
FIGURES: dict[str, dict[str, tuple[float, float]]] = {
    "Contact": {
        "x": X, "y": (-6, 6), "vx_in": SPEED, "vx": SPEED, "vy_in": UP, "vy": UP, "landing": (-1, 2),
        "ahead": (-1, 2), "height_in": HIGH, "height": HIGH, "time": (0.02, 3), "vertical": (0, 20),
        "braking": (-10, 10),
    },
    "Flight": {
        "length": (0.05, 20), "time": (0.02, 3), "vx": SPEED, "vy": UP, "vy_end": UP, "start_x": X,
        "end_x": X, "apex_x": X, "start_z": HIGH, "end_z": HIGH, "apex_z": HIGH, "plus_minus": (0, 10),
    },
    "Hurdle": {"x": X, "y0": (-12, 12), "y1": (-12, 12), "height": (0.01, 1.2), "body_above": (-3, 4)},
    "Clearing": {
        "gap": (-2, 3), "worst": (-2, 3), "time": (0, 30), "x": X, "z": (-1, 4), "greatest": (0, 3),
        "moved": (-3, 3), "aside": (-12, 12),
    },
    "ApproachPlan": {"strides": (0, 24), "speed": SPEED, "length": (0, 100)},
    "Load": {
        "sets": (0, 99), "runs": (0, 99), "per_run": (0, 99), "contacts": (0, 9999), "left": (0, 99),
        "right": (0, 99), "both": (0, 99), "budget_low": (0, 9999), "budget_high": (0, 9999),
    },
    "Who": {
        "stature": (1.1, 2.3), "mass": (18, 180), "age": (8, 80), "target": (1, 60), "best": (1, 60),
    },
    "Place": {
        "width": (0.5, 12), "start_x": X, "pit_x": X, "end_x": X, "pit_length": (0, 20),
        "pit_width": (0, 12), "board": (0, 30), "lanes": (1, 12), "lane_spacing": (0, 20),
    },
    "Plan": {"total": (0.05, 60)},
}  # fmt: skip
"""What a saved plan may hold, as a coach who edits one meets it (ours)."""
WRITTEN = {
    "Note": {"code": 60, "text": 500, "source": 200}, "Hurdle": {"checked": 300}, "Clearing": {"part": 40},
    "Who": {"name": 80}, "Place": {"slug": 80, "title": 80},
    "Plan": {"date": 10, "drill": 80, "title": 120, "job": 140, "intensity": 40, "finish": 40, "style": 40,
             "despite": 500},
}  # fmt: skip
LISTS: dict[str, tuple[int, Any]] = {
    "contacts": (40, OVER.contacts[0]), "flights": (40, OVER.flights[0]), "hurdles": (40, OVER.hurdles[0]),
    "shares": (40, 0.5), "gaps": (40, 0.5), "points": (6, "x" * 140), "faults": (6, "x" * 180),
    "cautions": (20, "x" * 300), "notes": (60, OVER.notes[0]),
}  # fmt: skip


def wrong(part: str, /, **changed: Any) -> list[str]:
    return [at for at, *_ in out_of_range(dataclasses.replace(PARTS[part], **changed))]


@pytest.mark.parametrize("part", FIGURES)
def test_figures_of_a_saved_plan_are_taken_from_their_least_to_their_most(part: str) -> None:
    assert wrong(part) == []
    for field, (low, high) in FIGURES[part].items():
        off = 1 if field in ("strides", "age", "lanes") or part == "Load" else 0.01
        for value, said in ((low, []), (high, []), (low - off, [field]), (high + off, [field])):
            assert wrong(part, **{field: value}) == said, (field, value)
        assert wrong(part, **{field: math.nan}) == [field]


@pytest.mark.parametrize("part", WRITTEN)
def test_texts_of_a_saved_plan_are_as_long_as_they_may_be(part: str) -> None:
    for field, most in WRITTEN[part].items():
        assert wrong(part, **{field: "x" * most}) == []
        assert wrong(part, **{field: "x" * (most + 1)}) == [field]
        assert wrong(part, **{field: "a\nb"}) == [field]


def test_lists_of_a_saved_plan_hold_as_much_as_they_may() -> None:
    for field, (most, item) in LISTS.items():
        assert wrong("Plan", **{field: (item,) * most}) == []
        assert wrong("Plan", **{field: (item,) * (most + 1)}) == [field]
        if isinstance(item, str):
            assert wrong("Plan", **{field: (item + "x",)}) == [f"{field}[0]"]
    for most, said in ((30, []), (31, ["marks"])):
        assert wrong("ApproachPlan", marks=((1, 2.0),) * most) == said
    for most, said in ((400, []), (401, ["under"])):
        assert wrong("Clearing", under=((1.0, 2.0),) * most) == said
    assert wrong("Clearing", under=((1.0, 200.0),)) == []
    assert wrong("Clearing", under=((1.0, -200.1),)) == ["under[0]"]
    assert wrong("Contact", foot="middle") == ["foot"]


def test_figures_that_belong_together_may_be_two_millimetres_apart() -> None:
    for field in (
        "length",
        "end_x",
        "end_z",
        "vy_end",
        "apex_x",
        "apex_z",
        "vx",
        "vy",
        "start_x",
        "start_z",
    ):
        was = getattr(OVER.flights[1], field)

        def found(off: float, field: str = field, was: float = was) -> set[str]:
            flight = dataclasses.replace(OVER.flights[1], **{field: was + off})
            flights = (OVER.flights[0], flight, *OVER.flights[2:])
            return {at for at, *_ in apart(dataclasses.replace(OVER, flights=flights))}

        assert found(0.0) == set()
        assert f"flights[1].{field}" in found(0.0021)
        assert f"flights[1].{field}" in found(-0.0021)
        assert f"flights[1].{field}" not in found(0.0019)
    shares = (OVER.shares[0] + 0.0021, *OVER.shares[1:])
    assert [w[0] for w in apart(dataclasses.replace(OVER, shares=shares))] == ["shares[0]"]
    lacking = {"ahead": 0, "landing": 1, "height": 0, "height_in": 1, "vx_in": 1, "vy_in": 1}
    for name, at in lacking.items():
        contacts = list(OVER.contacts)
        contacts[at] = dataclasses.replace(contacts[at], **{name: None})
        plan = dataclasses.replace(OVER, contacts=tuple(contacts))
        assert [w[0] for w in apart(plan)] == ["contacts[0]"]


def _spoilt(plan: Plan, **changed: Any) -> list[str]:
    try:
        from_json(to_json(dataclasses.replace(plan, **changed)))
    except ValueError as error:
        return sorted({f.field for f in error.faults})  # type: ignore[attr-defined]
    return []


def test_a_plan_that_does_not_hang_together_says_where() -> None:
    assert _spoilt(SAND) == _spoilt(OVER) == []
    first, last = SAND.contacts[0], SAND.contacts[-1]
    over = dataclasses.replace
    place, flight = SAND.place, SAND.flights[0]
    rows: list[tuple[dict[str, Any], str]] = [
        ({"total": SAND.total + 0.0015}, "total"), ({"title": " "}, "who.name"),
        ({"who": over(SAND.who, name=" ")}, "who.name"), ({"drill": "A b"}, "drill"),
        ({"drill": ""}, "drill"),
        ({"flights": SAND.flights[:-1]}, "flights"), ({"ends": "track"}, "ends"),
        ({"contacts": (over(first, surface="sand"), *SAND.contacts[1:])}, "ends"),
        ({"contacts": (*SAND.contacts[:-1], over(last, surface="track"))}, "ends"),
        ({"contacts": (over(first, number=1), *SAND.contacts[1:])}, "contacts[0].number"),
        ({"contacts": (over(first, arrive="hop"), *SAND.contacts[1:])}, "contacts[0]"),
        ({"contacts": (*SAND.contacts[:-1], over(last, leave="hop"))}, "contacts[3]"),
        ({"contacts": (*SAND.contacts[:-1], over(last, x=SAND.contacts[-2].x))}, "contacts[3].x"),
        ({"flights": (over(flight, number=1), *SAND.flights[1:])}, "flights[0].number"),
        ({"flights": (over(flight, vx=0.0), *SAND.flights[1:])}, "flights[0].vx"),
        ({"place": over(place, start_x=place.end_x)}, "place.end_x"),
        ({"place": over(place, pit_x=None)}, "place.pit_x"), ({"gaps": (0.1,)}, "gaps"),
        ({"shares": SAND.shares[:-1]}, "shares"), ({"shares": (0.0, 0.5, 0.5)}, "shares"),
        ({"shares": (1.0, 0.5, 0.5)}, "shares"), ({"date": "2026-02-30"}, "date"),
    ]  # fmt: skip
    for changed, field in rows:
        assert field in _spoilt(SAND, **changed), (changed, field)
    assert _spoilt(SAND, total=SAND.total + 0.0005) == []
    assert "flights" in _spoilt(SAND, contacts=(), flights=(), shares=(), gaps=())
    for flight_number, fine in (
        (-1, False),
        (0, True),
        (len(OVER.flights) - 1, True),
        (len(OVER.flights), False),
    ):
        hurdles = (dataclasses.replace(OVER.hurdles[0], flight=flight_number),)
        assert (_spoilt(OVER, hurdles=hurdles) == []) == fine
    assert from_json(to_json(SAND)) == SAND


def test_a_clearance_belongs_to_its_hurdle() -> None:
    hurdle = OVER.hurdles[0]
    fits = dataclasses.replace(
        CLEARING, x=hurdle.x, z=hurdle.height + 0.1, under=((hurdle.x, 0.5),)
    )

    def fault(**changed: Any) -> list[str]:
        one = dataclasses.replace(hurdle, clearing=dataclasses.replace(fits, **changed))
        return _spoilt(OVER, hurdles=(one, *OVER.hurdles[1:]))

    at = "hurdles[0].clearing"
    assert fault() == fault(x=hurdle.x + 0.049) == fault(gap=0.1009) == []
    assert fault(x=hurdle.x + 0.051) == fault(gap=0.1011) == fault(z=hurdle.height) == [at]
    for x, z, fine in ((2.99, 0.5, True), (3.01, 0.5, False), (-3.01, 0.5, False), (0.0, -1.0, True),
                       (0.0, 4.0, True), (0.0, -1.01, False), (0.0, 4.01, False)):  # fmt: skip
        assert fault(under=((hurdle.x + x, z),)) == ([] if fine else [f"{at}.under"])


# --- what is read ---------------------------------------------------------------------------------

CHOICES = [
    ("strides", 1, 24), ("cycles", 1, 12), ("total", 1.0, 60.0), ("board", 1.0, 20.0),
    ("hurdle", 0.05, 0.60),
]  # fmt: skip


@pytest.mark.parametrize(("field", "low", "high"), CHOICES)
def test_a_choice_is_taken_from_its_least_to_its_most(field: str, low: float, high: float) -> None:
    taken_from_to(lambda v: Choices(**{field: v}), low, high)


def test_words_of_a_choice() -> None:
    Choices(despite="x" * 120)
    bad: tuple[dict[str, Any], ...] = (
        {"despite": "x" * 121}, {"strides": 4.5}, {"cycles": 2.5}, {"arc": "tall"}, {"lead": "both"},
    )  # fmt: skip
    for changed in bad:
        with pytest.raises(ValueError, match=r"."):
            Choices(**changed)


DRILL: dict[str, Any] = {
    "title": "T", "job": "J", "phases": ["hop", "step"], "ends": "track", "level": "intermediate",
    "dose": {"beginner": [2, 3], "intermediate": [3, 3], "advanced": [3, 4]}, "intensity": "high",
    "points": ["P."], "faults": ["F."], "youngest": 16,
}  # fmt: skip


def _drill(**changed: Any) -> Any:
    return drills_from({"drill": {"mine": {**DRILL, **changed}}}, "", "")["mine"]


def test_a_drill_is_read_from_its_least_to_its_most() -> None:
    taken_from_to(lambda v: _drill(phases=["step"], cycles=v), 1, 12)
    taken_from_to(lambda v: _drill(strides=v), 1, 24)
    taken_from_to(lambda v: _drill(phases=["step"] * v), 1, 30)
    taken_from_to(lambda v: _drill(phases=["step"] * v, cycles=3), 1, 10)
    taken_from_to(lambda v: _drill(points=["P."] * v), 1, 6)
    taken_from_to(lambda v: _drill(faults=["P."] * v), 1, 6)
    for n, fine in ((0, True), (4, True), (5, False)):
        assert isinstance(own.attempt(lambda n=n: _drill(cautions=["C."] * n)), ValueError) != fine
    taken_from_to(lambda v: _drill(dose={**DRILL["dose"], "advanced": [v, 4]}), 1, 10)
    taken_from_to(lambda v: _drill(dose={**DRILL["dose"], "advanced": [3, v]}), 1, 20)
    easy = {
        "strides": 0,
        "start": "stand",
        "phases": ["step"],
        "level": "beginner",
        "intensity": "low",
    }
    taken_from_to(lambda v: _drill(**easy, youngest=v), 10, 18)
    texts = {"title": 60, "job": 140, "source": 80, "youngest_source": 80}
    for field, most in texts.items():
        _drill(**{field: "x" * most})
        with pytest.raises(ValueError, match=field):
            _drill(**{field: "x" * (most + 1)})
    for field, most in {"points": 140, "faults": 180, "cautions": 180}.items():
        _drill(**{field: ["x" * most]})
        with pytest.raises(ValueError, match=field):
            _drill(**{field: ["x" * (most + 1)]})
    bare = {k: v for k, v in DRILL.items() if k != "youngest"}
    run = {"start": "run", "strides": 2, "intensity": "moderate"}
    plain = drills_from({"drill": {"m": {**bare, **easy, **run}}}, "", "")["m"]
    assert (plain.youngest, plain.cycles, plain.lead, plain.finish) == (12, 1, "strong", "run on")
    assert (plain.board, plain.full, plain.hurdle, plain.cautions) == (False, False, None, ())
    assert _drill().strides == 6
    assert _drill(start="stand").strides == 0
    assert _drill().arcs == ("natural", "natural")
    for under, fine in (([0, 1], True), ([2], False), ([-1], False), ([], False), ([0.0], False)):
        rule = {
            "place": "beside",
            "under": under,
            "beginner": 15,
            "intermediate": 30,
            "advanced": 60,
        }
        assert isinstance(own.attempt(lambda r=rule: _drill(hurdle=r)), ValueError) != fine


VENUE: dict[str, Any] = {"title": "F", "runway_length": 30.0, "pit_length": 6.0, "boards": [5.0]}


def _venue(**changed: Any) -> Venue:
    return venues_from({"venue": {"v": {**VENUE, **changed}}}, "", "")["v"]


def test_a_venue_is_read_from_its_least_to_its_most() -> None:
    for field, low, high in (
        ("runway_length", 5.0, 120.0), ("runway_width", 0.9, 10.0), ("pit_width", 0.0, 10.0),
        ("lane_spacing", 0.0, 20.0),
    ):  # fmt: skip
        taken_from_to(lambda v, field=field: _venue(**{field: v}), low, high)
    taken_from_to(lambda v: _venue(lanes=v, lane_spacing=1.22), 1, 12)
    taken_from_to(lambda v: _venue(boards=[v]), 1.0, 20.0)
    taken_from_to(lambda v: _venue(pit_length=v, boards=[]), 0.0, 20.0)
    for n, fine in ((12, True), (13, False)):
        boards = [1.0 + i for i in range(n)]
        assert isinstance(own.attempt(lambda b=boards: _venue(boards=b)), ValueError) != fine
    plain = _venue()
    assert (plain.runway_width, plain.pit_width, plain.lanes, plain.lane_spacing) == (
        1.22,
        2.75,
        1,
        0.0,
    )
    assert (plain.surface, plain.start) == ("synthetic", -35.0)
    bare = _venue(pit_length=0.0, boards=[])
    assert (bare.has_pit, bare.pit_width, bare.start) == (False, 0.0, -30.0)
    assert _venue(boards=[5.0, 5.02, 5.03, 7]).boards == (5.0, 5.03, 7.0)
    assert [plain.line_at(b) for b in (5.02, 4.98, 5.021)] == [5.0, 5.0, 5.021]
    _venue(lanes=2, lane_spacing=1.22)
    for changed in ({"lanes": 2, "lane_spacing": 1.21}, {"pit_length": 0.0}):
        with pytest.raises(ValueError, match=r"lane_spacing|boards want a pit"):
            _venue(**changed)
    for field, most in (("title", 80), ("surface", 60)):
        _venue(**{field: "x" * most})
        with pytest.raises(ValueError, match=field):
            _venue(**{field: "x" * (most + 1)})


def test_what_stands_off_the_runway_in_a_lane_or_under_a_foot() -> None:
    venue = _venue(lanes=3, lane_spacing=1.5)

    def said(x: float, y: float, half: float = 0.05, feet: tuple[Footprint, ...] = ()) -> list[str]:
        thing = Footprint("it", x - half, x + half, y - half, y + half)
        return [what for _, what in misplaced(venue, 0.0, (thing,), feet)]

    assert said(-10.0, 0.0) == said(-10.0, 0.75) == []
    assert said(-0.05, 0.0) == []
    assert said(-0.04, 0.0) == ["lies beyond the runway"]
    assert said(-34.95, 0.0) == []
    assert said(-34.96, 0.0) == ["lies beyond the runway"]
    # The next lane begins at 1.50 - .61, on either side.
    for side in (1.0, -1.0):
        assert flips(lambda y, s=side: bool(said(-10.0, s * y)), 0.5, 1.2) == pytest.approx(
            0.84, abs=1e-3
        )
    foot = Footprint("foot", -10.3, -10.0, -0.1, 0.1)
    assert said(-9.95, 0.0, feet=(foot,)) == []
    assert said(-9.96, 0.0, feet=(foot,)) == ["stands where a foot lands"]
    off = dataclasses.replace(foot, y0=0.55, y1=0.62)
    assert said(-5.0, 0.0, feet=(off,)) == ["is not wholly on the runway"]
    assert said(-5.0, 0.0, feet=(dataclasses.replace(off, y1=0.61),)) == []
    single = dataclasses.replace(venue, lanes=1)
    assert misplaced(single, 0.0, (Footprint("it", -10.0, -9.9, 1.0, 1.1),), ()) == ()


# --- hurdles, boards, margins ---------------------------------------------------------------------


def test_hurdles_stand_where_they_are_said_to() -> None:
    beside, over = catalogue()["two-hops-step-beside"], catalogue()["two-hops-step-over"]
    for leg, ends in (("right", (0.30, 0.55)), ("left", (-0.55, -0.30))):
        for hurdle in hurdles_for(beside, OVER.flights, "advanced", 25, leg):
            assert (hurdle.y0, hurdle.y1) == ends
    made = hurdles_for(over, OVER.flights, "advanced", 25, "left", 0.4)
    assert [(h.y0, h.y1, h.height, h.thing) for h in made] == [(-0.45, 0.45, 0.4, "hurdle")] * len(
        made
    )
    assert [h.flight for h in made] == [f.number for f in OVER.flights if f.number % 3 in over.hurdle.under]  # type: ignore[union-attr]  # fmt: skip
    for hurdle in made:
        flight = OVER.flights[hurdle.flight]
        assert hurdle.x == flight.apex_x
        assert hurdle.body_above == pytest.approx(flight.apex_z - 0.4)
        assert height_of(flight, flight.end_x) == pytest.approx(flight.end_z)
    assert over.hurdle is not None
    heights = [
        wanted_height(over, level, None) for level in ("beginner", "intermediate", "advanced")
    ]
    assert heights == [h / 100 for h in over.hurdle.heights]
    near = hurdles_for(beside, OVER.flights, "advanced", 25, "right")[0]
    sides = [c.y for c in OVER.contacts[near.flight : near.flight + 2]]
    assert sideways(near, OVER.contacts, 0.3) == pytest.approx(0.30 - max(sides) - 0.36 * 0.15)
    assert sideways(made[0], OVER.contacts, 0.3) is None


@pytest.mark.parametrize(
    ("room", "age", "tall"),
    [(0.65, 25, 0.60), (0.649, 25, 0.50), (0.55, 25, 0.50), (0.51, 25, 0.46), (0.45, 25, 0.40),
     (0.35, 25, 0.30), (0.28, 25, 0.23), (0.20, 25, 0.15), (0.199, 25, 0.05), (0.10, 25, 0.05),
     (0.099, 25, 0.0), (0.65, 15, 0.60), (0.65, 14, 0.23), (0.65, 12, 0.23), (0.65, 11, 0.05)],
)  # fmt: skip
def test_the_greatest_hurdle_leaves_5_cm(room: float, age: int, tall: float) -> None:
    assert greatest(room, age) == tall


def test_centimetres_of_room_and_names_of_flights() -> None:
    assert [cm(v) for v in (0.0, 0.01, 0.0199, -0.0101)] == ["0 cm", "1 cm", "1 cm", "2 cm"]
    assert [signed_cm(v) for v in (0.0, -0.03)] == ["+0 cm", "\N{MINUS SIGN}3 cm"]
    assert [flight_text(OVER, n) for n in range(3)] == ["hop 1", "hop 2", "step"]


def test_a_board_is_where_the_less_of_two_margins_is_most() -> None:
    assert board_margins(9.0, 8.0, 12.0) == (1.0, 2.5)
    # Hop and step 5 % longer, and a jump 10 % shorter: between 8.4 and 10.3 the middle is 9.35.
    at = flips(lambda b: choose_board([b, 9.0], 8.0, 12.0) == b, 9.2, 11.0)
    assert at == pytest.approx(9.7, abs=1e-4)
    assert choose_board([9.0, 9.7], 8.0, 12.0) == 9.0


def test_room_before_the_sand_and_behind_it_is_said_from_its_limit() -> None:
    drill, venue = catalogue()["full-triple-jump"], venues()["club"]
    take_off, total = SAND.contacts[-2].x, SAND.total

    def codes(board: float | None = None, **changed: Any) -> set[str]:
        plan = make_plan(own.member("imka"), drill, dataclasses.replace(venue, **changed), own.ON,
                         Choices(board=board))  # fmt: skip
        return {n.code for n in plan.warnings}

    near = flips(lambda b: "edge" in codes(b), take_off + 0.05, take_off + 0.8, 10)
    assert near == pytest.approx(take_off + 0.30, abs=2e-3)
    into = total - SAND.place.end_x
    end = flips(lambda p: "sand-end" in codes(pit_length=p), into + 0.1, into + 2.0, 12)
    assert end == pytest.approx(into + 0.5, abs=2e-3)
    best = own.member("imka").best or 0.0
    short = flips(lambda b: "board" in codes(b), take_off + 0.05, best - 0.55, 12)
    assert short == pytest.approx(0.9 * min(best, total) - 0.5, abs=2e-3)


def test_a_longer_drill_than_forecast_is_said_from_5_cm() -> None:
    here = own.plan("imka", "two-hops-step-sand", strides=6)
    stand = own.plan("imka", "standing-triple-jump")

    def said(slug: str, total: float, **changed: Any) -> bool:
        made = own.plan("imka", slug, total=total, **changed)
        return "out-of-reach" in {n.code for n in made.notes}

    for plan, slug, more in (
        (here, "two-hops-step-sand", {"strides": 6}),
        (stand, "standing-triple-jump", {}),
    ):
        at = flips(lambda t, s=slug, m=more: said(s, t, **m), plan.total, plan.total + 0.12, 10)
        assert at == pytest.approx(plan.total + 0.05, abs=2e-3)
    over = own.plan("imka", "standing-triple-jump", total=stand.total + 0.051)
    (text,) = (n.text for n in over.notes if n.code == "out-of-reach")
    assert text.endswith("forecast from standing.")


def test_a_phase_3_cm_off_the_wanted_split_is_among_the_warnings() -> None:
    far = own.plan({**_TABLE, "split": "40:25:35"}, "full-triple-jump")
    (bent,) = (n for n in far.notes if n.code == "bent-split")
    wish = [far.total * s for s in (0.40, 0.25, 0.35)]
    off = [round(100 * (f.length - w)) for f, w in zip(far.flights, wish, strict=True)]
    for flight, by in zip(far.flights, off, strict=True):
        word = "longer" if by > 0 else "shorter"
        assert (f"the {flight.phase} is {abs(by)} cm {word}" in bent.text.lower()) == (by != 0)
    assert bent.grave == (max(map(abs, off)) >= 3)

    def most(hop: float) -> tuple[int, bool]:
        plan = own.plan({**_TABLE, "split": f"{hop:.3f}:{65 - hop:.3f}:35"}, "full-triple-jump")
        wish = [plan.total * s / 100.0 for s in (hop, 65.0 - hop, 35.0)]
        off = [abs(round(100 * (f.length - w))) for f, w in zip(plan.flights, wish, strict=True)]
        return max(off), any(n.code == "bent-split" and n.grave for n in plan.notes)

    at = flips(lambda hop: most(hop)[1], 36.0, 40.0, 9)
    assert sorted(most(at + by)[0] for by in (-0.02, 0.02)) == [2, 3]


_TABLE = {
    "name": "A", "stature": 1.8, "mass": 70, "leg": "right", "best": 12.0, "target": 12.6, "born": 2000,
    "level": "advanced", "best_phases": "35:30:35",
}  # fmt: skip


def test_margins_are_of_speed_losses_slope_pull_approach_and_model() -> None:
    """One sigma a phase: each likely form is made anew from the phases of the athlete's own full jump."""
    drill, who = catalogue()["hop-step-sand"], own.member("sefa")
    plan, able = own.plan(who, "hop-step-sand"), ability(who)
    run, base = chain_of(drill, Choices()), plan.approach.speed
    full = whole(able.who, able.form)
    lengths, kept = full.length[:, 0], (full.vx / full.vx_in[:3])[:, 0]

    def made(faster: float = 0.0, lost: tuple[float, ...] = (0.0,) * 3, **line: float) -> Any:
        losses = [1.0 - k + d for k, d in zip(kept, lost, strict=True)]
        entry = able.form.entry * (1.0 + faster)
        slope, pull = 0.7 + line.get("slope", 0.0), 0.13 + line.get("pull", 0.0)
        form = form_from_jump(able.who, tuple(lengths), entry, losses, slope, pull)
        free = dataclasses.replace(form, highest=(np.inf,) * 3, hardest=np.inf)
        speed = base * (1.0 + faster) * (1.0 + line.get("approach", 0.0))
        return march(able.who, free, run, np.array([speed])).length[:, 0]

    assert who.speed is None
    quarter = (SLOPE_RANGE[1] - SLOPE_RANGE[0]) / 4.0
    cases: list[dict[str, Any]] = [
        {"faster": 0.05}, {"slope": quarter}, {"pull": 0.06}, {"approach": 0.04},
        {"lost": (0.046, 0.0, 0.0)}, {"lost": (0.0, 0.048, 0.0)}, {"lost": (0.0, 0.0, 0.053)},
    ]  # fmt: skip
    total = (0.05 * made()) ** 2
    for up in cases:
        down = {k: tuple(-x for x in v) if isinstance(v, tuple) else -v for k, v in up.items()}
        total = total + ((made(**up) - made(**down)) / 2.0) ** 2
    assert [f.plus_minus for f in plan.flights] == pytest.approx(np.sqrt(total), rel=2e-3)
    # Speed at the board hardly shows there, since each form makes the same full jump: it is held by itself.
    for timed, sure in ((False, 0.05), (True, 0.025)):
        many, faster = likely(able, timed)
        assert faster == pytest.approx([1.0, 1.0 - sure, 1.0 + sure, *(1.0,) * 10])
        # Who is taken to jump higher can be asked for harder contacts, by as much as the highest is.
        up = (np.array(many.vy) / np.array(able.form.vy)[:, None]).max(axis=0)
        assert many.hardest / able.form.hardest == pytest.approx(up, rel=1e-3)
        assert np.ptp(up) > 0.01
        for i, spread in enumerate((0.046, 0.048, 0.053)):
            apart = np.asarray(many.losses[i])[3 + 2 * i : 5 + 2 * i] - (1.0 - kept[i])
            assert np.abs(apart) == pytest.approx(spread)


def test_a_fitted_athletes_margin_is_a_share_and_wider_once_a_move_repeats() -> None:
    who = own.member("imka")
    own_figures = dataclasses.replace(who.calibration, margin=0.05)
    who = dataclasses.replace(who, calibration=own_figures)
    for slug, shares in (
        ("hop-step-sand", (0.05, 0.05)),
        ("two-hops-step-sand", (0.05, 0.125, 0.125)),
    ):
        plan = own.plan(who, slug)
        wide = [share * f.length for share, f in zip(shares, plan.flights, strict=True)]
        assert [f.plus_minus for f in plan.flights] == pytest.approx(wide)


def test_footprints_leave_room_for_the_shoe() -> None:
    things, landings = footprints(OVER)
    for thing, hurdle in zip(things, OVER.hurdles, strict=True):
        assert (thing.x0, thing.x1) == pytest.approx((hurdle.x - 0.05, hurdle.x + 0.05))
        assert (thing.y0, thing.y1) == (hurdle.y0, hurdle.y1)
        assert thing.name == f"the hurdle under flight {hurdle.flight + 1}"
    for foot, contact in zip(landings, OVER.contacts, strict=True):
        assert (foot.x0, foot.x1) == pytest.approx((contact.x - 0.5, contact.x + 0.1))
        assert (foot.y0, foot.y1) == pytest.approx((contact.y - 0.15, contact.y + 0.15))
    assert {round(abs(c.y), 6) for c in OVER.contacts} == {0.08}
    assert all((c.y > 0) == (c.foot == "left") for c in OVER.contacts)
    assert SAND.contacts[-1].y == 0.0


def test_contacts_and_flights_are_thrown_bodies() -> None:
    for plan in (OVER, SAND, own.plan("imka", "standing-triple-jump")):
        for contact in plan.contacts:
            if contact.time is None or contact.vx_in is None or contact.vy_in is None:
                assert contact.vertical is contact.braking is None
                continue
            assert contact.landing is not None
            assert contact.ahead is not None
            assert contact.vx is not None
            assert contact.vy is not None
            gone = contact.landing + contact.ahead
            assert contact.time == pytest.approx(gone / ((contact.vx_in + contact.vx) / 2))
            hung = GRAVITY * contact.time
            assert contact.vertical == pytest.approx(1 + (contact.vy - contact.vy_in) / hung)
            assert contact.braking == pytest.approx((contact.vx_in - contact.vx) / hung)
        assert list(apart(plan)) == []
    stand = own.plan("imka", "standing-triple-jump")
    able = ability(own.member("imka").on_day(own.ON))
    assert stand.flights[0].vx == pytest.approx(0.33 * able.form.entry)
    assert stand.approach.strides == 0


@pytest.mark.parametrize("zero", ["board", "start", "pit"])
def test_readings_of_a_card_are_from_its_own_zero(zero: Any) -> None:
    card = tape_card(SAND, zero)
    at = {"board": 0.0, "start": -SAND.approach.length, "pit": SAND.place.pit_x}[zero]
    way = -1.0 if zero == "pit" else 1.0
    for line in card.lines:
        assert line.reading == pytest.approx(way * (line.x - at), abs=0.0051)
        behind = {"board": "back", "pit": "into the sand", "start": ""}[zero]
        ahead = {"board": "forward", "pit": "back up the runway", "start": ""}[zero]
        assert line.side == (behind if line.reading < 0 else ahead if line.reading > 0 else "")
    assert card.lines[0].gap == ""
    assert all(line.gap for line in card.lines[1:])
    kinds = [line.kind for line in card.lines]
    assert sorted(kinds) == sorted(
        ["start", "check", "take-off", "contact", "contact", "landing", "pit"]
    )


def test_a_drill_on_the_track_wants_no_board() -> None:
    drill = dataclasses.replace(catalogue()["alternate-bounds"], board=True)
    plan = make_plan(own.member("tevin"), drill, venues()["track"], own.ON)
    assert plan.place.board is None
    assert plan.place.end_x >= plan.contacts[-1].x


def test_the_split_asked_for_is_the_split_planned() -> None:
    """The target's on the full jump; a coach's own at a length or on a board; else what is forecast."""
    assert SAND.shares == pytest.approx((0.35, 0.30, 0.35), abs=1e-3)
    here = own.plan("imka", "short-triple-jump", strides=6)
    split = parse_split("36:29:35")
    at = own.plan("imka", "short-triple-jump", strides=6, total=here.total - 0.1, split=split)
    assert at.shares == pytest.approx((0.36, 0.29, 0.35), abs=1e-3)
    assert at.total == pytest.approx(here.total - 0.1, abs=2e-3)
    assert (at.forecast, here.forecast) == (False, True)
    assert {f.plus_minus is None for f in at.flights} == {True}
    assert {f.plus_minus is None for f in here.flights} == {False}


def test_the_easier_drill_is_the_hardest_that_is_open_and_most_like() -> None:
    child = standing(2014, "beginner", 1.0, own.ON)
    found = easier(child, catalogue()["full-triple-jump"])
    assert found is not None
    assert found.slug == "hop-step-sand"
    none = easier(child, catalogue()["full-triple-jump"], pit=False)
    assert none is not None
    assert none.ends == "track"
    assert easier(standing(None, None, None, own.ON), catalogue()["full-triple-jump"]) is None
