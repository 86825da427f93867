"""Tables of a book, step by step: each step brings a book of one version to the next.

Units are SI throughout: m, m/s, rad. A text is never empty: nothing is NULL. Every change of a
value writes its earlier value to `correction`, by trigger, whoever makes the change.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import Final

APPLICATION: Final = 0x50684D4B
"""Written in the file's header, so that no other database is taken for a book."""

TABLES: Final = ("setting", "athlete", "session", "plan", "attempt", "correction")
"""Each after those it refers to."""

_FIRST: Final = """
CREATE TABLE setting (
  key TEXT PRIMARY KEY NOT NULL CHECK (key <> ''),
  value TEXT NOT NULL CHECK (value <> '')
) STRICT, WITHOUT ROWID;
CREATE TABLE athlete (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (name <> ''),
  leg TEXT CHECK (leg IN ('left', 'right')),
  born INTEGER CHECK (born BETWEEN 1900 AND 2100),
  level TEXT CHECK (level IN ('beginner', 'intermediate', 'advanced')),
  file TEXT CHECK (file <> '' AND length(file) <= 100000),
  note TEXT CHECK (note <> '')
) STRICT;
CREATE TABLE session (
  id INTEGER PRIMARY KEY,
  day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]'),
  place TEXT NOT NULL CHECK (place <> ''),
  note TEXT CHECK (note <> ''),
  UNIQUE (day, place)
) STRICT;
CREATE TABLE plan (
  id INTEGER PRIMARY KEY,
  athlete INTEGER NOT NULL REFERENCES athlete (id),
  drill TEXT NOT NULL CHECK (drill <> ''),
  day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]'),
  json TEXT NOT NULL CHECK (json GLOB '{*}' AND length(json) <= 100000)
) STRICT;
CREATE TABLE attempt (
  id INTEGER PRIMARY KEY,
  session INTEGER NOT NULL REFERENCES session (id),
  athlete INTEGER NOT NULL REFERENCES athlete (id),
  plan INTEGER REFERENCES plan (id),
  drill TEXT NOT NULL CHECK (drill <> ''),
  moves TEXT NOT NULL CHECK (moves <> ''),
  lengths TEXT NOT NULL CHECK (lengths GLOB '[[]*]'),
  total REAL CHECK (total > 0),
  readings TEXT CHECK (readings <> ''),
  zero TEXT CHECK (zero <> ''),
  strides INTEGER CHECK (strides BETWEEN 0 AND 24),
  speed REAL CHECK (speed > 0),
  wind REAL,
  surface TEXT CHECK (surface <> ''),
  foul INTEGER NOT NULL CHECK (foul IN (0, 1)),
  note TEXT CHECK (note <> ''),
  made TEXT NOT NULL CHECK (made <> '')
) STRICT;
CREATE TABLE correction (
  id INTEGER PRIMARY KEY,
  at TEXT NOT NULL CHECK (at <> ''),
  room TEXT NOT NULL CHECK (room IN ('athlete', 'session', 'plan', 'attempt')),
  row INTEGER NOT NULL,
  field TEXT NOT NULL CHECK (field <> ''),
  before TEXT NOT NULL,
  after TEXT NOT NULL
) STRICT;
"""

_SECOND: Final = """
ALTER TABLE athlete ADD COLUMN stature REAL CHECK (stature > 0);
ALTER TABLE athlete ADD COLUMN mass REAL CHECK (mass > 0);
ALTER TABLE attempt ADD COLUMN runs INTEGER NOT NULL DEFAULT 1 CHECK (runs BETWEEN 1 AND 99);
ALTER TABLE attempt ADD COLUMN contacts INTEGER NOT NULL DEFAULT 0 CHECK (contacts >= 0);
ALTER TABLE attempt ADD COLUMN struck INTEGER NOT NULL DEFAULT 0 CHECK (struck IN (0, 1));
ALTER TABLE attempt ADD COLUMN knee_gap REAL;
ALTER TABLE attempt ADD COLUMN support_knee REAL;
ALTER TABLE attempt ADD COLUMN free_knee REAL;
ALTER TABLE attempt ADD COLUMN free_thigh REAL;
ALTER TABLE attempt ADD COLUMN trunk REAL;
UPDATE attempt SET contacts = length(moves) - length(replace(moves, ' ', '')) + 1
  + (strides IS NOT 0);
CREATE INDEX attempt_athlete ON attempt (athlete, session);
CREATE INDEX attempt_session ON attempt (session, athlete, contacts, runs, struck);
CREATE INDEX attempt_plan ON attempt (plan);
CREATE INDEX plan_athlete ON plan (athlete, drill, day);
CREATE INDEX correction_row ON correction (room, row);
"""

