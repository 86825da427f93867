"""Own figures on their way into the athlete's file: what would change, and the change on the coach's tap."""

from __future__ import annotations

import difflib
import hashlib
from dataclasses import dataclass
from typing import Final

from layout.book.correct import Change, changes, plain
from layout.book.people import Member, keep_text
from layout.book.store import Book
from layout.desk.season import day_of
from layout.desk.wanted import Look
from layout.season.put_in import calibration_lines, own_file
from layout.season.season import fit_of
from layout.words.faults import BadInput

TAKEN: Final = (
    "The file has figures of these attempts already; taken in again, the same runs would count "
    "twice."
)


@dataclass(frozen=True)
class Before:
    """The athlete's file as it stood until a day, as lines that were taken out and put in."""

    until: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Shown:
    """What would change: lines out ("-") and in ("+"); `why` says why nothing can be taken in.

    `mark` tells these figures from later ones; `text` is the whole file as it would be; `taken` says that
    the file has figures of these very attempts.
    """

    lines: tuple[str, ...]
    why: tuple[str, ...]
    before: tuple[Before, ...]
    mark: str = ""
    text: str = ""
    taken: bool = False


def shown(book: Book, member: Member, look: Look) -> Shown:
    """The own figures as lines of the athlete's file, beside what stands there."""
    kept = tuple(
        _before(c) for c in reversed(changes(book, "athlete", member.id)) if c.field == "file"
    )
    if member.file is None:
        why = "The book has no athlete file of them to put figures into: take one in on Club."
        return Shown((), (why,), kept)
    try:
        fitted = fit_of(book, member, day_of(look), look.since)
        if not fitted.refit.enough:
            return Shown((), tuple(f"Needed: {text}." for text in fitted.refit.lacking), kept)
        table = calibration_lines(fitted.refitted, fitted.refit, fitted.first, fitted.last)
        if table[0] in member.file:
            return Shown((), (TAKEN,), kept, taken=True)
        text = own_file(member.file, fitted.athlete, fitted.refitted, table)
    except BadInput as error:
        return Shown((), tuple(error.told()), kept)
    mark = hashlib.sha256(f"{member.file}\0{text}".encode()).hexdigest()[:16]
    return Shown(_changed(member.file, text), (), kept, mark, text)


def take_in(book: Book, member: Member, look: Look, mark: str) -> tuple[str, ...]:
    """Put the figures that were shown into the file; what is wrong instead, or nothing.

    The same tap sent twice counts once.
    """
    now = shown(book, member, look)
    if now.why:
        return () if now.taken else now.why
    if mark != now.mark:
        return ("The figures or the file changed meanwhile: look at them again.",)
    keep_text(book, now.text)
    return ()


def _changed(before: str, after: str) -> tuple[str, ...]:
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return tuple(line for line in lines if line[:1] in "+-" and line[1:].strip())


def _before(change: Change) -> Before:
    was, now = ("" if t == "NULL" else plain(t) for t in (change.before, change.after))
    return Before(change.at[:16].replace("T", " "), _changed(was, now))
