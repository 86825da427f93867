"""Own figures on their way into the athlete's file: what would change, and the change on the coach's tap."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final, NamedTuple

from layout.book.correct import Change, plain
from layout.book.people import Member, keep_text
from layout.book.store import Book
from layout.desk.club import LABELS, OWN, changed_lines, own_figures, shown_value
from layout.desk.form import mark_of
from layout.desk.season import day_of, file_changes
from layout.desk.wanted import Look
from layout.season.put_in import calibration_lines, own_file
from layout.season.season import fit_of
from layout.words.faults import BadInput
from layout.words.feet import as_read
from layout.words.reading import table_of
from layout.words.units import System

TOP: Final = ("speed", "best", "best_behind", "best_phases")
"""Figures above the file's own table that a fit may change."""
TAKEN: Final = (
    "The file has figures of these attempts already; taken in again, the same runs would count "
    "twice."
)


@dataclass(frozen=True)
class Before:
    """The athlete's file as it stood until a moment, as lines that were then taken out and put in."""

    at: str
    lines: tuple[str, ...]
    text: str  # empty where there was no file

    @property
    def until(self) -> str:
        """The moment as it is read."""
        return self.at[:16].replace("T", " ")


class Row(NamedTuple):
    """One figure of the file: its name, what it is, what it would be, and how sure."""

    label: str
    before: str
    after: str
    sure: str


@dataclass(frozen=True)
class Shown:
    """What would change: figures in `rows`, and lines of the file out ("-") and in ("+"); `why` says why
    nothing can be taken in.

    `mark` tells these figures from later ones; `text` is the whole file as it would be; `taken` says that
    the file has figures of these very attempts.
    """

    lines: tuple[str, ...]
    why: tuple[str, ...]
    rows: tuple[Row, ...] = ()
    mark: str = ""
    text: str = ""
    taken: bool = False


def shown(book: Book, member: Member, look: Look) -> Shown:
    """The own figures as lines of the athlete's file, beside what stands there."""
    if member.file is None:
        why = "The book has no athlete file of them to put figures into: take one in on Club."
        return Shown((), (why,))
    try:
        fitted = fit_of(book, member, day_of(look), look.since)
        if not fitted.refit.enough:
            return Shown((), tuple(f"Needed: {text}." for text in fitted.refit.lacking))
        table = calibration_lines(fitted.refitted, fitted.refit, fitted.first, fitted.last)
        if table[0] in member.file:
            return Shown((), (TAKEN,), taken=True)
        text = own_file(member.file, fitted.athlete, fitted.refitted, table)
    except BadInput as error:
        return Shown((), error.told())
    mark = mark_of((member.file, text))
    return Shown(changed_lines(member.file, text), (), _rows(member, text, look.tape), mark, text)


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


def _rows(member: Member, text: str, tape: System) -> tuple[Row, ...]:
    """The figures that would change, as a coach calls them."""
    was, now = (_with_units(table_of(t, member.name)) for t in (member.file or "", text))
    sure = {f.label: f.sure for f in own_figures(replace(member, file=text))}
    pairs = [(LABELS[name], was.get(name), now.get(name), "not known") for name in TOP]
    own, new = was.get("calibration", {}), now.get("calibration", {})
    pairs += [(label, own.get(name), new.get(name), "the usual") for name, label in OWN.items()]
    return tuple(
        Row(label, _read(before, tape) or none, _read(after, tape) or none, sure.get(label, ""))
        for label, before, after, none in pairs
        if before != after
    )


def _with_units(table: dict[str, Any]) -> dict[str, Any]:
    speed = table.get("speed")
    return {**table, "speed": f"{speed:g} m/s"} if isinstance(speed, int | float) else table


def _read(value: Any, tape: System) -> str:
    """A value of the file as it is read; empty where there is none."""
    return as_read(shown_value(value), tape)


def before_of(book: Book, member: Member) -> tuple[Before, ...]:
    """The athlete's file as it stood before each change, the latest first."""
    return tuple(_before(change) for change in file_changes(book, member))


def _before(change: Change) -> Before:
    was, now = ("" if t == "NULL" else plain(t) for t in (change.before, change.after))
    return Before(change.at, changed_lines(was, now), was)


def put_back(book: Book, member: Member, at: str, mark: str) -> tuple[str, ...]:
    """Put the file back as it stood until a moment; what is wrong instead, or nothing.

    What stands now is kept like every earlier file. The same tap sent twice counts once.
    """
    found = next((b for b in before_of(book, member) if b.at == at and b.text), None)
    if found is None:
        return ("No file of that moment is kept.",)
    if found.text == member.file:
        return ()
    if mark != mark_of(member.file):
        return ("The file was changed meanwhile: look at it again.",)
    keep_text(book, found.text)
    return ()
