"""A plan's things as shapes in metres, from above and from the side; the run-in whole, broken or left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from animate.body.body import Array, body
from animate.body.figure import athlete
from animate.body.pose import joints, mirrored
from animate.body.shapes import Area, Role, Shape, Stroke
from animate.body.stances import GRAVITY, key_poses
from layout.page.page import Ink, Line, Text, View, corners
from layout.plan.hurdles import SHOE
from layout.plan.value import Contact, Flight, Hurdle, Plan
from layout.sheet.texts import SMALL

BEFORE: Final = 1.2
AFTER: Final = 1.0  # Runway drawn before the first contact and after the last [m]
HEADROOM: Final = 2.35  # Height kept for the side view over the runway [m]
BOARD: Final = 0.20  # Take-off board along the runway [m] (World Athletics Technical Rules)
FEET: Final[tuple[tuple[str, Role, tuple[str, str], float], ...]] = (
    ("L", "left", ("left", "both"), 1.0),
    ("R", "right", ("right", "both"), -1.0),
)
"""Letter, colour, the contacts' feet it is one of, and its side of the line."""
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


def ground_above(plan: Plan, before: float = 0.0) -> Iterator[tuple[str, Shape]]:
    """Runway, board, pit and edges as seen from above."""
    place, (low, high) = plan.place, extent(plan, before)
    half = place.width / 2.0
    # A run-in cut short on paper has no true place for the runway's own end.
    start = max(low, place.start_x) if before in (0.0, plan.approach.length) else low
    runway = min(high, place.end_x)
    yield "runway", Area(corners(start, runway, -half, half), "ground")
    for name, y in (("edge-right", -half), ("edge-left", half)):
        yield name, Stroke(((start, y), (runway, y)), "line", 0.02)
    if place.pit_x is not None and place.pit_x < high:
        far = min(high, place.pit_x + place.pit_length)
        wide = place.pit_width / 2.0
        yield "pit", Area(corners(place.pit_x, far, -wide, wide), "sand")
        for name, y in (("pit-left", wide), ("pit-right", -wide)):
            yield name, Stroke(((place.pit_x, y), (far, y)), "line", 0.02)
        yield "pit-edge", Stroke(((place.pit_x, -wide), (place.pit_x, wide)), "line", 0.03)
        if far < high:
            yield "pit-end", Stroke(((far, -wide), (far, wide)), "line", 0.02)
    if place.board is not None:
        yield "board", Area(corners(-BOARD, 0.0, -half, half), "paper", "line")
    yield "take-off-line", Stroke(((0.0, -half), (0.0, half)), "line", 0.04)


def shoe(plan: Plan) -> float:
    """Length of the athlete's foot [m]."""
    return float(body(plan.who.stature, plan.who.mass, plan.who.build).lengths[10])


def prints(contact: Contact, long: float) -> Iterator[tuple[str, Shape]]:
    """Shoe prints so long [m] of one contact: a left one filled, a right one open."""
    heel = contact.x if contact.surface == "sand" else contact.x - long
    for _, role, feet, way in FEET:
        if contact.foot in feet:
            y0 = way * 0.12 if contact.foot == "both" else contact.y
            sole = tuple((heel + s * long, y0 + way * w * long * SHOE / 2.0) for s, w in _SOLE)
            yield f"print-{contact.number}-{role}", Area(sole, role, role, filled=role == "left")


def hurdle_above(hurdle: Hurdle) -> Shape:
    """A hurdle or cone from above."""
    if hurdle.thing == "cone":
        y = (hurdle.y0 + hurdle.y1) / 2.0
        return Area(corners(hurdle.x - 0.07, hurdle.x + 0.07, y - 0.07, y + 0.07), "hurdle")
    return Stroke(((hurdle.x, hurdle.y0), (hurdle.x, hurdle.y1)), "hurdle", 0.05)


def hurdle_aside(hurdle: Hurdle) -> Iterator[Shape]:
    """A hurdle or cone from the side."""
    x, z = hurdle.x, hurdle.height
    if hurdle.thing == "cone":
        yield Area(((x - 0.07, 0.0), (x + 0.07, 0.0), (x, z)), "hurdle")
        return
    yield Stroke(((x, 0.0), (x, z)), "hurdle", 0.04)
    yield Stroke(((x - 0.12, 0.0), (x + 0.12, 0.0)), "hurdle", 0.04)


