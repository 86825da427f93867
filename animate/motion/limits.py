"""Joint ranges with where each figure comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

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
