"""Inverse dynamics of frames: joint angles, ground force and joint moments a motion implies."""

from __future__ import annotations

from typing import Final

import numpy as np

from animate.body.body import SEGMENTS, Array
from animate.body.pose import JOINT, SEGMENT, segment_coms
from animate.body.stances import GRAVITY
from animate.motion.motion import Frames, Motion, placed


def joint_angles(angles: Array) -> dict[str, Array]:
    """Joint angles from segment angles: flexion +, except the ankle, toes up + [rad]."""
    a = {name: angles[..., i] for name, i in SEGMENT.items()}
    out = {"neck": a["head"] - a["trunk"]}
    for s in ("r_", "l_"):
        out[s + "hip"] = a[s + "thigh"] - a["trunk"]
        out[s + "knee"] = a[s + "thigh"] - a[s + "shank"]
        out[s + "ankle"] = a[s + "foot"] - a[s + "shank"]
        out[s + "shoulder"] = a[s + "upper_arm"] - a["trunk"]
        out[s + "elbow"] = a[s + "forearm"] - a[s + "upper_arm"]
        out[s + "wrist"] = a[s + "hand"] - a[s + "forearm"]
    return out


def moments(motion: Motion, f: Frames, force: Array, moment: Array, feet: str) -> dict[str, Array]:
    """Joint moments by summing what the segments beyond each joint need (Newton-Euler).

    force: (n, 2), ground force [N].
    moment: (n,), its moment about the origin (0, 0) [N m].
    feet: feet on the ground: "", "r", "l" or "both" (shared equally).
    Returns [N m]; + turns the far segment forward (flexes the hip, extends the knee, raises the toes).
    """
    body, (x, z) = motion.body, np.moveaxis(f.positions, -1, 0)
    place = segment_coms(body, f.positions)
    acc = segment_accelerations(motion, f) + np.array([0.0, GRAVITY])
    out: dict[str, Array] = {}
    for s in "rl":
        share = {"": 0.0, "both": 0.5}.get(feet, 1.0 if s == feet else 0.0)
        for joint, beyond in BEYOND.items():
            j = JOINT[joint if joint in JOINT else f"{s}_{joint}"]
            total = np.zeros(len(f.times))
            for i in (SEGMENT[f"{s}_{name}"] for name in beyond):
                d, a = place[:, i] - f.positions[:, j], acc[:, i]
                total += body.masses[i] * (d[:, 0] * a[:, 1] - d[:, 1] * a[:, 0])
                total += body.inertias[i] * f.accelerations[:, i]
            if beyond[0] == "foot":
                total -= share * (moment - (x[:, j] * force[:, 1] - z[:, j] * force[:, 0]))
            out[f"{s}_{joint}"] = total
    return out


BEYOND: Final = {
    "ankle": ("foot",),
    "knee": ("foot", "shank"),
    "hip": ("foot", "shank", "thigh"),
    "elbow": ("forearm", "hand"),
    "shoulder": ("forearm", "hand", "upper_arm"),
}
"""Segments beyond each joint of a limb."""


def segment_accelerations(motion: Motion, f: Frames) -> Array:
    """Acceleration of every segment's centre of mass [m/s2], (n, 14, 2)."""
    vectors = np.stack([motion._vectors["com:" + s] for s in SEGMENTS] + [motion._vectors["com"]])
    _, _, a = placed(f.angles, f.rates, f.accelerations, vectors)
    return np.asarray(a[:, :-1] - a[:, -1:] + f.com_acceleration[:, None])


def sole(motion: Motion, k: int, f: Frames) -> tuple[Array, Array]:
    """Back end of the foot that a contact is read at, along x, and the ground's height there [m], (n,)."""
    s = motion.phases[k].slot.support
    if s.surface == "sand":
        x, z = f.positions[:, JOINT[s.foot + "_heel"]].T
        return x, z
    return np.full(len(f.times), s.toe - motion.body.lengths[-1]), np.zeros(len(f.times))


def ground_force(motion: Motion, f: Frames) -> tuple[Array, Array]:
    """Ground force [N] and its moment about the origin [N m] that the motion implies."""
    m = motion.body.mass
    force = m * (f.com_acceleration + np.array([0.0, GRAVITY]))
    about = f.momentum_rate + f.com[:, 0] * force[:, 1] - f.com[:, 1] * force[:, 0]
    return force, about
