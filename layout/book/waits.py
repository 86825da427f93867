"""What came from phones and waits: read only, for whoever shows it; `layout.book.inbox` changes it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from layout.book.store import Book
from layout.words.faults import refuse

WENT: Final = ("to the end", "foul", "stopped", "pain")
"""How a run went; the last two stand in its note."""
SOUNDS: Final = ("quiet", "loud")
"""How its landings sounded."""
STRUCK: Final = "struck"
"""Said of a run that was struck out on the phone."""
SAID: Final = (*WENT[1:], *SOUNDS, STRUCK)
"""Words that may follow the readings of a run."""
_COLUMNS: Final = (
    "w.id, h.name, w.athlete, w.plan, w.drill, w.day, w.zero, w.phone, w.run, w.words, w.came, "
    "w.state, w.struck, w.attempt"
)


_OPEN: Final = (
    "(w.state = 'waits' OR (w.state = 'taken' AND w.struck = 1 AND EXISTS "
    "(SELECT 1 FROM attempt a WHERE a.id = w.attempt AND a.struck = 0)))"
)
"""What waits, and what was struck out on the phone after it was taken in."""


@dataclass(frozen=True)
class Waiting:
    """One run that came from a phone or in a message."""

    id: int
    athlete: str
    member: int  # the athlete's number
    plan: int | None
    drill: str
    day: str  # as the phone or the coach said it
    zero: str
    phone: str | None  # the key of its page and phone; None for a line that was typed
    run: int | None  # its number there
    words: str
    came: str  # when, UTC
    state: str  # waits, taken or left
    struck: bool  # struck out on the phone, and not dealt with yet
    attempt: int | None  # what it became

    @property
    def said(self) -> tuple[str, ...]:
        """What was said of it beside the readings."""
        return tuple(w for w in self.words.split() if w in SAID)


def count(book: Book) -> int:
    """How many runs wait, and how many were struck out on the phone after they were taken in."""
    return int(book.rows(f"SELECT count(*) FROM waiting w WHERE {_OPEN}")[0][0])


def sent_by(book: Book, key: str) -> int:
    """How many runs came from phones with a page, whatever became of them."""
    asked = "SELECT count(*) FROM waiting WHERE phone >= ?1 AND phone < ?2"
    return int(book.rows(asked, (f"{key}-", f"{key}."))[0][0])


def waiting(book: Book, every: bool = False) -> list[Waiting]:
    """What waits, by athlete, day and run; `every`: also what was taken in or left out."""
    where = "1" if every else _OPEN
    asked = (
        f"SELECT {_COLUMNS} FROM waiting w JOIN athlete h ON h.id = w.athlete WHERE {where} "
        "ORDER BY h.name, w.day, w.drill, w.phone, w.run, w.id"
    )
    return [_waiting(row) for row in book.rows(asked)]


def pains(
    book: Book, since: datetime.date, until: datetime.date, athlete: int | None = None
) -> list[tuple[int, str]]:
    """Where pain is said in what still waits: athlete and day, as `layout.book.rows.pains` has it of what
    was put down."""
    return [
        (run.member, run.day)
        for run in waiting(book)
        if "pain" in run.said
        and not run.struck
        and athlete in (None, run.member)
        and since.isoformat() <= run.day <= until.isoformat()
    ]


def _waiting(row: Sequence[Any]) -> Waiting:
    return replace(Waiting(*row), struck=row[12] == 1)


def one(book: Book, number: int) -> Waiting:
    """One run by its number; refused where there is none."""
    asked = f"SELECT {_COLUMNS} FROM waiting w JOIN athlete h ON h.id = w.athlete WHERE w.id = ?"
    found = book.rows(asked, (number,))
    if not found:
        raise refuse("run", "is not among those from phones", number)
    return _waiting(found[0])
