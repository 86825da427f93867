"""The best motion of a landing: within strength, and what its torques make of it when played forward by
an independent integrator."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Final

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

from animate.body.body import SEGMENTS, Array
from animate.body.pose import JOINT, SEGMENT, joints, segment_coms
from animate.body.stances import GRAVITY
from animate.motion.best import Best, _solved, best, late, matched
from animate.motion.chain import Settings
from animate.motion.check import check
from animate.motion.dynamics import ground_force, joint_angles, moments, segment_accelerations
from animate.motion.motion import Motion, placed
from animate.motion.solver import library
from animate.motion.solver.form import offsets
from animate.motion.solver.freed import ARMS, IMPACT_UNTIL, Freed, Terms, from_contact
from animate.motion.solver.interior import BARRIER, INEQUALITIES
from animate.motion.solver.tuning import TOE_OFF_MARK
from animate.motion.strength import SLACK, share

FIVE = (
    ("drill-hop-step-sand-1", 0.8),
    ("drill-hop-step-sand-5", 0.7),
    ("drill-short-triple-jump-2", 0.8),
    ("drill-step-jump-sand-1", 0.9),
    ("drill-full-triple-jump-3", 1.0),
)


def part_of(name: str) -> Motion:
    motion = Motion.load(library.FOLDER / f"{name}.json.gz")
    steps = [i for i, s in enumerate(motion.chain.supports) if s.leave == "step"]
    return from_contact(motion, steps[0])


@cache
def found(name: str, strength: float) -> Best:
    return best(part_of(name), Settings(), Terms(strength, reward=(10.0,)))


def contact(got: Best, step: float) -> tuple[Motion, Array]:
    motion = got.outcome.motion
    start, end = motion.starts[2:4]
    return motion, np.append(np.arange(start, end - 1e-9, step), end - 1e-9)


@pytest.mark.parametrize(("name", "strength"), FIVE)
def test_the_best_is_further_and_holds_its_checks(name: str, strength: float) -> None:
    got = found(name, strength)
    assert got.inside, (got.over, got.edges)
    assert got.further[0] > 0.1
    assert [fault.text for fault in late(got.outcome.motion)] == []


@pytest.mark.parametrize(("name", "strength"), FIVE)
def test_its_torques_lie_inside_the_column_at_every_millisecond(name: str, strength: float) -> None:
    got = found(name, strength)
    motion, times = contact(got, 0.001)
    f = motion.frames(times, 2)
    torque = moments(motion, f, *ground_force(motion, f), motion.chain.supports[1].side)
    turning = joint_angles(f.rates)
    after = (times - times[0]) / (times[-1] - times[0])
    allowed = np.where(after < IMPACT_UNTIL, max(2.0, strength), strength)
    for side in "rl":
        for joint in ("hip+", "hip-", "knee+", "knee-", "ankle-"):
            sign = 1.0 if joint[-1] == "+" else -1.0
            speed = (-sign if "knee" in joint else sign) * turning[f"{side}_{joint[:-1]}"]
            asked = sign * torque[f"{side}_{joint[:-1]}"] / motion.body.mass
            for most in np.unique(allowed):
                here = allowed == most
                assert share(joint, asked[here], speed[here], most).max() <= SLACK, (side, joint)
        for joint, most in ARMS.items():
            assert np.abs(torque[f"{side}_{joint}"]).max() / motion.body.mass <= most * SLACK


TREE = {
    "head": ("trunk", "shoulder"),
    **{s + far: (near if near == "trunk" else s + near, joint if joint in JOINT else s + joint)
       for s in ("r_", "l_")
       for far, near, joint in (
           ("upper_arm", "trunk", "shoulder"), ("forearm", "upper_arm", "elbow"),
           ("hand", "forearm", "wrist"), ("thigh", "trunk", "hip"), ("shank", "thigh", "knee"),
           ("foot", "shank", "ankle"))},
}  # fmt: skip
"""Segment: what it hangs on, and at which joint."""


class Played:
    """Fourteen rigid segments by Lagrange's equations in hip and absolute angles, driven by torques at the
    joints and the ground's force at the foot, all as functions of time."""

    def __init__(self, motion: Motion, times: Array) -> None:
        self.body, self.times = motion.body, times
        f = motion.frames(times, 2)
        points = offsets(self.body)
        self.centres = np.stack([points["com:" + s] for s in SEGMENTS])
        self.side = motion.chain.supports[1].side
        self.ankle = points[f"{self.side}_ankle"]
        force, about = ground_force(motion, f)
        x, z = f.positions[:, JOINT[f"{self.side}_ankle"]].T
        turn = about - (x * force[:, 1] - z * force[:, 0])
        torque = moments(motion, f, force, about, self.side)
        place = segment_coms(self.body, f.positions)
        acc = segment_accelerations(motion, f) + np.array([0.0, GRAVITY])
        columns = []
        for far, (_, joint) in TREE.items():
            name = joint if joint[1] == "_" or far == "head" else far[:2] + joint
            if name in torque:
                columns.append(torque[name])
                continue
            i = SEGMENT[far]  # neck and wrists: nothing hangs beyond them
            d, a = place[:, i] - f.positions[:, JOINT[joint]], acc[:, i]
            columns.append(
                self.body.masses[i] * (d[:, 0] * a[:, 1] - d[:, 1] * a[:, 0])
                + self.body.inertias[i] * f.accelerations[:, i]
            )
        self.given = CubicSpline(times, np.column_stack([*columns, force, turn]))
        com = points["com"][None]
        _, v, _ = placed(f.angles, f.rates, f.accelerations, com)
        hip_speed = (f.com_velocity - v[:, 0])[0]
        self.start = np.concatenate([f.hip[0], f.angles[0], hip_speed, f.rates[0]])

    def change(self, time: float, state: Array) -> Array:
        angles, speeds = state[2:16], state[16:]
        c, s = np.cos(angles), np.sin(angles)
        turned = np.stack([c, s, -s, c])  # of a vector (u, v): u c - v s, u s + v c

        def slopes(vectors: Array) -> Array:
            """Derivatives of points by hip and angles, (n, 2, 16)."""
            u, v = vectors[..., 0], vectors[..., 1]
            by = np.stack([-u * turned[1] - v * turned[0], u * turned[0] - v * turned[1]], 1)
            return np.concatenate([np.broadcast_to(np.eye(2), (len(vectors), 2, 2)), by], 2)

        by = slopes(self.centres)
        u, v = self.centres[..., 0], self.centres[..., 1]
        # What the centres accelerate by while no angle does.
        inward = -np.stack(
            [(u * c - v * s) @ speeds[2:] ** 2, (u * s + v * c) @ speeds[2:] ** 2], 1
        )
        m = self.body.masses
        mass = np.einsum("n,nik,nil->kl", m, by, by)
        mass[2:, 2:] += np.diag(self.body.inertias)
        push = np.einsum("n,nik,ni->k", m, by, -inward - np.array([0.0, GRAVITY]))
        given = self.given(time)
        for torque, (far, (near, _)) in zip(given, TREE.items(), strict=False):
            push[2 + SEGMENT[far]] += torque
            push[2 + SEGMENT[near]] -= torque
        push += slopes(self.ankle[None])[0].T @ given[-3:-1]
        push[2 + SEGMENT[f"{self.side}_foot"]] += given[-1]
        return np.concatenate([speeds, np.linalg.solve(mass, push)])


