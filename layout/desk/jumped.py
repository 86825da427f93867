"""Jumped: one row a run beside what was planned, as the tape reads it, kept at once."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from layout.book import entry
from layout.book.correct import correct
from layout.book.people import find_member, keep_plan_text
from layout.book.rows import Attempt, attempts
from layout.book.store import Book
from layout.book.typed import Typed
from layout.desk.setout import SetOut, choices_of, planned
from layout.plan.drill import MOST_MOVES
from layout.plan.hurdles import flight_text
from layout.plan.stored import to_json
from layout.rules.cautions import PAIN
from layout.words.faults import refuse
from layout.words.reading import one_of
from layout.words.units import System, show_length

ZERO_TEXTS: Final = {
    "each": "each phase by itself", "board": "from the take-off line", "pit": "from the pit",
}  # fmt: skip
WENT: Final = ("to the end", "foul", "stopped", "pain")
"""How a run went; the last two stand in its note."""
FIELDS: Final = (
    "from", "once", "went", "wind", "note", "run", *(f"r{i}" for i in range(MOST_MOVES)),
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
        x = plan.contacts[flight.number + 1].x
        length = flight.length if zero == "each" else x
        if zero == "pit":
            length = abs((plan.place.pit_x or 0.0) - x)
        name = flight_text(plan, flight.number)
        told.append(Reading(f"r{flight.number}", name, show_length(length, system)))
    return told


def zeros(out: SetOut) -> list[tuple[str, str]]:
    """Where the tape of a run may be read from, here."""
    assert out.plan is not None
    has = [z for z in ZERO_TEXTS if z != "pit" or out.plan.place.pit_x is not None]
    return [(z, ZERO_TEXTS[z]) for z in has]


def zero_of(out: SetOut, given: Mapping[str, str]) -> str:
    """Where a run is read from: each phase by itself where nothing is said."""
    return one_of("from", given.get("from") or "each", [z for z, _ in zeros(out)])


def put_down(book: Book, out: SetOut, given: Mapping[str, str]) -> tuple[str, ...]:
    """Put one run down, with the plan it was jumped on; what looks unlikely is told and kept all the same.

    A field left empty was not measured; refused where nothing was, or anything is impossible.
    """
    assert out.plan is not None
    zero = zero_of(out, given)
    typed = [given.get(r.name, "").strip() for r in readings_of(out, zero)]
    went = one_of("went", given.get("went") or WENT[0], WENT)
    if not any(typed) and went == WENT[0]:
        raise refuse("readings", "what was read is needed, or that it was a foul, stopped or pain")
    note = given.get("note", "").strip()
    if went in ("stopped", "pain"):
        note = f"{went}; {note}" if note else went
    fields = {"wind": given.get("wind", "").strip(), "note": note, "foul": "yes" * (went == "foul")}
    pit = out.plan.place.pit_x
    choices = choices_of(out.asked, out.drill, out.athlete)
    plan = planned(out.athlete, out.drill, out.venue, _day(out), choices)
    keep_plan_text(book, to_json(plan), latest=True)
    made = entry.add(book, Typed(
        athlete=find_member(book, out.athlete.name, exact=True).name, drill=out.drill.slug,
        readings=tuple(t or "x" for t in typed) if any(typed) else (), zero=zero,
        pit=f"{pit:.6f}" if zero == "pit" and pit is not None else None,
        fields={"strides": str(plan.approach.strides), **{n: t for n, t in fields.items() if t}},
    ))  # fmt: skip
    return ((PAIN,) if went == "pain" else ()) + made.warnings


def _day(out: SetOut) -> datetime.date:
    assert out.plan is not None
    return datetime.date.fromisoformat(out.plan.date)


@dataclass(frozen=True)
class Run:
    """One run of today as it is shown."""

    number: int
    lengths: tuple[str, ...]
    total: str
    said: str


def runs_of(book: Book, out: SetOut) -> list[Run]:
    """What this athlete jumped today of this drill, the latest first; struck runs are left out."""
    day = _day(out).isoformat()
    found = attempts(book, out.asked.a, drill=out.drill.slug, since=day, until=day)
    return [_run(a, out.asked.tape) for a in reversed(found) if not a.struck]


def _run(kept: Attempt, system: System) -> Run:
    said = [kept.note or "", "foul" if kept.foul else ""]
    lengths = tuple("–" if v is None else show_length(v, system) for v in kept.lengths)
    total = "–" if kept.total is None else show_length(kept.total, system)
    return Run(kept.id, lengths, total, ", ".join(filter(None, said)))


def strike(book: Book, out: SetOut, number: int) -> None:
    """Count one of today's runs nowhere any more; it stays among the corrections."""
    if number not in {run.number for run in runs_of(book, out)}:
        raise refuse("run", "is not one of today's", number)
    correct(book, number, {"struck": True})
