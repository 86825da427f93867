"""The true-scale drawing as one band: side view over plan view, tape readings, scale bar."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import cos, sin, tau
from typing import Final

from animate.shapes import Stroke
from layout.plan.tape import TapeCard
from layout.plan.units import System, show_length
from layout.plan.value import Plan
from layout.sheet import runway
from layout.sheet.clearances import OVER, checked, hurdles
from layout.sheet.page import BODY, MARGIN, Ink, Line, View, extent, moved
from layout.sheet.texts import ROW, SMALL, in_rows, row_count, text_at
from layout.sheet.thin import thinned

CHAIN: Final = 12.0
"""Height between side view and plan view: moves and their lengths [mm]."""
PAIR: Final = 7.8
"""A second row of them [mm]."""
BAR: Final = 11.6
"""Height of the scale bar [mm]."""
LEGEND: Final = 4.0
"""One more line of what is under it [mm]."""
ABOVE: Final = 5.0
FINE: Final = 0.1
"""How far a figure's outline may be from its full one [mm]."""
OVER_BAR: Final = 4.6
"""From the readings to the scale bar under them [mm]."""


def _dot(at: tuple[float, float], radius: float, name: str) -> Line:
    x, y = at
    turns = [tau * i / 12 for i in range(12)]
    points = tuple((x + radius * cos(a), y + radius * sin(a)) for a in turns)
    return Line(points, None, "measure", closed=True, name=name)


def _side(plan: Plan, view: View, system: System) -> list[Ink]:
    out: list[Ink] = []
    for name, shape in runway.ground_aside(plan):
        out += view.ink([shape], name)
    for contact in plan.contacts:
        drawn = view.ink(runway.figure(plan, contact), f"figure-{contact.number}")
        out += thinned(drawn, FINE)
    labels = _apex_labels(plan, view, system)
    for flight, (_, tall), (at, row) in zip(
        plan.flights, labels, in_rows(labels, SMALL), strict=True
    ):
        dash = (0.12, 0.08)
        path = Stroke(runway.path(flight), "arc", 0.02, dash=dash)
        out += view.ink([path], f"arc-{flight.number}")
        x, y = view.point(flight.apex_x, flight.apex_z)
        top = view.point(0.0, runway.HEADROOM)[1] - row * ROW
        out.append(Line(((x, y), (x, top + 1.2)), "measure", None, 0.15, dash=(0.5, 0.7)))
        out.append(_dot((x, y), 0.6, f"apex-{flight.number}"))
        out.append(
            text_at((at, top), tall, SMALL, role="measure", align="middle", bold=True, halo=True)
        )
    for before, after in pairwise(plan.flights):
        out += view.ink(
            [Stroke(runway.contact_path(before, after), "arc", 0.015, dash=(0.02, 0.06))]
        )
    return out + hurdles(plan, view)


def _chain(plan: Plan, view: View, bottom: float, system: System) -> list[Ink]:
    """Moves and lengths, toe mark to toe mark, over a line at `bottom`."""
    out: list[Ink] = []
    y = bottom - 2.2
    labels = _length_labels(plan, view, system)
    for flight, (_, length), (at, row) in zip(
        plan.flights, labels, in_rows(labels, BODY), strict=True
    ):
        x0 = view.point(plan.contacts[flight.number].x, 0.0)[0]
        x1 = view.point(plan.contacts[flight.number + 1].x, 0.0)[0]
        name = f"length-{flight.number}"
        out.append(Line(((x0, y), (x1, y)), "measure", None, 0.25, name=name))
        for x, way in ((x0, 1.0), (x1, -1.0)):
            head = ((x, y), (x + way * 1.8, y - 0.6), (x + way * 1.8, y + 0.6))
            out.append(Line(head, None, "measure", closed=True))
        up = y - row * PAIR
        more = {"align": "middle", "halo": True}
        out.append(text_at((at, up - 5.0), flight.move, SMALL, role="quiet", **more))
        out.append(text_at((at, up - 1.2), length, BODY, bold=True, role="measure", **more))
    return out


