"""The free leg as a lever: how much it resists swinging, how long it takes, what gap it leaves.

The leg is one rigid piece with a fixed knee bend, hinged at the hip and driven forward by a
constant hip moment. A straighter leg is a longer lever: slower at the same effort, carrying more
angular momentum when it arrives. Both sides of that trade are computed, neither is called better.

Angles as in `pose`: a thigh hangs straight down at 0 and swings forward positive; a knee bend is 0
for a straight leg and grows as the heel comes towards the buttock (knee angle = 180 deg - bend).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from animate.body import Array, Body
from animate.pose import SEGMENT

GRAVITY: Final = 9.81
"""Standing pull on the leg [m/s2]. A hip accelerating upward at a acts as 9.81 + a; a body in free
flight as 0."""
HIP_MOMENT_PER_MASS: Final = 2.0
"""Constant hip moment that drives the swing, per body mass [N m/kg]; ours, no source. It sets all
times together: without gravity a time goes with 1/sqrt(moment) and ratios between bends stay."""
STEP_CONTACT: Final = 0.157
"""Ground contact the swing has to fit into [s]; step of Perttunen et al. 2000, J Sports Sci 18."""
KNEE_BEND_RANGE: Final = (0.0, np.pi)
"""Knee bends computed [rad]."""
KNEE_BEND_REACHED: Final = np.radians(150.0)
"""Most bend taken as within reach of a knee [rad]; from memory, unverified."""
THIGH_RANGE: Final = (np.radians(-90.0), np.radians(150.0))
"""Thigh angles a swing may start and end at [rad]."""

GRAVITY_RANGE: Final = (0.0, 500.0)
"""Pulls computed [m/s2]."""

_STEPS: Final = 512
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)
_S: Final = (_NODES + 1.0) / 2.0
_W: Final = _WEIGHTS / 2.0


@dataclass(frozen=True, eq=False)
class Lever:
    """A leg held at one knee bend, or at an array of them, seen from the hip.

    Attributes
    ----------
    knee_bend : ndarray (...)
        [rad]
    inertia : ndarray (...)
        Moment of inertia about the hip [kg m2].
    reach : ndarray (...)
        Hip to the leg's centre of mass [m].
    ahead : ndarray (...)
        Direction of that centre measured from the thigh's, forward positive [rad]; a bent leg's
        centre hangs behind its thigh.
    mass : float
        Thigh, shank and foot [kg].
    thigh : float
        Hip to knee [m].
    """

    knee_bend: Array
    inertia: Array
    reach: Array
    ahead: Array
    mass: float
    thigh: float

    @property
    def gyration(self) -> Array:
        """Radius of gyration about the hip [m]."""
        return np.asarray(np.sqrt(self.inertia / self.mass))


def lever(body: Body, knee_bend: ArrayLike, ankle: float = 0.0) -> Lever:
    """Moment of inertia of the leg about the hip at a given knee bend.

    I = sum over thigh, shank, foot of (I_cm + m r^2), r from the hip to the segment's centre.

    Parameters
    ----------
    body : Body
    knee_bend : array_like (...)
        0 straight, pi heel on the buttock [rad]; 0 to pi.
    ankle : float
        Foot angle less shank angle [rad]: 0 square to the shank, negative toes pointed; -pi/2 to
        pi/4.

    Returns
    -------
    Lever

    Raises
    ------
    ValueError
        A bend or the ankle outside its range.

    Source: parallel-axis theorem on the segments of `body`.

    >>> from animate.body import body
    >>> average = lever(body(1.80, 72.0), np.radians([0.0, 90.0]))
    >>> [round(float(i), 2) for i in average.inertia]
    [2.79, 1.83]
    """
    bend = np.asarray(knee_bend, dtype=float)
    _within("knee_bend", bend, KNEE_BEND_RANGE)
    _within("ankle", np.asarray(ankle), (-np.pi / 2, np.pi / 4))
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

    Parameters
    ----------
    inertia : array_like (...)
        About the hip [kg m2], above 0.
    sweep : array_like (...)
        Angle swung through [rad], 0 or more.
    moment : array_like (...)
        Constant hip moment [N m], above 0.

    Returns
    -------
    ndarray (...)
        [s]

    >>> float(swing_time_flat(2.0, 1.0, 100.0))
    0.2
    """
    i, a, m = (np.asarray(v, dtype=float) for v in (inertia, sweep, moment))
    _positive("inertia", i)
    _positive("moment", m)
    _within("sweep", a, (0.0, 2 * np.pi))
    return np.asarray(np.sqrt(2.0 * i * a / m))


