"""Runs behind a figure of the season: as a list, and one of them with what was changed and may be."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, NamedTuple

from layout.book.correct import Change, changes_of, correct, looks_at, plain
from layout.book.marks import ZEROS, named
from layout.book.own import drills_known
from layout.book.people import Member, planned
from layout.book.rows import Attempt, attempt
from layout.book.store import Book
from layout.book.typed import typed_parts
from layout.desk.form import beside, by_field, mark_of, refuse_changed
from layout.desk.jumped import was_text
from layout.desk.season import day_of
from layout.desk.wanted import Look
from layout.plan.drill import MOST_MOVES
from layout.rules.wind import blown_text
from layout.season.runs import Run, Which, runs_behind
from layout.season.words import start_text, why_text
from layout.words.dates import said_day
from layout.words.faults import BadInput, refuse
from layout.words.units import System, show_length

MOST: Final = 40
"""Runs on one page (ours)."""
ZERO_TEXTS: Final = dict(zip(ZEROS, (
    "from the take-off line", "from the start mark", "from the pit", "each phase by itself",
), strict=True))  # fmt: skip
READINGS: Final = tuple(f"r{i}" for i in range(MOST_MOVES + 1))
CHANGED: Final = {
    "wind": "Wind [m/s]", "speed": "Speed at the board [m/s]", "strides": "Strides of the run-up",
    "note": "Note", "kind": "It was", "foul": "A foul", "day": "Day", "place": "Place",
    "drill": "Drill", "athlete": "Athlete", "zero": "Read", "total": "Total from the mark",
    "behind": "Toe behind its mark", "pit": "Take-off line to the pit",
}  # fmt: skip
"""What may be changed of a run beside its readings, and how it is called."""
FORM: Final = (*CHANGED, *READINGS, "was", "struck")
_FIELD_WORDS: Final = {
    "lengths": "phases", "struck": "struck out", "knee_gap": "knee gap", "session": "day or place",
    "plan": "the plan it belongs to", "behind": "toe behind its mark [m]", "total": "total [m]",
    "speed": "speed at the board [m/s]", "wind": "wind [m/s]",
}  # fmt: skip
_NUMBERS_ONLY: Final = ("session", "plan", "athlete")
"""Fields whose values are numbers of rows, which tell a coach nothing."""


class RunRow(NamedTuple):
    """One run in a list."""

    day: str
    title: str
    lengths: str
    total: str
    planned: str
    about: str
    state: str
    out: bool
    was: str
    address: str


class Listed(NamedTuple):
    """A list of runs: what they are of, one part of them, and where the others stand."""

    what: str
    of: int
    rows: list[RunRow]
    newer: str
    older: str


def which_of(look: Look) -> Which:
    """The runs that an address asks for."""
    monday = None if look.week is None else datetime.date.fromisoformat(look.week)
    if look.phases:
        key = (look.d, tuple(look.phases.split()), tuple(look.arcs.split()), look.run_up)
        return Which(look.since, look.d, key, monday)
    return Which(look.since, look.d or None, None, monday)


def listed(book: Book, member: Member, look: Look) -> Listed:
    """The runs that an address asks for, the latest first, a part at a time."""
    on = day_of(look)
    found = runs_behind(book, member, on, which_of(look))
    parts = max(1, -(-len(found) // MOST))
    if look.part > parts:
        raise refuse("part", f"must be 1 to {parts}", look.part)
    here = found[MOST * (look.part - 1) : MOST * look.part]
    newer = look.address("/season/runs", part=look.part - 1) if look.part > 1 else ""
    older = look.address("/season/runs", part=look.part + 1) if look.part < parts else ""
    known = drills_of(book)
    rows = [_row(run, look, known) for run in here]
    return Listed(_what(look, known), len(found), rows, newer, older)


def drills_of(book: Book) -> dict[str, str]:
    """Titles of the catalogue's drills and the club's own, by name."""
    return {slug: drill.title for slug, drill in drills_known(book).items()}


def _what(look: Look, known: Mapping[str, str]) -> str:
    parts = [known.get(look.d, look.d)] if look.d else []
    if look.phases:
        parts.append(start_text(look.run_up))
    if look.week is not None:
        parts.append(f"the week of {look.week}")
    return ", ".join(parts) or "all of these days"


def lengths_text(lengths: Any, system: System) -> str:
    """Phases in their order, "-" where one was not measured."""
    return " / ".join("-" if v is None else show_length(v, system, "bare") for v in lengths)


def about(kept: Attempt) -> str:
    """What is known of a run beside its lengths."""
    parts = [start_text(kept.strides)] if kept.strides is not None else []
    parts += [f"{kept.runs} runs"] if kept.runs > 1 else []
    parts += [f"{kept.speed:.2f} m/s"] if kept.speed is not None else []
    parts += [blown_text(kept.wind)] if kept.wind is not None else []
    return ", ".join([*parts, *filter(None, (kept.kind, kept.note))])


def state_of(run: Run, system: System) -> str:
    """Whether a run counts in the figures, and why not."""
    kept = run.kept
    if kept.struck:
        return "Struck out: counted nowhere."
    if kept.foul:
        return "Foul: counts for the load only."
    if run.aside is not None:
        return f"Looks wrong and is left out of every figure: {why_text(run.aside, system)}."
    if kept.total is None and all(v is None for v in kept.lengths):
        return "Not measured: counts for the load only."
    if not run.told:
        return "Before the days that are told: counts for the load only."
    if run.usual:
        parts = {*named(kept.phases), *(["total"] if len(kept.phases) > 1 else [])}
        every = parts <= set(run.usual)
        return "In the usual." if every else f"In the usual of {', '.join(run.usual)}."
    return "Earlier than those the usual is of."


def _row(run: Run, look: Look, known: Mapping[str, str]) -> RunRow:
    kept, system = run.kept, look.tape
    out = kept.struck or run.aside is not None
    before = "; ".join(filter(None, (was_text(c, system) for c in run.changed)))
    return RunRow(
        said_day(kept.day), known.get(kept.drill, kept.drill),
        lengths_text(kept.lengths, system),
        "" if kept.total is None or len(kept.phases) < 2 else show_length(kept.total, system),
        lengths_text(run.planned, system) if run.planned else "", about(kept), state_of(run, system),
        out, f"before: {before}" if before else "", look.address("/season/run", n=kept.id),
    )  # fmt: skip


def field_word(name: str) -> str:
    """A field of the book as a coach calls it."""
    return _FIELD_WORDS.get(name, name.replace("_", " "))


def change_text(change: Change) -> str:
    """One value that was changed: when, what it was and what it became."""
    when = f"{change.at[:16].replace('T', ' ')} UTC"
    if change.field in _NUMBERS_ONLY:
        return f"{when}: {field_word(change.field)} changed"
    before, after = plain(change.before, change.field), plain(change.after, change.field)
    return f"{when}: {field_word(change.field)} {before}, then {after}"


# --- one run --------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class One:
    """One run with what was changed of it; `values` are what its form begins with."""

    kept: Attempt
    day: str
    title: str
    lengths: str
    planned: str
    about: str
    changed: tuple[str, ...]
    looks: tuple[str, ...]  # what looks unlikely of it
    readings: tuple[tuple[str, str], ...]  # fields of the readings and what they are called
    values: Mapping[str, str]
    mark: str
    drills: Mapping[str, str]  # titles of those it may be put under


def one_of(book: Book, member: Member, look: Look) -> One:
    """One run of an athlete; refused where the book has none of this number for them."""
    kept = attempt(book, look.n) if look.n else None
    if kept is None or kept.athlete != member.name:
        raise refuse("run", f"is not one of {member.name}'s in this book", look.n)
    known = drills_of(book)
    plan = planned(book, kept.plan) if kept.plan is not None else None
    readings, values = _form(kept)
    found = changes_of(book, "attempt", [kept.id]).get(kept.id, ())
    return One(
        kept, said_day(kept.day), known.get(kept.drill, kept.drill),
        lengths_text(kept.lengths, look.tape),
        "" if plan is None else lengths_text(plan.lengths, look.tape), about(kept),
        tuple(change_text(c) for c in reversed(found)),
        () if kept.struck else tuple(looks_at(book, kept.id)), readings, values,
        mark_of(kept),
        {**known, kept.drill: known.get(kept.drill, kept.drill)},
    )  # fmt: skip


def _form(kept: Attempt) -> tuple[tuple[tuple[str, str], ...], dict[str, str]]:
    """Fields of the readings, and what the form begins with."""
    readings, beside = typed_parts(kept.readings)
    zero = kept.zero or "each"
    if not readings:  # none were kept: what was worked out stands in for them
        readings, zero = tuple("" if v is None else f"{v:g}" for v in kept.lengths), "each"
    names = named(kept.phases)
    if len(readings) == len(names) + 1:
        names = ["take-off toe", *names]
    fields = tuple(zip(READINGS, names, strict=False))
    shown = {"x": "", "?": "", "-": ""}
    values = {f: shown.get(t, t) for (f, _), t in zip(fields, readings, strict=False)}
    numbers = {n: getattr(kept, n) for n in ("wind", "speed", "strides")}
    return fields, {
        **{f: "" for f, _ in fields}, **values, **dict.fromkeys(("total", "behind", "pit"), ""), **beside,
        **{n: "" if v is None else f"{v:g}" for n, v in numbers.items()}, "zero": zero,
        "note": kept.note or "", "kind": kept.kind or "", "foul": "yes" if kept.foul else "no",
        "day": kept.day, "place": kept.place, "drill": kept.drill, "athlete": kept.athlete,
    }  # fmt: skip


def wishes(one: One, given: Mapping[str, str]) -> dict[str, Any]:
    """What a form asks to be changed, as `correct` takes it; what it leaves alone is left out."""
    said = {n: " ".join(t.split()) for n, t in given.items() if n in {*CHANGED, *READINGS}}
    differs = {n: t for n, t in said.items() if t != one.values.get(n, "")}
    out: dict[str, Any] = {}
    fields = [f for f, _ in one.readings]
    if {*fields, "zero"} & set(differs):
        texts = [said.get(f, one.values[f]) for f in fields]
        out |= {
            "readings": tuple(t or "x" for t in texts),
            "zero": said.get("zero", one.values["zero"]),
        }
    for name, text in differs.items():
        if name not in READINGS and name != "zero":
            out[name] = text or None
    for name in ("day", "place", "drill", "athlete", "foul"):
        if name in out and out[name] is None:
            raise refuse(name, "needed")
    if given.get("struck") in ("yes", "no") and (given["struck"] == "yes") != one.kept.struck:
        out["struck"] = given["struck"] == "yes"
    return out


def put_right(book: Book, member: Member, look: Look, given: Mapping[str, str]) -> tuple[One, str]:
    """Change a run as a form asks; the run as it stood, and whose it is now.

    The same form sent twice changes nothing the second time. Refused: the run was changed meanwhile, or
    anything is impossible.
    """
    one = one_of(book, member, look)
    asked = wishes(one, given)
    if not asked:
        return one, member.name
    refuse_changed("run", given, one.mark)
    correct(book, look.n, asked)
    return one, str(asked.get("athlete") or member.name)


def mended(
    one: One, given: Mapping[str, str], error: BadInput
) -> tuple[One, dict[str, str], list[str]]:
    """The form as it was sent, with each fault by its field and those that belong to none."""
    values = {**one.values, **{n: t for n, t in given.items() if n in one.values}}
    names = {"on": "day", "board-at": "pit", **{label: field for field, label in one.readings}}
    wrong, other = by_field(error.faults, values, lambda field: names.get(field, field))
    return replace(one, values=values), {n: beside(f[-1]) for n, f in wrong.items()}, other