def _plan(plan: Plan, view: View, scale: int) -> list[Ink]:
    out: list[Ink] = []
    for name, shape in runway.ground_above(plan):
        out += view.ink([shape], name)
    for i, hurdle in enumerate(plan.hurdles):
        out += view.ink([runway.hurdle_above(hurdle)], f"hurdle-{i}")
    half = plan.place.width / 2.0
    for contact in plan.contacts:
        number = contact.number
        for name, shape in runway.prints(plan, contact):
            out += view.ink([shape], name)
        x, y = view.point(contact.x, half)
        _, low = view.point(contact.x, -half)
        if contact.surface == "track":
            out.append(
                Line(((x, y), (x, low)), "mark", None, 0.22, dash=(0.9, 0.7), name=f"toe-{number}")
            )
            for tip, way in ((y, -1.0), (low, 1.0)):
                flag = ((x, tip), (x - 1.1, tip + way * 2.0), (x + 1.1, tip + way * 2.0))
                out.append(Line(flag, None, "mark", closed=True))
        else:
            out.append(Line(((x, y), (x, low)), "mark", None, 0.3, name=f"toe-{number}"))
        out += _letters(plan, view, number)
    return out


def _letters(plan: Plan, view: View, number: int) -> list[Ink]:
    contact = plan.contacts[number]
    # Beside the shoe and clear of it, however small the scale makes it.
    off = max(view.mm(runway.shoe(plan)) / 2.0, 2.6) * (1.0 if contact.surface == "sand" else -1.0)
    away = max(view.mm(0.42), 3.6)
    out: list[Ink] = []
    for foot in ("left", "right") if contact.foot == "both" else (contact.foot,):
        x, middle = view.point(contact.x, 0.0)
        x, at = x + off, middle - away if foot == "left" else middle + away
        letter = "L" if foot == "left" else "R"
        role = "left" if foot == "left" else "right"
        out.append(
            text_at((x, at + 1.3), letter, 3.8, align="middle", bold=True, role=role, halo=True)
        )
    return out


def _apex_labels(plan: Plan, view: View, system: System) -> list[tuple[float, str]]:
    return [
        (view.point(f.apex_x, 0.0)[0], show_length(f.apex_z, system).removesuffix(" m"))
        for f in plan.flights
    ]


def _length_labels(plan: Plan, view: View, system: System) -> list[tuple[float, str]]:
    out = []
    for f in plan.flights:
        middle = (plan.contacts[f.number].x + plan.contacts[f.number + 1].x) / 2.0
        out.append((view.point(middle, 0.0)[0], show_length(f.length, system).removesuffix(" m")))
    return out


def _reading_labels(plan: Plan, card: TapeCard, view: View) -> list[tuple[float, float, str]]:
    """Readings inside the drawing, from left to right: x on paper, x in metres, text."""
    low, high = runway.extent(plan)
    inside = [row for row in card.lines if low - 1e-6 <= row.x <= high + 1e-6]
    inside.sort(key=lambda row: row.x)
    return [(view.point(row.x, 0.0)[0], row.x, row.shown.removesuffix(" m")) for row in inside]


def _readings(
    plan: Plan, card: TapeCard, view: View, base: float, top: float
) -> tuple[list[Ink], list[Ink]]:
    """Leaders and figures under the runway."""
    labels = _reading_labels(plan, card, view)
    rows = in_rows([(x, text) for x, _, text in labels], SMALL)
    leaders: list[Ink] = []
    figures: list[Ink] = []
    for (mark, _, text), (x, row) in zip(labels, rows, strict=True):
        y = top + 3.2 + row * ROW
        leaders.append(Line(((mark, base), (mark, y - 2.6)), "quiet", None, 0.12))
        figures.append(text_at((x, y), text, SMALL, align="middle", bold=True, halo=True))
    return leaders, figures