def swing_time(
    leg: Lever,
    start: ArrayLike,
    end: ArrayLike,
    moment: ArrayLike,
    gravity: float = GRAVITY,
) -> Array:
    """Time for the thigh to swing from rest at one angle to another under a constant hip moment.

    I w^2 / 2 = M (a - a0) + m g r (cos(a + d) - cos(a0 + d)), t = integral of da / w,
    with r the reach and d how far the leg's centre lies ahead of the thigh. The integral is taken
    over s with a = a0 + (a1 - a0) s^2, which removes the singularity at rest, by 64-point
    Gauss-Legendre; within 1e-8 of an ordinary differential equation solver where the leg gets
    through with some speed in hand (it slows to a crawl just short of being stuck).

    Parameters
    ----------
    leg : Lever
    start, end : array_like (...)
        Thigh angles [rad], -90 to 150 deg, end not behind start.
    moment : array_like (...)
        Hip moment [N m], above 0.
    gravity : float
        [m/s2], 0 or more: 0 in free flight, 9.81 over a hip that does not accelerate.

    Returns
    -------
    ndarray (...)
        [s]; infinite where the moment can't lift the leg that far.

    Raises
    ------
    ValueError
        An argument outside its range.
    """
    a0, a1, m = (np.asarray(v, dtype=float) for v in (start, end, moment))
    _within("start", a0, THIGH_RANGE)
    _within("end", a1, THIGH_RANGE)
    _positive("moment", m)
    _within("gravity", np.asarray(gravity), GRAVITY_RANGE)
    inertia, weight, ahead, a0, a1, m = np.broadcast_arrays(
        leg.inertia, leg.mass * gravity * leg.reach, leg.ahead, a0, a1, m
    )
    if np.any(a1 < a0):
        raise ValueError(f"end: not behind start, got {np.min(a1 - a0):g} rad of swing")
    sweep = a1 - a0
    angle = a0[..., None] + sweep[..., None] * _S**2
    work = _work(angle, a0[..., None], m[..., None], weight[..., None], ahead[..., None])
    stuck = (sweep > 0) & _stuck(a0, a1, m, weight, ahead)
    ok = (work > 0) & ~stuck[..., None]
    rate = np.sqrt(2.0 * np.where(ok, work, 1.0) / inertia[..., None])
    time = (np.where(ok, 2.0 * sweep[..., None] * _S / rate, 0.0) * _W).sum(axis=-1)
    return np.asarray(np.where(stuck, np.inf, time))


def thigh_after(
    leg: Lever,
    start: ArrayLike,
    moment: ArrayLike,
    time: ArrayLike,
    gravity: float = GRAVITY,
) -> Array:
    """Thigh angle after swinging from rest for a given time.

    I a'' = M - m g r sin(a + d), by 512 fourth-order Runge-Kutta steps.

    Parameters
    ----------
    leg : Lever
    start, moment, gravity
        As in `swing_time`.
    time : array_like (...)
        [s], 0 to 2.

    Returns
    -------
    ndarray (...)
        [rad]; not held to what a hip allows.

    Raises
    ------
    ValueError
        An argument outside its range.
    """
    a0, m, t = (np.asarray(v, dtype=float) for v in (start, moment, time))
    _within("start", a0, THIGH_RANGE)
    _positive("moment", m)
    _within("time", t, (0.0, 2.0))
    _within("gravity", np.asarray(gravity), GRAVITY_RANGE)
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


