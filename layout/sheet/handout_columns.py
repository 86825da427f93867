"""How a handout's page is set: how close, its head and foot, which block stands in which column."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from layout.page.page import BODY, MARGIN, Ink, Line, Text, moved
from layout.page.widths import text_width, wrapped
from layout.sheet.handout_blocks import HEADED, HIGHS, TABLE, Block, Piece, parts
from layout.sheet.texts import ADVICE, SMALL, TURN, Words, columns, flowed

APART: Final = 3.0  # Between two blocks one over the other [mm]
EVEN: Final = 3.0  # How unlike the heights of columns may be for no reason [mm] (ours)
SHARES: Final = (0.75, 0.5, 0.35)
"""How small a piece may be broken, of the highest column [-] (ours)."""
LAST: Final = (TABLE, "Targets", "Look for")
"""What goes to a second page first; warnings and cautions never do while there is room."""


@dataclass(frozen=True)
class Tight:
    """How close a page is set."""

    # The strip of positions is drawn no larger than 1 to this; 0 leaves it to a page of its own
    figures: int = 20
    high: float = HIGHS[0]  # Of a row to write in [mm]
    parts: int = 1  # Into how many the table may be broken
    beside: bool = False  # Whether text may stand beside the positions


TIGHTS: Final = (
    Tight(),
    Tight(50, HIGHS[1]),
    Tight(60, HIGHS[1], 2),
    Tight(75, HIGHS[1]),
    Tight(75, HIGHS[1], 2),
    *(Tight(scale, HIGHS[2], many, True) for scale in (75, 100) for many in (1, 2)),
)
"""From roomy to close; the first that makes one page is taken (ours)."""
BEHIND: Final = tuple(Tight(0, high, parts) for high in HIGHS[:2] for parts in (1, 2))
"""The positions large on the second page, all else on the first (ours)."""


@dataclass(frozen=True)
class Column:
    """Where blocks may stand: left edge, top and height [mm]."""

    left: float
    top: float
    height: float


def assigned(items: Sequence[Block], rooms: Sequence[float]) -> list[int] | None:
    """A column for each block so that all fit, early blocks in early columns; None if they cannot."""
    dead: set[tuple[int, tuple[float, ...]]] = set()
    highs = [item.height + APART for item in items]
    still = [sum(highs[at:]) for at in range(len(items))]

    def place(at: int, left: tuple[float, ...]) -> list[int] | None:
        if at == len(items):
            return []
        if still[at] > sum(max(room + APART, 0.0) for room in left) + 1e-6:
            return None
        # Columns with the same room left are the same to whatever is still to come.
        state = at, tuple(sorted(round(room, 1) for room in left))
        if state in dead:
            return None
        high = items[at].height
        for i, room in enumerate(left):
            if high <= room + 1e-9:
                rest = place(at + 1, (*left[:i], room - high - APART, *left[i + 1 :]))
                if rest is not None:
                    return [i, *rest]
        dead.add(state)
        return None

    return place(0, tuple(rooms))


def even(items: Sequence[Block], rooms: Sequence[float]) -> list[int] | None:
    """As `assigned`, with columns as even as a few millimetres allow."""
    if (
        sum(item.height for item in items) > sum(max(r, 0.0) for r in rooms)
        or assigned(items, rooms) is None
    ):
        return None
    level = sum(item.height + APART for item in items) / max(len(rooms), 1)
    while (found := assigned(items, [min(r, level) for r in rooms])) is None:
        level += EVEN
    return found


def placed(items: Sequence[Block], where: Sequence[int], rooms: Sequence[Column]) -> Iterator[Ink]:
    """The ink of blocks, each in its column under the one before."""
    tops = [room.top for room in rooms]
    for item, i in zip(items, where, strict=True):
        yield from moved(item.ink, rooms[i].left, tops[i])
        tops[i] += item.height + APART


def whole(pieces: Sequence[Piece], rooms: Sequence[Column]) -> tuple[list[Block], list[int]] | None:
    """All pieces on one page, a high one broken over columns if need be; None where they do not fit."""
    tallest = max((r.height for r in rooms), default=0.0)
    # Pieces have at least their rows and a heading: most rooms are too small at a glance.
    least = sum(HEADED + sum(row.height for row in piece.rows) for piece in pieces)
    if least > sum(r.height for r in rooms):
        return None
    for share in (1.0, *SHARES):
        items = [block for piece in pieces for block in parts(piece, share * tallest)]
        where = even(items, [r.height for r in rooms])
        if where is not None:
            # A table that is broken is read from the left to the right.
            at = [i for item, i in zip(items, where, strict=True) if item.title.startswith(TABLE)]
            if at == sorted(at):
                return items, where
    return None


def split(
    pieces: Sequence[Piece], rooms: Sequence[Column]
) -> tuple[list[Block], list[int], list[Piece]]:
    """What stands on this page and where, and what goes to the next.

    Pieces leave in the order of `LAST`, then from the end; one that is higher than any column is
    broken over several.
    """
    kept = list(pieces)
    leave = [p for title in LAST for p in reversed(kept) if p.title.startswith(title)]
    last = len(leave)
    leave += [p for p in reversed(kept) if p not in leave]
    tallest = max((r.height for r in rooms), default=0.0)
    gone: list[Piece] = []
    while True:
        # Before a caution leaves, it is broken over columns.
        spare = () if len(gone) < last else SHARES
        for share in (1.0, *spare):
            items = [block for piece in kept for block in parts(piece, share * tallest)]
            where = even(items, [r.height for r in rooms])
            if where is not None:
                return items, where, [p for p in pieces if p in gone]
        out = leave[len(gone)]
        gone.append(out)
        kept.remove(out)


SHORT: Final = {TABLE: "table"}


def head_of(words: Words, width: float, scale: int, left: float) -> tuple[list[Ink], float]:
    """Title, job, facts and warnings at the top of the first page, and where they end [mm]."""
    right = left + width
    ink: list[Ink] = [Text((right, MARGIN + 5.0), f"1:{scale}", 6.4, align="right", bold=True)]
    room = width - 30.0
    title = f"{words.name}: {words.title}"
    big = next((s for s in (6.0, 5.2, 4.6) if text_width(title, s, True) <= room), 4.0)
    lines = wrapped(title, big, room, True)
    ink += flowed(lines, (left, MARGIN + 0.84 * big), big, 1.2 * big, bold=True)
    y = max(MARGIN + big * (1.2 * len(lines) - 0.36), MARGIN + 5.0) + 1.0
    for text, em in ((words.job, BODY), (" ".join(words.facts), SMALL)):
        lines = wrapped(text, em, width)
        ink += flowed(lines, (left, y + em * TURN), em, em * TURN)
        y += len(lines) * em * TURN
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
        Text((left, y), ADVICE, SMALL, role="quiet"),
    ]
    if count > 1:
        heads = [p.title.partition(":")[0].partition(",")[0] for p in rest]
        names = ", ".join(dict.fromkeys(SHORT.get(head, head.lower()) for head in heads))
        room = right - left - text_width(ADVICE, SMALL) - 6.0
        for said in (f"page {number} of {count}; next: {names}", f"page {number} of {count}"):
            if (rest or "next" not in said) and text_width(said, SMALL) <= room:
                out.append(Text((right, y), said, SMALL, role="quiet", align="right"))
                break
    return out
