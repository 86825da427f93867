"""The handout: one page to print for one athlete and one drill, and a second where one is too small.

The runway drawing is to scale and never shrinks: what does not fit goes to the next page.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from animate.body.shapes import Shape
from layout.moving.poses import KeyPose, told_in
from layout.page.page import MARGIN, PAPERS, SCALES, Ink, Line, Page, Text, moved, paper_size
from layout.page.widths import wrapped
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet import handout_blocks as blocks
from layout.sheet import handout_columns as setting
from layout.sheet import runway
from layout.sheet.band import Band, band
from layout.sheet.handout_blocks import (
    HEADED,
    HIGHS,
    TABLE,
    TALLEST,
    UNDER,
    Block,
    Drawn,
    Piece,
    parts,
    planned_columns,
    planned_rows,
    pose_strip,
    runs_of,
    writing_table,
)
from layout.sheet.runway import WAYS
from layout.sheet.texts import SMALL, Words, flowed
from layout.words.faults import BadInput, refuse

GUTTER: Final = 7.0  # Between two columns [mm]
COLUMNS: Final = (82.0, 58.0)
"""Width that a column of text has at least, and where the sheet is one page for it [mm] (ours)."""
FOOT: Final = 5.0  # Height of the line at the bottom of a page [mm]
TALLEST_ROW: Final = 16.0
"""Height of a row to write in on a page with nothing else to hold [mm] (ours)."""
TARGETS: Final = ("", "length", "share", "highest")  # Heads of the table of targets
AIMS: Final = "Targets"
CARE: Final = "Load and care"
POSITIONS: Final = "Positions"
STRIP: Final = (150.0, 120.0)
"""Least width of the strip of positions; where text stands beside it [mm] (ours)."""


@dataclass(frozen=True)
class Wish:
    """What a handout is made on."""

    paper: str = "A4"
    upright: bool | None = None
    # What is None is chosen: fewest pages, then most on the first, then the larger scale, then
    # upright; 1:200 only where nothing larger fits
    scale: int | None = None


def _columns(size: tuple[float, float], least: float) -> tuple[int, float]:
    """How many columns of text a paper has, and how wide they are [mm]."""
    wide = size[0] - 2 * MARGIN
    count = max(1, int((wide + GUTTER) / (least + GUTTER)))
    return count, (wide - GUTTER * (count - 1)) / count


@dataclass(frozen=True)
class _Top:
    """The first page down to the drawing and the positions, and where the rest may stand."""

    rooms: tuple[setting.Column, ...]
    column: float
    later: tuple[Piece, ...]
    ink: Callable[[], list[Ink]]


Made = tuple[tuple[Page, ...], tuple[str, ...]]
"""The pages of a handout, and the headings of what is not on the first."""


class Content:
    """What a handout is made of, and the ways to lay it out."""

    def __init__(
        self,
        plan: Plan,
        card: TapeCard,
        words: Words,
        poses: Sequence[KeyPose],
        figures: Sequence[Sequence[Shape]],
    ) -> None:
        self.plan, self.words, self.poses = plan, words, poses
        # Many layouts are tried, of few different parts.
        self.band = cache(lambda scale, way: band(plan, card, scale, figures, way))
        drawn = Drawn(poses)
        self.strip = cache(lambda *how: pose_strip(drawn, *how))
        self.head = cache(lambda width, scale: setting.head_of(words, width, scale, MARGIN))
        self.table = cache(lambda *how: writing_table(plan, card.system, *how))
        self.pieces = cache(self._pieces)
        self.planned = planned_rows(plan, card.system)

    def told(self, width: float) -> bool:
        """Whether the targets stand over the table to write in, where they take less room."""
        return planned_columns(self.planned, width) is not None

    def _pieces(self, width: float, high: float, many: int) -> list[Piece]:
        """Everything but the drawing and the positions, what matters most first."""
        words = self.words
        cares = blocks.bullets("", words.cautions, width)
        load = blocks.bullets("", words.load, width)
        return [
            blocks.ticks(f"Tape card: zero at the {words.zero}", words.tape, width),
            blocks.bullets("Coach", words.points, width, numbered=True),
            blocks.joined(CARE, load, cares),
            blocks.faults("Look for", words.faults, width),
            self.targets(width, self.told(width)),
            *self.table(width, high, many),
        ]

    def targets(self, width: float, told: bool) -> Piece:
        """Speed and times, after a table of the lengths unless they are `told` over another."""
        words = self.words
        table = [] if told else [blocks.table("", TARGETS, words.lengths, width)]
        numbers = words.numbers if self.poses else words.numbers + words.step
        rest = blocks.pairs("", numbers, width), blocks.plain("", words.sure, width)
        return blocks.joined(AIMS, *table, *rest)

    def _top(
        self, drawn: Band, size: tuple[float, float], least: float, tight: setting.Tight
    ) -> _Top | None:
        """The head, the drawing and the positions of the first page; None where they do not fit."""
        wide, bottom = size[0] - 2 * MARGIN, size[1] - MARGIN - FOOT
        head, top = self.head(wide, drawn.scale)
        count, column = _columns(size, least)
        if drawn.width > wide or top + drawn.height > bottom:
            return None

        def span(columns: int) -> float:
            """Width of so many columns [mm]."""
            return columns * (column + GUTTER) - GUTTER

        def over(needs: float) -> int:
            """How many columns something takes."""
            return next((k for k in range(1, count + 1) if needs <= span(k)), count)

        # Beside the drawing, and the positions too, there may be room for columns of text.
        bare, told = over(drawn.width), over(max(drawn.width, drawn.legend + 1.0))
        shown = bool(self.poses) and tight.figures > 0
        stands = 0
        if shown:
            stands = over(STRIP[1]) if tight.beside else max(told, over(STRIP[0]))
        strip = self.strip(span(stands), tight.figures) if shown else None
        at, under = top, top + drawn.height + setting.APART
        later = strip is not None and under + strip.height > bottom
        low = under + strip.height + 1.0 if strip and not later else under
        beside, below = [], []
        for i in range(count):
            x = MARGIN + i * (column + GUTTER)
            if i >= max(told, stands):
                beside.append(setting.Column(x, top + 1.0, bottom - top - 1.0))
                continue
            if i >= bare:
                deep = drawn.height if i >= told else drawn.clear
                beside.append(setting.Column(x, top + 1.0, deep - 1.0))
            start = low if i < stands else under
            below.append(setting.Column(x, start, bottom - start))

        def ink() -> list[Ink]:
            middle = MARGIN + (span(bare) - drawn.width) / 2.0
            runs = drawn.ink(middle, MARGIN + 1.0, at)
            placed_strip = moved(strip.ink, MARGIN, under - 2.0) if strip and not later else []
            return [*head, *runs, *placed_strip]

        left = later or (bool(self.poses) and not shown)
        behind = (Piece(POSITIONS, (), wide),) if left else ()
        return _Top((*beside, *below), column, behind, ink)

    def _next(
        self, rest: Sequence[Piece], size: tuple[float, float]
    ) -> tuple[list[Ink], list[Piece]]:
        """A later page: a short head, positions left over, columns, and the table as wide as the page."""
        wide, bottom = size[0] - 2 * MARGIN, size[1] - MARGIN - FOOT
        lines = wrapped(f"{self.words.name}: {self.words.title}", 4.0, wide - 30.0, True)
        y = MARGIN + 4.8 * len(lines) + 0.96
        ink: list[Ink] = [
            *flowed(lines, (MARGIN, MARGIN + 3.36), 4.0, 4.8, bold=True),
            Text((MARGIN + wide, MARGIN + 3.4), self.words.date, SMALL, align="right"),
            Line(((MARGIN, y), (MARGIN + wide, y)), "quiet", None, 0.2),
        ]
        y += 2.5
        if any(piece.title == POSITIONS for piece in rest):
            # Alone on a page they are as large as it holds.
            rows = 2 if len(rest) == 1 and size[1] > size[0] else 1
            tall = (bottom - y) / rows - UNDER if len(rest) == 1 else TALLEST
            strip = self.strip(wide, setting.TIGHTS[0].figures, tall, rows)
            ink += moved(strip.ink, MARGIN, y - 2.5)
            y += strip.height + setting.APART
        count, column = _columns(size, COLUMNS[0])
        rooms = [
            setting.Column(MARGIN + i * (column + GUTTER), y, bottom - y) for i in range(count)
        ]
        first = [piece for piece in rest if piece.title == TABLE]
        others = [piece for piece in rest if piece.title not in (POSITIONS, TABLE)]
        if any(piece.title.startswith(TABLE) for piece in others):
            # Parts that earlier pages had no room for.
            items, where, left = setting.split([*others, *first], rooms)
            return [*ink, *setting.placed(items, where, rooms)], left
        # The table has the targets over it, where it is wide enough.
        told = bool(first) and self.told(wide)
        slim = [self.targets(column, told) if p.title == AIMS else p for p in others]
        items, where, left = setting.split(slim, rooms)
        if left or not first:
            return [*ink, *setting.placed(items, where, rooms)], [*left, *first]
        deep = max(
            sum(b.height + setting.APART for b, w in zip(items, where, strict=True) if w == i)
            for i in range(count)
        )

        def table(high: float) -> Block:
            (block,) = parts(self.table(wide, high)[0], bottom)
            return block

        spare = bottom - y - deep - table(HIGHS[1]).height
        if spare >= 0.0:
            high = min(HIGHS[1] + spare / runs_of(self.plan), TALLEST_ROW)
            ink += [*setting.placed(items, where, rooms), *moved(table(high).ink, MARGIN, y + deep)]
            return ink, []
        # Rows that a column of an empty page has room for, its heading aside.
        each = int((bottom - y - 2 * HIGHS[0] - HEADED) / HIGHS[0])
        pieces = max(-(-runs_of(self.plan) // each), count)
        split_up = self.table(column, HIGHS[0], pieces)
        items, where, left = setting.split([*others, *split_up], rooms)
        return [*ink, *setting.placed(items, where, rooms)], left

    def _bound(
        self,
        sheets: Sequence[tuple[Sequence[Ink], Sequence[Piece]]],
        size: tuple[float, float],
        scale: int,
    ) -> Made:
        """Pages with their feet."""
        out = []
        for i, (ink, rest) in enumerate(sheets, start=1):
            foot = setting.foot_of(size, i, len(sheets), rest)
            title = f"{self.words.name}: {self.words.title}, 1:{scale}"
            title += f", page {i}" if len(sheets) > 1 else ""
            out.append(Page(size[0], size[1], scale, title, (*ink, *foot)))
        return tuple(out), tuple(piece.title for piece in sheets[0][1])

    def _one_page(
        self, drawn: Band, size: tuple[float, float], tight: setting.Tight
    ) -> Made | None:
        """Everything on one page, but for positions that have their own; None where it does not fit."""
        for least in COLUMNS:
            top = self._top(drawn, size, least, tight)
            if top is None or (top.later and tight.figures):
                continue
            # A column holds the targets over the table to write in, or as a table of their own.
            wide = blocks.table_width(TARGETS, self.words.lengths)
            if wide > top.column and not self.told(top.column):
                continue
            found = setting.whole(self.pieces(top.column, tight.high, tight.parts), top.rooms)
            if found is not None:
                sheets = [([*top.ink(), *setting.placed(*found, top.rooms)], top.later)]
                sheets += [(self._next(top.later, size)[0], ())] if top.later else []
                return self._bound(sheets, size, drawn.scale)
        return None

    def _pages(self, drawn: Band, size: tuple[float, float]) -> Made | None:
        """As many pages as it takes; None where the drawing does not fit."""
        top = self._top(drawn, size, COLUMNS[0], setting.TIGHTS[0])
        if top is None:
            return None
        items, where, rest = setting.split(self.pieces(top.column, HIGHS[0], 1), top.rooms)
        sheets = [([*top.ink(), *setting.placed(items, where, top.rooms)], [*top.later, *rest])]
        while sheets[-1][1]:
            sheets.append(self._next(sheets[-1][1], size))
            assert len(sheets) < 20, "a piece that fits no page"
        return self._bound(sheets, size, drawn.scale)

    def best(self, scales: Sequence[int], sizes: Sequence[tuple[float, float]]) -> Made | None:
        """One page if there is a way, the roomiest first; else the positions on a second one; else the
        fewest, the start mark, most on the first."""
        drawings = [(self.band(s, w), size) for s in scales for w in WAYS for size in sizes]
        for tight in (*setting.TIGHTS, *(setting.BEHIND if self.poses else ())):
            for drawn, size in drawings:
                if (made := self._one_page(drawn, size, tight)) is not None:
                    return made
        found = [
            ((len(pages), CARE in later, drawn.run_in == "none", len(later), drawn.scale), made)
            for drawn, size in drawings
            for made in [self._pages(drawn, size)]
            if made is not None
            for pages, later in [made]
        ]
        return min(found, key=lambda pair: pair[0])[1] if found else None

    def refused(self, wish: Wish) -> BadInput:
        """That it does not fit, and what would."""

        def fits(scale: int, paper: str, upright: bool) -> bool:
            size = paper_size(paper, upright)
            return (
                self._top(self.band(scale, "none"), size, COLUMNS[0], setting.TIGHTS[0]) is not None
            )

        scale = wish.scale or SCALES[-1]
        turned = (False, True) if wish.upright is None else (wish.upright,)
        here = [s for s in SCALES if any(fits(s, wish.paper, u) for u in turned)]
        hints = [f"1:{s} on this paper" for s in here[:1]]
        others = [(p, u) for p in PAPERS for u in (False, True) if fits(scale, p, u)]
        hints += [f"1:{scale} on {p} {'upright' if u else 'across'}" for p, u in others[:1]]
        hint = f"would fit: {' or '.join(hints)}" if hints else "no scale or paper here holds it"
        low, high = runway.extent(self.plan)
        return refuse("scale", f"{high - low:.1f} m does not fit this paper; {hint}", f"1:{scale}")


def handout(
    plan: Plan,
    card: TapeCard,
    poses: Sequence[KeyPose] = (),
    reading: Mapping[str, str] | None = None,
    wish: Wish | None = None,
    figures: Sequence[Sequence[Shape]] = (),
) -> tuple[Page, ...]:
    """The handout of a plan: one page, or more where one is too small.

    poses: `layout.moving.poses.key_poses`; none leaves the positions out.
    reading: what the step contact measures: `Reading.shown()`.
    figures: `layout.moving.poses.at_marks`, for the runway; a sketch where left out.
    Raises BadInput: the drawing does not fit the paper at the scale; says which scale or paper would.
    """
    wish = wish or Wish()
    content = Content(plan, card, Words(plan, card, reading), told_in(poses, card.system), figures)
    ways = (True, False) if wish.upright is None else (wish.upright,)
    sizes = [paper_size(wish.paper, upright) for upright in ways]
    for scales in ((wish.scale,),) if wish.scale else (SCALES[:2], SCALES[2:]):
        made = content.best(scales, sizes)
        if made is not None:
            return made[0]
    raise content.refused(wish)