@pytest.mark.parametrize(("name", "strength"), FIVE)
def test_another_integrator_ends_where_the_motion_does(name: str, strength: float) -> None:
    """Torques played forward over the contact: within a centimetre and a degree at its end."""
    motion, times = contact(found(name, strength), 0.0005)
    played = Played(motion, times)
    ended = solve_ivp(
        played.change, times[[0, -1]], played.start, "DOP853", rtol=1e-9, atol=1e-9
    ).y[:, -1]
    f = motion.frames(times[-1:], 2)
    assert np.degrees(np.abs(ended[2:16] - f.angles[0]).max()) < 1.0
    again = joints(motion.body, ended[None, 2:16], ended[None, :2])
    assert np.abs(again - f.positions).max() < 0.01


def test_marks_move_with_the_jump() -> None:
    got = found(*FIVE[0])
    planned, motion = part_of(FIVE[0][0]).chain, got.outcome.motion
    grown = [b.toe - a.toe for a, b in zip(planned.supports, motion.chain.supports, strict=True)]
    assert grown[:2] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert grown[2] == pytest.approx(got.further[0])
    contacts = {c.number: c for c in check(motion).contacts}
    assert contacts[2].mark <= TOE_OFF_MARK + INEQUALITIES


def test_strength_helps() -> None:
    part = part_of(FIVE[0][0])
    strong = best(part, Settings(), Terms(0.9, reward=(10.0,)), found(*FIVE[0]).outcome)
    assert strong.further[0] > found(*FIVE[0]).further[0]


def test_a_matched_strength_gives_the_planned_length() -> None:
    terms, got = matched(part_of(FIVE[4][0]), Terms(1.0), lambda b: sum(b.further))
    assert abs(sum(got.further)) <= 0.02
    assert got.inside
    assert 0.2 < terms.strength < 0.95


