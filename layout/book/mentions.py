"""Where a name stands in what others' rows say: taken out as a whole, and its parts found and offered.

Only what people write is looked at: notes, places, names, remarks in athlete files and texts of
plans. A word that the program reads, such as a phase, stays whatever somebody is called.
"""

from __future__ import annotations

import json
import re
import sqlite3
import tomllib
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from layout.book.sound import row_fault
from layout.plan.drill import catalogue
from layout.words.faults import printable
from layout.words.names import plain

GONE: Final = "(erased)"
"""Stands where a text named an athlete who was erased."""
_TEXTS: Final = (
    ("session", "note", "note"), ("session", "place", "note"), ("attempt", "note", "note"),
    ("athlete", "note", "note"), ("athlete", "file", "file"), ("plan", "json", "plan"),
    ("plan", "drill", "drill"), ("attempt", "drill", "drill"),
    ("correction", "before", "correction"), ("correction", "after", "correction"),
)  # fmt: skip
"""Table, column, and how its text is read."""
_WRITTEN: Final = frozenset({"name", "note", "place", "file", "json", "drill"})
"""Fields whose corrections hold what people wrote."""
_PLAN_TEXTS: Final = frozenset(
    {"name", "text", "title", "job", "slug", "drill", "points", "faults", "cautions"}
)
_TOML: Final = re.compile(
    r"^[ \t]*[\"']?(?P<key>\w+)[\"']?[ \t]*=(?!=)"
    r"|(?P<text>\"\"\".*?\"\"\"|'''.*?'''|\"(?:\\.|[^\"\\\n])*\"|'[^'\n]*')|(?P<remark>#[^\n]*)",
    re.MULTILINE | re.DOTALL,
)
_LETTER: Final = r"[^\W\d_]"
_UNSPACED: Final = "\u0e00"
"""From here on are scripts that set no space between words."""
Edit = Callable[[str], str]


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


def _in_file(text: str, edit: Edit) -> str:
    """An athlete file with its names, notes and remarks edited."""
    key = ""

    def piece(found: re.Match[str]) -> str:
        nonlocal key
        key = found["key"] or key
        free = found["remark"] or (found["text"] and key in ("name", "note"))
        return edit(found[0]) if free else found[0]

    try:
        tomllib.loads(text)
    except (ValueError, RecursionError):
        return edit(text)  # nothing reads it: better a name too few
    return _TOML.sub(piece, text)


@lru_cache(maxsize=1)
def _own_texts() -> frozenset[str]:
    """What the shipped drills say: no name is looked for in it."""
    found = {t for d in catalogue().values() for t in (d.title, d.job, *d.points, *d.faults)}
    return frozenset(found | set(catalogue()))


def _in_plan(text: str, edit: Edit) -> str:
    """A plan with the texts that people write edited."""

    def walk(value: Any, free: bool) -> Any:
        if isinstance(value, dict):
            return {k: walk(v, k in _PLAN_TEXTS) for k, v in value.items()}
        if isinstance(value, list):
            return [walk(v, free) for v in value]
        own = not isinstance(value, str) or value in _own_texts()
        return edit(value) if free and not own else value

    try:
        table = json.loads(text)
        made = walk(table, False)
    except (ValueError, RecursionError):
        return edit(text)
    return text if made == table else json.dumps(made, ensure_ascii=False, separators=(",", ":"))


def _rewritten(kind: str, text: str, edit: Edit) -> str:
    if kind == "file":
        return _in_file(text, edit)
    if kind == "plan":
        return _in_plan(text, edit)
    return text if kind == "drill" and text in _own_texts() else edit(text)


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
    """Replace the name, as a word, in everybody else's texts; longer names that hold it stay.

    Returns texts that were changed.
    """
    longer = [n for (n,) in db.execute("SELECT name FROM athlete") if name.lower() in n.lower()]
    stay = sorted({f for n in longer for f in _spellings(n)}, key=len, reverse=True)
    go = sorted(_spellings(name), key=len, reverse=True)
    either = "|".join(map(re.escape, stay)) or "(?!)"
    word = re.compile(
        rf"(?<!\w)(?:(?P<stay>{either})|(?:{'|'.join(map(re.escape, go))}))(?!\w)", re.IGNORECASE
    )
    found = 0
    for table, number, column, kind, text in _each(db):
        clean = _rewritten(kind, text, lambda t: word.sub(lambda m: m["stay"] or GONE, t))
        if clean != text:
            found += _put(db, table, number, column, clean)
    return found


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

        _rewritten(kind, text, look)
        if around:
            out.append(Mention(table, number, column, around[0].strip()))
    return out


def take_out_parts(db: sqlite3.Connection, name: str, labels: Sequence[str] | None) -> int:
    """Replace the parts of a name in the texts of some rows, or in all; returns how many texts."""
    parts, found = _parts(db, name), 0
    for table, number, column, kind, text in _each(db):
        if labels is not None and f"{table}-{number}" not in labels:
            continue
        clean = _rewritten(kind, text, parts.without)
        if clean != text:
            found += _put(db, table, number, column, clean)
    return found
