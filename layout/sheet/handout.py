"""The handout: one page to print for one athlete and one drill, and a second where one is too small.

The runway drawing is to scale and never shrinks: what does not fit goes to the next page.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from layout.faults import BadInput, refuse
from layout.moving.poses import KeyPose
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet import handout_blocks as blocks
from layout.sheet import runway
from layout.sheet.band import Band, band
from layout.sheet.handout_blocks import Piece, moved, parts
from layout.sheet.handout_columns import APART, Column, placed, split
from layout.sheet.handout_poses import pose_strip
from layout.sheet.handout_text import ADVICE, Words, words_of
from layout.sheet.page import (
    BODY,
    MARGIN,
    PAPERS,
    SCALES,
    Ink,
    Line,
    Page,
    paper_size,
)
from layout.sheet.texts import SMALL, TURN, columns, text_at
from layout.sheet.widths import text_width, wrapped
from layout.sheet.writing_table import TABLE, writing_table

GUTTER: Final = 7.0
"""Between two columns [mm]."""
COLUMN: Final = 82.0
"""Least width of a column of text [mm] (ours)."""
FOOT: Final = 5.0
"""Height of the line at the bottom of a page [mm]."""
POSITIONS: Final = "Positions"
SHORT: Final = {TABLE: "table"}
STRIP: Final = 150.0
"""Least width of the strip of positions [mm] (ours)."""
FEWEST: Final = 4
MOST: Final = 12
"""Rows to write in on a first page at least, and on any at most (ours)."""


@dataclass(frozen=True)
class Wish:
    """What a handout is made on.

    Attributes
    ----------
    paper : str
    upright : bool or None
    scale : int or None
        What is None is chosen: fewest pages, then most on the first, then the larger scale, then
        upright; 1:200 only where nothing larger fits.
    """

    paper: str = "A4"
    upright: bool | None = None
    scale: int | None = None


def _head(words: Words, width: float, scale: int, left: float) -> tuple[list[Ink], float]:
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


def _foot(size: tuple[float, float], number: int, count: int, rest: Sequence[Piece]) -> list[Ink]:
    left, right = MARGIN, size[0] - MARGIN
    y = size[1] - MARGIN - 0.7
    out: list[Ink] = [
        Line(((left, y - 3.8), (right, y - 3.8)), "quiet", None, 0.2),
        text_at((left, y), ADVICE, SMALL, role="quiet"),
    ]
    if count > 1:
        names = ", ".join(SHORT.get(p.title, p.title.partition(":")[0].lower()) for p in rest)
        room = right - left - text_width(ADVICE, SMALL) - 6.0
        for said in (f"page {number} of {count}; next: {names}", f"page {number} of {count}"):
            if (rest or "next" not in said) and text_width(said, SMALL) <= room:
                out.append(text_at((right, y), said, SMALL, role="quiet", align="right"))
                break
    return out


def _pieces(
    plan: Plan, card: TapeCard, words: Words, width: float, rows: int, figures: bool
) -> list[Piece]:
    """Everything but the drawing and the positions, what matters most first."""
    cares = blocks.bullets("", words.cautions, width)
    load = blocks.bullets("", words.load, width)
    head = ("", "length", "share", "highest")
    targets = blocks.table("", head, words.lengths, width)
    numbers = blocks.pairs("", words.numbers if figures else words.numbers + words.step, width)
    sure = blocks.plain("", words.sure, width)
    return [
        blocks.ticks(f"Tape card: zero at the {words.zero}", words.tape, width),
        blocks.bullets("Coach", words.points, width, numbered=True),
        blocks.joined("Load and care", load, cares),
        blocks.faults("Look for", words.faults, width),
        blocks.joined("Targets", targets, numbers, sure),
        writing_table(plan, card, width, rows),
    ]


def _columns(size: tuple[float, float]) -> tuple[int, float]:
    """How many columns of text a paper has, and how wide they are [mm]."""
    wide = size[0] - 2 * MARGIN
    count = max(1, int((wide + GUTTER) / (COLUMN + GUTTER)))
    return count, (wide - GUTTER * (count - 1)) / count


def _rows(plan: Plan) -> int:
    return min(max(plan.load.sets * plan.load.runs, FEWEST), MOST)


def _first(
    plan: Plan,
    card: TapeCard,
    words: Words,
    poses: Sequence[KeyPose],
    drawn: Band,
    size: tuple[float, float],
) -> tuple[list[Ink], list[Piece]] | None:
    """The first page without its foot, and what is left over; None where the drawing does not fit."""
    wide, bottom = size[0] - 2 * MARGIN, size[1] - MARGIN - FOOT
    ink, top = _head(words, wide, drawn.scale, MARGIN)
    count, column = _columns(size)
    over = wide - column - GUTTER
    # Beside the drawing there may be room for a whole column of text.
    needs = max(drawn.width, drawn.legend + 1.0, STRIP if poses else 0.0)
    beside = count > 1 and needs <= over
    width = over if beside else wide
    if drawn.width > wide or top + drawn.height > bottom:
        return None
    # Beside the drawing alone there may be room for a block or two.
    aside = count > 1 and drawn.width <= over and not beside
    left = MARGIN + ((over if beside or aside else wide) - drawn.width) / 2.0
    ink += drawn.ink(left, MARGIN + 1.0, top)
    under = top + drawn.height + (1.0 if poses else APART)
    later: list[Piece] = []
    if poses:
        strip = pose_strip(poses, width)
        if under + strip.height <= bottom:
            ink += moved(strip.ink, MARGIN, under)
            under += strip.height + APART
        else:
            later = [Piece(POSITIONS, (), width)]
    lefts = [MARGIN + i * (column + GUTTER) for i in range(count)]
    rooms = [Column(x, under, bottom - under) for x in lefts]
    if beside:
        rooms = [Column(lefts[-1], top + 1.0, bottom - top - 1.0), *rooms[:-1]]
    if aside:
        rooms = [Column(lefts[-1], top + 1.0, drawn.clear - 1.0), *rooms]
    best = None
    for rows in sorted({_rows(plan), 8, 6, FEWEST}, reverse=True):
        if rows > _rows(plan):
            continue
        items, where, rest = split(_pieces(plan, card, words, column, rows, bool(poses)), rooms)
        if best is None or len(rest) < len(best[2]):
            best = items, where, rest
    assert best is not None
    items, where, rest = best
    return [*ink, *placed(items, where, rooms)], [*later, *rest]


def _next(
    plan: Plan,
    card: TapeCard,
    words: Words,
    poses: Sequence[KeyPose],
    rest: Sequence[Piece],
    size: tuple[float, float],
) -> tuple[list[Ink], list[Piece]]:
    """A later page: a short head, positions left over, columns, and the table as wide as the page."""
    wide, bottom = size[0] - 2 * MARGIN, size[1] - MARGIN - FOOT
    ink: list[Ink] = []
    y = MARGIN
    for line in wrapped(f"{words.name}: {words.title}", 4.0, wide - 30.0, True):
        y += 4.0 * (1.2 if y > MARGIN else 0.84)
        ink.append(text_at((MARGIN, y), line, 4.0, bold=True))
    ink.append(text_at((MARGIN + wide, MARGIN + 3.4), words.date, SMALL, align="right"))
    y += 2.4
    ink.append(Line(((MARGIN, y), (MARGIN + wide, y)), "quiet", None, 0.2))
    y += 2.5
    if any(piece.title == POSITIONS for piece in rest):
        strip = pose_strip(poses, wide)
        ink += moved(strip.ink, MARGIN, y)
        y += strip.height + APART
    table = [piece for piece in rest if piece.title == TABLE]
    others = [piece for piece in rest if piece.title not in (POSITIONS, TABLE)]
    count, column = _columns(size)
    rooms = [Column(MARGIN + i * (column + GUTTER), y, bottom - y) for i in range(count)]
    items, where, left = split(others, rooms)
    ink += placed(items, where, rooms)
    if not table or left:
        return ink, [*left, *table]
    for i in range(count):
        y = max(
            y,
            rooms[i].top
            + sum(b.height + APART for b, w in zip(items, where, strict=True) if w == i),
        )
    for rows in range(_rows(plan), min(_rows(plan), FEWEST) - 1, -1):
        (block,) = parts(writing_table(plan, card, wide, rows), bottom)
        if y + block.height <= bottom:
            return [*ink, *moved(block.ink, MARGIN, y)], []
    return ink, table


def _composed(
    plan: Plan,
    card: TapeCard,
    words: Words,
    poses: Sequence[KeyPose],
    drawn: Band,
    size: tuple[float, float],
) -> tuple[tuple[Page, ...], int] | None:
    """The pages, and how many pieces are not on the first; None where the drawing does not fit."""
    first = _first(plan, card, words, poses, drawn, size)
    if first is None:
        return None
    sheets = [first]
    while sheets[-1][1]:
        sheets.append(_next(plan, card, words, poses, sheets[-1][1], size))
        assert len(sheets) < 20, "a piece that fits no page"
    out = []
    for i, (ink, rest) in enumerate(sheets, start=1):
        foot = _foot(size, i, len(sheets), rest)
        title = f"{words.name}: {words.title}, 1:{drawn.scale}"
        title += f", page {i}" if len(sheets) > 1 else ""
        out.append(Page(size[0], size[1], drawn.scale, title, (*ink, *foot)))
    return tuple(out), len(first[1])


def handout(
    plan: Plan,
    card: TapeCard,
    poses: Sequence[KeyPose] = (),
    reading: Mapping[str, str] | None = None,
    wish: Wish | None = None,
) -> tuple[Page, ...]:
    """Compose the handout of a plan.

    Parameters
    ----------
    plan : Plan
    card : TapeCard
    poses : sequence of KeyPose
        `layout.moving.poses.key_poses`; none leaves the strip of positions out.
    reading : mapping of str to str, optional
        What the step contact measures: `Reading.shown()`.
    wish : Wish, optional

    Returns
    -------
    tuple of Page
        One, or more where one is too small.

    Raises
    ------
    BadInput
        The drawing does not fit the paper at the scale; says which scale or paper would.
    """
    wish = wish or Wish()
    words = words_of(plan, card, reading)
    ways = (True, False) if wish.upright is None else (wish.upright,)
    sizes = [paper_size(wish.paper, upright) for upright in ways]
    for scales in ((wish.scale,),) if wish.scale else (SCALES[:2], SCALES[2:]):
        found = []
        for scale in scales:
            drawn = band(plan, card, scale)
            for size in sizes:
                made = _composed(plan, card, words, poses, drawn, size)
                if made is not None:
                    found.append(made)
        if found:
            return min(found, key=lambda made: (len(made[0]), made[1], made[0][0].scale))[0]
    raise _refused(plan, card, words, poses, wish)


def _refused(
    plan: Plan, card: TapeCard, words: Words, poses: Sequence[KeyPose], wish: Wish
) -> BadInput:
    """That it does not fit, and what would."""

    def fits(scale: int, paper: str, upright: bool) -> bool:
        drawn, size = band(plan, card, scale), paper_size(paper, upright)
        return _composed(plan, card, words, poses, drawn, size) is not None

    scale = wish.scale or SCALES[-1]
    turned = (False, True) if wish.upright is None else (wish.upright,)
    here = [s for s in SCALES if any(fits(s, wish.paper, u) for u in turned)]
    hints = [f"1:{s} on this paper" for s in here[:1]]
    others = [(p, u) for p in PAPERS for u in (False, True) if fits(scale, p, u)]
    hints += [f"1:{scale} on {p} {'upright' if u else 'across'}" for p, u in others[:1]]
    hint = f"would fit: {' or '.join(hints)}" if hints else "no scale or paper here holds it"
    low, high = runway.extent(plan)
    return refuse("scale", f"{high - low:.1f} m does not fit this paper; {hint}", f"1:{scale}")
