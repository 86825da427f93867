"""Jumped: one row a run beside what was planned, as the tape reads it, kept at once."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from layout.book import entry, waits
from layout.book.correct import Change, changes, correct, looks_at, unquoted
from layout.book.marks import parse_reading
from layout.book.people import find_member, keep_latest
from layout.book.rows import Attempt, attempts, pains
from layout.book.store import Book
from layout.book.typed import Typed, typed_parts
from layout.book.waits import WENT
from layout.desk.setout import SetOut
from layout.plan.drill import MOST_MOVES
from layout.plan.hurdles import flight_text
from layout.plan.stored import to_json
from layout.plan.tape import planned_reading, read_from
from layout.rules.cautions import PAIN
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import number_in, one_of
from layout.words.units import System, show_length

FIELDS: Final = (
    "from", "once", "went", "wind", "note", "run", "back", *(f"r{i}" for i in range(MOST_MOVES)),
)  # fmt: skip
"""What a run may say beside whose and which it is."""


@dataclass(frozen=True)
class Reading:
    """One landing to read: what the field is called, what it is of, and what is planned there."""

    name: str
    text: str
    planned: str


def readings_of(out: SetOut, zero: str) -> list[Reading]:
    """The landings of a run, with the planned figures as a tape from this zero reads them."""
    plan, system = out.plan, out.asked.tape
    assert plan is not None
    told = []
    for flight in plan.flights:
        length = planned_reading(plan, flight.number, zero)
        name = flight_text(plan, flight.number)
        told.append(Reading(f"r{flight.number}", name, show_length(length, system)))
    return told


def zeros(out: SetOut) -> list[tuple[str, str]]:
    """Where the tape of a run may be read from, here."""
    assert out.plan is not None
    return read_from(out.plan)


def zero_of(out: SetOut, given: Mapping[str, str]) -> str:
    """Where a run is read from: each phase by itself where nothing is said."""
    return one_of("from", given.get("from") or "each", [z for z, _ in zeros(out)])


@dataclass(frozen=True)
class Said:
    """What a run's form says: readings as typed, their zero, and fields of the book, None where empty."""

    readings: tuple[str, ...]
    zero: str
    went: str
    fields: Mapping[str, str | None]


def said_of(out: SetOut, given: Mapping[str, str]) -> Said:
    """Read a run's form; every fault is noted under the name of its field before refusing."""
    zero = zero_of(out, given)
    named = readings_of(out, zero)
    typed = [given.get(r.name, "").strip() for r in named]
    went = one_of("went", given.get("went") or WENT[0], WENT)
    faults = [f for r, t in zip(named, typed, strict=True) for f in _unread(r, t, out.asked.tape)]
    note = given.get("note", "").strip()
    if went in ("stopped", "pain"):
        note = f"{went}; {note}" if note else went
    fields = {"wind": given.get("wind", "").strip() or None, "note": note or None}
    for name, text in fields.items():
        if text is not None:
            try:
                entry.FIELDS[name](name, text)
            except BadInput as error:
                faults += error.faults
    if faults:
        raise BadInput(faults)
    if not any(typed) and went == WENT[0]:
        raise refuse("readings", "what was read is needed, or that it was a foul, stopped or pain")
    readings = tuple(t or "x" for t in typed) if any(typed) else ()
    return Said(readings, zero, went, {**fields, "foul": "yes" if went == "foul" else "no"})


def _unread(reading: Reading, text: str, system: System) -> Sequence[Fault]:
    """What is wrong with one reading as it is typed."""
    if not text:
        return ()
    if system == "ft" and (number_in(text) or 0.0):
        # A bare number counts as metres everywhere: too easily meant otherwise where feet are read.
        return (Fault(reading.name, "must be feet and inches such as 8-7, or have its unit", text),)
    try:
        parse_reading(text, reading.name)
    except BadInput as error:
        return error.faults
    return ()


def put_down(book: Book, out: SetOut, given: Mapping[str, str]) -> tuple[str, ...]:
    """Put one run down, with the plan it was jumped on; what looks unlikely is told and kept all the same.

    A field left empty was not measured; refused where nothing was, or anything is impossible.
    """
    said = said_of(out, given)
    assert out.plan is not None
    pit = out.plan.place.pit_x
    keep_planned(book, out)
    made = entry.add(book, Typed(
        athlete=find_member(book, out.athlete.name, exact=True).name, drill=out.drill.slug,
        readings=said.readings, zero=said.zero,
        pit=f"{pit:.6f}" if said.zero == "pit" and pit is not None else None,
        fields={"strides": str(out.plan.approach.strides), **{n: t for n, t in said.fields.items() if t}},
    ))  # fmt: skip
    return made.warnings


