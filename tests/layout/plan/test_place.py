"""Where a drill is set out: the board, the sand, and what is too far."""

from __future__ import annotations

import dataclasses
import re
import tomllib
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from layout.athlete.ability import ability
from layout.athlete.athlete import athlete_from
from layout.plan.drill import catalogue
from layout.plan.place import _line, board_margins, choose_board, place_for
from layout.plan.spacing import Choices, make_plan
from layout.plan.venue import venues, venues_from
from layout.rules.ground import EDGE_ROOM, ONE_BOARD
from layout.words.faults import BadInput
from tests import strategies as own
from tests.limits import flips
from tests.published import published

SAND = next(r for r in published("venue.toml") if r["id"] == "sand-margin")["low"]
BOARDS = next(r for r in published("venue.toml") if r["id"] == "club-boards")["boards"]
SAND_DRILLS = [s for s, d in catalogue().items() if d.ends == "sand"]


@given(st.floats(3, 13), st.floats(1, 12), st.floats(3, 19))
def test_margins(board: float, take_off: float, total: float) -> None:
    before, after = board_margins(board, take_off, total)
    assert before == board - take_off
    assert after == pytest.approx(total - (board + SAND))


@given(st.floats(5.0, 18.0), st.floats(0.55, 0.72))
def test_the_chosen_board_is_the_safest(total: float, share: float) -> None:
    take_off = share * total
    best = choose_board(BOARDS, take_off, total)

    def least(board: float) -> float:
        # Hop and step 5 % longer, the total 10 % shorter.
        return float(min(board - 1.05 * take_off, 0.9 * total - board - SAND))

    assert best in BOARDS
    assert least(best) >= max(least(b) for b in BOARDS) - 1e-6


@given(st.lists(st.floats(4.0, 13.0), min_size=1, max_size=6), st.floats(5.0, 18.0))
def test_a_longer_jump_never_gets_a_nearer_board(boards: list[float], total: float) -> None:
    near, far = (choose_board(boards, 0.65 * t, t) for t in (total, total * 1.2))
    assert far >= near


def test_equal_boards_give_the_nearer() -> None:
    # Margins 1.0 and 1.0 at either end of the sum of both.
    total, take_off = 10.0, 6.0
    middle = (0.9 * total - SAND + 1.05 * take_off) / 2
    assert choose_board([middle + 0.4, middle - 0.4], take_off, total) == middle - 0.4


def test_no_boards_refused() -> None:
    with pytest.raises(BadInput, match=r"^venue: a drill from a board wants a venue with boards"):
        choose_board([], 6.0, 10.0)


@pytest.mark.parametrize("slug", SAND_DRILLS)
@pytest.mark.parametrize("name", own.CLUB)
def test_sand_landings_are_well_in(name: str, slug: str) -> None:
    plan = own.plan(name, slug)
    best = own.member(name).best
    assert best is not None
    assert plan.place.pit_x == plan.place.end_x
    assert min(plan.total, best) - plan.place.end_x >= SAND - 1e-9
    before = plan.place.end_x - plan.contacts[-2].x
    assert before >= 0.0
    assert (before < EDGE_ROOM - 1e-9) == ("edge" in {n.code for n in plan.warnings})


@pytest.mark.parametrize("name", own.CLUB)
@pytest.mark.parametrize("board", [5.0, 7.0, 9.0, 11.0, 13.0])
def test_a_board_that_does_not_fit_is_refused_with_the_one_that_does(
    name: str, board: float
) -> None:
    """Judged by the best jump, not by the target alone."""
    best, here = own.member(name).best, own.plan(name, "full-triple-jump", "club")
    assert best is not None
    far, take_off = min(best, here.total) - SAND, here.contacts[-2].x
    found = own.attempt(lambda: own.plan(name, "full-triple-jump", "club", board=board))
    assert isinstance(found, BadInput) == (not take_off <= board <= far)
    if isinstance(found, BadInput):
        text = str(found)
        assert text.startswith("board-at: ")
        fits = re.search(r"(?:the board|a line) at ([\d.]+) m fits", text)
        assert fits, text
        again = own.plan(name, "full-triple-jump", "club", board=float(fits[1]))
        assert again.place.board == pytest.approx(float(fits[1]), abs=0.01)
        assert (board > best) == ("m before the sand" in text)


