"""Is it mechanics? Every promise of a solved motion, measured on a grid the solver never saw."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np

from animate.body.body import Array
from animate.body.pose import JOINT, centre_of_mass, joints
from animate.body.stances import GRAVITY
from animate.motion.dynamics import ground_force, joint_angles, moments
from animate.motion.limits import ANGLE_LIMITS, CEILING, ISOMETRIC
from animate.motion.motion import Frames, Motion

RISING: Final = 0.1
SINKING: Final = 0.7
"""A body in sand does not come up again, and has nearly sunk when its landing ends [m/s] (ours)."""
FRICTION: Final = 0.8
"""Spiked shoe on a synthetic track [-] (common practice, no source)."""


@dataclass(frozen=True)
class ContactFigures:
    """One contact.

    Attributes
    ----------
    number : int
        From 1.
    peak, mean, least : float
        Vertical ground force [body weights].
    friction : float
        Greatest horizontal over vertical force where the vertical is above .2 body weights [-].
    pressure : tuple of float
        Range of the centre of pressure from the heel as a share of the foot, same instants [-].
    slip, penetration : float
        Of the stance foot [m]; in sand not measured (0).
    mark : float
        Distance of the toe from its mark at touchdown and take-off, the greater [m].
    impulse : float
        Vertical impulse against the change of momentum, relative [-].
    speed_in, speed_out, rise_out : float
        Reached minus planned vx at touchdown, vx and vy at take-off [m/s].
    rising, sinking : float
        In sand: greatest speed of the centre of mass upward, and downward at the end [m/s].
    duration : float
        Reached minus planned [s].
    moments : dict
        Greatest moment of the stance leg and the hips per kilogram [N m/kg], by name.
    """

    number: int
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

    Attributes
    ----------
    number : int
        Of the contact it leaves.
    parabola : float
        Greatest distance of the centre of mass, summed from the segments, from the parabola
        through its state at take-off [m].
    drift, drift_share : float
        Angular momentum: greatest departure from its mean [kg m2/s], and relative to it [-].
    lowest : float
        Lowest point of either foot [m].
    moments : dict
        Greatest hip and knee moments per kilogram [N m/kg].
    duration : float
        Reached minus planned [s].
    """

    number: int
    parabola: float
    drift: float
    drift_share: float
    lowest: float
    moments: dict[str, float]
    duration: float


