"""A believable, deterministic test motion: hand-made key poses of one step, blended; no physics."""

from __future__ import annotations

import math
from itertools import pairwise

# Absolute segment angles in degrees (trunk, head, r_thigh, r_shank, r_foot, l_thigh, l_shank,
# l_foot, r_upper_arm, r_forearm, l_upper_arm, l_forearm) with time [s], hip x and z [m]; ours.
KEYS: list[tuple[float, float, float, list[float]]] = [
    (0.00, 0.00, 0.93, [-2, 0, 36, 10, 0, -18, -100, -100, -35, 25, 25, 105]),
    (0.08, 0.62, 0.86, [-4, 0, 8, -24, 0, 28, -92, -75, -5, 70, -5, 70]),
    (0.16, 1.26, 0.96, [-4, 0, -26, -42, -55, 72, -12, -5, 50, 130, -60, 5]),
    (0.30, 2.35, 1.13, [-6, 0, -30, -85, -100, 76, -10, 0, 45, 125, -55, 10]),
    (0.44, 3.44, 1.13, [-6, 0, -30, -98, -110, 76, -5, 5, 35, 115, -50, 15]),
    (0.54, 4.20, 1.02, [-4, 0, -28, -98, -105, 66, 14, 15, 30, 110, -45, 20]),
    (0.60, 4.66, 0.93, [-2, 0, -16, -98, -100, 38, 12, 0, 20, 100, -35, 30]),
]
STATURE = 1.75
END = KEYS[-1][0]
_LENGTH = {
    "trunk": 0.288,
    "head": 0.182,
    "thigh": 0.245,
    "shank": 0.246,
    "foot": 0.152,
    "upper_arm": 0.186,
    "forearm": 0.146,
    "hand": 0.108,
}


def _blend(t: float) -> tuple[float, float, list[float]]:
    t = min(max(t, 0.0), END)
    for (t0, x0, z0, a0), (t1, x1, z1, a1) in pairwise(KEYS):
        if t <= t1:
            share = (t - t0) / (t1 - t0)
            smooth = share * share * (3 - 2 * share)
            mixed = [a + smooth * (b - a) for a, b in zip(a0, a1, strict=True)]
            return x0 + share * (x1 - x0), z0 + smooth * (z1 - z0), mixed
    return KEYS[-1][1], KEYS[-1][2], list(KEYS[-1][3])


def _end(at: tuple[float, float], kind: str, degrees: float) -> tuple[float, float]:
    length, a = _LENGTH[kind] * STATURE, math.radians(degrees)
    return at[0] + length * math.sin(a), at[1] - length * math.cos(a)


def body_at(t: float, gap: float = 0.0) -> list[tuple[float, float]]:
    """Seventeen points [m] in the order of figure.JOINTS; `gap` turns the free thigh back [deg]."""
    x, z, a = _blend(t)
    trunk, head, rt, rs, rf, lt, ls, lf, ru, rfo, lu, lfo = a
    hip = (x, z)
    shoulder = _end(hip, "trunk", trunk + 180)
    vertex = _end(shoulder, "head", head + 180)
    out = [hip, shoulder, vertex]
    for upper, fore in ((ru, rfo), (lu, lfo)):
        elbow = _end(shoulder, "upper_arm", upper)
        wrist = _end(elbow, "forearm", fore)
        out += [elbow, wrist, _end(wrist, "hand", fore)]
    for thigh, shank, foot in ((rt, rs, rf), (lt - gap, ls - gap, lf - gap)):
        knee = _end(hip, "thigh", thigh)
        ankle = _end(knee, "shank", shank)
        along = (math.cos(math.radians(foot)), math.sin(math.radians(foot)))
        square = (-along[1], along[0])
        back, up = 0.25 * 0.152 * STATURE, 0.039 * STATURE
        heel = (
            ankle[0] - back * along[0] - up * square[0],
            ankle[1] - back * along[1] - up * square[1],
        )
        toe = (heel[0] + 0.152 * STATURE * along[0], heel[1] + 0.152 * STATURE * along[1])
        out += [knee, ankle, heel, toe]
    return out


def com_at(t: float) -> tuple[float, float]:
    """A point near the middle of the body [m]; not a true centre of mass."""
    x, z, _ = _blend(t)
    return x + 0.03, z + 0.12
