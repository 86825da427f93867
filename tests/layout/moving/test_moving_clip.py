"""Clips of the demo club's solved motions: what is held, named, measured and aligned."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import pytest

from animate.chain import Settings
from animate.motion import Motion, check
from layout.commands.compare_ import OF, ways
from layout.commands.demo_ import COMPARED, plans
from layout.moving.chain import chain_of
from layout.moving.clip import clip_of, runway_of, side_by_side_of, step_contact, stills_of
from layout.moving.solved import motion_of
from layout.plan.value import Plan

PLANS = {stem: plan for stem, plan, _, _ in plans()}


@lru_cache(maxsize=32)
def ready(stem: str, settings: Settings | None = None) -> Motion:
    """A demo motion as it is shipped: none of these tests waits for the solver."""

    def no_solving(*_: object) -> None:
        raise AssertionError(
            f"{stem} {settings}: not shipped; python -m layout.commands.make_ready"
        )

    return motion_of(PLANS[stem], settings, no_solving)


@pytest.mark.parametrize("stem", PLANS)
def test_the_demo_motions_are_shipped_and_hold(stem: str) -> None:
    motion = ready(stem)
    assert motion.chain == chain_of(PLANS[stem])
    report = check(motion)
    assert not report.faults, report.faults


@pytest.mark.parametrize("of", [o for o in OF if o != "hops"])
def test_the_compared_ways_are_shipped_and_hold(of: str) -> None:
    for _, settings in ways(of, Settings()):
        assert not check(ready(COMPARED, settings)).faults


@pytest.mark.parametrize("stem", PLANS)
def test_the_step_contact_is_the_first_left_by_a_step(stem: str) -> None:
    plan, motion = PLANS[stem], ready(stem)
    step = step_contact(motion)
    support = motion.chain.supports[step.index]
    assert support.leave == "step"
    assert all(s.leave != "step" or s.side == "both" for s in motion.chain.supports[: step.index])
    foot = {"l": "left", "r": "right"}[support.side]
    contact = next(c for c in plan.contacts if c.leave == "step" and c.foot != "both")
    assert (contact.foot, contact.x) == (foot, support.toe)
    assert step.touchdown == pytest.approx(float(motion.touchdowns[step.index]))
    assert motion.takeoffs[step.index] <= step.high <= motion.touchdowns[step.index + 1]


@pytest.mark.parametrize("stem", PLANS)
def test_the_knees_are_apart_at_the_step_contact_and_the_thigh_comes_up(stem: str) -> None:
    """Positions at the step (common practice): free knee still behind, thigh then near level."""
    values = step_contact(ready(stem)).reading.values
    assert values["knee_gap"] > 0.10
    assert values["free_thigh_highest"] > math.radians(-25)


@pytest.mark.parametrize("of", ["knees", "lever"])
def test_what_the_coach_asks_is_what_is_measured(of: str) -> None:
    for _, settings in ways(of, Settings()):
        values = step_contact(ready(COMPARED, settings)).reading.values
        if settings.knee_gap is not None:
            assert values["knee_gap"] == pytest.approx(settings.knee_gap, abs=0.02)
        if settings.knee_bend is not None:
            bend = math.pi - values["free_knee_touchdown"]
            assert bend == pytest.approx(settings.knee_bend, abs=math.radians(4))


def test_a_clip_holds_the_step_touchdown_exactly_and_says_the_gap() -> None:
    stem = COMPARED
    motion = ready(stem)
    step = step_contact(motion)
    scene = clip_of(PLANS[stem], motion)
    longest = int(np.argmax(scene.durations))
    assert scene.durations[longest] == pytest.approx(1.6)
    gap = step.reading.shown()["knee_gap"].replace("-", "−")
    texts = [caption.text for caption in scene.captions_of(longest)]
    assert any(gap in text for text in texts), texts
    assert sum(scene.durations) > 4.0 * motion.duration


def test_the_runway_of_a_clip_has_the_plans_marks() -> None:
    plan = PLANS["tevin-three-hops-step-over"]
    ground = runway_of(plan)
    assert [x for x, _ in ground.marks] == [c.x for c in plan.contacts]
    assert ground.hurdles == tuple((h.x, h.height) for h in plan.hurdles)
    assert ground.sand is None
    whole = runway_of(PLANS["tevin-full-triple-jump"])
    assert whole.sand == PLANS["tevin-full-triple-jump"].place.pit_x
    assert whole.boards == (0.0,)


def test_side_by_side_is_aligned_at_the_step_touchdown() -> None:
    (one, first), (two, second) = ways("knees", Settings())
    a, b = ready(COMPARED, first), ready(COMPARED, second)
    scene = side_by_side_of(a, b, (one, two), "title")
    held = int(np.argmax(scene.durations))
    texts = [c.text for c in scene.captions_of(held)]
    assert texts == ["0.00 s · held"]
    standing = " ".join(c.text for c in scene.still_captions)
    for motion in (a, b):
        gap = step_contact(motion).reading.values["knee_gap"]
        assert f"{100 * gap:.1f} cm" in standing


@pytest.mark.parametrize("kind", ["strip", "trail"])
def test_stills_have_one_frame(kind: str) -> None:
    scene = stills_of(PLANS[COMPARED], ready(COMPARED), kind)
    assert len(scene.durations) == 1


def test_a_left_legged_athlete_shows_the_right_side_too() -> None:
    """The viewer's side is the runway's right whoever runs; the free leg is then the right one."""
    motion: Motion = ready("odalys-full-triple-jump")
    plan: Plan = PLANS["odalys-full-triple-jump"]
    assert plan.who.leg == "left"
    assert step_contact(motion).free == "r"
