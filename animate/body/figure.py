"""A body at an instant as shapes in metres: head, trunk, limbs, shoes, and what is measured.

Positions are 17 points (x, z) in the order of `JOINTS`, as `pose.joints` gives them; arrays, lists
and tuples all serve. Near limbs are filled dark, far limbs are light inside a dark outline, so
that the two are told apart without colour. The trunk and head are of a tone between.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any, Final

from animate.body.outlines import AT, ENDS, Side, part, smooth
from animate.body.outlines import JOINTS as JOINTS
from animate.body.outlines import points_of as points_of
from animate.body.shapes import Area, Label, Outline, Place, Placed, Point, Role, Shape, Stroke
from animate.body.wording import typeset
from animate.refused import Refused

_GHOST: Final = tuple(n for n in ENDS if n[:2] == "l_") + tuple(n for n in ENDS if n[:2] != "l_")
_ARM: Final = ("hand", "forearm", "upper_arm")
_LEG: Final = ("foot", "shank", "thigh")


def _check_look(near: str, facing: int) -> None:
    if near not in ("r", "l"):
        raise Refused("near", "r or l", f"{near!r}")
    if facing not in (1, -1):
        raise Refused("facing", "1 (along x) or -1", f"{facing!r}")


def athlete(positions: Any, near: Side = "r", facing: int = 1) -> tuple[Shape, ...]:
    """The body as filled outlines, the far side first.

    positions: (17, 2), [m], in the order of `JOINTS`.
    near: {"r", "l"}, the side turned to the viewer; "r" where the athlete runs to the viewer's right.
    facing: {1, -1}, 1 when the athlete faces along x, -1 the other way (a mirror image).
    Returns sixteen outlines: far arm, far leg, head and hair, trunk and shorts, near leg, near arm.
    """
    _check_look(near, facing)
    points = points_of(positions)
    return tuple(
        [
            Placed.at(
                Place(outline, *points[first], *_span(points, first, far), facing), role, edge
            )
            for outline, first, far, role, edge in _order(near)
        ]
    )


def _span(points: Sequence[Point], first: int, far: int) -> Point:
    """From one point to another [m]."""
    (ax, az), (bx, bz) = points[first], points[far]
    return bx - ax, bz - az


@lru_cache(maxsize=2)
def _order(near: Side) -> tuple[tuple[Outline, int, int, Role, Role | None], ...]:
    """What is drawn in which order, with the two joints it is laid along."""
    far: Side = "l" if near == "r" else "r"
    rows: list[tuple[str, str, Role, Role | None]] = []
    rows += [(kind, f"{far}_{kind}", "far", "near") for kind in (*_ARM, *_LEG)]
    rows += [("head", "head", "body", "paper"), ("hair", "head", "near", None)]
    rows += [("trunk", "trunk", "body", "paper"), ("shorts", "trunk", "near", None)]
    rows += [(kind, f"{near}_{kind}", "near", "paper") for kind in (*_LEG, *_ARM)]
    return tuple(
        (smooth(kind), AT[ENDS[segment][0]], AT[ENDS[segment][1]], role, edge)
        for kind, segment, role, edge in rows
    )


def ghost(positions: Any, role: Role = "far", facing: int = 1) -> tuple[Shape, ...]:
    """The body as one pale silhouette, as `athlete` takes it: what stays behind in a ghost trail."""
    _check_look("r", facing)
    points = points_of(positions)
    return tuple(Placed.at(part(points, name, facing), role, edge="paper") for name in _GHOST)


def path(points: Iterable[Any]) -> tuple[Shape, ...]:
    """The path of the centre of mass, two points or more [m], as a dashed line."""
    line = tuple((float(x), float(z)) for x, z in points)
    if len(line) < 2:
        raise Refused("path", "at least 2 points needed", len(line))
    return (Stroke(line, "arc", 0.0, dash=(0.06, 0.045)),)


def centre(point: Any, radius: float = 0.035) -> tuple[Shape, ...]:
    """The centre of mass [m] as a ring with a light inside."""
    x, z = float(point[0]), float(point[1])
    ring = [2 * math.pi * i / 20 for i in range(20)]
    points = tuple((x + radius * math.cos(a), z + radius * math.sin(a)) for a in ring)
    return (Area(points, "paper", edge="measure"),)


def haloed(stroke: Stroke, margin: float = 0.02) -> tuple[Shape, ...]:
    """A stroke over a wider one in the colour of the paper, to be read over anything."""
    under = Stroke(stroke.points, "paper", stroke.width + margin, stroke.closed)
    return (under, stroke)


def dimension(
    start: Point, end: Point, height: float, text: str, thick: float = 0.014, facing: int = 1
) -> tuple[Shape, ...]:
    """A level dimension line between two points, with lines down or up to it and a figure.

    start, end: what is measured [m]; the dimension is their distance along x.
    height: where the line runs [m].
    text: the figure with its unit.
    thick: line width [m].
    facing: {1, -1}, which way the athlete faces: the figure is put behind, clear of the legs.
    """
    (xa, za), (xb, zb) = sorted((start, end))
    shapes: list[Shape] = []
    for x, z in ((xa, za), (xb, zb)):
        shapes += haloed(
            Stroke(((x, z), (x, height - math.copysign(0.04, z - height))), "measure", thick * 0.7)
        )
    shapes += haloed(Stroke(((xa, height), (xb, height)), "measure", thick))
    size = min(0.06, max(xb - xa, 1e-3) / 2)
    for x, way in ((xa, 1), (xb, -1)):
        inner = x + way * size
        shapes.append(
            Area(
                ((x, height), (inner, height + size * 0.36), (inner, height - size * 0.36)),
                "measure",
            )
        )
    at, align = ((xa - 0.07, height), "right") if facing == 1 else ((xb + 0.07, height), "left")
    shapes.append(Label(at, text, "measure", 1.1, align, bold=True))  # type: ignore[arg-type]
    return tuple(shapes)


def knee_gap(
    positions: Any, support: Side | None = None, text: str | None = None, facing: int = 1
) -> tuple[Shape, ...]:
    """The distance along x between the knees, dimensioned under them.

    gap = x of the support knee - x of the free knee, forward positive; without a support leg its
    size alone. Printed as its measure is told, to a millimetre, unless a text is given; positions and
    facing as `athlete` takes them.
    """
    _check_look(support or "r", facing)
    points = points_of(positions)
    right, left = points[AT["r_knee"]], points[AT["l_knee"]]
    gap = (right[0] - left[0]) * facing * (-1 if support == "l" else 1)
    if support is None:
        gap = abs(gap)
    said = typeset(f"{100 * gap:.1f} cm") if text is None else text
    return dimension(right, left, _under_knees(points, facing), said, facing=facing)


_UNDER: Final = 0.2
"""How far under the lower knee a dimension runs [m] (ours)."""
_ROOM: Final = 0.15
"""Half of what its figure takes in height [m], on a page or a screen (ours)."""


def _under_knees(points: Sequence[Point], facing: int) -> float:
    """A height for the knees' dimension whose figure, behind them, is clear of the free foot [m]."""
    knees = [points[AT[name]] for name in ("r_knee", "l_knee")]
    behind = min(x * facing for x, _ in knees)
    usual = min(z for _, z in knees) - _UNDER
    feet = [points[AT[f"{s}_{name}"]] for s in "rl" for name in ("ankle", "heel", "toe")]
    ground = min(z for _, z in feet)
    near = [z for x, z in feet if x * facing < behind and abs(z - usual) < _ROOM]
    lower = min(near, default=usual + _ROOM) - _ROOM
    return max(lower, min(usual, ground + 0.07)) if near else usual


