"""The true-scale drawing of a plan: side view over plan view, tape readings, title and cautions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from math import cos, sin, tau
from typing import Final

from animate.shapes import Stroke
from layout.plan.tape import TapeCard
from layout.plan.units import System, show_length
from layout.plan.value import Plan
from layout.sheet import runway
from layout.sheet.clearances import OVER, checked, hurdles
from layout.sheet.page import (
    BODY,
    MARGIN,
    Ink,
    Line,
    Page,
    View,
    choose_scale,
    paper_size,
)
from layout.sheet.texts import ROW, SMALL, foot_of, in_rows, row_count, spare, text_at
from layout.sheet.widths import text_width, wrapped

HEAD: Final = 20.0
"""Height of the title [mm]."""
CHAIN: Final = 12.0
"""Height between side view and plan view: moves and their lengths [mm]."""
PAIR: Final = 7.8
"""A second row of them [mm]."""
BAR: Final = 16.0
"""Height of the scale bar [mm]."""
LEGEND: Final = 4.0
"""One more line of what is under it [mm]."""
ABOVE: Final = 5.0
FINE: Final = 0.1
"""How far a figure's outline may be from its full one [mm]."""


@dataclass(frozen=True)
class Sheet:
    """What a drawing is made on.

    Attributes
    ----------
    paper : str
    upright : bool
    scale : int or None
        None takes the largest that fits.
    """

    paper: str = "A4"
    upright: bool = False
    scale: int | None = None


def _head(plan: Plan, size: tuple[float, float], scale: int, system: System) -> list[Ink]:
    wide = size[0] - MARGIN
    venue = wrapped(plan.place.title, SMALL, 70.0)[0]
    right: list[Ink] = [
        text_at((wide, MARGIN + 5.2), f"1:{scale}", 6.4, align="right", bold=True),
        text_at((wide, MARGIN + 10.2), plan.date, SMALL + 0.3, align="right"),
        text_at((wide, MARGIN + 14.8), venue, SMALL, align="right", role="quiet"),
    ]
    room = wide - MARGIN - max(30.0, text_width(venue, SMALL) + 6.0)
    title = f"{plan.who.name}: {plan.title}"
    big = next((s for s in (6.0, 5.0, 4.2, 3.6) if text_width(title, s, True) <= wide - 40.0), 3.2)
    first, *rest = wrapped(title, big, wide - 40.0, True)
    out: list[Ink] = [text_at((MARGIN, MARGIN + 5.2), first, big, bold=True)]
    length = show_length(plan.total, system)
    kind = f", {plan.style}" if plan.style else ""
    facts = [
        *rest,
        f"{length} from the first contact to the last{kind}; take-off leg {plan.who.leg}.",
        _approach(plan, system),
    ]
    lines = [line for text in facts for line in wrapped(text, SMALL + 0.3, room)]
    for i, line in enumerate(lines):
        out.append(text_at((MARGIN, MARGIN + 10.2 + i * 4.6), line, SMALL + 0.3))
    return out + right


def _approach(plan: Plan, system: System) -> str:
    run = plan.approach
    if not run.strides:
        return "From a stand."
    marks = [f"start mark {show_length(run.length, system)} back"]
    marks += [
        f"check mark {show_length(back, system)} back ({to_go} to go)"
        for to_go, back in run.marks
        if to_go != run.strides
    ]
    return f"{run.strides} strides: {', '.join(marks)}."


def _thinned(ink: list[Ink]) -> list[Ink]:
    """Outlines with as few points as print can tell from all of them."""
    import shapely

    out: list[Ink] = []
    for item in ink:
        if isinstance(item, Line) and len(item.points) > 8:
            line = shapely.LineString([*item.points, item.points[0]])
            points = tuple((float(x), float(y)) for x, y in line.simplify(FINE).coords[:-1])
            item = replace(item, points=points)
        out.append(item)
    return out


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
        out += _thinned(view.ink(runway.figure(plan, contact), f"figure-{contact.number}"))
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


def _bar(plan: Plan, view: View, at: tuple[float, float], scale: int, card: TapeCard) -> list[Ink]:
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


def _bar_high(plan: Plan) -> float:
    """Height of the scale bar and its legend [mm]."""
    return BAR + LEGEND * checked(plan)


def draw(plan: Plan, card: TapeCard, sheet: Sheet | None = None) -> Page:
    """Compose the drawing of a plan on one page, at an exact scale.

    Parameters
    ----------
    plan : Plan
    card : TapeCard
        Whose readings are shown.
    sheet : Sheet, optional

    Returns
    -------
    Page

    Raises
    ------
    BadInput
        It does not fit; says which scale or paper would.
    """
    sheet = sheet or Sheet()
    size = paper_size(sheet.paper, sheet.upright)
    low, high = runway.extent(plan)
    across = runway.width(plan)
    foot, deep = foot_of(plan, size)

    def rows(scale: int) -> tuple[int, int, int]:
        """Rows of apex heights, of lengths and of readings."""
        view = View(scale, MARGIN - 1000.0 * low / scale, 0.0)
        readings = [(x, text) for x, _, text in _reading_labels(plan, card, view)]
        return (
            row_count(in_rows(_apex_labels(plan, view, card.system), SMALL)),
            row_count(in_rows(_length_labels(plan, view, card.system), BODY)),
            row_count(in_rows(readings, SMALL)),
        )

    def taken(scale: int) -> float:
        """Height that texts need [mm]."""
        tall, long, read = rows(scale)
        texts = (tall - 1 + read) * ROW + (long - 1) * PAIR
        return HEAD + ABOVE + CHAIN + texts + _bar_high(plan) + deep + 6.0

    scale = choose_scale(high - low, runway.HEADROOM + across, size, taken, sheet.scale)
    tall, long, read = rows(scale)
    free = size[1] - 2 * MARGIN - taken(scale) - 1000.0 * (runway.HEADROOM + across) / scale
    shift = MARGIN + (size[0] - 2 * MARGIN - 1000.0 * (high - low) / scale) / 2.0
    left = shift - 1000.0 * low / scale
    over = MARGIN + HEAD + ABOVE + (tall - 1) * ROW + free * 0.12
    side = View(scale, left, over + 1000.0 * runway.HEADROOM / scale)
    chain = side.base + side.mm(0.14) + CHAIN + (long - 1) * PAIR
    above = View(scale, left, chain + 2.0 + side.mm(across / 2.0))
    under = above.base + above.mm(across / 2.0)
    low_edge = above.point(0.0, -plan.place.width / 2.0)[1]
    leaders, figures = _readings(plan, card, above, low_edge, under + 2.2)
    high_edge = above.point(0.0, plan.place.width / 2.0)[1]
    guides: list[Ink] = []
    for contact in plan.contacts:
        x = side.point(contact.x, 0.0)[0]
        guides.append(Line(((x, side.base), (x, high_edge)), "quiet", None, 0.12))
    bar = under + 2.2 + read * ROW + 6.0
    wide = size[0] - 2 * MARGIN - 4.0
    ink = [
        *_head(plan, size, scale, card.system),
        *guides,
        *_side(plan, side, card.system),
        *_chain(plan, side, chain, card.system),
        *leaders,
        *_plan(plan, above, scale),
        *figures,
        *_bar(plan, above, (MARGIN + 2.0, bar), scale, card),
        *spare(plan, card, bar + _bar_high(plan) - 1.0, size[1] - MARGIN - deep - 2.0, wide),
        *foot,
    ]
    title = f"{plan.who.name}: {plan.title}, 1:{scale}"
    return Page(size[0], size[1], scale, title, tuple(ink))
