"""A plan's things as shapes in metres: the view from above and the view from the side."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from animate.body.body import Body, body
from animate.body.figure import athlete
from animate.body.pose import joints, mirrored
from animate.body.shapes import Area, Point, Shape, Stroke
from animate.body.stances import GRAVITY, key_poses
from layout.plan.hurdles import SHOE
from layout.plan.value import Contact, Flight, Hurdle, Plan

BEFORE: Final = 1.2
AFTER: Final = 1.0
"""Runway drawn before the first contact and after the last [m]."""
HEADROOM: Final = 2.35
"""Height kept for the side view over the runway [m]."""
BOARD: Final = 0.20
"""Take-off board along the runway [m] (World Athletics Technical Rules)."""
_SOLE: Final = (
    (0.00, 0.55), (0.03, 0.80), (0.12, 0.96), (0.25, 0.88), (0.45, 0.74), (0.62, 0.90), (0.78, 1.00),
    (0.90, 0.88), (0.97, 0.55), (1.00, 0.05), (0.98, -0.45), (0.90, -0.85), (0.76, -0.98),
    (0.60, -0.80), (0.45, -0.60), (0.25, -0.72), (0.12, -0.85), (0.03, -0.70),
)  # fmt: skip


def extent(plan: Plan, before: float = 0.0) -> tuple[float, float]:
    """From where to where a plan is drawn, with so much of the run-in before it [m]."""
    last = plan.contacts[-1].x + AFTER
    if plan.place.pit_x is not None and plan.ends == "sand":
        last = max(last, plan.place.pit_x + 1.0)
    return -BEFORE - before, last


def width(plan: Plan) -> float:
    """How wide the view from above is [m]."""
    inside = plan.place.pit_x is not None and plan.place.pit_x < extent(plan)[1]
    return max(plan.place.width, plan.place.pit_width if inside else 0.0)


def _box(x0: float, x1: float, y0: float, y1: float) -> tuple[Point, ...]:
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def ground_above(plan: Plan, before: float = 0.0) -> Iterator[tuple[str, Shape]]:
    """Runway, board, pit and edges as seen from above."""
    place, (low, high) = plan.place, extent(plan, before)
    half = place.width / 2.0
    # A run-in cut short on paper has no true place for the runway's own end.
    start = max(low, place.start_x) if before in (0.0, plan.approach.length) else low
    runway = min(high, place.end_x)
    yield "runway", Area(_box(start, runway, -half, half), "ground")
    for y in (-half, half):
        yield (
            f"edge-{'left' if y > 0 else 'right'}",
            Stroke(((start, y), (runway, y)), "line", 0.02),
        )
    if place.pit_x is not None and place.pit_x < high:
        far = min(high, place.pit_x + place.pit_length)
        wide = place.pit_width / 2.0
        yield "pit", Area(_box(place.pit_x, far, -wide, wide), "sand")
        for name, y in (("pit-left", wide), ("pit-right", -wide)):
            yield name, Stroke(((place.pit_x, y), (far, y)), "line", 0.02)
        yield "pit-edge", Stroke(((place.pit_x, -wide), (place.pit_x, wide)), "line", 0.03)
        if far < high:
            yield "pit-end", Stroke(((far, -wide), (far, wide)), "line", 0.02)
    if place.board is not None:
        yield "board", Area(_box(-BOARD, 0.0, -half, half), "paper", "line")
    yield "take-off-line", Stroke(((0.0, -half), (0.0, half)), "line", 0.04)


def sole(length: float, heel: Point, left: bool) -> tuple[Point, ...]:
    """Outline of a shoe pointing along x [m]."""
    side = 1.0 if left else -1.0
    x0, y0 = heel
    return tuple((x0 + s * length, y0 + side * w * length * SHOE / 2.0) for s, w in _SOLE)


def shoe(plan: Plan) -> float:
    """Length of the athlete's foot [m]."""
    return float(body(plan.who.stature, plan.who.mass, plan.who.build).lengths[10])


