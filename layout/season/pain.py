"""Pain that was put down of late: in a run's note, or in a run from a phone that still waits."""

from __future__ import annotations

import datetime

from layout.book import waits
from layout.book.rows import pains
from layout.book.store import Book
from layout.season.rung import LATELY


def pain_days(
    book: Book, on: datetime.date, athlete: int | None = None
) -> dict[int, tuple[str, ...]]:
    """Days with pain in the four weeks up to a day, by the athlete's number; nobody without any.

    `athlete`: only of this one.
    """
    since = datetime.date.fromordinal(max(1, on.toordinal() - LATELY))
    found = [(who, day) for who, day, _ in pains(book, since, on, athlete)]
    found += waits.pains(book, since, on, athlete)
    out: dict[int, tuple[str, ...]] = {}
    for who, day in sorted(set(found)):
        out[who] = (*out.get(who, ()), day)
    return out
