"""One line per attempt: from what a coach types to a row of the book."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from layout.book import typed
from layout.book.marks import unlikely, usual_of
from layout.book.own import drills_known
from layout.book.people import Planned, find_member, plan_for, planned
from layout.book.schema import put_row
from layout.book.store import Book
from layout.book.typed import Typed, as_typed, measured
from layout.plan.drill import Drill
from layout.rules.wind import RANGE
from layout.words.dates import read_past_day
from layout.words.faults import refuse
from layout.words.reading import line_text, nearest, read_count, read_number
from layout.words.trade import MOVES
from layout.words.units import parse_length, parse_speed

LONGEST_NOTE: Final = 300
FIELDS: Final[dict[str, Callable[[str, str], Any]]] = {
    "strides": lambda f, t: read_count(f, t, 0, 24),
    "speed": lambda f, t: parse_speed(t, f, lowest=1.0, highest=13.0),
    "wind": lambda f, t: read_number(f, t, *RANGE, "m/s"),  # along the runway, + from behind
    "surface": lambda f, t: typed.read_word(f, t, typed.SURFACES),
    "foul": lambda f, t: int(typed.read_yes(f, t)),
    "note": lambda f, t: line_text(f, t, LONGEST_NOTE),
    "runs": lambda f, t: read_count(f, t, 1, 99),
    "knee_gap": lambda f, t: parse_length(t, f, lowest=-0.8, highest=1.2),
    "support_knee": typed.read_angle,
    "free_knee": typed.read_angle,
    "free_thigh": typed.read_angle,
    "trunk": typed.read_angle,
    "kind": lambda f, t: typed.read_word(f, t, typed.ENTRY_KINDS),
}
"""Columns that are typed as they are, and how each is read, in SI."""
PLACE: Final = "no place named"
"""Place of the first session where none is given."""


@dataclass(frozen=True)
class Saved:
    """What was put down."""

    id: int  # number of the attempt
    athlete: str
    drill: str
    day: str
    place: str
    phases: tuple[str, ...]
    lengths: tuple[float | None, ...]  # [m]
    total: float | None  # [m]
    warnings: tuple[str, ...]  # what looks unlikely and was kept all the same


@dataclass(frozen=True)
class Shape:
    """What entry needs to know of a drill."""

    slug: str
    phases: tuple[str, ...]
    sand: bool
    run: bool
    strides: int | None
    plan: Planned | None


def _joined(title: str) -> str:
    """The words of a title, however they are kept apart.

    >>> _joined("Short-approach triple jump, split markers")
    'short-approach-triple-jump-split-markers'
    """
    return "-".join(re.findall(r"\w+", title.lower()))


def find_slug(book: Book, name: str, own: Mapping[str, Drill] | None = None) -> str:
    """A drill by its name or the beginning of it: the catalogue's, the coach's or a kept plan's."""
    known = drills_known(book, own)
    slugs: dict[str, None] = dict.fromkeys(
        [*known, *(str(r[0]) for r in book.rows("SELECT DISTINCT drill FROM plan"))]
    )
    plain = name.strip().lower()
    if plain in slugs:
        return plain
    titles = {_joined(d.title): s for s, d in known.items()}
    if slug := titles.get(_joined(plain)):
        return slug
    found = [s for s in slugs if s.startswith(plain)] if len(plain) >= 3 else []
    if len(found) == 1:
        return str(found[0])
    if found:
        raise refuse("drill", f"more of the name needed: {', '.join(found[:5])}", name)
    hint = nearest(plain, slugs) or "; see phasemark plan --list"
    raise refuse("drill", f"is not known{hint}", name)


def _phases(text: str) -> tuple[str, ...]:
    parts = tuple(text.lower().replace(",", " ").split())
    if not 1 <= len(parts) <= 30 or any(p not in MOVES for p in parts):
        raise refuse("phases", "must be 1 to 30 of hop, step, jump, such as 'hop step'", text)
    return parts


def shape_of(
    book: Book, given: Typed, athlete: int, day: str, own: Mapping[str, Drill] | None
) -> Shape:
    slug = find_slug(book, given.drill, own)
    plan = plan_for(book, athlete, slug, day) if given.plan is None else planned(book, given.plan)
    drill = drills_known(book, own).get(slug)
    phases = _phases(given.phases) if given.phases else None
    if plan is not None:
        shape = Shape(slug, plan.phases, plan.sand, plan.run, plan.strides, plan)
    elif drill is not None:
        strides = None if drill.full else drill.strides
        shape = Shape(slug, drill.chain, drill.ends == "sand", drill.start == "run", strides, None)
    else:
        raise refuse("drill", "no plan of it is kept for this athlete; --phases needed", slug)
    if phases is None or phases == shape.phases:
        return shape
    return Shape(slug, phases, shape.sand, shape.run, shape.strides, None)


