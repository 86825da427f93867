"""A book as one private file: made, opened, changed whole or not at all, checked.

The file is an SQLite database in write-ahead mode with full synchronous commits: what a command has
confirmed is on the disk, and a crash loses at most the entry in progress.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import stat
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

from animate.whole_file import write_whole
from layout.book.schema import APPLICATION, VERSION, climb, version_of
from layout.faults import BadInput, Fault

PATIENCE: Final = 10.0
"""How long to wait for another program that is writing [s]."""
_NEWEST_SQLITE_NEEDED: Final = (3, 37, 0)
_MAGIC: Final = b"SQLite format 3\0"
_PRAGMAS: Final = (
    "foreign_keys = ON",
    "synchronous = FULL",
    "secure_delete = ON",
    "temp_store = MEMORY",
    "trusted_schema = OFF",
    "cell_size_check = ON",
)


def _fault(path: Path, rule: str, value: Any = None) -> BadInput:
    return BadInput([Fault("book", rule, value, str(path))])


def _rule(error: sqlite3.Error) -> str:
    """What went wrong, in words that a coach can act on."""
    said = str(error).lower()
    if "locked" in said or "busy" in said:
        return "is in use by another program; nothing was changed, try again"
    if "readonly" in said or "unable to open" in said:
        return "cannot be written in this folder (is it read-only?); nothing was changed"
    if "not a database" in said:
        return "is not a book of this program"
    if "full" in said:
        return "the disk is full; nothing was changed"
    if "malformed" in said or "disk i/o" in said or "corrupt" in said or "no such" in said:
        return f"is damaged ({said}); phasemark book check says where; keep the file"
    return f"refused ({said}); nothing was changed"


@contextlib.contextmanager
def told(path: Path) -> Iterator[None]:
    """Every fault of the database as one line about the book.

    Raises
    ------
    BadInput
    """
    try:
        yield
    except sqlite3.Error as error:
        raise _fault(path, _rule(error)) from None
    except (UnicodeDecodeError, json.JSONDecodeError):
        raise _fault(path, _rule(sqlite3.DatabaseError("malformed text"))) from None


class Book:
    """An open book; use it in a `with` statement.

    Attributes
    ----------
    path : Path
    db : sqlite3.Connection
        For reading; change it only inside `writing`.
    memo : dict
        What was read once and still holds; emptied where a change was not kept.
    """

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        self.path, self.db = path, db
        self.memo: dict[str, Any] = {}

    def __enter__(self) -> Book:
        return self

    def __exit__(self, *_: object) -> None:
        self.db.close()

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[Any]:
        """All rows of a question.

        Raises
        ------
        BadInput
        """
        with told(self.path):
            return self.db.execute(sql, values).fetchall()

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One change, kept whole when the block ends well and not at all otherwise.

        Raises
        ------
        BadInput
            Another program is writing for longer than `PATIENCE`, the disk is full, ...
        """
        with told(self.path):
            self.db.execute("BEGIN IMMEDIATE")
            try:
                yield self.db
                self.db.execute("COMMIT")
            except BaseException:
                self.memo.clear()
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
                raise


def _connect(path: str, wait: float) -> sqlite3.Connection:
    # mode=rw never makes a file; a path may hold any character, so it goes in as a URI.
    uri = f"{Path(os.path.abspath(path)).as_uri()}?mode=rw"
    db = sqlite3.connect(uri, uri=True, timeout=wait, isolation_level=None)
    try:
        for pragma in _PRAGMAS:
            db.execute(f"PRAGMA {pragma}")
    except BaseException:
        db.close()
        raise
    return db


