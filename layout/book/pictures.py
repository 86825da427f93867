"""What was measured on a coach's pictures, kept: points and measures with their margins, no picture."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from animate.motion.measure_table import MEASURE
from layout.book.sound import measures_in
from layout.book.store import Book, told
from layout.words.faults import refuse
from layout.words.trade import MOVES

INSTANTS: Final = tuple(f"{move} {end}" for move in MOVES for end in ("touchdown", "take-off"))
"""Instants a position is measured at: touchdown and take-off of the contact that goes into a phase."""
SHORT: Final = ("knee_gap", "free_knee_touchdown", "free_thigh_touchdown")
"""Knee gap, lever and free thigh: what a list tells of a picture."""
_FIELDS: Final = ("athlete", "day", "kind", "drill", "instant", "points", "measures", "note")


@dataclass(frozen=True)
class Sight:
    """What was measured on one picture of an athlete."""

    athlete: int  # number
    day: str
    kind: str  # training or competition
    drill: str | None  # None where it was no drill
    instant: str  # of `INSTANTS`
    points: str  # as a file of points holds them
    measures: Mapping[str, tuple[float, float]]  # value and margin by measure name [its unit]
    note: str | None = None


@dataclass(frozen=True)
class Kept(Sight):
    """The same as the book has it."""

    id: int = 0
    name: str = ""  # the athlete's
    struck: bool = False


def short_of(measures: Mapping[str, tuple[float, float]]) -> str:
    """The few figures of a kept picture that a list has room for."""
    return ", ".join(
        f"{MEASURE[name].label} {MEASURE[name].with_margin(*measures[name])}"
        for name in SHORT
        if name in measures
    )


def keep_picture(book: Book, sight: Sight) -> tuple[int, bool]:
    """Keep what was measured; returns its number and whether it is new: the same points count once."""
    row = (
        sight.athlete, sight.day, sight.kind, sight.drill, sight.instant, sight.points,
        json.dumps({name: list(found) for name, found in sight.measures.items()}), sight.note,
    )  # fmt: skip
    if max(len(sight.points) - 20_000, len(row[6] or "") - 5000) > 0:
        raise refuse("points", "at most 20,000 characters allowed", len(sight.points))
    asked = "SELECT id FROM picture WHERE athlete = ? AND day = ? AND instant = ? AND points = ? "
    with book.writing() as db:
        twin = db.execute(f"{asked} AND struck = 0", (*row[:2], *row[4:6])).fetchone()
        if twin:
            return int(twin[0]), False
        made = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
        put = f"INSERT INTO picture ({', '.join(_FIELDS)}, made) VALUES ({', '.join('?' * 9)})"
        return int(db.execute(put, (*row, made)).lastrowid or 0), True


def pictures(
    book: Book, athlete: int | None = None, until: str | None = None, struck: bool = False
) -> list[Kept]:
    """What was measured on pictures, in the order of the days; `until` a day, included."""
    found = book.rows(
        f"SELECT {', '.join(f'p.{f}' for f in _FIELDS)}, p.id, h.name, p.struck "
        "FROM picture p JOIN athlete h ON h.id = p.athlete WHERE (?1 IS NULL OR p.athlete = ?1) "
        "AND (?2 IS NULL OR p.day <= ?2) AND p.struck <= ?3 ORDER BY p.day, p.id",
        (athlete, until, int(struck)),
    )
    with told(book.path):
        return [_kept(row) for row in found]


def _kept(row: Sequence[Any]) -> Kept:
    found = dict(zip((*_FIELDS, "id", "name", "struck"), row, strict=True))
    return Kept(**{**found, "measures": measures_in(row[6]), "struck": bool(row[-1])})


def picture(book: Book, number: int) -> Kept:
    """One of them by its number, struck or not; refused where there is none."""
    for kept in pictures(book, struck=True):
        if kept.id == number:
            return kept
    raise refuse("picture", "no picture of this number is in the book", number)


def strike_picture(book: Book, number: int) -> Kept:
    """Count one of them nowhere any more; it stays among the corrections."""
    kept = picture(book, number)
    if kept.struck:
        raise refuse("picture", "is struck out already", number)
    with book.writing() as db:
        db.execute("UPDATE picture SET struck = 1 WHERE id = ?", (number,))
    return kept
