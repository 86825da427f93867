"""Positions a coach reads off any contact of any motion, by name.

Works on plain sampled arrays, so a computed motion and a measured one are read alike. Between
samples everything is taken as linear: at 1 ms that is within a tenth of a millimetre and of a
degree. Angles follow `pose`; what a coach sees is named and turned into cm and degrees here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Protocol

import numpy as np

from animate.body.body import SEGMENTS, Array
from animate.body.pose import JOINT, JOINTS, SEGMENT
from animate.motion.measure_contacts import Contact, Stood, contacts_of
from animate.motion.measure_table import MEASURE, MEASURES, Measure
from animate.refused import Refused

__all__ = [
    "HOLD_WITHIN",
    "MEASURE",
    "MEASURES",
    "Contact",
    "Measure",
    "Reading",
    "Sampled",
    "Stood",
    "Track",
    "contacts_of",
    "read_contact",
    "read_motion",
]

HOLD_WITHIN: Final = float(np.radians(10.0))
"""How far below its highest a thigh still counts as held [rad]; ours, no source."""
_LEVEL: Final = np.pi / 2
# Spans the speeds are fitted over [s]: in flight the centre of mass is on a parabola, which a
# quadratic fits exactly; in contact and for a foot it isn't, so the span is shorter.
_FLIGHT_SPAN, _SHORT_SPAN = 0.030, 0.010
_SLACK: Final = 1e-9


class Sampled(Protocol):
    """A motion at instants: what `read_contact` needs and no more."""

    @property
    def times(self) -> Array: ...  # (n,), rising [s]
    @property
    def angles(self) -> Array: ...  # (n, 14) [rad]
    @property
    def positions(self) -> Array: ...  # (n, 17, 2) [m]
    @property
    def com(self) -> Array: ...  # (n, 2) [m]


@dataclass(frozen=True, eq=False)
class Track:
    """Plain arrays as a `Sampled`: for a motion measured from a film, or one edited by hand."""

    times: Array
    angles: Array
    positions: Array
    com: Array


@dataclass(frozen=True)
class Reading:
    """What one contact measures.

    values: by measure name, in that measure's `unit`; what can't be read there (a free leg over two
        feet, a flight that isn't in the recording) is left out.
    """

    contact: Contact
    values: Mapping[str, float]

    def shown(self) -> dict[str, str]:
        """Every value as a coach reads it, by measure name."""
        return {name: MEASURE[name].shown(value) for name, value in self.values.items()}


def read_motion(
    motion: Sampled, contacts: Sequence[Contact], leg: float, velocities: Array | None = None
) -> tuple[Reading, ...]:
    """Read every contact of a motion, in order of time and not overlapping; see `read_contact`."""
    ends = [None, *(c.takeoff for c in contacts)]
    starts = [*(c.touchdown for c in contacts[1:]), None]
    for i, (here, then) in enumerate(pairwise(contacts), 1):
        if then.touchdown < here.takeoff:
            rule = f"not before contact {i} takes off at {here.takeoff:g} s"
            raise Refused(f"contact {i + 1} touchdown", rule, f"{then.touchdown:g}")
    return tuple(
        read_contact(motion, c, leg, since=since, until=until, velocities=velocities)
        for c, since, until in zip(contacts, ends, starts, strict=False)
    )


def read_contact(
    motion: Sampled,
    contact: Contact,
    leg: float,
    *,
    since: float | None = None,
    until: float | None = None,
    velocities: Array | None = None,
) -> Reading:
    """Read the measures of one contact and the flight after it.

    Each measure is defined in `MEASURES`. Speeds are b of a + b t + c t^2 fitted by least squares to the
    centre of mass over the 30 ms of flight next to the event, where it is on a parabola, or over 10 ms of
    the contact's own edge where no flight was recorded. Values between samples are linear.

    A body that stands straight, carried along at 8 m/s:

    contact: within the times of the motion.
    leg: leg length, hip to sole [m], above 0.
    since, until: take-off before and touchdown after this contact [s]; without `until` no flight is
        read.
    velocities: (n, 2), of the centre of mass [m/s], in place of those fitted.

    >>> from animate.body.body import body
    >>> from animate.body.pose import centre_of_mass, joints
    >>> who, t = body(1.80, 72.0), np.linspace(0.0, 0.2, 201)
    >>> at = joints(who, np.zeros((201, 14)), np.stack([8.0 * t, np.ones(201)], axis=-1))
    >>> track = Track(t, np.zeros((201, 14)), at, centre_of_mass(who, at))
    >>> read = read_contact(track, Contact("r", 0.05, 0.15, "hop", "step"), who.leg).shown()
    >>> read["speed_touchdown"], read["knee_gap"], read["contact_time"]
    ('8.00 m/s', '0.0 cm', '0.100 s')
    """
    _check(motion, contact, leg, since, until, velocities)
    probe = _Probe(motion, contact, velocities)
    start = float(motion.times[0]) if since is None else since
    end = float(motion.times[-1]) if until is None else until
    found: dict[str, float] = {}
    if contact.arrive != "stand":
        found |= _at_touchdown(probe, leg, start)
    found |= _in_contact(probe)
    if contact.leave != "end":
        found |= _at_takeoff(probe, end)
        if until is not None:
            found |= _in_flight(probe, until)
    if {"speed_touchdown", "speed_takeoff"} <= found.keys():
        found["speed_lost"] = found["speed_touchdown"] - found["speed_takeoff"]
    return Reading(contact, {m.name: found[m.name] for m in MEASURES if m.name in found})


class _Probe:
    """A motion at any instant, seen from one contact's feet."""

    def __init__(self, motion: Sampled, contact: Contact, velocities: Array | None) -> None:
        self.motion, self.contact, self.velocities = motion, contact, velocities
        self.times = motion.times
        self.support = ("r", "l") if contact.side == "both" else (contact.side,)
        self.free: str | None = {"r": "l", "l": "r"}.get(contact.side)

    def angle(self, segment: str, t: Array | float) -> Array:
        return _at(self.times, self.motion.angles[:, SEGMENT[segment]], t)

    def place(self, joint: str, t: float) -> Array:
        return _at(self.times, self.motion.positions[:, JOINT[joint]], t)

    def knee(self, sides: Sequence[str], t: Array | float) -> Array:
        bends = [self.angle(f"{s}_thigh", t) - self.angle(f"{s}_shank", t) for s in sides]
        return np.asarray(np.pi - np.mean(bends, axis=0))

    def body_ahead(self, t: float) -> float:
        toe = max(float(self.place(f"{s}_toe", t)[0]) for s in self.support)
        return float(_at(self.times, self.motion.com[:, 0], t)) - toe

    def height(self, t: float) -> float:
        toe = min(float(self.place(f"{s}_toe", t)[1]) for s in self.support)
        return float(_at(self.times, self.motion.com[:, 1], t)) - toe

    def velocity(
        self, t: float, flight: tuple[float, float], edge: tuple[float, float]
    ) -> Array | None:
        if self.velocities is not None:
            return _at(self.times, self.velocities, t)
        aloft = _slope(self.times, self.motion.com, t, flight)
        return _slope(self.times, self.motion.com, t, edge) if aloft is None else aloft

    def free_leg(self, free: str, t: float, at: str) -> dict[str, float]:
        thigh, other = self.angle(f"{free}_thigh", t), self.angle(f"{self.support[0]}_thigh", t)
        apart = abs(float(other - thigh) + np.pi) % (2 * np.pi) - np.pi
        return {
            f"thighs_apart_{at}": abs(apart),
            f"free_thigh_{at}": float(thigh) - _LEVEL,
            f"free_knee_{at}": float(self.knee(free, t)),
        }

    def trunk_and_knee(self, t: float, at: str) -> dict[str, float]:
        return {
            f"support_knee_{at}": float(self.knee(self.support, t)),
            f"trunk_lean_{at}": -float(self.angle("trunk", t)),
        }


def _at_touchdown(p: _Probe, leg: float, start: float) -> dict[str, float]:
    t, off = p.contact.touchdown, p.contact.takeoff
    found = p.trunk_and_knee(t, "touchdown")
    found["toe_ahead"] = -p.body_ahead(t)
    found["landing_angle"] = float(np.arctan2(p.height(t), found["toe_ahead"]))
    found["contact_time"] = off - t
    if p.free:
        found |= p.free_leg(p.free, t, "touchdown")
        apart = p.place(f"{p.support[0]}_knee", t) - p.place(f"{p.free}_knee", t)
        found["knee_gap"], found["knee_distance"] = float(apart[0]), float(np.hypot(*apart))
        found["knee_gap_share"] = found["knee_gap"] / leg
    flight = (max(start, t - _FLIGHT_SPAN), t)
    velocity = p.velocity(t, flight, (t, min(t + _SHORT_SPAN, off)))
    if velocity is not None:
        found["speed_touchdown"], found["fall_touchdown"] = map(float, velocity)
    feet = [JOINT[f"{s}_{end}"] for s in p.support for end in ("heel", "toe")]
    past = p.motion.com[:, :1] - p.motion.positions[:, feet, 0].mean(axis=1, keepdims=True)
    sweep = _slope(p.times, past, t, (max(start, t - _SHORT_SPAN), t))
    if sweep is not None:
        found["foot_sweep"] = float(sweep[0])
    return found


def _in_contact(p: _Probe) -> dict[str, float]:
    during = _instants(p.times, p.contact.touchdown, p.contact.takeoff)
    lean = -p.angle("trunk", during)
    return {
        "support_knee_minimum": float(p.knee(p.support, during).min()),
        "trunk_lean_most": float(lean[np.argmax(np.abs(lean))]),
    }


def _at_takeoff(p: _Probe, end: float) -> dict[str, float]:
    t = p.contact.takeoff
    found = p.trunk_and_knee(t, "takeoff")
    found["cm_ahead"] = p.body_ahead(t)
    if p.free:
        found |= p.free_leg(p.free, t, "takeoff")
    edge = (max(t - _SHORT_SPAN, p.contact.touchdown), t)
    velocity = p.velocity(t, (t, min(end, t + _FLIGHT_SPAN)), edge)
    if velocity is not None:
        found["speed_takeoff"], found["rise_takeoff"] = map(float, velocity)
        found["takeoff_angle"] = float(np.arctan2(velocity[1], velocity[0]))
    return found


def _in_flight(p: _Probe, until: float) -> dict[str, float]:
    found = {"flight_time": until - p.contact.takeoff}
    if p.free:
        aloft = _instants(p.times, p.contact.takeoff, until)
        thigh = p.angle(f"{p.free}_thigh", aloft)
        found["free_thigh_highest"] = float(thigh.max()) - _LEVEL
        found["free_thigh_hold"] = _held(aloft, thigh, float(thigh.max()) - HOLD_WITHIN)
        found["free_knee_flight"] = float(p.knee(p.free, aloft[np.argmax(thigh)]))
    return found


def _instants(times: Array, start: float, end: float) -> Array:
    return np.concatenate([[start], times[(times > start) & (times < end)], [end]])


def _at(times: Array, values: Array, t: Array | float) -> Array:
    """Values at given instants, linear between samples."""
    t = np.clip(t, times[0], times[-1])
    i = np.clip(np.searchsorted(times, t, side="right") - 1, 0, times.size - 2)
    share = (t - times[i]) / (times[i + 1] - times[i])
    share = share.reshape(share.shape + (1,) * (values.ndim - 1))
    return np.asarray(values[i] + share * (values[i + 1] - values[i]))


def _slope(times: Array, values: Array, t: float, span: tuple[float, float]) -> Array | None:
    """Rate of change at t of a quadratic through the samples of a span that starts or ends at t."""
    inside = np.flatnonzero((times >= span[0] - _SLACK) & (times <= span[1] + _SLACK))
    if inside.size < 3:
        return None
    return np.asarray(np.polynomial.polynomial.polyfit(times[inside] - t, values[inside], 2)[1])


def _held(times: Array, values: Array, level: float) -> float:
    """Time around the highest value, in one stretch, at or above a level."""
    top = int(np.argmax(values))
    edges = []
    for path, clock in ((values[top::-1], times[top::-1]), (values[top:], times[top:])):
        below = np.flatnonzero(path < level)
        if below.size == 0:
            edges.append(clock[-1])
            continue
        i = below[0]
        share = (path[i - 1] - level) / (path[i - 1] - path[i])
        edges.append(clock[i - 1] + share * (clock[i] - clock[i - 1]))
    return float(edges[1] - edges[0])


def _check(
    motion: Sampled,
    contact: Contact,
    leg: float,
    since: float | None,
    until: float | None,
    velocities: Array | None,
) -> None:
    times, n = motion.times, motion.times.size
    wanted = [
        ("times", times, (n,)),
        ("angles", motion.angles, (n, len(SEGMENTS))),
        ("positions", motion.positions, (n, len(JOINTS), 2)),
        ("com", motion.com, (n, 2)),
    ]
    if velocities is not None:
        wanted.append(("velocities", velocities, (n, 2)))
    for name, values, shape in wanted:
        if values.shape != shape or not np.isfinite(values).all():
            raise Refused(name, f"must be finite numbers of shape {shape}", values.shape)
    if n < 3 or not (np.diff(times) > 0).all():
        raise Refused("times", "three or more, each later than the one before", n)
    if not (np.isfinite(leg) and leg > 0):
        raise Refused("leg", "above 0 m", f"{leg:g}")
    order = [("since", since), ("touchdown", contact.touchdown), ("takeoff", contact.takeoff)]
    last = times[0] - _SLACK
    for name, t in [*order, ("until", until)]:
        if t is None:
            continue
        if not last <= t <= times[-1] + _SLACK:
            raise Refused(name, f"{last:.4g} to {times[-1]:.4g} s, in order", f"{t:g}")
        last = t
