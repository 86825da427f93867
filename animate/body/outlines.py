"""The outline of every part of the body, and how a part is laid along its two joints."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final, Literal

from animate.body.shapes import Place, Point
from animate.refused import Refused

Side = Literal["r", "l"]

JOINTS: Final[tuple[str, ...]] = (
    "hip",
    "shoulder",
    "vertex",
    *(f"{side}_{name}" for side in "rl" for name in ("elbow", "wrist", "fingertip")),
    *(f"{side}_{name}" for side in "rl" for name in ("knee", "ankle", "heel", "toe")),
)
"""Order of the 17 points of a body."""
AT: Final[dict[str, int]] = {name: i for i, name in enumerate(JOINTS)}

# Outlines of the parts: (along, forward) in lengths of the part, from its first end; ours, drawn
# by eye from the depths of an adult seen from the side. Sampled into smooth curves once.
PARTS: Final[dict[str, tuple[tuple[float, float], ...]]] = {
    "head": (
        (0, 0), (0.03, 0.17), (0.14, 0.29), (0.28, 0.325), (0.4, 0.4), (0.46, 0.33),
        (0.56, 0.32), (0.655, 0.27), (0.69, 0.14), (0.8, 0.13), (1.04, 0.16), (1.1, -0.05),
        (1.02, -0.2), (0.8, -0.19), (0.62, -0.22), (0.46, -0.32), (0.28, -0.35), (0.11, -0.27),
        (0.02, -0.13),
    ),
    "trunk": (
        (-0.09, 0.02), (-0.05, 0.12), (0.08, 0.2), (0.26, 0.245), (0.45, 0.21), (0.66, 0.165),
        (0.86, 0.175), (1.02, 0.175), (1.12, 0.1), (1.14, -0.04), (1.1, -0.16), (0.98, -0.225),
        (0.84, -0.195), (0.66, -0.135), (0.45, -0.165), (0.22, -0.215), (0.05, -0.19), (-0.06, -0.09),
    ),
    "hair": (
        (0, 0), (0.03, 0.17), (0.14, 0.28), (0.21, 0.29), (0.24, 0.16), (0.34, 0.02),
        (0.5, -0.06), (0.64, -0.12), (0.7, -0.22), (0.62, -0.27), (0.46, -0.345), (0.28, -0.365),
        (0.11, -0.28), (0.02, -0.13),
    ),
    "shorts": (
        (0.8, 0.155), (0.86, 0.165), (1.02, 0.165), (1.11, 0.09), (1.13, -0.04), (1.09, -0.15),
        (0.98, -0.21), (0.84, -0.18), (0.79, -0.16), (0.8, 0),
    ),
    "upper_arm": (
        (-0.15, 0), (-0.09, 0.12), (0.08, 0.175), (0.35, 0.165), (0.65, 0.13), (0.95, 0.105),
        (1.09, 0.05), (1.09, -0.05), (0.95, -0.105), (0.6, -0.14), (0.3, -0.165), (0.06, -0.17),
        (-0.09, -0.11),
    ),
    "forearm": (
        (-0.12, 0), (-0.06, 0.11), (0.18, 0.165), (0.45, 0.145), (0.8, 0.095), (1.03, 0.08),
        (1.06, 0), (1.03, -0.08), (0.8, -0.09), (0.45, -0.125), (0.18, -0.15), (-0.06, -0.12),
    ),
    "hand": (
        (-0.05, 0.08), (0.18, 0.2), (0.42, 0.23), (0.66, 0.17), (0.78, 0.06), (0.78, -0.06),
        (0.66, -0.14), (0.42, -0.15), (0.15, -0.13), (-0.05, -0.1),
    ),
    "thigh": (
        (-0.16, 0), (-0.11, 0.13), (0.06, 0.195), (0.35, 0.205), (0.66, 0.165), (0.9, 0.13),
        (1.06, 0.115), (1.12, 0.02), (1.08, -0.08), (0.9, -0.115), (0.62, -0.155), (0.3, -0.195),
        (0.06, -0.2), (-0.11, -0.13),
    ),
    "shank": (
        (-0.1, 0.03), (-0.03, 0.115), (0.12, 0.12), (0.4, 0.085), (0.75, 0.06), (1, 0.062),
        (1.05, 0), (1, -0.065), (0.78, -0.075), (0.52, -0.14), (0.3, -0.185), (0.12, -0.15),
        (-0.04, -0.09),
    ),
    # From the heel, along the sole, up: a shoe.
    "foot": (
        (0, 0.03), (-0.035, 0.14), (0.01, 0.27), (0.07, 0.37), (0.24, 0.4), (0.4, 0.35),
        (0.54, 0.245), (0.76, 0.175), (0.95, 0.13), (1.015, 0.06), (0.985, 0.005), (0.86, 0),
        (0.62, 0), (0.46, 0.02), (0.3, 0), (0.06, 0),
    ),
}  # fmt: skip
ENDS: Final[dict[str, tuple[str, str]]] = {
    "head": ("vertex", "shoulder"),
    "trunk": ("shoulder", "hip"),
    **{f"{s}_upper_arm": ("shoulder", f"{s}_elbow") for s in "rl"},
    **{f"{s}_forearm": (f"{s}_elbow", f"{s}_wrist") for s in "rl"},
    **{f"{s}_hand": (f"{s}_wrist", f"{s}_fingertip") for s in "rl"},
    **{f"{s}_thigh": ("hip", f"{s}_knee") for s in "rl"},
    **{f"{s}_shank": (f"{s}_knee", f"{s}_ankle") for s in "rl"},
    **{f"{s}_foot": (f"{s}_heel", f"{s}_toe") for s in "rl"},
}


@lru_cache(maxsize=16)
def smooth(kind: str, pieces: int = 2) -> tuple[tuple[float, float], ...]:
    """A closed Catmull-Rom curve through a part's outline, `pieces` points to a stretch."""
    knots = PARTS[kind]
    pieces += kind in ("head", "hair")  # their curves are tighter
    out = []
    for i, (x1, y1) in enumerate(knots):
        (x0, y0), (x2, y2) = knots[i - 1], knots[(i + 1) % len(knots)]
        x3, y3 = knots[(i + 2) % len(knots)]
        for j in range(pieces):
            t = j / pieces
            a, b = t * (-0.5 + t * (1 - 0.5 * t)), 1 + t * t * (-2.5 + 1.5 * t)
            c, d = t * (0.5 + t * (2 - 1.5 * t)), t * t * (-0.5 + 0.5 * t)
            out.append((a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3))
    return tuple(out)


def points_of(positions: Any) -> list[Point]:
    """Seventeen plain finite points from whatever holds them, (17, 2) [m]."""
    rows = positions.tolist() if hasattr(positions, "tolist") else positions
    try:
        points = [(float(x), float(z)) for x, z in rows]
    except (TypeError, ValueError):
        raise Refused("positions", "must be pairs (x, z)", str(rows)[:60]) from None
    if len(points) != len(JOINTS):
        raise Refused("positions", f"{len(JOINTS)} points needed", len(points))
    if math.isfinite(sum(map(sum, points))):
        return points
    for name, (x, z) in zip(JOINTS, points, strict=True):
        if not math.isfinite(x + z):
            raise Refused("positions", "must be finite numbers", f"{x}, {z} at {name}")
    return points


def part(points: Sequence[Point], segment: str, facing: int) -> Place:
    """Where the outline of a segment (a key of `ENDS`) of a body lies; facing 1 along x, -1 against it."""
    first, far = ENDS[segment]
    (ax, az), (bx, bz) = points[AT[first]], points[AT[far]]
    kind = segment[2:] if segment[:2] in ("r_", "l_") else segment
    return Place(smooth(kind), ax, az, bx - ax, bz - az, facing)
