"""From a phone: the runs that wait, each as it came beside what was planned, and what a coach changes."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any, Final

from layout.book import inbox
from layout.book.entry import Ready
from layout.book.marks import named
from layout.book.own import drills_known
from layout.book.people import planned
from layout.book.store import Book
from layout.book.waits import SOUNDS, WENT, Waiting, waiting
from layout.desk.form import known_only
from layout.desk.pages import day_text
from layout.plan.tape import READ_FROM
from layout.rules.cautions import PAIN
from layout.words.faults import BadInput, Fault
from layout.words.reading import one_of
from layout.words.units import System, show_length

MOST_PHASES: Final = 30
FIELDS: Final = (
    "day",
    "from",
    "went",
    "sound",
    "wind",
    "note",
    *(f"r{i}" for i in range(MOST_PHASES)),
)
"""What a coach may say otherwise of a run."""


@dataclass(frozen=True)
class Shown:
    """One run as it is shown."""

    run: Waiting
    nr: str  # its number on the phone
    lengths: tuple[str, ...]  # worked out; as they came where they cannot be
    total: str
    planned: tuple[str, ...]
    said: str
    looks: tuple[str, ...]  # what to mind
    faults: tuple[str, ...]  # why it cannot be taken in as it is
    as_of: str = ""  # the day it came, where the phone's clock was ahead of that

    @property
    def ready(self) -> bool:
        """Whether it can be taken in as it came."""
        return self.run.state != "taken" and not self.faults


@dataclass(frozen=True)
class Group:
    """Runs of one athlete, drill and day."""

    athlete: str
    title: str
    day: str
    runs: tuple[Shown, ...]

    @property
    def as_of(self) -> str:
        """The day they came, where the phone's clock was ahead of that."""
        return self.runs[0].as_of

    @property
    def ready(self) -> tuple[int, ...]:
        """Those that can be taken in as they are, in one go."""
        return tuple(s.run.id for s in self.runs if s.ready and not s.run.struck)


def groups(book: Book) -> list[Group]:
    """All that waits."""
    drills, out = drills_known(book), []

    def key(run: Waiting) -> tuple[str, str, str]:
        return run.athlete, run.drill, run.day

    for (athlete, drill, day), runs in groupby(sorted(waiting(book), key=key), key):
        title = drills[drill].title if drill in drills else drill
        said = day_text(datetime.date.fromisoformat(day))
        out.append(Group(athlete, title, said, tuple(shown(book, run) for run in runs)))
    return out


def left_out(book: Book) -> list[Shown]:
    """What was left out, the latest first: it can be taken in all the same."""
    left = [w for w in waiting(book, every=True) if w.state == "left"]
    return [shown(book, run) for run in sorted(left, key=lambda w: -w.id)[:30]]


def system_of(run: Waiting) -> System:
    """The units it was read in."""
    return "ft" if any("-" in word[1:] or "'" in word for word in run.words.split()) else "cm"


def shown(book: Book, run: Waiting) -> Shown:
    """One run worked out, beside what was planned."""
    came, day = _came(run), datetime.date.fromisoformat(run.day)
    system, looks = system_of(run), _minded(run, came, day)
    made: Ready | None = None
    faults: tuple[str, ...] = ()
    ahead = run.phone is not None and day > came
    if ahead:
        run = replace(run, day=came.isoformat())
    try:
        made = inbox.looked_at(book, run) if run.state != "taken" else None
    except BadInput as error:
        faults = error.told()
    raw = tuple(w for w in run.words.split() if w not in run.said)
    lengths, total = raw, ""
    if made is not None:
        known = made.lengths if any(made.lengths) else ()
        lengths = tuple("–" if v is None else show_length(v, system) for v in known)
        whole = made.values["total"]
        total = show_length(whole, system) if whole is not None and len(known) > 1 else ""
        looks += made.warnings
    plan = planned(book, run.plan) if run.plan is not None else None
    aims = tuple(show_length(v, system) for v in plan.lengths) if plan is not None else ()
    said = [f"{w} landing" if w in SOUNDS else w for w in run.said]
    if not lengths and not said:
        said = ["not measured"]
    if run.zero != "each" and raw and lengths:
        said.append(f"read {READ_FROM[run.zero]} as {' / '.join(raw)}")
    nr = str(run.run or "")
    as_of = run.day if ahead else ""
    return Shown(run, nr, lengths, total, aims, ", ".join(said), tuple(looks), faults, as_of)