def walked(name: str, strength: float, gaps: Array) -> list[tuple[float, float, float]]:
    """Length, barrier's value and price of the knee gap at each gap, each from the one before."""
    part, terms = part_of(name), Terms(strength, reward=(10.0,))
    start, out = found(name, strength).outcome, []
    for gap in gaps:
        build = Freed(part, Settings(knee_gap=float(gap)), terms)
        program = build.program()
        start = _solved(build, start, None)
        x, rows = start.point.x, program.values(start.point.x)
        value = program.objective(x)
        for at, low, high in (
            (x, program.low, program.high),
            (rows, program.row_low, program.row_high),
        ):
            free = low < high - 1e-12
            for room in (at - low, high - at):
                value -= BARRIER * float(np.log(room[free & np.isfinite(room)]).sum())
        price = next(
            float(y)
            for y, at in zip(start.point.y, start.labels, strict=True)
            if at.endswith("knee gap")
        )
        out.append((sum(float(x[build.further[i]]) for i in build.further), value, -price))
    return out


@pytest.mark.parametrize(("name", "strength"), FIVE[:2])
def test_what_is_minimised_changes_as_its_price_says(name: str, strength: float) -> None:
    """A centimetre on: by the setting's own multiplier within 1 % at most steps, .2 mm of length at all."""
    gaps = np.linspace(0.31, 0.37, 7)
    _, value, price = np.array(walked(name, strength, gaps)).T
    by_price = (price[1:] + price[:-1]) / 2 * np.diff(gaps)
    off = np.abs(np.diff(value) - by_price)
    assert np.abs(by_price).min() > 0.005, "nothing to compare"
    assert np.median(off / np.abs(by_price)) <= 0.01
    assert off.max() / 10.0 <= 0.0002


HALF: Final = 0.002
"""Either side of a point, in a slope [m]."""


@pytest.mark.parametrize(("name", "strength"), [FIVE[0], FIVE[2]])
def test_a_curve_rises_as_its_slope_says(name: str, strength: float) -> None:
    """Four points 3 cm apart, the better of both neighbours kept; solved anew 2 mm either side of each. The
    length grows from point to point as the mean of both slopes says, within 20 %, and nowhere does a solve
    so near go over to another way of moving."""
    part, terms = part_of(name), Terms(strength, reward=(10.0,))

    def held(gap: float, start: Best) -> Best:
        return best(part, Settings(knee_gap=gap), terms, start.outcome)

    gaps, at = (0.31, 0.34, 0.37, 0.40), found(name, strength)
    out = [at := held(gap, at) for gap in gaps]
    back = [at := held(gap, at) for gap in gaps[::-1]][::-1]
    kept = [max(pair, key=lambda b: b.further[0]) for pair in zip(out, back, strict=True)]
    length = np.array([b.further[0] for b in kept])
    beside = np.array(
        [
            [held(g + off, b).further[0] for off in (-HALF, HALF)]
            for g, b in zip(gaps, kept, strict=True)
        ]
    )
    slope = (beside[:, 1] - beside[:, 0]) / (2 * HALF)
    rise, told = np.diff(length) / np.diff(gaps), (slope[1:] + slope[:-1]) / 2
    assert np.abs(told).min() > 0.05, "nothing to compare"
    assert (np.abs(rise - told) / np.abs(told)).max() <= 0.2
    assert np.abs(beside.mean(1) - length).max() <= 0.0001


@pytest.mark.parametrize(("name", "strength"), FIVE[:2])
def test_held_beside_a_free_best_it_is_no_further(name: str, strength: float) -> None:
    """2 cm either side of the gap that is best left open."""
    got = found(name, strength)
    side, free = ("r", "l") if got.outcome.motion.chain.supports[1].side == "r" else ("l", "r")
    knees = got.outcome.motion.frames(got.outcome.motion.starts[[2]], 2).positions[0]
    gap = float(knees[JOINT[f"{side}_knee"], 0] - knees[JOINT[f"{free}_knee"], 0])
    for held in (gap - 0.02, gap + 0.02):
        terms = Terms(strength, reward=(10.0,))
        there = best(part_of(name), Settings(knee_gap=held), terms, got.outcome)
        assert there.further[0] <= got.further[0] + 0.0005


def test_arms_held_still_are_worth_less() -> None:
    part = part_of(FIVE[0][0])
    terms = Terms(FIVE[0][1], reward=(10.0,))
    still = best(part, Settings(), replace(terms, still=True))
    assert still.further[0] < found(*FIVE[0]).further[0]


def test_the_library_is_there() -> None:
    assert all((Path(library.FOLDER) / f"{name}.json.gz").exists() for name, _ in FIVE)
