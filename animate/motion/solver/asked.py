"""Does a motion do what was asked of its positions? Measured, not taken from its file."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from animate.body.pose import JOINT, SEGMENT
from animate.motion.motion import Motion
from animate.motion.solver.tuning import DURATION_BAND

GAP: Final = 0.006
"""How far the knee gap may be off [m]: a little over what the solver allows itself."""
ANGLE: Final = math.radians(2.5)
THIGH: Final = math.radians(4.5)
"""Likewise knee and trunk, and the thigh below the height asked [rad]."""


def as_asked(motion: Motion) -> bool:
    """Whether phases last about as planned and the step contacts have the positions asked for."""
    for phase in motion.phases:
        low, high = DURATION_BAND[phase.slot.kind]
        if not low - 1e-6 <= phase.duration / phase.slot.nominal <= high + 1e-6:
            return False
    return all(
        _position(motion, i)
        for i, s in enumerate(motion.chain.supports)
        if s.leave == "step" and s.side != "both"
    )


def _position(motion: Motion, number: int) -> bool:
    """Whether one step contact, and the flight after it, is as the settings want it."""
    want, side = motion.settings, motion.chain.supports[number].side
    free = "l" if side == "r" else "r"
    down, off = float(motion.touchdowns[number]), float(motion.takeoffs[number])
    ends = motion.frames(np.array([down, off]), 2 * number)
    knees = ends.positions[0, [JOINT[f"{side}_knee"], JOINT[f"{free}_knee"]], 0]
    bend = ends.angles[0, SEGMENT[f"{free}_thigh"]] - ends.angles[0, SEGMENT[f"{free}_shank"]]
    times = np.linspace(off, off + 0.999 * float(motion.flight_times[number]), 60)
    high = motion.frames(times).angles[:, SEGMENT[f"{free}_thigh"]].max()
    found = (
        (want.knee_gap, knees[0] - knees[1], GAP),
        (want.knee_bend, bend, ANGLE),
        (want.trunk, ends.angles[0, SEGMENT["trunk"]], ANGLE),
        (want.trunk, ends.angles[1, SEGMENT["trunk"]], ANGLE),
        (want.thigh_high, min(high, want.thigh_high or high), THIGH),
    )
    return all(asked is None or abs(got - asked) <= near for asked, got, near in found)
