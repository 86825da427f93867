"""One desk: its book, what works figures out, and how it ends."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from starlette.responses import Response

from layout.book.people import Member, members, numbered
from layout.book.store import PATIENCE, Book, open_book
from layout.desk import pages
from layout.desk.hotspot import Hotspot
from layout.desk.kept import keep, kept_of
from layout.desk.worker import Worker

Given = Mapping[str, str]
"""What was asked for: an address's question, a form's fields, and parts of the path."""
Answer = Callable[[Given], Response]


@dataclass
class Desk:
    """One desk: its book, what works figures out, and how it ends.

    demo: whether the book is the demo club's.
    end: ends the server.
    had: what was sent and counted once already; `writing` is held while something is put down, `keeping`
    while what is found again on this machine changes.
    patience: how long another program that writes in the book is waited for [s].
    hotspot: where phones reach a page of theirs, once the coach opens it.
    """

    book: Path
    demo: bool = False
    end: Callable[[], None] = lambda: None
    worker: Worker = field(default_factory=Worker)
    had: deque[str] = field(default_factory=lambda: deque(maxlen=500))
    writing: threading.Lock = field(default_factory=threading.Lock)
    keeping: threading.Lock = field(default_factory=threading.Lock)
    patience: float = PATIENCE
    hotspot: Hotspot = field(default_factory=Hotspot)

    def opened(self) -> Book:
        """The book, opened for one answer: nothing is held that a crash could lose."""
        return open_book(self.book, self.patience)

    def member(self, number: int) -> Member:
        """An athlete of the book by number."""
        with self.opened() as book:
            return numbered(members(book), number)

    def keep(self, **parts: Any) -> None:
        """Change what the desk finds again on this machine."""
        with self.keeping:
            kept = kept_of(self.book)
            if (made := replace(kept, **parts)) != kept:
                keep(self.book, made)

    def ended(self, given: Given) -> Response:
        """End the desk from the page."""
        self.end()
        return pages.page("ended.html", "", book=str(self.book))


Screen = Callable[[Desk, Given], Response]
"""What an address of a desk leads to."""
