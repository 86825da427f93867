"""One athlete's own data: all of it out, or all of it gone for good, with what others' rows say of them.

Only what people write is looked at for a name: notes, places, names, remarks in athlete files and texts of
plans. A word that the program reads, such as a phase, stays whatever somebody is called.
"""

from __future__ import annotations

import json
import re
import sqlite3
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

from layout.book.people import Member
from layout.book.refusal import NOTHING, name_of
from layout.book.schema import columns_of, drop_triggers, put_triggers
from layout.book.sound import row_fault
from layout.book.store import Book, megabytes, room_needed, scrub, told
from layout.book.written import GONE, Edit, rewritten
from layout.words.faults import BadInput, Fault, printable, refuse
from layout.words.names import plain

_TEXTS: Final = (
    ("session", "note", "note"), ("session", "place", "note"), ("attempt", "note", "note"),
    ("athlete", "note", "note"), ("athlete", "file", "file"), ("plan", "json", "plan"),
    ("handed", "asked", "note"),
    ("plan", "drill", "drill"), ("attempt", "drill", "drill"), ("picture", "drill", "drill"),
    ("picture", "note", "note"), ("own", "file", "own"), ("own", "name", "slug"),
    ("correction", "before", "correction"), ("correction", "after", "correction"),
)  # fmt: skip
"""Table, column, and how its text is read."""
_WRITTEN: Final = frozenset({"name", "note", "place", "file", "json", "drill"})
"""Fields whose corrections hold what people wrote."""
_LETTER: Final = r"[^\W\d_]"
_UNSPACED: Final = "\u0e00"
"""From here on are scripts that set no space between words."""


@dataclass(frozen=True)
class Mention:
    """A text that holds a part of a name: its table, row and column, and the words around it."""

    table: str
    id: int
    column: str
    around: str

    @property
    def label(self) -> str:
        """What it is called on the command line, such as attempt-12."""
        return f"{self.table}-{self.id}"


# --- what people wrote ----------------------------------------------------------------------------


def _each(db: sqlite3.Connection) -> Iterator[tuple[str, int, str, str, str]]:
    """Table, row, column, kind and text of everything that people wrote."""
    for table, column, kind in _TEXTS:
        fields = ""
        if table == "correction":
            fields = f" AND field IN ({', '.join(repr(f) for f in sorted(_WRITTEN))})"
        asked = f"SELECT id, {column} FROM {table} WHERE {column} IS NOT NULL{fields} ORDER BY id"
        for number, text in db.execute(asked).fetchall():
            yield table, number, column, kind, text


def _put(db: sqlite3.Connection, table: str, number: int, column: str, text: str) -> bool:
    """Change a text; False where the row could not be read any more, and stays as it is."""
    if column in ("file", "json"):
        asked = db.execute(f"SELECT * FROM {table} WHERE id = ?", (number,))
        keys = [d[0] for d in asked.description]
        row = dict(zip(keys, asked.fetchone(), strict=True))
        if not row_fault(table, row) and row_fault(table, {**row, column: text}):
            return False
    put = f"UPDATE OR IGNORE {table} SET {column} = ? WHERE id = ?"
    if db.execute(put, (text, number)).rowcount:
        return True
    # That day has such a place already; or a text is as long as it may be, and stays.
    return db.execute(put, (f"{text} {number}", number)).rowcount > 0


def _edited(db: sqlite3.Connection, edit: Edit, labels: Sequence[str] | None = None) -> int:
    """Edit what people wrote, in some rows or in all; how many texts are different now."""
    found = 0
    for table, number, column, kind, text in _each(db):
        if labels is None or f"{table}-{number}" in labels:
            clean = rewritten(kind, text, edit)
            found += clean != text and _put(db, table, number, column, clean)
    return found


# --- the whole name -------------------------------------------------------------------------------


def _spellings(name: str) -> set[str]:
    """A name as notes and corrections (quotes doubled) and unreadable plans (JSON) may hold it."""
    forms = {unicodedata.normalize(form, name) for form in ("NFC", "NFD")}
    forms |= {" ".join(f.split()) for f in forms}
    forms |= {
        json.dumps(f, ensure_ascii=ascii)[1:-1] for f in list(forms) for ascii in (True, False)
    }
    return forms | {f.replace("'", "''") for f in forms}


def take_out(db: sqlite3.Connection, name: str) -> int:
    """Replace the name, as a word, in everybody else's texts; longer names that hold it stay."""
    longer = [n for (n,) in db.execute("SELECT name FROM athlete") if name.lower() in n.lower()]
    stay = sorted({f for n in longer for f in _spellings(n)}, key=len, reverse=True)
    go = sorted(_spellings(name), key=len, reverse=True)
    either = "|".join(map(re.escape, stay)) or "(?!)"
    word = re.compile(
        rf"(?<!\w)(?:(?P<stay>{either})|(?:{'|'.join(map(re.escape, go))}))(?!\w)", re.IGNORECASE
    )
    return _edited(db, lambda text: word.sub(lambda m: m["stay"] or GONE, text))


# --- its parts ------------------------------------------------------------------------------------


@lru_cache(maxsize=4096)
def _plain(char: str) -> str:
    return " " if char.isspace() else plain(char)


