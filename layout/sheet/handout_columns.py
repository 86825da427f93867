"""How close a handout is set, which block stands in which column, what goes to the next page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from layout.page.page import Ink, moved
from layout.sheet.handout_blocks import HEADED, Block, Piece, parts
from layout.sheet.writing_table import HIGHS, TABLE

APART: Final = 3.0
"""Between two blocks one over the other [mm]."""
EVEN: Final = 3.0
"""How unlike the heights of columns may be for no reason [mm] (ours)."""
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

    def place(at: int, left: tuple[float, ...]) -> list[int] | None:
        if at == len(items):
            return []
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
        if where is not None and _in_order(items, where):
            return items, where
    return None


def _in_order(items: Sequence[Block], where: Sequence[int]) -> bool:
    """Whether a table that is broken is read from the left to the right."""
    at = [i for item, i in zip(items, where, strict=True) if item.title.startswith(TABLE)]
    return at == sorted(at)


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
