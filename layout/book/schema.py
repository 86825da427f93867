"""Tables of a book, step by step: each step brings a book of one version to the next.

Units are SI throughout: m, m/s, rad. A text is never empty: nothing is NULL. Every change of a
value writes its earlier value to `correction`, by trigger, whoever makes the change.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Mapping
from typing import Any, Final

APPLICATION: Final = 0x50684D4B
"""Written in the file's header, so that no other database is taken for a book."""

CORRECTED: Final = ("athlete", "session", "plan", "attempt", "picture", "own")
"""Tables whose earlier values are kept."""
TABLES: Final = ("setting", *CORRECTED, "correction", "handed", "waiting")
"""Each after those it refers to."""

_SCRIPT: Final = """
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
  note TEXT CHECK (note <> ''),
  stature REAL CHECK (stature > 0),
  mass REAL CHECK (mass > 0)
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
  made TEXT NOT NULL CHECK (made <> ''),
  runs INTEGER NOT NULL DEFAULT 1 CHECK (runs BETWEEN 1 AND 99),
  contacts INTEGER NOT NULL DEFAULT 0 CHECK (contacts >= 0),
  struck INTEGER NOT NULL DEFAULT 0 CHECK (struck IN (0, 1)),
  knee_gap REAL,
  support_knee REAL,
  free_knee REAL,
  free_thigh REAL,
  trunk REAL,
  kind TEXT CHECK (kind IN ('training', 'competition')),
  behind REAL,
  run TEXT CHECK (run <> '')
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
CREATE INDEX attempt_athlete ON attempt (athlete, session);
CREATE INDEX attempt_session ON attempt (session, athlete, contacts, runs, struck);
CREATE INDEX attempt_plan ON attempt (plan);
CREATE INDEX plan_athlete ON plan (athlete, drill, day);
CREATE INDEX correction_row ON correction (room, row);
"""


_JUMPED: Final = re.compile(r"^([ \t]*)jumped(?=[ \t]*=)", re.MULTILINE)


def _triggers(db: sqlite3.Connection) -> list[str]:
    """Triggers that keep the earlier value of every column, and refuse to lose a row."""
    out = []
    there = [table for table in TABLES if columns_of(db, table)]  # an older version has fewer
    for table in (t for t in CORRECTED if t in there):
        puts = "".join(
            "INSERT INTO correction (at, room, row, field, before, after) SELECT "
            f"strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), '{table}', OLD.id, '{c}', "
            f"quote(OLD.{c}), quote(NEW.{c}) WHERE OLD.{c} IS NOT NEW.{c};\n"
            for c in columns_of(db, table)
            if c != "id"
        )
        out.append(f"CREATE TRIGGER {table}_kept AFTER UPDATE ON {table} BEGIN\n{puts}END")
    out += [
        f"CREATE TRIGGER {table}_stays BEFORE DELETE ON {table} BEGIN "
        f"SELECT RAISE(ABORT, 'rows of {table} are kept'); END"
        for table in there[1:]
    ]
    out.append(
        "CREATE TRIGGER correction_fixed BEFORE UPDATE ON correction BEGIN "
        "SELECT RAISE(ABORT, 'corrections are kept'); END"
    )
    return out


def put_row(db: sqlite3.Connection, table: str, values: Mapping[str, Any]) -> int:
    """Put a new row of some columns into a table; its number."""
    keys, slots = ", ".join(values), ", ".join("?" * len(values))
    made = db.execute(f"INSERT INTO {table} ({keys}) VALUES ({slots})", tuple(values.values()))
    return int(made.lastrowid or 0)


def drop_triggers(db: sqlite3.Connection) -> None:
    """Take all triggers away, inside a transaction that puts them back."""
    names = db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for (name,) in names:
        db.execute(f'DROP TRIGGER "{name}"')


def put_triggers(db: sqlite3.Connection) -> None:
    """The triggers of the tables as they are."""
    for text in _triggers(db):
        db.execute(text)


def _run(db: sqlite3.Connection, script: str) -> None:
    # Statement by statement: `executescript` would end the transaction.
    for text in script.split(";\n"):
        if text.strip():
            db.execute(text)


def _one(db: sqlite3.Connection) -> None:
    _run(db, _SCRIPT)


def _two(db: sqlite3.Connection) -> None:
    """Words of the trade: an attempt's hop, step and jump are phases, and so are those of a best."""
    db.execute("ALTER TABLE attempt RENAME COLUMN moves TO phases")
    db.execute("UPDATE correction SET field = 'phases' WHERE field = 'moves'")
    for number, text in db.execute(
        "SELECT id, file FROM athlete WHERE file IS NOT NULL"
    ).fetchall():
        db.execute(
            "UPDATE athlete SET file = ? WHERE id = ?",
            (_JUMPED.sub(r"\1best_phases", text), number),
        )


