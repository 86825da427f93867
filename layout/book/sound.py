"""Is a book sound: the file, its references, and what the rows say of themselves?"""

from __future__ import annotations

import contextlib
import datetime
import json
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from layout.book.schema import TABLES, columns_of
from layout.book.store import Book, damaged, open_book, told
from layout.words.faults import BadInput
from layout.words.reading import line_text, table_of
from layout.words.trade import MOVES

if TYPE_CHECKING:
    from layout.athlete.athlete import Athlete

MOST: Final = 20
"""Faults listed of each kind."""
SHORT: Final = {
    "athlete": ("name", "note"),
    "session": ("place", "note"),
    "plan": ("drill",),
    "attempt": ("drill", "phases", "readings", "zero", "surface", "note", "made", "kind", "run"),
    "picture": ("drill", "kind", "instant", "note", "made"),
    "own": ("kind", "name"),
    "correction": ("at", "room", "field"),
    "setting": ("key", "value"),
    "handed": ("key", "made", "door", "claim", "claimed"),
    "waiting": ("mark", "drill", "zero", "phone", "words", "came", "state"),
}
"""Columns that hold one printable line."""
_MEASURED: Final = ("phases", "lengths", "total")


@contextlib.contextmanager
def opened(path: Path) -> Iterator[Book]:
    """An open book for a command, whose damage is a refusal wherever it comes to light.

    Refused: as `open_book`; or what was done with it failed and `check` finds the book damaged.
    """
    with open_book(path) as book:
        try:
            yield book
        except (BadInput, OSError):
            raise
        except Exception:
            wrong, _ = check(book)
            if wrong:
                raise damaged(path, wrong[0]) from None
            raise


def check(book: Book) -> tuple[list[str], dict[str, int]]:
    """Everything wrong, as lines, and how many rows each table has.

    Returns empty where all is well. Refused: too damaged to be read at all.
    """
    with told(book.path):
        found = [r[0] for r in book.db.execute(f"PRAGMA integrity_check({MOST})")]
        wrong = [f"file: {text}" for text in found if text != "ok"]
        for table, row, other, _ in book.db.execute("PRAGMA foreign_key_check").fetchmany(MOST):
            wrong.append(f"{table} {row}: belongs to a row of {other} that is not there")
        counts = {t: book.db.execute(f"SELECT count(*) FROM {t}").fetchone()[0] for t in TABLES}
        for table in TABLES:
            wrong += _rows_wrong(book, table)
    return wrong, counts


def _rows_wrong(book: Book, table: str) -> list[str]:
    columns = list(columns_of(book.db, table))
    out: list[str] = []
    for values in book.db.execute(f"SELECT {', '.join(columns)} FROM {table}"):
        row = dict(zip(columns, values, strict=True))
        rule = row_fault(table, row)
        if not rule and table == "attempt" and not _hangs_together(*map(row.get, _MEASURED)):
            rule = "phases and total do not fit its phases"
        if rule:
            out.append(f"{table} {row.get('id', row.get('key'))}: {rule}")
        if len(out) == MOST:
            break
    return out


def row_fault(table: str, row: Mapping[str, Any]) -> str:
    """Why a row that fits its table cannot be used all the same; "" where it can."""
    try:
        return _fault_in(table, row)
    except BadInput as error:
        fault = error.faults[0]
        line = f"line {fault.line}: " if fault.line else ""
        return f"cannot be read ({line}{fault.field}: {fault.rule})"
    except (ValueError, TypeError, AttributeError, LookupError, RecursionError) as error:
        return f"cannot be read ({error})"


def _fault_in(table: str, row: Mapping[str, Any]) -> str:
    for name in SHORT[table]:
        if row.get(name) is not None:
            line_text(name, row[name], 400)
    for name, value in row.items():
        if type(value) is float and not math.isfinite(value):
            return f"{name}: must be a finite number"
    if "day" in row:
        datetime.date.fromisoformat(row["day"])
    if table == "athlete" and row.get("file") is not None:
        athlete_in(row["file"], row["name"])
    if table == "own":
        from layout.book.own import KINDS

        if len(KINDS[row["kind"]](table_of(row["file"], ""), "", row["file"])) != 1:
            return "file: one entry needed"
    if table == "plan":
        from layout.plan.stored import from_json

        from_json(row["json"])
    if table == "picture":
        measures_in(row["measures"])
    if table == "attempt" and not set(row["phases"].split(" ")) <= set(MOVES):
        return f"phases: {', '.join(MOVES)} needed"
    if table == "attempt" and lengths_in(row["phases"], row["lengths"]) is None:
        return "lengths: one for each of its phases needed"
    return ""


def athlete_in(text: str, name: str) -> Athlete:
    """The athlete of a file (TOML) that the book keeps of somebody."""
    from layout.athlete.athlete import athlete_from

    where = f"athlete file of {name} in the book (phasemark book keep takes a corrected one in)"
    return athlete_from(table_of(text, where), where, text)


def measures_in(text: str) -> dict[str, tuple[float, float]]:
    """What was measured on a picture as kept: value and margin by the measure's name, in its unit."""
    found = {str(name): (float(v[0]), float(v[1])) for name, v in json.loads(text).items()}
    if not all(math.isfinite(value) and 0.0 <= margin < 1e6 for value, margin in found.values()):
        raise ValueError("measures: numbers with margins of 0 or more needed")
    return found


def lengths_in(phases: str, text: str) -> list[float | None] | None:
    """The phases of an attempt as kept [m]; None where they are none of these phases."""
    try:
        lengths = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not isinstance(lengths, list) or len(lengths) != len(phases.split()):
        return None
    fine = all(d is None or (type(d) in (int, float) and 0 < d < 1e6) for d in lengths)
    return lengths if fine else None


def _hangs_together(phases: Any, text: Any, total: Any) -> bool:
    lengths = lengths_in(phases, text)
    if lengths is None:
        return False
    known = [d for d in lengths if d is not None]
    if not known or len(known) < len(lengths):
        return total is None or total >= math.fsum(known) - 1e-6
    return total is not None and abs(math.fsum(known) - total) < 2e-6 * len(known)
