"""The whole book as plain tables, out and back in; files that only their owner can read."""

from __future__ import annotations

import csv
import io
import math
import os
import shlex
import shutil
import sqlite3
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

from animate.refused import Refused
from animate.whole_file import write_whole
from layout.book.refusal import name_of
from layout.book.schema import TABLES, VERSION, columns_of
from layout.book.sound import row_fault
from layout.book.store import Book, told
from layout.words.faults import OVERWRITE, BadInput, Fault, not_written
from layout.words.reading import number_in, read_text
from layout.words.table import guarded, split_table, unguarded


def _keep(place: str, data: bytes) -> None:
    number = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(number, "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def save_private(path: Path, data: bytes, overwrite: bool = False) -> None:
    """Write a file that only its owner can read."""
    try:
        write_whole(path, lambda spare: _keep(spare, data), overwrite)
    except Refused as error:
        raise not_written(error, path) from None


def save_folder(folder: Path, files: Mapping[str, bytes], overwrite: bool = False) -> None:
    """Write a folder of files that only its owner can read; all of them or none.

    `files`: content by name. `overwrite`: replace a folder that holds nothing but files of these
    names. Refused: it exists, holds something else, or the disk refused.
    """

    def wrong(rule: str) -> BadInput:
        return BadInput([Fault("output", rule, None, str(folder))])

    there = os.path.lexists(folder)
    if there and not overwrite:
        raise wrong("exists already and is kept" + OVERWRITE)
    spare = folder.with_name(f".{folder.name[:40]}.{os.urandom(4).hex()}")
    old = folder.with_name(f".{folder.name[:40]}.{os.urandom(4).hex()}.old")
    try:
        if there and (not folder.is_dir() or {p.name for p in folder.iterdir()} - set(files)):
            raise wrong("holds something else and is kept; use another name")
        os.mkdir(spare, 0o700)
        for name, data in files.items():
            _keep(str(spare / name), data)
        if there:
            os.rename(folder, old)
        os.rename(spare, folder)
        if there:
            shutil.rmtree(old)
    except (OSError, ValueError) as error:
        if isinstance(error, BadInput):
            raise
        if os.path.lexists(old) and not os.path.lexists(folder):
            os.rename(old, folder)
        raise wrong(f"could not be written ({getattr(error, 'strerror', '') or error})") from None
    finally:
        shutil.rmtree(spare, ignore_errors=True)


LARGEST: Final = 500_000_000
"""A table read at most [bytes]."""

_WHY: Final = {
    "CONSTRAINT_FOREIGNKEY": "it belongs to a row not there",
    "CONSTRAINT_CHECK": "a value is out of its range",
    "CONSTRAINT_NOTNULL": "a value is missing",
    **dict.fromkeys(("CONSTRAINT_UNIQUE", "CONSTRAINT_PRIMARYKEY", "CONSTRAINT_ROWID"),
                    "it stands there already"),
}  # fmt: skip
"""What the database calls a row that does not fit, in words."""


def _cell(value: Any) -> Any:
    if isinstance(value, str):
        return guarded(value)
    return "" if value is None else repr(value) if type(value) is float else value


def as_csv(book: Book, table: str, where: str = "", values: tuple[Any, ...] = ()) -> str:
    """One table as CSV: a title line, nothing where there is no value, numbers whole.

    Texts stand as `layout.words.table.guarded` makes them, so that no spreadsheet runs one.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)  # its line ends make it quote both kinds inside a text
    columns = list(columns_of(book.db, table))
    writer.writerow(columns)
    names = ", ".join(columns)
    order = "key" if table == "setting" else "id"
    for row in book.rows(f"SELECT {names} FROM {table}{where} ORDER BY {order}", values):
        writer.writerow([_cell(v) for v in row])
    return out.getvalue()


def tables_of(book: Book) -> tuple[dict[str, bytes], dict[str, int]]:
    """Every table as a file by name, and how many rows each table has."""
    files, counts = {}, {}
    book.rows("BEGIN")  # one moment of the book, whoever writes meanwhile
    try:
        for table in TABLES:
            files[f"{table}.csv"] = as_csv(book, table).encode()
            counts[table] = book.rows(f"SELECT count(*) FROM {table}")[0][0]
    finally:
        book.rows("COMMIT")
    return files, counts


def out(book: Book, folder: Path, overwrite: bool = False) -> dict[str, int]:
    """Write every table into a folder; returns how many rows each has."""
    files, counts = tables_of(book)
    save_folder(folder, files, overwrite)
    return counts


def copied(book: Book) -> bytes:
    """The whole book as the bytes of one file, as it stands at one moment, whoever writes meanwhile."""
    with told(book.path):
        return bytes(book.db.serialize())


def _value(kind: str, text: str) -> Any:
    """A cell as its column wants it; ValueError where it cannot be."""
    if text == "":
        return None
    if kind == "TEXT":
        return unguarded(text)
    if kind == "INTEGER":
        number = int(text)
        if not text.lstrip("-").isascii() or abs(number) >= 2**63:
            raise ValueError
        return number
    value = number_in(text)
    if value is None or not math.isfinite(value):
        raise ValueError
    return value


def back(book: Book, folder: Path) -> dict[str, int]:
    """Fill an empty book from a folder that `out` wrote; all of it or nothing.

    `book`: with no athlete, session, plan or attempt in it. Returns rows by table. Refused: the
    book is not empty, a table lacks, a value that cannot be, with its line.
    """

    def read(table: str) -> tuple[str, str]:
        path = folder / f"{table}.csv"
        # Older books had no drills and venues of their own.
        gone = table == "own" and not path.exists()
        return "" if gone else read_text(path, LARGEST), str(path)

    return back_from(book, read, str(folder))


def back_from(
    book: Book, read: Callable[[str], tuple[str, str]], whence: str = "FOLDER"
) -> dict[str, int]:
    """The same from texts of tables; `read` gives a table's text, empty for none, and what it is called."""
    counts = {}
    with book.writing() as db:
        for table in TABLES[1:]:
            if db.execute(f"SELECT 1 FROM {table} LIMIT 1").fetchone():
                rule = (
                    "must be empty to take a whole folder in; for a book of its own: phasemark book "
                    f"new OTHER.book, then phasemark book in OTHER.book {shlex.quote(whence)}; "
                    "attempts go into this one from a table with titles (.csv)"
                )
                raise BadInput([Fault("book", rule, None, str(book.path))])
        book.memo.clear()
        db.execute("DELETE FROM setting")
        for table in TABLES:
            text, name = read(table)
            counts[table] = _fill(db, table, text, name) if text else 0
    return counts


def _fill(db: sqlite3.Connection, table: str, text: str, path: str) -> int:
    titles, rows = split_table(text, path, trim=False)
    header = titles.cells
    kinds = columns_of(db, table)
    wrong = sorted(set(kinds) ^ set(header))
    if wrong or len(set(header)) != len(header):
        rule = f"the columns of version {VERSION} needed"
        raise BadInput([Fault(table, rule, ", ".join(wrong) or "one twice", path, titles.line)])
    insert = f"INSERT INTO {table} ({', '.join(header)}) VALUES ({', '.join('?' * len(header))})"
    for row in rows:
        values = []
        for name, text in zip(header, row.cells, strict=True):
            try:
                values.append(_value(kinds[name], text))
            except ValueError:
                fault = Fault(name, "cannot be used", text, path, row.line)
                raise BadInput([fault]) from None
        try:
            db.execute(insert, values)
            if rule := row_fault(table, dict(zip(header, values, strict=True))):
                raise ValueError(rule)
        except (sqlite3.IntegrityError, ValueError) as error:
            code = name_of(error) if isinstance(error, sqlite3.Error) else ""
            said = f"{_WHY[code]}: {error}" if code in _WHY else str(error)
            rule = f"must be a row that fits the book ({said})"
            raise BadInput([Fault(table, rule, None, path, row.line)]) from None
    return len(rows)