def path(flight: Flight, points: int = 25) -> Array:
    """The centre of mass in one flight [m], (points, 2)."""
    t = np.linspace(0.0, flight.time, points)
    z = flight.start_z + flight.vy * t - GRAVITY * t * t / 2.0
    return np.stack([flight.start_x + flight.vx * t, z], axis=1)


def ground_aside(plan: Plan, before: float = 0.0) -> Iterator[tuple[str, Shape]]:
    """Runway and sand as seen from the side, their tops at height 0."""
    place, (low, high) = plan.place, extent(plan, before)
    runway = min(high, place.end_x)
    yield "ground-side", Area(corners(low, runway, -0.10, 0.0), "ground")
    yield "ground-line", Stroke(((low, 0.0), (runway, 0.0)), "line", 0.02)
    if place.pit_x is not None and place.pit_x < high:
        yield "sand-side", Area(corners(place.pit_x, high, -0.14, 0.0), "sand")
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
    """The body at every contact in its key pose: start or take-off first, then touchdowns."""
    who, out = body(plan.who.stature, plan.who.mass, plan.who.build), []
    for contact in plan.contacts:
        angles, left = key_poses()[_pose(contact)], contact.foot == "left"
        at = joints(who, mirrored(angles) if left else angles, np.zeros(2))
        toe, heel = (at[i] for i in ((16, 15) if left else (12, 11)))
        held = heel if contact.surface == "sand" else toe
        low = min(float(toe[1]), float(heel[1]))
        out.append(athlete(at + np.array([contact.x - float(held[0]), -low]), near="r"))
    return tuple(out)


Way = Literal["whole", "broken", "none"]
WAYS: Final[tuple[Way, ...]] = ("whole", "broken", "none")
"""How a run-in may be drawn, the best first."""
BROKEN: Final = 24.0  # Runway drawn before the rest where the run-in is cut short [mm]
OVER: Final = 0.8  # How far its slanting lines reach past what they cut [mm]
CUT: Final = (
    "The run-in is cut short between the two slanting lines; the start mark's reading is true."
)


@dataclass(frozen=True)
class RunIn:
    """How much of the approach is drawn."""

    before: float = 0.0  # Runway drawn before what is always drawn [m]; 0 without a run-in
    start: float = 0.0  # Where the start mark is drawn [m]
    broken: bool = False  # Whether the runway is cut short between it and the rest


def run_in_of(plan: Plan, scale: int, way: Way) -> RunIn:
    """The run-in as drawn: whole, broken, or not at all."""
    if way == "none" or not plan.approach.strides:
        return RunIn()
    whole = plan.approach.length
    short = BROKEN * scale / 1000.0
    if way == "whole" or whole <= short:
        return RunIn(whole, -whole)
    return RunIn(short, -short, True)


def break_lines(view: View, run: RunIn, top: float, bottom: float) -> list[Ink]:
    """Two slanting lines across the run-in where it is cut short, and nothing between them."""
    if not run.broken:
        return []
    x, over = view.point(run.start, 0.0)[0] + 0.55 * BROKEN, OVER
    one = (x - 1.0, bottom + over), (x + 1.0, top - over)
    two = (x + 3.0, top - over), (x + 1.0, bottom + over)
    gap = Line((*one, *two), None, "paper", closed=True)
    return [gap, *(Line(side, "line", None, 0.25, name="break") for side in (one, two))]


def flags(x: float, high: float, low: float) -> list[Ink]:
    """Two tips that point at a place from both sides of the runway."""
    tips = (((x, y), (x - 1.1, y + d), (x + 1.1, y + d)) for y, d in ((high, -2.0), (low, 2.0)))
    return [Line(tip, None, "mark", closed=True) for tip in tips]


def marks_of(plan: Plan, view: View, run: RunIn) -> list[Ink]:
    """Start mark and check marks of the approach, each with its name on the runway."""
    half, out = plan.place.width / 2.0, list[Ink]()
    for to_go, back in plan.approach.marks:
        start = to_go == plan.approach.strides
        if run.broken and not start:
            continue
        x, high = view.point(run.start if start else -back, half)
        low = view.point(0.0, -half)[1]
        name = "start" if start else f"check-{to_go}"
        out.append(Line(((x, high), (x, low)), "mark", None, 0.22, dash=(0.9, 0.7), name=name))
        said = "start" if start else f"{to_go} to go"
        at = (x + 1.0, (high + low) / 2.0 + 1.0)
        out += [*flags(x, high, low), Text(at, said, SMALL, role="mark", halo=True)]
    return out
