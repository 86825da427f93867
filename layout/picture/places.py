"""From places of joints, by role, to the measures a coach asks for.

A target figure and an athlete on a picture are read by the same functions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array, Body
from animate.body.pose import JOINTS, SEGMENT, centre_of_mass
from animate.motion.measures import MEASURE, Measure

Complex = NDArray[np.complex128]
ROLES: Final = ("support", "free")
SEGMENT_ENDS: Final = (
    ("shoulder", "hip"),
    *(("hip", f"{r} knee") for r in ROLES),
    *((f"{r} knee", f"{r} ankle") for r in ROLES),
    *((f"{r} ankle", f"{r} toe") for r in ROLES),
)
"""Segments whose direction is read."""

# fmt: off
READ: Final[tuple[Measure, ...]] = (
    MEASURE["knee_gap"],
    MEASURE["knee_gap_share"],
    MEASURE["thighs_apart_touchdown"],
    MEASURE["free_thigh_touchdown"],
    Measure("support_thigh_touchdown", "support thigh", "rad", "touchdown",
            "support thigh above or below level, or behind the vertical"),
    MEASURE["free_knee_touchdown"],
    MEASURE["support_knee_touchdown"],
    MEASURE["trunk_lean_touchdown"],
    Measure("toe_ahead_hip", "toe ahead of hip", "m", "touchdown",
            "support toe ahead of the hip along the runway"),
    replace(MEASURE["toe_ahead"], label="toe ahead of centre"),
)
# fmt: on
"""What is read off a picture, in the order it is shown."""


def measures_of(places: Mapping[str, Array], who: Body) -> dict[str, Array]:
    """Read the measures off places, whoever they are of.

    Definitions as in `animate.motion.measures`; those of this module in `READ`.

    places: (..., 2), x along the run and z up [m]; limbs as "support knee", "free knee".
    who: whose leg length the knee gap is a share of and whose masses weigh the segments.
    Returns by measure name [its unit]; those whose points are missing are left out.
    """
    out: dict[str, Array] = {}
    hip = places["hip"]
    knee = {role: places[f"{role} knee"] for role in ROLES}
    thigh = {role: _swing(hip, knee[role]) for role in ROLES}
    out["knee_gap"] = knee["support"][..., 0] - knee["free"][..., 0]
    out["knee_gap_share"] = out["knee_gap"] / who.leg
    apart = thigh["support"] - thigh["free"]
    out["thighs_apart_touchdown"] = np.abs((apart + np.pi) % (2 * np.pi) - np.pi)
    for role in ROLES:
        out[f"{role}_thigh_touchdown"] = thigh[role] - np.pi / 2
        if f"{role} ankle" in places:
            bend = thigh[role] - _swing(knee[role], places[f"{role} ankle"])
            # From a knee bent the wrong way by 90 degrees to one bent right by 270.
            bend = (bend + np.pi / 2) % (2 * np.pi) - np.pi / 2
            out[f"{role}_knee_touchdown"] = np.pi - bend
    if "shoulder" in places:
        out["trunk_lean_touchdown"] = -_swing(places["shoulder"], hip)
    if "support toe" in places:
        toe = places["support toe"][..., 0]
        out["toe_ahead_hip"] = toe - hip[..., 0]
        com = _centre(places, who)
        if com is not None:
            out["toe_ahead"] = toe - com[..., 0]
    return {m.name: out[m.name] for m in READ if m.name in out}


def _swing(first: Array, far: Array) -> Array:
    """Angle of a segment from straight down, forward positive [rad]."""
    along = far - first
    return np.asarray(np.arctan2(along[..., 0], -along[..., 1]))


def _centre(places: Mapping[str, Array], who: Body) -> Array | None:
    """Centre of mass, or None where a point it needs is missing.

    Heels and fingertips may be missing: a foot keeps its shape, a hand goes on from the forearm.
    """
    needed = [f"{role} {p}" for role in ROLES for p in ("ankle", "toe", "elbow", "wrist")]
    if not {"head", "shoulder", *needed} <= places.keys():
        return None
    full = dict(places)
    full["vertex"] = places["head"]
    hand = who.lengths[SEGMENT["r_hand"]] / who.lengths[SEGMENT["r_forearm"]]
    foot = float(who.lengths[SEGMENT["r_foot"]])
    for role in ROLES:
        wrist = places[f"{role} wrist"]
        full[f"{role} fingertip"] = wrist + hand * (wrist - places[f"{role} elbow"])
        if f"{role} heel" not in places:
            toe = places[f"{role} toe"]
            shape = complex(foot, 0.0) / complex(foot - who.ankle[0], -who.ankle[1])
            back = as_complex(toe - places[f"{role} ankle"]) * shape
            full[f"{role} heel"] = toe - np.stack([back.real, back.imag], axis=-1)
    words = {"r": "support", "l": "free"}
    names = [f"{words[j[0]]} {j[2:]}" if j[1] == "_" else j for j in JOINTS]
    return centre_of_mass(who, np.stack([full[name] for name in names], axis=-2))


def as_complex(places: Array) -> Complex:
    return np.asarray(places[..., 0] + 1j * places[..., 1])


def from_hip(positions: Array) -> Array:
    """Places of a figure, x from its hip [m]; in the order of `pose.JOINTS`."""
    out: Array = positions - np.array([positions[JOINTS.index("hip"), 0], 0.0])
    return out


def roles_of(positions: Array, support: str) -> dict[str, Array]:
    """Places of a figure by role, x from the hip.

    positions: (17, 2), [m], in the order of `pose.JOINTS`.
    support: {"r", "l"}, the leg that is down.
    """
    words = {support: "support", "r" if support == "l" else "l": "free"}
    out = {}
    for name, place in zip(JOINTS, from_hip(positions), strict=True):
        plain = f"{words[name[0]]} {name[2:]}" if name[1] == "_" else name
        out["head" if plain == "vertex" else plain] = place
    return out
