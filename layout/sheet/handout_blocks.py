"""Pieces of a handout: headed lists and tables as rows of ink that can be set in a column."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from animate.body.shapes import Role
from layout.page.page import BODY, Ink, Line, moved
from layout.page.widths import text_width, wrapped
from layout.sheet.texts import SMALL, TURN, text_at

STEP: Final = SMALL * TURN
"""From one line of text to the next [mm]."""
HEADED: Final = 5.8
"""Height of a piece's heading [mm]."""
INDENT: Final = 3.6
BOX: Final = 2.3
"""Side of a box to tick [mm]."""
GAP: Final = 0.4
"""Between two rows [mm]."""


@dataclass(frozen=True)
class Row:
    """Ink that stays together, its top left at 0, 0."""

    ink: tuple[Ink, ...]
    height: float


@dataclass(frozen=True)
class Piece:
    """A heading and its rows in a column of some width [mm]."""

    title: str
    rows: tuple[Row, ...]
    width: float


@dataclass(frozen=True)
class Block:
    """A piece, or a part of one, that stands in one column, its top left at 0, 0."""

    title: str
    ink: tuple[Ink, ...]
    height: float


def parts(piece: Piece, limit: float) -> Iterator[Block]:
    """A piece as blocks no higher than a limit; one block, unless it must be broken.

    limit: [mm]; a single row higher than that stands alone.
    """
    title, rows = piece.title, list(piece.rows)
    while rows:
        heads = wrapped(title, BODY, piece.width, True)
        more = BODY * TURN * (len(heads) - 1)
        high, count = HEADED + more, 0
        while count < len(rows) and (not count or high + rows[count].height <= limit):
            high += rows[count].height
            count += 1
        ink: list[Ink] = [
            text_at((0.0, 3.2 + i * BODY * TURN), line, BODY, bold=True)
            for i, line in enumerate(heads)
        ]
        ink.append(Line(((0.0, 4.6 + more), (piece.width, 4.6 + more)), "quiet", None, 0.2))
        top = HEADED + more
        for row in rows[:count]:
            ink += moved(row.ink, 0.0, top)
            top += row.height
        yield Block(title, tuple(ink), top)
        rows = rows[count:]
        title = f"{piece.title}, continued"


def lines_at(
    text: str, left: float, top: float, width: float, bold: bool = False, role: Role = "text"
) -> tuple[list[Ink], float]:
    """Small text folded to a width, and its height [mm]."""
    lines = wrapped(text, SMALL, width, bold)
    ink: list[Ink] = [
        text_at((left, top + SMALL + i * STEP), line, SMALL, bold=bold, role=role)
        for i, line in enumerate(lines)
    ]
    return ink, len(lines) * STEP


def bullets(title: str, texts: Sequence[str], width: float, numbered: bool = False) -> Piece:
    """A headed list, each text after a dash or its number."""
    rows = []
    for i, text in enumerate(texts):
        ink, high = lines_at(text, INDENT, 0.0, width - INDENT)
        sign = f"{i + 1}" if numbered else "–"
        rows.append(Row((text_at((0.0, SMALL), sign, SMALL, bold=numbered), *ink), high + GAP))
    return Piece(title, tuple(rows), width)


def faults(title: str, texts: Sequence[str], width: float) -> Piece:
    """What is seen in bold, then its likely reason and what to change."""
    rows = []
    for text in texts:
        seen, *rest = (part.strip() for part in text.split("->"))
        ink, high = lines_at(seen, INDENT, 0.0, width - INDENT, bold=True)
        if rest:
            said, more = lines_at(" → ".join(rest), INDENT, high, width - INDENT)
            ink, high = [*ink, *said], high + more
        rows.append(Row((text_at((0.0, SMALL), "–", SMALL, bold=True), *ink), high + GAP))
    return Piece(title, tuple(rows), width)


def ticks(title: str, texts: Sequence[tuple[str, str]], width: float) -> Piece:
    """Readings with a box to tick, and what goes there."""
    first = INDENT + max((text_width(a, SMALL, True) for a, _ in texts), default=0.0) + 2.0
    rows = []
    for reading, what in texts:
        top = SMALL - BOX + 0.1
        corners = ((0.0, top), (BOX, top), (BOX, top + BOX), (0.0, top + BOX))
        ink, high = lines_at(what, first, 0.0, width - first)
        rows.append(
            Row(
                (
                    Line(corners, "line", None, 0.2, closed=True),
                    text_at((INDENT, SMALL), reading, SMALL, bold=True),
                    *ink,
                ),
                high + GAP,
            )
        )
    return Piece(title, tuple(rows), width)


def table_width(head: Sequence[str], cells: Sequence[Sequence[str]]) -> float:
    """Least width of a table [mm]."""
    return sum(_widest(head, cells)) + 1.5 * (len(head) - 1)


def _widest(head: Sequence[str], cells: Sequence[Sequence[str]]) -> list[float]:
    return [
        max(text_width(row[i], SMALL, True) for row in (head, *cells)) for i in range(len(head))
    ]


def table(title: str, head: Sequence[str], cells: Sequence[Sequence[str]], width: float) -> Piece:
    """Columns under their names, the first one to the left, the others to the right.

    The last row is a sum and stands in bold over a line.
    """
    widest = _widest(head, cells)
    spare = max((width - sum(widest)) / max(len(head) - 1, 1), 1.5)
    ends, at = [widest[0]], widest[0]
    for wide in widest[1:]:
        at += spare + wide
        ends.append(at)

    def row(texts: Sequence[str], role: Role, bold: bool) -> list[Ink]:
        out: list[Ink] = [text_at((0.0, SMALL), texts[0], SMALL, role=role, bold=bold)]
        for end, text in zip(ends[1:], texts[1:], strict=True):
            out.append(text_at((end, SMALL), text, SMALL, role=role, bold=bold, align="right"))
        return [o for o in out if o.text]  # type: ignore[union-attr]

    rows = [Row(tuple(row(head, "quiet", False)), STEP)]
    rows += [Row(tuple(row(c, "text", False)), STEP) for c in cells[:-1]]
    over = Line(((0.0, -0.1), (width, -0.1)), "quiet", None, 0.15)
    rows.append(Row((over, *row(cells[-1], "text", True)), STEP + GAP))
    return Piece(title, tuple(rows), width)


def pairs(title: str, texts: Sequence[tuple[str, str]], width: float) -> Piece:
    """Names to the left, values to the right in bold."""
    rows = []
    for name, value in texts:
        right = text_width(value, SMALL, True)
        ink, high = lines_at(name, 0.0, 0.0, width - right - 3.0)
        last = text_at((width, SMALL), value, SMALL, bold=True, align="right")
        rows.append(Row((*ink, last), high))
    return Piece(title, tuple(rows), width)


def plain(title: str, text: str, width: float) -> Piece:
    """A paragraph in quiet letters."""
    ink, high = lines_at(text, 0.0, 0.0, width, role="quiet")
    return Piece(title, (Row(tuple(ink), high + GAP),), width)


def joined(title: str, *pieces: Piece) -> Piece:
    """Pieces under one heading, a little apart."""
    rows: list[Row] = []
    for i, piece in enumerate(p for p in pieces if p.rows):
        if i:
            rows.append(Row((), 1.2))
        rows += piece.rows
    return Piece(title, tuple(rows), max(p.width for p in pieces))
