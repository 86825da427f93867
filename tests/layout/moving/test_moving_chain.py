"""A plan's contacts as a chain: the same marks, speeds and times, one stride before."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings

from animate.body.body import body
from animate.motion.chain import reachable
from layout.moving.chain import HOLD_TIME, LEG, STRIDE_BEHIND, chain_of
from layout.plan.drill import catalogue
from layout.words.faults import BadInput
from tests import strategies as own

SIDE = {"left": "l", "right": "r", "both": "both"}


@pytest.mark.parametrize("name", own.CLUB)
@pytest.mark.parametrize("drill", sorted(catalogue()))
def test_every_club_plan_is_a_chain_its_body_can_reach(name: str, drill: str) -> None:
    plan = own.plan(name, drill)
    chain = chain_of(plan)
    reachable(chain, body(plan.who.stature, plan.who.mass, plan.who.build))
    run = plan.contacts[0].arrive == "run"
    supports = chain.supports[1:] if run else chain.supports
    assert [s.toe for s in supports] == [c.x for c in plan.contacts]
    assert [s.side for s in supports] == [SIDE[c.foot] for c in plan.contacts]
    flights = chain.flights[1:] if run else chain.flights
    assert list(flights) == [f.time for f in plan.flights]
    for support, contact in zip(supports[:-1], plan.contacts[:-1], strict=True):
        assert (support.vx, support.vy) == (contact.vx, contact.vy)
        if contact.time is not None:
            assert support.duration == contact.time


def test_the_stride_before_ends_on_the_board_from_the_other_foot() -> None:
    plan = own.plan("tevin", "full-triple-jump")
    stride, board = chain_of(plan).supports[:2]
    assert (stride.side, board.side) == ("l", "r")
    assert stride.leave == board.arrive == "run"
    assert stride.toe < board.toe
    flown = board.toe - stride.toe - stride.vx * chain_of(plan).flights[0]
    landing = plan.contacts[0].landing
    assert landing is not None
    assert flown == pytest.approx(STRIDE_BEHIND * plan.who.stature * LEG + landing)


def test_a_hold_is_to_stand_still_and_running_on_is_not() -> None:
    held = chain_of(own.plan("imka", "hop-step-hold")).supports[-1]
    assert held.held
    assert held.duration == HOLD_TIME
    for drill in ("two-hops-step-track", "hop-step-sand"):
        on = chain_of(own.plan("imka", drill)).supports[-1]
        assert not on.held
        assert on.vx > 0


def test_from_standing_there_is_no_stride() -> None:
    chain = chain_of(own.plan("imka", "standing-triple-jump"))
    assert chain.supports[0].arrive == "stand"
    assert chain.supports[0].side == "both"
    assert len(chain.supports) == 4


def test_a_left_legged_plan_is_the_mirrored_chain() -> None:
    table = {"name": "A", "stature": 1.75, "mass": 66.0, "target": 12.5, "born": 2000}
    left, right = (
        chain_of(own.plan({**table, "leg": leg}, "two-hops-step-sand")) for leg in ("left", "right")
    )
    assert left == right.mirrored()


@settings(max_examples=60)
@given(own.athlete_tables(), own.drill_names)
def test_any_plan_makes_a_chain(table: dict[str, object], slug: str) -> None:
    try:
        plan = own.plan(table, slug, own.pit_or_track(slug))
    except BadInput:
        assume(False)
        return
    chain = chain_of(plan)
    assert len(chain.supports) == len(plan.contacts) + (plan.contacts[0].arrive == "run")
