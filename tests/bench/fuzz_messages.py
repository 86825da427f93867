"""Damaged, cut, doubled and disordered messages and files, by hand.

``python -m tests.bench.fuzz_messages 20000 [SEED]`` stops at the first that brings anything wrong, or that
is refused in anything but one line.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path


def main() -> None:
    """Run so many and say what they came to."""
    from layout.book.inbox import MOST_WAITING
    from layout.book.store import open_book
    from tests.layout.book.book_cases import club_book
    from tests.layout.book.messages import fuzz

    rounds, seed = int(sys.argv[1]), int((sys.argv[2:] or ["1"])[0])
    start, refused, taken, done = time.monotonic(), 0, 0, 0
    while done < rounds:  # a new book before an inbox is full
        with tempfile.TemporaryDirectory() as folder:
            each = min(MOST_WAITING // 10, rounds - done)
            with open_book(club_book(Path(folder))) as book:
                told = fuzz(book, each, seed + done, Path(folder))
        refused, taken, done = refused + told.refused, taken + told.taken, done + each
    spent = time.monotonic() - start
    said = f"{refused} refused in whole or part, {taken} brought runs that were sent"
    print(f"{done} texts: {said}; {spent:.0f} s")


if __name__ == "__main__":
    main()
