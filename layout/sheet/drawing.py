"""The true-scale drawing of a plan: side view over plan view, tape readings, title and cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from animate.shapes import Stroke
from layout.plan.tape import TapeCard
from layout.plan.units import System, show_length
from layout.plan.value import Plan
from layout.sheet import runway
from layout.sheet.page import (
    BODY,
    MARGIN,
    Ink,
    Line,
    Page,
    Text,
    View,
    choose_scale,
    paper_size,
)
from layout.sheet.widths import text_width, wrapped

SMALL: Final = 2.9
HEAD: Final = 20.0
"""Height of the title [mm]."""
CHAIN: Final = 12.0
"""Height between side view and plan view: moves and their lengths [mm]."""
ROW: Final = 4.4
"""One row of tape readings [mm]."""
BAR: Final = 16.0
"""Height of the scale bar [mm]."""
ABOVE: Final = 5.0
TURN: Final = 1.35
"""Line spacing of text, in ems."""


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


def _text(at: tuple[float, float], text: str, size: float = BODY, **more: object) -> Text:
    return Text(at, text, size, **more)  # type: ignore[arg-type]


def _head(plan: Plan, size: tuple[float, float], scale: int, system: System) -> list[Ink]:
    wide = size[0] - MARGIN
    venue = wrapped(plan.place.title, SMALL, 70.0)[0]
    right = [
        _text((wide, MARGIN + 5.2), f"1:{scale}", 6.4, align="right", bold=True),
        _text((wide, MARGIN + 10.2), plan.date, SMALL + 0.3, align="right"),
        _text((wide, MARGIN + 14.8), venue, SMALL, align="right", role="quiet"),
    ]
    room = wide - MARGIN - max(30.0, text_width(venue, SMALL) + 6.0)
    title = f"{plan.who.name}: {plan.title}"
    big = next((s for s in (6.0, 5.0, 4.2, 3.6) if text_width(title, s, True) <= wide - 40.0), 3.2)
    first, *rest = wrapped(title, big, wide - 40.0, True)
    out: list[Ink] = [_text((MARGIN, MARGIN + 5.2), first, big, bold=True), *right]
    length = show_length(plan.total, system)
    kind = f", {plan.style}" if plan.style else ""
    facts = [
        *rest,
        f"{length} from the first contact to the last{kind}; take-off leg {plan.who.leg}.",
        _approach(plan, system),
    ]
    lines = [line for text in facts for line in wrapped(text, SMALL + 0.3, room)]
    for i, line in enumerate(lines):
        out.append(_text((MARGIN, MARGIN + 10.2 + i * 4.6), line, SMALL + 0.3))
    return out


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


def _side(plan: Plan, view: View, system: System) -> list[Ink]:
    out: list[Ink] = []
    for name, shape in runway.ground_aside(plan):
        out += view.ink([shape], name)
    for contact in plan.contacts:
        out += view.ink(runway.figure(plan, contact), f"figure-{contact.number}")
    for flight in plan.flights:
        dash = (0.12, 0.08)
        out += view.ink(
            [Stroke(runway.path(flight), "arc", 0.02, dash=dash)], f"arc-{flight.number}"
        )
        x, y = view.point(flight.apex_x, flight.apex_z)
        _, top = view.point(0.0, runway.HEADROOM)
        out.append(Line(((x, y), (x, top + 1.2)), "measure", None, 0.15, dash=(0.5, 0.7)))
        out.append(
            Line(((x, y), (x + 0.01, y)), "measure", None, 1.1, name=f"apex-{flight.number}")
        )
        tall = show_length(flight.apex_z, system)
        if flight.length * 1000.0 / view.scale < text_width(tall, SMALL, True) + 2.0:
            tall = tall.removesuffix(" m")
        out.append(_text((x, top), tall, SMALL, role="measure", align="middle", bold=True))
    for before, after in pairwise(plan.flights):
        out += view.ink(
            [Stroke(runway.contact_path(before, after), "arc", 0.015, dash=(0.02, 0.06))]
        )
    for i, hurdle in enumerate(plan.hurdles):
        out += view.ink(runway.hurdle_aside(hurdle), f"hurdle-side-{i}")
        x, y = view.point(hurdle.x, hurdle.height)
        tall = f"{100 * hurdle.height:.0f} cm"
        out.append(_text((x, y - 1.0), tall, SMALL, role="hurdle", align="middle", halo=True))
    return out


def _chain(plan: Plan, view: View, top: float, system: System) -> list[Ink]:
    """Moves and lengths, toe mark to toe mark."""
    out: list[Ink] = []
    y = top + CHAIN - 2.2
    for flight in plan.flights:
        x0 = view.point(plan.contacts[flight.number].x, 0.0)[0]
        x1 = view.point(plan.contacts[flight.number + 1].x, 0.0)[0]
        name = f"length-{flight.number}"
        out.append(Line(((x0, y), (x1, y)), "measure", None, 0.25, name=name))
        for x, way in ((x0, 1.0), (x1, -1.0)):
            head = ((x, y), (x + way * 1.8, y - 0.6), (x + way * 1.8, y + 0.6))
            out.append(Line(head, None, "measure", closed=True))
        middle = (x0 + x1) / 2.0
        out.append(
            _text((middle, y - 5.0), flight.move, SMALL, align="middle", role="quiet", halo=True)
        )
        length = show_length(flight.length, system)
        if text_width(length, BODY, True) > x1 - x0 - 1.0:
            length = length.removesuffix(" m")
        out.append(
            _text(
                (middle, y - 1.2),
                length,
                BODY,
                align="middle",
                bold=True,
                role="measure",
                halo=True,
            )
        )
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
    shoe = 0.152 * plan.who.stature
    middle = contact.x + (shoe / 2.0 if contact.surface == "sand" else -shoe / 2.0)
    out: list[Ink] = []
    for foot in ("left", "right") if contact.foot == "both" else (contact.foot,):
        y = 0.42 if foot == "left" else -0.42
        x, at = view.point(middle, y)
        letter = "L" if foot == "left" else "R"
        role = "left" if foot == "left" else "right"
        out.append(
            _text((x, at + 1.3), letter, 3.8, align="middle", bold=True, role=role, halo=True)
        )
    return out


def _placed(
    card: TapeCard, view: View, low: float, high: float
) -> list[tuple[float, str, int, int]]:
    """Readings in rows so that none overlaps: x on paper, text, row, index."""
    ends: list[float] = []
    out = []
    for i, line in enumerate(sorted(card.lines, key=lambda row: row.x)):
        if not low - 1e-6 <= line.x <= high + 1e-6:
            continue
        x = view.point(line.x, 0.0)[0]
        text = line.shown.removesuffix(" m")
        wide = text_width(text, SMALL, True) + 1.6
        left = max(x - wide / 2.0, MARGIN)
        row = next((r for r, end in enumerate(ends) if left >= end), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row] = left + wide
        out.append((left + wide / 2.0, text, row, i))
    return out


def _readings(
    plan: Plan, card: TapeCard, view: View, base: float, top: float
) -> tuple[list[Ink], int]:
    low, high = runway.extent(plan)
    rows = _placed(card, view, low, high)
    lines = sorted(card.lines, key=lambda row: row.x)
    out: list[Ink] = []
    for x, text, row, i in rows:
        y = top + 3.2 + row * ROW
        mark = view.point(lines[i].x, 0.0)[0]
        out.insert(0, Line(((mark, base), (mark, y - 2.6)), "quiet", None, 0.12))
        out.append(_text((x, y), text, SMALL, align="middle", bold=True, halo=True))
    return out, 1 + max((row for _, _, row, _ in rows), default=0)


def _bar(view: View, at: tuple[float, float], scale: int, card: TapeCard) -> list[Ink]:
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
        out.append(_text((x + view.mm(i), y - 0.9), str(i), SMALL, align="middle"))
    said = f"metres, 1:{scale} when printed at 100 %: this bar is {wide:.0f} mm long"
    out.append(_text((x + wide + 4.0, y + 1.8), said, SMALL, role="quiet"))
    legend = (
        f"Under the runway: tape readings from the {card.zero_text}.",
        "Dashed: path of the body's centre, with its highest point. Filled shoe: left; open shoe: right.",
    )
    for i, text in enumerate(legend):
        out.append(_text((x, y + 6.4 + 4.0 * i), text, SMALL))
    return out


def _columns(
    texts: Sequence[tuple[str, bool]], left: float, top: float, width: float, count: int
) -> tuple[list[Ink], float]:
    """Paragraphs in columns, none broken between two; returns them and how high they are [mm]."""
    column = (width - 6.0 * (count - 1)) / count
    step = SMALL * TURN
    blocks = [(wrapped(text, SMALL, column - 3.0, grave), grave) for text, grave in texts]
    deep = max((len(b) for b, _ in blocks), default=0)
    while not _fit(blocks, deep, count):
        deep += 1
    out: list[Ink] = []
    at, row = 0, 0
    for lines, grave in blocks:
        if row + len(lines) > deep:
            at, row = at + 1, 0
        x = left + at * (column + 6.0)
        role = "warn" if grave else "text"
        sign = "!" if grave else "–"
        for i, line in enumerate(lines):
            y = top + (row + 1) * step
            if i == 0:
                out.append(_text((x, y), sign, SMALL, role=role, bold=grave))
            out.append(_text((x + 3.0, y), line, SMALL, role=role, bold=grave))
            row += 1
    return out, deep * step


def _fit(blocks: Sequence[tuple[list[str], bool]], deep: int, count: int) -> bool:
    at, row = 0, 0
    for lines, _ in blocks:
        if row + len(lines) > deep:
            at, row = at + 1, 0
        row += len(lines)
    return at < count


def _foot(plan: Plan, size: tuple[float, float]) -> tuple[list[Ink], float]:
    """Warnings and cautions at the bottom of the page, and how high they are [mm]."""
    wide = size[0] - 2 * MARGIN
    texts = [(n.text, True) for n in plan.warnings] + [(c, False) for c in plan.cautions]
    count = 3 if wide > 250 else 2
    _, high = _columns(texts, 0.0, 0.0, wide, count)
    top = size[1] - MARGIN - high - 2.0
    ink, _ = _columns(texts, MARGIN, top + 1.0, wide, count)
    return [Line(((MARGIN, top), (size[0] - MARGIN, top)), "quiet", None, 0.2), *ink], high + 3.0


def _spare(plan: Plan, card: TapeCard, top: float, bottom: float, width: float) -> list[Ink]:
    """The tape card and the coaching points, where the drawing leaves room for them whole."""
    spoken = [(line, False) for line in card.spoken()]
    points = [(point, False) for point in plan.points]
    # Parts of the width for each, and columns inside it: the first arrangement that fits wins.
    for share, columns in ((0.5, 1), (0.68, 2), (1.0, 3 if width > 250 else 2)):
        left = MARGIN + 2.0
        wide = width * share - (8.0 if share < 1.0 else 0.0)
        tape, high = _columns(spoken, left, top + 4.6, wide, columns)
        if top + 4.6 + high > bottom:
            continue
        out: list[Ink] = [_text((left, top + 3.6), "Tape card, spoken", BODY, bold=True), *tape]
        if share < 1.0:
            x = left + width * share
            coach, high = _columns(points, x, top + 4.6, width * (1.0 - share), 1)
            if top + 4.6 + high <= bottom:
                out += [_text((x, top + 3.6), "Coach", BODY, bold=True), *coach]
        return out
    return []


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
    foot, deep = _foot(plan, size)
    taken = HEAD + ABOVE + CHAIN + 3 * ROW + BAR + deep + 4.0
    scale = choose_scale(high - low, runway.HEADROOM + across, size, taken, sheet.scale)
    free = size[1] - 2 * MARGIN - taken - 1000.0 * (runway.HEADROOM + across) / scale
    shift = MARGIN + (size[0] - 2 * MARGIN - 1000.0 * (high - low) / scale) / 2.0
    left = shift - 1000.0 * low / scale
    ground = MARGIN + HEAD + ABOVE + free * 0.12 + 1000.0 * runway.HEADROOM / scale
    side = View(scale, left, ground)
    chain = ground + side.mm(0.14)
    centre = chain + CHAIN + 2.0 + side.mm(across / 2.0)
    above = View(scale, left, centre)
    under = centre + above.mm(across / 2.0)
    half = above.point(0.0, -plan.place.width / 2.0)[1]
    readings, rows = _readings(plan, card, above, half, under + 2.2)
    guides: list[Ink] = []
    for contact in plan.contacts:
        x = side.point(contact.x, 0.0)[0]
        end = above.point(0.0, plan.place.width / 2.0)[1]
        guides.append(Line(((x, ground), (x, end)), "quiet", None, 0.12))
    bar = under + 2.2 + rows * ROW + 6.0
    ink = [
        *_head(plan, size, scale, card.system),
        *guides,
        *_side(plan, side, card.system),
        *_chain(plan, side, chain, card.system),
        *readings[: len(readings) // 2],
        *_plan(plan, above, scale),
        *readings[len(readings) // 2 :],
        *_bar(above, (MARGIN + 2.0, bar), scale, card),
        *_spare(plan, card, bar + 15.0, size[1] - MARGIN - deep - 2.0, size[0] - 2 * MARGIN - 4.0),
        *foot,
    ]
    title = f"{plan.who.name}: {plan.title}, 1:{scale}"
    return Page(size[0], size[1], scale, title, tuple(ink))
