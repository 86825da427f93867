"""Positions as a coach asks for them: a knee is 180 straight, a thigh 0 level, a trunk plus forward."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from animate.motion.chain import LIMITS
from animate.motion.motion import Motion
from layout.moving.clip import step_contact
from layout.words.faults import refuse
from layout.words.reading import read_number


class Angle(NamedTuple):
    """One angle: what it is called, and its sign and zero against the model's [degrees]."""

    name: str
    sign: int
    zero: float


ANGLES: Final = {
    "knee_bend": Angle("free-knee", -1, 180.0),
    "thigh_high": Angle("free-thigh", 1, 90.0),
    "trunk": Angle("trunk", -1, 0.0),
}
"""By the name of the setting."""


def turned(setting: str, degrees: float) -> float:
    """An angle as a coach says it [degrees] as its setting has it [rad]."""
    _, sign, zero = ANGLES[setting]
    return math.radians(zero + sign * degrees)


def read_degrees(setting: str, text: str, mark: str = "") -> float:
    """An angle as it is typed, within its setting's limits [degrees]; `mark` stands before its name."""
    name, sign, zero = ANGLES[setting]
    typed = read_number(f"{mark}{name}", text, -360.0, 360.0)
    low, high, _ = LIMITS[setting]
    if not low <= turned(setting, typed) <= high:
        ends = sorted(sign * (math.degrees(x) - zero) for x in (low, high))
        rule = f"must be {math.ceil(ends[0])} to {math.floor(ends[1])} degrees"
        raise refuse(f"{mark}{name}", rule, typed)
    return typed


def moved_along(motion: Motion, alone: Motion | None) -> tuple[str, str]:
    """Knee gap where a trunk was asked for and no knee gap, and without that trunk; empty where not known.

    alone: the same without that trunk, where it is at hand.
    """
    if motion.settings.trunk is None or motion.settings.knee_gap is not None:
        return "", ""
    found, was = (
        step_contact(m).reading.shown().get("knee_gap", "") if m else "" for m in (motion, alone)
    )
    return found, was
