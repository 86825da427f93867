"""Club: who is in the book, and one athlete as a form, each fault beside its field."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from layout.athlete.athlete import Athlete, athlete_from
from layout.athlete.fields import Field, fields_of, toml_line
from layout.book.people import Member, find_member, keep_text, members, numbered
from layout.book.store import Book
from layout.words.faults import BadInput, Fault, refuse
from layout.words.names import same
from layout.words.reading import LONGEST_LINE, table_of
from layout.words.trade import LEGS, LEVELS

LABELS: Final = {
    "stature": "Height", "mass": "Mass [kg]", "leg": "Take-off leg", "best": "Best jump",
    "target": "Target", "best_phases": "Phases of the best", "born": "Year of birth",
    "build": "Body build", "training_years": "Years of training", "speed": "Speed at the board",
    "standing_jump": "Standing long jump", "five_bounds": "Five bounds from standing",
    "flying_30": "30 m flying [s]", "strides": "Strides of the full approach",
}  # fmt: skip
WORDS: Final[dict[str, tuple[str, ...]]] = {
    "leg": LEGS, "level": LEVELS, "build": ("male", "female", "average"),
}  # fmt: skip
"""Fields that are one of a few words."""


@dataclass(frozen=True)
class Row:
    """One field of the form: what it is called, what is in it, and what is wrong with that."""

    name: str
    label: str
    hint: str
    value: str
    words: tuple[str, ...]
    needed: bool
    faults: tuple[str, ...] = ()


def mark_of(member: Member | None) -> str:
    """What tells the athlete as shown from one that was changed meanwhile."""
    text = "" if member is None else repr(member)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _shown(value: Any) -> str:
    """A value of a file as one would type it."""
    if isinstance(value, list):
        return "/".join(map(str, value))
    return "" if value is None else str(value)


def told_of(member: Member | None) -> dict[str, str]:
    """What a form about an athlete begins with."""
    if member is None:
        return {}
    if member.file is not None:
        return {k: _shown(v) for k, v in table_of(member.file, member.name).items()}
    names = ("name", "leg", "born", "level", "stature", "mass")
    return {n: _shown(getattr(member, n)) for n in names}


def rows(values: Mapping[str, str], faults: tuple[Fault, ...] = ()) -> tuple[list[Row], list[str]]:
    """The form's fields in their order, and the faults that belong to none of them."""
    out, left = [], list(faults)
    for field in fields_of(Athlete):
        own = [f for f in left if f.field == field.name]
        left = [f for f in left if f not in own]
        out.append(_row(field, values.get(field.name, ""), own))
    return out, [str(f) for f in left]


def _row(field: Field, value: str, faults: list[Fault]) -> Row:
    words = WORDS.get(field.name, ())
    if words and value not in ("", *words):
        words = (*words, value)  # told as it is, and refused when it is kept
    label = LABELS.get(field.name, field.name.replace("_", " ").capitalize())
    told = tuple(str(replace(f, field="", file="", line=0)).removeprefix(": ") for f in faults)
    # A help that only says the label again is none.
    hint = field.help if not words and any(c in field.help for c in ",;:") else ""
    return Row(field.name, label, hint, value, words, field.needed, told)


def text_with(before: str, values: Mapping[str, str]) -> str:
    """An athlete file with the form's values in it; everything else stays as it stands.

    Refused where the file is written in a way that lines cannot be put into.
    """
    table = table_of(before, "athlete file")
    wanted, lines = dict(table), before.splitlines()
    head = next((i for i, row in enumerate(lines) if row.lstrip().startswith("[")), len(lines))
    top, rest = lines[:head], lines[head:]
    for field in fields_of(Athlete):
        text = values.get(field.name, "").strip()
        if text == _shown(table.get(field.name)):
            continue
        at = [i for i, row in enumerate(top) if row.partition("=")[0].strip(" \t\"'") == field.name]
        wanted.pop(field.name, None)
        new = []
        if text:
            wanted[field.name] = field.kind.typed(text)
            new = [toml_line(field.name, wanted[field.name])]
        where = at[0] if at else len(top)
        top = [*top[:where], *new, *top[where + len(at[:1]) :]]
    made = "\n".join([*top, *rest]) + "\n"
    if table_of(made, "athlete file") != wanted:
        raise refuse(
            "file", "cannot have lines put in; change the file itself and take it in again"
        )
    return made


def keep(book: Book, member: Member | None, given: Mapping[str, str]) -> int:
    """Keep an athlete as the form says; the earlier values stay in the book's corrections.

    Refused with every fault; where the athlete was changed meanwhile, or a new one's name is taken.
    """
    names = {f.name for f in fields_of(Athlete)}
    odd = [n for n in given if n not in names | {"a", "was"}]
    if odd:
        raise refuse("form", "has a field that is not known", odd[0])
    values = {n: " ".join(t.split()) for n, t in given.items() if n in names}
    long = next((n for n, t in values.items() if len(t) > LONGEST_LINE // 2), None)
    if long:
        raise refuse(long, "is too long")
    if member is None and any(same(m.name) == same(values.get("name", "")) for m in members(book)):
        raise refuse("name", "is in this book already; choose it on Club to change it")
    if member is not None:
        values["name"] = member.name
        if given.get("was") != mark_of(member):
            rule = (
                "was changed meanwhile, perhaps in another tab; look at it anew before changing it"
            )
            raise refuse("athlete", rule, member.name)
    text = text_with((member.file if member is not None else None) or "", values)
    athlete_from(table_of(text, ""), "", text)  # every fault by its field
    name, _ = keep_text(book, text)
    return find_member(book, name, exact=True).id


def answered(book: Book, number: int, given: Mapping[str, str]) -> tuple[int, tuple[Fault, ...]]:
    """Keep what a form says; the athlete's number, and what was wrong instead."""
    member = numbered(members(book), number) if number else None
    try:
        return keep(book, member, given), ()
    except BadInput as error:
        return number, error.faults
