"""What a solved motion is made of: the free angles, their splines, the phases.

Eleven angles are free; a hand goes with its forearm and the head follows the trunk. Legs and arms
are held as a thigh (upper arm) direction, a knee (elbow) flexion and a foot direction, so that the
limits of knee and elbow are limits of one number.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from animate.body.body import SEGMENTS, Array, Body
from animate.motion.chain import Chain, Support

DEGREE: Final = 4
"""Of the splines: three continuous derivatives inside a phase."""

FREE: Final[tuple[str, ...]] = (
    "trunk",
    "r_upper_arm",
    "r_elbow",
    "l_upper_arm",
    "l_elbow",
    "r_thigh",
    "r_knee",
    "r_foot",
    "l_thigh",
    "l_knee",
    "l_foot",
)
"""Order of the free angles."""
FREE_MIRROR: Final = np.array([0, 3, 4, 1, 2, 8, 9, 10, 5, 6, 7])

HEAD_FOLLOWS: Final = 0.3
"""Share of the trunk's lean the head goes along with (ours: the jumper keeps looking ahead)."""


def _expand() -> Array:
    matrix = np.zeros((len(SEGMENTS), len(FREE)))
    at = {name: i for i, name in enumerate(FREE)}
    for row, name in enumerate(SEGMENTS):
        side, part = name[:2], name[2:]
        if name == "head":
            matrix[row, at["trunk"]] = HEAD_FOLLOWS
        elif name == "trunk":
            matrix[row, at["trunk"]] = 1
        elif part == "upper_arm":
            matrix[row, at[side + "upper_arm"]] = 1
        elif part in ("forearm", "hand"):
            matrix[row, at[side + "upper_arm"]] = 1
            matrix[row, at[side + "elbow"]] = 1
        elif part == "thigh":
            matrix[row, at[side + "thigh"]] = 1
        elif part == "shank":
            matrix[row, at[side + "thigh"]] = 1
            matrix[row, at[side + "knee"]] = -1
        else:
            matrix[row, at[side + "foot"]] = 1
    matrix.flags.writeable = False
    return matrix


EXPAND: Final = _expand()
"""Segment angles = EXPAND @ free angles."""


def basis(breaks: Array, at: Array, derivative: int = 0, degree: int = DEGREE) -> Array:
    """Clamped B-splines on the given breaks, by the Cox-de Boor recursion.

    breaks: (n+1,), increasing break points.
    at: (m,), where; clipped to the breaks.
    derivative: 0 for the value.
    """
    breaks = np.asarray(breaks, float)
    cells = len(breaks) - 1
    knots = np.concatenate([np.full(degree, breaks[0]), breaks, np.full(degree, breaks[-1])])
    at = np.clip(np.asarray(at, float), breaks[0], breaks[-1])
    if derivative:
        lower = basis(breaks, at, derivative - 1, degree - 1)
        count = cells + degree - 1
        scaled = degree * lower / (knots[degree + 1 : degree + 1 + count] - knots[1 : 1 + count])
        out = np.zeros((len(at), count + 1))
        out[:, 1:] += scaled
        out[:, :-1] -= scaled
        return out
    cell = np.clip(np.searchsorted(breaks, at, side="right") - 1, 0, cells - 1) + degree
    local = np.zeros((len(at), degree + 1))
    local[:, 0] = 1.0
    for j in range(1, degree + 1):
        saved = np.zeros(len(at))
        for r in range(j):
            right = knots[cell + r + 1] - at
            left = at - knots[cell + 1 - j + r]
            term = local[:, r] / (right + left)
            local[:, r] = saved + right * term
            saved = left * term
        local[:, j] = saved
    out = np.zeros((len(at), cells + degree))
    out[np.arange(len(at))[:, None], cell[:, None] - degree + np.arange(degree + 1)] = local
    return out


# Breaks of a phase as fractions of it, the same for every chain so that motions are neighbours.
CONTACT_BREAKS: Final = (0.0, 0.12, 0.25, 0.40, 0.55, 0.70, 0.85, 1.0)
SAND_BREAKS: Final = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
HEEL_UNTIL: Final = 0.25
"""Fraction of a contact until when the foot may still turn about its heel."""
TOE_FROM: Final = 0.40
"""Fraction of a contact from which the foot may turn about its toe."""
STAND_FLAT_UNTIL: Final = 0.55
"""The same for a standing start: heels stay down longer."""
_FLIGHT_CELLS: Final = {"run": 5, "hop": 9, "step": 9, "jump": 10}


