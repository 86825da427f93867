"""Venues read, and everything set out checked against the ground by shapely."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from layout.plan.venue import (
    Footprint,
    Venue,
    find_venue,
    misplaced,
    venues,
    venues_from,
)
from layout.rules.ground import INTO_SAND
from layout.words.faults import BadInput
from tests import strategies as own
from tests.published import published

ROWS = {row["id"]: row for row in published("venue.toml")}
APPROACH = {row["id"]: row for row in published("approach.toml")}
GOOD: dict[str, Any] = {
    "title": "Field",
    "runway_length": 30.0,
    "boards": [5, 7.0],
    "pit_length": "6 m",
}

BAD = """\
[venue.one]
title = ""
runway_length = "long"
runway_width = 0.5
boards = [0.5, 7]
pit_length = -1
lanes = 0
colour = "red"
[venue.two]
runway_length = 30
lanes = 2
lane_spacing = 1.0
"""


# --- the rules ------------------------------------------------------------------------------------


def test_the_national_venue_keeps_the_rules() -> None:
    venue = venues()["national"]
    width = ROWS["runway-width"]
    assert venue.runway_length >= ROWS["runway-length"]["low"]
    assert abs(venue.runway_width - width["width"]) <= width["tolerance"]
    assert ROWS["pit-width"]["low"] <= venue.pit_width <= ROWS["pit-width"]["high"]
    assert all(b + venue.pit_length >= ROWS["line-to-far-end"]["low"] for b in venue.boards)
    assert {ROWS["line-to-pit"]["men"], ROWS["line-to-pit"]["women"]} == set(venue.boards)


def test_club_and_youth_boards_are_the_published_ones() -> None:
    assert list(venues()["club"].boards) == ROWS["club-boards"]["boards"]
    assert list(venues()["youth"].boards) == APPROACH["boards-age-11-13"]["boards"]


@pytest.mark.parametrize("slug", venues())
def test_widths_keep_the_rules_everywhere(slug: str) -> None:
    venue, width = venues()[slug], ROWS["runway-width"]
    assert abs(venue.runway_width - width["width"]) <= width["tolerance"]
    if venue.has_pit:
        assert ROWS["pit-width"]["low"] <= venue.pit_width <= ROWS["pit-width"]["high"]
    assert venue.start < 0


def test_sand_margin_is_the_rule() -> None:
    assert ROWS["sand-margin"]["low"] == INTO_SAND


# --- reading --------------------------------------------------------------------------------------


def test_every_fault_of_every_entry_with_file_and_line(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(BAD, encoding="utf-8")
    with pytest.raises(BadInput) as error:
        find_venue(str(path))
    found = {f.field: f for f in error.value.faults}
    rows = BAD.splitlines()
    for key in (
        "title",
        "runway_length",
        "runway_width",
        "boards",
        "pit_length",
        "lanes",
        "colour",
    ):
        fault = found[f"venue.one.{key}"]
        line = next(n for n, row in enumerate(rows, 1) if row.startswith(f"{key} ="))
        assert (fault.file, fault.line) == (str(path), line), key
    assert found["venue.two.title"].rule == "is missing"
    assert found["venue.two.lane_spacing"].line == len(rows)


def test_a_venue_of_the_coach_s_own(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(
        '[venue.field]\ntitle = "Łąka"\nrunway_length = "98-5"\nboards = [9, "7 m", 5.0]\n'
        'pit_length = 6\nsurface = "grass"\n',
        encoding="utf-8",
    )
    venue = find_venue(str(path))
    assert venue.title == "Łąka"
    assert venue.boards == (5.0, 7.0, 9.0)
    assert venue.runway_length == pytest.approx(98 * 0.3048 + 5 * 0.0254, abs=1e-9)
    assert venue.start == pytest.approx(-(venue.runway_length + 9.0))
    assert own.plan("imka", "hop-step-sand", "club").place.slug == "club"


@pytest.mark.parametrize(
    "changes",
    [{"boards": "7"}, {"boards": [7] * 13}, {"pit_length": 0}, {"lanes": 2}, {"width": 1}],
)
def test_wrong_entries_are_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(BadInput, match=r"venue\.mine"):
        venues_from({"venue": {"mine": {**GOOD, **changes}}}, "own.toml", "")


@pytest.mark.parametrize(
    "table", [{}, {"venue": {}}, {"venue": 3}, {"venue": {"a": 3}}, {"venue": {"a": GOOD}, "b": 1}]
)
def test_tables_without_venues_are_refused(table: dict[str, Any]) -> None:
    with pytest.raises(BadInput, match="venue"):
        venues_from(table, "own.toml", "")


def test_an_unknown_venue_names_the_nearest() -> None:
    with pytest.raises(
        BadInput, match=r"^venue: is not known; did you mean national\?, got 'natonal'"
    ):
        find_venue("natonal")
    with pytest.raises(BadInput, match=r"known: national, club"):
        find_venue("zzz")
    with pytest.raises(BadInput, match=r"none\.toml: file: cannot be read"):
        find_venue("none.toml")


@pytest.mark.parametrize("name", ["x" * 5000, "a\0b", "\ud800", "", "\n", "../" * 2000])
def test_hostile_names_are_refused_on_one_line(name: str) -> None:
    with pytest.raises(BadInput) as error:
        find_venue(name)
    assert str(error.value).isprintable()


anything = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | own.texts
    | st.lists(st.floats(), max_size=3)
)
fields = [
    "title",
    "runway_length",
    "runway_width",
    "boards",
    "pit_length",
    "pit_width",
    "lanes",
    "lane_spacing",
    "surface",
    "source",
]


@given(st.dictionaries(st.sampled_from(fields), anything))
def test_any_entry_is_read_or_refused(changes: dict[str, Any]) -> None:
    found = own.attempt(
        lambda: venues_from({"venue": {"mine": {**GOOD, **changes}}}, "own.toml", "")
    )
    if isinstance(found, BadInput):
        assert all(str(f).startswith("own.toml") and str(f).isprintable() for f in found.faults)
    else:
        assert found["mine"].start < 0


# --- everything in its place ----------------------------------------------------------------------

CLUB = venues()["club"]
LANES = dataclasses.replace(CLUB, lanes=2, lane_spacing=1.5)
EDGE = 9.0


def _at(x: float, y: float = 0.0, half: float = 0.05, name: str = "the cone") -> Footprint:
    return Footprint(name, x - half, x + half, y - half, y + half)


def test_what_lies_well_is_not_named() -> None:
    assert misplaced(CLUB, EDGE, (_at(3.0, 0.4),), (_at(5.0), _at(-10.0))) == ()


@pytest.mark.parametrize(
    ("venue", "thing", "what"),
    [
        (CLUB, _at(EDGE + 0.5), "lies beyond the runway"),
        (CLUB, _at(EDGE), "lies beyond the runway"),
        (CLUB, _at(EDGE + CLUB.start - 1), "lies beyond the runway"),
        (LANES, _at(3.0, 1.5), "stands in the next lane"),
        (LANES, _at(3.0, -1.5), "stands in the next lane"),
        (CLUB, _at(5.02), "stands where a foot lands"),
    ],
)
def test_a_misplaced_thing_is_named(venue: Venue, thing: Footprint, what: str) -> None:
    assert misplaced(venue, EDGE, (thing,), (_at(5.0),)) == (("the cone", what),)


def test_a_foot_off_the_runway_is_named() -> None:
    wide = _at(5.0, CLUB.runway_width / 2, name="contact 2")
    sand = _at(EDGE, name="contact 3")
    assert misplaced(CLUB, EDGE, (), (_at(3.0), wide, sand)) == (
        ("contact 2", "is not wholly on the runway"),
        ("contact 3", "is not wholly on the runway"),
    )


boxes = st.builds(_at, st.floats(-45, 15), st.floats(-3, 3), st.floats(0.01, 0.6))


@given(boxes, boxes)
def test_misplaced_agrees_with_polygons(thing: Footprint, foot: Footprint) -> None:
    """Worked out with shapely's polygons instead of intervals."""
    found = dict.fromkeys(
        f"{n}: {w}"
        for n, w in misplaced(LANES, EDGE, (thing,), (dataclasses.replace(foot, name="foot"),))
    )
    half, low = LANES.runway_width / 2, EDGE + LANES.start
    cone, shoe = (shapely.box(f.x0, f.y0, f.x1, f.y1) for f in (thing, foot))
    lanes = [shapely.box(low, c - half, EDGE, c + half) for c in (-1.5, 1.5)]
    expected = {
        "the cone: lies beyond the runway": thing.x0 < low or thing.x1 > EDGE,
        "the cone: stands in the next lane": cone.intersection(shapely.union_all(lanes)).area
        > 1e-9,
        "the cone: stands where a foot lands": cone.intersection(shoe).area > 1e-9,
        "foot: is not wholly on the runway": not shapely.box(low, -half, EDGE, half).covers(shoe),
    }
    for text, wanted in expected.items():
        if not any(
            abs(a - b) < 1e-6 for a in (thing.x0, thing.x1, foot.x0, foot.x1) for b in (low, EDGE)
        ):
            assert (text in found) == wanted, text


@pytest.mark.parametrize("venue", ["club", "marram-point", "track"])
@pytest.mark.parametrize("name", own.CLUB)
def test_every_plan_that_is_not_warned_about_lies_on_the_runway(name: str, venue: str) -> None:
    from layout.plan.drill import catalogue

    for slug, drill in catalogue().items():
        if drill.ends == "sand" and not venues()[venue].has_pit:
            continue
        plan = own.plan(name, slug, venue)
        place = plan.place
        runway = shapely.box(place.start_x, -place.width / 2, place.end_x, place.width / 2)
        inside = all(
            runway.covers(shapely.Point(c.x, c.y)) for c in plan.contacts if c.surface == "track"
        )
        start = -plan.approach.length >= place.start_x - 1e-9
        codes = {n.code for n in plan.warnings}
        assert inside or codes & {"misplaced", "underfoot", "run-out"}, (slug, "contact")
        assert start or "off-runway" in codes, (slug, "start")
        if drill.ends == "sand":
            last = plan.contacts[-1].x - place.end_x
            assert last > ROWS["sand-margin"]["low"] or "sand-short" in codes, slug
            assert last < place.pit_length or "sand-end" in codes, slug