def ends_in_sand(book: Book, slug: str) -> bool:
    """Whether a drill of the catalogue or the club's own ends in the sand; no for any other."""
    drill = drills_known(book).get(slug)
    return drill is not None and drill.ends == "sand"


def session_of(book: Book, day: str, place: str | None) -> tuple[int, str]:
    """The session of a day and place, begun where there is none."""
    if place is not None:
        place = line_text("place", place, 60)
    else:
        latest = "SELECT place FROM session ORDER BY day = ? DESC, day DESC, id DESC LIMIT 1"
        found = book.rows(latest, (day,))
        place = found[0][0] if found else PLACE
    found = book.rows("SELECT id FROM session WHERE day = ? AND place = ?", (day, place))
    if found:
        return found[0][0], place
    made = book.db.execute("INSERT INTO session (day, place) VALUES (?, ?)", (day, place))
    return int(made.lastrowid or 0), place


@dataclass(frozen=True)
class Ready:
    """One attempt as it would be put down."""

    given: Typed
    athlete: str
    day: str
    phases: tuple[str, ...]
    lengths: tuple[float | None, ...]  # [m]
    values: dict[str, Any]  # by column, without the session
    warnings: tuple[str, ...]


def ready(book: Book, given: Typed, own: Mapping[str, Drill] | None = None) -> Ready:
    """Read one attempt; nothing is written."""
    member = find_member(book, given.athlete)
    day = read_past_day("on", given.day).isoformat()
    shape = shape_of(book, given, member.id, day, own)
    jumped = measured(given, shape.phases, shape.sand, shape.plan)
    lengths, total = jumped.lengths, jumped.total
    values: dict[str, Any] = {"strides": shape.strides, "foul": 0, "runs": 1}
    values |= dict.fromkeys(set(FIELDS) - set(values))
    values |= {key: FIELDS[key](key, text) for key, text in given.fields.items()}
    if values["runs"] > 1 and total is not None:
        raise refuse("runs", "readings belong to one run; write them one by one", values["runs"])
    if given.place is not None:
        line_text("place", given.place, 60)
    values |= {
        "athlete": member.id,
        "plan": shape.plan.id if shape.plan else None,
        "drill": shape.slug,
        "phases": " ".join(shape.phases),
        "lengths": json.dumps(lengths),
        "total": total,
        "behind": jumped.behind,
        "run": None if given.run is None else line_text("run", given.run, 40),
        "readings": as_typed(given),
        "zero": given.zero if given.readings else None,
        "contacts": values["runs"] * (len(shape.phases) + shape.run),
    }
    usual = usual_of(book, member.id, shape.slug, shape.phases, values["strides"])
    looks = (*jumped.looks, *unlikely(shape.phases, lengths, shape.plan, usual))
    return Ready(given, member.name, day, shape.phases, lengths, values, looks)


def put(book: Book, made: Ready) -> Saved:
    """Put one attempt down, inside a change that the caller holds (`Book.writing`)."""
    given, slug = made.given, made.values["drill"]
    session, place = session_of(book, made.day, given.place)
    if given.session_note is not None:
        note = line_text("session-note", given.session_note, LONGEST_NOTE)
        book.db.execute("UPDATE session SET note = ? WHERE id = ?", (note, session))
    warnings, readings = list(made.warnings), made.values["readings"]
    if readings is not None and given.run is None:
        last = book.rows(
            "SELECT id, readings, drill FROM attempt WHERE athlete = ? AND session = ? "
            "ORDER BY id DESC LIMIT 1",
            (made.values["athlete"], session),
        )
        if last and last[0][1:] == (readings, slug):
            warnings.append(f"the same readings as attempt {last[0][0]}; entered twice?")
    now = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
    values = {**made.values, "session": session, "made": now}
    number = put_row(book.db, "attempt", values)
    return Saved(
        number, made.athlete, slug, made.day, place, made.phases, made.lengths,
        made.values["total"], tuple(warnings),
    )  # fmt: skip


def add(book: Book, given: Typed, own: Mapping[str, Drill] | None = None) -> Saved:
    """Put one attempt down for good.

    Refused: anything impossible, or the book cannot be written; nothing is kept then.
    """
    with book.writing():
        return put(book, ready(book, given, own))