class Parts:
    """Finds first name, surname or both joined, in any case and without accents.

    `others`: names of those who stay: a part inside one of them is theirs.
    """

    def __init__(self, name: str, others: Sequence[str]) -> None:
        words = re.findall(rf"{_LETTER}+", plain(name))
        self.parts = sorted({w for w in words if len(w) > 1}, key=len, reverse=True)
        joined = "".join(words) if len(words) > 1 else ""
        bare = [w for w in (joined, *self.parts) if w and (w == joined or w >= _UNSPACED)]
        either = "|".join(map(re.escape, self.parts)) or "(?!)"
        alone = rf"(?<!{_LETTER})(?:{either})s?(?!{_LETTER})"
        self._go = re.compile("|".join([*map(re.escape, bare), alone]))
        theirs = sorted({plain(n) for n in others} - {""}, key=len, reverse=True)
        stay = "|".join(map(re.escape, theirs)) or "(?!)"
        self._stay = re.compile(rf"(?<!{_LETTER})(?:{stay})(?!{_LETTER})")

    def spans(self, text: str) -> list[tuple[int, int]]:
        """Where they stand in a text."""
        if not any(part in plain(text) for part in self.parts):
            return []
        at = [i for i, c in enumerate(text) for _ in _plain(c)]
        flat = "".join(map(_plain, text))
        theirs = [m.span() for m in self._stay.finditer(flat)]
        return [
            (at[m.start()], at[m.end() - 1] + 1)
            for m in self._go.finditer(flat)
            if not any(a <= m.start() and m.end() <= b for a, b in theirs)
        ]

    def without(self, text: str) -> str:
        """The text with each replaced."""
        for start, end in reversed(self.spans(text)):
            text = text[:start] + GONE + text[end:]
        return text


def _parts(db: sqlite3.Connection, name: str) -> Parts:
    return Parts(name, [n for (n,) in db.execute("SELECT name FROM athlete")])


def remaining(db: sqlite3.Connection, name: str) -> list[Mention]:
    """Texts that hold a part of a name.

    `name`: of somebody who is not, or no longer, in the book.
    """
    parts, out = _parts(db, name), []
    for table, number, column, kind, text in _each(db):
        around: list[str] = []

        def look(piece: str, around: list[str] = around) -> str:
            for start, end in parts.spans(piece)[:1]:
                around.append(printable(piece[max(0, start - 25) : end + 25]))
            return piece

        rewritten(kind, text, look)
        if around:
            out.append(Mention(table, number, column, around[0].strip()))
    return out


def take_out_parts(db: sqlite3.Connection, name: str, labels: Sequence[str] | None) -> int:
    """Replace the parts of a name in the texts of some rows, or in all; returns how many texts."""
    return _edited(db, _parts(db, name).without, labels)


_THEIRS: Final = {
    "athlete": "id = ?1",
    "plan": "athlete = ?1",
    "attempt": "athlete = ?1",
    "picture": "athlete = ?1",
    "session": "id IN (SELECT session FROM attempt WHERE athlete = ?1)",
    "handed": "plan IN (SELECT id FROM plan WHERE athlete = ?1)",
    "waiting": "athlete = ?1",
    "correction": "(room = 'athlete' AND row = ?1) "
    "OR (room = 'plan' AND row IN (SELECT id FROM plan WHERE athlete = ?1)) "
    "OR (room = 'attempt' AND row IN (SELECT id FROM attempt WHERE athlete = ?1)) "
    "OR (room = 'picture' AND row IN (SELECT id FROM picture WHERE athlete = ?1))",
}
"""Which rows of each table are one athlete's."""


def export(book: Book, member: Member) -> str:
    """Everything the book holds of one athlete, as JSON: {table: [row, ...]}."""
    out: dict[str, list[dict[str, Any]]] = {}
    for table, where in _THEIRS.items():
        columns = list(columns_of(book.db, table))
        sql = f"SELECT {', '.join(columns)} FROM {table} WHERE {where} ORDER BY id"
        out[table] = [dict(zip(columns, row, strict=True)) for row in book.rows(sql, (member.id,))]
    for row in out["plan"]:
        row["json"] = json.loads(row["json"])
    for row in out["picture"]:
        row["measures"] = json.loads(row["measures"])
    return json.dumps(out, ensure_ascii=False, indent=1) + "\n"


def held(book: Book, member: Member) -> dict[str, int]:
    """How many rows of each table are one athlete's."""
    asked = "SELECT count(*) FROM {} WHERE {}"
    return {
        t: book.rows(asked.format(t, where), (member.id,))[0][0] for t, where in _THEIRS.items()
    }


@dataclass(frozen=True)
class Erased:
    """What is gone."""

    name: str
    attempts: int
    plans: int
    pictures: int  # what was measured on them; no picture is ever kept
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
    needed, free = room_needed(book)
    if free < needed:
        rule = f"{megabytes(needed)} of free room beside the book needed to rewrite it; {NOTHING}"
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
        counts = dict.fromkeys(("attempt", "plan", "picture", "correction"), 0)
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
        name, counts["attempt"], counts["plan"], counts["picture"], counts["correction"], mentions,
        tuple(left),
    )  # fmt: skip


def _delete_rows(db: sqlite3.Connection, member: Member) -> dict[str, int]:
    """Take an athlete's rows away, and sessions in which nobody else jumped; how many of each."""
    own = (member.id,)
    sessions = [r[0] for r in db.execute(f"SELECT id FROM session WHERE {_THEIRS['session']}", own)]
    counts = {}
    for table in ("correction", "waiting", "handed", "picture", "attempt", "plan", "athlete"):
        counts[table] = db.execute(f"DELETE FROM {table} WHERE {_THEIRS[table]}", own).rowcount
    for session in sessions:
        empty = "NOT EXISTS (SELECT 1 FROM attempt WHERE session = ?1)"
        db.execute(
            f"DELETE FROM correction WHERE room = 'session' AND row = ?1 AND {empty}", (session,)
        )
        db.execute(f"DELETE FROM session WHERE id = ?1 AND {empty}", (session,))
    return counts
