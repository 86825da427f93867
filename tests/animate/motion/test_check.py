"""The check of mechanics: what it lets through, what it tells, and that it sees a motion spoilt."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from animate.body.pose import JOINT, SEGMENT
from animate.body.stances import GRAVITY
from animate.motion.check import PROMISES, Missed, Report, check
from animate.motion.dynamics import ground_force, moments
from animate.motion.motion import Motion
from animate.motion.solver.form import FREE
from animate.motion.solver.library import shipped
from animate.motion.strength import SLACK, share

TRIPLE = Motion.load(next(p for p in shipped() if p.name == "triple-175.json.gz"))
GOOD = check(TRIPLE)


def contact(**figures: Any) -> Callable[[], Report]:
    """The good report with figures of its third contact changed."""
    third = replace(GOOD.contacts[2], **figures)
    return lambda: replace(GOOD, contacts=(*GOOD.contacts[:2], third, *GOOD.contacts[3:]))


def flight(**figures: Any) -> Callable[[], Report]:
    """The good report with figures of its second flight changed."""
    second = replace(GOOD.flights[1], **figures)
    return lambda: replace(GOOD, flights=(GOOD.flights[0], second, *GOOD.flights[2:]))


def whole(**figures: Any) -> Callable[[], Report]:
    """The good report with figures of the whole motion changed."""
    return lambda: replace(GOOD, **figures)


BOUNDS: dict[
    str, tuple[Callable[..., Callable[[], Report]], Callable[[float], dict[str, Any]], float]
]
BOUNDS = {
    "parabola": (flight, lambda v: {"parabola": v}, 1e-3),
    "drift": (flight, lambda v: {"drift": v, "drift_share": 0.01 * v / 0.02}, 0.02),
    "lowest": (flight, lambda v: {"lowest": -v}, 2e-3),
    "slip": (contact, lambda v: {"slip": v}, 2e-3),
    "penetration": (contact, lambda v: {"penetration": v}, 2e-3),
    "mark": (contact, lambda v: {"mark": v}, 2e-3),
    "pull": (contact, lambda v: {"least": -v}, 1e-3),
    "friction": (contact, lambda v: {"friction": v}, 0.808),
    "pressure": (contact, lambda v: {"pressure": (0.1, 1.0 + v)}, 0.01),
    "rising": (contact, lambda v: {"rising": v}, 0.1),
    "sinking": (contact, lambda v: {"sinking": v}, 0.7),
    "impulse": (contact, lambda v: {"impulse": v}, 0.01),
    "speed_in": (contact, lambda v: {"speed_in": -v}, 0.1),
    "speed_out": (contact, lambda v: {"speed_out": v}, 0.1),
    "rise_out": (contact, lambda v: {"rise_out": -v}, 0.1),
    "segment": (whole, lambda v: {"segment": v}, 1e-9),
    "leap": (whole, lambda v: {"leap": v}, 1e-3),
    "velocity": (whole, lambda v: {"velocity": v}, 1e-2),
    "hip_velocity": (whole, lambda v: {"hip_velocity": v}, 1e-3),
}
"""What is promised, as the README and the plan's own words have it."""


def test_a_good_motion_has_no_fault_and_every_promise_is_tried() -> None:
    assert GOOD.faults == ()
    assert set(BOUNDS) | {"range"} == set(PROMISES)


@pytest.mark.parametrize("name", BOUNDS)
def test_each_promise_holds_up_to_its_bound_and_no_further(name: str) -> None:
    part, figures, bound = BOUNDS[name]
    assert part(**figures(bound * 0.99))().faults == ()
    (fault,) = part(**figures(bound * 1.01))().faults
    where = {contact: "contact 3", flight: "flight after contact 2", whole: ""}[part]
    assert (fault.promise, fault.where) == (name, where)
    assert fault.off == pytest.approx(bound * 1.01)
    assert fault.most == pytest.approx(bound)
    (none,) = part(**figures(math.nan))().faults
    assert none.promise == name


def test_the_foot_may_bear_up_to_its_heel_and_no_further() -> None:
    assert contact(pressure=(-0.009, 0.9))().faults == ()
    assert [f.promise for f in contact(pressure=(-0.011, 0.9))().faults] == ["pressure"]


def test_sand_is_dug_into_and_friction_is_of_the_track() -> None:
    assert contact(friction=2.0, surface="sand")().faults == ()


def test_a_joint_beyond_its_range_is_named() -> None:
    (fault,) = whole(limits={"r_knee": 0.1})().faults
    assert fault.text == "r_knee: 5.7 degrees beyond its range"


def spoilt(k: int, **changes: object) -> tuple[Motion, dict[str, Missed]]:
    """The triple jump with a phase changed, and what the check has against that, by promise."""
    phases = list(TRIPLE.phases)
    phases[k] = replace(phases[k], **changes)  # type: ignore[arg-type]
    motion = replace(TRIPLE, phases=tuple(phases))
    return motion, {f.promise: f for f in check(motion).faults}


def test_a_body_off_its_parabola() -> None:
    _, faults = spoilt(3, com=TRIPLE.phases[3].com + np.array([0.0, 0.002]))
    assert faults["parabola"].where == "flight after contact 2"
    assert faults["parabola"].off == pytest.approx(0.002, abs=1e-4)


def test_a_velocity_that_jumps() -> None:
    _, faults = spoilt(3, velocity=TRIPLE.phases[3].velocity + np.array([0.3, 0.0]))
    assert faults["hip_velocity"].off == pytest.approx(0.3, abs=1e-3)


