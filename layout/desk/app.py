"""One desk: its book, what works figures out, how it ends; and the club's pages."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from starlette.responses import RedirectResponse, Response

from layout.book.people import Member, members, numbered
from layout.book.store import Book, open_book
from layout.desk import pages
from layout.desk.wanted import Wanted, wanted
from layout.desk.worker import Worker
from layout.words.faults import Fault

Given = Mapping[str, str]
"""What was asked for: an address's question, a form's fields, and parts of the path."""
Answer = Callable[[Given], Response]


@dataclass
class Desk:
    """One desk: its book, what works figures out, and how it ends.

    demo: whether the book is the demo club's.
    end: ends the server.
    had: what was sent and counted once already; `writing` is held while something is put down.
    """

    book: Path
    demo: bool = False
    end: Callable[[], None] = lambda: None
    worker: Worker = field(default_factory=Worker)
    had: deque[str] = field(default_factory=lambda: deque(maxlen=500))
    writing: threading.Lock = field(default_factory=threading.Lock)

    def opened(self) -> Book:
        """The book, opened for one answer: nothing is held that a crash could lose."""
        return open_book(self.book)

    def member(self, number: int) -> Member:
        """An athlete of the book by number."""
        with self.opened() as book:
            return numbered(members(book), number)

    # --- Club

    def club(self, given: Given) -> Response:
        """Who is in the book."""
        with self.opened() as book:
            everybody = members(book)
        return pages.page("club.html", "Club", everybody=everybody, book=str(self.book))

    def athlete(self, given: Given) -> Response:
        """One athlete as a form, empty for a new one."""
        from layout.desk.club import told_of

        asked = wanted(given)
        member = self.member(asked.a) if asked.a else None
        return self._form(member, told_of(member), ())

    def keep_athlete(self, given: Given) -> Response:
        """Keep what the form says, or show it again with what is wrong."""
        from layout.desk.club import answered

        number = wanted({"a": given.get("a", "")}).a
        with self.opened() as book:
            kept, faults = answered(book, number, given)
        if not faults:
            return RedirectResponse(Wanted(a=kept).address("/") + "#which", 303)
        return self._form(self.member(number) if number else None, given, faults)

    def _form(self, member: Member | None, values: Given, faults: tuple[Fault, ...]) -> Response:
        from layout.desk.club import mark_of, rows

        shown, other = rows(values, faults)
        wrong = sum(bool(row.faults) for row in shown)
        return pages.page(
            "athlete.html", "Club", 400 if faults else 200, rows=shown, other=other,
            wrong=f"{wrong} field{'s' * (wrong != 1)}" if wrong else "",
            name=member.name if member else "", number=member.id if member else 0,
            was=values.get("was") or mark_of(member),
        )  # fmt: skip

    # --- the end

    def ended(self, given: Given) -> Response:
        """End the desk from the page."""
        self.end()
        return pages.page("ended.html", "", book=str(self.book))
