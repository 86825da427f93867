"""The run-in before the first contact: drawn to scale, over a break, or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from layout.page.page import Ink, Line, View
from layout.plan.value import Plan
from layout.sheet.texts import SMALL, text_at

Way = Literal["whole", "broken", "none"]
WAYS: Final[tuple[Way, ...]] = ("whole", "broken", "none")
"""How a run-in may be drawn, the best first."""
BROKEN: Final = 24.0
"""Runway drawn before the rest where the run-in is cut short [mm]."""
OVER: Final = 0.8
"""How far its slanting lines reach past what they cut [mm]."""
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
    return [
        Line(
            ((x, tip), (x - 1.1, tip + way * 2.0), (x + 1.1, tip + way * 2.0)),
            None,
            "mark",
            closed=True,
        )
        for tip, way in ((high, -1.0), (low, 1.0))
    ]


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
        out += [*flags(x, high, low), text_at(at, said, SMALL, role="mark", halo=True)]
    return out
