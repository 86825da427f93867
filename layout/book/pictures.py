"""What was measured on a coach's pictures, kept: points and measures with their margins, no picture."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from animate.motion.measure_table import MEASURE
from layout.book.schema import put_row
from layout.book.sound import measures_in
from layout.book.store import Book, told
from layout.words.faults import refuse
from layout.words.trade import MOVES

INSTANTS: Final = tuple(f"{move} {end}" for move in MOVES for end in ("touchdown", "take-off"))
"""Instants a position is measured at: touchdown and take-off of the contact that goes into a phase."""
SHORT: Final = ("knee_gap", "free_knee_touchdown", "free_thigh_touchdown")
"""Knee gap, lever and free thigh: what a list tells of a picture."""
_FIELDS: Final = ("athlete", "day", "kind", "drill", "instant", "points", "measures", "note")
_COLUMNS: Final = f"{', '.join(f'p.{f}' for f in _FIELDS)}, p.id, h.name, p.struck"


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
    row = {name: getattr(sight, name) for name in _FIELDS}
    row["measures"] = json.dumps({name: list(found) for name, found in sight.measures.items()})
    if len(sight.points) > 20_000 or len(row["measures"]) > 5000:
        raise refuse("points", "at most 20,000 characters allowed", len(sight.points))
    same = "athlete = :athlete AND day = :day AND instant = :instant AND points = :points"
    with book.writing() as db:
        asked = f"SELECT id FROM picture WHERE {same} AND struck = 0"
        twin = db.execute(asked, row).fetchone()
        if twin:
            return int(twin[0]), False
        row["made"] = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
        return put_row(db, "picture", row), True


def pictures(
    book: Book, athlete: int | None = None, until: str | None = None, struck: bool = False
) -> list[Kept]:
    """What was measured on pictures, in the order of the days; `until` a day, included."""
    where = (
        "(?1 IS NULL OR p.athlete = ?1) AND (?2 IS NULL OR p.day <= ?2) AND p.struck <= ?3 "
        "ORDER BY p.day, p.id"
    )
    return _found(book, where, (athlete, until, int(struck)))


def _found(book: Book, where: str, values: Sequence[Any]) -> list[Kept]:
    asked = f"SELECT {_COLUMNS} FROM picture p JOIN athlete h ON h.id = p.athlete WHERE {where}"
    found = book.rows(asked, values)
    with told(book.path):
        return [_kept(row) for row in found]


def _kept(row: Sequence[Any]) -> Kept:
    found = dict(zip((*_FIELDS, "id", "name", "struck"), row, strict=True))
    measures = measures_in(found["measures"])
    return Kept(**{**found, "measures": measures, "struck": bool(found["struck"])})


def picture(book: Book, number: int) -> Kept:
    """One of them by its number, struck or not; refused where there is none."""
    found = _found(book, "p.id = ?", (number,))
    if not found:
        raise refuse("picture", "no picture of this number is in the book", number)
    return found[0]


def strike_picture(book: Book, number: int) -> Kept:
    """Count one of them nowhere any more; it stays among the corrections."""
    kept = picture(book, number)
    if kept.struck:
        raise refuse("picture", "is struck out already", number)
    with book.writing() as db:
        db.execute("UPDATE picture SET struck = 1 WHERE id = ?", (number,))
    return kept
