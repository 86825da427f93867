"""The small table to write in what was jumped, with the plan's figures to compare with."""

from __future__ import annotations

from typing import Final

from layout.plan.tape import TapeCard
from layout.plan.units import show_length
from layout.plan.value import Plan
from layout.sheet.handout_blocks import Piece, Row
from layout.sheet.page import Ink, Line
from layout.sheet.texts import SMALL, text_at
from layout.sheet.widths import text_width

TABLE: Final = "What was jumped"
HIGH: Final = 7.0
"""Height of a row to write in [mm] (ours)."""
NARROWEST: Final = 11.0
"""Width of a column to write in [mm] (ours)."""
RUN: Final = 8.0
"""Width of the column of run numbers [mm]."""
NOTE: Final = 14.0
"""Least width of the column for remarks [mm]."""
HEAD: Final = 9.0


def columns(plan: Plan, card: TapeCard, width: float) -> list[tuple[str, str, float]]:
    """Name, planned figure and width of each column; every phase where they all fit.

    Where they do not, the total and the count of marks met: nobody measures ten phases a run.
    """
    system = card.system

    def bare(metres: float) -> str:
        return show_length(metres, system).removesuffix(" m")

    found = [(f.move, bare(f.length)) for f in plan.flights]
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


def writing_table(plan: Plan, card: TapeCard, width: float, rows: int) -> Piece:
    """A table with a row for each run.

    Parameters
    ----------
    plan : Plan
    card : TapeCard
    width : float
        [mm]
    rows : int

    Returns
    -------
    Piece
        Of one row, so that it stays whole.
    """
    laid = columns(plan, card, width)
    bottom = HEAD + rows * HIGH
    ink: list[Ink] = []
    x = 0.0
    for name, planned, wide in laid:
        middle = x + wide / 2.0
        ink.append(text_at((middle, SMALL + 0.4), name, SMALL, align="middle", role="quiet"))
        if planned:
            ink.append(text_at((middle, SMALL + 4.4), planned, SMALL, align="middle", bold=True))
        if x:
            ink.append(Line(((x, 0.0), (x, bottom)), "quiet", None, 0.15))
        x += wide
    for i in range(rows + 1):
        y = HEAD + i * HIGH
        ink.append(Line(((0.0, y), (width, y)), "line", None, 0.3 if i == 0 else 0.15))
        if i < rows:
            number = text_at((RUN / 2.0, y + HIGH / 2.0 + 1.0), f"{i + 1}", SMALL, align="middle")
            ink.append(number)
    return Piece(TABLE, (Row(tuple(ink), bottom + 0.5),), width)
