"""The true-scale drawing as one band: side view over plan view, tape readings, scale bar."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import cos, sin, tau
from typing import Final

from animate.body.shapes import Shape, Stroke
from layout.page.page import BODY, MARGIN, Ink, Line, View, extent, moved
from layout.page.thin import thinned
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet import runway
from layout.sheet.clearances import hurdles
from layout.sheet.run_in import RunIn, Way, break_lines, flags, marks_of, run_in_of
from layout.sheet.scale_bar import bar_high, folded, legend, scale_bar
from layout.sheet.texts import ROW, SMALL, in_rows, row_count, text_at
from layout.words.units import System, show_length

CHAIN: Final = 12.0
"""Height between side view and plan view: moves and their lengths [mm]."""
PAIR: Final = 7.8
"""A second row of them [mm]."""
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


def _side(
    plan: Plan, view: View, system: System, figures: Sequence[Sequence[Shape]], run: RunIn
) -> list[Ink]:
    out: list[Ink] = []
    for name, shape in runway.ground_aside(plan, run.before):
        out += view.ink([shape], name)
    out += break_lines(view, run, view.base, view.base + view.mm(0.1))
    for i, figure in enumerate(figures):
        out += thinned(view.ink(figure, f"figure-{i}"), FINE)
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
    return out + hurdles(plan, view, system)


@dataclass(frozen=True)
class _Span:
    """A length along the runway: where it is drawn, how long it is [m], and what it is."""

    start: float
    end: float
    length: float
    what: str
    name: str


def _spans(plan: Plan, run: RunIn) -> list[_Span]:
    """The approach where it is drawn, and every phase."""
    out = []
    if run.before:
        whole = plan.approach.length
        out.append(_Span(run.start, 0.0, whole, f"{plan.approach.strides} strides", "approach"))
    for f in plan.flights:
        start, end = plan.contacts[f.number].x, plan.contacts[f.number + 1].x
        out.append(_Span(start, end, f.length, f.phase, f"length-{f.number}"))
    return out


def _chain(plan: Plan, view: View, bottom: float, system: System, run: RunIn) -> list[Ink]:
    """Moves and lengths, toe mark to toe mark, over a line at `bottom`."""
    out: list[Ink] = []
    y = bottom - 2.2
    spans = _spans(plan, run)
    labels = _length_labels(spans, view, system)
    for span, (_, length), (at, row) in zip(spans, labels, in_rows(labels, BODY), strict=True):
        x0, x1 = (view.point(x, 0.0)[0] for x in (span.start, span.end))
        out.append(Line(((x0, y), (x1, y)), "measure", None, 0.25, name=span.name))
        for x, way in ((x0, 1.0), (x1, -1.0)):
            head = ((x, y), (x + way * 1.8, y - 0.6), (x + way * 1.8, y + 0.6))
            out.append(Line(head, None, "measure", closed=True))
        up = y - row * PAIR
        more = {"align": "middle", "halo": True}
        out.append(text_at((at, up - 5.0), span.what, SMALL, role="quiet", **more))
        out.append(text_at((at, up - 1.2), length, BODY, bold=True, role="measure", **more))
        if span.name == "approach":
            out += break_lines(view, run, y, y)
    return out


def _plan(plan: Plan, view: View, run: RunIn) -> list[Ink]:
    out: list[Ink] = []
    for name, shape in runway.ground_above(plan, run.before):
        out += view.ink([shape], name)
    if run.before:
        low, high = (view.point(0.0, way * plan.place.width / 2.0)[1] for way in (-1, 1))
        out += [*break_lines(view, run, high, low), *marks_of(plan, view, run)]
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
            out += flags(x, y, low)
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


def _length_labels(spans: Sequence[_Span], view: View, system: System) -> list[tuple[float, str]]:
    out = []
    for span in spans:
        at = view.point((span.start + span.end) / 2.0, 0.0)[0]
        out.append((at, show_length(span.length, system).removesuffix(" m")))
    return out


def _reading_labels(
    plan: Plan, card: TapeCard, view: View, run: RunIn
) -> list[tuple[float, float, str]]:
    """Readings inside the drawing, from left to right: x on paper, x in metres, text."""
    low, high = runway.extent(plan, 0.0 if run.broken else run.before)
    drawn = [(row.x, row) for row in card.lines if low - 1e-6 <= row.x <= high + 1e-6]
    if run.broken:
        drawn += [(run.start, row) for row in card.lines if row.kind == "start"]
    drawn.sort(key=lambda pair: pair[0])
    return [(view.point(x, 0.0)[0], x, row.shown.removesuffix(" m")) for x, row in drawn]


def _readings(
    labels: Sequence[tuple[float, float, str]], base: float, top: float
) -> tuple[list[Ink], list[Ink]]:
    """Leaders and figures under the runway."""
    rows = in_rows([(x, text) for x, _, text in labels], SMALL)
    leaders: list[Ink] = []
    figures: list[Ink] = []
    for (mark, _, text), (x, row) in zip(labels, rows, strict=True):
        y = top + 3.2 + row * ROW
        leaders.append(Line(((mark, base), (mark, y - 2.6)), "quiet", None, 0.12))
        figures.append(text_at((x, y), text, SMALL, align="middle", bold=True, halo=True))
    return leaders, figures


def _row_counts(
    plan: Plan, view: View, system: System, run: RunIn, readings: Sequence[tuple[float, str]]
) -> list[int]:
    """How many rows the heights, the lengths and the readings take."""
    lengths = _length_labels(_spans(plan, run), view, system)
    labels = (_apex_labels(plan, view, system), SMALL), (lengths, BODY), (readings, SMALL)
    return [row_count(in_rows(found, size)) for found, size in labels]


@dataclass(frozen=True)
class Band:
    """The drawing at a scale, ready to be set on a page."""

    scale: int
    # width, height: [mm]
    width: float
    height: float
    texts: float  # The part of the height that is not to scale [mm]
    legend: float  # Width of the scale bar with its texts [mm]
    clear: float  # Height over the scale bar, where something narrow may stand beside it [mm]
    run_in: Way  # Whether it reaches back to the start mark
    said: tuple[str, ...]  # What is under the scale bar, a sentence each
    # From the left end of the runway drawn, the left end of the scale bar and the top [mm] to ink;
    # the left end is not left of the page's margin
    ink: Callable[[float, float, float], list[Ink]]


def band(
    plan: Plan,
    card: TapeCard,
    scale: int,
    figures: Sequence[Sequence[Shape]] = (),
    run_in: Way = "none",
) -> Band:
    """The drawing of a plan at a scale: side view, lengths, view from above, readings, scale bar.

    card: whose readings are shown.
    figures: the athlete at each contact, where a motion tells: `layout.moving.poses.at_marks`; key
        poses where left out, and the legend then says that they are a sketch.
    run_in: reach back to the start mark to scale, over a break, or not.
    """
    run = run_in_of(plan, scale, run_in)
    said = legend(plan, card, run, not figures)
    figures = figures or runway.figures(plan)
    low, high = runway.extent(plan, run.before)
    across, system = runway.width(plan), card.system
    # Where labels go depends on the page only at its edge: they are set there, and then moved.
    edge = View(scale, MARGIN - 1000.0 * low / scale, 0.0)
    readings = _reading_labels(plan, card, edge, run)
    tall, long, read = _row_counts(plan, edge, system, run, [(x, text) for x, _, text in readings])
    side = View(scale, edge.left, ABOVE + (tall - 1) * ROW + edge.mm(runway.HEADROOM))
    chain = side.base + side.mm(0.14) + CHAIN + (long - 1) * PAIR
    above = View(scale, edge.left, chain + 2.0 + side.mm(across / 2.0))
    base = above.base + above.mm(across / 2.0) + 2.2
    bar_at = base + read * ROW + OVER_BAR
    lines = folded(said, edge.mm(high - low) - 4.0)
    height = bar_at + bar_high(lines)
    bar = scale_bar(above, (0.0, 0.0), system, lines)

    @lru_cache(maxsize=1)
    def at_edge() -> list[Ink]:
        low_edge, high_edge = (above.point(0.0, way * plan.place.width / 2.0)[1] for way in (-1, 1))
        leaders, shown = _readings(readings, low_edge, base)
        guides: list[Ink] = []
        for contact in plan.contacts:
            x = side.point(contact.x, 0.0)[0]
            guides.append(Line(((x, side.base), (x, high_edge)), "quiet", None, 0.12))
        return [
            *guides,
            *_side(plan, side, system, figures, run),
            *_chain(plan, side, chain, system, run),
            *leaders,
            *_plan(plan, above, run),
            *shown,
        ]

    def ink(left: float, bar_left: float, top: float) -> list[Ink]:
        return [*moved(at_edge(), left - MARGIN, top), *moved(bar, bar_left, top + bar_at)]

    texts = height - edge.mm(runway.HEADROOM + across)
    width, reach = edge.mm(high - low), extent(bar)[2]
    return Band(scale, width, height, texts, reach, bar_at - 4.0, run_in, tuple(said), ink)
