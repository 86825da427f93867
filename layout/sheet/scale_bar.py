"""The bar to check with a ruler, in the card's own units, and what a drawing says about itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from animate.body.shapes import Role
from layout.page.page import Ink, Line, View
from layout.page.widths import wrapped
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet.clearances import OVER, checked
from layout.sheet.run_in import CUT, RunIn
from layout.sheet.texts import SMALL, text_at
from layout.words.feet import FOOT
from layout.words.units import System

BAR: Final = 3.6
"""From the top of the bar to what is under it, less the legend [mm]."""
LEGEND: Final = 4.0
"""A line of what is under it [mm]."""
NARROW: Final = 122.0
"""Width of the legend under a drawing that is not wider itself [mm] (ours)."""
METRES: Final = {50: (2, 1), 100: (5, 1), 200: (10, 1)}
FEET: Final = {50: (5, 1), 100: (3, 5), 200: (3, 10)}
"""How many parts the scale bar has at a scale, and how long each is [m], [ft] (ours)."""
SKETCH: Final = "The figures are a sketch: no motion was worked out for them."


def scale_bar(
    view: View, at: tuple[float, float], system: System, lines: Sequence[str]
) -> list[Ink]:
    """A bar to hold a ruler against, in the tape's own units, and what the drawing shows."""
    x, y = at
    feet = system == "ft"
    many, each = (FEET if feet else METRES)[view.scale]
    one = view.mm(each * (FOOT if feet else 1.0))
    wide = many * one
    out: list[Ink] = []
    for i in range(many):
        fill: Role = "line" if i % 2 == 0 else "paper"
        a, b = x + i * one, x + (i + 1) * one
        box = ((a, y), (b, y), (b, y + 1.8), (a, y + 1.8))
        out.append(Line(box, "line", fill, 0.18, True, name=f"bar-{i}"))
    for i in (0, 1, many):
        out.append(text_at((x + i * one, y - 0.9), str(i * each), SMALL, align="middle"))
    unit, long = ("feet", f"{wide / 25.4:.1f} in") if feet else ("metres", f"{wide:.0f} mm")
    rule = f"{unit}, 1:{view.scale} when printed at 100 %: this bar is {long} long"
    out.append(text_at((x + wide + 4.0, y + 1.8), rule, SMALL, role="quiet"))
    for i, text in enumerate(lines):
        out.append(text_at((x, y + 6.4 + LEGEND * i), text, SMALL))
    return out


def legend(plan: Plan, card: TapeCard, run: RunIn, sketch: bool) -> list[str]:
    """What the drawing shows, a line each."""
    out = [
        f"Under the runway: tape readings from the {card.zero_text}.",
        "Dashed: path of the body's centre, with its highest point. Filled shoe: left; open shoe: right.",
    ]
    if checked(plan):
        out.append(OVER)
    if run.broken:
        out.append(CUT)
    if sketch:
        out.append(SKETCH)
    return out


def folded(said: Sequence[str], width: float) -> list[str]:
    """The legend of a drawing so wide as lines under the bar [mm]."""
    return wrapped(" ".join(said), SMALL, max(width, NARROW))


def bar_high(lines: Sequence[str]) -> float:
    """Height of the scale bar and its legend [mm]."""
    return BAR + LEGEND * len(lines)
