"""One athlete's own data: all of it out, or all of it gone for good."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from layout.book.mentions import Mention, remaining, take_out, take_out_parts
from layout.book.people import Member
from layout.book.refusal import NOTHING, name_of
from layout.book.schema import columns_of, drop_triggers, put_triggers
from layout.book.store import Book, megabytes, room_wanted, scrub, told
from layout.words.faults import BadInput, Fault, refuse


def _theirs(member: Member) -> dict[str, tuple[str, tuple[Any, ...]]]:
    """Which rows of each table are one athlete's."""
    own = (member.id,)
    return {
        "athlete": ("id = ?", own),
        "plan": ("athlete = ?", own),
        "attempt": ("athlete = ?", own),
        "session": ("id IN (SELECT session FROM attempt WHERE athlete = ?)", own),
        "correction": (
            "(room = 'athlete' AND row = ?1) "
            "OR (room = 'plan' AND row IN (SELECT id FROM plan WHERE athlete = ?1)) "
            "OR (room = 'attempt' AND row IN (SELECT id FROM attempt WHERE athlete = ?1))",
            own,
        ),
    }


def export(book: Book, member: Member) -> str:
    """Everything the book holds of one athlete, as JSON: {table: [row, ...]}."""
    out: dict[str, list[dict[str, Any]]] = {}
    for table, (where, values) in _theirs(member).items():
        columns = list(columns_of(book.db, table))
        sql = f"SELECT {', '.join(columns)} FROM {table} WHERE {where} ORDER BY id"
        out[table] = [dict(zip(columns, row, strict=True)) for row in book.rows(sql, values)]
    for row in out["plan"]:
        row["json"] = json.loads(row["json"])
    return json.dumps(out, ensure_ascii=False, indent=1) + "\n"


@dataclass(frozen=True)
class Erased:
    """What is gone."""

    name: str
    attempts: int
    plans: int
    corrections: int
    mentions: int  # texts of others in which the name stood and was replaced
    left: tuple[Mention, ...] = ()  # texts of others that still hold a part of the name
    unfinished: str = ""  # why traces of it are still in the file; else ""


def erase(book: Book, who: Member | str, parts: Sequence[str] | None = ()) -> Erased:
    """Take one athlete out of the book for good, also from its log and its free pages.

    The book is held alone from the first step to the last, so that no other program can keep a
    page alive. What is deleted is deleted: where the rewrite that takes the traces out fails, or the
    machine stops half-way, the next opening finishes it.

    `who`: whose rows go, and whose name is taken out of others' texts; a name alone where there are
    no rows, or none any more. `parts`: labels of texts (see `Mention`) out of which parts of the
    name go too; None for all. Refused: another program has the book open, there is no room for the
    rewrite, or no such text: nothing was changed.
    """
    wanted, free = room_wanted(book)
    if free < wanted:
        rule = f"{megabytes(wanted)} of free room beside the book needed to rewrite it; {NOTHING}"
        raise refuse("erase", rule, megabytes(free))
    with told(book.path):
        _alone(book)
        try:
            gone = _delete(book, who, parts)
            try:
                scrub(book)
            except BadInput as error:
                gone = replace(gone, unfinished=error.faults[0].rule)
        finally:
            book.db.execute("PRAGMA locking_mode = NORMAL")
            book.rows("SELECT 1 FROM setting LIMIT 1")  # lets go of the lock
    return gone


def _alone(book: Book) -> None:
    book.db.execute("PRAGMA locking_mode = EXCLUSIVE")
    try:
        book.db.execute("BEGIN EXCLUSIVE")
        book.db.execute("COMMIT")
    except sqlite3.OperationalError as error:
        book.db.execute("PRAGMA locking_mode = NORMAL")
        if not name_of(error).startswith(("BUSY", "LOCKED")):
            raise
        rule = f"is open in another program; close it first, then erase; {NOTHING}"
        raise BadInput([Fault("book", rule, None, str(book.path))]) from None


def _delete(book: Book, who: Member | str, parts: Sequence[str] | None = ()) -> Erased:
    name = who if isinstance(who, str) else who.name
    with book.writing() as db:
        book.memo.clear()
        drop_triggers(db)
        counts = dict.fromkeys(("attempt", "plan", "correction"), 0)
        if not isinstance(who, str):
            counts |= _delete_rows(db, who)
        mentions = take_out(db, name)
        left = remaining(db, name)
        unknown = set(parts or ()) - {m.label for m in left}
        if unknown:
            known = ", ".join(dict.fromkeys(m.label for m in left)) or "there are none"
            raise refuse("--parts", f"must be all, or some of these: {known}", min(unknown))
        if parts is None or parts:
            mentions += take_out_parts(db, name, parts)
            left = remaining(db, name)
        db.execute("INSERT OR REPLACE INTO setting VALUES ('erasing', 'yes')")
        put_triggers(db)
    return Erased(
        name, counts["attempt"], counts["plan"], counts["correction"], mentions, tuple(left)
    )


def _delete_rows(db: sqlite3.Connection, member: Member) -> dict[str, int]:
    """Take an athlete's rows away, and sessions in which nobody else jumped; how many of each."""
    theirs = _theirs(member)
    sessions = [r[0] for r in db.execute(
        f"SELECT id FROM session WHERE {theirs['session'][0]}", theirs["session"][1]
    )]  # fmt: skip
    counts = {}
    for table in ("correction", "attempt", "plan", "athlete"):
        where, values = theirs[table]
        counts[table] = db.execute(f"DELETE FROM {table} WHERE {where}", values).rowcount
    for session in sessions:
        empty = "NOT EXISTS (SELECT 1 FROM attempt WHERE session = ?1)"
        db.execute(
            f"DELETE FROM correction WHERE room = 'session' AND row = ?1 AND {empty}", (session,)
        )
        db.execute(f"DELETE FROM session WHERE id = ?1 AND {empty}", (session,))
    return counts