_PICTURES: Final = """
CREATE TABLE picture (
  id INTEGER PRIMARY KEY,
  athlete INTEGER NOT NULL REFERENCES athlete (id),
  day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]'),
  kind TEXT NOT NULL CHECK (kind IN ('training', 'competition')),
  drill TEXT CHECK (drill <> ''),
  instant TEXT NOT NULL CHECK (instant <> ''),
  points TEXT NOT NULL CHECK (points <> '' AND length(points) <= 20000),
  measures TEXT NOT NULL CHECK (measures GLOB '{*}' AND length(measures) <= 5000),
  note TEXT CHECK (note <> ''),
  made TEXT NOT NULL CHECK (made <> ''),
  struck INTEGER NOT NULL DEFAULT 0 CHECK (struck IN (0, 1))
) STRICT;
CREATE INDEX picture_athlete ON picture (athlete, day);
"""
_CORRECTED: Final = """
CREATE TABLE corrected (
  id INTEGER PRIMARY KEY,
  at TEXT NOT NULL CHECK (at <> ''),
  room TEXT NOT NULL CHECK (room IN ({rooms})),
  row INTEGER NOT NULL,
  field TEXT NOT NULL CHECK (field <> ''),
  before TEXT NOT NULL,
  after TEXT NOT NULL
) STRICT;
INSERT INTO corrected SELECT id, at, room, row, field, before, after FROM correction;
DROP TABLE correction;
ALTER TABLE corrected RENAME TO correction;
CREATE INDEX correction_row ON correction (room, row);
"""


_FROM_PHONES: Final = """
CREATE TABLE handed (
  id INTEGER PRIMARY KEY,
  key TEXT NOT NULL UNIQUE CHECK (length(key) = 16),
  plan INTEGER NOT NULL REFERENCES plan (id),
  made TEXT NOT NULL CHECK (made <> ''),
  door TEXT UNIQUE CHECK (length(door) = 64),
  until INTEGER CHECK (until > 0),
  claim TEXT CHECK (length(claim) = 64),
  claimed TEXT CHECK (claimed <> ''),
  asked TEXT CHECK (asked <> '' AND length(asked) <= 2000)
) STRICT;
CREATE TABLE waiting (
  id INTEGER PRIMARY KEY,
  mark TEXT NOT NULL UNIQUE CHECK (length(mark) = 64),
  athlete INTEGER NOT NULL REFERENCES athlete (id),
  plan INTEGER REFERENCES plan (id),
  drill TEXT NOT NULL CHECK (drill <> ''),
  day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]'),
  zero TEXT NOT NULL CHECK (zero IN ('each', 'board', 'start', 'pit')),
  phone TEXT CHECK (phone <> ''),
  run INTEGER CHECK (run > 0),
  words TEXT NOT NULL CHECK (words <> ''),
  came TEXT NOT NULL CHECK (came <> ''),
  state TEXT NOT NULL CHECK (state IN ('waits', 'taken', 'left')),
  struck INTEGER NOT NULL DEFAULT 0 CHECK (struck IN (0, 1, 2)),
  attempt INTEGER REFERENCES attempt (id)
) STRICT;
CREATE INDEX handed_plan ON handed (plan);
CREATE INDEX waiting_state ON waiting (state, athlete);
CREATE INDEX waiting_phone ON waiting (phone, day, zero, run);
CREATE INDEX waiting_plan ON waiting (plan);
CREATE INDEX waiting_attempt ON waiting (attempt);
"""

_OWN: Final = """
CREATE TABLE own (
  id INTEGER PRIMARY KEY,
  kind TEXT NOT NULL CHECK (kind IN ('drill', 'venue')),
  name TEXT NOT NULL CHECK (name <> ''),
  file TEXT NOT NULL CHECK (file <> '' AND length(file) <= 100000),
  struck INTEGER NOT NULL DEFAULT 0 CHECK (struck IN (0, 1)),
  UNIQUE (kind, name)
) STRICT;
"""


def _three(db: sqlite3.Connection) -> None:
    """What was measured on pictures: points and measures, never the picture."""
    _run(db, _PICTURES)
    _run(db, _CORRECTED.format(rooms="'athlete', 'session', 'plan', 'attempt', 'picture'"))


def _four(db: sqlite3.Connection) -> None:
    """Pages handed out for phones, and the runs that came back and wait to be taken in."""
    _run(db, _FROM_PHONES)


def _five(db: sqlite3.Connection) -> None:
    """The club's own drills and venues, as TOML."""
    _run(db, _OWN)
    _run(db, _CORRECTED.format(rooms="'athlete', 'session', 'plan', 'attempt', 'picture', 'own'"))


STEPS: Final[tuple[Callable[[sqlite3.Connection], None], ...]] = (_one, _two, _three, _four, _five)
"""Step i brings the tables of version i to i + 1; a step that has been released never changes."""
VERSION: Final = len(STEPS)


def version_of(db: sqlite3.Connection) -> int:
    """The version a book is at."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def climb(db: sqlite3.Connection) -> None:
    """Bring a book to the newest version, inside a transaction that the caller holds."""
    drop_triggers(db)
    for number, step in enumerate(STEPS[version_of(db) :], version_of(db) + 1):
        step(db)
        db.execute(f"PRAGMA user_version = {number}")
    put_triggers(db)


def columns_of(db: sqlite3.Connection, table: str) -> dict[str, str]:
    """Names and kinds of a table's columns, in order."""
    return {row[1]: row[2] for row in db.execute(f"PRAGMA table_info({table})")}
