"""The lever table: what each knee bend of the free leg costs and gives when asked the same swing.

Angles and the leg itself as in `swing`. A longer lever is slower and brings more angular momentum;
both sides of that trade are tabled, neither is called better.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from animate.body.body import Array, Body
from animate.body.stances import GRAVITY
from animate.body.swing import (
    GRAVITY_RANGE,
    KNEE_BEND_RANGE,
    THIGH_RANGE,
    knee_gap,
    lever,
    swing_time,
    swing_time_flat,
    thigh_after,
    within,
    work_done,
)
from animate.refused import Refused

HIP_MOMENT_PER_MASS: Final = 2.0
"""Constant hip moment that drives the swing, per body mass [N m/kg]; ours, no source. It sets all
times together: without gravity a time goes with 1/sqrt(moment) and ratios between bends stay."""
STEP_CONTACT: Final = 0.157
"""Ground contact the swing has to fit into [s]; step of Perttunen et al. 2000, J Sports Sci 18."""
KNEE_BEND_REACHED: Final = np.radians(150.0)
"""Most bend taken as within reach of a knee [rad]; from memory, unverified."""


@dataclass(frozen=True)
class SwingTask:
    """The swing asked of the leg; angles from the package's key poses (ours, no source).

    back: thigh at rest at its rearmost, before touchdown [rad].
    touchdown: free thigh at touchdown for the reference bend [rad].
    high: free thigh to be reached by take-off [rad].
    support: support thigh at touchdown [rad].
    contact: ground contact there is time for [s].
    reference: knee bend whose swing from `back` to `touchdown` sets the time given to every bend [rad].
    moment_per_mass: hip moment per body mass [N m/kg], .2 to 10.
    gravity: [m/s2], see `swing_time`.
    """

    back: float = float(np.radians(-30.0))
    touchdown: float = float(np.radians(-18.0))
    high: float = float(np.radians(72.0))
    support: float = float(np.radians(36.0))
    contact: float = STEP_CONTACT
    reference: float = float(np.radians(90.0))
    moment_per_mass: float = HIP_MOMENT_PER_MASS
    gravity: float = GRAVITY

    def __post_init__(self) -> None:
        angles = np.array([self.back, self.touchdown, self.high, self.support])
        within("back, touchdown, high and support", angles, THIGH_RANGE)
        within("reference", np.asarray(self.reference), KNEE_BEND_RANGE)
        within("contact", np.asarray(self.contact), (0.02, 1.0))
        within("moment_per_mass", np.asarray(self.moment_per_mass), (0.2, 10.0))
        within("gravity", np.asarray(self.gravity), GRAVITY_RANGE)
        if not self.back < self.touchdown < self.high:
            given = ", ".join(f"{np.degrees(a):g}" for a in angles[:3])
            raise Refused("back, touchdown, high", "rising angles", f"{given} deg")


@dataclass(frozen=True)
class LeverRow:
    """One knee bend of the lever table."""

    knee_bend: float  # Held through the swing, 0 = straight leg [rad]
    inertia: float  # Moment of inertia of the leg about the hip [kg m2]
    reach: float  # Hip to the leg's centre of mass [m]
    time: float  # Thigh from rest at touchdown angle to high thigh, with gravity [s]
    time_flat: float  # The same without gravity, sqrt(2 I angle / moment) [s]
    gap_same_angle: float  # Knee gap along the runway, every bend at the same thigh angles [m]
    thigh_same_time: float  # Free thigh at touchdown when every bend has had the same time [rad]
    gap_same_time: float  # The same gap when every bend has had the same time [m]
    time_left: float  # From that touchdown, already moving, to the high thigh [s]
    late: float  # Time left less the contact time, positive = thigh not high by take-off [s]
    thigh_takeoff: float  # Free thigh at take-off, held once it is high [rad]
    momentum: (
        float  # Angular momentum of the leg about the hip on reaching the high thigh [kg m2/s]
    )
    lift: float  # Rise of the whole body's centre of mass over the hip by the leg's swing [m]

    @property
    def reached(self) -> bool:
        """Whether a knee bends that far; rows beyond it are arithmetic, not advice."""
        return bool(self.knee_bend <= KNEE_BEND_REACHED + 1e-9)


def lever_curves(
    body: Body, knee_bends: ArrayLike, task: SwingTask | None = None
) -> dict[str, Array]:
    """What each knee bend costs and gives at the same hip moment.

    Two questions. At the same thigh angles: how long from touchdown to the high thigh. At the same
    time before touchdown: how far behind the free knee still is, and whether the thigh gets high
    within the contact. What a longer lever may be worth stands beside what it costs: the angular
    momentum it brings and how much it lifts the body's centre over the hip. Left out: a knee that
    changes its bend on the way, a moment that fades with speed, the brake at the end, and the
    hip's own acceleration unless `gravity` stands for it.

    Knee bends are 0 to pi [rad], (n,); the swing is the package's step when not given. Gives the
    fields of `LeverRow`, (n,) each: times are infinite and the momentum not a number where the
    moment is too weak.
    """
    task = task or SwingTask()
    moment, pull = task.moment_per_mass * body.mass, task.gravity
    leg = lever(body, np.atleast_1d(np.asarray(knee_bends, dtype=float)))
    same = lever(body, task.reference)
    allowed = float(swing_time(same, task.back, task.touchdown, moment, pull))
    if not np.isfinite(allowed):
        raise Refused(
            "moment_per_mass",
            "enough to bring the reference leg to its touchdown angle",
            f"{task.moment_per_mass:g} N m/kg",
        )
    free = np.minimum(thigh_after(leg, task.back, moment, allowed, pull), task.high)
    whole = swing_time(leg, task.back, task.high, moment, pull)
    left = np.maximum(whole - allowed, 0.0)
    takeoff = thigh_after(leg, task.back, moment, allowed + task.contact, pull)
    there = left <= task.contact
    high, back = np.asarray(task.high), np.asarray(task.back)
    arrives = work_done(high, back, np.asarray(moment), leg.mass * pull * leg.reach, leg.ahead)
    turning = np.sqrt(2.0 * leg.inertia * np.maximum(arrives, 0.0))
    rise = np.cos(task.touchdown + leg.ahead) - np.cos(task.high + leg.ahead)
    return {
        "knee_bend": leg.knee_bend,
        "inertia": leg.inertia,
        "reach": leg.reach,
        "time": swing_time(leg, task.touchdown, task.high, moment, pull),
        "time_flat": swing_time_flat(leg.inertia, task.high - task.touchdown, moment),
        "gap_same_angle": knee_gap(leg.thigh, task.support, np.full(free.shape, task.touchdown)),
        "thigh_same_time": free,
        "gap_same_time": knee_gap(leg.thigh, task.support, free),
        "time_left": left,
        "late": left - task.contact,
        "thigh_takeoff": np.where(there, task.high, np.minimum(takeoff, task.high)),
        "momentum": np.where(np.isfinite(whole), turning, np.nan),
        "lift": leg.mass / body.mass * leg.reach * rise,
    }


def lever_table(body: Body, task: SwingTask | None = None) -> tuple[LeverRow, ...]:
    """The lever table for knee bends of 40, 50 ... 170 degrees; see `lever_curves`.

    >>> from animate.body.body import body
    >>> rows = lever_table(body(1.80, 72.0))
    >>> len(rows), rows[0].time > rows[-1].time
    (14, True)
    """
    bends = np.radians(np.arange(40.0, 171.0, 10.0))
    curves = lever_curves(body, bends, task)
    return tuple(
        LeverRow(**{name: float(column[i]) for name, column in curves.items()})
        for i in range(bends.size)
    )
