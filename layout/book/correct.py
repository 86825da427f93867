"""Corrections: a value is changed, and what it was before is kept and can be read."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from layout.book import entry
from layout.book.marks import unlikely, usual_of
from layout.book.people import find_member, plan_for, planned
from layout.book.rows import CHUNK
from layout.book.store import Book
from layout.book.typed import Typed, as_typed, measured, typed_parts
from layout.words.dates import read_past_day
from layout.words.faults import BadInput, refuse

_CHANGES: Final = "SELECT at, room, row, field, before, after FROM correction"


@dataclass(frozen=True)
class Change:
    """One value that was changed."""

    at: str  # when, UTC
    room: str  # athlete, session, plan or attempt
    row: int  # its number there
    # field, before, after: as text; NULL where there was nothing
    field: str
    before: str
    after: str


def changes(book: Book, room: str | None = None, row: int | None = None) -> list[Change]:
    """Every correction, the earliest first."""
    asked = f"{_CHANGES} WHERE (?1 IS NULL OR room = ?1) AND (?2 IS NULL OR row = ?2) ORDER BY id"
    return [Change(*values) for values in book.rows(asked, (room, row))]


def changes_of(book: Book, room: str, numbers: Sequence[int]) -> dict[int, tuple[Change, ...]]:
    """The corrections of some rows by their numbers, the earliest first; those without any are left out."""
    out: dict[int, list[Change]] = {}
    for at in range(0, len(numbers), CHUNK):
        part = numbers[at : at + CHUNK]
        slots = ", ".join("?" * len(part))
        asked = f"{_CHANGES} WHERE room = ? AND row IN ({slots}) ORDER BY id"
        for values in book.rows(asked, (room, *part)):
            out.setdefault(int(values[2]), []).append(Change(*values))
    return {number: tuple(found) for number, found in out.items()}


def correct(book: Book, number: int, given: Mapping[str, Any]) -> list[Change]:
    """Change an attempt; the earlier values are kept.

    `number`: of the attempt. `given`: fields of `entry.FIELDS` as text, None where one is to be empty
    again; and any of athlete, drill, day, place, phases, zero, pit, behind, total (text), readings
    (texts), struck (bool). Returns what is different now. Refused: no such attempt, a value that is
    impossible, or nothing that differs.
    """
    with book.writing() as db:
        last = book.rows("SELECT coalesce(max(id), 0) FROM correction")[0][0]
        values = _values(book, number, given)
        if values:
            sets = ", ".join(f"{key} = ?" for key in values)
            db.execute(f"UPDATE attempt SET {sets} WHERE id = ?", (*values.values(), number))
        out = book.rows(f"{_CHANGES} WHERE id > ? ORDER BY id", (last,))
        if not out:
            raise refuse("correct", "nothing to change: these values stand already")
    return [Change(*row) for row in out]


def _old(book: Book, number: int) -> dict[str, Any]:
    """An attempt as it stands."""
    keys = (
        "athlete", "session", "plan", "drill", "phases", "readings", "zero", "runs", "contacts",
        "day", "place", "total", "lengths", "strides",
    )  # fmt: skip
    columns = ", ".join(f"{'s' if key in ('day', 'place') else 'a'}.{key}" for key in keys)
    asked = f"SELECT {columns} FROM attempt a JOIN session s ON s.id = a.session WHERE a.id = ?"
    found = book.rows(asked, (number,))
    if not found:
        raise refuse("attempt", "no attempt of this number; phasemark book list has them", number)
    return dict(zip(keys, found[0], strict=True))


def looks_at(book: Book, number: int) -> list[str]:
    """What looks unlikely of an attempt that is kept, worked out again from what was typed."""
    old = _old(book, number)
    plan = planned(book, old["plan"]) if old["plan"] is not None else None
    phases = tuple(old["phases"].split())
    again = _typed(_was_typed(old, {}), old["drill"])
    sand = plan.sand if plan else entry.ends_in_sand(book, old["drill"])
    try:
        typed_looks = measured(again, phases, sand, plan).looks
    except BadInput:  # an older version took what this one would not
        typed_looks = ()
    usual = usual_of(book, old["athlete"], old["drill"], phases, old["strides"])
    return [*typed_looks, *unlikely(phases, json.loads(old["lengths"]), plan, usual)]


def _values(book: Book, number: int, given: Mapping[str, Any]) -> dict[str, Any]:
    """Columns of an attempt as they should be."""
    old = _old(book, number)
    out: dict[str, Any] = {
        key: None if given[key] is None else read(key, given[key])
        for key, read in entry.FIELDS.items()
        if key in given
    }
    for key in ("foul", "runs"):
        if key in out and out[key] is None:
            raise refuse(key, "needed")
    if "struck" in given:
        out["struck"] = int(given["struck"])
    athlete = old["athlete"]
    if "athlete" in given:
        athlete = out["athlete"] = find_member(book, given["athlete"]).id
    day = old["day"]
    if "day" in given or "place" in given:
        day = read_past_day("on", given["day"]).isoformat() if "day" in given else day
        out["session"], _ = entry.session_of(book, day, given.get("place", old["place"]))
    if "runs" in out:
        out["contacts"] = old["contacts"] // old["runs"] * out["runs"]
    if {"athlete", "drill", "phases", "day"} & set(given):
        out |= _drill(book, old, given, athlete, day, out.get("runs", old["runs"]))
    if {"readings", "zero", "pit", "behind", "total"} & set(given):
        out |= _lengths(book, old, given, athlete, day, out)
    elif "phases" in out and out["phases"].count(" ") != old["phases"].count(" "):
        raise refuse("readings", "this drill has other phases: give the readings again")
    if out.get("runs", old["runs"]) > 1 and out.get("total", old["total"]) is not None:
        raise refuse("runs", "readings belong to one run", out.get("runs", old["runs"]))
    return out


def _typed(given: Mapping[str, Any], drill: str) -> Typed:
    return Typed(
        athlete="",
        drill=given.get("drill", drill),
        readings=tuple(given.get("readings", ())),
        zero=given.get("zero") or "board",
        pit=given.get("pit"),
        behind=given.get("behind"),
        total=given.get("total"),
        phases=given.get("phases"),
    )


def _drill(
    book: Book, old: Mapping[str, Any], given: Mapping[str, Any], athlete: int, day: str, runs: int
) -> dict[str, Any]:
    """Drill, phases, plan and contacts after a change of athlete, drill or day."""
    if not {"drill", "phases"} & set(given):
        plan = plan_for(book, athlete, old["drill"], day)
        fits = plan is not None and " ".join(plan.phases) == old["phases"]
        return {"plan": plan.id if plan and fits else None}
    shape = entry.shape_of(book, _typed(given, old["drill"]), athlete, day, None)
    return {
        "drill": shape.slug,
        "phases": " ".join(shape.phases),
        "plan": shape.plan.id if shape.plan else None,
        "contacts": runs * (len(shape.phases) + shape.run),
    }


def _was_typed(old: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    """What was typed before, as far as it still holds beside what is given now."""
    readings, beside = typed_parts(old["readings"])
    out: dict[str, Any] = {"zero": old["zero"] or "board", **beside, "readings": readings}
    if "readings" in given:  # an old total belongs to the old readings
        out.pop("total", None)
        if len(given["readings"]) == old["phases"].count(" ") + 2:  # the toe is read now
            out.pop("behind", None)
    return out


def _lengths(
    book: Book,
    old: Mapping[str, Any],
    given: Mapping[str, Any],
    athlete: int,
    day: str,
    out: Mapping[str, Any],
) -> dict[str, Any]:
    """Lengths worked out again from new readings."""
    again = _typed({**_was_typed(old, given), **given}, old["drill"])
    if not again.readings and again.total is None:
        raise refuse("readings", "needed: none were kept to work it out from")
    if "pit" in given and again.zero != "pit":
        raise refuse("board-at", "has no meaning without --zero pit", given["pit"])
    plan_id = out.get("plan", old["plan"])
    plan = planned(book, plan_id) if plan_id is not None else None
    phases = tuple(out.get("phases", old["phases"]).split())
    sand = plan.sand if plan else entry.ends_in_sand(book, out.get("drill", old["drill"]))
    jumped = measured(again, phases, sand, plan)
    return {
        "lengths": json.dumps(jumped.lengths),
        "total": jumped.total,
        "behind": jumped.behind,
        "readings": as_typed(again),
        "zero": again.zero if again.readings else None,
    }


def unquoted(kept: str) -> str | None:
    """A kept value out of the signs that SQL writes it with; None for nothing.

    >>> unquoted("'Runa''s'"), unquoted("4.8"), unquoted("NULL")
    ("Runa's", '4.8', None)
    """
    if kept == "NULL":
        return None
    return kept[1:-1].replace("''", "'") if kept.startswith("'") else kept


def plain(kept: str, field: str = "") -> str:
    """A kept value as a coach reads it.

    >>> plain("'2.61 ; 4.80'"), plain("NULL"), plain("1", "foul"), plain("'[2.61, null]'", "lengths")
    ('2.61 ; 4.80', 'nothing', 'yes', '2.61, ? m')
    """
    text = unquoted(kept)
    if text is None:
        return "nothing"
    if field in ("foul", "struck"):
        return "yes" if kept == "1" else "no"
    if field == "lengths":
        return text.strip("[]").replace("null", "?") + " m"
    return text
