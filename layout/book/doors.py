"""Pages that one phone each may open on the hotspot for some hours: made, claimed, ended.

Only digests of the secrets are kept, so that a book tells nobody how to get in; a desk that was killed
and started again still knows the phones it had.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from layout.book.inbox import put_handed
from layout.book.store import Book
from layout.words.faults import refuse

OPEN_FOR: Final = 4 * 3600
"""How long a page on the hotspot stays open [s] (ours): a practice and its way home."""
SECRET: Final = 16
"""Bytes of a page's secret: 128 bits."""
LETTERS: Final = 22
"""Letters of it in an address."""


@dataclass(frozen=True)
class Door:
    """A page on the hotspot."""

    id: int
    key: str  # of its runs; see `layout.book.message`
    plan: int
    member: int  # the athlete's number
    athlete: str
    drill: str
    day: str
    asked: str  # the set-out's address
    until: int  # [s], since 1970
    claim: str | None  # digest of what the phone that opened it shows
    claimed: str | None  # when, UTC

    def knows(self, shown: str) -> bool:
        """Whether a phone is the one that opened it."""
        return self.claim is not None and secrets.compare_digest(self.claim, _digest(shown))


_ASKED: Final = (
    "SELECT h.id, h.key, h.plan, p.athlete, a.name, p.drill, p.day, h.asked, h.until, h.claim, h.claimed "
    "FROM handed h JOIN plan p ON p.id = h.plan JOIN athlete a ON a.id = p.athlete "
)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _doors(book: Book, where: str, values: Sequence[Any]) -> list[Door]:
    return [
        Door(*row) for row in book.rows(f"{_ASKED} WHERE h.door IS NOT NULL AND {where}", values)
    ]


def make(book: Book, plan: int, asked: str, now: float) -> tuple[int, str]:
    """A new page of a plan; its number, and its secret, which is kept nowhere."""
    secret = secrets.token_urlsafe(SECRET)
    with book.writing() as db:
        until = int(now) + OPEN_FOR
        number, _ = put_handed(db, plan, door=_digest(secret), until=until, asked=asked)
    return number, secret


def found(book: Book, secret: str) -> Door | None:
    """The page of a secret, open or not."""
    doors = _doors(book, "h.door = ?", (_digest(secret),))
    return doors[0] if doors else None


def still_open(book: Book, now: float) -> list[Door]:
    """The pages that are open, the latest first."""
    return _doors(book, "h.until > ? ORDER BY h.id DESC", (now,))


def claim(book: Book, number: int, when: str) -> str | None:
    """What the first phone shows from now on; None for a second one."""
    token = secrets.token_urlsafe(32)
    with book.writing() as db:
        asked = "UPDATE handed SET claim = ?, claimed = ? WHERE id = ? AND claim IS NULL"
        done = db.execute(asked, (_digest(token), when, number)).rowcount
    return token if done else None


def end(book: Book, number: int, now: float) -> None:
    """Close a page."""
    with book.writing() as db:
        asked = "UPDATE handed SET until = min(until, ?) WHERE id = ? AND door IS NOT NULL"
        if not db.execute(asked, (max(int(now), 1), number)).rowcount:
            raise refuse("page", "is not one on the hotspot", number)


def port_of(book: Book) -> int | None:
    """The port at which phones have found this book's desk so far."""
    kept = book.rows("SELECT value FROM setting WHERE key = 'share-port'")
    return int(kept[0][0]) if kept and kept[0][0].isdecimal() else None


def keep_port(book: Book, port: int) -> None:
    """Keep the port: what phones keep lies under it."""
    with book.writing() as db:
        db.execute("INSERT OR REPLACE INTO setting VALUES ('share-port', ?)", (str(port),))
