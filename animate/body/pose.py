"""From segment angles to joint positions, centre of mass and the distances a phase is made of.

Angle convention (radians here, degrees in the key-pose tables): every segment's angle is that of
the direction from its first end, 0 pointing straight down, positive swinging the far end forward.
The trunk's direction runs shoulder to hip and the head's vertex to shoulder, so 0 is upright and
negative leans forward. A foot's angle is measured from flat: 0 flat on the ground, positive toes up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body import outlines
from animate.body.body import SEGMENTS, Array, Body
from animate.body.outlines import JOINTS as JOINTS
from animate.body.outlines import Side as Side
from animate.refused import Refused

JOINT: Final[dict[str, int]] = {name: i for i, name in enumerate(JOINTS)}
SEGMENT: Final[dict[str, int]] = {name: i for i, name in enumerate(SEGMENTS)}

ENDS: Final = tuple(outlines.ENDS[name] for name in SEGMENTS)
"""First and far end of each segment, as joints, in the order of SEGMENTS."""
_FIRST, _FAR = (np.array([JOINT[ends[i]] for ends in ENDS]) for i in (0, 1))
_FOOT: Final = np.array([name.endswith("_foot") for name in SEGMENTS])
MIRROR: Final = np.array(
    [SEGMENT[{"r_": "l_", "l_": "r_"}.get(s[:2], s[:2]) + s[2:]] for s in SEGMENTS]
)
"""Index that swaps right and left along the segment axis."""


def directions(angles: Array) -> Array:
    """Unit vector (x, z) of each segment from its first end to its far end, (..., 14, 2) [-].

    d = (sin a, -cos a) for a limb, (cos a, sin a) for a foot; a segment angles (..., 14) [rad].
    """
    turned = np.where(_FOOT, angles + np.pi / 2, angles)
    return np.stack([np.sin(turned), -np.cos(turned)], axis=-1)


def joints(body: Body, angles: Array, hip: Array) -> Array:
    """Positions of all joints for given segment angles and hip position.

    angles: (..., 14), segment angles [rad].
    hip: (..., 2), hip position (x, z) [m].
    Returns joint positions (..., 17, 2) [m] in the order of `JOINTS`.
    """
    angles = np.asarray(angles, dtype=float)
    hip = np.asarray(hip, dtype=float)
    if angles.shape[-1:] != (len(SEGMENTS),) or hip.shape[-1:] != (2,):
        raise Refused(
            "angles and hip", "(..., 14) and (..., 2) needed", f"{angles.shape} {hip.shape}"
        )
    if not (np.isfinite(angles).all() and np.isfinite(hip).all()):
        raise Refused("angles and hip", "must be finite numbers")
    reach = directions(angles) * body.lengths[:, None]
    shape = np.broadcast_shapes(reach.shape[:-2], hip.shape[:-1])
    out = np.empty((*shape, len(JOINTS), 2))
    out[..., JOINT["hip"], :] = hip
    out[..., JOINT["shoulder"], :] = hip - reach[..., SEGMENT["trunk"], :]
    out[..., JOINT["vertex"], :] = out[..., JOINT["shoulder"], :] - reach[..., SEGMENT["head"], :]
    for side in ("r", "l"):
        chain = [
            ("shoulder", "upper_arm", "elbow"),
            ("", "forearm", "wrist"),
            ("", "hand", "fingertip"),
        ]
        chain += [("hip", "thigh", "knee"), ("", "shank", "ankle")]
        at = out[..., 0, :]
        for start, segment, end in chain:
            at = out[..., JOINT[start], :] if start else at
            at = at + reach[..., SEGMENT[f"{side}_{segment}"], :]
            out[..., JOINT[f"{side}_{end}"], :] = at
        foot = SEGMENT[f"{side}_foot"]
        along = reach[..., foot, :] / body.lengths[foot]
        square = np.stack([-along[..., 1], along[..., 0]], axis=-1)
        heel = at - body.ankle[0] * along - body.ankle[1] * square
        out[..., JOINT[f"{side}_heel"], :] = heel
        out[..., JOINT[f"{side}_toe"], :] = heel + reach[..., foot, :]
    return out


def segment_coms(body: Body, positions: Array) -> Array:
    """Centre of mass of every segment, (..., 14, 2) [m], from joint positions (..., 17, 2) [m].

    c = first end + share x (far end - first end), `Body.com` the share.
    """
    first, far = positions[..., _FIRST, :], positions[..., _FAR, :]
    return first + body.com[:, None] * (far - first)


def centre_of_mass(body: Body, positions: Array) -> Array:
    """Centre of mass of the whole body, (..., 2) [m]: sum of m_i c_i over the mass.

    A body that stands straight has it somewhat above the hip:

    >>> from animate.body.body import body
    >>> who = body(1.80, 72.0)
    >>> at = joints(who, np.zeros(14), np.array([0.0, who.leg]))
    >>> round(float(centre_of_mass(who, at)[1]) / who.stature, 2)
    0.57
    """
    weighted = np.einsum("s,...sk->...k", body.masses, segment_coms(body, positions))
    return np.asarray(weighted / body.mass)


@dataclass(frozen=True)
class Stance:
    """Where the centre of mass is over a foot on the ground.

    toe, heel: (...), toe and heel ahead of the centre of mass [m]; negative is behind it.
    height: (...), centre of mass above the lowest point of that foot [m].
    """

    toe: Array
    heel: Array
    height: Array


def stance(body: Body, angles: Array, side: Side) -> Stance:
    """Measure poses, (..., 14) segment angles [rad], over the grounded foot of a side, "r" or "l"."""
    if side not in ("r", "l"):
        raise Refused("side", "r or l", f"{side!r}")
    positions = joints(body, angles, np.zeros(2))
    com = centre_of_mass(body, positions)
    toe = positions[..., JOINT[f"{side}_toe"], :]
    heel = positions[..., JOINT[f"{side}_heel"], :]
    low = np.minimum(toe[..., 1], heel[..., 1])
    return Stance(toe[..., 0] - com[..., 0], heel[..., 0] - com[..., 0], com[..., 1] - low)


def mirrored(angles: Array) -> Array:
    """Swap right and left along the segment axis: the same pose of an athlete of the other leg."""
    return np.asarray(angles)[..., MIRROR]
