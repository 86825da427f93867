"""The target figure and what was measured on a picture, beside each other at one scale."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from animate.body import figure
from animate.body.body import Array
from animate.body.outlines import Side
from animate.body.shapes import Area, Point, Role, Shape, Stroke
from layout.page.page import MARGIN, Ink, Line, Page, Text, View, paper_size
from layout.page.widths import text_width, wrapped
from layout.picture.measured import Held, Measured
from layout.picture.places import ROLES, from_hip, roles_of
from layout.sheet.texts import SMALL, columns
from layout.words.faults import refuse

SCALES: Final = (12, 15, 20, 25, 30, 40)
"""Scales tried, the largest first."""
BETWEEN: Final = 8.0
ROW: Final = 4.2
HEAD: Final = 18.0
PANEL: Final = 7.0
"""Height of a figure's title [mm]."""
AROUND: Final = 0.12
"""Room left and right of a figure [m]."""
UNDER: Final = 0.06
"""Room above the heads and under the ground [m]."""
CLEAR: Final = 0.12
"""Between the free foot and the knee gap's figure, which stands no lower than `LOWEST` [m]."""
LOWEST: Final = 0.1
_FREE_FOOT: Final = ("free ankle", "free heel", "free toe")
_LIMBS: Final = (
    *(
        (f"{{}} {a}", f"{{}} {b}")
        for a, b in (("toe", "heel"), ("heel", "ankle"), ("toe", "ankle"))
    ),
    *((f"{{}} {a}", f"{{}} {b}") for a, b in (("ankle", "knee"), ("wrist", "elbow"))),
    ("{} knee", "hip"),
    ("{} elbow", "shoulder"),
)
_TURNS: Final = tuple(math.tau * i / 24 for i in range(24))
_RIGHT: Final = (72.0, 119.0, 147.0)
"""Right ends of target, measured and difference in the table [mm]."""
_VERDICT: Final = 152.0
_CHART: Final = 190.0, 262.0
"""Where differences are drawn, from the left margin [mm]."""
_MARGINS: Final = 4.0
"""How many margins the chart reaches either way."""


def figures_of(held: Held) -> tuple[str, str, str, str]:
    """Target, measured with its margin, difference and verdict as a coach reads them."""
    m = held.measure
    return (
        m.shown(held.target),
        m.with_margin(held.measured, held.margin),
        m.shown(held.difference, signed=True),
        "beyond margin" if held.clear else "within margin",
    )


def _bone(one: Array, two: Array, far: bool, wide: float, role: Role = "near") -> list[Shape]:
    line = ((float(one[0]), float(one[1])), (float(two[0]), float(two[1])))
    out: list[Shape] = [Stroke(line, role, wide)]
    if far:
        out.append(Stroke(line, "paper", wide - 0.022))
    return out


def _disc(at: Array, radius: float, role: Role, edge: Role) -> Area:
    x, z = float(at[0]), float(at[1])
    ring = tuple((x + radius * math.cos(a), z + radius * math.sin(a)) for a in _TURNS)
    return Area(ring, role, edge)


def stick(places: Mapping[str, tuple[float, float]], near: str) -> tuple[Shape, ...]:
    """A stick figure of clicked points: near limbs filled, far limbs open, joints as rings.

    `places`: [m]; what is missing is not drawn. `near`: support or free.
    """
    at = {name: np.array(place) for name, place in places.items()}
    far = next(role for role in ROLES if role != near)
    out: list[Shape] = []
    for role in (far, near):
        for a, b in _LIMBS:
            one, two = a.format(role), b.format(role)
            # The sole and the back of the foot where the heel is given, else its top.
            extra = a == "{} toe" and b == "{} ankle" and f"{role} heel" in at
            if {one, two} <= at.keys() and not extra:
                out += _bone(at[one], at[two], role == far, 0.044)
        if role == far and "shoulder" in at:
            out += _bone(at["hip"], at["shoulder"], False, 0.06, "body")
            if "head" in at:
                neck = at["shoulder"] + 0.35 * (at["head"] - at["shoulder"])
                out += _bone(at["shoulder"], neck, False, 0.06, "body")
                middle = at["shoulder"] + 0.65 * (at["head"] - at["shoulder"])
                radius = 0.35 * float(np.hypot(*(at["head"] - at["shoulder"])))
                out.append(_disc(middle, radius, "body", "near"))
    for name, place in at.items():
        if name != "head":
            out.append(_disc(place, 0.016, "paper", "near"))
    return tuple(out)


