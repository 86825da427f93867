"""What a jumper's leg can give: torque that falls with the speed a joint closes or opens at, from one
published column."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from animate.motion.dynamics import joint_angles
from animate.motion.motion import Frames


@dataclass(frozen=True)
class Strength:
    """Torque of one joint one way, one leg: the greatest while giving (eccentric) and standing still
    (isometric) [N m/kg], and the greatest speed it can shorten at [rad/s]."""

    eccentric: float
    isometric: float
    fastest: float


STRENGTH: Final = {
    "hip-": Strength(9.20, 7.08, 26.0),
    "hip+": Strength(4.31, 3.32, 28.0),
    "knee+": Strength(7.44, 5.73, 36.0),
    "knee-": Strength(7.91, 4.97, 34.1),
    "ankle-": Strength(5.15, 3.75, 30.8),
    "ankle+": Strength(1.47, 0.88, 26.0),
}
"""Torques fitted to one national-level male triple jumper, scaled to 72.57 kg: seen in the source code
of a torque-driven simulation; that it is Allen 2009 is from memory, confidence medium. Knee bending
above knee straightening is as printed and suspicious. + bends the hip, straightens the knee, raises the
toes."""


def share(joint: str, torque: Array | float, speed: Array | float, strength: float = 1.0) -> Array:
    """How many times what a joint can give it is asked for.

    A plateau where the joint gives, a straight line where it shortens: with Te eccentric, T0 isometric, w0
    the greatest speed and s the strength,

        max(T / (s Te), T / (s T0) + w / w0);   0 where T is under a tenth of s T0

    Source: the line is ours. A muscle's hyperbola would fall faster, but a tendon that springs back
    takes part of a joint's speed off the muscle: with it an ankle gives 15 W/kg at most, with the line
    29, where 34 to 40 were measured in bounding (Kariyama et al. 2018).

    joint: a key of `STRENGTH`.
    torque: (...), [N m/kg].
    speed: (...), the way the torque turns the joint [rad/s]; minus where the joint gives.
    strength: share of the column.
    Returns [-]; 1 at the most it can give.

    >>> share("knee+", np.array([7.44, 5.73, 4.138]), np.array([-20.0, 0.0, 10.0])).round(2).tolist()
    [1.0, 1.0, 1.0]
    """
    s = STRENGTH[joint]
    still = np.asarray(torque, float) / (strength * s.isometric)
    line = still + np.asarray(speed, float) / s.fastest
    found = np.maximum(still * s.isometric / s.eccentric, line)
    return np.where(still < IDLE, 0.0, found)


IDLE: Final = 0.1
"""Share of the isometric torque under which a joint only swings along (ours)."""
SLACK: Final = 1.03
"""Times over a ceiling that is let through: held at instants, it is passed a little in between (ours)."""


@dataclass(frozen=True)
class Asked:
    """A joint asked for more than it can give: where ("contact 3"), which joint ("r_knee+", a side and a
    key of `STRENGTH`), torque [N m/kg], speed [rad/s], times what it can give [-], and when [s]."""

    where: str
    joint: str
    torque: float
    speed: float
    times: float
    at: float


def asked(where: str, moments: dict[str, Array], f: Frames, body: Body) -> Iterator[Asked]:
    """Joints of both legs asked for more than this body gives, each where it is most over.

    moments: (n,), as `animate.motion.dynamics.moments` gives them [N m].
    body: whose `strength` is the share of the column it has.
    """
    turning = joint_angles(f.rates)
    for joint in (f"{s}_{name}" for s in "rl" for name in STRENGTH):
        sign = 1.0 if joint.endswith("+") else -1.0
        # A knee's angle grows as it bends, its torque as it straightens.
        speed = (-sign if "knee" in joint else sign) * turning[joint[:-1]]
        torque = sign * moments[joint[:-1]] / body.mass
        times = share(joint[2:], torque, speed, body.strength)
        i = int(np.argmax(times))
        if times[i] > SLACK:
            figures = (float(values[i]) for values in (torque, speed, times, f.times))
            yield Asked(where, joint, *figures)