def knee_gap(thigh: ArrayLike, support: ArrayLike, free: ArrayLike) -> Array:
    """How far the support knee is ahead of the free knee for given thigh angles.

    gap = l (sin(support) - sin(free)). The knee bend isn't in it: at the same thigh angles a long
    and a short lever leave the same gap.

    Parameters
    ----------
    thigh : array_like (...)
        Hip to knee [m].
    support, free : array_like (...)
        Thigh angles [rad].

    Returns
    -------
    ndarray (...)
        Along the runway, positive while the free knee is behind [m]; `measures` reads the same.

    >>> round(float(knee_gap(0.44, np.radians(36), np.radians(-18))), 3)
    0.395
    """
    length, s, f = (np.asarray(v, dtype=float) for v in (thigh, support, free))
    return np.asarray(length * (np.sin(s) - np.sin(f)))


@dataclass(frozen=True)
class SwingTask:
    """The swing asked of the leg; angles from the package's key poses (ours, no source).

    Attributes
    ----------
    back : float
        Thigh at rest at its rearmost, before touchdown [rad].
    touchdown : float
        Free thigh at touchdown for the reference bend [rad].
    high : float
        Free thigh to be reached by take-off [rad].
    support : float
        Support thigh at touchdown [rad].
    contact : float
        Ground contact there is time for [s].
    reference : float
        Knee bend whose swing from `back` to `touchdown` sets the time given to every bend [rad].
    moment_per_mass : float
        Hip moment per body mass [N m/kg], .2 to 10.
    gravity : float
        [m/s2], see `swing_time`.
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
        _within("back, touchdown, high and support", angles, THIGH_RANGE)
        _within("reference", np.asarray(self.reference), KNEE_BEND_RANGE)
        _within("contact", np.asarray(self.contact), (0.02, 1.0))
        _within("moment_per_mass", np.asarray(self.moment_per_mass), (0.2, 10.0))
        _within("gravity", np.asarray(self.gravity), GRAVITY_RANGE)
        if not self.back < self.touchdown < self.high:
            raise ValueError(
                "back, touchdown, high: rising angles, got "
                + ", ".join(f"{np.degrees(a):g}" for a in angles[:3])
                + " deg"
            )


LEVER_COLUMNS: Final[dict[str, tuple[str, str]]] = {
    "knee_bend": ("rad", "knee bend held through the swing, 0 = straight leg"),
    "inertia": ("kg m2", "moment of inertia of the leg about the hip"),
    "reach": ("m", "hip to the leg's centre of mass"),
    "time": ("s", "thigh from rest at touchdown angle to high thigh, with gravity"),
    "time_flat": ("s", "the same without gravity, sqrt(2 I angle / moment)"),
    "gap_same_angle": ("m", "knee gap along the runway when every bend has the same thigh angles"),
    "thigh_same_time": ("rad", "free thigh at touchdown when every bend has had the same time"),
    "gap_same_time": ("m", "the same gap when every bend has had the same time"),
    "time_left": ("s", "from that touchdown, already moving, to the high thigh"),
    "late": ("s", "time left less the contact time, positive = thigh not high by take-off"),
    "thigh_takeoff": ("rad", "free thigh at take-off, held once it is high"),
    "momentum": ("kg m2/s", "angular momentum of the leg about the hip on reaching the high thigh"),
    "lift": ("m", "rise of the whole body's centre of mass over the hip by the leg's swing"),
}
"""Unit and definition of every column of the lever table, in order."""


@dataclass(frozen=True)
class LeverRow:
    """One knee bend of the lever table; each field is defined in `LEVER_COLUMNS`."""

    knee_bend: float
    inertia: float
    reach: float
    time: float
    time_flat: float
    gap_same_angle: float
    thigh_same_time: float
    gap_same_time: float
    time_left: float
    late: float
    thigh_takeoff: float
    momentum: float
    lift: float

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

    Parameters
    ----------
    body : Body
    knee_bends : array_like (n,)
        [rad], 0 to pi.
    task : SwingTask, optional
        The package's step when not given.

    Returns
    -------
    dict of str to ndarray (n,)
        The columns of `LEVER_COLUMNS`, ready to plot. Times are infinite and the momentum not a
        number where the moment is too weak.

    Raises
    ------
    ValueError
        A bend outside its range, or the reference bend can't reach the touchdown angle.
    """
    task = task or SwingTask()
    moment, pull = task.moment_per_mass * body.mass, task.gravity
    leg = lever(body, np.atleast_1d(np.asarray(knee_bends, dtype=float)))
    same = lever(body, task.reference)
    allowed = float(swing_time(same, task.back, task.touchdown, moment, pull))
    if not np.isfinite(allowed):
        raise ValueError(
            "moment_per_mass: enough to bring the reference leg to its touchdown angle, "
            f"got {task.moment_per_mass:g} N m/kg"
        )
    free = np.minimum(thigh_after(leg, task.back, moment, allowed, pull), task.high)
    whole = swing_time(leg, task.back, task.high, moment, pull)
    left = np.maximum(whole - allowed, 0.0)
    takeoff = thigh_after(leg, task.back, moment, allowed + task.contact, pull)
    there = left <= task.contact
    arrives = _work(
        np.asarray(task.high),
        np.asarray(task.back),
        np.asarray(moment),
        leg.mass * pull * leg.reach,
        leg.ahead,
    )
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
        "momentum": np.where(
            np.isfinite(whole), np.sqrt(2.0 * leg.inertia * np.maximum(arrives, 0.0)), np.nan
        ),
        "lift": leg.mass / body.mass * leg.reach * rise,
    }


