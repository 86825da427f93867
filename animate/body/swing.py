"""The free leg as a lever: how much it resists swinging, how long it takes, what gap it leaves.

The leg is one rigid piece with a fixed knee bend, hinged at the hip and driven forward by a
constant hip moment. A straighter leg is a longer lever: slower at the same effort, carrying more
angular momentum when it arrives; `swing_table` sets both sides of that trade beside each other.

Angles as in `pose`: a thigh hangs straight down at 0 and swings forward positive; a knee bend is 0
for a straight leg and grows as the heel comes towards the buttock (knee angle = 180 deg - bend).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from animate.body.body import Array, Body
from animate.body.pose import SEGMENT
from animate.body.stances import GRAVITY
from animate.refused import Refused

KNEE_BEND_RANGE: Final = (0.0, np.pi)
"""Knee bends computed [rad]."""
THIGH_RANGE: Final = (np.radians(-90.0), np.radians(150.0))
"""Thigh angles a swing may start and end at [rad]."""

GRAVITY_RANGE: Final = (0.0, 500.0)
"""Pulls on the leg computed [m/s2]. A hip accelerating upward at a acts as 9.81 + a; a body in free
flight as 0."""

_STEPS: Final = 512
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)
_S: Final = (_NODES + 1.0) / 2.0
_W: Final = _WEIGHTS / 2.0


@dataclass(frozen=True, eq=False)
class Lever:
    """A leg held at one knee bend, or at an array of them, seen from the hip.

    knee_bend: (...), [rad].
    inertia: (...), moment of inertia about the hip [kg m2].
    reach: (...), hip to the leg's centre of mass [m].
    ahead: (...), direction of that centre measured from the thigh's, forward positive [rad]; a bent
        leg's centre hangs behind its thigh.
    mass: thigh, shank and foot [kg].
    thigh: hip to knee [m].
    """

    knee_bend: Array
    inertia: Array
    reach: Array
    ahead: Array
    mass: float
    thigh: float


def lever(body: Body, knee_bend: ArrayLike, ankle: float = 0.0) -> Lever:
    """Moment of inertia of the leg about the hip at a given knee bend.

    I = sum over thigh, shank, foot of (I_cm + m r^2), r from the hip to the segment's centre.

    Source: parallel-axis theorem on the segments of `body`.

    knee_bend: (...), 0 straight, pi heel on the buttock [rad]; 0 to pi.
    ankle: foot angle less shank angle [rad]: 0 square to the shank, negative toes pointed; -pi/2 to
        pi/4.

    >>> from animate.body.body import body
    >>> average = lever(body(1.80, 72.0), np.radians([0.0, 90.0]))
    >>> [round(float(i), 2) for i in average.inertia]
    [2.79, 1.83]
    """
    bend = np.asarray(knee_bend, dtype=float)
    within("knee_bend", bend, KNEE_BEND_RANGE)
    within("ankle", np.asarray(ankle), (-np.pi / 2, np.pi / 4))
    i, j, k = (SEGMENT[f"r_{name}"] for name in ("thigh", "shank", "foot"))
    # The sagittal plane as complex numbers x + iz, thigh hanging straight down.
    down = -1j * np.ones_like(bend)
    shank = down * np.exp(-1j * bend)
    sole = np.exp(1j * (ankle - bend))
    knee = body.lengths[i] * down
    heel = knee + body.lengths[j] * shank - (body.ankle[0] + 1j * body.ankle[1]) * sole
    centres = np.stack(
        [
            body.com[i] * knee,
            knee + body.com[j] * body.lengths[j] * shank,
            heel + body.com[k] * body.lengths[k] * sole,
        ]
    )
    masses = body.masses[[i, j, k]].reshape((3,) + (1,) * bend.ndim)
    own = body.inertias[[i, j, k]].sum()
    inertia = own + (masses * np.abs(centres) ** 2).sum(axis=0)
    centre = (masses * centres).sum(axis=0) / masses.sum()
    return Lever(
        bend,
        np.asarray(inertia),
        np.abs(centre),
        np.angle(centre / down),
        float(masses.sum()),
        float(body.lengths[i]),
    )


def swing_time_flat(inertia: ArrayLike, sweep: ArrayLike, moment: ArrayLike) -> Array:
    """Time to swing through an angle from rest where gravity plays no part.

    t = sqrt(2 I sweep / M)

    I about the hip [kg m2], above 0; sweep 0 to 2 pi [rad]; M constant hip moment [N m], above 0; t [s],
    all (...).

    >>> float(swing_time_flat(2.0, 1.0, 100.0))
    0.2
    """
    i, a, m = (np.asarray(v, dtype=float) for v in (inertia, sweep, moment))
    _positive("inertia", i)
    _positive("moment", m)
    within("sweep", a, (0.0, 2 * np.pi))
    return np.asarray(np.sqrt(2.0 * i * a / m))


def swing_time(
    leg: Lever, start: ArrayLike, end: ArrayLike, moment: ArrayLike, gravity: float = GRAVITY
) -> Array:
    """Time for the thigh to swing from rest at one angle to another under a constant hip moment.

    I w^2 / 2 = M (a - a0) + m g r (cos(a + d) - cos(a0 + d)), t = integral of da / w

    I inertia, m mass, r reach and d lead of the leg's centre (`Lever`); w rate of the thigh angle a.
    The integral is taken over s with a = a0 + (a1 - a0) s^2, which removes the singularity at rest, by
    64-point Gauss-Legendre: within 1e-8 of an ODE solver where the leg has speed in hand.

    Source: energy of a hinged rigid body. A longer lever is slower at the same moment:

    start, end: (...), thigh angles a0, a1 [rad], -90 to 150 degrees, a1 not behind a0.
    moment: (...), M [N m], above 0.
    gravity: g [m/s2], 0 to 500: 0 in free flight, 9.81 over a hip that does not accelerate.
    Returns [s]; infinite where the moment can't lift the leg that far.

    >>> from animate.body.body import body
    >>> legs = lever(body(1.80, 72.0), np.radians([40.0, 90.0]))
    >>> swing_time(legs, np.radians(-18), np.radians(72), 144.0).round(3).tolist()
    [0.231, 0.192]
    """
    a0, m = _driven(start, moment, gravity)
    a1 = np.asarray(end, dtype=float)
    within("end", a1, THIGH_RANGE)
    inertia, weight, ahead, a0, a1, m = np.broadcast_arrays(
        leg.inertia, leg.mass * gravity * leg.reach, leg.ahead, a0, a1, m
    )
    if np.any(a1 < a0):
        raise Refused("end", "not behind start", f"{np.min(a1 - a0):g} rad of swing")
    sweep = a1 - a0
    angle = a0[..., None] + sweep[..., None] * _S**2
    work = work_done(angle, a0[..., None], m[..., None], weight[..., None], ahead[..., None])
    stuck = (sweep > 0) & _stuck(a0, a1, m, weight, ahead)
    ok = (work > 0) & ~stuck[..., None]
    rate = np.sqrt(2.0 * np.where(ok, work, 1.0) / inertia[..., None])
    time = (np.where(ok, 2.0 * sweep[..., None] * _S / rate, 0.0) * _W).sum(axis=-1)
    return np.asarray(np.where(stuck, np.inf, time))


def thigh_after(
    leg: Lever, start: ArrayLike, moment: ArrayLike, time: ArrayLike, gravity: float = GRAVITY
) -> Array:
    """Thigh angle after swinging from rest for a given time [rad]; not held to what a hip allows.

    I a'' = M - m g r sin(a + d), by 512 fourth-order Runge-Kutta steps; symbols and ranges as in
    `swing_time`, time 0 to 2 [s].

    >>> from animate.body.body import body
    >>> leg = lever(body(1.80, 72.0), np.radians(90.0))
    >>> round(float(np.degrees(thigh_after(leg, np.radians(-30.0), 144.0, 0.15))), 1)
    28.5
    """
    a0, m = _driven(start, moment, gravity)
    t = np.asarray(time, dtype=float)
    within("time", t, (0.0, 2.0))
    drive, pull, ahead, a0, t = np.broadcast_arrays(
        m / leg.inertia, leg.mass * gravity * leg.reach / leg.inertia, leg.ahead, a0, t
    )
    h = t / _STEPS
    a, w = a0.astype(float), np.zeros_like(t)
    for _ in range(_STEPS):
        k1 = drive - pull * np.sin(a + ahead)
        k2 = drive - pull * np.sin(a + h / 2 * w + ahead)
        k3 = drive - pull * np.sin(a + h / 2 * w + h**2 / 4 * k1 + ahead)
        k4 = drive - pull * np.sin(a + h * w + h**2 / 2 * k2 + ahead)
        a = a + h * w + h**2 / 6 * (k1 + k2 + k3)
        w = w + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
    return np.asarray(a)


def _driven(start: ArrayLike, moment: ArrayLike, gravity: float) -> tuple[Array, Array]:
    """Where a swing starts and what drives it, within their ranges."""
    a0, m = np.asarray(start, dtype=float), np.asarray(moment, dtype=float)
    within("start", a0, THIGH_RANGE)
    _positive("moment", m)
    within("gravity", np.asarray(gravity), GRAVITY_RANGE)
    return a0, m


def knee_gap(thigh: ArrayLike, support: ArrayLike, free: ArrayLike) -> Array:
    """How far the support knee is ahead of the free knee for given thigh angles.

    gap = l (sin(support) - sin(free)). The knee bend isn't in it: at the same thigh angles a long
    and a short lever leave the same gap.

    l hip to knee [m], thigh angles [rad], all (...); along the runway, positive while the free knee is
    behind [m]. `measures` reads the same.

    >>> round(float(knee_gap(0.44, np.radians(36), np.radians(-18))), 3)
    0.395
    """
    length, s, f = (np.asarray(v, dtype=float) for v in (thigh, support, free))
    return np.asarray(length * (np.sin(s) - np.sin(f)))


def work_done(a: Array, a0: Array, moment: Array, weight: Array, ahead: Array) -> Array:
    """Kinetic energy of a leg that started at rest: M (a - a0) + w (cos(a + d) - cos(a0 + d)) [J].

    a0, a thigh angles [rad]; M moment [N m]; w = m g r [N m] and d [rad] as in `Lever`; all (...).
    """
    # cos u - cos v as a product: near the start the difference would lose its digits.
    fall = -2.0 * np.sin((a + a0) / 2.0 + ahead) * np.sin((a - a0) / 2.0)
    return np.asarray(moment * (a - a0) + weight * fall)


def _stuck(a0: Array, a1: Array, moment: Array, weight: Array, ahead: Array) -> NDArray[np.bool_]:
    """Whether the leg comes to rest at the end or at the tightest spot before it.

    The work done is least where moment and weight balance beyond level; a leg that can't even
    start has done less than none there, or at the end if that comes first.
    """
    hold = np.arcsin(np.minimum(moment / np.maximum(weight, 1e-300), 1.0))
    tight = np.pi - hold - ahead
    inside = (tight > a0) & (tight < a1) & (moment < weight)
    spot = np.where(inside, tight, a1)
    return np.asarray(
        (work_done(spot, a0, moment, weight, ahead) <= 0)
        | (work_done(a1, a0, moment, weight, ahead) <= 0)
    )


def within(field: str, values: Array, limits: tuple[float, float]) -> None:
    """Refuse values that aren't all between two limits, or none at all."""
    if values.size == 0 or not np.all((values >= limits[0]) & (values <= limits[1])):
        bad = values[~((values >= limits[0]) & (values <= limits[1]))] if values.size else values
        raise Refused(field, f"{limits[0]:.6g} to {limits[1]:.6g}", _first(bad))


def _positive(field: str, values: Array) -> None:
    good = np.isfinite(values) & (values > 0)
    if values.size == 0 or not np.all(good):
        raise Refused(field, "above 0 and finite", _first(values[~good]))


def _first(values: Array) -> str:
    return f"{values.ravel()[0]:g}" if values.size else "nothing"
