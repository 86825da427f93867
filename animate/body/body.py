"""The athlete's body as fourteen rigid segments: lengths, masses, centres of mass, inertias.

Axes: x along the runway, z up (the sagittal plane). Units: SI, angles in radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from animate.body.sizes import MASS_RANGE as MASS_RANGE
from animate.body.sizes import STATURE_RANGE as STATURE_RANGE
from animate.body.sizes import Build as Build
from animate.refused import Refused

Array = NDArray[np.float64]

SEGMENTS: Final[tuple[str, ...]] = (
    "head", "trunk", "r_upper_arm", "r_forearm", "r_hand", "l_upper_arm", "l_forearm", "l_hand",
    "r_thigh", "r_shank", "r_foot", "l_thigh", "l_shank", "l_foot",
)  # fmt: skip
"""Order of the segment axis of every array in this package."""


# Fractions of stature (Drillis & Contini 1966). The head runs from the
# mid-shoulder to the vertex: what stature leaves when the rest is stacked up.
_LENGTH: Final[dict[str, float]] = {
    "trunk": 0.288,
    "upper_arm": 0.186,
    "forearm": 0.146,
    "hand": 0.108,
    "thigh": 0.245,
    "shank": 0.246,
    "foot": 0.152,
}
FOOT_HEIGHT: Final = 0.039
"""Ankle above the sole as a fraction of stature (Drillis & Contini 1966)."""
ANKLE_ALONG_FOOT: Final = 0.25
"""Ankle ahead of the heel as a fraction of foot length (ours, no source)."""

# de Leva 1996, adjusted Zatsiorsky-Seluyanov: mass fraction, centre of mass from the first end as
# a fraction of length, transverse radius of gyration about it as a fraction of length.
_DE_LEVA: Final[dict[str, dict[str, tuple[float, float, float]]]] = {
    "male": {
        "head": (0.0694, 0.5002, 0.315),
        "trunk": (0.4346, 0.4310, 0.358),
        "upper_arm": (0.0271, 0.5772, 0.269),
        "forearm": (0.0162, 0.4574, 0.265),
        "hand": (0.0061, 0.3624, 0.235),
        "thigh": (0.1416, 0.4095, 0.329),
        "shank": (0.0433, 0.4395, 0.246),
        "foot": (0.0137, 0.4415, 0.245),
    },
    "female": {
        "head": (0.0668, 0.4841, 0.295),
        "trunk": (0.4257, 0.3782, 0.361),
        "upper_arm": (0.0255, 0.5754, 0.260),
        "forearm": (0.0138, 0.4559, 0.257),
        "hand": (0.0056, 0.3427, 0.208),
        "thigh": (0.1478, 0.3612, 0.364),
        "shank": (0.0481, 0.4352, 0.263),
        "foot": (0.0129, 0.4014, 0.279),
    },
}


def _kind(segment: str) -> str:
    return segment[2:] if segment[:2] in ("r_", "l_") else segment


def _row(build: Build, kind: str) -> tuple[float, float, float]:
    if build == "average":
        male, female = _DE_LEVA["male"][kind], _DE_LEVA["female"][kind]
        return tuple((m + f) / 2 for m, f in zip(male, female, strict=True))  # type: ignore[return-value]
    return _DE_LEVA[build][kind]


LEG: Final = _LENGTH["thigh"] + _LENGTH["shank"] + FOOT_HEIGHT
"""Leg length, hip to sole when standing, as a fraction of stature (Drillis & Contini 1966)."""


@dataclass(frozen=True, eq=False)
class Body:
    """Segment lengths, masses and inertias of one athlete, in the order of `SEGMENTS`.

    stature, mass: [m], [kg].
    build: {"male", "female", "average"}, which de Leva column; "average" is the mean of the two.
    lengths: (14,), segment lengths [m]; the foot's runs heel to toe.
    masses: (14,), segment masses [kg]; they sum to `mass`.
    com: (14,), centre of mass from the segment's first end as a fraction of its length [-]; the first
        end is the vertex (head), mid-shoulder (trunk), heel (foot), else the end nearer the trunk.
    inertias: (14,), moment of inertia about the segment's own centre of mass, sagittal plane [kg m2].
    ankle: ankle from the heel along and square to the sole [m].
    strength: torque per kilogram as a share of the column in `animate.motion.strength` [-].
    """

    stature: float
    mass: float
    build: Build
    lengths: Array
    masses: Array
    com: Array
    inertias: Array
    ankle: tuple[float, float]
    strength: float = 1.0

    @property
    def leg(self) -> float:
        """Leg length, hip to sole when standing [m]."""
        return LEG * self.stature


@lru_cache(maxsize=256)
def body(stature: float, mass: float, build: Build = "average", strength: float = 1.0) -> Body:
    """Scale the published segment tables to one athlete.

    Lengths are fractions of stature from one study and masses from another; mixing them is usual
    and neither was measured on triple jumpers or on children.

    Source: de Leva 1996 (masses, centres, radii of gyration); Drillis & Contini 1966 (lengths).

    stature: standing height [m], 1.10 to 2.30.
    mass: body mass [kg], 18 to 180.
    build: {"male", "female", "average"}, column of the mass table.
    strength: as `Body` has it, .1 to 5.

    >>> round(float(body(1.80, 70.0, "male").masses.sum()), 9)
    70.0
    >>> round(body(1.80, 70.0).leg, 3)
    0.954
    """
    if not STATURE_RANGE[0] <= stature <= STATURE_RANGE[1]:
        raise Refused("stature", f"{STATURE_RANGE[0]:g} to {STATURE_RANGE[1]:g} m, got {stature}")
    if not MASS_RANGE[0] <= mass <= MASS_RANGE[1]:
        raise Refused("mass", f"{MASS_RANGE[0]:g} to {MASS_RANGE[1]:g} kg, got {mass}")
    if build not in ("male", "female", "average"):
        raise Refused("build", f"male, female or average, got {build!r}")
    if not 0.1 <= strength <= 5.0:
        raise Refused("strength", f".1 to 5, got {strength}")
    fractions = dict(_LENGTH)
    stacked = fractions["trunk"] + fractions["thigh"] + fractions["shank"] + FOOT_HEIGHT
    fractions["head"] = 1.0 - stacked
    rows = np.array([_row(build, _kind(name)) for name in SEGMENTS])
    lengths = stature * np.array([fractions[_kind(name)] for name in SEGMENTS])
    # The printed fractions sum to .9999 or 1.0000: share the rounding out so mass is whole.
    masses = mass * rows[:, 0] / rows[:, 0].sum()
    inertias = masses * (rows[:, 2] * lengths) ** 2
    com = rows[:, 1].copy()
    for values in (lengths, masses, com, inertias):
        values.flags.writeable = False
    ankle = (ANKLE_ALONG_FOOT * fractions["foot"] * stature, FOOT_HEIGHT * stature)
    return Body(stature, mass, build, lengths, masses, com, inertias, ankle, strength)
