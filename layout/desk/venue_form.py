"""A venue that the coach measured, as a form: kept in the book, each fault beside its field."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from layout.athlete.fields import typed_number
from layout.book.own import own_of, text_of
from layout.book.store import Book
from layout.desk.club import Row, entry_of, lines_with, put_entry, shown_value, sure
from layout.desk.form import beside, by_field, known_only, lines_of, mark_of, refuse_changed
from layout.plan.venue import venues
from layout.words.faults import BadInput, Fault
from layout.words.names import plain
from layout.words.reading import table_of
from layout.words.units import System, parse_length, show_length

LONGEST_SLUG: Final = 40
_EMPTY: Final = "the rule’s if left empty"
FIELDS: Final[dict[str, tuple[str, tuple[str, str]]]] = {
    "title": ("Name", ("Dune track, lane 2",) * 2),
    "runway_length": ("Runway, to the farthest take-off line", ("38.5", "126-4")),
    "runway_width": ("Width of the runway", (f"1.22; {_EMPTY}", f"4-0; {_EMPTY}")),
    "boards": ("Take-off lines to the pit", ("7/9/11", "23-0/29-6/36-1")),
    "pit_length": ("Length of the pit", ("8", "26-3")),
    "pit_width": ("Width of the pit", (f"2.75; {_EMPTY}", f"9-0; {_EMPTY}")),
    "lanes": ("Runways side by side", ("2; one if left empty",) * 2),
    "lane_spacing": ("From middle to middle of two runways", ("3.5", "11-6")),
    "surface": ("Surface", ("grass; synthetic if left empty",) * 2),
    "fall_along": ("Fall along the last 40 m, + towards the pit", ("1:1000 or 0.1 %",) * 2),
    "fall_across": ("Fall from side to side", ("1:500 or 0.2 %",) * 2),
}  # fmt: skip
"""Label, and what it may hold in metres and in feet."""
NEEDED: Final = ("title", "runway_length")
LENGTHS: Final = ("runway_length", "runway_width", "pit_length", "pit_width", "lane_spacing")


def _boards(text: str) -> Any:
    return [typed_number(part) for part in re.split(r" *[/;] *|, +", text.strip())]


TYPED: Final[dict[str, Callable[[str], Any]]] = {
    "title": str, "surface": str, "fall_along": str, "fall_across": str, "boards": _boards,
    **dict.fromkeys((*LENGTHS, "lanes"), typed_number),
}  # fmt: skip
"""What a file would hold of a field's text."""


def slug_of(title: str, else_: str = "own-venue") -> str:
    """A venue's or drill's short name out of its title.

    >>> slug_of("Dünen-Bahn (2)")
    'dunen-bahn-2'
    """
    found = re.sub(r"[^a-z0-9]+", "-", plain(title)).strip("-")[:LONGEST_SLUG].strip("-")
    return found or else_


def values_of(book: Book, slug: str) -> dict[str, str]:
    """What a form about a venue begins with."""
    table = table_of(text_of(book, "venue", slug), "venue")["venue"][slug] if slug else {}
    return {name: shown_value(table.get(name)) for name in FIELDS}


def venue_mark(book: Book, slug: str) -> str:
    """What tells the venue as shown from one that was changed meanwhile."""
    return mark_of(text_of(book, "venue", slug) if slug else "")


def rows(
    values: Mapping[str, str], faults: tuple[Fault, ...] = (), tape: System = "cm"
) -> tuple[list[Row], list[str]]:
    """The form's fields in their order, and the faults that belong to none of them."""
    wrong, other = by_field(faults, FIELDS, lambda field: field.rpartition(".")[2])
    out = []
    for name, (label, such) in FIELDS.items():
        told = tuple(map(_told, wrong.get(name, ())))
        value = values.get(name, "")
        read = "" if told else _read_as(name, value, tape)
        hint = f"such as {such[tape == 'ft']}"
        out.append(Row(name, label, hint, value, (), name in NEEDED, told, read))
    return out, other


def _told(fault: Fault) -> str:
    """A fault in the form's own words."""
    text = beside(fault)
    for name in ("pit_length", "lane_spacing"):
        text = text.replace(name, FIELDS[name][0].lower())
    return text.replace("boards want", "take-off lines want")


def _read_as(name: str, value: str, tape: System) -> str:
    if not value or name not in (*LENGTHS, "boards"):
        return ""
    parts = _boards(value) if name == "boards" else [typed_number(value)]
    try:
        shown = ", ".join(show_length(parse_length(p, name), tape) for p in parts)
    except BadInput:
        return ""
    return "" if shown == value else shown


def keep(book: Book, slug: str, given: Mapping[str, str]) -> str:
    """Keep a venue as the form says; `slug` is empty for a new one. Returns its slug.

    Refused with every fault; where it was changed meanwhile, or a new one's name is taken.
    """
    known_only(given, {*FIELDS, "v", "was", "tape"})
    values = dict.fromkeys(FIELDS, "") | lines_of(given, FIELDS)
    if slug:
        refuse_changed("venue", given, venue_mark(book, slug), slug)
    name = slug or slug_of(values["title"])
    faults: list[Fault] = []
    if not slug and (name in venues() or name in own_of(book).venues):
        rule = "is the name of a venue already; give yours another"
        faults.append(Fault("title", rule, values["title"]))
    put_entry(book, f"venue.{name}", lambda: text_with(book, slug, name, values), faults)
    return name


def text_with(book: Book, slug: str, name: str, values: Mapping[str, str]) -> str:
    """A venue's file with the form's values in it; everything else stays as it stands."""
    before = text_of(book, "venue", slug) if slug else f"[venue.{name}]\n"
    table = table_of(before, "venue")["venue"][name]
    head, top, below = entry_of(before)
    top, wanted = lines_with(top, table, values, TYPED)
    return sure("\n".join([*head, *top, *below]) + "\n", {"venue": {name: wanted}})
