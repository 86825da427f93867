"""Blocks of text on a page: warnings and cautions, the tape card, coaching points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from layout.page.page import BODY, MARGIN, Ink, Line, Text
from layout.page.widths import text_width, wrapped
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.words.feet import as_read
from layout.words.units import System, show_length

SMALL: Final = 2.9
"""Em of small text [mm], about 8 pt."""
TURN: Final = 1.28
"""Line spacing of text, in ems."""
ROW: Final = 4.4
"""One row of labels over or under the drawing [mm]."""


def text_at(at: tuple[float, float], text: str, size: float = BODY, **more: Any) -> Text:
    """A text of the page, with the options of `Text`."""
    return Text(at, text, size, **more)


def run_in(plan: Plan, system: System) -> str:
    """The approach in one sentence: strides, start mark and check marks."""
    run = plan.approach
    if not run.strides:
        return "From standing."
    marks = [f"start mark {show_length(run.length, system)} back"]
    marks += [
        f"check mark {show_length(back, system)} back ({to_go} to go)"
        for to_go, back in run.marks
        if to_go != run.strides
    ]
    return f"{run.strides} strides: {', '.join(marks)}."


HEAD: Final = 20.0
"""Height of a drawing's title and facts, at least [mm]."""


def titled(
    title: str, facts: Sequence[str], place: str, date: str, size: tuple[float, float]
) -> tuple[list[Ink], float]:
    """A drawing's title and facts, place and day beside them, and how high they are [mm]."""
    wide = size[0] - MARGIN
    em = SMALL + 0.3
    venue = wrapped(place, SMALL, 70.0)[0]
    room = wide - MARGIN - max(30.0, text_width(venue, SMALL) + 6.0)
    big = next((s for s in (6.0, 5.0, 4.2, 3.6) if text_width(title, s, True) <= wide - 40.0), 3.2)
    first, *rest = wrapped(title, big, wide - 40.0, True)
    ink: list[Ink] = [
        text_at((MARGIN, MARGIN + 5.2), first, big, bold=True),
        text_at((wide, MARGIN + 10.2), date, em, align="right"),
        text_at((wide, MARGIN + 14.8), venue, SMALL, align="right", role="quiet"),
    ]
    lines = [line for text in (*rest, *facts) for line in wrapped(text, em, room)]
    for i, line in enumerate(lines):
        ink.append(text_at((MARGIN, MARGIN + 10.2 + i * 4.6), line, em))
    return ink, max(HEAD, 10.8 + 4.6 * len(lines))


def scale_sign(scale: int, size: tuple[float, float]) -> Text:
    """The scale at the top right of a page."""
    return text_at((size[0] - MARGIN, MARGIN + 5.2), f"1:{scale}", 6.4, align="right", bold=True)


def columns(
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
                out.append(text_at((x, y), sign, SMALL, role=role, bold=grave))
            out.append(text_at((x + 3.0, y), line, SMALL, role=role, bold=grave))
            row += 1
    return out, deep * step


def _fit(blocks: Sequence[tuple[list[str], bool]], deep: int, count: int) -> bool:
    at, row = 0, 0
    for lines, _ in blocks:
        if row + len(lines) > deep:
            at, row = at + 1, 0
        row += len(lines)
    return at < count


def ruled(
    texts: Sequence[tuple[str, bool]], size: tuple[float, float], count: int
) -> tuple[list[Ink], float]:
    """Paragraphs in columns under a line at the bottom of a page, and how high they are [mm]."""
    wide = size[0] - 2 * MARGIN
    _, high = columns(texts, 0.0, 0.0, wide, count)
    top = size[1] - MARGIN - high - 2.0
    ink, _ = columns(texts, MARGIN, top + 1.0, wide, count)
    return [Line(((MARGIN, top), (size[0] - MARGIN, top)), "quiet", None, 0.2), *ink], high + 3.0


def foot_of(plan: Plan, size: tuple[float, float], system: System) -> tuple[list[Ink], float]:
    """Warnings and cautions at the bottom of the page, and how high they are [mm]."""
    told = [(n.text, True) for n in plan.warnings] + [(c, False) for c in plan.cautions]
    texts = [(as_read(text, system), grave) for text, grave in told]
    return ruled(texts, size, 3 if size[0] - 2 * MARGIN > 250 else 2)


def spare(plan: Plan, card: TapeCard, top: float, bottom: float, width: float) -> list[Ink]:
    """The tape card and the coaching points, where the drawing leaves room for them whole."""
    spoken = [(line, False) for line in card.spoken()]
    points = [(as_read(point, card.system), False) for point in plan.points]
    # Parts of the width for each, and columns inside it: the first arrangement that fits wins.
    for share, many in ((0.5, 1), (0.68, 2), (1.0, 3 if width > 250 else 2)):
        left = MARGIN + 2.0
        wide = width * share - (8.0 if share < 1.0 else 0.0)
        tape, high = columns(spoken, left, top + 4.6, wide, many)
        if top + 4.6 + high > bottom:
            continue
        out: list[Ink] = [text_at((left, top + 3.6), "Tape card, spoken", BODY, bold=True), *tape]
        if share < 1.0:
            x = left + width * share
            coach, high = columns(points, x, top + 4.6, width * (1.0 - share), 1)
            if top + 4.6 + high <= bottom:
                out += [text_at((x, top + 3.6), "Coach", BODY, bold=True), *coach]
        return out
    return []


def in_rows(labels: Sequence[tuple[float, str]], size: float) -> list[tuple[float, int]]:
    """Where centred labels go so that none overlaps: x on paper and row, in the order given.

    Labels come from left to right; each takes the first row whose last label leaves it room.
    """
    ends: list[float] = []
    out = []
    for x, text in labels:
        wide = text_width(text, size, True) + 1.6
        left = max(x - wide / 2.0, MARGIN)
        row = next((r for r, end in enumerate(ends) if left >= end), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row] = left + wide
        out.append((left + wide / 2.0, row))
    return out


def row_count(rows: Sequence[tuple[float, int]]) -> int:
    """How many rows labels took."""
    return 1 + max((row for _, row in rows), default=0)
