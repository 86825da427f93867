"""Wind of the day and the fall of a runway: what they are worth, and what is beyond the rules."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.athlete.ability import ability
from layout.athlete.athlete import athlete_from
from layout.plan.drill import catalogue
from layout.plan.made import _forecast, chain_of, made_of
from layout.plan.place import choose_board
from layout.plan.spacing import Choices, make_plan
from layout.plan.value import Plan
from layout.plan.venue import read_fall, venues
from layout.rules.ground import INTO_SAND, SHORTFALL
from layout.rules.wind import LEGAL_WIND, WORTH
from layout.words.faults import BadInput
from layout.words.units import show_length
from tests import strategies as own
from tests.published import published

ROWS = {row["id"]: row for row in published("venue.toml")}
WINDS = st.floats(-4.0, 4.0)


def _codes(plan: Plan) -> dict[str, Any]:
    return {n.code: n for n in plan.notes}


@given(WINDS, st.sampled_from(["short-triple-jump", "hop-step-sand", "alternate-bounds"]))
def test_a_forecast_moves_by_what_the_wind_is_worth(wind: float, slug: str) -> None:
    place = own.pit_or_track(slug)
    still = own.plan("tevin", slug, place)
    blown = own.plan("tevin", slug, place, wind=wind)
    worth = WORTH * wind * still.total / ability(own.member("tevin")).reach
    assert blown.total - still.total == pytest.approx(worth, abs=0.01)
    note = _codes(blown)["wind"]
    if abs(wind) > 0.1:
        assert f"{100 * worth:+.0f} cm for it, ± {50 * abs(worth):.0f} cm" in note.text
        assert "tailwind" in note.source


def test_the_margin_holds_what_is_not_sure_of_the_wind() -> None:
    still, blown = (own.plan("tevin", "hop-step-sand", wind=w) for w in (None, 20.0))
    for a, b in zip(still.flights, blown.flights, strict=True):
        assert a.plus_minus is not None
        assert b.plus_minus is not None
        assert b.plus_minus > a.plus_minus
    # Of a calm day's margin at the same speed, and half of what the wind is worth, in squares.
    able, drill = ability(own.member("tevin")), catalogue()["hop-step-sand"]
    made = made_of(own.member("tevin"), drill, Choices(wind=20.0), able)
    calm = _forecast(own.member("tevin"), able, chain_of(drill, Choices()), made.entry)[1]
    assert made.sure is not None
    share = made.chain.length[:, 0] / made.chain.total[0]
    assert made.sure**2 - calm**2 == pytest.approx((0.5 * made.blown * share) ** 2)


@pytest.mark.parametrize("name", own.CLUB)
def test_no_wind_and_an_unknown_one_are_one_plan(name: str) -> None:
    still, none = own.plan(name, "hop-step-sand"), own.plan(name, "hop-step-sand", wind=0.0)
    assert still.flights == none.flights
    assert "wind" not in _codes(still)
    assert "+0 cm" in _codes(none)["wind"].text


def test_a_target_and_a_standing_start_stay_and_say_so() -> None:
    for slug, words in (
        ("full-triple-jump", "these targets"),
        ("standing-triple-jump", "standing"),
    ):
        if slug in catalogue():
            still, blown = (own.plan("imka", slug, wind=w) for w in (None, 1.5))
            assert still.flights == blown.flights
            assert words in _codes(blown)["wind"].text


@given(WINDS)
def test_a_wind_over_the_limit_is_said(wind: float) -> None:
    plan = own.plan("tevin", "short-triple-jump", wind=wind)
    assert ("wind-assisted" in _codes(plan)) == (wind > ROWS["wind-legal"]["high"])
    assert ROWS["wind-legal"]["high"] == LEGAL_WIND


@pytest.mark.parametrize("way", [-1.0, 1.0])
def test_a_storm_moves_a_forecast_no_more_than_a_wind_that_is_counted(way: float) -> None:
    storm, most, less = (own.plan("bram", "hop-step-sand", wind=way * w) for w in (20.0, 5.0, 4.9))
    assert storm.flights == most.flights != less.flights
    assert "counted up to 5 m/s only" in _codes(storm)["wind"].text
    assert "counted up to" not in _codes(most)["wind"].text


@pytest.mark.parametrize("wind", [float("nan"), 20.1, -20.1])
def test_an_impossible_wind_is_refused(wind: float) -> None:
    assert [Choices(wind=w).wind for w in (-20.0, 20.0)] == [-20.0, 20.0]
    with pytest.raises(BadInput, match=r"^wind: must be"):
        Choices(wind=wind)


def _on(**falls: float) -> Plan:
    venue = dataclasses.replace(venues()["national"], **falls)
    choices = Choices(despite="the coach of these tests")
    return make_plan(own.member("tevin"), catalogue()["full-triple-jump"], venue, own.ON, choices)


@pytest.mark.parametrize(
    ("way", "row"), [("fall_along", "fall-along"), ("fall_across", "fall-across")]
)
def test_a_runway_steeper_than_the_rule_is_said(way: str, row: str) -> None:
    limit = 1.0 / ROWS[row]["one_in"]
    assert "runway-fall" not in _codes(_on())
    for share, said in ((0.99, False), (1.0, False), (1.02, True), (-1.02, way == "fall_across")):
        plan = _on(**{way: share * limit})
        assert ("runway-fall" in _codes(plan)) == said, share
        assert plan.flights == _on().flights
        if said:
            assert f"the rules allow 1:{ROWS[row]['one_in']}" in _codes(plan)["runway-fall"].text


@given(st.integers(10, 999_999))
def test_falls_read(n: int) -> None:
    assert read_fall("fall_along", f"1:{n}") == 1.0 / n
    assert read_fall("fall_along", f" -1 : {n} ") == -1.0 / n
    assert read_fall("fall_across", "10 %") == 0.1


@pytest.mark.parametrize(
    "value", ["", "1:0", "1:5", "0.1", 0.001, None, "10.1 %", "1000:1", "nan %"]
)
def test_what_is_no_fall(value: object) -> None:
    with pytest.raises(BadInput, match=r"^fall_across: "):
        read_fall("fall_across", value)


# --- boards by what was jumped --------------------------------------------------------------------


def _athlete(**known: Any) -> Any:
    table = {
        "name": "A",
        "stature": 1.8,
        "mass": 70,
        "leg": "left",
        "level": "advanced",
        "born": 2000,
    }
    return athlete_from({**table, **known})


@given(st.floats(11.5, 14.0), st.floats(0.93, 1.0))
def test_a_board_is_chosen_by_what_was_jumped(target: float, share: float) -> None:
    known = own.plan(
        _athlete(target=target, best=share * target), "full-triple-jump", "marram-point"
    )
    boards, take_off = venues()["marram-point"].boards, known.contacts[-2].x
    best = share * target
    fits = [b for b in boards if take_off <= b <= min(best, known.total) - INTO_SAND]
    if fits:
        assert known.place.board == choose_board(fits, take_off, min(best, known.total))


@given(st.floats(11.5, 14.0))
def test_nothing_jumped_is_the_careful_case(target: float) -> None:
    unknown = own.plan(_athlete(target=target), "full-triple-jump", "marram-point")
    board = unknown.place.board
    assert board is not None
    assert (1.0 - SHORTFALL) * unknown.total - board >= INTO_SAND - 1e-9
    known = own.plan(_athlete(target=target, best=target), "full-triple-jump", "marram-point")
    assert known.place.board is not None
    assert board <= known.place.board
    assert "no best is known" in _codes(unknown)["board"].text


def test_a_whole_jump_says_that_it_is_effective() -> None:
    note = _codes(own.plan("tevin", "full-triple-jump"))["effective"]
    assert "effective distance; the official one, from the line, is less" in note.text


# --- recorded -------------------------------------------------------------------------------------


def test_a_jump_is_recorded_down_to_the_whole_centimetre() -> None:
    row, kept = ROWS["recorded-down"], ROWS["recorded-kept"]
    assert show_length(row["measured"], style="bare", down=True) == f"{row['recorded']:.2f}"
    for was, now in zip(kept["measured"], kept["recorded"], strict=True):
        assert show_length(was, style="bare", down=True) == f"{now:.2f}"


@given(st.integers(0, 3000), st.floats(0.0, 0.99))
def test_recorded_never_more_than_measured(cm: int, part: float) -> None:
    assert show_length(cm / 100 + part / 101, style="bare", down=True) == f"{cm / 100:.2f}"
