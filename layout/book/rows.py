"""What a book holds, asked for: attempts, arrays for computing, contacts by week."""

from __future__ import annotations

import contextlib
import datetime
import json
import re
import sqlite3
from collections.abc import Iterator, Sequence
from typing import Any, Final, NamedTuple

from layout.book.marks import unlikely
from layout.book.people import planned
from layout.book.store import Book, told

JOINED: Final = "attempt a JOIN session s ON s.id = a.session JOIN athlete h ON h.id = a.athlete"
_IDS: Final = "attempt a JOIN session s ON s.id = a.session"
_IDS_BY_DAY: Final = "session s CROSS JOIN attempt a ON a.session = s.id"
"""The same, read along the days: the latest few are found without sorting them all."""
APART: Final = 0.25
"""Put down further apart than this, the same figures are asked about [days] (ours)."""
CHUNK: Final = 500
"""Attempts read at a time."""

_PAINED: Final = re.compile(r"pain\b", re.IGNORECASE)


class Attempt(NamedTuple):
    """One attempt as kept (a tuple, since there may be a hundred thousand)."""

    id: int
    athlete: str
    day: str
    place: str
    drill: str
    phases: tuple[str, ...]
    lengths: tuple[float | None, ...]  # of the phases, None where not measured [m]
    total: float | None  # [m]
    plan: int | None  # number of the plan it was jumped to; see `layout.book.people.planned`
    strides: int | None
    speed: float | None  # [m/s]
    wind: float | None  # [m/s]
    surface: str | None
    # foul, struck: struck is entered by mistake, kept, and counted nowhere
    foul: bool
    struck: bool
    # runs, contacts: how many runs the row stands for, and ground contacts of all of them
    runs: int
    contacts: int
    knee_gap: float | None  # free knee behind the support knee at the step contact [m]
    support_knee: float | None  # [rad]
    free_knee: float | None  # [rad]
    free_thigh: float | None  # [rad]
    trunk: float | None  # [rad]
    # readings, zero, note: as typed
    readings: str | None
    zero: str | None
    note: str | None
    made: str  # when it was entered, UTC
    kind: str | None  # training, competition; None where nobody said
    behind: float | None  # take-off toe behind its mark [m]
    run: str | None  # its number in the table it came from

    @property
    def official(self) -> float | None:
        """The total from the mark, which from a board is the official distance [m]."""
        if self.total is None or self.behind is None:
            return None
        return round(self.total - self.behind, 6)


_ELSEWHERE: Final = {"athlete": "h.name", "day": "s.day", "place": "s.place"}
_COLUMNS: Final = ", ".join(_ELSEWHERE.get(name, f"a.{name}") for name in Attempt._fields)


def _attempt(row: Sequence[Any]) -> Attempt:
    kept = Attempt._make(row)
    phases, lengths = str(kept.phases).split(), json.loads(str(kept.lengths))
    return kept._replace(phases=tuple(phases), lengths=tuple(lengths), foul=bool(kept.foul),
                         struck=bool(kept.struck))  # fmt: skip


def each_attempt(
    book: Book,
    athlete: int | None = None,
    drill: str | None = None,
    since: str | None = None,
    until: str | None = None,
    last: int | None = None,
    struck: bool = False,
) -> Iterator[Attempt]:
    """Attempts in the order of their days, one by one, however many there are.

    `athlete`: number from `find_member(book, name).id`; everybody where left out. `since`, `until`:
    days as 2026-11-25, both included. `last`: only the latest so many. `struck`: also those struck
    out.
    """
    wheres: list[str] = [] if struck else ["a.struck = 0"]
    values: list[Any] = []
    for test, value in (
        ("a.athlete = ?", athlete), ("a.drill = ?", drill), ("s.day >= ?", since),
        ("s.day <= ?", until),
    ):  # fmt: skip
        if value is not None:
            wheres.append(test)
            values.append(value)
    where = f" WHERE {' AND '.join(wheres)}" if wheres else ""
    limit, joined = "", _IDS
    if last is not None:
        limit, joined = " LIMIT ?", _IDS_BY_DAY
        values.append(last)
    with told(book.path), one_moment(book.db):
        asked = f"SELECT a.id FROM {joined}{where} ORDER BY s.day DESC, a.id DESC{limit}"
        ids = [number for (number,) in book.db.execute(asked, values)]
        ids.reverse()
        for at in range(0, len(ids), CHUNK):
            part = ids[at : at + CHUNK]
            asked = f"SELECT {_COLUMNS} FROM {JOINED} WHERE a.id IN ({', '.join('?' * len(part))})"
            found = {row[0]: row for row in book.db.execute(asked, part)}
            yield from (_attempt(found[number]) for number in part)


@contextlib.contextmanager
def one_moment(db: sqlite3.Connection) -> Iterator[None]:
    """The book as it stood when the reading began, whoever writes meanwhile."""
    if db.in_transaction:
        yield
        return
    db.execute("BEGIN")
    try:
        yield
    finally:
        with contextlib.suppress(sqlite3.ProgrammingError):  # closed before the last row was asked
            db.execute("COMMIT")


def attempts(book: Book, athlete: int | None = None, **only: Any) -> list[Attempt]:
    """`each_attempt`, all of them."""
    return list(each_attempt(book, athlete, **only))


def pains(
    book: Book, since: datetime.date, until: datetime.date, athlete: int | None = None
) -> list[tuple[int, str, int]]:
    """Where a note begins with pain: athlete, day and number of the attempt, by day.

    `since`, `until`: both included. `athlete`: everybody where left out.
    """
    found = book.rows(
        "SELECT a.athlete, s.day, a.id, a.note FROM session s JOIN attempt a ON a.session = s.id "
        "WHERE s.day >= ?1 AND s.day <= ?2 AND (?3 IS NULL OR a.athlete = ?3) "
        "AND a.struck = 0 AND a.note LIKE 'pain%' ORDER BY s.day, a.id",
        (since.isoformat(), until.isoformat(), athlete),
    )
    return [(who, day, number) for who, day, number, note in found if _PAINED.match(note)]


def to_look_at(book: Book) -> list[str]:
    """Attempts of the whole book to look at: unlikely ones, and those that seem to stand twice."""
    out = []
    for kept in each_attempt(book):
        plan = planned(book, kept.plan) if kept.plan is not None else None
        found = unlikely(kept.phases, kept.lengths, plan)
        out += [f"{kept.id} {kept.athlete}: {text}" for text in found]
    # What is put down at one time is several attempts; much later it is one, taken in twice.
    twins = book.rows(
        "SELECT h.name, s.day, a.drill, count(*), min(a.id), max(a.id) "
        f"FROM {JOINED} WHERE a.struck = 0 AND a.total IS NOT NULL "
        "GROUP BY a.athlete, a.session, a.drill, a.lengths, a.total, a.foul, a.strides, a.wind, a.run "
        "HAVING count(*) > 1 AND julianday(max(a.made)) - julianday(min(a.made)) > ? "
        "ORDER BY min(a.id)",
        (APART,),
    )
    return out + [
        f"{first} {name}: the same figures {count} times on {day}, {drill}, put down at different "
        f"times (up to {last}); taken in twice? --strike what is too many"
        for name, day, drill, count, first, last in twins
    ]


def attempt(book: Book, number: int) -> Attempt | None:
    """One attempt by its number, struck or not."""
    found = book.rows(f"SELECT {_COLUMNS} FROM {JOINED} WHERE a.id = ?", (number,))
    with told(book.path):
        return _attempt(found[0]) if found else None