def prints(plan: Plan, contact: Contact) -> Iterator[tuple[str, Shape]]:
    """Shoe prints of one contact: a left one filled, a right one open."""
    long = shoe(plan)
    both = contact.foot == "both"
    for foot in ("left", "right") if both else (contact.foot,):
        left = foot == "left"
        y = (0.12 if left else -0.12) if both else contact.y
        heel = contact.x if contact.surface == "sand" else contact.x - long
        shape = sole(long, (heel, y), left)
        role = "left" if left else "right"
        yield f"print-{contact.number}-{foot}", Area(shape, role, role, filled=left)  # type: ignore[arg-type]


def hurdle_above(hurdle: Hurdle) -> Shape:
    """A hurdle or cone from above."""
    if hurdle.thing == "cone":
        y = (hurdle.y0 + hurdle.y1) / 2.0
        return Area(_box(hurdle.x - 0.07, hurdle.x + 0.07, y - 0.07, y + 0.07), "hurdle")
    return Stroke(((hurdle.x, hurdle.y0), (hurdle.x, hurdle.y1)), "hurdle", 0.05)


def hurdle_aside(hurdle: Hurdle) -> Iterator[Shape]:
    """A hurdle or cone from the side."""
    x, z = hurdle.x, hurdle.height
    if hurdle.thing == "cone":
        yield Area(((x - 0.07, 0.0), (x + 0.07, 0.0), (x, z)), "hurdle")
        return
    yield Stroke(((x, 0.0), (x, z)), "hurdle", 0.04)
    yield Stroke(((x - 0.12, 0.0), (x + 0.12, 0.0)), "hurdle", 0.04)


def path(flight: Flight, points: int = 25) -> tuple[Point, ...]:
    """The centre of mass in one flight [m]."""
    t = np.linspace(0.0, flight.time, points)
    x = flight.start_x + flight.vx * t
    z = flight.start_z + flight.vy * t - GRAVITY * t * t / 2.0
    return tuple(zip(x.tolist(), z.tolist(), strict=True))


def contact_path(before: Flight, after: Flight) -> tuple[Point, ...]:
    """From one flight's end to the next one's start: the dip between them is not planned."""
    return (before.end_x, before.end_z), (after.start_x, after.start_z)


def ground_aside(plan: Plan, before: float = 0.0) -> Iterator[tuple[str, Shape]]:
    """Runway and sand as seen from the side, their tops at height 0."""
    place, (low, high) = plan.place, extent(plan, before)
    runway = min(high, place.end_x)
    yield "ground-side", Area(_box(low, runway, -0.10, 0.0), "ground")
    yield "ground-line", Stroke(((low, 0.0), (runway, 0.0)), "line", 0.02)
    if place.pit_x is not None and place.pit_x < high:
        yield "sand-side", Area(_box(place.pit_x, high, -0.14, 0.0), "sand")
        yield "sand-line", Stroke(((place.pit_x, 0.0), (high, 0.0)), "line", 0.02)


def _pose(contact: Contact) -> str:
    if contact.number == 0:
        # At the push-off the arms would reach over the next figure.
        return "stand" if contact.arrive == "stand" else f"take-off into {contact.leave}"
    if contact.foot == "both":
        return "sand landing"
    if contact.surface == "sand":
        return "touchdown into sand"
    return f"touchdown after {contact.arrive}"


def figures(plan: Plan) -> tuple[tuple[Shape, ...], ...]:
    """The body at every contact, in key poses."""
    return tuple(figure(plan, contact) for contact in plan.contacts)


def figure(plan: Plan, contact: Contact) -> tuple[Shape, ...]:
    """The body in its key pose at one contact: start or take-off at the first, then touchdowns."""
    who: Body = body(plan.who.stature, plan.who.mass, plan.who.build)
    angles = key_poses()[_pose(contact)]
    side = "l" if contact.foot == "left" else "r"
    if side == "l":
        angles = mirrored(angles)
    at = joints(who, angles, np.zeros(2))
    names = {"r": (12, 11), "l": (16, 15)}
    toe, heel = (at[i] for i in names[side])
    held = heel if contact.surface == "sand" else toe
    low = min(float(toe[1]), float(heel[1]))
    placed = at + np.array([contact.x - float(held[0]), -low])
    return athlete(placed, near="r")
