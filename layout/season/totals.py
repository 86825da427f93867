"""Sums over a book: load by week, best and mean, sessions and plans with what was jumped in them."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from layout.book.rows import JOINED
from layout.book.store import Book
from layout.rules.wind import LEGAL_WIND


@dataclass(frozen=True)
class Week:
    """Load of one week."""

    monday: str
    sessions: int
    runs: int
    contacts: int
    hardest: int  # contacts of the session with the most, of one athlete


def weeks(book: Book, athlete: int | None = None) -> list[Week]:
    """Ground contacts by week, fouls included, struck attempts not; weeks with none are left out.

    `athlete`: everybody together where left out. Returns the earliest first.
    """
    found = book.rows(
        "SELECT s.day, t.athlete, t.runs, t.contacts, t.session FROM session s JOIN "
        "(SELECT session, athlete, sum(runs) AS runs, sum(contacts) AS contacts FROM attempt "
        "WHERE struck = 0 AND (?1 IS NULL OR athlete = ?1) GROUP BY session, athlete) t "
        "ON t.session = s.id ORDER BY s.day",
        (athlete,),
    )
    out: dict[str, list[Any]] = {}
    for day, _, runs, contacts, session in found:
        date = datetime.date.fromisoformat(day)
        monday = (date - datetime.timedelta(days=date.weekday())).isoformat()
        week = out.setdefault(monday, [set(), 0, 0, 0])
        week[0].add(session)
        week[1] += runs
        week[2] += contacts
        week[3] = max(week[3], contacts)
    return [Week(monday, len(w[0]), w[1], w[2], w[3]) for monday, w in out.items()]


@dataclass(frozen=True)
class Sum:
    """One athlete and drill in a few figures."""

    athlete: str
    drill: str
    attempts: int
    measured: int
    fouls: int
    contacts: int
    # best, mean: totals without fouls, from the take-off toe [m]
    best: float | None
    mean: float | None
    # first, last: days
    first: str
    last: str
    # best that was not wind-assisted; where no wind was measured it counts [m]
    best_legal: float | None


def looks_wrong(book: Book, athlete: int | None = None) -> list[int]:
    """Numbers of the attempts that are left out of figures; see `layout.season.gather`."""
    from layout.book.record import read_record
    from layout.season.gather import set_aside

    asked = "SELECT DISTINCT athlete FROM attempt WHERE ?1 IS NULL OR athlete = ?1"
    return sorted(
        row.id
        for (who,) in book.rows(asked, (athlete,))
        for row in set_aside(read_record(book, who)).aside
    )


def sums(book: Book, athlete: int | None = None, without: Sequence[int] = ()) -> list[Sum]:
    """Every athlete's drills in a few figures each.

    `athlete`: everybody where left out. `without`: attempts that count for the load only.
    """
    counts = f"a.foul = 0 AND a.id NOT IN ({', '.join(str(int(number)) for number in without)})"
    found = book.rows(
        "SELECT h.name, a.drill, sum(a.runs), "
        f"sum(a.total IS NOT NULL AND (a.foul OR ({counts}))), sum(a.foul), sum(a.contacts), "
        f"max(CASE WHEN {counts} THEN a.total END), avg(CASE WHEN {counts} THEN a.total END), "
        "min(s.day), max(s.day), "
        f"max(CASE WHEN {counts} AND coalesce(a.wind, 0) <= {LEGAL_WIND} THEN a.total END) "
        f"FROM {JOINED} "
        "WHERE a.struck = 0 AND (?1 IS NULL OR a.athlete = ?1) "
        "GROUP BY a.athlete, a.drill ORDER BY h.name, a.drill",
        (athlete,),
    )
    return [Sum(*row) for row in found]


@dataclass(frozen=True)
class Session:
    """One day at one place."""

    id: int
    day: str
    place: str
    # athletes, runs, contacts: of all who jumped
    athletes: int
    runs: int
    contacts: int
    note: str | None
    kinds: str  # training, competition, both with a comma, and "" where nobody said


def sessions(book: Book, athlete: int | None = None) -> list[Session]:
    """Sessions, the earliest first; with an athlete, those with an attempt of theirs."""
    found = book.rows(
        "SELECT s.id, s.day, s.place, count(DISTINCT a.athlete), coalesce(sum(a.runs), 0), "
        "coalesce(sum(a.contacts), 0), s.note, coalesce(group_concat(DISTINCT a.kind), '') "
        "FROM session s "
        "LEFT JOIN attempt a ON a.session = s.id AND a.struck = 0 "
        "WHERE ?1 IS NULL OR s.id IN (SELECT session FROM attempt WHERE athlete = ?1) "
        "GROUP BY s.id ORDER BY s.day, s.id",
        (athlete,),
    )
    return [Session(*row) for row in found]


@dataclass(frozen=True)
class Kept:
    """A plan in the book."""

    id: int
    day: str
    athlete: str
    drill: str
    attempts: int  # jumped to it


def plans(book: Book, athlete: int | None = None) -> list[Kept]:
    """Plans kept, the earliest first."""
    found = book.rows(
        "SELECT p.id, p.day, h.name, p.drill, (SELECT count(*) FROM attempt WHERE plan = p.id) "
        "FROM plan p JOIN athlete h ON h.id = p.athlete WHERE (?1 IS NULL OR p.athlete = ?1) "
        "ORDER BY p.day, p.id",
        (athlete,),
    )
    return [Kept(*row) for row in found]
