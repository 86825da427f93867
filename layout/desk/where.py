"""Where a drill is set out while nobody says: where the club was today, else at its own venue."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Final, NamedTuple, Protocol, Self, TypeVar

from layout.desk.kept import kept_of
from layout.words.trade import day_text

if TYPE_CHECKING:
    from layout.book.own import Own
    from layout.desk.app import Desk
    from layout.desk.kept import Kept

CLUB: Final = "club"
"""The catalogue's venue that stands in for one that nobody has measured."""


class Usual(NamedTuple):
    """A venue's name, and why the desk starts from it."""

    slug: str
    why: str


class _Placed(Protocol):
    @property
    def v(self) -> str: ...
    def changed(self, **parts: object) -> Self: ...


def usual(own: Own, kept: Kept, today: datetime.date) -> Usual:
    """The venue where nobody names one: the only one of the club's own; else where it was set out last.

    Of several own venues the last day's holds, and before any the one that was put in last. A venue that
    is not the club's own holds for the day.
    """
    here = kept.place if kept.place in own.all_venues() else ""
    if here and kept.placed == today.isoformat() and here not in own.venues:
        return Usual(here, "As set out last, today.")
    if len(own.venues) == 1:
        return Usual(next(iter(own.venues)), "Your own venue.")
    if here in own.venues:
        day = datetime.date.fromisoformat(kept.placed)
        when = "today" if day == today else f"on {day_text(day)}"
        return Usual(here, f"The one of your own venues that was set out last, {when}.")
    if own.newest:
        return Usual(own.newest, "The one of your own venues that was put in last.")
    return Usual(CLUB, "None of your own yet: Club has a form for a venue you measured.")


def usual_of(desk: Desk, own: Own) -> Usual:
    """The venue where an address names none."""
    return usual(own, kept_of(desk.book), datetime.date.today())


A = TypeVar("A", bound=_Placed)


def placed(desk: Desk, asked: A, own: Own) -> A:
    """What an address asks for, with its venue."""
    return asked if asked.v else asked.changed(v=usual_of(desk, own).slug)


def chosen(desk: Desk, slug: str, own: Own) -> Usual:
    """The venue where an address names none, once `slug` was set out; another than usual is kept for whoever
    is next."""
    if slug != (start := usual_of(desk, own)).slug:
        desk.keep(place=slug, placed=datetime.date.today().isoformat())
        return usual_of(desk, own)
    return start
