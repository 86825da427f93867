"""Pieces of a handout as rows of ink for a column: lists, tables, the table to write in, positions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate
from typing import Final

from animate.body.shapes import Role
from layout.moving.poses import KeyPose
from layout.page.page import BODY, Ink, Line, Point, Text, View, corners, extent, moved, thinned
from layout.page.widths import text_width, wrapped
from layout.plan.value import Plan
from layout.sheet.texts import SMALL, TURN, flowed
from layout.words.feet import as_read
from layout.words.units import System, show_length

STEP: Final = SMALL * TURN  # From one line of text to the next [mm]
HEADED: Final = 5.8  # Height of a piece's heading [mm]
INDENT: Final = 3.6
BOX: Final = 2.3  # Side of a box to tick [mm]
GAP: Final = 0.4  # Between two rows [mm]
SCALES: Final = (20, 25, 30, 40, 50, 60, 75, 100)  # Scales a strip may have; said over it (ours)
TALLEST: Final = 37.0  # Height the figures may take [mm] (ours)
UNDER: Final = 28.0  # Room for the names and figures under a row of large ones [mm] (ours)
SIDE: Final = 1.5  # Free edge inside a cell [mm]


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
    """A piece as blocks no higher than a limit [mm], but for single rows; one, unless it is too high."""
    title, rows = piece.title, list(piece.rows)
    while rows:
        heads = wrapped(title, BODY, piece.width, True)
        more = BODY * TURN * (len(heads) - 1)
        tops = list(accumulate((row.height for row in rows), initial=HEADED + more))
        count = max(sum(top <= limit for top in tops[1:]), 1)
        ink = flowed(heads, (0.0, 3.2), BODY, BODY * TURN, bold=True)
        ink.append(Line(((0.0, 4.6 + more), (piece.width, 4.6 + more)), "quiet", None, 0.2))
        for row, top in zip(rows[:count], tops, strict=False):
            ink += moved(row.ink, 0.0, top)
        yield Block(title, tuple(ink), tops[count])
        rows = rows[count:]
        title = f"{piece.title}, continued"


def _lines(
    text: str, left: float, width: float, top: float = 0.0, bold: bool = False, role: Role = "text"
) -> tuple[list[Ink], float]:
    """Small text folded to a width, and where it ends [mm]."""
    lines = wrapped(text, SMALL, width, bold)
    ink = flowed(lines, (left, top + SMALL), SMALL, STEP, bold=bold, role=role)
    return ink, top + len(lines) * STEP


def bullets(title: str, texts: Sequence[str], width: float, numbered: bool = False) -> Piece:
    """A headed list, each text after a dash or its number."""
    rows = []
    for i, text in enumerate(texts, start=1):
        ink, high = _lines(text, INDENT, width - INDENT)
        sign = Text((0.0, SMALL), f"{i}" if numbered else "–", SMALL, bold=numbered)
        rows.append(Row((sign, *ink), high + GAP))
    return Piece(title, tuple(rows), width)


def faults(title: str, texts: Sequence[str], width: float) -> Piece:
    """What is seen in bold, then its likely reason and what to change."""
    rows = []
    for text in texts:
        seen, *rest = (part.strip() for part in text.split("->"))
        ink, high = _lines(seen, INDENT, width - INDENT, bold=True)
        if rest:
            said, high = _lines(" → ".join(rest), INDENT, width - INDENT, high)
            ink += said
        rows.append(Row((Text((0.0, SMALL), "–", SMALL, bold=True), *ink), high + GAP))
    return Piece(title, tuple(rows), width)


def ticks(title: str, texts: Sequence[tuple[str, str]], width: float) -> Piece:
    """Readings with a box to tick, and what goes there."""
    first = INDENT + max((text_width(a, SMALL, True) for a, _ in texts), default=0.0) + 2.0
    top = SMALL - BOX + 0.1
    box = Line(corners(0.0, BOX, top, top + BOX), "line", None, 0.2, closed=True)
    rows = []
    for reading, what in texts:
        ink, high = _lines(what, first, width - first)
        rows.append(Row((box, Text((INDENT, SMALL), reading, SMALL, bold=True), *ink), high + GAP))
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
        out: list[Ink] = [Text((0.0, SMALL), texts[0], SMALL, role=role, bold=bold)]
        for end, text in zip(ends[1:], texts[1:], strict=True):
            out.append(Text((end, SMALL), text, SMALL, role=role, bold=bold, align="right"))
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
        ink, high = _lines(name, 0.0, width - text_width(value, SMALL, True) - 3.0)
        last = Text((width, SMALL), value, SMALL, bold=True, align="right")
        rows.append(Row((*ink, last), high))
    return Piece(title, tuple(rows), width)


def plain(title: str, text: str, width: float) -> Piece:
    """A paragraph in quiet letters."""
    ink, high = _lines(text, 0.0, width, role="quiet")
    return Piece(title, (Row(tuple(ink), high + GAP),), width)


def joined(title: str, *pieces: Piece) -> Piece:
    """Pieces under one heading, a little apart."""
    rows: list[Row] = []
    for i, piece in enumerate(p for p in pieces if p.rows):
        if i:
            rows.append(Row((), 1.2))
        rows += piece.rows
    return Piece(title, tuple(rows), max(p.width for p in pieces))


class Drawn:
    """The key instants as figures, drawn once at each scale: many strips are tried, of few scales."""

    def __init__(self, poses: Sequence[KeyPose]) -> None:
        self.poses = poses
        self.at = cache(self._at)
        self.box = cache(lambda scale: [extent(ink) for ink in self.at(scale)])
        self.thin = cache(lambda scale: [thinned(ink) for ink in self.at(scale)])

    def _at(self, scale: int) -> list[list[Ink]]:
        view = View(scale, 0.0, 0.0)
        return [view.ink(pose.shapes, f"pose-{i}") for i, pose in enumerate(self.poses)]


def pose_strip(
    figures: Drawn,
    width: float,
    least: int = SCALES[0],
    tallest: float = TALLEST,
    rows: int = 1,
) -> Block:
    """The key instants in rows with names and figures, no larger than 1 to `least`, so high [mm]."""
    many = -(-len(figures.poses) // rows)
    cell = width / many
    room = cell - 2 * SIDE
    for scale in (s for s in SCALES if s >= least):
        boxes = figures.box(scale)
        tall = max(-box[1] for box in boxes)
        if tall <= tallest and all(box[2] - box[0] <= room for box in boxes):
            break
    ink: list[Ink] = [Line(((0.0, 0.0), (width, 0.0)), "quiet", None, 0.2)]
    said = f"Figures 1:{scale}"
    middles = [(i + 0.5) * cell for i in range(many)]
    at = _free(middles, boxes[:many], width, text_width(said, SMALL))
    base = 1.5 + tall + (0.0 if at is not None else STEP)
    ink.append(Text((at or 0.0, 4.0), said, SMALL, role="quiet"))
    deep = 0.0
    each = zip(figures.poses, figures.thin(scale), boxes, strict=True)
    for i, (pose, shapes, box) in enumerate(each):
        if i and i % many == 0:
            base = deep + 4.0 + tall
        middle = middles[i % many]
        ink += moved(shapes, middle - (box[0] + box[2]) / 2.0, base)
        told, low = _told(pose, i + 1, (middle, base + max(box[3], 0.0) + 4.6), room)
        ink += told
        deep = max(deep, low)
    return Block(f"Positions, 1:{scale}", tuple(ink), deep)


def _told(pose: KeyPose, number: int, at: Point, width: float) -> tuple[list[Ink], float]:
    """The name and figures under a figure, and where they end [mm]."""
    name = wrapped(f"{number}. {pose.label}", SMALL, width, True)
    listed = _listed(pose.measures, width)
    low = at[0], at[1] + len(name) * STEP
    ink = flowed(name, at, SMALL, STEP, bold=True, align="middle")
    ink += flowed(listed, low, SMALL, STEP, align="middle")
    return ink, low[1] + (len(listed) - 1) * STEP + 0.8


def _free(
    middles: Sequence[float], boxes: Sequence[tuple[float, ...]], width: float, wide: float
) -> float | None:
    """Where something so wide stands beside all figures; None where there is no such place [mm]."""
    ends = [0.0]
    for middle, (left, _, right, _) in zip(middles, boxes, strict=True):
        half = (right - left) / 2.0 + SIDE
        ends += [middle - half, middle + half]
    ends.append(width)
    gaps = zip(ends[::2], ends[1::2], strict=True)
    return next((start for start, end in gaps if end - start >= wide), None)


def _listed(items: Sequence[tuple[str, str]], width: float) -> list[str]:
    """Names and values one after the other; what is too wide for a line breaks before its value."""
    lines: list[str] = []
    for i, (name, value) in enumerate(items):
        said = value + ("," if i < len(items) - 1 else "")
        whole = f"{name} {said}"
        if lines and text_width(f"{lines[-1]} {whole}", SMALL) <= width:
            lines[-1] += f" {whole}"
        elif text_width(whole, SMALL) <= width:
            lines.append(whole)
        else:
            lines += [*wrapped(name, SMALL, width), *wrapped(said, SMALL, width)]
    return lines


TABLE: Final = "Jumped"
HIGHS: Final = (7.0, 6.0, 5.0)
"""Height of a row to write in, down to the squares of an exercise book [mm] (ours)."""
NARROWEST: Final = 10.0  # Width of a column to write in [mm] (ours)
RUN: Final = 7.0  # Width of the column of run numbers [mm]
NOTE: Final = 13.0  # Least width of the column for remarks [mm]
HEAD: Final = 9.0


def _bare(metres: float, system: System) -> str:
    return show_length(metres, system).removesuffix(" m")


def columns(plan: Plan, system: System, width: float) -> list[tuple[str, str, float]]:
    """Name, planned figure and width of each column; every phase where they all fit.

    Where they do not, the total and the count of marks met: nobody measures ten phases a run.
    """
    found = [(f.phase, _bare(f.length, system)) for f in plan.flights]
    total = [("total", _bare(plan.total, system))] if len(found) > 1 else []
    if sum(map(_wide, [*found, *total])) + RUN + NOTE > width:
        found = [("marks met", f"of {len(plan.contacts)}")]
    found += total
    each = [_wide(pair) for pair in found]
    # Half of what is left widens the columns, the rest is for remarks.
    more = max(min((width - RUN - sum(each) - NOTE) / 2.0 / len(each), 6.0), 0.0)
    sized = [(a, b, w + more) for (a, b), w in zip(found, each, strict=True)]
    return [("run", "", RUN), *sized, ("remarks", "", width - RUN - sum(w for *_, w in sized))]


def _wide(texts: tuple[str, str]) -> float:
    return max(NARROWEST, max(text_width(text, SMALL, True) for text in texts) + 2.0)


def planned_rows(plan: Plan, system: System) -> list[tuple[str, ...]]:
    """The plan's figures, a row each: its name, then every phase, then the total."""
    flights, unit = plan.flights, "in" if system == "ft" else "cm"

    def off(metres: float | None) -> str:
        return "" if metres is None else as_read(f"{100 * metres:.0f} cm", system).split()[0]

    rows = [
        ("", *(f.phase for f in flights), "total"),
        ("", *("" if f.arc == "natural" else f.arc for f in flights), ""),
        ("plan", *(_bare(f.length, system) for f in flights), _bare(plan.total, system)),
        (f"± {unit}", *(off(f.plus_minus) for f in flights), ""),
        ("share %", *(f"{100 * share:.1f}" for share in plan.shares), ""),
        ("highest", *(_bare(f.apex_z, system) for f in flights), ""),
    ]
    return [row for row in rows if any(row[1:])]