def scale_bar(
    plan: Plan, view: View, at: tuple[float, float], scale: int, card: TapeCard
) -> list[Ink]:
    x, y = at
    metres = {50: 2, 100: 5, 200: 10}[scale]
    wide = view.mm(metres)
    out: list[Ink] = []
    for i in range(metres):
        fill = "line" if i % 2 == 0 else "paper"
        a, b = x + view.mm(i), x + view.mm(i + 1)
        box = ((a, y), (b, y), (b, y + 1.8), (a, y + 1.8))
        out.append(Line(box, "line", fill, 0.18, True, name=f"bar-{i}"))  # type: ignore[arg-type]
    for i in (0, 1, metres):
        out.append(text_at((x + view.mm(i), y - 0.9), str(i), SMALL, align="middle"))
    said = f"metres, 1:{scale} when printed at 100 %: this bar is {wide:.0f} mm long"
    out.append(text_at((x + wide + 4.0, y + 1.8), said, SMALL, role="quiet"))
    legend = [
        f"Under the runway: tape readings from the {card.zero_text}.",
        "Dashed: path of the body's centre, with its highest point. Filled shoe: left; open shoe: right.",
    ]
    if checked(plan):
        legend.append(OVER)
    for i, text in enumerate(legend):
        out.append(text_at((x, y + 6.4 + LEGEND * i), text, SMALL))
    return out


def bar_high(plan: Plan) -> float:
    """Height of the scale bar and its legend [mm]."""
    return BAR + LEGEND * checked(plan)


@dataclass(frozen=True)
class Band:
    """The drawing at a scale, ready to be set on a page.

    Attributes
    ----------
    scale : int
    width, height : float
        [mm]
    texts : float
        The part of the height that is not to scale [mm].
    legend : float
        Width of the scale bar with its texts [mm].
    clear : float
        Height over the scale bar, where something narrow may stand beside it [mm].
    ink : callable
        From the left end of the runway drawn, the left end of the scale bar and the top [mm] to
        ink; the left end is not left of the page's margin.
    """

    scale: int
    width: float
    height: float
    texts: float
    legend: float
    clear: float
    ink: Callable[[float, float, float], list[Ink]]


def band(plan: Plan, card: TapeCard, scale: int) -> Band:
    """The drawing of a plan at a scale: side view, lengths, view from above, readings, scale bar.

    Parameters
    ----------
    plan : Plan
    card : TapeCard
        Whose readings are shown.
    scale : int

    Returns
    -------
    Band
    """
    low, high = runway.extent(plan)
    across, system = runway.width(plan), card.system
    # Where labels go depends on the page only at its edge: they are set there, and then moved.
    edge = View(scale, MARGIN - 1000.0 * low / scale, 0.0)
    readings = [(x, text) for x, _, text in _reading_labels(plan, card, edge)]
    tall, long, read = (
        row_count(in_rows(labels, size))
        for labels, size in (
            (_apex_labels(plan, edge, system), SMALL),
            (_length_labels(plan, edge, system), BODY),
            (readings, SMALL),
        )
    )
    side = View(scale, edge.left, ABOVE + (tall - 1) * ROW + edge.mm(runway.HEADROOM))
    chain = side.base + side.mm(0.14) + CHAIN + (long - 1) * PAIR
    above = View(scale, edge.left, chain + 2.0 + side.mm(across / 2.0))
    base = above.base + above.mm(across / 2.0) + 2.2
    bar_at = base + read * ROW + OVER_BAR
    height = bar_at + bar_high(plan)
    bar = scale_bar(plan, above, (0.0, 0.0), scale, card)

    @lru_cache(maxsize=1)
    def at_edge() -> list[Ink]:
        low_edge, high_edge = (above.point(0.0, way * plan.place.width / 2.0)[1] for way in (-1, 1))
        leaders, figures = _readings(plan, card, above, low_edge, base)
        guides: list[Ink] = []
        for contact in plan.contacts:
            x = side.point(contact.x, 0.0)[0]
            guides.append(Line(((x, side.base), (x, high_edge)), "quiet", None, 0.12))
        return [
            *guides,
            *_side(plan, side, system),
            *_chain(plan, side, chain, system),
            *leaders,
            *_plan(plan, above, scale),
            *figures,
        ]

    def ink(left: float, bar_left: float, top: float) -> list[Ink]:
        return [*moved(at_edge(), left - MARGIN, top), *moved(bar, bar_left, top + bar_at)]

    texts = height - edge.mm(runway.HEADROOM + across)
    legend = extent(bar)[2]
    return Band(scale, edge.mm(high - low), height, texts, legend, bar_at - 4.0, ink)
