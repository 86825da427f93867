"""Is it mechanics? Every promise of a solved motion, measured on a grid the solver never saw."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from animate.body.body import Array
from animate.body.pose import ENDS, JOINT, centre_of_mass, joints
from animate.body.stances import GRAVITY
from animate.motion.chain import Surface
from animate.motion.dynamics import ground_force, joint_angles, moments, sole
from animate.motion.limits import ANGLE_LIMITS
from animate.motion.motion import Frames, Motion
from animate.motion.strength import Asked, asked
from animate.refused import Refused

RISING: Final = 0.1
SINKING: Final = 0.7
"""A body in sand does not come up again, and has nearly sunk when its landing ends [m/s] (ours)."""
FRICTION: Final = 0.8
"""Spiked shoe on a synthetic track [-] (common practice, no source)."""


@dataclass(frozen=True)
class ContactFigures:
    """One contact.

    number: from 1.
    surface: {"track", "sand"}.
    peak, mean, least: vertical ground force [body weights].
    friction: greatest horizontal over vertical force where the vertical is above .2 body weights [-].
    pressure: range of the centre of pressure from the heel as a share of the foot, same instants [-].
    slip, penetration: of the stance foot [m]; in sand not measured (0).
    mark: distance of the toe from its mark at touchdown and take-off, the greater [m].
    impulse: vertical impulse against the change of momentum, relative [-].
    speed_in, speed_out, rise_out: reached minus planned vx at touchdown, vx and vy at take-off [m/s].
    rising, sinking: in sand: greatest speed of the centre of mass upward, and downward at the end
        [m/s].
    duration: reached minus planned [s].
    moments: greatest moment of the stance leg and the hips per kilogram [N m/kg], by name.
    """

    number: int
    surface: Surface
    peak: float
    mean: float
    least: float
    friction: float
    pressure: tuple[float, float]
    slip: float
    penetration: float
    mark: float
    impulse: float
    speed_in: float
    speed_out: float
    rise_out: float
    rising: float
    sinking: float
    duration: float
    moments: dict[str, float]


@dataclass(frozen=True)
class FlightFigures:
    """One flight.

    number: of the contact it leaves.
    parabola: greatest distance of the centre of mass, summed from the segments, from the parabola
        through its state at take-off [m].
    drift, drift_share: angular momentum: greatest departure from its mean [kg m2/s], and relative to it
        [-].
    lowest: lowest point of either foot [m].
    moments: greatest hip and knee moments per kilogram [N m/kg].
    duration: reached minus planned [s].
    """

    number: int
    parabola: float
    drift: float
    drift_share: float
    lowest: float
    moments: dict[str, float]
    duration: float


@dataclass(frozen=True)
class Missed:
    """A promise not kept: which of `PROMISES`, where ("contact 3", a joint, or empty for the whole
    motion), how far off it is and the most let through, in the promise's SI unit."""

    promise: str
    where: str
    off: float
    most: float

    @property
    def text(self) -> str:
        """Where and what, in words.

        >>> Missed("slip", "contact 3", 0.0041, 0.002).text
        'contact 3: foot slips 4.10 mm'
        """
        words, factor, _ = PROMISES[self.promise]
        said = words.format(self.off * factor)
        return f"{self.where}: {said}" if self.where else said


PROMISES: Final[dict[str, tuple[str, float, float]]] = {
    "parabola": ("{:.2f} mm off the parabola", 1e3, 1e-3),
    "drift": ("angular momentum drifts {:.3f} kg m2/s", 1.0, 0.02),
    "lowest": ("a foot {:.1f} mm under the ground", 1e3, 2e-3),
    "slip": ("foot slips {:.2f} mm", 1e3, 2e-3),
    "penetration": ("foot {:.2f} mm off the ground", 1e3, 2e-3),
    "mark": ("toe {:.2f} mm off its mark", 1e3, 2e-3),
    "pull": ("ground pulls {:.3f} body weights", 1.0, 1e-3),
    "friction": ("friction {:.2f} needed", 1.0, FRICTION * 1.01),
    "pressure": ("centre of pressure {:.2f} of the foot beyond it", 1.0, 0.01),
    "rising": ("rises out of the sand at {:.2f} m/s", 1.0, RISING),
    "sinking": ("still sinks at {:.2f} m/s at the end", 1.0, SINKING),
    "impulse": ("impulse off by {:.2%}", 1.0, 0.01),
    "speed_in": ("vx in {:.3f} m/s off the plan", 1.0, 0.1),
    "speed_out": ("vx out {:.3f} m/s off the plan", 1.0, 0.1),
    "rise_out": ("vy out {:.3f} m/s off the plan", 1.0, 0.1),
    "segment": ("segment lengths change by {:.1e} m", 1.0, 1e-9),
    "leap": ("the body leaps {:.4f} m or rad at an event", 1.0, 1e-3),
    "velocity": ("a rate jumps {:.3f} rad/s at an event", 1.0, 1e-2),
    "hip_velocity": ("the body's velocity jumps {:.4f} m/s at an event", 1.0, 1e-3),
    "range": ("{:.1f} degrees beyond its range", 180.0 / np.pi, 0.0),
}  # fmt: skip
"""What is promised: words, factor to the unit they are in, most let through [SI]. Angular momentum may
also drift by 1 % of its mean."""


