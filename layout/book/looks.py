"""What looks unlikely of an attempt: asked about at every way into the book, and kept all the same."""

from __future__ import annotations

import json
import statistics
from collections.abc import Sequence
from typing import Final, cast

from layout.book.marks import named, uneven
from layout.book.people import Planned
from layout.book.store import Book
from layout.words.units import show_length

MARGINS: Final = 3.0
SHARE: Final = 0.15
"""A phase this many margins, or this share, off its plan is asked about (ours)."""
OFF: Final = 0.25
LEAST: Final = 3
LATEST: Final = 12
"""A phase this share off the middle of the athlete's latest, of which there are at least so many, is
asked about where there is no plan (ours)."""
_BACK: Final = 5000
"""Attempts looked back over, whoever's."""


def usual_of(
    book: Book, athlete: int, drill: str, phases: Sequence[str], strides: int | None
) -> tuple[float | None, ...]:
    """Middle of each phase of the athlete's latest attempts of this kind; None where too few [m]."""
    moment = book.rows("PRAGMA data_version")[0][0], book.db.total_changes
    key = repr((athlete, drill, tuple(phases), strides))
    known = book.memo.setdefault("usual", {}).get(key)
    if known is not None and known[0] == moment:
        return cast(tuple[float | None, ...], known[1])
    found = book.rows(
        "SELECT lengths FROM attempt WHERE id > (SELECT coalesce(max(id), 0) FROM attempt) - ? "
        "AND +athlete = ? AND drill = ? AND phases = ? AND strides IS ? AND foul = 0 AND struck = 0 "
        "AND total IS NOT NULL ORDER BY id DESC LIMIT ?",
        (_BACK, athlete, drill, " ".join(phases), strides, LATEST),
    )
    columns = zip(*(json.loads(text) for (text,) in found), strict=True)
    measured = [[d for d in column if d is not None] for column in columns]
    out = tuple(statistics.median(k) if len(k) >= LEAST else None for k in measured)
    book.memo["usual"][key] = moment, out
    return out


def unlikely(
    phases: Sequence[str],
    lengths: Sequence[float | None],
    plan: Planned | None,
    usual: Sequence[float | None] = (),
) -> list[str]:
    """What is far from the plan or, without one, from the attempt's other phases and the usual."""
    if plan is None or plan.phases != tuple(phases):
        out = [f"{text}; a wrong digit?" for text in uneven(phases, lengths)]
        for name, length, middle in zip(named(phases), lengths, usual, strict=False):
            if length is not None and middle is not None and abs(length - middle) > OFF * middle:
                side = "longer" if length > middle else "shorter"
                out.append(
                    f"{name} {show_length(length)} is {show_length(abs(length - middle))} {side} than "
                    f"the athlete's usual ({show_length(middle)}); a wrong digit?"
                )
        return out
    out = []
    rows = zip(named(phases), lengths, plan.lengths, plan.margins, strict=True)
    for name, length, wanted, margin in rows:
        if length is None:
            continue
        wide = max(MARGINS * margin, 0.10) if margin is not None else SHARE * wanted
        if abs(length - wanted) > wide:
            side = "longer" if length > wanted else "shorter"
            out.append(
                f"{name} {show_length(length)} is {show_length(abs(length - wanted))} {side} than "
                f"planned ({show_length(wanted)}); a wrong digit?"
            )
    return out
