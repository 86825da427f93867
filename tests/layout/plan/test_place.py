"""Where a drill is set out: the board, the sand, and what is too far."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.faults import BadInput
from layout.plan.drill import catalogue
from layout.plan.place import board_margins, choose_board, place_for
from layout.plan.venue import EDGE_ROOM, INTO_SAND, venues
from tests import strategies as own
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
def test_sand_landings_are_well_in_or_warned_about(name: str, slug: str) -> None:
    plan = own.plan(name, slug)
    codes = {n.code for n in plan.warnings}
    into = plan.contacts[-1].x - plan.place.end_x
    assert plan.place.pit_x == plan.place.end_x
    assert (into < SAND) == ("sand-short" in codes)
    before = plan.place.end_x - plan.contacts[-2].x
    assert (before < EDGE_ROOM - 1e-9) == ("edge" in codes)
    if not catalogue()[slug].board:
        # Free to be set out anywhere: then it is set out well.
        assert into >= SAND or before <= EDGE_ROOM + 1e-9


@pytest.mark.parametrize("name", own.CLUB)
def test_board_too_far_is_said_with_its_margin(name: str) -> None:
    far = own.plan(name, "full-triple-jump", "club", board=13.0)
    last = far.contacts[-1].x
    short = last - 13.0 - INTO_SAND < 0.1 * last
    note = next(n for n in far.notes if n.code == "board")
    assert note.grave == short
    assert ("too far for this athlete" in note.text) == short
    assert f"{abs(13.0 - far.contacts[-2].x):.2f} m before the sand" in note.text
    assert (last < 13.0 + SAND) == any(n.code == "sand-short" for n in far.warnings)


def test_the_club_s_youngest_cannot_use_the_far_board() -> None:
    codes = {n.code for n in own.plan("runa", "full-triple-jump", "club", board=13.0).warnings}
    assert {"board", "sand-short"} <= codes


@pytest.mark.parametrize("name", own.CLUB)
def test_the_shortest_safe_jump_is_told_truly(name: str) -> None:
    """The board plus half a metre: below it the landing is not well in the sand."""
    plan = own.plan(name, "full-triple-jump", "marram-point")
    assert plan.place.board is not None
    note = next(n for n in plan.notes if n.code == "board")
    last = plan.contacts[-1].x
    if last - plan.place.board - SAND >= 0:
        assert f"{plan.place.board + SAND:.2f} m is the shortest safe jump" in note.text


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


def test_the_runway_is_as_long_as_the_venue_s() -> None:
    plan = own.plan("imka", "full-triple-jump", "club")
    assert plan.place.end_x - plan.place.start_x == pytest.approx(-venues()["club"].start)
    again = place_for(
        venues()["club"], catalogue()["full-triple-jump"], plan.contacts, plan.approach.length
    )
    assert again == plan.place