@dataclass(frozen=True)
class Report:
    """All figures: greatest change of a segment's length [m], excess over a joint's range by joint
    [rad], and at the events greatest jump of an angle [rad] or the body's centre [m], of a rate
    [rad/s], of the centre's velocity [m/s]. `beyond`: joints asked for more than the body gives, which is
    no fault of the motion but may be one of the plan."""

    contacts: tuple[ContactFigures, ...]
    flights: tuple[FlightFigures, ...]
    segment: float
    limits: dict[str, float]
    leap: float
    velocity: float
    hip_velocity: float
    beyond: tuple[Asked, ...]

    @property
    def faults(self) -> tuple[Missed, ...]:
        """Promises not kept."""
        return tuple(m for m in _held(self) if not m.off <= m.most)  # not a number is a fault


@lru_cache(maxsize=2)
def check(motion: Motion, dt: float = 0.001) -> Report:
    """Measure a motion on a grid of dt, .0001 to .01 [s]."""
    if not 1e-4 <= dt <= 0.01:
        raise Refused("dt", f".0001 to .01 s, got {dt}")
    contacts, flights, beyond = [], [], list[Asked]()
    segment = 0.0
    limits: dict[str, float] = {}
    for k, phase in enumerate(motion.phases):
        start, end = motion.starts[k], motion.starts[k + 1]
        times = np.append(np.arange(start, end - 1e-9, dt), end)
        f = motion.frames(times, k)
        segment = max(segment, _lengths(motion, f))
        for name, excess in _range(f).items():
            limits[name] = max(limits.get(name, 0.0), excess)
        contact = phase.slot.kind == "contact"
        ground = ground_force(motion, f)
        joint = moments(motion, f, *ground, phase.slot.support.side if contact else "")
        where = f"{'contact' if contact else 'flight after contact'} {phase.slot.index + 1}"
        beyond += asked(where, joint, f, motion.body)
        if contact:
            contacts.append(_contact(motion, k, f, ground, joint))
        else:
            flights.append(_flight(motion, k, f, joint))
    leap = velocity = hip = 0.0
    for k, at in enumerate(motion.starts[1:-1]):
        before, after = (motion.frames(np.array([at]), j) for j in (k, k + 1))
        leap = max(leap, float(np.abs(before.angles - after.angles).max()))
        leap = max(leap, float(np.abs(before.com - after.com).max()))
        velocity = max(velocity, float(np.abs(before.rates - after.rates).max()))
        hip = max(hip, float(np.abs(before.com_velocity - after.com_velocity).max()))
    return Report(
        tuple(contacts), tuple(flights), segment, limits, leap, velocity, hip, tuple(beyond)
    )


def _lengths(motion: Motion, f: Frames) -> float:
    again = joints(motion.body, f.angles, f.hip)
    moved = float(np.abs(again - f.positions).max())
    first = np.array([JOINT[a] for a, _ in ENDS])
    far = np.array([JOINT[b] for _, b in ENDS])
    length = np.linalg.norm(f.positions[:, far] - f.positions[:, first], axis=-1)
    return max(moved, float(np.abs(length - motion.body.lengths).max()))


def _range(f: Frames) -> dict[str, float]:
    out: dict[str, float] = {}
    for name, angle in joint_angles(f.angles).items():
        low, high = ANGLE_LIMITS[name.split("_")[-1]].radians
        excess = max(float((low - angle).max()), float((angle - high).max()))
        if excess > 1e-6:
            out[name] = excess
    return out


def _worst(values: dict[str, Array], mass: float) -> dict[str, float]:
    out: dict[str, float] = {}
    for name, value in values.items():
        out[name + "+"] = float(value.max()) / mass
        out[name + "-"] = float(-value.min()) / mass
    return {k: round(v, 3) for k, v in out.items()}


def _pressed(
    motion: Motion, k: int, f: Frames, force: Array, about: Array
) -> tuple[tuple[float, float], float]:
    """Range of the centre of pressure as a share of the foot, and the friction used."""
    strong = force[:, 1] > 0.2 * motion.body.mass * GRAVITY
    if not strong.any():
        return (0.0, 0.0), 0.0
    back, ground = sole(motion, k, f)
    # x F_z = moment about the origin + z F_x, with the foot at height `ground`.
    x = (about + ground * force[:, 0])[strong] / force[strong, 1]
    share = (x - back[strong]) / motion.body.lengths[-1]
    used = np.abs(force[strong, 0]) / force[strong, 1]
    return (float(share.min()), float(share.max())), float(used.max())


