"""A book as one private file: made, opened, changed whole or not at all, checked.

The file is an SQLite database in write-ahead mode with full synchronous commits: what a command has
confirmed is on the disk, and a crash loses at most the entry in progress.
"""

from __future__ import annotations

import contextlib
import os
import shlex
import shutil
import sqlite3
import stat
import threading
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, Final, TypeVar

from animate.refused import Refused
from animate.whole_file import write_whole
from layout.book.refusal import ANSWERS, NOTHING, is_damage, no_index, rule_of, said_by
from layout.book.schema import APPLICATION, VERSION, climb, version_of
from layout.words.faults import BadInput, Fault, not_written

PATIENCE: Final = 10.0
"""How long to wait for another program that is writing [s]."""
SLACK: Final = 1_000_000
"""Free room needed beside what a rewrite takes [bytes] (ours)."""
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

_OPEN: Final[dict[tuple[int, int], int]] = {}
"""How often this process has each file open. POSIX locks are the process's: closing any handle of a
file drops those of every book that is open on it, so such a file is not opened to be looked at."""
_OPENING: Final = threading.RLock()

Known = TypeVar("Known")


class Damaged(BadInput):
    """A book that cannot be read."""


def _fault(path: Path, rule: str, value: Any = None) -> BadInput:
    return BadInput([Fault("book", rule, value, str(path))])


@contextlib.contextmanager
def told(path: Path, state: str = NOTHING) -> Iterator[None]:
    """Every fault of the database as one line about the book, with the state it is in."""
    try:
        yield
    except ANSWERS as error:
        if is_damage(error):
            raise damaged(path, said_by(error)) from None
        raise _fault(path, rule_of(error, path, state)) from None


def damaged(path: Path, where: str) -> Damaged:
    """The refusal of a book of which something cannot be read."""
    rule = f"is damaged ({where}); phasemark book check says where; keep the file"
    return Damaged([Fault("book", rule, None, str(path))])