def planned_columns(rows: Sequence[Sequence[str]], width: float) -> list[float] | None:
    """Widths of a table with all the plan's figures over it, remarks last; None where it is too narrow.

    Room for remarks is left out where there is none.
    """
    least = [max(text_width(t, SMALL, True) for t in column) for column in zip(*rows, strict=True)]
    first, *each = [wide + 1.0 for wide in least]
    each = [max(wide, 0.9 * NARROWEST) for wide in each]
    spare = width - first - sum(each)
    if spare < 0.0:
        return None
    remarks = spare / 2.0 if spare >= 2.0 * NOTE else spare if spare >= NOTE else 0.0
    more = (spare - remarks) / len(each)
    return [first, *(wide + more for wide in each), remarks]


def runs_of(plan: Plan) -> int:
    """How many runs the dose has: each has its row."""
    return plan.load.sets * plan.load.runs


def writing_table(
    plan: Plan, system: System, width: float, high: float = HIGHS[0], parts: int = 1
) -> list[Piece]:
    """A table with rows so high [mm] for each run of the dose, in parts as even as can be.

    Each part is one row, so that it stays whole; the first has all the plan's figures over it where
    `planned_columns` finds room for them, those after it only the lengths.
    """
    runs = runs_of(plan)
    each = -(-runs // min(parts, runs))
    told, *more = planned_rows(plan, system)
    wide = planned_columns([told, *more], width)
    out = []
    for first in range(0, runs, each):
        if wide is None:
            names, figures, widths = zip(*columns(plan, system, width), strict=True)
            rows, top = [names, figures], HEAD
        else:
            kept = [row for row in more if not first or row[0] == "plan"]
            rows = [(*told, "remarks" if wide[-1] else ""), *((*row, "") for row in kept)]
            widths, top = tuple(wide), 1.0 + 4.0 * len(rows)
        out.append(_part(rows, widths, top, width, high, range(first, min(first + each, runs))))
    return out


def _part(
    rows: Sequence[tuple[str, ...]],
    widths: Sequence[float],
    top: float,
    width: float,
    high: float,
    runs: range,
) -> Piece:
    """Texts over columns so wide, and under them a row for each run, the first so low [mm]."""
    bottom = top + len(runs) * high
    ink: list[Ink] = []
    x = 0.0
    bare = rows[0][0] == "run"
    for i, wide in enumerate(widths):
        if x and wide:
            ink.append(Line(((x, 0.0), (x, bottom)), "quiet", None, 0.15))
        for j, row in enumerate(rows):
            label = i == 0 and not bare
            at = (x if label else x + wide / 2.0, SMALL + 0.4 + 4.0 * j)
            told = row[0] == "plan" or bare
            role: Role = "quiet" if j == 0 or label or not (row[0] or told) else "text"
            bold = j > 0 and told and not label
            if row[i]:
                ink.append(Text(at, row[i], SMALL, role, "left" if label else "middle", bold))
        x += wide
    for i in range(len(runs) + 1):
        y = top + i * high
        ink.append(Line(((0.0, y), (width, y)), "line", None, 0.15 if i else 0.3))
    for i, run in enumerate(runs):
        at = (widths[0] / 2.0, top + (i + 0.5) * high + 1.0)
        ink.append(Text(at, f"{run + 1}", SMALL, align="middle"))
    title = f"{TABLE}, from run {runs[0] + 1}" if runs[0] else TABLE
    return Piece(title, (Row(tuple(ink), bottom + 0.5),), width)
