"""The runs that a season's figures came from, each with what became of it: counted, left out, changed."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np

from layout.book.correct import Change, changes_of
from layout.book.marks import named
from layout.book.people import Member, planned
from layout.book.record import Aside
from layout.book.rows import Attempt, attempts
from layout.book.store import Book
from layout.season.season import able_athlete, record_of
from layout.season.told import RECENT, Key, Told, key_of, told_of


@dataclass(frozen=True)
class Run:
    """One run of the book beside the figures it is part of."""

    kept: Attempt
    planned: tuple[float, ...]  # phases of the plan it was jumped on [m]; empty without one
    aside: Aside | None  # why it was left out of the figures, where it looks wrong
    told: bool  # whether it is in the days that are told
    usual: tuple[str, ...]  # phases, and the total, whose usual it counts in
    changed: tuple[Change, ...]  # corrections of it, the earliest first


@dataclass(frozen=True)
class Which:
    """Which runs: all of the days that are told, or those of one drill, one kind or one week of them.

    `key` is that of a `Told`; `monday` begins the week, which may lie before the days that are told.
    """

    since: str | None = None
    drill: str | None = None
    key: Key | None = None
    monday: datetime.date | None = None


def runs_behind(book: Book, member: Member, on: datetime.date, which: Which) -> list[Run]:
    """Runs of one athlete, the latest first, fouls and those struck out too."""
    record, first = record_of(book, member, on, which.since)
    athlete, _ = able_athlete(member, record, on)
    full = athlete.strides if athlete else None
    keys = {
        number: key_of(group.kind, full)
        for group in record.groups
        for number in record.id[group.rows].tolist()
    }
    since, until, drill = first or "", on.isoformat(), which.drill
    if which.monday is not None:
        since, until = which.monday.isoformat(), _sunday(which.monday, on).isoformat()
    if which.key is not None:
        drill = which.key[0]
    found = attempts(book, member.id, drill=drill, since=since, until=until, struck=True)
    if which.key is not None:
        found = [a for a in found if _alike(a, keys.get(a.id), which.key)]
    aside = {row.id: row for row in record.aside}
    usual = _usual(told_of(record, full))
    changed = changes_of(book, "attempt", [a.id for a in found])
    numbers = {a.plan for a in found if a.plan is not None}
    plans: dict[int | None, tuple[float, ...]] = {n: planned(book, n).lengths for n in numbers}
    return [
        Run(a, plans.get(a.plan, ()), aside.get(a.id),
            a.id in keys, tuple(usual.get(a.id, ())), changed.get(a.id, ()))
        for a in reversed(found)
    ]  # fmt: skip


def _sunday(monday: datetime.date, on: datetime.date) -> datetime.date:
    try:
        return min(monday + datetime.timedelta(days=6), on)
    except OverflowError:
        return on


def _alike(kept: Attempt, key: Key | None, wanted: Key) -> bool:
    """Whether a run is of a kind; one struck out is told by its phases, its plan aside."""
    if key is None:
        return kept.struck and kept.phases == wanted[1] and kept.strides in (None, wanted[3])
    return key == wanted


def _usual(tolds: tuple[Told, ...]) -> dict[int, list[str]]:
    """The phases whose usual a run counts in, by its number: the latest measured of each."""
    out: dict[int, list[str]] = {}
    for told in tolds:
        columns = list(zip(named(told.kind.phases), told.lengths.T, strict=True))
        if len(columns) > 1:
            columns.append(("total", told.totals))
        for name, values in columns:
            for number in told.id[np.isfinite(values)][-RECENT:].tolist():
                out.setdefault(number, []).append(name)
    return out
