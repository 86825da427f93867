"""Is a book sound: the file, its references, and what the rows say of themselves?"""

from __future__ import annotations

import json
import math
from typing import Final

from layout.book.schema import TABLES
from layout.book.store import Book, told

MOST: Final = 20
"""Faults listed of each kind."""


def check(book: Book) -> tuple[list[str], dict[str, int]]:
    """Everything wrong, as lines, and how many rows each table has.

    Parameters
    ----------
    book : Book

    Returns
    -------
    wrong : list of str
        Empty where all is well.
    rows : dict

    Raises
    ------
    BadInput
        Too damaged to be read at all.
    """
    with told(book.path):
        found = [r[0] for r in book.db.execute(f"PRAGMA integrity_check({MOST})")]
        wrong = [f"file: {text}" for text in found if text != "ok"]
        for table, row, other, _ in book.db.execute("PRAGMA foreign_key_check").fetchmany(MOST):
            wrong.append(f"{table} {row}: belongs to a row of {other} that is not there")
        counts = {t: book.db.execute(f"SELECT count(*) FROM {t}").fetchone()[0] for t in TABLES}
        attempts = book.db.execute("SELECT id, moves, lengths, total FROM attempt")
        unfit = [number for number, *rest in attempts if not _hangs_together(*rest)]
    wrong += [f"attempt {number}: phases and total do not fit its moves" for number in unfit[:MOST]]
    return wrong, counts


def lengths_in(moves: str, text: str) -> list[float | None] | None:
    """The phases of an attempt as kept [m]; None where they are none of these moves."""
    try:
        lengths = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not isinstance(lengths, list) or len(lengths) != len(moves.split()):
        return None
    fine = all(d is None or (type(d) in (int, float) and 0 < d < 1e6) for d in lengths)
    return lengths if fine else None


def _hangs_together(moves: str, text: str, total: float | None) -> bool:
    lengths = lengths_in(moves, text)
    if lengths is None:
        return False
    known = [d for d in lengths if d is not None]
    if not known or len(known) < len(lengths):
        return total is None or total >= math.fsum(known) - 1e-6
    return total is not None and abs(math.fsum(known) - total) < 2e-6 * len(known)
