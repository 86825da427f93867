"""Head and foot of a handout's pages."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from layout.page.page import BODY, MARGIN, Ink, Line
from layout.page.widths import text_width, wrapped
from layout.sheet.handout_blocks import Piece
from layout.sheet.handout_text import ADVICE, Words
from layout.sheet.texts import SMALL, TURN, columns, text_at
from layout.sheet.writing_table import TABLE

SHORT: Final = {TABLE: "table"}


def head_of(words: Words, width: float, scale: int, left: float) -> tuple[list[Ink], float]:
    """Title, job, facts and warnings at the top of the first page, and where they end [mm]."""
    right = left + width
    ink: list[Ink] = [
        text_at((right, MARGIN + 5.0), f"1:{scale}", 6.4, align="right", bold=True),
    ]
    room = width - 30.0
    title = f"{words.name}: {words.title}"
    big = next((s for s in (6.0, 5.2, 4.6) if text_width(title, s, True) <= room), 4.0)
    y = MARGIN
    for line in wrapped(title, big, room, True):
        y += big * (1.2 if y > MARGIN else 0.84)
        ink.append(text_at((left, y), line, big, bold=True))
    y = max(y, MARGIN + 5.0) + 1.0
    for line in wrapped(words.job, BODY, width):
        y += BODY * TURN
        ink.append(text_at((left, y), line, BODY))
    for line in wrapped(" ".join(words.facts), SMALL, width):
        y += SMALL * TURN
        ink.append(text_at((left, y), line, SMALL))
    y += 2.0
    ink.append(Line(((left, y), (right, y)), "quiet", None, 0.2))
    if words.warnings:
        warned, high = columns([(w, True) for w in words.warnings], left, y + 0.6, width, 1)
        ink += warned
        y += high + 2.2
        ink.append(Line(((left, y), (right, y)), "quiet", None, 0.2))
    return ink, y + 1.0


def foot_of(size: tuple[float, float], number: int, count: int, rest: Sequence[Piece]) -> list[Ink]:
    left, right = MARGIN, size[0] - MARGIN
    y = size[1] - MARGIN - 0.7
    out: list[Ink] = [
        Line(((left, y - 3.8), (right, y - 3.8)), "quiet", None, 0.2),
        text_at((left, y), ADVICE, SMALL, role="quiet"),
    ]
    if count > 1:
        heads = [p.title.partition(":")[0].partition(",")[0] for p in rest]
        names = ", ".join(dict.fromkeys(SHORT.get(head, head.lower()) for head in heads))
        room = right - left - text_width(ADVICE, SMALL) - 6.0
        for said in (f"page {number} of {count}; next: {names}", f"page {number} of {count}"):
            if (rest or "next" not in said) and text_width(said, SMALL) <= room:
                out.append(text_at((right, y), said, SMALL, role="quiet", align="right"))
                break
    return out
