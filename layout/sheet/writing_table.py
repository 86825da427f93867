"""The small table to write in what was jumped, with the plan's figures to compare with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from animate.body.shapes import Role
from layout.page.page import Ink, Line
from layout.page.widths import text_width
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet.handout_blocks import Piece, Row
from layout.sheet.texts import SMALL, text_at
from layout.words.feet import as_read
from layout.words.units import System, show_length

TABLE: Final = "Measured"
HIGHS: Final = (7.0, 6.0, 5.0)
"""Height of a row to write in, down to the squares of an exercise book [mm] (ours)."""
NARROWEST: Final = 10.0
"""Width of a column to write in [mm] (ours)."""
RUN: Final = 7.0
"""Width of the column of run numbers [mm]."""
NOTE: Final = 13.0
"""Least width of the column for remarks [mm]."""
HEAD: Final = 9.0


def columns(plan: Plan, card: TapeCard, width: float) -> list[tuple[str, str, float]]:
    """Name, planned figure and width of each column; every phase where they all fit.

    Where they do not, the total and the count of marks met: nobody measures ten phases a run.
    """
    system = card.system

    def bare(metres: float) -> str:
        return show_length(metres, system).removesuffix(" m")

    found = [(f.phase, bare(f.length)) for f in plan.flights]
    total = [("total", bare(plan.total))] if len(found) > 1 else []
    if _wide([*found, *total]) + RUN + NOTE > width:
        found = [("marks met", f"of {len(plan.contacts)}")]
    found += total
    each = [_wide([pair]) for pair in found]
    spare = width - RUN - sum(each)
    # Half of what is left widens the columns, the rest is for remarks.
    more = max(min((spare - NOTE) / 2.0 / len(each), 6.0), 0.0)
    sized = [(a, b, w + more) for (a, b), w in zip(found, each, strict=True)]
    return [("run", "", RUN), *sized, ("remarks", "", width - RUN - sum(w for *_, w in sized))]


def _wide(found: list[tuple[str, str]]) -> float:
    return sum(
        max(NARROWEST, max(text_width(a, SMALL, True), text_width(b, SMALL, True)) + 2.0)
        for a, b in found
    )


def planned_rows(plan: Plan, system: System) -> list[tuple[str, ...]]:
    """The plan's figures, a row each: its name, then every phase, then the total."""
    flights, unit = plan.flights, "in" if system == "ft" else "cm"

    def bare(metres: float) -> str:
        return show_length(metres, system).removesuffix(" m")

    def off(metres: float | None) -> str:
        return "" if metres is None else as_read(f"{100 * metres:.0f} cm", system).split()[0]

    rows = [
        ("", *(f.phase for f in flights), "total"),
        ("", *("" if f.arc == "natural" else f.arc for f in flights), ""),
        ("plan", *(bare(f.length) for f in flights), bare(plan.total)),
        (f"± {unit}", *(off(f.plus_minus) for f in flights), ""),
        ("share %", *(f"{100 * share:.1f}" for share in plan.shares), ""),
        ("highest", *(bare(f.apex_z) for f in flights), ""),
    ]
    return [row for row in rows if any(row[1:])]


def planned_columns(plan: Plan, card: TapeCard, width: float) -> list[float] | None:
    """Widths of a table with all the plan's figures over it, remarks last; None where it is too narrow.

    Room for remarks is left out where there is none.
    """
    rows = planned_rows(plan, card.system)
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


@dataclass(frozen=True)
class _Head:
    """What stands over the rows: texts by row, widths of the columns, height [mm]."""

    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    height: float


def _head(plan: Plan, card: TapeCard, width: float, again: bool) -> _Head:
    """The names over the columns and the plan's figures; only the lengths where it stands `again`."""
    widths = planned_columns(plan, card, width)
    if widths is None:
        names, figures, wide = zip(*columns(plan, card, width), strict=True)
        return _Head((names, figures), wide, HEAD)
    first, *rest = planned_rows(plan, card.system)
    rest = [row for row in rest if not again or row[0] == "plan"]
    rows = [(*first, "remarks" if widths[-1] else ""), *((*row, "") for row in rest)]
    return _Head(tuple(rows), tuple(widths), 1.0 + 4.0 * len(rows))


def writing_table(
    plan: Plan, card: TapeCard, width: float, high: float = HIGHS[0], parts: int = 1
) -> list[Piece]:
    """A table with a row for each run of the dose, in parts as even as can be.

    width, high: of the table and of a row [mm].
    parts: at most; for columns beside one another.
    Returns: of one row each, so that they stay whole; the first has all the plan's figures over it
        where `planned_columns` finds room for them.
    """
    runs = runs_of(plan)
    each = -(-runs // min(parts, runs))
    return [
        _part(_head(plan, card, width, first > 0), width, high, first, min(each, runs - first))
        for first in range(0, runs, each)
    ]


def _part(head: _Head, width: float, high: float, first: int, runs: int) -> Piece:
    bottom = head.height + runs * high
    ink: list[Ink] = []
    x = 0.0
    for i, wide in enumerate(head.widths):
        if x and wide:
            ink.append(Line(((x, 0.0), (x, bottom)), "quiet", None, 0.15))
        for j, row in enumerate(head.rows):
            label = i == 0 and row[0] != "run"
            at = (x if label else x + wide / 2.0, SMALL + 0.4 + 4.0 * j)
            told = row[0] == "plan" or head.rows[0][0] == "run"
            role: Role = "quiet" if j == 0 or label or not (row[0] or told) else "text"
            bold = j > 0 and told and not label
            align = "left" if label else "middle"
            if row[i]:
                ink.append(text_at(at, row[i], SMALL, role=role, bold=bold, align=align))
        x += wide
    for i in range(runs + 1):
        y = head.height + i * high
        ink.append(Line(((0.0, y), (width, y)), "line", None, 0.3 if i == 0 else 0.15))
    for i in range(runs):
        at = (head.widths[0] / 2.0, head.height + (i + 0.5) * high + 1.0)
        ink.append(text_at(at, f"{first + i + 1}", SMALL, align="middle"))
    title = f"{TABLE}, from run {first + 1}" if first else TABLE
    return Piece(title, (Row(tuple(ink), bottom + 0.5),), width)