@dataclass(frozen=True)
class Slot:
    """One phase of a chain before it is solved.

    kind: {"contact", "flight"}.
    index: of the contact, or of the contact the flight leaves from.
    breaks: spline breaks as fractions of the phase.
    support: that contact.
    then: the contact a flight ends on.
    nominal: planned duration [s].
    """

    kind: Literal["contact", "flight"]
    index: int
    breaks: tuple[float, ...]
    support: Support
    then: Support | None
    nominal: float

    @property
    def count(self) -> int:
        """Spline coefficients of one angle."""
        return len(self.breaks) - 1 + DEGREE

    @property
    def stance(self) -> tuple[str, ...]:
        """Feet on the ground."""
        if self.kind == "flight":
            return ()
        return ("r", "l") if self.support.side == "both" else (self.support.side,)


def slots(chain: Chain) -> tuple[Slot, ...]:
    """Phases of a chain in order: contact, flight, contact, ... contact."""
    out: list[Slot] = []
    for i, s in enumerate(chain.supports):
        breaks = SAND_BREAKS if s.surface == "sand" else CONTACT_BREAKS
        out.append(Slot("contact", i, breaks, s, None, s.duration))
        if i < len(chain.flights):
            cells = _FLIGHT_CELLS[s.leave]
            even = [float(x) for x in np.linspace(0, 1, cells + 1)]
            # The leg is quickest just before it lands.
            even.insert(-1, even[-2] + 0.45 / cells)
            out.append(Slot("flight", i, tuple(even), s, chain.supports[i + 1], chain.flights[i]))
    return tuple(out)


def flat_span(slot: Slot) -> tuple[float, float]:
    """Fractions of a track contact between which the stance foot lies flat."""
    arrive = slot.support.arrive
    if arrive == "stand":
        return 0.0, STAND_FLAT_UNTIL
    if slot.support.leave == "end":
        return HEEL_UNTIL, 1.0
    return HEEL_UNTIL, TOE_FROM


def flat_coefficients(slot: Slot) -> tuple[int, int]:
    """First and one past the last coefficient of the stance foot that are held at zero."""
    low, high = flat_span(slot)
    breaks = np.array(slot.breaks)
    first = int(np.argmin(np.abs(breaks - low)))
    last = int(np.argmin(np.abs(breaks - high)))
    if slot.support.arrive in ("run", "stand"):
        first = 0
    return first, last + DEGREE


@dataclass(frozen=True, eq=False)
class Phase:
    """One solved phase.

    start, duration: [s].
    angles: (count, 11), spline coefficients of the free angles [rad].
    base: (count, 2), path of the heels from the break mark, in sand [m].
    com, velocity: (2,), of the centre of mass at take-off, in a flight [m], [m/s].
    """

    slot: Slot
    start: float
    duration: float
    angles: Array
    base: Array | None
    com: Array
    velocity: Array


def offsets(body: Body) -> dict[str, Array]:
    """Every joint and the centre of mass from the hip, as vectors fixed in the segments.

    Point = hip + sum over segments of R(angle) (u, v), with R(a) (u, v) the vector u along
    (cos a, sin a) plus v along (-sin a, cos a).

    Returns [m], by joint name, plus ``com`` and ``com:<segment>``.
    """
    at = {name: i for i, name in enumerate(SEGMENTS)}
    zero = np.zeros((len(SEGMENTS), 2))

    def down(segment: str, share: float = 1.0) -> Array:
        out = zero.copy()
        out[at[segment], 1] = -share * body.lengths[at[segment]]
        return out

    points: dict[str, Array] = {"hip": zero, "shoulder": -down("trunk")}
    points["vertex"] = points["shoulder"] - down("head")
    coms: dict[str, Array] = {
        "head": points["vertex"] + down("head", body.com[0]),
        "trunk": points["shoulder"] + down("trunk", body.com[1]),
    }
    for side in ("r_", "l_"):
        here = points["shoulder"]
        for segment, end in (("upper_arm", "elbow"), ("forearm", "wrist"), ("hand", "fingertip")):
            coms[side + segment] = here + down(side + segment, body.com[at[side + segment]])
            here = here + down(side + segment)
            points[side + end] = here
        here = points["hip"]
        for segment, end in (("thigh", "knee"), ("shank", "ankle")):
            coms[side + segment] = here + down(side + segment, body.com[at[side + segment]])
            here = here + down(side + segment)
            points[side + end] = here
        foot = at[side + "foot"]
        for end, share in (("heel", 0.0), ("toe", 1.0), ("com", body.com[foot])):
            there = here.copy()
            there[foot] += (share * body.lengths[foot] - body.ankle[0], -body.ankle[1])
            if end == "com":
                coms[side + "foot"] = there
            else:
                points[side + end] = there
    whole = zero.copy()
    for name, vector in coms.items():
        points["com:" + name] = vector
        whole = whole + vector * (body.masses[at[name]] / body.mass)
    points["com"] = whole
    return points