def test_angular_momentum_that_drifts() -> None:
    bent = TRIPLE.phases[3].angles.copy()
    bent[6, FREE.index("r_thigh")] += 0.3
    assert "drift" in spoilt(3, angles=bent)[1]


def test_a_foot_five_centimetres_under_the_ground_in_flight() -> None:
    low = TRIPLE.frames(np.linspace(*TRIPLE.starts[3:5], 2000), 3).positions[:, [11, 12, 15, 16], 1]
    down = np.array([0.0, low.min() + 0.05])
    motion, faults = spoilt(3, com=TRIPLE.phases[3].com - down)
    assert faults["lowest"].where == "flight after contact 2"
    assert faults["lowest"].off == pytest.approx(0.05, abs=1e-4)
    assert "50.0 mm under the ground" in faults["lowest"].text
    assert motion.frames(np.array([0.0])).positions.shape[1] == len(JOINT)


def test_a_foot_off_the_ground_in_contact() -> None:
    """Turned up by .05 rad about one end, the foot's other end is off by that times its length."""
    foot = TRIPLE.phases[4].angles.copy()
    foot[:, FREE.index("r_foot")] += 0.05
    _, faults = spoilt(4, angles=foot)
    lift = 0.05 * TRIPLE.body.lengths[-1]
    assert faults["penetration"].off == pytest.approx(lift, rel=0.02)
    assert faults["penetration"].where == "contact 3"


def test_a_knee_bent_forward_and_what_it_does_to_the_ground() -> None:
    knee = TRIPLE.phases[4].angles.copy()
    knee[4:7, FREE.index("r_knee")] = -0.5
    motion, faults = spoilt(4, angles=knee)
    bent = {f.where: f.off for f in check(motion).faults if f.promise == "range"}
    assert bent["r_knee"] == pytest.approx(0.5, abs=0.05)
    assert max(bent, key=lambda joint: bent[joint]) == "r_knee"
    assert faults["pull"].off > 1.0
    assert faults["friction"].off > 1.0


def by_hand(motion: Motion, k: int) -> tuple[float, float]:
    """Most friction and least upward force [body weights] of a contact, from where the body's centre
    is: second differences of its place."""
    h = 5e-5
    t = np.arange(motion.starts[k] + h, motion.starts[k + 1] - h, 2e-4)
    before, here, after = (motion.frames(t + d, k).com for d in (-h, 0.0, h))
    force = (after - 2 * here + before) / h**2 + np.array([0.0, GRAVITY])
    strong = force[:, 1] > 0.2 * GRAVITY
    used = np.abs(force[strong, 0]) / force[strong, 1]
    return float(used.max()), float(force[:, 1].min() / GRAVITY)


@pytest.mark.parametrize("lean", [0.0, 0.3])
def test_friction_is_what_the_bodys_centre_needs(lean: float) -> None:
    """As solved, and with arms flung forward half-way through the contact."""
    arms = TRIPLE.phases[4].angles.copy()
    arms[5, [FREE.index("r_upper_arm"), FREE.index("l_upper_arm")]] += lean
    motion, faults = spoilt(4, angles=arms)
    friction, least = by_hand(motion, 4)
    found = check(motion, 2e-4).contacts[2]
    assert found.friction == pytest.approx(friction, rel=0.02)
    assert found.least == pytest.approx(least, abs=0.05)
    assert ("friction" in faults) == (friction > 0.808)
    assert ("friction" in faults) == (lean > 0)


def test_a_landing_that_comes_up_and_one_that_sinks() -> None:
    base = TRIPLE.phases[-1].base
    assert base is not None
    for lift, name in ((0.3, "rising"), (-0.3, "sinking")):
        moved = base.copy()
        moved[-1, 1] += lift
        assert name in spoilt(-1, base=moved)[1]


def test_speeds_off_the_plan() -> None:
    data = TRIPLE.as_dict()
    data["chain"]["supports"][2]["vx"] += 0.2
    (fault,) = check(Motion.from_dict(data)).faults
    assert (fault.promise, fault.where) == ("speed_out", "contact 3")


def test_a_joint_asked_for_more_than_it_can_give_is_told_where_and_when() -> None:
    weak = Motion(replace(TRIPLE.body, strength=0.5), TRIPLE.chain, TRIPLE.settings, TRIPLE.phases)
    found = [b for b in check(weak).beyond if (b.where, b.joint) == ("contact 3", "r_knee+")]
    (knee,) = found
    step = TRIPLE.frames(np.array([knee.at]), 4)
    force, about = ground_force(TRIPLE, step)
    value = float(moments(TRIPLE, step, force, about, "r")["r_knee"][0]) / TRIPLE.body.mass
    speed = step.rates[0, SEGMENT["r_shank"]] - step.rates[0, SEGMENT["r_thigh"]]
    assert (knee.torque, knee.speed) == pytest.approx((value, speed), rel=1e-9)
    assert knee.times == pytest.approx(float(share("knee+", value, speed, 0.5)), rel=1e-9)
    assert knee.times > SLACK
    assert check(weak).faults == check(TRIPLE).faults


def test_the_stronger_the_fewer_joints_are_asked_too_much() -> None:
    def count(strength: float) -> int:
        who = replace(TRIPLE.body, strength=strength)
        return len(check(Motion(who, TRIPLE.chain, TRIPLE.settings, TRIPLE.phases)).beyond)

    counts = [count(s) for s in (0.3, 0.6, 1.0, 2.0)]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > counts[-1]
