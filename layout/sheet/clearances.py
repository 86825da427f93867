"""Hurdles on the side view: what passes over them, and how closely where that was checked."""

from __future__ import annotations

from math import floor
from typing import Any, Final

from animate.body.shapes import Role
from layout.page.page import Ink, Line, View
from layout.page.widths import text_width
from layout.plan.hurdles import signed_cm
from layout.plan.value import Plan
from layout.sheet import runway
from layout.sheet.texts import ROW, SMALL, in_rows, text_at
from layout.words.feet import as_read
from layout.words.units import System

OVER: Final = (
    "Over a hurdle: underside of all the body passes through; + is what it clears by (model)."
)
BEHIND: Final = 1.4
"""From a hurdle to its texts [mm]."""
CAP: Final = 0.73
"""Height of a capital letter or figure, in ems."""


def checked(plan: Plan) -> bool:
    """Whether hurdles of this plan were checked against the moving body."""
    return any(h.clearing is not None for h in plan.hurdles)


def _room(metres: float, system: System) -> str:
    """A clearance with its sign, never told larger than it is."""
    if system == "cm":
        return signed_cm(metres)
    sign = "+" if metres >= 0 else "\N{MINUS SIGN}"
    return f"{sign}{abs(floor(metres / 0.0254 + 1e-6))} in"


def _tall(metres: float, system: System) -> str:
    """The height of a hurdle."""
    return as_read(f"{100 * metres:.0f} cm", system)


def hurdles(plan: Plan, view: View, system: System) -> list[Ink]:
    """Hurdles from the side; where they were checked, what passes over them and how closely."""
    out: list[Ink] = []
    texts: list[Ink] = []
    rows = iter(in_rows(_gap_labels(plan, view, system), SMALL))
    # Where there is no room beside the last one, the same height is not written again.
    steps = [row for _, row in in_rows(_height_labels(plan, view, system), SMALL)]
    same = len({hurdle.height for hurdle in plan.hurdles}) == 1
    for i, (hurdle, step) in enumerate(zip(plan.hurdles, steps, strict=True)):
        x, y = view.point(hurdle.x, hurdle.height)
        tall, found = _tall(hurdle.height, system), hurdle.clearing
        more: dict[str, Any] = {"role": "hurdle", "halo": True}
        if found is None:
            out += view.ink(runway.hurdle_aside(hurdle), f"hurdle-side-{i}")
            if not (step and same):
                up = y - 1.0 - step * ROW
                texts.append(text_at((x, up), tall, SMALL, align="middle", **more))
            continue
        under = tuple(view.point(*at) for at in found.under)
        out.append(Line(under, "measure", None, 0.25, dash=(1.2, 0.5), name=f"under-{i}"))
        out += view.ink(runway.hurdle_aside(hurdle), f"hurdle-side-{i}")
        role: Role = "measure" if found.gap >= 0 else "warn"
        z = view.point(hurdle.x, found.z)[1]
        out.append(Line(((x, y), (x, z)), role, None, 0.35, name=f"clearance-{i}"))
        for tip in (y, z):
            out.append(Line(((x - 1.0, tip), (x + 1.0, tip)), role, None, 0.35))
        # Both texts before the hurdle: behind it hangs the free leg of the next touchdown.
        base = view.base - 0.4 - (0 if same else step) * ROW
        if not (step and same):
            texts.append(text_at((x - BEHIND, base), tall, SMALL, align="right", **more))
        at, row = next(rows)
        wide = text_width(_room(found.gap, system), SMALL, True)
        here = [b for a, b in under if at - wide / 2 - 1.0 <= a <= at + wide / 2 + 1.0]
        over = min(y, z, base - CAP * SMALL + 0.2, *here) - 1.0 - row * ROW
        more = {"role": role, "halo": True, "bold": True}
        texts.append(text_at((at, over), _room(found.gap, system), SMALL, align="middle", **more))
    return out + texts


def _height_labels(plan: Plan, view: View, system: System) -> list[tuple[float, str]]:
    """Heights of the hurdles: middle on paper, text."""
    out = []
    for hurdle in plan.hurdles:
        text, x = _tall(hurdle.height, system), view.point(hurdle.x, 0.0)[0]
        aside = 0.0 if hurdle.clearing is None else BEHIND + text_width(text, SMALL) / 2.0
        out.append((x - aside, text))
    return out


def _gap_labels(plan: Plan, view: View, system: System) -> list[tuple[float, str]]:
    """Clearances of the hurdles that were checked: middle on paper, text."""
    out = []
    for hurdle in plan.hurdles:
        if hurdle.clearing is not None:
            text = _room(hurdle.clearing.gap, system)
            x = view.point(hurdle.x, 0.0)[0] - BEHIND - text_width(text, SMALL, True) / 2.0
            out.append((x, text))
    return out
