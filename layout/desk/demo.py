"""The demo club in a book of its own, for a desk that is opened without one."""

from __future__ import annotations

import tempfile
from itertools import count
from pathlib import Path
from typing import Final

from layout.book.people import keep_text
from layout.book.store import create, open_book
from layout.catalogue.club import club_files
from layout.words.faults import BadInput

FOLDER: Final = "marram-point-desk"
NAME: Final = "marram-point.book"
_MARK: Final = "desk-demo"


def demo_book(beside: Path) -> tuple[Path, bool]:
    """The demo's book in a folder of its own, and whether it is new.

    One made here before is opened again, so that what was put down in it is found; any other folder of
    the name is left alone and the next number taken. Where nothing can be written, a temporary folder.
    """
    for number in count(1):
        folder = beside / (FOLDER if number == 1 else f"{FOLDER}-{number}")
        if _ours(folder / NAME):
            return folder / NAME, False
        try:
            folder.mkdir()
        except FileExistsError:
            continue
        except OSError:
            folder = Path(tempfile.mkdtemp(prefix=f"{FOLDER}-"))
        return _filled(folder / NAME), True
    raise AssertionError


def _ours(path: Path) -> bool:
    if not path.is_file():
        return False
    try:
        with open_book(path) as book:
            return bool(book.rows("SELECT 1 FROM setting WHERE key = ?", (_MARK,)))
    except BadInput:
        return False


def _filled(path: Path) -> Path:
    create(path)
    with open_book(path) as book:
        for name, text in club_files().items():
            keep_text(book, text, f"{name}.toml")
        with book.writing() as db:
            db.execute("INSERT INTO setting (key, value) VALUES (?, ?)", (_MARK, "1"))
    return path