_THIRD: Final = """
ALTER TABLE attempt ADD COLUMN kind TEXT CHECK (kind IN ('training', 'competition'));
ALTER TABLE attempt ADD COLUMN behind REAL;
ALTER TABLE attempt ADD COLUMN run TEXT CHECK (run <> '');
"""
ADDED: Final = {"attempt": ("kind", "behind", "run")}
"""Columns that a folder written by an earlier version lacks; nothing is known of them then."""

_KEPT_1: Final = {
    "athlete": "name leg born level file note",
    "session": "day place note",
    "plan": "athlete drill day json",
    "attempt": "session athlete plan drill moves lengths total readings zero strides speed wind"
    " surface foul note made",
}
_KEPT_2: Final = {
    **_KEPT_1,
    "athlete": _KEPT_1["athlete"] + " stature mass",
    "attempt": _KEPT_1["attempt"]
    + " runs contacts struck knee_gap support_knee free_knee free_thigh trunk",
}
_KEPT_3: Final = {**_KEPT_2, "attempt": _KEPT_2["attempt"] + " kind behind run"}


def _triggers(kept: dict[str, str]) -> list[str]:
    """Triggers that keep the earlier value of every column, and refuse to lose a row."""
    out = []
    for table, columns in kept.items():
        puts = "".join(
            "INSERT INTO correction (at, room, row, field, before, after) SELECT "
            f"strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), '{table}', OLD.id, '{c}', "
            f"quote(OLD.{c}), quote(NEW.{c}) WHERE OLD.{c} IS NOT NEW.{c};\n"
            for c in columns.split()
        )
        out.append(f"CREATE TRIGGER {table}_kept AFTER UPDATE ON {table} BEGIN\n{puts}END")
    out += [
        f"CREATE TRIGGER {table}_stays BEFORE DELETE ON {table} BEGIN "
        f"SELECT RAISE(ABORT, 'rows of {table} are kept'); END"
        for table in (*kept, "correction")
    ]
    out.append(
        "CREATE TRIGGER correction_fixed BEFORE UPDATE ON correction BEGIN "
        "SELECT RAISE(ABORT, 'corrections are kept'); END"
    )
    return out


def drop_triggers(db: sqlite3.Connection) -> None:
    """Take all triggers away, inside a transaction that puts them back."""
    names = db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for (name,) in names:
        db.execute(f'DROP TRIGGER "{name}"')


def put_triggers(db: sqlite3.Connection, kept: dict[str, str] = _KEPT_3) -> None:
    """The triggers of the newest version."""
    for text in _triggers(kept):
        db.execute(text)


def _run(db: sqlite3.Connection, script: str) -> None:
    """Statement by statement: `executescript` would end the transaction."""
    for text in script.split(";\n"):
        if text.strip():
            db.execute(text)


def _one(db: sqlite3.Connection) -> None:
    _run(db, _FIRST)
    put_triggers(db, _KEPT_1)


def _two(db: sqlite3.Connection) -> None:
    """Size of athletes, measured positions, runs and contacts for the load, struck attempts."""
    drop_triggers(db)
    _run(db, _SECOND)
    put_triggers(db, _KEPT_2)


def _three(db: sqlite3.Connection) -> None:
    """Competition or training, how far the toe was behind its mark, and the run's number."""
    drop_triggers(db)
    _run(db, _THIRD)
    put_triggers(db)


STEPS: Final[tuple[Callable[[sqlite3.Connection], None], ...]] = (_one, _two, _three)
"""Step i brings version i to i + 1; a step that has been released never changes."""
VERSION: Final = len(STEPS)


def version_of(db: sqlite3.Connection) -> int:
    """The version a book is at."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def climb(db: sqlite3.Connection, to: int = VERSION) -> None:
    """Bring a book to a version, inside a transaction that the caller holds."""
    for step in range(version_of(db), to):
        STEPS[step](db)
        db.execute(f"PRAGMA user_version = {step + 1}")


def columns_of(db: sqlite3.Connection, table: str) -> dict[str, str]:
    """Names and kinds of a table's columns, in order."""
    return {row[1]: row[2] for row in db.execute(f"PRAGMA table_info({table})")}
