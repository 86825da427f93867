"""The composed sheet: nothing overlaps or leaves the margins, and what does not fit is refused."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.ops import unary_union

from layout.athlete.athlete import athlete_from
from layout.commands.demo_ import plans
from layout.page.page import PAPERS, SCALES, Line, Page, Text
from layout.plan.drill import catalogue
from layout.plan.tape import tape_card
from layout.plan.value import Plan
from layout.sheet.band import SKETCH
from layout.sheet.drawing import Sheet, draw
from layout.sheet.runway import BROKEN, CUT, extent, figures
from layout.words.faults import BadInput
from layout.words.units import show_length
from tests.paper import collisions
from tests.strategies import CLUB, athlete_tables, drill_names, pit_or_track, plan


def _drawn(made: Plan, sheet: Sheet, zero: str = "board", system: str = "cm") -> Page | None:
    try:
        return draw(made, tape_card(made, zero, system), sheet)  # type: ignore[arg-type]
    except BadInput as error:
        said = str(error)
    assert "does not fit" in said
    return None


def test_the_check_itself_sees_overlaps_and_edges() -> None:
    word = Text((20.0, 50.0), "step")
    page = Page(297.0, 210.0, 50, "", (word, replace(word, at=(24.0, 51.0))))
    assert len(collisions(page)) == 1
    assert len(collisions(replace(page, ink=(replace(word, at=(8.0, 50.0)),)))) == 1
    assert collisions(replace(page, ink=(word, replace(word, at=(60.0, 50.0))))) == []


@pytest.mark.parametrize("scale", [None, *SCALES])
def test_demo_sheets_do_not_collide(scale: int | None) -> None:
    found = {}
    for stem, made, zero, system in plans():
        page = _drawn(made, Sheet(scale=scale), zero, "ft" if system == "ft" else "cm")
        assert page is not None or scale is not None
        if page is not None and (hits := collisions(page)):
            found[stem] = hits
    assert not found


@pytest.mark.parametrize("who", CLUB)
@pytest.mark.parametrize("system", ["cm", "ft"])
@pytest.mark.parametrize("scale", SCALES)
@settings(max_examples=8)
@given(
    drill=drill_names, paper=st.sampled_from(sorted(PAPERS)), upright=st.booleans(),
    arc=st.sampled_from((None, "low", "high")),
)  # fmt: skip
def test_texts_do_not_collide(
    who: str, system: str, scale: int, drill: str, paper: str, upright: bool, arc: str | None
) -> None:
    hops = "hop" in catalogue()[drill].moves
    made = plan(who, drill, pit_or_track(drill), arc=arc if hops else None)
    page = _drawn(made, Sheet(paper, upright, scale), "board", system)
    assert page is None or collisions(page) == []


@settings(max_examples=40)
@given(
    athlete_tables(), drill_names, st.sampled_from(sorted(PAPERS)), st.booleans(),
    st.sampled_from(("cm", "ft")),
)  # fmt: skip
def test_any_athletes_sheet_does_not_collide(
    table: dict[str, object], drill: str, paper: str, upright: bool, system: str
) -> None:
    try:
        made = plan(athlete_from(table), drill, pit_or_track(drill))
    except BadInput:
        return
    page = _drawn(made, Sheet(paper, upright), "board", system)
    assert page is None or collisions(page) == []


@pytest.mark.parametrize(
    "name", ["W" * 80, "Łucja Hénin of the very long double-barrelled name " + "n" * 29, "i"]
)
@pytest.mark.parametrize("paper", sorted(PAPERS))
@pytest.mark.parametrize("upright", [False, True])
def test_long_names_do_not_collide(name: str, paper: str, upright: bool) -> None:
    made = plan("imka", "two-hops-step-sand")
    made = replace(made, who=replace(made.who, name=name))
    page = draw(made, tape_card(made), Sheet(paper, upright))
    assert collisions(page) == []


def test_same_plan_same_page() -> None:
    made = plan("tevin", "full-triple-jump")
    assert draw(made, tape_card(made)) == draw(made, tape_card(made), Sheet())


def test_scale_is_kept_and_printed() -> None:
    made = plan("tevin", "full-triple-jump")
    for scale in SCALES:
        page = draw(made, tape_card(made), Sheet("A3", False, scale))
        texts = [i.text for i in page.ink if isinstance(i, Text)]
        assert page.scale == scale
        assert f"1:{scale}" in texts
        assert f"1:{scale}" in page.title
        (bar,) = [t for t in texts if "this bar is" in t]
        metres = {50: 2, 100: 5, 200: 10}[scale]
        assert f"this bar is {1000 * metres / scale:.0f} mm long" in bar


def test_too_long_is_refused_not_shrunk() -> None:
    made = plan("tevin", "full-triple-jump")
    with pytest.raises(BadInput, match=r"does not fit this paper; would fit: 1:100 on this paper"):
        draw(made, tape_card(made), Sheet("A4", False, 50))


def test_spoken_card_and_points_fill_spare_room_only() -> None:
    """On a large sheet the whole tape card is spoken on it; on none is half of one."""
    made = plan("imka", "hop-step-sand")
    card = tape_card(made)
    for paper in PAPERS:
        for upright in (False, True):
            page = draw(made, card, Sheet(paper, upright))
            said = " ".join(i.text for i in page.ink if isinstance(i, Text))
            there = [line in said.replace(" – ", " ") for line in card.spoken()]
            assert all(there) or not any(there[1:])
            assert all(there) == ("Tape card, spoken" in said)
    assert "Tape card, spoken" in said


def _x(page: Page, name: str) -> float:
    (line,) = [i for i in page.ink if isinstance(i, Line) and i.name == name]
    return line.points[0][0]


@pytest.mark.parametrize("who", CLUB)
def test_the_start_mark_is_drawn_to_scale_or_over_a_break(who: str) -> None:
    whole = broken = 0
    for drill in sorted(catalogue()):
        made = plan(who, drill, pit_or_track(drill))
        page = _drawn(made, Sheet("A3"))
        if page is None or not made.approach.strides:
            continue
        names = {i.name for i in page.ink if isinstance(i, Line)}
        room = page.width - 20.0 - 1000.0 * (extent(made)[1] - extent(made)[0]) / page.scale
        if "start" not in names:
            assert room < BROKEN, drill
            continue
        back = _x(page, "length-0") - _x(page, "start")
        said = [i.text for i in page.ink if isinstance(i, Text)]
        if "break" in names:
            broken += 1
            assert CUT.split()[0] in " ".join(said)
            assert room < 1000 * made.approach.length / page.scale
        else:
            whole += 1
            assert back == pytest.approx(1000.0 * made.approach.length / page.scale, abs=0.01)
            assert {f"check-{n}" for n, _ in made.approach.marks[1:]} <= names
        assert show_length(made.approach.length).removesuffix(" m") in said
    assert whole + broken > 5


@pytest.mark.parametrize("who", CLUB)
def test_no_two_figures_overlap(who: str) -> None:
    """The hold's two did: the arms of the one that starts reached over the next."""
    for drill in sorted(catalogue()):
        made = plan(who, drill, pit_or_track(drill))
        bodies = [unary_union([Polygon(a.points).buffer(0) for a in f]) for f in figures(made)]
        for one, other in pairwise(bodies):
            assert one.intersection(other).area < 1e-4, drill


