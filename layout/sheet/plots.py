"""Plots for those who would rather look than read: lengths, speed and height, lever."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from animate.body.shapes import Role
from animate.body.swing_table import lever_curves
from animate.film.themes import theme
from animate.motion.motion import Motion
from layout.page.chart import (
    DASH,
    DOTS,
    EDGE,
    THIN,
    WIDE,
    Chart,
    boxed,
    chart_page,
    headed,
    say,
    ticks,
)
from layout.page.files import page_file
from layout.page.letters import fonts_for, fonts_of, missing_line
from layout.page.page import Page
from layout.plan.value import Plan
from layout.sheet.runway import path
from layout.words.feet import FOOT
from layout.words.trade import MOVES
from layout.words.units import System, show_length

STEP_LINE: Final = 0.30
"""Share of the total that a step is often compared with [-] (common practice, no source)."""
POINTS: Final = 400  # Instants a curve is drawn through (ours)
LEFT: Final = 16.0  # From the edge of a plot to its axis [mm]


def plot_file(page: Page, kind: str, grey: bool) -> bytes:
    """A plot as SVG, PNG or PDF with its letters inside; the same each time."""
    look = theme("print-grey" if grey else "light")
    return page_file(page, kind, look, fonts_of([page]), 150.0)


def named(plan: Plan) -> str:
    """Whose plot it is, and of what drill."""
    return f"{plan.who.name}: {plan.title}"


def lost_letters(name: str) -> list[str]:
    """What to say of letters of a name that no font has for a plot; nothing where all are there."""
    lost = missing_line(fonts_for([(name, False)]), "plots")
    return [f"  ! {lost}"] if lost else []


def jumped(plan: Plan) -> tuple[float, ...]:
    """Lengths of the best jump, phase by phase [m]; empty where they are not known."""
    if not plan.gaps:
        return ()
    return tuple(f.length - gap for f, gap in zip(plan.flights, plan.gaps, strict=True))


def padded(values: Array, share: float) -> tuple[float, float]:
    """Lowest and highest of the finite values, with a share of their range on either side."""
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    room = share * (high - low) or 0.1
    return low - room, high + room


def split_page(plan: Plan, system: System = "cm") -> Page:
    """Each phase's share of the total as bars, target beside jumped, with the step's 30 % line."""
    best, target = jumped(plan), tuple(f.length for f in plan.flights)
    moves = tuple(f.phase for f in plan.flights)
    sets = [("plan (a forecast)" if plan.forecast else "target", target)]
    sets += [("best jump", best)] if best else []
    shares = [100.0 * np.array(lengths) / sum(lengths) for _, lengths in sets]
    stepped = moves == MOVES and plan.ends == "sand"
    text = "Lengths, phase by phase, and their shares: computed by Phasemark but for a best"
    ink, top = headed((named(plan), text))
    chart = Chart(
        LEFT, top + 7.0, WIDE - EDGE, top + 72.0,
        (-0.6, len(moves) + (0.1 if stepped else -0.4)), (0.0, 1.1 * max(s.max() for s in shares)),
    )  # fmt: skip
    ink += chart.frame("share of the total [%]", list(enumerate(moves)))
    if stepped:
        ink += chart.level(100.0 * STEP_LINE, "measure")
        x, y = chart.at(len(moves) - 0.5, 100.0 * STEP_LINE)
        for i, line in enumerate(("no source)", "(common practice,", "a step of 30 %")):
            ink.append(say((x, y - 1.2 - 4.2 * i), line, "measure"))
    wide = 0.8 / len(sets)
    told: list[tuple[str, Role, bool]] = []
    for i, (name, lengths) in enumerate(sets):
        role: Role = "far" if i else "near"
        told.append((f"{name}, {show_length(sum(lengths), system)}", role, bool(i)))
        for k, length in enumerate(lengths):
            x, share = k + (i - (len(sets) - 1) / 2.0) * wide, float(shares[i][k])
            ink += chart.bar(x, wide * 0.92, share, role, bool(i), f"bar-{i}-{k}")
            foot = chart.at(x, 0.0)
            ink += boxed((foot[0], foot[1] - 2.4), (show_length(length, system), f"{share:.1f} %"))
    return chart_page(named(plan), chart.low + 8.0, [*ink, *chart.legend(told)])


def along(plan: Plan, motion: Motion | None = None) -> tuple[Array, Array, Array]:
    """Along the run of the body's centre: x [m], speed forward [m/s] and height [m].

    Without a motion flights are parabolas and contacts straight lines.
    """
    if motion is not None:
        # As far as the last touchdown: what follows in the sand is not the jump.
        times = np.linspace(0.0, float(motion.touchdowns[-1]), POINTS)
        frames = motion.frames(times)
        return frames.com[:, 0], frames.com_velocity[:, 0], frames.com[:, 1]
    x, height = np.concatenate([path(f, 40) for f in plan.flights]).T
    return x, np.repeat([f.vx for f in plan.flights], 40), height


def run_page(plan: Plan, motion: Motion | None = None, system: System = "cm") -> Page:
    """Speed over height along the run, the contacts named between them."""
    unit, one = ("ft", FOOT) if system == "ft" else ("m", 1.0)
    x, speed, height = (values / one for values in along(plan, motion))
    toes = [c.x / one for c in plan.contacts]
    whose = (
        "of the solved motion" if motion is not None else "of the plan, contacts as straight lines"
    )
    text = f"Speed and height of the body's centre, {whose}: computed by Phasemark, not measured"
    ink, top = headed((named(plan), text))
    span = padded(np.array([x.min(), x.max(), *toes]), 0.03)
    upper = Chart(LEFT, top + 8.0, WIDE - EDGE, top + 46.0, span, padded(speed, 0.1))
    lower = Chart(LEFT, top + 60.0, WIDE - EDGE, top + 102.0, span, padded(height, 0.2))
    under = f"along the runway from the first contact [{unit}]; dotted: toe marks"
    at = ticks(*span, 10)
    ink += upper.frame(f"speed forward [{unit}/s]", [(value, "") for value, _ in at])
    ink += lower.frame(f"height [{unit}]", at, under)
    for chart in (upper, lower):
        for toe in toes:
            ink += chart.curve((toe, toe), chart.y, "quiet", 0.28, DOTS)
    ink += [*upper.curve(x, speed, "near"), *lower.curve(x, height, "measure")]
    for contact, pair in zip(plan.contacts, pairwise(toes), strict=False):
        middle, _ = upper.at(sum(pair) / 2.0, 0.0)
        ink.append(say((middle, upper.low + 4.6), contact.leave, "quiet", "middle"))
    for flight in plan.flights:
        inside = np.flatnonzero((x * one >= flight.start_x) & (x * one <= flight.end_x))
        # The curve's own highest point: a solved body leaves the ground a little higher or lower.
        peak = inside[int(np.argmax(height[inside]))]
        a, b = lower.at(x[peak], height[peak])
        said = show_length(float(height[peak]) * one, system).removesuffix(" m")
        ink.append(say((a, b - 1.4), said, align="middle"))
    return chart_page(named(plan), lower.low + 13.0, ink)


def lever_page(who: Body, name: str = "", system: System = "cm") -> Page:
    """The trade as two curves over knee bend: time to swing up, and knee gap at the same time."""
    unit, one = ("in", FOOT / 12.0) if system == "ft" else ("cm", 0.01)
    bends = np.radians(np.arange(35.0, 151.0))
    curves, x = lever_curves(who, bends), 180.0 - np.degrees(bends)
    text = "The free leg as a lever: computed by Phasemark; whether a longer one pays is an open question"
    ink, top = headed((name, text))
    middle = WIDE / 2.0
    for left, right, title, solid, other, share, aside, at, align in (
        (LEFT, middle - EDGE, "Slower: swing from touchdown to level [s]",
         curves["time"], curves["time_flat"], "left", "without gravity", 30, "right"),
        (middle + LEFT, WIDE - EDGE, f"Further behind: knee gap at the same time [{unit}]",
         curves["gap_same_time"] / one, curves["gap_same_angle"] / one, "right",
         "at the same thigh angles", -1, "left"),
    ):  # fmt: skip
        both = padded(np.concatenate([solid, other]), 0.06)
        chart = Chart(left, top + 8.0, right, top + 72.0, padded(x, 0.04), both)
        under = "free knee [°], 180 straight"
        ink += chart.frame(title, ticks(*chart.x, 7), under)
        ink += chart.curve(x, solid, share)  # type: ignore[arg-type]
        ink += chart.curve(x, other, "quiet", THIN, DASH)
        a, b = chart.at(x[at], other[at])
        ink.append(say((a - 1.5 * (at > 0), b - 1.2), aside, "quiet", align))
    return chart_page(name or text, top + 85.0, ink)