def _came(run: Waiting) -> datetime.date:
    """The day a run came, by this machine's clock."""
    return datetime.datetime.fromisoformat(run.came).astimezone().date()


def _minded(run: Waiting, came: datetime.date, day: datetime.date) -> tuple[str, ...]:
    """What is to be minded of a run before anything is worked out from it; `day`: as it says itself."""
    told = []
    if "pain" in run.said:
        told.append(PAIN)
    if run.struck and run.state == "taken":
        told.append("Struck out on the phone after it was taken in: strike it out in the book too?")
    elif run.struck:
        told.append("Struck out on the phone.")
    if run.phone is not None and day > came:
        rule = f"The phone said {day_text(day)}, but it came on {day_text(came)}"
        told.append(f"{rule}, and is taken in as of that day.")
    elif run.phone is not None and day < came:
        told.append(f"It came on {day_text(came)}: jumped before, or is the phone's clock behind?")
    return tuple(told)


# --- changed ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Field:
    """One field of the form: `fault` stands beside it."""

    name: str
    text: str
    value: str
    fault: str = ""


@dataclass(frozen=True)
class Form:
    """A run to change: its fields, what is chosen, and the faults that belong to no field."""

    run: Waiting
    readings: tuple[Field, ...]
    day: Field
    wind: Field
    note: Field
    zero: str
    went: str
    sound: str
    told: tuple[str, ...]


def form_of(
    book: Book, run: Waiting, given: Mapping[str, str], faults: tuple[Fault, ...] = ()
) -> Form:
    """The form of a run, as it came or as the coach has it so far."""
    labels = _labels(book, run)
    readings = [w for w in run.words.split() if w not in run.said]
    came = {f"r{i}": text for i, text in enumerate(readings)} | {"day": run.day}
    left = list(faults)

    def field(name: str, text: str, also: str = "") -> Field:
        own = [f for f in left if f.field in (name, also)]
        for fault in own:
            left.remove(fault)
        return Field(
            name, text, given.get(name, came.get(name, "")), "; ".join(f.rule for f in own)
        )

    pads = tuple(field(f"r{i}", label, label) for i, label in enumerate(labels))
    day, wind, note = field("day", "Day", "on"), field("wind", "Wind [m/s]"), field("note", "Note")
    went = next((w for w in WENT[1:] if w in run.said), WENT[0])
    sound = next((w for w in SOUNDS if w in run.said), "")
    return Form(
        run, pads, day, wind, note, given.get("from", run.zero), given.get("went", went),
        given.get("sound", sound), tuple(str(f) for f in left),
    )  # fmt: skip


def _labels(book: Book, run: Waiting) -> list[str]:
    """What each landing of a run is called."""
    if run.plan is not None:
        return named(planned(book, run.plan).phases)
    drill = drills_known(book).get(run.drill)
    count = sum(w not in run.said for w in run.words.split())
    return named(drill.chain) if drill is not None else [f"reading {i + 1}" for i in range(count)]


def changed(book: Book, run: Waiting, given: Mapping[str, str]) -> dict[str, Any]:
    """What the form says, as fields of `Typed`; what is left empty was not measured."""
    known_only(given, (*FIELDS, "run"))
    went = one_of("went", given.get("went") or WENT[0], WENT)
    sound = one_of("sound", given.get("sound", ""), ("", *SOUNDS))
    typed = [given.get(f"r{i}", "").strip() for i in range(len(_labels(book, run)))]
    said = [w for w in (went, sound) if w and w != WENT[0]]
    fields = inbox.fields_of(said)
    notes = [fields.get("note", ""), given.get("note", "").strip()]
    fields |= {"note": "; ".join(filter(None, notes)), "wind": given.get("wind", "").strip()}
    return {
        "readings": tuple(t or "x" for t in typed) if any(typed) else (),
        "zero": one_of("from", given.get("from") or run.zero, tuple(READ_FROM)),
        "day": given.get("day", "").strip() or run.day,
        "fields": {k: v for k, v in fields.items() if v},
    }