def _footing(motion: Motion, k: int, f: Frames) -> tuple[float, float, float]:
    """How far the stance feet slip, leave or enter the ground, and miss their mark [m]."""
    slot, foot = motion.phases[k].slot, np.array([motion.body.lengths[-1], 0.0])
    toe = slot.support.toe
    if slot.support.surface == "sand":
        heel = f.positions[0, JOINT[slot.support.foot + "_heel"]]
        return 0.0, 0.0, float(np.abs(heel - [toe, 0.0]).max())
    out = np.zeros(3)
    for side in slot.stance:
        h, t = (f.positions[:, JOINT[f"{side}_{e}"]] for e in ("heel", "toe"))
        low = np.where((h[:, 1] < t[:, 1] - 1e-6)[:, None], h + foot, t)
        off = np.abs(np.minimum(h[:, 1], t[:, 1])).max()
        out = np.maximum(out, [np.ptp(low[:, 0]), off, np.abs(t[[0, -1], 0] - toe).max()])
    slip, penetration, mark = map(float, out)
    return slip, penetration, mark


def _contact(
    motion: Motion, k: int, f: Frames, ground: tuple[Array, Array], joint: dict[str, Array]
) -> ContactFigures:
    s, body = motion.phases[k].slot.support, motion.body
    weight, sand, last = body.mass * GRAVITY, s.surface == "sand", s.leave == "end"
    fz, v = ground[0][:, 1], f.com_velocity
    pressure, friction = _pressed(motion, k, f, *ground)
    slip, penetration, mark = _footing(motion, k, f)
    duration = f.times[-1] - f.times[0]
    impulse = float(np.trapezoid(fz - weight, f.times))
    # Against the change between the flights on either side, where there are any.
    before = motion.frames(f.times[:1], k - 1) if k else f
    after = motion.frames(f.times[-1:], k + 1) if k + 1 < len(motion.phases) else f
    change = body.mass * float(after.com_velocity[-1, 1] - before.com_velocity[0, 1])
    return ContactFigures(
        number=motion.phases[k].slot.index + 1,
        surface=s.surface,
        peak=float(fz.max() / weight),
        mean=float(np.trapezoid(fz, f.times) / duration / weight),
        least=float(fz.min() / weight),
        friction=friction,
        pressure=pressure,
        slip=slip,
        penetration=penetration,
        mark=mark,
        impulse=abs(impulse - change) / max(abs(change), 1e-9),
        speed_in=float(v[0, 0] - s.vx_in),
        speed_out=0.0 if last else float(v[-1, 0] - s.vx),
        rise_out=0.0 if last else float(v[-1, 1] - s.vy),
        rising=max(float(v[:, 1].max()), 0.0) if sand else 0.0,
        sinking=max(-float(v[-1, 1]), 0.0) if sand else 0.0,
        duration=float(duration - s.duration),
        moments=_worst(joint, body.mass),
    )


def _flight(motion: Motion, k: int, f: Frames, joint: dict[str, Array]) -> FlightFigures:
    phase = motion.phases[k]
    com = centre_of_mass(motion.body, joints(motion.body, f.angles, f.hip))
    # The state at take-off as the contact before leaves it: nothing is taken from the flight.
    off = motion.frames(f.times[:1], k - 1)
    t = (f.times - f.times[0])[:, None]
    parabola = off.com + off.com_velocity * t - np.array([0, GRAVITY / 2]) * t**2
    mean = float(f.momentum.mean())
    drift = float(np.abs(f.momentum - mean).max())
    feet = [JOINT[f"{s}_{e}"] for s in "rl" for e in ("heel", "toe")]
    return FlightFigures(
        number=phase.slot.index + 1,
        parabola=float(np.linalg.norm(com - parabola, axis=1).max()),
        drift=drift,
        drift_share=drift / max(abs(mean), 1e-9),
        lowest=float(f.positions[:, feet, 1].min()),
        moments=_worst(joint, motion.body.mass),
        duration=float(f.times[-1] - f.times[0] - phase.slot.nominal),
    )


def _held(r: Report) -> Iterator[Missed]:
    """Every promise with how far off it is, kept or not."""
    for f in r.flights:
        mean = f.drift / f.drift_share if f.drift_share else 0.0
        off = {"parabola": f.parabola, "drift": f.drift, "lowest": -f.lowest}
        for name, value in off.items():
            most = max(0.01 * mean if name == "drift" else 0.0, PROMISES[name][2])
            yield Missed(name, f"flight after contact {f.number}", value, most)
    for c in r.contacts:
        off = {name: getattr(c, name) for name in ("slip", "penetration", "mark")}
        off["pull"] = -c.least
        if c.surface == "track":
            off["friction"] = c.friction
        off["pressure"] = float(np.maximum(-c.pressure[0], c.pressure[1] - 1.0))
        off |= {name: getattr(c, name) for name in ("rising", "sinking", "impulse")}
        off |= {name: abs(getattr(c, name)) for name in ("speed_in", "speed_out", "rise_out")}
        for name, value in off.items():
            yield Missed(name, f"contact {c.number}", value, PROMISES[name][2])
    for name in ("segment", "leap", "velocity", "hip_velocity"):
        yield Missed(name, "", getattr(r, name), PROMISES[name][2])
    for joint, excess in r.limits.items():
        yield Missed("range", joint, excess, PROMISES["range"][2])
