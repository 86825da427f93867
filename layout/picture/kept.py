"""A measured picture on its way into the book: whose, when, what of, with its points and margins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from animate.body.body import Body, body
from layout.book.entry import find_slug
from layout.book.people import Member
from layout.book.pictures import INSTANTS, Kept, Sight
from layout.book.sound import athlete_in
from layout.book.store import Book
from layout.book.typed import ENTRY_KINDS, read_word
from layout.picture.measured import Measured, measure
from layout.picture.points import Frame, points_from, written
from layout.words.dates import read_past_day
from layout.words.faults import refuse
from layout.words.reading import line_text

USUAL: Final = "step touchdown"
"""The instant that is meant where none is given."""


@dataclass(frozen=True)
class Said:
    """What a coach says of a picture, as typed."""

    day: str | None = None  # today where left out
    kind: str = "training"
    drill: str = ""
    instant: str = USUAL
    note: str = ""


def body_of(member: Member) -> Body:
    """The body an athlete's pictures are measured with."""
    if member.file is None:
        raise refuse("athlete", "only the name is known; height, mass and leg needed", member.name)
    who = athlete_in(member.file, member.name)
    return body(who.stature, who.mass, who.build)


def sight_of(
    book: Book,
    member: Member,
    frame: Frame,
    measured: Measured,
    said: Said,
    times: Mapping[str, tuple[float, float]] | None = None,
) -> Sight:
    """What the book keeps of a measured picture: points and measures, neither picture nor its name.

    times: contact and flight time with their margins [s], by measure name.
    Refused: a day to come, an instant that is none, training without a drill, an unknown drill.
    """
    kind = read_word("kind", said.kind, ENTRY_KINDS)
    if not said.drill and kind == "training":
        raise refuse("drill", "is needed in training; in competition it may be left out")
    values = {v.measure.name: (v.value, v.margin) for v in measured.values}
    return Sight(
        member.id, read_past_day("on", said.day).isoformat(), kind,
        find_slug(book, said.drill) if said.drill else None,
        read_word("instant", said.instant, INSTANTS), written(frame), {**values, **(times or {})},
        line_text("note", said.note, 300) if said.note else None,
    )  # fmt: skip


def again(kept: Kept, who: Body) -> Measured:
    """The places of a kept picture, measured once more: for drawing; its figures are those kept."""
    return measure(points_from(kept.points).frames[0], who)
