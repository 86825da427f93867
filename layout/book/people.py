"""Athletes and their plans in a book: kept, found by name, never silently replaced."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from layout.book.schema import put_row
from layout.book.store import Book, damaged
from layout.words.dates import read_day
from layout.words.faults import BadInput, refuse
from layout.words.names import find_named, same, some_of
from layout.words.reading import line_text, nearest, read_text, table_of

if TYPE_CHECKING:
    from layout.athlete.athlete import Athlete
    from layout.plan.value import Who

LONGEST_NAME: Final = 80


@dataclass(frozen=True)
class Member:
    """An athlete of the book."""

    id: int
    name: str
    leg: str | None
    born: int | None
    level: str | None
    # stature, mass: [m], [kg]
    stature: float | None
    mass: float | None
    file: str | None  # the athlete file as it was kept, TOML
    note: str | None


_FIELDS: Final = "id, name, leg, born, level, stature, mass, file, note"


@dataclass(frozen=True)
class Planned:
    """What entry and lists need of a kept plan."""

    id: int
    phases: tuple[str, ...]
    arcs: tuple[str, ...]
    lengths: tuple[float, ...]  # [m]
    margins: tuple[float | None, ...]  # [m]; None where the phase is a target
    sand: bool
    run: bool  # whether it starts with an approach
    strides: int
    pit_x: float | None  # [m]
    run_up: float  # [m]


def members(book: Book) -> list[Member]:
    """All athletes, by name."""
    return [Member(*row) for row in book.rows(f"SELECT {_FIELDS} FROM athlete ORDER BY name")]


def _everybody(book: Book) -> dict[str, Member]:
    """All athletes by `same` of their name."""
    return book.remembered("athletes", lambda: {same(m.name): m for m in members(book)})


def numbered(everybody: list[Member], number: int) -> Member:
    """The athlete of a number; refused where there is none."""
    for member in everybody:
        if member.id == number:
            return member
    raise refuse("athlete", "is not in this book any more", number)


def find_member(book: Book, name: str, exact: bool = False) -> Member:
    """The athlete of a name, or of its beginning where only one begins so.

    `name`: in any case, with or without its accents. `exact`: only the whole name will do. Refused:
    nobody, or several, with the nearest names.
    """
    everybody = _everybody(book)
    if same(name) in everybody:
        return everybody[same(name)]
    names = [m.name for m in everybody.values()]
    found = [names[i] for i in find_named(name, names, exact)]
    if len(found) > 1:
        raise refuse("athlete", f"more of the name needed: {some_of(found, 5)}", name)
    if not found:
        hint = nearest(name, names) or "; take the athlete in first"
        raise refuse("athlete", f"is not in this book{hint}", name)
    return everybody[same(found[0])]


def _put_member(db: sqlite3.Connection, book: Book, values: dict[str, Any]) -> tuple[int, bool]:
    """Add or change an athlete; the changed row's earlier values are kept by trigger."""
    member = _everybody(book).get(same(values["name"]))
    if member is not None:
        given = {k: v for k, v in values.items() if v is not None and k != "name"}
        changed = {k: v for k, v in given.items() if getattr(member, k) != v}
        if changed:
            sets = ", ".join(f"{k} = ?" for k in changed)
            db.execute(f"UPDATE athlete SET {sets} WHERE id = ?", (*changed.values(), member.id))
            _everybody(book)[same(member.name)] = replace(member, **changed)
        return member.id, False
    number = put_row(db, "athlete", values)
    row = db.execute(f"SELECT {_FIELDS} FROM athlete WHERE id = ?", (number,)).fetchone()
    _everybody(book)[same(values["name"])] = Member(*row)
    return int(row[0]), True


def _told_by(who: Athlete | Who) -> dict[str, Any]:
    """What an athlete file and a plan both tell, by column."""
    return {"name": unicodedata.normalize("NFC", who.name), "leg": who.leg, "level": who.level,
            "stature": who.stature, "mass": who.mass}  # fmt: skip


def add_name(book: Book, name: str) -> tuple[int, bool]:
    """Take in an athlete of whom only the name is known; returns the number and whether new."""
    kept = unicodedata.normalize("NFC", line_text("name", name, LONGEST_NAME))
    with book.writing() as db:
        return _put_member(db, book, {"name": kept})


def keep_text(book: Book, text: str, path: str = "") -> tuple[str, bool]:
    """Take in what an athlete file holds, or bring the athlete up to date; returns the name and whether
    new. `path`, where it is from, is for messages."""
    return keep_texts(book, [text], path)[0]


