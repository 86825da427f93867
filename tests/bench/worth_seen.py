"""Best motions beside what is published of the triple jump; by hand: python -m tests.bench.worth_seen

Each line has our figure, the published one and whether the direction is the same. docs/worth.md has them.
"""

from __future__ import annotations

import datetime
import itertools
from dataclasses import replace

import numpy as np

from animate.body.pose import SEGMENT
from animate.motion.best import Best, best, matched
from animate.motion.chain import Settings
from animate.motion.motion import Motion
from animate.motion.outcome import NotFound
from animate.motion.solver.freed import Terms, from_contact
from layout.athlete.athlete import athlete_from
from layout.moving.solved import motion_of
from layout.moving.worth import step_contact_of
from layout.plan.drill import catalogue
from layout.plan.spacing import make_plan
from layout.plan.venue import venues

DAY = datetime.date(2026, 5, 1)


def motion_at(total: float, stature: float, mass: float) -> Motion:
    """A full jump of an advanced man."""
    who = athlete_from(
        {
            "name": "Nobody", "stature": stature, "mass": mass, "born": 2000, "build": "male",
            "leg": "right", "level": "advanced", "training_years": 8, "best": total,
            "target": total, "split": "balanced", "strides": 16,
        }
    )  # fmt: skip
    return motion_of(make_plan(who, catalogue()["full-triple-jump"], venues()["club"], DAY))


def pose(found: Best) -> dict[str, float]:
    """Angle between the thighs at touchdown and take-off, least knee angle [degrees], share of speed lost."""
    motion = found.outcome.motion
    side = motion.chain.supports[1].side
    free = "l" if side == "r" else "r"
    f = motion.frames(np.linspace(motion.starts[2], motion.starts[3] - 1e-9, 60), 2)
    angle = {name: np.degrees(f.angles[:, k]) for name, k in SEGMENT.items()}
    thighs = angle[f"{side}_thigh"] - angle[f"{free}_thigh"]
    knee = 180 - (angle[f"{side}_thigh"] - angle[f"{side}_shank"])
    vx, vz = f.com_velocity[:, 0], f.com_velocity[:, 1]
    return {
        "thighs down": thighs[0], "thighs off": -thighs[-1], "least knee": float(knee.min()),
        "loss": 100 * (1 - vx[-1] / vx[0]), "gain": vz[-1] - vz[0], "lost": vx[0] - vx[-1],
        "up": vz[-1], "time": 1000 * float(motion.contact_times[1]),
    }  # fmt: skip


def shares(part: Motion, found: Best) -> tuple[str, float]:
    """Split and total of the jump found."""
    supports = part.chain.supports
    lengths = [b.toe - a.toe for a, b in itertools.pairwise(supports[1:])]
    got = np.array(lengths) + np.array(found.further)
    return "/".join(f"{100 * v / got.sum():.1f}" for v in got), float(got.sum())


def whole() -> None:
    """Split of the best whole jump of a 12.5 m jumper at falling strength, and how flat it is."""
    part = from_contact(motion_at(12.5, 1.80, 72.6), 1)
    start, usual = None, 0.0
    print("published best split 33.6/31.7/34.8 of 13.32 m, 6.6 % over the jump it was matched to")
    for strength in (0.65, 0.5, 0.42, 0.36, 0.32):
        try:
            found = best(part, Settings(), Terms(strength, reward=(10.0,) * 3), start)
        except NotFound as fault:
            print(f"strength {strength}: {fault}", flush=True)
            continue
        start, (text, usual) = found.outcome, shares(part, found)
        told = f"best split {text} of {usual:.2f} m, over {found.over:.2f} {found.edges}"
        print(f"strength {strength}: {told}", flush=True)
    for tilt in ((12.0, 10.0, 8.0), (8.0, 10.0, 12.0), (9.0, 12.0, 9.0)):
        try:
            other = best(part, Settings(), Terms(0.5, reward=tilt), start)
            text, there = shares(part, other)
            print(f"  tilted, strength .5: {text}: {there:.2f} m", flush=True)
        except NotFound as fault:
            print("  tilt", tilt, fault)


def step(total: float = 16.0) -> None:
    """The step: what a stronger jumper does otherwise, speed against height, arms."""
    motion = motion_at(total, 1.85, 76.0)
    part = from_contact(motion, step_contact_of(motion))
    terms, usual = matched(part, Terms(1.0), lambda b: sum(b.further))
    traded(part, terms, usual)
    found = usual
    for times in (1.0, 1.15, 1.3, 1.5):
        try:
            found = best(
                part, Settings(), replace(terms, strength=times * terms.strength), found.outcome
            )
        except NotFound as fault:
            print(times, fault)
            continue
        told = ", ".join(f"{k} {v:.2f}" for k, v in pose(found).items())
        print(f"strength x {times}: {told}, further {np.round(found.further, 2)}", flush=True)


def traded(part: Motion, terms: Terms, usual: Best) -> None:
    """Speed given for height at the step, and what arms add."""
    for reward in ((10.0, 10.0), (10.0, 5.0), (5.0, 10.0), (3.0, 10.0), (10.0, 20.0)):
        try:
            got = pose(best(part, Settings(), replace(terms, reward=reward), usual.outcome))
            print(
                f"  reward {reward}: gain {got['gain']:.2f} lost {got['lost']:.2f} up {got['up']:.2f}"
            )
        except NotFound as fault:
            print("  reward", reward, fault)
    for aim in (terms, replace(terms, reward=(10.0, 1.0), meets=True)):
        try:
            free = best(part, Settings(), aim, usual.outcome)
            still = best(part, Settings(), replace(aim, still=True), usual.outcome)
            gain = np.array(free.further) - np.array(still.further)
            print(f"arms free over arms still: {np.round(100 * gain, 1)} cm; inside {still.inside}")
        except NotFound as fault:
            print("arms", fault)


if __name__ == "__main__":
    whole()
    step()
