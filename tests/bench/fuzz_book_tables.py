"""Coverage-guided fuzzing of the book's table readers, by hand; wants `pip install atheris`.

``python -m tests.bench.fuzz_book_tables filled|folder|readings [CORPUS] [-max_total_time=300]``: any
exception but a refusal, or a refusal that leaves something in the book, stops it and keeps the input.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any


class Rooms:
    """A filled book and an empty one, put back whenever a round changed them."""

    def __init__(self, folder: Path) -> None:
        from layout.book.exchange import out
        from tests.layout.book.book_cases import jumped

        self.folder = folder
        self.books: list[Any] = []
        self.restart()
        jumped(self.books[0], "2.61", "4.80")
        out(self.books[0], folder / "out")
        self.restart()

    def restart(self) -> None:
        from layout.book.store import open_book
        from tests.layout.book.book_cases import club_book, empty_book

        for book in self.books:
            book.__exit__()
        for path in self.folder.glob("*.book*"):
            path.unlink()
        self.books = [open_book(club_book(self.folder)), open_book(empty_book(self.folder))]
        for book in self.books:
            book.db.execute("PRAGMA synchronous = OFF")

    def count(self, which: int, table: str) -> int:
        return int(self.books[which].rows(f"SELECT count(*) FROM {table}")[0][0])

    def filled(self, data: bytes) -> None:
        """A table that a coach filled in: kept whole, or refused and nothing kept."""
        from layout.book.filled import take_in
        from layout.book.typed import Typed
        from tests.layout.book.book_cases import DAY

        file = self.folder / "filled.csv"
        file.write_bytes(data)
        before = self.count(0, "attempt")
        base = Typed("runa", "hop-step-sand", day=DAY)
        taken = tried(lambda: take_in(self.books[0], file, base))
        new = len(taken.new) if taken else 0
        assert self.count(0, "attempt") == before + new
        if taken:  # a second time it brings nothing
            again = take_in(self.books[0], file, base)
            assert (again.new, again.changed) == ((), ())
            assert self.count(0, "attempt") == before + new
            self.restart()

    def whole(self, data: bytes) -> None:
        """One table of a whole book, spoilt; the first byte says which."""
        from layout.book.exchange import back
        from layout.book.schema import TABLES

        table = TABLES[data[0] % len(TABLES)] if data else TABLES[0]
        file = self.folder / "out" / f"{table}.csv"
        kept = file.read_bytes()
        file.write_bytes(data[1:])
        done = tried(lambda: back(self.books[1], self.folder / "out"))
        file.write_bytes(kept)
        if done is None:
            assert self.count(1, "athlete") == self.count(1, "setting") == 0
        else:
            self.ask()
            self.restart()

    def ask(self) -> None:
        """Everything that a book taken in may be asked."""
        from layout.book.rows import attempts
        from layout.book.sound import check
        from layout.season.totals import sessions, sums, weeks

        book = self.books[1]
        check(book)
        attempts(book, struck=True)
        for each in (weeks, sums, sessions):
            each(book)


def tried(act: Any) -> Any:
    """What an act makes, or None where it is refused with one line for each fault."""
    from layout.words.faults import BadInput

    try:
        return act()
    except BadInput as error:
        told = error.faults
    assert told
    assert not [f for f in told if len(str(f).splitlines()) != 1]
    return None


def readings(data: bytes) -> None:
    """What is typed beside the runway."""
    from layout.book.typed import Typed, measured

    zero, *texts = data.decode("utf-8", "replace").split("\n")
    typed = Typed("runa", "d", tuple(texts[:5]), zero=zero)
    done = tried(lambda: measured(typed, ("hop", "step"), True, None))
    if done is not None:
        assert all(d is None or 0.2 <= d <= 10.0 for d in done.lengths)
        assert done.total is None or 0.2 <= done.total <= 20.0


def main() -> None:
    """Fuzz what the first word names."""
    import atheris

    with atheris.instrument_imports(include=["layout"]):
        import layout.book.entry
        import layout.book.exchange
        import layout.book.filled
        import layout.plan.stored  # noqa: F401

    rooms = Rooms(Path(tempfile.mkdtemp(prefix="fuzz-book-")))
    which = {"filled": rooms.filled, "folder": rooms.whole, "readings": readings}
    atheris.Setup([sys.argv[0], *sys.argv[2:]], which[sys.argv[1]])
    atheris.Fuzz()


if __name__ == "__main__":
    main()
