"""Joint ranges and joint moments with where each figure comes from.

Two kinds of moment figures are kept apart: what has been published of maximum voluntary moments,
which a report is measured against, and the ceilings the solver keeps, which are ours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body.stances import GRAVITY

_MEMORY = "Norkin & White, goniometry handbook, adult passive range; from memory, confidence medium"


@dataclass(frozen=True)
class Range:
    """Range of a joint [degrees] and its source."""

    low: float
    high: float
    source: str

    @property
    def radians(self) -> tuple[float, float]:
        """The range [rad]."""
        return float(np.radians(self.low)), float(np.radians(self.high))


ANGLE_LIMITS: Final = {
    "neck": Range(-60, 60, _MEMORY),
    "hip": Range(
        -40, 132,
        _MEMORY + ": 30 back and 130 forward at the hip; 10 more back from pelvis and loin, which "
        "this trunk has no joint for (ours)",
    ),
    "knee": Range(0, 145, _MEMORY),
    "ankle": Range(
        -56, 35,
        "pointed: Soucie et al. 2011 mean of men aged 20-44, 56, from memory, confidence medium; "
        "raised: 7.1 to 34.7 under body weight, textbook range seen in a web summary",
    ),
    "shoulder": Range(-75, 190, _MEMORY + ": 60 back, 180 forward; the rest from the shoulder girdle "
                                "(ours)"),
    "elbow": Range(0, 150, _MEMORY),
    "wrist": Range(-70, 70, _MEMORY),
}  # fmt: skip
"""Widest joint angles let through; flexion +, ankle + toes up [degrees]."""


@dataclass(frozen=True)
class Moment:
    """A maximum isometric moment over body weight and stature [-], by sex, aged 18-25."""

    male: float
    female: float
    source: str

    def per_kilogram(self, stature: float, build: str) -> float:
        """The moment per kilogram of an athlete [N m/kg]: c g stature."""
        c = {"male": self.male, "female": self.female}.get(build, (self.male + self.female) / 2)
        return c * GRAVITY * stature


_ANDERSON = (
    "Anderson, Madigan & Nussbaum 2007, J Biomech 40:3105-3113, Table 3 (c1), seen as reprinted in "
    "an open library's data"
)
ISOMETRIC: Final = {
    "hip-": Moment(0.161, 0.181, _ANDERSON),
    "hip+": Moment(0.113, 0.127, _ANDERSON),
    "knee+": Moment(0.163, 0.159, _ANDERSON),
    "knee-": Moment(0.087, 0.080, _ANDERSON),
    "ankle-": Moment(0.095, 0.104, _ANDERSON),
    "ankle+": Moment(0.033, 0.027, _ANDERSON),
}
"""Greatest voluntary isometric moments of healthy, not jump-trained adults. + flexes the hip,
extends the knee, raises the toes. A jumper's leg giving under load does more: the report says by
what factor."""

CEILING: Final = {
    "plantar": 5.5,
    "dorsi": 1.5,
    "knee_extend": 6.0,
    "knee_bend": 4.0,
    "hip_extend": 7.5,
    "hip_bend": 6.0,
}
"""Moments the solver keeps below, at a cost above [N m/kg] (ours, no source): 2 to 3.5 times the
isometric figures above for a male of 1.75 m."""
