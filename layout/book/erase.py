"""One athlete's own data: all of it out, or all of it gone for good."""

from __future__ import annotations

import json
import re
import sqlite3
import unicodedata
from dataclasses import dataclass, replace
from typing import Any, Final

from layout.book.people import Member
from layout.book.refusal import NOTHING, name_of
from layout.book.schema import columns_of, drop_triggers, put_triggers
from layout.book.store import Book, megabytes, room_wanted, scrub, told
from layout.faults import BadInput, Fault, refuse

GONE: Final = "(erased)"
"""Stands where a note named an athlete who was erased."""


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
    """Everything the book holds of one athlete, as JSON: {table: [row, ...]}.

    Raises
    ------
    BadInput
    """
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
    """What is gone.

    Attributes
    ----------
    name : str
    attempts, plans, corrections : int
    mentions : int
        Texts of others in which the name stood and was replaced.
    unfinished : str
        Why traces of it are still in the file; else "".
    """

    name: str
    attempts: int
    plans: int
    corrections: int
    mentions: int
    unfinished: str = ""


def erase(book: Book, member: Member) -> Erased:
    """Take one athlete out of the book for good, also from its log and its free pages.

    The book is held alone from the first step to the last, so that no other program can keep a
    page alive. What is deleted is deleted: where the rewrite that takes the traces out fails, or the
    machine stops half-way, the next opening finishes it.

    Raises
    ------
    BadInput
        Another program has the book open, or there is no room for the rewrite: nothing was changed.
    """
    wanted, free = room_wanted(book)
    if free < wanted:
        rule = f"{megabytes(wanted)} of free room beside the book wanted to rewrite it; {NOTHING}"
        raise refuse("erase", rule, megabytes(free))
    with told(book.path):
        _alone(book)
        try:
            gone = _delete(book, member)
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


def _delete(book: Book, member: Member) -> Erased:
    with book.writing() as db:
        book.memo.clear()
        drop_triggers(db)
        counts = {}
        theirs = _theirs(member)
        sessions = [r[0] for r in db.execute(
            f"SELECT id FROM session WHERE {theirs['session'][0]}", theirs["session"][1]
        )]  # fmt: skip
        for table in ("correction", "attempt", "plan", "athlete"):
            where, values = theirs[table]
            counts[table] = db.execute(f"DELETE FROM {table} WHERE {where}", values).rowcount
        for session in sessions:
            empty = "NOT EXISTS (SELECT 1 FROM attempt WHERE session = ?1)"
            db.execute(
                f"DELETE FROM correction WHERE room = 'session' AND row = ?1 AND {empty}",
                (session,),
            )
            db.execute(f"DELETE FROM session WHERE id = ?1 AND {empty}", (session,))
        mentions = _unname(db, member.name)
        db.execute("INSERT OR REPLACE INTO setting VALUES ('erasing', 'yes')")
        put_triggers(db)
    return Erased(member.name, counts["attempt"], counts["plan"], counts["correction"], mentions)


def _spellings(name: str) -> set[str]:
    """A name as notes, corrections (quotes doubled) and saved plans (JSON) may hold it."""
    forms = {unicodedata.normalize(form, name) for form in ("NFC", "NFD")}
    forms |= {" ".join(f.split()) for f in forms}
    forms |= {
        json.dumps(f, ensure_ascii=ascii)[1:-1] for f in list(forms) for ascii in (True, False)
    }
    return forms | {f.replace("'", "''") for f in forms}


def _unname(db: sqlite3.Connection, name: str) -> int:
    """Replace the name, as a word, in everybody else's notes; longer names that hold it stay."""
    longer = [n for (n,) in db.execute("SELECT name FROM athlete") if name.lower() in n.lower()]
    stay = sorted({f for n in longer for f in _spellings(n)}, key=len, reverse=True)
    go = sorted(_spellings(name), key=len, reverse=True)
    either = "|".join(map(re.escape, stay)) or "(?!)"
    word = re.compile(
        rf"(?<!\w)(?:(?P<stay>{either})|(?:{'|'.join(map(re.escape, go))}))(?!\w)", re.IGNORECASE
    )
    found = 0
    for table, columns in (
        ("session", ("note", "place")), ("attempt", ("note",)), ("athlete", ("note", "file")),
        ("correction", ("before", "after")), ("plan", ("json",)),
    ):  # fmt: skip
        for column in columns:
            asked = f"SELECT id, {column} FROM {table} WHERE {column} IS NOT NULL ORDER BY id"
            for number, text in db.execute(asked).fetchall():
                clean = word.sub(lambda m: m["stay"] or GONE, text)
                if clean == text:
                    continue
                found += 1
                put = f"UPDATE OR IGNORE {table} SET {column} = ? WHERE id = ?"
                if not db.execute(put, (clean, number)).rowcount:  # that day has such a place
                    db.execute(put, (f"{clean} {number}", number))
    return found