@dataclass(frozen=True)
class Report:
    """All figures, and what is out of bounds in words.

    Attributes
    ----------
    contacts : tuple of ContactFigures
    flights : tuple of FlightFigures
    segment : float
        Greatest change of any segment's length [m].
    limits : dict
        Greatest excess over a joint's range [rad], by joint; empty when all are inside.
    leap : float
        Greatest jump of a segment's angle [rad] or of the centre of mass [m] at an event.
    velocity : float
        Greatest jump of a segment's rate at an event [rad/s].
    hip_velocity : float
        Greatest jump of the hip's velocity at an event [m/s].
    faults : tuple of str
        Promises not kept.
    notes : tuple of str
        Moments beyond the published figures.
    """

    contacts: tuple[ContactFigures, ...]
    flights: tuple[FlightFigures, ...]
    segment: float
    limits: dict[str, float]
    leap: float
    velocity: float
    hip_velocity: float
    faults: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether every promise is kept."""
        return not self.faults

    def as_dict(self) -> dict[str, Any]:
        """Plain data for JSON."""
        return asdict(self)


def check(motion: Motion, dt: float = 0.001) -> Report:
    """Measure a motion.

    Parameters
    ----------
    motion : Motion
    dt : float
        Grid [s], .0001 to .01.

    Raises
    ------
    ValueError
        dt out of range.
    """
    if not 1e-4 <= dt <= 0.01:
        raise ValueError(f"dt: .0001 to .01 s, got {dt}")
    contacts, flights = [], []
    segment = 0.0
    limits: dict[str, float] = {}
    for k, phase in enumerate(motion.phases):
        start, end = motion.starts[k], motion.starts[k + 1]
        times = np.append(np.arange(start, end - 1e-9, dt), end)
        f = motion.frames(times, k)
        segment = max(segment, _lengths(motion, f))
        for name, excess in _range(f).items():
            limits[name] = max(limits.get(name, 0.0), excess)
        if phase.slot.kind == "contact":
            contacts.append(_contact(motion, k, f))
        else:
            flights.append(_flight(motion, k, f))
    leap = velocity = hip = 0.0
    for k, at in enumerate(motion.starts[1:-1]):
        before, after = (motion.frames(np.array([at]), j) for j in (k, k + 1))
        leap = max(leap, float(np.abs(before.angles - after.angles).max()))
        leap = max(leap, float(np.abs(before.com - after.com).max()))
        velocity = max(velocity, float(np.abs(before.rates - after.rates).max()))
        hip = max(hip, float(np.abs(before.com_velocity - after.com_velocity).max()))
    figures = (tuple(contacts), tuple(flights), segment, limits, leap, velocity, hip)
    return Report(*figures, *_verdict(Report(*figures, (), ()), motion))


def _lengths(motion: Motion, f: Frames) -> float:
    again = joints(motion.body, f.angles, f.hip)
    moved = float(np.abs(again - f.positions).max())
    from animate.body.pose import ENDS

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


def _contact(motion: Motion, k: int, f: Frames) -> ContactFigures:
    phase = motion.phases[k]
    s = phase.slot.support
    body = motion.body
    weight = body.mass * GRAVITY
    force, about = ground_force(motion, f)
    sand = s.surface == "sand"
    ground = np.zeros(len(f.times))
    foot = "r" if s.side == "both" else s.side
    heel, _toe = f.positions[:, JOINT[foot + "_heel"]], f.positions[:, JOINT[foot + "_toe"]]
    if sand:
        ground = heel[:, 1]
    fz = force[:, 1]
    strong = fz > 0.2 * weight
    pressure = (0.0, 0.0)
    friction = 0.0
    if strong.any():
        # x F_z = moment about the origin + z F_x, with the foot at height `ground`.
        x = (about + ground * force[:, 0])[strong] / fz[strong]
        share = (x - heel[strong, 0]) / body.lengths[-1]
        if not sand:
            share = (x - (s.toe - body.lengths[-1])) / body.lengths[-1]
        pressure = (float(share.min()), float(share.max()))
        friction = float((np.abs(force[:, 0]) / np.maximum(fz, 1e-9))[strong].max())
    slip = penetration = mark = 0.0
    if not sand:
        for side in phase.slot.stance:
            h, t = (f.positions[:, JOINT[f"{side}_{e}"]] for e in ("heel", "toe"))
            ahead = h + np.array([body.lengths[-1], 0.0])
            low = np.where((h[:, 1] < t[:, 1] - 1e-6)[:, None], ahead, t)
            slip = max(slip, float(np.ptp(low[:, 0])))
            penetration = max(penetration, float(-np.minimum(h[:, 1], t[:, 1]).min()))
            height = float(np.abs(np.minimum(h[:, 1], t[:, 1])).max())
            penetration = max(penetration, height)
            mark = max(mark, float(np.abs(t[[0, -1], 0] - s.toe).max()))
    else:
        mark = float(np.abs(heel[0] - [s.toe, 0.0]).max())
    duration = f.times[-1] - f.times[0]
    impulse = float(np.trapezoid(fz - weight, f.times))
    # Against the change between the flights on either side, where there are any.
    before = motion.frames(f.times[:1], k - 1) if k else f
    after = motion.frames(f.times[-1:], k + 1) if k + 1 < len(motion.phases) else f
    change = body.mass * float(after.com_velocity[-1, 1] - before.com_velocity[0, 1])
    joint = moments(motion, f, force, about, s.side)
    last = s.leave == "end"
    return ContactFigures(
        number=phase.slot.index + 1,
        peak=float(fz.max() / weight),
        mean=float(np.trapezoid(fz, f.times) / duration / weight),
        least=float(fz.min() / weight),
        friction=friction,
        pressure=pressure,
        slip=slip,
        penetration=penetration,
        mark=mark,
        impulse=abs(impulse - change) / max(abs(change), 1e-9),
        speed_in=float(f.com_velocity[0, 0] - s.vx_in),
        speed_out=0.0 if last else float(f.com_velocity[-1, 0] - s.vx),
        rise_out=0.0 if last else float(f.com_velocity[-1, 1] - s.vy),
        rising=max(float(f.com_velocity[:, 1].max()), 0.0) if sand else 0.0,
        sinking=max(-float(f.com_velocity[-1, 1]), 0.0) if sand else 0.0,
        duration=float(duration - s.duration),
        moments=_worst(joint, body.mass),
    )


def _flight(motion: Motion, k: int, f: Frames) -> FlightFigures:
    phase = motion.phases[k]
    com = centre_of_mass(motion.body, joints(motion.body, f.angles, f.hip))
    # The state at take-off as the contact before leaves it: nothing is taken from the flight.
    off = motion.frames(f.times[:1], k - 1)
    t = (f.times - f.times[0])[:, None]
    parabola = off.com + off.com_velocity * t - np.array([0, GRAVITY / 2]) * t**2
    mean = float(f.momentum.mean())
    drift = float(np.abs(f.momentum - mean).max())
    feet = [JOINT[f"{s}_{e}"] for s in "rl" for e in ("heel", "toe")]
    zero = np.zeros((len(f.times), 2))
    joint = moments(motion, f, zero, zero[:, 0], "")
    return FlightFigures(
        number=phase.slot.index + 1,
        parabola=float(np.linalg.norm(com - parabola, axis=1).max()),
        drift=drift,
        drift_share=drift / max(abs(mean), 1e-9),
        lowest=float(f.positions[:, feet, 1].min()),
        moments=_worst(joint, motion.body.mass),
        duration=float(f.times[-1] - f.times[0] - phase.slot.nominal),
    )


def _verdict(r: Report, motion: Motion) -> tuple[tuple[str, ...], tuple[str, ...]]:
    faults: list[str] = []

    def need(ok: bool, text: str) -> None:
        if not ok:
            faults.append(text)

    for f in r.flights:
        name = f"flight after contact {f.number}"
        need(f.parabola <= 1e-3, f"{name}: {f.parabola * 1e3:.2f} mm off the parabola")
        mean = f.drift / f.drift_share if f.drift_share else 0.0
        bound = max(0.01 * mean, 0.02)
        need(f.drift <= bound, f"{name}: angular momentum drifts {f.drift:.3f} kg m2/s")
        need(f.lowest >= -2e-3, f"{name}: a foot {-f.lowest * 1e3:.1f} mm under the ground")
    for c in r.contacts:
        name = f"contact {c.number}"
        sand = motion.chain.supports[c.number - 1].surface == "sand"
        need(c.slip <= 2e-3, f"{name}: foot slips {c.slip * 1e3:.2f} mm")
        need(c.penetration <= 2e-3, f"{name}: foot {c.penetration * 1e3:.2f} mm off the ground")
        need(c.mark <= 2e-3, f"{name}: toe {c.mark * 1e3:.2f} mm off its mark")
        need(c.least >= -1e-3, f"{name}: ground pulls {-c.least:.3f} body weights")
        if not sand:
            need(c.friction <= FRICTION * 1.01, f"{name}: friction {c.friction:.2f} needed")
        need(
            c.pressure[0] >= -0.01 and c.pressure[1] <= 1.01,
            f"{name}: centre of pressure at {c.pressure[0]:.2f} to {c.pressure[1]:.2f} of the foot",
        )
        need(c.rising <= RISING, f"{name}: rises out of the sand at {c.rising:.2f} m/s")
        need(c.sinking <= SINKING, f"{name}: still sinks at {c.sinking:.2f} m/s at the end")
        need(c.impulse <= 0.01, f"{name}: impulse off by {c.impulse:.2%}")
        for label, off in (
            ("vx in", c.speed_in),
            ("vx out", c.speed_out),
            ("vy out", c.rise_out),
        ):
            need(abs(off) <= 0.1, f"{name}: {label} {off:+.3f} m/s off the plan")
    need(r.segment <= 1e-9, f"segment lengths change by {r.segment:.1e} m")
    need(r.leap <= 1e-3, f"the body leaps {r.leap:.4f} m or rad at an event")
    need(r.velocity <= 1e-2, f"a rate jumps {r.velocity:.3f} rad/s at an event")
    need(r.hip_velocity <= 1e-3, f"the body's velocity jumps {r.hip_velocity:.4f} m/s at an event")
    for joint, excess in r.limits.items():
        faults.append(f"{joint}: {np.degrees(excess):.1f} degrees beyond its range")
    notes = _moment_notes(r, motion)
    return tuple(faults), tuple(notes)


_CEILING_OF: Final = {
    "hip-": "hip_extend", "hip+": "hip_bend", "knee+": "knee_extend", "knee-": "knee_bend",
    "ankle-": "plantar", "ankle+": "dorsi",
}  # fmt: skip


def _moment_notes(r: Report, motion: Motion) -> list[str]:
    """Greatest moments of the legs as multiples of the published isometric maxima."""
    greatest: dict[str, tuple[float, str]] = {}
    places = [(f"contact {c.number}", c.moments) for c in r.contacts]
    places += [(f"flight after contact {f.number}", f.moments) for f in r.flights]
    for where, moments_there in places:
        for name, value in moments_there.items():
            key = name[2:]
            if key in ISOMETRIC and value > greatest.get(key, (0.0, ""))[0]:
                greatest[key] = (value, where)
    notes = []
    for key, (value, where) in greatest.items():
        published = ISOMETRIC[key].per_kilogram(motion.body.stature, motion.body.build)
        if value > published:
            over = "; over the ceiling asked" if value > 1.03 * CEILING[_CEILING_OF[key]] else ""
            notes.append(
                f"{where}: {key} {value:.2f} N m/kg, {value / published:.1f} times the published "
                f"isometric maximum{over}"
            )
    return notes