def keep_texts(book: Book, texts: Sequence[str], path: str = "") -> list[tuple[str, bool]]:
    """The same for several, all of them or none."""
    from layout.athlete.athlete import athlete_from

    rows = []
    for text in texts:
        who = athlete_from(table_of(text, path), path, text)
        if len(text) > 100_000:
            raise refuse("file", "at most 100,000 characters allowed").at(path)
        rows.append(_told_by(who) | {"born": who.born, "file": text, "note": who.note or None})
    with book.writing() as db:
        return [(str(row["name"]), _put_member(db, book, row)[1]) for row in rows]


def _plans_kept(book: Book, athlete: int, drill: str) -> set[bytes]:
    """Marks of an athlete's plans of a drill: each kept takes the same work, however many there are."""
    asked = "SELECT json FROM plan WHERE athlete = ? AND drill = ?"
    return book.remembered(
        f"plans {athlete} {drill}",
        lambda: {
            hashlib.sha256(t.encode()).digest() for (t,) in book.rows(asked, (athlete, drill))
        },
    )


def keep_plan(book: Book, path: Path) -> tuple[str, str, bool]:
    """Take in a saved plan, and its athlete if need be; returns athlete, drill and whether it is new."""
    try:
        return keep_plan_text(book, read_text(path))
    except BadInput as error:
        raise error.at(str(path)) from None


def keep_plan_text(book: Book, text: str, latest: bool = False) -> tuple[str, str, bool]:
    """The same for what a saved plan holds; `latest`: it is to be the one that attempts now belong to,
    so that one kept before another is kept again."""
    from layout.plan.stored import from_json

    plan = from_json(text)
    read_day("date", plan.date)
    small = json.dumps(json.loads(text), ensure_ascii=False, separators=(",", ":"))
    if len(small) > 100_000:
        raise refuse("plan", "at most 100,000 characters allowed", len(small))
    who = plan.who
    with book.writing() as db:
        known = _everybody(book).get(same(who.name))
        athlete = known.id if known else _put_member(db, book, _told_by(who))[0]
        mark = hashlib.sha256(small.encode()).digest()
        kept = _plans_kept(book, athlete, plan.drill)
        twin = mark in kept
        if twin and latest:
            last = plan_for(book, athlete, plan.drill, plan.date)
            asked = "SELECT json FROM plan WHERE id = ?"
            twin = last is not None and book.rows(asked, (last.id,)) == [(small,)]
        if not twin:
            kept.add(mark)
            row = (athlete, plan.drill, plan.date, small)
            db.execute("INSERT INTO plan (athlete, drill, day, json) VALUES (?, ?, ?, ?)", row)
    return who.name, plan.drill, not twin


def keep_latest(book: Book, text: str) -> int:
    """Keep a saved plan as the one that attempts now belong to; its number."""
    who, drill, _ = keep_plan_text(book, text, latest=True)
    athlete, day = find_member(book, who, exact=True).id, json.loads(text)["date"]
    kept = plan_for(book, athlete, drill, day)
    assert kept is not None
    return kept.id


def plan_for(book: Book, athlete: int, drill: str, day: str) -> Planned | None:
    """The plan an attempt belongs to: the last one made for that day or before it."""
    found = book.rows(
        "SELECT id FROM plan WHERE athlete = ? AND drill = ? AND day <= ? "
        "ORDER BY day DESC, id DESC LIMIT 1",
        (athlete, drill, day),
    )
    return planned(book, found[0][0]) if found else None


def planned(book: Book, number: int) -> Planned:
    """A kept plan as `Planned`."""
    (text,) = book.rows("SELECT json FROM plan WHERE id = ?", (number,))[0]
    try:
        return _planned(number, text)
    except (LookupError, TypeError, ValueError, AttributeError, RecursionError):
        raise damaged(book.path, f"plan {number} cannot be read") from None


@lru_cache(maxsize=512)
def _planned(number: int, text: str) -> Planned:
    table = json.loads(text)
    flights, contacts = table["flights"], table["contacts"]
    return Planned(
        id=number,
        phases=tuple(f["phase"] for f in flights),
        arcs=tuple(f["arc"] for f in flights),
        lengths=tuple(f["length"] for f in flights),
        margins=tuple(f["plus_minus"] for f in flights),
        sand=contacts[-1]["surface"] == "sand",
        run=contacts[0]["arrive"] == "run",
        strides=table["approach"]["strides"],
        pit_x=table["place"]["pit_x"],
        run_up=table["approach"]["length"],
    )