class Book:
    """An open book; use it in a `with` statement.

    db: for reading; change it only inside `writing`.
    unfinished: why traces of an erased athlete could not be taken out yet; else "".
    memo: what was read once and still holds; emptied where a change was not kept.
    """

    def __init__(self, path: Path, db: sqlite3.Connection, file: tuple[int, int]) -> None:
        self.path, self.db, self.unfinished, self._file = path, db, "", file
        self.memo: dict[str, Any] = {}

    def __enter__(self) -> Book:
        return self

    def __exit__(self, *_: object) -> None:
        with _OPENING:
            self.db.close()
            if self._file in _OPEN:
                _OPEN[self._file] -= 1
                if not _OPEN[self._file]:
                    del _OPEN[self._file]

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[Any]:
        """All rows of a question."""
        with told(self.path):
            return self.db.execute(sql, values).fetchall()

    def remembered(self, key: str, read: Callable[[], Known]) -> Known:
        """What was read once, and is read again only when another program has changed the book."""
        moment = self.rows("PRAGMA data_version")[0][0]
        if self.memo.get(key, (None,))[0] != moment:
            self.memo[key] = moment, read()
        found: Known = self.memo[key][1]
        return found

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One change, kept whole when the block ends well and not at all otherwise."""
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


def _connect(path: str, wait: float, alone: bool = False) -> sqlite3.Connection:
    """Open the file; `alone` keeps the index in our own memory and everybody else out."""
    # mode=rw never makes a file; a path may hold any character, so it goes in as a URI.
    uri = f"{Path(os.path.abspath(path)).as_uri()}?mode=rw"
    db = sqlite3.connect(uri, uri=True, timeout=wait, isolation_level=None)
    try:
        for pragma in (*(("locking_mode = EXCLUSIVE",) if alone else ()), *_PRAGMAS):
            db.execute(f"PRAGMA {pragma}")
        db.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone()
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
    """Make a new book, readable by its owner alone; a file that exists is kept."""
    _sqlite_new_enough(path)
    if path.suffix != ".book":
        raise _fault(path, "must be a name ending in .book")
    try:
        with told(path):
            write_whole(path, _fill)
    except Refused as error:
        raise not_written(error, path, "book", "") from None


def _sqlite_new_enough(path: Path) -> None:
    if sqlite3.sqlite_version_info < _NEWEST_SQLITE_NEEDED:
        raise _fault(path, "SQLite 3.37 or later needed in Python", sqlite3.sqlite_version)


def _look(path: Path, real: Path) -> tuple[int, int]:
    """Refuse from the first bytes alone what is no book, before the database opens (and touches) it.

    Returns what the file is known by; one that is open here was looked at then.
    """
    try:
        kind = os.stat(real)
        file = (kind.st_dev, kind.st_ino)
        if not stat.S_ISREG(kind.st_mode):
            raise _fault(path, "cannot be read (it is no plain file)")
        if file not in _OPEN:
            with open(real, "rb") as stream:
                _of_this_program(path, stream.read(100))
    except (OSError, ValueError) as error:
        if isinstance(error, BadInput):
            raise
        if isinstance(error, FileNotFoundError):
            raise _fault(path, "is not there; phasemark book new FILE.book makes one") from None
        reason = getattr(error, "strerror", None) or str(error)
        raise _fault(path, f"cannot be read ({reason})") from None
    if kind.st_nlink > 1:
        # Each name would get a log of its own, and one overwrites what the other confirmed.
        rule = (
            f"has {kind.st_nlink} names (hard links), and entries made through one would be lost "
            f"through the other; keep one: find FOLDER -samefile {shlex.quote(str(real))} lists "
            "them, delete the others"
        )
        raise _fault(path, rule)
    # Opened all the same, the database would leave a log that nobody can write any more.
    for place in (real, *(real.with_name(real.name + end) for end in ("-wal", "-shm"))):
        if os.path.lexists(place) and not place.is_file():
            raise _fault(path, f"cannot be opened: {place} is no plain file; move it away")
        if place.exists() and not os.access(place, os.R_OK | os.W_OK):
            raise _fault(path, f"cannot be written; to make it yours again: chmod 600 {place}")
    if not os.access(real.parent, os.W_OK | os.X_OK):
        raise _fault(path, "is in a read-only folder: copy it to one of yours; nothing was changed")
    return file


def _of_this_program(path: Path, head: bytes) -> None:
    """Refuse a file that does not begin as a book of this version or an older one."""
    if len(head) < 100 or head[:16] != _MAGIC or head[68:72] != APPLICATION.to_bytes(4, "big"):
        raise _fault(path, "is not a book of this program")
    version = int.from_bytes(head[60:64], "big")
    if version > VERSION:
        raise _too_new(path, version)


def _sound_pages(real: Path, more: str = "") -> int | None:
    """How many pages a book has where they and its references fit, else None; nothing is changed."""
    db = sqlite3.connect(f"{real.as_uri()}?mode=ro{more}", uri=True, timeout=PATIENCE)
    try:
        fits = db.execute("PRAGMA integrity_check(1)").fetchall() == [("ok",)]
        fits = fits and not db.execute("PRAGMA foreign_key_check").fetchone()
        return int(db.execute("PRAGMA page_count").fetchone()[0]) if fits else None
    except sqlite3.Error as error:
        if is_damage(error):
            return None
        raise
    finally:
        db.close()


def _pages_after(log: Path) -> int:
    """How many pages the book has after the last change in its log; 0 where there is none.

    By the database's file format: a header of 32 bytes with page size and salt, then frames of
    24 bytes and a page; a frame of this salt that ends a change holds the number of pages.
    """
    data = log.read_bytes() if log.exists() else b""
    page, salt = int.from_bytes(data[8:12], "big"), data[16:24]
    frames = (data[at : at + 24] for at in range(32, len(data), 24 + page) if page)
    sizes = [int.from_bytes(f[4:8], "big") for f in frames if f[8:16] == salt]
    return next((size for size in reversed(sizes) if size), 0)


def _own_log(path: Path, real: Path) -> None:
    """Refuse a log that is not the book's own, as where a backup was put back over a book that crashed.

    The database would write its pages into the book. A log that a crash left fits what it lies beside.
    """
    log = real.with_name(real.name + "-wal")
    after = _pages_after(log)
    try:
        pages = _sound_pages(real) if after else 0
        if pages in (after, 0) or (pages and _pages_after(log) != after):
            return  # it fits, or another program is writing
        if _sound_pages(real, "&immutable=1") is None:
            return  # nor is the book sound without its log
    except sqlite3.Error:
        return  # shows at the opening
    rule = (
        f"does not fit the log beside it, {log.name} (was a backup put back?); {NOTHING}; to open "
        f"the book without it, move it away: mv {shlex.quote(str(log))} FOLDER"
    )
    raise _fault(path, rule)


def _too_new(path: Path, version: int) -> BadInput:
    rule = f"was written by a newer phasemark (at most version {VERSION} is known here)"
    return _fault(path, rule, version)


def open_book(path: Path, wait: float = PATIENCE) -> Book:
    """Open a book and bring an older one up to date; `wait` is for other programs [s]."""
    _sqlite_new_enough(path)
    # Through a link the log has to lie beside the file itself, whatever name it is opened by.
    real = Path(os.path.realpath(path))
    with _OPENING, told(path):
        file = _look(path, real)
        if file not in _OPEN:
            _own_log(path, real)
        db = _reached(real, wait)
        try:
            if db.execute("PRAGMA application_id").fetchone() != (APPLICATION,):
                raise _fault(path, "is not a book of this program")
            version = version_of(db)
            if version > VERSION:
                raise _too_new(path, version)
            if version < VERSION:
                _update(db)
            book = Book(path, db, file)
            if db.execute("SELECT 1 FROM setting WHERE key = 'erasing'").fetchone():
                _finish(book)
        except BaseException:
            db.close()
            raise
        _OPEN[file] = _OPEN.get(file, 0) + 1
    return book


def _reached(real: Path, wait: float) -> sqlite3.Connection:
    """The open database; where its shared index has no room, alone and with the index in memory.

    So a book on a full disk can still be read.
    """
    try:
        return _connect(os.fspath(real), wait)
    except sqlite3.Error as error:
        if not no_index(error):
            raise
    return _connect(os.fspath(real), wait, alone=True)


def _update(db: sqlite3.Connection) -> None:
    db.execute("BEGIN IMMEDIATE")
    try:
        climb(db)
        db.execute("COMMIT")
    except BaseException:
        db.execute("ROLLBACK")
        raise
    db.execute("PRAGMA journal_mode = WAL")


def room_needed(book: Book) -> tuple[int, int]:
    """Room that a rewrite of the file may need beside it, and room that is free [bytes]."""
    real = Path(os.path.realpath(book.path))
    log = real.with_name(real.name + "-wal")
    size = real.stat().st_size + (log.stat().st_size if log.exists() else 0)
    return 2 * size + SLACK, shutil.disk_usage(real.parent).free


def megabytes(size: int) -> str:
    """A size in words, never rounded down.

    >>> megabytes(2_400_001)
    '2.5 MB'
    """
    return f"{-(-size // 100_000) / 10:.1f} MB"


def _finish(book: Book) -> None:
    """Finish an erasing that was cut off; where that cannot be now, the book is open all the same."""
    needed, free = room_needed(book)
    if free < needed:
        book.unfinished = f"{megabytes(needed)} of free room needed, {megabytes(free)} there"
        return
    (patience,) = book.db.execute("PRAGMA busy_timeout").fetchone()
    book.db.execute("PRAGMA busy_timeout = 500")
    try:
        scrub(book)
    except Damaged:
        raise
    except BadInput as error:
        book.unfinished = error.faults[0].rule
    finally:
        book.db.execute(f"PRAGMA busy_timeout = {int(patience)}")


def scrub(book: Book) -> None:
    """Rewrite the file without anything deleted, and empty the log beside it.

    Traces stay until it is done again where there is no room or another program holds the book open.
    """
    with told(book.path, "the next opening finishes it"):
        book.db.execute("VACUUM")
        (busy, _, _) = book.db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        if busy:
            raise sqlite3.OperationalError("locked")
        book.db.execute("DELETE FROM setting WHERE key = 'erasing'")
        book.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def privacy_warning(path: Path, unfinished: str = "") -> list[str]:
    """A line where others may read the book, and one where an erasing is `unfinished`."""
    out = []
    if os.name == "posix" and stat.S_IMODE(path.stat().st_mode) & 0o077:  # Windows has no such bits
        out.append(f"warning: others on this machine may read {path}; "
                   f"make it yours: chmod 600 {path}")  # fmt: skip
    if unfinished:
        out.append(f"warning: traces of an erased athlete are still in {path} ({unfinished})")
    return out
