"""Ground contacts by week against the budget, and sudden rises."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from layout.rules.budget import BUDGET_SOURCE, Budget, budget_of
from layout.rules.load import REST
from layout.rules.standing import standing
from layout.words.dates import iso, said_day
from layout.words.note import Note

RISE: Final = 1.3
"""A week with more contacts than this times the mean of the weeks before is a sudden rise (ours)."""
SHOWN: Final = 12
"""Weeks in a table, the latest (ours)."""
BEFORE: Final = 4
"""Weeks before that count, those without a session as zero (ours)."""
LIGHT: Final = 30
"""A week of up to so many contacts is never called a rise (ours)."""
MOST_WEEKS: Final = 1100
"""Weeks that are looked back over (ours): twenty years."""


@dataclass(frozen=True)
class WeekLoad:
    """One week."""

    monday: str
    # sessions, contacts, hardest: hardest: contacts of the session with the most
    sessions: int
    contacts: int
    hardest: int
    budget: int  # most contacts a week: the athlete's own ceiling of a session, times sessions
    before: float | None  # mean of the four weeks before; None where the book has fewer
    notes: tuple[Note, ...]  # codes: rise, restart, session-over, week-over, sessions, row


def weeks_of(
    sessions: Sequence[tuple[int, int]], on: datetime.date, level: str, born: int | None
) -> tuple[WeekLoad, ...]:
    """Every week from the first session to a day, weeks without a session too.

    `sessions`: day as ordinal, and contacts, fouls included. `on`: the last week is the one of this
    day, or of the last session if later. `born`: decides on the youth limits week by week; of
    unknown age they hold.
    """
    kept = [(day, contacts) for day, contacts in sessions if contacts > 0]
    if not kept:
        return ()
    days = {day for day, _ in kept}
    last = max(*days, on.toordinal())
    first = _monday(max(min(days), last - 7 * MOST_WEEKS))
    inside: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for day, contacts in kept:
        inside[_monday(day)].append((day, contacts))
    out: list[WeekLoad] = []
    for monday in range(first, last + 1, 7):
        own = inside[monday]
        # The Monday's age, the careful side.
        budget = budget_of(standing(born, level, 0.0, datetime.date.fromordinal(monday)))
        before = None
        if len(out) >= BEFORE:
            before = sum(w.contacts for w in out[-BEFORE:]) / BEFORE
        rows = sorted(d for d in {d for d, _ in own} if d - 1 in days)
        out.append(_week(monday, [n for _, n in own], before, rows, budget))
    return tuple(out)


def _monday(day: int) -> int:
    return day - datetime.date.fromordinal(day).weekday()


def _week(
    monday: int, own: list[int], before: float | None, rows: list[int], budget: Budget
) -> WeekLoad:
    most, sessions, young = budget.most, budget.sessions, budget.sets > 0
    total, hardest = sum(own), max(own, default=0)
    notes = []
    if hardest > most:
        notes.append(Note("session-over", f"{hardest} contacts in a session; {budget.text}.",
                          budget.source))  # fmt: skip
    if len(own) > sessions:
        notes.append(Note("sessions", f"{len(own)} sessions; at most {sessions} a week {budget.who}.",
                          budget.source if young else "ours"))  # fmt: skip
    elif total > most * sessions:
        notes.append(Note("week-over", f"{total} contacts; {sessions} sessions of {most} are "
                          f"{most * sessions}.", "ours"))  # fmt: skip
    if rows:
        text = ", ".join(map(said_day, rows))
        rule = "never on days in a row" if young else f"{REST[0]} to {REST[1]} hours are asked"
        notes.append(
            Note(
                "row",
                f"Jumped on the day before too: {text}; {rule}.",
                budget.source if young else BUDGET_SOURCE,
            )
        )
    if before is not None and total > LIGHT:
        if before == 0:
            notes.append(Note("restart", f"{total} contacts after {BEFORE} weeks without any: begin with "
                              "a few and build up.", "ours"))  # fmt: skip
        elif total > RISE * before:
            notes.append(Note("rise", f"{total} contacts, {total / before:.1f} times the mean of the "
                              f"{BEFORE} weeks before ({before:.0f}).", "ours"))  # fmt: skip
    return WeekLoad(
        iso(monday), len(own), total, hardest, most * sessions, before, tuple(notes)
    )  # fmt: skip