def lever_table(body: Body, task: SwingTask | None = None) -> tuple[LeverRow, ...]:
    """The lever table for knee bends of 40, 50 ... 170 degrees; see `lever_curves`.

    >>> from animate.body import body
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


def _work(a: Array, a0: Array, moment: Array, weight: Array, ahead: Array) -> Array:
    # cos u - cos v as a product: near the start the difference would lose its digits.
    fall = -2.0 * np.sin((a + a0) / 2.0 + ahead) * np.sin((a - a0) / 2.0)
    return np.asarray(moment * (a - a0) + weight * fall)


def _stuck(a0: Array, a1: Array, moment: Array, weight: Array, ahead: Array) -> Array:
    """Whether the leg comes to rest at the end or at the tightest spot before it.

    The work done is least where moment and weight balance beyond level; a leg that can't even
    start has done less than none there, or at the end if that comes first.
    """
    hold = np.arcsin(np.minimum(moment / np.maximum(weight, 1e-300), 1.0))
    tight = np.pi - hold - ahead
    inside = (tight > a0) & (tight < a1) & (moment < weight)
    spot = np.where(inside, tight, a1)
    return np.asarray(
        (_work(spot, a0, moment, weight, ahead) <= 0) | (_work(a1, a0, moment, weight, ahead) <= 0)
    )


def _within(field: str, values: Array, limits: tuple[float, float]) -> None:
    if values.size == 0 or not np.all((values >= limits[0]) & (values <= limits[1])):
        bad = values[~((values >= limits[0]) & (values <= limits[1]))] if values.size else values
        raise ValueError(f"{field}: {limits[0]:.6g} to {limits[1]:.6g}, got {_first(bad)}")


def _positive(field: str, values: Array) -> None:
    good = np.isfinite(values) & (values > 0)
    if values.size == 0 or not np.all(good):
        raise ValueError(f"{field}: above 0 and finite, got {_first(values[~good])}")


def _first(values: Array) -> str:
    return f"{values.ravel()[0]:g}" if values.size else "nothing"
