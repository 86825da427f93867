"""Everybody of the book in a line each: what there is of them, and whose load asks to be looked at."""

from __future__ import annotations

import datetime
from collections import defaultdict
from dataclasses import dataclass
from typing import Final

from layout.book.people import Member, members
from layout.book.store import Book
from layout.season.pain import pain_days
from layout.season.season import counted_as
from layout.season.weeks import WeekLoad, weeks_of
from layout.words.dates import iso

WEEKS: Final = 4
"""Weeks up to the day, of which flags of the load are told (ours)."""


@dataclass(frozen=True)
class InShort:
    """One athlete."""

    member: Member
    runs: int
    last: str | None  # day; None without any
    weeks: tuple[WeekLoad, ...]  # the latest `WEEKS`, the earliest first
    pains: tuple[str, ...]  # days of the last four weeks on which pain was put down

    @property
    def flagged(self) -> bool:
        """Whether there was pain, or one of the latest weeks is to be looked at."""
        return bool(self.pains) or any(week.notes for week in self.weeks)


def everybody(book: Book, on: datetime.date) -> tuple[InShort, ...]:
    """Everybody up to a day: pain first, then flagged ones, then who has runs, then the others, by name.

    One question for the whole book: along its index of sessions, whatever else a run holds.
    """
    found = book.rows(
        "SELECT a.athlete, s.day, sum(a.contacts), sum(a.runs) FROM session s "
        "JOIN attempt a ON a.session = s.id WHERE a.struck = 0 AND s.day <= ? "
        "GROUP BY a.session, a.athlete",
        (on.isoformat(),),
    )
    days = {day: datetime.date.fromisoformat(day).toordinal() for day in {row[1] for row in found}}
    sessions: dict[int, list[tuple[int, int]]] = defaultdict(list)
    runs: dict[int, int] = defaultdict(int)
    for who, day, contacts, count in found:
        sessions[who].append((days[day], contacts))
        runs[who] += count
    hurt = pain_days(book, on)
    out = []
    for member in members(book):
        own = sorted(sessions[member.id])
        last = iso(own[-1][0]) if own else None
        weeks = weeks_of(own, on, *counted_as(member))[-WEEKS:]
        out.append(InShort(member, runs[member.id], last, weeks, hurt.get(member.id, ())))
    return tuple(
        sorted(out, key=lambda row: (not row.pains, not row.flagged, not row.runs, row.member.name))
    )