def angle(
    corner: Point, start: float, end: float, text: str, radius: float = 0.3
) -> tuple[Shape, ...]:
    """An arc between two directions with a figure beside its middle.

    corner: where the two directions meet [m].
    start, end: directions [rad], anticlockwise from x.
    text: the figure with its unit.
    radius: [m].
    """
    turn = math.remainder(end - start, 2 * math.pi)
    x, z = corner
    around = [start + turn * i / 16 for i in range(17)]
    arc = tuple((x + radius * math.cos(a), z + radius * math.sin(a)) for a in around)
    legs = [
        ((x, z), (x + 1.25 * radius * math.cos(a), z + 1.25 * radius * math.sin(a)))
        for a in (start, end)
    ]
    shapes: list[Shape] = []
    for line in legs:
        shapes += haloed(Stroke(line, "measure", 0.008, dash=(0.04, 0.03)))
    shapes += haloed(Stroke(arc, "measure", 0.014))
    middle = start + turn / 2
    out = 1.3 * radius + 0.06
    across = math.cos(middle)
    at = (x + out * across, z + out * math.sin(middle))
    align = "left" if across > 0.35 else "right" if across < -0.35 else "middle"
    shapes.append(Label(at, text, "measure", 1.1, align, bold=True))  # type: ignore[arg-type]
    return tuple(shapes)


def thigh_angle(positions: Any, side: Side, facing: int = 1) -> tuple[Shape, ...]:
    """The angle of one side's thigh below (-) or above (+) the horizontal ahead, at the hip.

    Positions and facing as `athlete` takes them.
    """
    _check_look(side, facing)
    points = points_of(positions)
    hip, knee = points[AT["hip"]], points[AT[f"{side}_knee"]]
    way = math.atan2(knee[1] - hip[1], knee[0] - hip[0])
    ahead = 0.0 if facing == 1 else math.pi
    raised = math.degrees(math.remainder(way - ahead, 2 * math.pi)) * facing
    said = typeset(f"{round(raised):+d}°") if round(raised) else "0°"
    return angle(hip, ahead, way, said, 0.85 * math.dist(hip, knee))