def keep_planned(book: Book, out: SetOut) -> int:
    """Keep the plan that is set out as the one that runs now belong to; its number."""
    return keep_latest(book, to_json(out.plan_of(out.asked)))


def put_right(book: Book, out: SetOut, number: int, given: Mapping[str, str]) -> tuple[str, ...]:
    """Change one of today's runs; what stood there before is kept. Returns what looks unlikely now."""
    said, old = said_of(out, given), run_of(book, out, number)
    changed: dict[str, Any] = dict(said.fields)
    if said.readings:
        changed |= {"readings": said.readings, "zero": said.zero}
    elif old.readings:
        raise refuse("readings", "cannot be taken away; strike the run out and put it down anew")
    correct(book, number, changed)
    return tuple(looks_at(book, number))


def run_of(book: Book, out: SetOut, number: int) -> Attempt:
    """One of today's runs as it is kept; refused where it is none of them."""
    for kept in _today(book, out):
        if kept.id == number and not kept.struck:
            return kept
    raise refuse("run", "is not one of today's", number)


def form_of(out: SetOut, kept: Attempt) -> dict[str, str]:
    """A run that is kept as its form had it."""
    count = len(kept.phases)
    typed, _ = typed_parts(kept.readings)
    zero = kept.zero or "each"
    if len(typed) != count or zero not in dict(zeros(out)):
        typed = tuple("" if v is None else f"{v:.3f} m" for v in kept.lengths)
        zero = "each"
    went, _, note = (kept.note or "").partition("; ")
    if went not in WENT[2:]:
        went, note = "foul" if kept.foul else WENT[0], kept.note or ""
    values = {f"r{i}": "" if t == "x" else t for i, t in enumerate(typed)}
    wind = "" if kept.wind is None else f"{kept.wind:+g}"
    return {**values, "from": zero, "went": went, "note": note, "wind": wind}


@dataclass(frozen=True)
class Run:
    """One run of today as it is shown; `was`: what stood there before."""

    number: int
    nr: int
    lengths: tuple[str, ...]
    total: str
    said: str
    struck: bool
    was: tuple[str, ...]


def _today(book: Book, out: SetOut) -> list[Attempt]:
    day = out.day.isoformat()
    return attempts(book, out.asked.a, drill=out.drill.slug, since=day, until=day, struck=True)


def runs_of(book: Book, out: SetOut) -> list[Run]:
    """What this athlete jumped today of this drill, the latest first, struck ones too."""
    told, system = [], out.asked.tape
    for nr, kept in enumerate(_today(book, out), 1):
        said = [kept.note or "", "foul" if kept.foul else ""]
        said += ["" if kept.wind is None else f"wind {kept.wind:+g}"]
        lengths = _lengths(kept.lengths, system)
        was = tuple(was_text(change, system) for change in changes(book, "attempt", kept.id))
        told.append(Run(
            kept.id, nr, lengths, _length(kept.total, system), ", ".join(filter(None, said)),
            kept.struck, tuple(filter(None, was)),
        ))  # fmt: skip
    return told[::-1]


def _length(metres: float | None, system: System) -> str:
    return "–" if metres is None else show_length(metres, system)


def _lengths(metres: Iterable[float | None], system: System) -> tuple[str, ...]:
    return tuple(_length(v, system) for v in metres)


def was_text(change: Change, system: System) -> str:
    """One value as it stood before; empty for what follows from others."""
    before = unquoted(change.before)
    if change.field == "lengths":
        return " / ".join(_lengths(json.loads(before or "[]"), system))
    if change.field == "note":
        return f"note: {before}" if before else "no note"
    if change.field == "wind":
        return f"wind {float(before):+g}" if before else "no wind"
    return {"1": "a foul", "0": "no foul"}.get(before or "", "") if change.field == "foul" else ""


def pained(book: Book, day: datetime.date) -> frozenset[int]:
    """The athletes, by number, of whom pain was put down on a day, at any drill, or is said in what waits."""
    put_down = {athlete for athlete, _, _ in pains(book, day, day)}
    return frozenset(put_down | {athlete for athlete, _ in waits.pains(book, day, day)})


def pain_told(book: Book, athlete: int, day: datetime.date) -> str:
    """What is told before anything else of an athlete who had pain on a day; else nothing."""
    return PAIN if athlete in pained(book, day) else ""


def strike(book: Book, out: SetOut, number: int) -> None:
    """Count one of today's runs nowhere any more; it stays among the corrections."""
    correct(book, run_of(book, out, number).id, {"struck": True})


def put_back(book: Book, out: SetOut, number: int) -> None:
    """Count a run that was struck out again."""
    if number not in {kept.id for kept in _today(book, out) if kept.struck}:
        raise refuse("run", "is not one that was struck out today", number)
    correct(book, number, {"struck": False})