def _gap(places: Mapping[str, Array], text: str) -> tuple[Shape, ...]:
    free, support = (
        (float(at[0]), float(at[1])) for at in (places["free knee"], places["support knee"])
    )
    height = min(free[1], support[1]) - 0.16
    # Where the free foot hangs as low as the figure would stand, it goes under the foot.
    foot = min((float(places[n][1]) for n in _FREE_FOOT if n in places), default=height + 1.0)
    if foot < height + CLEAR:
        height = max(min(height, foot - CLEAR), min(height, LOWEST))
    return figure.dimension(free, support, height, text, thick=0.01)


def _plumb(toe: Array | None, hip: float) -> list[Shape]:
    """A plumb line through the hip, from which the toe is ahead."""
    out: list[Shape] = [Stroke(((0.0, 0.0), (0.0, hip)), "quiet", 0.006, dash=(0.03, 0.03))]
    if toe is not None:
        x = float(toe[0])
        out.append(Stroke(((x, -0.03), (x, 0.03)), "line", 0.012))
    return out


def panel(view: View, wide: tuple[float, float], title: str, shapes: Sequence[Shape]) -> list[Ink]:
    """One figure on its ground, between two places along it [m], with its title under it."""
    ends = (view.point(wide[0], 0.0), view.point(wide[1], 0.0))
    name = title.split()[0].rstrip(",").lower()
    return [
        Line(ends, "line", None, 0.5, name=f"ground-{name}"),
        *(
            replace(i, halo=True) if isinstance(i, Text) else i
            for i in view.ink(shapes, f"figure-{name}")
        ),
        Text(((ends[0][0] + ends[1][0]) / 2.0, view.base + 5.4), title, bold=True, align="middle"),
    ]


def _table(held: Sequence[Held], left: float, top: float) -> list[Ink]:
    size = SMALL + 0.2
    heads = ("at the step touchdown", "target", "measured", "difference")
    out: list[Ink] = []
    rows = [(*heads, ""), *((h.measure.label, *figures_of(h)) for h in held)]
    for i, (label, *figures, verdict) in enumerate(rows):
        y = top + (i + 0.8) * ROW
        role: Role = "quiet" if i == 0 else "text"
        strong = i > 0 and held[i - 1].clear
        out.append(Text((left, y), label, size, role=role))
        for right, text in zip(_RIGHT, figures, strict=True):
            out.append(Text((left + right, y), text, size, role, "right", strong))
        out.append(Text((left + _VERDICT, y), verdict, size, role=role, bold=strong))
    y = top + 1.12 * ROW
    out.append(Line(((left, y), (left + _CHART[1] + 5.0, y)), "quiet", None, 0.2))
    return out + _chart(held, left, top)


def _chart(held: Sequence[Held], left: float, top: float) -> list[Ink]:
    """Differences as dots, in margins; the grey band is what the margin leaves open."""
    middle = left + sum(_CHART) / 2.0
    one = (_CHART[1] - _CHART[0]) / 2.0 / _MARGINS
    first, last = top + 1.2 * ROW, top + (len(held) + 1.1) * ROW
    band = tuple((middle + s * one, y) for s, y in ((-1, first), (1, first), (1, last), (-1, last)))
    out: list[Ink] = [
        Line(band, None, "ground", closed=True, name="margin"),
        Line(((middle, first), (middle, last)), "line", None, 0.2),
        Text((middle - 1.4 * one, top + 0.8 * ROW), "less", SMALL, role="quiet", align="right"),
        Text((middle, top + 0.8 * ROW), "± margin", SMALL, role="quiet", align="middle"),
        Text((middle + 1.4 * one, top + 0.8 * ROW), "more", SMALL, role="quiet"),
    ]
    for i, h in enumerate(held):
        share = h.difference / h.margin if h.margin else math.copysign(_MARGINS, h.difference)
        x, y = middle + one * max(-_MARGINS, min(_MARGINS, share)), top + (i + 1.55) * ROW
        out.append(Line(((middle, y), (x, y)), "measure", None, 0.5))
        if abs(share) > _MARGINS:
            way = math.copysign(1.0, share)
            head: tuple[Point, ...] = ((x + 2.2 * way, y), (x, y - 1.1), (x, y + 1.1))
        else:
            head = tuple((x + math.cos(a), y + math.sin(a)) for a in _TURNS)
        out.append(Line(head, "measure", "measure" if h.clear else "paper", 0.35, True))
    return out


