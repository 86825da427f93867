"""Figures of plan and motion side by side: each its own, measured another way."""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np
import pytest

from animate.motion.motion import Motion
from layout.commands.demo_ import plans
from layout.moving.both import CODE, WHY, both_lines, contact_times, heights, with_both
from layout.moving.solved import at_hand
from layout.plan.value import Plan

PLANS = {stem: plan for stem, plan, _, _ in plans()}


@lru_cache(maxsize=1)
def ready(stem: str) -> tuple[Plan, Motion]:
    motion = at_hand(PLANS[stem])
    assert motion is not None
    return PLANS[stem], motion


@pytest.mark.parametrize("stem", PLANS)
def test_heights_are_the_tops_of_the_curves(stem: str) -> None:
    plan, motion = ready(stem)
    first = len(motion.chain.supports) - len(plan.contacts)
    found = heights(plan, motion)
    assert len(found) == len(plan.flights)
    for i, (both, flight) in enumerate(zip(found, plan.flights, strict=True)):
        times = np.linspace(motion.takeoffs[first + i], motion.touchdowns[first + i + 1], 400)
        assert both.motion == pytest.approx(motion.frames(times).com[:, 1].max(), abs=1e-4)
        assert both.plan == flight.apex_z
        assert both.name.startswith(flight.phase)


@pytest.mark.parametrize("stem", PLANS)
def test_contact_times_are_those_of_the_same_contact(stem: str) -> None:
    plan, motion = ready(stem)
    timed = [c for c in plan.contacts[:-1] if c.time is not None]
    for both, contact in zip(contact_times(plan, motion), timed, strict=True):
        # A kept motion is this plan's to a micrometre: its chain is rounded to that.
        at = [i for i, s in enumerate(motion.chain.supports) if abs(s.toe - contact.x) < 1e-6]
        assert both.plan == contact.time
        assert both.motion == pytest.approx(motion.contact_times[at[0]])


@pytest.mark.parametrize("stem", PLANS)
def test_both_are_said_with_why(stem: str) -> None:
    plan, motion = ready(stem)
    lines = both_lines(plan, motion)
    assert lines[-1] == WHY
    pairs = re.findall(r"(\d\.\d\d) / (\d\.\d\d)", " ".join(lines))
    wanted = [*heights(plan, motion), *contact_times(plan, motion)]
    assert pairs == [(f"{b.plan:.2f}", f"{b.motion:.2f}") for b in wanted]


@pytest.mark.parametrize("stem", PLANS)
def test_a_plan_whose_motion_is_known_carries_its_figures_once(stem: str) -> None:
    plan, motion = ready(stem)
    noted = with_both(with_both(plan, motion), motion)
    assert noted.warnings == plan.warnings
    (note,) = [n for n in noted.notes if n.code == CODE]
    assert [n for n in noted.notes if n.code != CODE] == list(plan.notes)
    wanted = [b.motion for b in (*heights(plan, motion), *contact_times(plan, motion))]
    assert re.findall(r"\d\.\d\d", note.text) == [f"{x:.2f}" for x in wanted]


def test_take_offs_are_near_the_plan() -> None:
    """Over the demo's motions: as near as most are, and none beyond what the solver is held to."""
    off = []
    for stem in PLANS:
        plan, motion = ready(stem)
        first = len(motion.chain.supports) - len(plan.contacts)
        for i, contact in enumerate(plan.contacts[:-1]):
            flown = motion.phases[2 * (first + i) + 1]
            assert contact.height is not None
            assert contact.vx is not None
            assert contact.vy is not None
            off.append(
                np.abs(
                    [flown.com[1] - contact.height, *(flown.velocity - (contact.vx, contact.vy))]
                )
            )
    height, vx, vy = np.array(off).T
    assert (height <= 0.02).mean() > 0.70
    assert (height <= 0.05).mean() > 0.95
    assert min((vx <= 0.05).mean(), (vy <= 0.05).mean()) > 0.85
    assert max(vx.max(), vy.max()) <= 0.0801