@pytest.mark.parametrize("name", own.CLUB)
def test_what_a_jump_must_reach_is_told_truly_and_whose_rule_it_is(name: str) -> None:
    """The board plus half a metre: below it the landing is not well in the sand."""
    plan = own.plan(name, "full-triple-jump", "marram-point")
    board, best = plan.place.board, own.member(name).best
    assert board is not None
    assert best is not None
    note = next(n for n in plan.notes if n.code == "board")
    assert (
        f"To land over {SAND:.2f} m into it a jump must be over {board + SAND:.2f} m" in note.text
    )
    assert f"planned are {plan.total:.2f} m, the best {best:.2f} m" in note.text
    assert "safe" not in note.text
    assert (
        note.source == "One youth rule on landing in the sand; used for everybody: ours; 10 %, ours"
    )
    assert note.grave == (best - board - SAND < 0.1 * best)
    assert ("10 % shorter would not" in note.text) == note.grave


@pytest.mark.parametrize(
    ("take_off", "sure", "line"),
    [
        (
            6.0,
            9.6,
            7.2,
        ),  # hop and step 5 % longer, the jump 10 % shorter: 6.30 and 8.14, in the middle
        (6.0, 7.0, 6.3),  # no nearer than 30 cm to the take-off
        (6.0, 6.65, 6.15),  # nor so far that the landing is less than 50 cm into the sand
        (6.0, 6.9, 6.3),
    ],
)
def test_a_line_is_laid_where_a_board_would_be_best(
    take_off: float, sure: float, line: float
) -> None:
    assert _line(take_off, sure) == pytest.approx(line)


def test_where_no_board_fits_a_line_is_laid_that_does() -> None:
    plan = own.plan("runa", "full-triple-jump", "national")
    board, take_off = plan.place.board, plan.contacts[-2].x
    assert board is not None
    assert take_off + EDGE_ROOM <= board <= 7.60 - SAND
    note = next(n for n in plan.warnings if n.code == "board-unknown")
    assert f"no board at {board:g} m; it has 11, 13. Lay a line there" in note.text
    with pytest.raises(BadInput, match=rf"^board-at: .*: a line at {board:g} m fits, got 11"):
        own.plan("runa", "full-triple-jump", "national", board=11.0)


@settings(max_examples=150)
@given(own.athlete_tables(), st.integers(3, 8))
def test_no_ordinary_athlete_is_refused_a_short_triple_jump(
    table: dict[str, Any], strides: int
) -> None:
    who = athlete_from({**table, "strides": max(table.get("strides", 8), strides)})
    able = own.attempt(lambda: ability(who.on_day(own.ON)))
    assume(not isinstance(able, BadInput))
    plan = own.plan(who, "short-triple-jump", "club", strides=strides)
    assert min(plan.total, who.best or plan.total) - plan.place.end_x >= SAND - 1e-9


def test_a_board_in_feet_and_its_twin_in_metres_are_one() -> None:
    text = (
        '[venue.one]\ntitle = "One"\nrunway_length = 40.0\nboards = ["12.19 m", "40 ft", 9]\n'
        "pit_length = 9.0\n"
    )
    venue = venues_from(tomllib.loads(text), "own.toml", text)["one"]
    assert venue.boards == pytest.approx((9.0, 12.19), abs=ONE_BOARD)
    plan = make_plan(
        own.member("tevin"), catalogue()["full-triple-jump"], venue, own.ON, Choices(board=12.192)
    )
    assert plan.place.board in venue.boards
    assert "board-unknown" not in {n.code for n in plan.notes}
    # Two centimetres apart are one (ours), a millimetre more are two.
    for boards, many in (("[9, 9.019]", 1), ("[9, 9.021]", 2)):
        venue = venues_from(
            tomllib.loads(again := text.replace('["12.19 m", "40 ft", 9]', boards)), "o", again
        )
        assert len(venue["one"].boards) == many


