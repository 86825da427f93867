"""Rows of a table compared with the book: what is new, what is changed, and what is there already."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from layout.book import entry
from layout.book.correct import unquoted
from layout.book.entry import Ready
from layout.book.store import Book
from layout.words.faults import BadInput, Fault

SAME: Final = 1e-6
"""Figures no further apart than this are one figure [SI]."""
MOST: Final = 999
"""Attempts of one athlete, day and drill in a table (ours): many times what anybody jumps."""
_COLUMNS: Final = (
    "id", "run", "struck", "phases", "lengths", "total", "behind", "contacts", *entry.FIELDS,
)  # fmt: skip
_ASKED: Final = (
    f"SELECT {', '.join(f'a.{c}' for c in _COLUMNS)}, s.place FROM attempt a "
    "JOIN session s ON s.id = a.session"
)
Key = tuple[int, str, str]
Row = tuple[int, Ready]
"""Its line in the table, and what it says."""
Old = dict[str, Any]


@dataclass(frozen=True)
class Changed:
    """A row that the book has otherwise."""

    id: int
    line: int
    ready: Ready
    # before, after: by column, what differs
    before: dict[str, Any]
    after: dict[str, Any]


@dataclass(frozen=True)
class Compared:
    """Rows compared with the book."""

    new: tuple[Row, ...]
    changed: tuple[Changed, ...]
    same: tuple[int, ...]  # numbers of the attempts that are there already
    # attempts of the same athletes, days and drills that the table does not have
    left: tuple[int, ...]


def compare(book: Book, rows: Sequence[Row], titles: frozenset[str]) -> Compared:
    """Hold rows against the book: one is known by athlete, day, drill and run.

    Without a number of the run the same figures are the same run; what is left over is paired in
    order. What a row leaves empty says nothing, but for a foul where the table has such a column.
    """
    groups: dict[Key, list[Row]] = defaultdict(list)
    for row in rows:
        values = row[1].values
        groups[values["athlete"], row[1].day, values["drill"]].append(row)
    for here in groups.values():
        if len(here) > MOST:
            rule = f"at most {MOST} attempts of one athlete, day and drill allowed"
            raise BadInput([Fault("table", rule, len(here), line=here[MOST][0])])
    once = _before_corrections(book) if rows else {}
    new: list[Row] = []
    changed: list[Changed] = []
    same: list[int] = []
    left: list[int] = []
    for key, here in groups.items():
        where = " WHERE a.athlete = ? AND s.day = ? AND a.drill = ? ORDER BY a.id"
        free = _old(book, where, key)
        spare = [old for old in once.get(key, []) if old["id"] not in {o["id"] for o in free}]
        before = len(same) + len(changed)
        rest = _paired(here, free, titles, same, _numbered, alike=True)
        rest = _paired(rest, free, titles, same, _unnumbered, alike=True)
        rest = _paired(rest, spare, titles, same, lambda *_: True, alike=True)
        for fits in (_numbered, _unnumbered):
            rest = _paired(rest, free, titles, changed, fits, alike=False)
        new += rest
        if len(same) + len(changed) > before:
            left += [old["id"] for old in free if not old["struck"]]
    order = {line: i for i, (line, _) in enumerate(rows)}
    new.sort(key=lambda row: order[row[0]])
    changed.sort(key=lambda c: order[c.line])
    return Compared(tuple(new), tuple(changed), tuple(sorted(same)), tuple(sorted(left)))


def _numbered(ready: Ready, old: Old) -> bool:
    return ready.given.run is not None and ready.given.run == old["run"]


def _unnumbered(ready: Ready, old: Old) -> bool:
    return ready.given.run is None or old["run"] is None


def _paired(
    rows: Sequence[Row],
    free: list[Old],
    titles: frozenset[str],
    into: list[Any],
    fits: Callable[[Ready, Old], bool],
    alike: bool,
) -> list[Row]:
    """Take out of `free` what belongs to a row; returns the rows that found nothing."""
    rest = []
    for line, ready in rows:
        for old in free:
            # What was struck out is not there to be corrected, but it is not new either.
            if not fits(ready, old) or (old["struck"] and not alike):
                continue
            after = differing(old, ready, titles)
            if alike == bool(after):
                continue
            into.append(
                old["id"]
                if alike
                else Changed(old["id"], line, ready, {k: old[k] for k in after}, after)
            )
            free.remove(old)
            break
        else:
            rest.append((line, ready))
    return rest


def differing(old: Mapping[str, Any], ready: Ready, titles: frozenset[str]) -> dict[str, Any]:
    """Columns in which a row says something else than the book."""
    values = ready.values
    out: dict[str, Any] = {}
    if any(d is not None for d in ready.lengths):
        if not _alike(json.loads(old["lengths"]), ready.lengths):
            out |= {"lengths": values["lengths"]}
        if old["phases"] != values["phases"]:
            out |= {"phases": values["phases"], "contacts": values["contacts"]}
    for name in ("total", "behind"):
        if values[name] is not None and not _alike([old[name]], [values[name]]):
            out[name] = values[name]
    said = {*ready.given.fields, *({"foul"} & titles)}
    for name in entry.FIELDS:
        if name in said and not _alike([old[name]], [values[name]]):
            out[name] = values[name]
    if "runs" in out:
        out["contacts"] = values["contacts"]
    if ready.given.place is not None and ready.given.place != old["place"]:
        out["place"] = ready.given.place
    return out


def _alike(one: Sequence[Any], two: Sequence[Any]) -> bool:
    return len(one) == len(two) and all(
        abs(a - b) <= SAME if isinstance(a, float) and isinstance(b, float) else a == b
        for a, b in zip(one, two, strict=True)
    )


def _old(book: Book, where: str, values: Sequence[Any]) -> list[Old]:
    names = (*_COLUMNS, "place")
    return [dict(zip(names, row, strict=True)) for row in book.rows(_ASKED + where, values)]


def _before_corrections(book: Book) -> dict[Key, list[Old]]:
    """Attempts whose athlete, day or drill was corrected, by what these were at first."""
    found = book.rows(
        "SELECT c.row, c.field, c.before, a.athlete, a.session, a.drill FROM correction c "
        "JOIN attempt a ON a.id = c.row WHERE c.room = 'attempt' "
        "AND c.field IN ('athlete', 'session', 'drill') ORDER BY c.id DESC"
    )
    first: dict[int, dict[str, Any]] = {}
    for number, field, before, athlete, session, drill in found:  # the earliest comes last
        was = first.setdefault(number, {"athlete": athlete, "session": session, "drill": drill})
        was[field] = unquoted(before) if field == "drill" else int(before)
    days = dict(book.rows("SELECT id, day FROM session")) if first else {}
    out: dict[Key, list[Old]] = defaultdict(list)
    for number, was in first.items():
        key = was["athlete"], days.get(was["session"], ""), was["drill"]
        out[key] += _old(book, " WHERE a.id = ?", (number,))
    return out


def put_change(book: Book, change: Changed) -> None:
    """Write what differs, inside a change that the caller holds; the earlier values are kept."""
    values = dict(change.after)
    if "place" in values:
        values["session"], _ = entry.session_of(book, change.ready.day, values.pop("place"))
    if values.keys() & {"lengths", "total", "behind"}:
        values |= {k: change.ready.values[k] for k in ("readings", "zero")}
    sets = ", ".join(f"{key} = ?" for key in values)
    book.db.execute(f"UPDATE attempt SET {sets} WHERE id = ?", (*values.values(), change.id))
