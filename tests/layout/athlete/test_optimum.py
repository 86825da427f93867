"""The best split: truly the best inside what was shown, and honest about how flat it is."""

from __future__ import annotations

import itertools
import re
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.stances import GRAVITY
from layout.athlete.ability import Ability, ability
from layout.athlete.athlete import athlete_from
from layout.athlete.carry import RUN_FALL
from layout.athlete.flight import arrival, flight_time, leave_at, stance_at
from layout.athlete.optimum import Optimum, best_split, optimum_text
from layout.words.split import SHARE_RANGE
from layout.words.trade import MOVES
from tests.strategies import CLUB, athlete_tables, member


@lru_cache(maxsize=8)
def able(who: str) -> Ability:
    return ability(member(who))


def walked(can: Ability, factors: tuple[float, float, float]) -> list[float]:
    """Three phases one after another with vertical speeds times `factors`; no arrays, no search [m]."""
    form, vx, fall, out = can.shown, can.shown.entry, RUN_FALL, []
    for i, move in enumerate(MOVES):
        vy = form.vy[i] * factors[i]
        loss = form.loss(i, np.array([vx]), np.array([vy - fall]))
        vx = max(vx - float(np.asarray(loss).ravel()[0]), 1.0)
        (ahead, start), (landing, end) = (
            leave_at(can.who, move, np.array([vx])),
            stance_at(can.who, arrival(move, False), np.array([vx])),
        )
        time = float(flight_time(vy, start, end)[0])
        out.append(float(ahead[0]) + vx * time + float(landing[0]))
        fall = vy - GRAVITY * time
    return out


@pytest.mark.parametrize("who", CLUB)
def test_shares_gain_and_flatness_belong_together(who: str) -> None:
    found = best_split(able(who))
    assert sum(found.shares) == pytest.approx(1.0)
    assert found.gain >= 0.0
    for share, (low, high) in zip(found.shares, found.flat, strict=True):
        assert low <= share <= high
        assert low > 0.0
        assert high < 1.0


@pytest.mark.parametrize("who", CLUB)
def test_gain_is_over_the_shown_jump(who: str) -> None:
    found = best_split(able(who))
    assert found.total - found.gain == pytest.approx(sum(walked(able(who), (1.0, 1.0, 1.0))))


@pytest.mark.parametrize("who", CLUB)
@given(st.tuples(*[st.floats(0.9, 1.1)] * 3))
def test_no_way_of_jumping_inside_the_margin_beats_it(
    who: str, factors: tuple[float, float, float]
) -> None:
    """Any point of the box, not only the grid's: the grid may miss the peak by this much."""
    found = best_split(able(who), 0.10)
    assert sum(walked(able(who), factors)) <= found.total + 0.005


@pytest.mark.parametrize("who", CLUB)
def test_found_total_can_be_walked(who: str) -> None:
    """Some corner, edge or inside of the box gives the very total: the search invents nothing."""
    found = best_split(able(who), 0.10)
    scale = np.linspace(0.9, 1.1, 15)
    totals = {
        (a, b, c): walked(able(who), (a, b, c))
        for a in scale[[0, 7, 14]] for b in scale for c in scale[[0, 7, 14]]
    }  # fmt: skip
    assert max(sum(v) for v in totals.values()) <= found.total + 1e-9
    at = dict.fromkeys(found.at_edge, (0, 14))
    near = [
        sum(walked(able(who), (a, b, c)))
        for a in scale[list(at.get("hop", range(15)))]
        for b in scale[list(at.get("step", range(15)))]
        for c in scale[list(at.get("jump", range(15)))]
    ]
    assert max(near) == pytest.approx(found.total, abs=1e-9)


@pytest.mark.parametrize("who", CLUB)
def test_wider_margin_never_shortens(who: str) -> None:
    totals = [best_split(able(who), m).total for m in (0.02, 0.05, 0.10, 0.20)]
    # Grids of different width share few points; 2 mm is what one may miss.
    assert all(b >= a - 0.002 for a, b in itertools.pairwise(totals))


@pytest.mark.parametrize("margin", [0.0, -0.1, 0.26, float("nan")])
def test_margin_is_checked(margin: float) -> None:
    with pytest.raises(ValueError, match=r"margin: above 0 to \.25, got"):
        best_split(able("imka"), margin)


@given(athlete_tables())
def test_any_athlete_gets_a_finite_answer(table: dict[str, object]) -> None:
    found = best_split(ability(athlete_from(table)))
    assert np.isfinite([found.total, found.gain, *found.shares, *np.ravel(found.flat)]).all()
    assert found.gain >= 0.0
    text = optimum_text(found)
    assert "a hint, not a promise" in text


def test_flatness_is_every_split_within_5_cm_of_the_best() -> None:
    """All of the grid walked one by one: no split less, and none more."""
    can = able("imka")
    scale = np.linspace(0.9, 1.1, 15)
    made = np.array([walked(can, (a, b, c)) for a in scale for b in scale for c in scale])
    totals = made.sum(axis=1)
    near = (made / totals[:, None])[totals >= totals.max() - 0.05]
    found = best_split(can)
    assert np.array(found.flat) == pytest.approx(np.array([near.min(axis=0), near.max(axis=0)]).T)
    assert found.flat[0][1] - found.flat[0][0] > 0.01


def _optimum(edge: tuple[str, ...]) -> Optimum:
    return Optimum(
        12.0, 0.042, (0.354, 0.296, 0.35), ((0.33, 0.374), (0.28, 0.31), (0.33, 0.36)), edge
    )


def test_text_says_split_gain_flatness() -> None:
    text = optimum_text(_optimum(()))
    assert "best split is about 35:30:35, 4 cm more than the jump it was made from" in text
    assert "any hop share from 33 to 37 % comes within 5 cm of it" in text
    assert "edge" not in text


@pytest.mark.parametrize(
    ("gain", "shares", "hop", "said"),
    [
        (0.0551, (0.3451, 0.3051, 0.3498), (0.3251, 0.3749), ("35:31:35", "6 cm", "33 to 37 %")),
        (0.0549, (0.3549, 0.2949, 0.3502), (0.3349, 0.3851), ("35:29:35", "5 cm", "33 to 39 %")),
    ],
)
def test_figures_of_the_text_are_rounded_from_their_own(
    gain: float, shares: Any, hop: Any, said: tuple[str, str, str]
) -> None:
    text = optimum_text(Optimum(12.0, gain, shares, (hop, (0.28, 0.31), (0.33, 0.36)), ()))
    split, more, wide = said
    assert f"about {split}, {more} more than" in text
    assert f"hop share from {wide} comes" in text


@pytest.mark.parametrize(
    ("edge", "said"),
    [(("hop",), "in the hop sits at the edge"), (("hop", "step"), "in the hop and step sit at the"),
     (("hop", "step", "jump"), "in the hop, step and jump sit at the edge")],
)  # fmt: skip
def test_text_names_edges(edge: tuple[str, ...], said: str) -> None:
    assert said in optimum_text(_optimum(edge))


@pytest.mark.parametrize("who", CLUB)
def test_printed_split_can_be_asked_for(who: str) -> None:
    """The text's three whole shares are a split the planner takes."""
    found = re.search(r"about (\d+):(\d+):(\d+)", optimum_text(best_split(able(who))))
    assert found
    low, high = SHARE_RANGE
    shares = [int(n) / 100 for n in found.groups()]
    assert abs(sum(shares) - 1) <= 0.01 + 1e-12
    assert all(low <= s <= high for s in shares)
