"""What a coach reads off a contact: the name, the unit and the definition of every measure.

How each is read stands in `measures`; here is only what it is called and how it is shown.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Measure:
    """One thing that can be read off a contact.

    name, label: key, and the words for a coach.
    unit: of the value kept: m, rad, s, m/s or - (a ratio).
    at: touchdown, contact, take-off or flight (the one that follows).
    definition: one line, fit to be printed in a handout.
    """

    name: str
    label: str
    unit: str
    at: str
    definition: str

    @property
    def coach_unit(self) -> str:
        """Unit a coach reads."""
        return _COACH[self.unit][0]

    @property
    def digits(self) -> int:
        """Decimals of that unit."""
        return _COACH[self.unit][2]

    @property
    def words(self) -> Callable[[float, bool], str] | None:
        """How a coach says it, or a change of it, where that is no figure with its unit."""
        return thigh_text if self.unit == "rad" and "_thigh_" in self.name else None

    def in_coach_units(self, value: float) -> float:
        """A kept value in the unit a coach reads."""
        return value * _COACH[self.unit][1]

    def shown(self, value: float, signed: bool = False) -> str:
        """A kept value as a coach reads it, rounded, with its unit.

        >>> MEASURE["knee_gap"].shown(0.4), MEASURE["trunk_lean_touchdown"].shown(0.1, True)
        ('40.0 cm', '+6°')
        >>> MEASURE["free_thigh_touchdown"].shown(-1.7), MEASURE["free_thigh_highest"].shown(-0.1)
        ('7° behind vertical', '6° below level')
        """
        unit, factor, digits = _COACH[self.unit]
        if self.words:
            return self.words(value * factor, signed)
        number = round(value * factor, digits) + 0.0  # no "-0"
        return f"{number:{'+' if signed else ''}.{digits}f}{'' if unit == '°' else ' '}{unit}"

    def margin_text(self, margin: float) -> str:
        """A margin without its unit, rounded like the figure it belongs to, never down to nothing."""
        size = abs(self.in_coach_units(margin))
        shown = f"{size:.{self.digits}f}"
        return shown if float(shown) else f"{size:.1g}"

    def with_margin(self, value: float, margin: float) -> str:
        """A kept value with its margin.

        >>> MEASURE["knee_gap"].with_margin(0.394, 0.034)
        '39.4 cm ± 3.4'
        """
        return f"{self.shown(value)} ± {self.margin_text(margin)}"


def thigh_text(degrees: float, change: bool = False) -> str:
    """A thigh's angle to the level as a coach says it, or how far it is from another one.

    >>> thigh_text(3.2), thigh_text(-30.0), thigh_text(-120.0), thigh_text(0.2), thigh_text(-9, True)
    ('3° above level', '30° below level', '30° behind vertical', 'level', '9° back')
    """
    turn = round(degrees)
    if change:
        return f"{abs(turn)}° {'forward' if turn > 0 else 'back'}" if turn else "same"
    if turn < -90:
        return f"{-90 - turn}° behind vertical"
    return f"{abs(turn)}° {'above' if turn > 0 else 'below'} level" if turn else "level"


_COACH: Final[dict[str, tuple[str, float, int]]] = {
    "m": ("cm", 100.0, 1),
    "rad": ("°", 180.0 / math.pi, 0),
    "s": ("s", 1.0, 3),
    "m/s": ("m/s", 1.0, 2),
    "-": ("%", 100.0, 1),
}
_TD, _IN, _TO, _FL = "touchdown", "contact", "take-off", "flight"
_THIGH = "above or below level, or behind the vertical"


def _pose(end: str, at: str) -> tuple[tuple[str, ...], ...]:
    """What is read of the body's position at either end of a contact."""
    lean = "hip-to-shoulder line to the vertical; plus = forward"
    return (
        (f"thighs_apart_{end}", "thighs apart", "rad", at, "angle between the thighs"),
        (f"free_thigh_{end}", "free thigh", "rad", at, f"free thigh {_THIGH}"),
        (f"free_knee_{end}", "free knee", "rad", at, "free knee angle; 180 = straight leg"),
        (f"support_knee_{end}", "support knee", "rad", at, "knee angle; 180 = straight leg"),
        (f"trunk_lean_{end}", "trunk lean", "rad", at, lean),
    )


# fmt: off
MEASURES: Final[tuple[Measure, ...]] = tuple(Measure(*row) for row in (
    ("knee_gap", "knee gap", "m", _TD,
     "support knee ahead of the free knee along the runway; plus = free knee still behind"),
    ("knee_distance", "knee to knee", "m", _TD, "straight line between the knee centres"),
    ("knee_gap_share", "knee gap / leg", "-", _TD, "knee gap over leg length, hip to sole"),
    *_pose("touchdown", _TD),
    ("toe_ahead", "toe ahead", "m", _TD, "support toe ahead of the body's centre of mass"),
    ("landing_angle", "landing angle", "rad", _TD,
     "line from the support toe to the centre of mass, to the level; 90 = over the toe"),
    ("speed_touchdown", "speed in", "m/s", _TD, "horizontal speed of the centre of mass"),
    ("fall_touchdown", "vertical in", "m/s", _TD, "its vertical speed; minus = falling"),
    ("foot_sweep", "foot sweep", "m/s", _TD,
     "support foot (heel-toe middle) backward past the centre of mass; plus = backward"),
    ("contact_time", "contact time", "s", _IN, "touchdown to take-off"),
    ("support_knee_minimum", "support knee, least", "rad", _IN, "least support knee angle"),
    ("trunk_lean_most", "trunk lean, most", "rad", _IN,
     "lean farthest from the vertical either way; plus = forward"),
    *_pose("takeoff", _TO),
    ("cm_ahead", "body ahead of toe", "m", _TO, "centre of mass ahead of the support toe"),
    ("speed_takeoff", "speed out", "m/s", _TO, "horizontal speed of the centre of mass"),
    ("rise_takeoff", "vertical out", "m/s", _TO, "its vertical speed; plus = rising"),
    ("takeoff_angle", "take-off angle", "rad", _TO, "direction of that velocity to the level"),
    ("speed_lost", "speed lost", "m/s", _TO, "speed in less speed out"),
    ("flight_time", "flight time", "s", _FL, "take-off to the next touchdown"),
    ("free_thigh_highest", "free thigh, highest", "rad", _FL,
     f"highest free thigh in flight {_THIGH}"),
    ("free_thigh_hold", "free thigh held", "s", _FL,
     "time in one stretch within 10 degrees of that highest"),
    ("free_knee_flight", "free knee", "rad", _FL, "free knee angle when that thigh is highest"),
))
# fmt: on
"""Every measure, in the order a contact goes through them."""
MEASURE: Final[dict[str, Measure]] = {m.name: m for m in MEASURES}