def page_of(
    positions: Array,
    support: Side,
    measured: Measured,
    held: Sequence[Held],
    title: str,
    notes: Sequence[tuple[str, bool]],
) -> Page:
    """Target figure and measured stick figure side by side on a page across, knee gaps dimensioned.

    `positions`: (17, 2) target figure at the touchdown [m]. `support`: r or l: its leg that is
    down. `notes`: what is said under the table; True for a warning.

    The largest of `SCALES` that fits is taken; where none does it is refused.
    """
    paper = paper_size("A4", False)
    target = from_hip(positions)
    every = np.vstack([target, np.array(list(measured.places.values()))])
    span = float(every[:, 0].min()) - 2 * AROUND, float(every[:, 0].max()) + AROUND
    high = float(every[:, 1].max()) + UNDER
    low = min(float(every[:, 1].min()), 0.0) - UNDER
    width = paper[0] - 2 * MARGIN
    _, deep = columns(notes, 0.0, 0.0, width, 2)
    table = (len(held) + 1) * ROW + 3.0
    texts = HEAD + PANEL + table + deep + 3.0
    for scale in SCALES:
        across = 1000.0 * (span[1] - span[0]) / scale
        free = paper[1] - 2 * MARGIN - texts - 1000.0 * (high - low) / scale
        if 2 * across + BETWEEN <= width and free >= 0.0:
            break
    else:
        rule = f"two figures {high - low:.1f} m high at 1:{SCALES[-1]} do not fit the page"
        raise refuse("picture", f"{rule}; are points clicked amiss?")
    base = MARGIN + HEAD + 1000.0 * high / scale + 0.3 * free
    spare = (width - 2 * across - BETWEEN) / 4.0
    left = MARGIN + spare - 1000.0 * span[0] / scale
    views = (View(scale, left, base), View(scale, left + across + 2 * spare + BETWEEN, base))
    named = f"Measured, {measured.frame}" if measured.frame else "Measured"
    said = figures_of({h.measure.name: h for h in held}["knee_gap"])
    out = _head(title, measured, views[0], width)
    out += panel(views[0], span, "Target figure", aimed(target, support, measured, said[0]))
    out += panel(views[1], span, named, seen(measured, said[1]))
    top = base + 1000.0 * -low / scale + PANEL + 0.2 * free
    out += _table(held, MARGIN, top)
    ink, _ = columns(notes, MARGIN, top + table + 0.2 * free, width, 2)
    return Page(paper[0], paper[1], scale, title, (*out, *ink))


def aimed(target: Array, support: Side, measured: Measured, gap: str) -> list[Shape]:
    """The target figure, turned as the athlete is, with the plumb line and the knee gap."""
    at = roles_of(target, support)
    return [
        *_plumb(at["support toe"], float(at["hip"][1])),
        *turned(target, support, measured),
        *_gap(at, gap),
    ]


def turned(target: Array, support: Side, measured: Measured) -> tuple[Shape, ...]:
    """The target figure alone, with the leg towards the camera that the athlete has there."""
    other: Side = "l" if support == "r" else "r"
    return figure.athlete(target, support if measured.near == "support" else other)


def seen(measured: Measured, gap: str) -> list[Shape]:
    """The clicked points as a stick figure, with the plumb line and the knee gap."""
    at = {name: np.array(place) for name, place in measured.places.items()}
    return [
        *_plumb(at.get("support toe"), float(at["hip"][1])),
        *stick(measured.places, measured.near),
        *_gap(at, gap),
    ]


def _head(title: str, m: Measured, view: View, width: float) -> list[Ink]:
    size = next((s for s in (6.0, 5.0, 4.2) if text_width(title, s, True) <= width - 30.0), 3.6)
    first = wrapped(title, size, width - 30.0, True)[0]
    turned = "; shown mirrored, running right" if m.runs == "left" else ""
    facts = f"{camera_text(m)}{turned}."
    dark = f"Dark limbs: {'the side towards the camera' if m.side else 'those of the leg that is down'}"
    bar, right = view.mm(0.5), MARGIN + width
    return [
        Text((MARGIN, MARGIN + 5.2), first, size, bold=True),
        Line(((right - bar, MARGIN + 10.6), (right, MARGIN + 10.6)), "line", None, 1.2, name="bar"),
        Text((right - bar - 2.0, MARGIN + 11.6), "50 cm", SMALL, align="right"),
        Text((right, MARGIN + 5.2), f"1:{view.scale}", 6.0, bold=True, align="right"),
        Text((MARGIN, MARGIN + 10.6), facts, SMALL + 0.2),
        Text(
            (MARGIN, MARGIN + 15.0), f"Both at the same scale. {dark}.", SMALL + 0.2, role="quiet"
        ),
    ]


def camera_text(m: Measured) -> str:
    """Scale and tilt of a picture in a few words."""
    tilt = abs(math.degrees(m.tilt))
    level = "camera level" if tilt < 0.05 else f"camera tilted {tilt:.1f}°, taken out"
    return (
        f"{m.scale:.0f} pixels to the metre ± {100 * m.scale_margin:.1f} %; {level} "
        f"(± {math.degrees(m.tilt_margin):.1f}°); running {m.runs}"
    )