def _fill(spare: str) -> None:
    """A new, empty book that only its owner can read."""
    os.close(os.open(spare, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    db = _connect(spare, PATIENCE)
    try:
        db.execute(f"PRAGMA application_id = {APPLICATION}")
        db.execute("BEGIN IMMEDIATE")
        climb(db)
        db.execute("COMMIT")
        db.execute("PRAGMA journal_mode = WAL")
    finally:
        db.close()


def create(path: Path) -> None:
    """Make a new book, readable by its owner alone; a file that exists is kept.

    Raises
    ------
    BadInput
        The file exists, its folder does not or is read-only, the disk is full.
    """
    _sqlite_new_enough(path)
    if path.suffix != ".book":
        raise _fault(path, "a name ending in .book wanted")
    try:
        with told(path):
            write_whole(path, _fill)
    except BadInput:
        raise
    except (ValueError, OSError) as error:
        rule = str(error).partition(", got ")[0].removeprefix("file: ")
        raise _fault(path, rule.replace(" (overwrite it?)", "")) from None


def _sqlite_new_enough(path: Path) -> None:
    if sqlite3.sqlite_version_info < _NEWEST_SQLITE_NEEDED:
        raise _fault(path, "SQLite 3.37 or later wanted in Python", sqlite3.sqlite_version)


def _look(path: Path) -> None:
    """Refuse from the first bytes alone what is no book, before the database opens (and touches) it."""
    try:
        with open(path, "rb") as stream:
            head = stream.read(100)
    except (OSError, ValueError) as error:
        if isinstance(error, FileNotFoundError):
            raise _fault(path, "is not there; phasemark book new FILE.book makes one") from None
        reason = getattr(error, "strerror", None) or str(error)
        raise _fault(path, f"cannot be read ({reason})") from None
    if len(head) < 100 or head[:16] != _MAGIC or head[68:72] != APPLICATION.to_bytes(4, "big"):
        raise _fault(path, "is not a book of this program")
    version = int.from_bytes(head[60:64], "big")
    if version > VERSION:
        raise _too_new(path, version)
    # Opened all the same, the database would leave a log that nobody can write any more.
    for place in (path, *(path.with_name(path.name + end) for end in ("-wal", "-shm"))):
        if place.exists() and not os.access(place, os.R_OK | os.W_OK):
            raise _fault(path, f"cannot be written; to make it yours again: chmod 600 {place}")
    if not os.access(path.absolute().parent, os.W_OK | os.X_OK):
        raise _fault(path, "is in a read-only folder: copy it to one of yours; nothing was changed")


def _too_new(path: Path, version: int) -> BadInput:
    rule = f"was written by a newer phasemark (at most version {VERSION} is known here)"
    return _fault(path, rule, version)


def open_book(path: Path, wait: float = PATIENCE) -> Book:
    """Open a book and bring an older one up to date.

    Parameters
    ----------
    path : Path
    wait : float
        For other programs [s].

    Returns
    -------
    Book

    Raises
    ------
    BadInput
        No book, a newer one, damaged, in use, or a folder that cannot be written.
    """
    _sqlite_new_enough(path)
    _look(path)
    with told(path):
        db = _connect(os.fspath(path), wait)
        try:
            version = version_of(db)
            if version > VERSION:
                raise _too_new(path, version)
            if version < VERSION:
                _update(db)
            book = Book(path, db)
            if db.execute("SELECT 1 FROM setting WHERE key = 'erasing'").fetchone():
                scrub(book)
        except BaseException:
            db.close()
            raise
    return book


def _update(db: sqlite3.Connection) -> None:
    db.execute("BEGIN IMMEDIATE")
    try:
        climb(db)
        db.execute("COMMIT")
    except BaseException:
        db.execute("ROLLBACK")
        raise
    db.execute("PRAGMA journal_mode = WAL")


def scrub(book: Book) -> None:
    """Rewrite the file without anything deleted, and empty the log beside it.

    Raises
    ------
    BadInput
        Another program holds the book open, so that traces stay until this is done again.
    """
    with told(book.path):
        book.db.execute("VACUUM")
        (busy, _, _) = book.db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        if busy:
            raise sqlite3.OperationalError("locked")
        book.db.execute("DELETE FROM setting WHERE key = 'erasing'")
        book.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def readable_by_others(path: Path) -> bool:
    """Whether anyone but the owner may read the file; never on Windows, which has no such bits."""
    if os.name != "posix":
        return False
    return bool(stat.S_IMODE(path.stat().st_mode) & 0o077)


def privacy_warning(path: Path) -> list[str]:
    """One line where others may read the book, else nothing."""
    if not readable_by_others(path):
        return []
    return [f"warning: others on this machine may read {path}; make it yours: chmod 600 {path}"]