METRIC = re.compile(r"\d ?(m|cm|mm|m/s)\b")


@pytest.mark.parametrize("who", ["runa", "sefa", "tevin"])
def test_a_sheet_in_feet_has_no_metres(who: str) -> None:
    for drill in sorted(catalogue()):
        made = plan(who, drill, pit_or_track(drill))
        page = _drawn(made, Sheet("A3"), "board", "ft")
        said = [i.text for i in page.ink if isinstance(i, Text)] if page else []
        assert [t for t in said if METRIC.search(t) or "metre" in t] == [], drill


def test_figures_without_a_motion_are_called_a_sketch() -> None:
    made = plan("runa", "hop-step-hold")
    told = {
        bool(shapes): " ".join(
            i.text for i in draw(made, tape_card(made), None, shapes).ink if isinstance(i, Text)
        )
        for shapes in ((), figures(made))
    }
    assert SKETCH in told[False]
    assert SKETCH not in told[True]


def test_what_the_target_asks_of_the_season_is_no_warning_of_a_drill() -> None:
    for stem, made, _, _ in plans():
        if catalogue()[made.drill].full:
            continue
        page = draw(made, tape_card(made))
        said = " ".join(i.text for i in page.ink if isinstance(i, Text))
        assert "target asks" not in said, stem
    assert any(n.code == "needs-speed" for _, made, *_ in plans() for n in made.notes)


@pytest.mark.parametrize("paper", ["A4", "A3"])
@pytest.mark.parametrize("upright", [False, True])
def test_what_was_assumed_of_the_athlete_stands_under_the_title(paper: str, upright: bool) -> None:
    table = {
        "name": "Nell",
        "stature": 1.7,
        "mass": 60,
        "leg": "left",
        "target": 11.0,
        "born": 1999,
    }
    made = plan(table, "hop-step-sand", "club")
    assert len(made.assumed) >= 2
    page = draw(made, tape_card(made), Sheet(paper, upright))
    assert collisions(page) == []
    texts = [i for i in page.ink if isinstance(i, Text)]
    bar = next(t for t in texts if t.text.startswith("metres, 1:"))
    over = " ".join(t.text for t in texts if t.at[1] < bar.at[1] / 2)
    assert all(text in over for text in made.assumed)