@settings(max_examples=200)
@given(
    own.athlete_tables(), own.drill_names, st.sampled_from(sorted(venues())),
    st.none() | st.integers(3, 8), st.none() | st.integers(1, 8),
)  # fmt: skip
def test_every_foot_lies_on_the_runway_or_well_in_the_sand(
    table: dict[str, Any], slug: str, where: str, strides: int | None, cycles: int | None
) -> None:
    drill, venue = catalogue()[slug], venues()[where]
    choices = Choices(
        strides=strides if drill.start == "run" else None,
        cycles=cycles if "jump" not in drill.moves else None,
        despite="the coach of these tests",
    )
    who = athlete_from(table)
    plan = own.attempt(lambda: make_plan(who, drill, venue, own.ON, choices))
    assume(not isinstance(plan, BadInput))
    assert not isinstance(plan, BadInput)
    for contact in plan.contacts:
        if contact.surface == "track":
            assert contact.x <= plan.place.end_x + 1e-9
        else:
            into = min(contact.x, who.best or contact.x) - plan.place.end_x
            assert into >= SAND - 1e-9
            assert contact.x - plan.place.end_x <= plan.place.pit_length
    for note in plan.notes:
        if note.code in ("run-out", "edge", "board", "sand-end", "off-runway"):
            assert not re.search(r"(?<![\d-])-\d", note.text), note.text


def test_a_drill_longer_than_the_runway_is_refused_with_the_cycles_that_fit() -> None:
    with pytest.raises(BadInput, match=r"^cycles: .*; (\d+) of its 12 cycles fit") as error:
        own.plan("tevin", "alternate-bounds", "hall", strides=4, cycles=12)
    fit = int(re.search(r"(\d+) of its", str(error.value))[1])  # type: ignore[index]
    plan = own.plan("tevin", "alternate-bounds", "hall", strides=4, cycles=fit)
    assert plan.contacts[-1].x <= plan.place.end_x
    with pytest.raises(BadInput):
        own.plan("tevin", "alternate-bounds", "hall", strides=4, cycles=fit + 1)
    with pytest.raises(BadInput, match=r"^strides: run-up and drill reach .* a shorter run-up or"):
        own.plan("tevin", "alternate-bounds", "hall", strides=18)


def test_a_board_the_venue_has_not_is_said() -> None:
    plan = own.plan("imka", "full-triple-jump", "club", board=8.0)
    note = next(n for n in plan.warnings if n.code == "board-unknown")
    assert "no board at 8 m; it has 5, 7, 9, 11, 13" in note.text
    assert plan.place.board == 8.0


def test_sand_drills_want_sand_and_track_drills_keep_out_of_it() -> None:
    with pytest.raises(
        BadInput, match=r"^venue: this drill ends in sand and this venue has no pit"
    ):
        own.plan("imka", "hop-step-sand", "track")
    for slug, drill in catalogue().items():
        if drill.ends == "track":
            plan = own.plan("imka", slug, "club")
            assert plan.contacts[-1].x < plan.place.end_x


def test_a_metre_of_runway_stays_behind_the_start_of_a_drill_on_the_track() -> None:
    drill, track = catalogue()["hop-step-hold"], venues()["track"]
    plan = own.plan("imka", drill.slug, "track")
    reach = plan.approach.length + plan.contacts[-1].x

    def refused(length: float) -> bool:
        try:
            make_plan(
                own.member("imka"), drill, dataclasses.replace(track, runway_length=length), own.ON
            )
        except BadInput:
            return True
        return False

    assert flips(refused, reach, reach + 3.0, 12) == pytest.approx(reach + 1.0, abs=2e-3)


def test_the_runway_is_as_long_as_the_venue_s() -> None:
    plan = own.plan("imka", "full-triple-jump", "club")
    assert plan.place.end_x - plan.place.start_x == pytest.approx(-venues()["club"].start)
    again = place_for(
        venues()["club"], catalogue()["full-triple-jump"], plan.contacts, plan.approach.length
    )
    assert again == plan.place
