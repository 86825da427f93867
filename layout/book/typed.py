"""Values and attempts as a coach types them, trackside or into a table, and what they say; SI inside."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from layout.book import marks
from layout.book.people import Planned
from layout.words.faults import refuse
from layout.words.reading import line_text, nearest, read_number
from layout.words.units import parse_length, show_length, tidy

SURFACES: Final = ("track", "grass", "floor", "mat", "sand", "road")
ENTRY_KINDS: Final = ("training", "competition")
_YES: Final = ("yes", "y", "x", "1", "foul", "true")
_NO: Final = ("no", "n", "0", "ok", "o", "false")


def read_angle(field: str, text: str) -> float:
    """An angle in degrees, as radians."""
    plain = tidy(text).removesuffix("°").removesuffix("degrees").removesuffix("deg")
    return math.radians(read_number(field, plain, -180.0, 180.0))


def read_word(field: str, text: str, known: tuple[str, ...]) -> str:
    """One word out of a few, in any case."""
    plain = text.strip().lower()
    if plain not in known:
        raise refuse(field, f"must be one of {', '.join(known)}{nearest(plain, known)}", text)
    return plain


def read_yes(field: str, text: str) -> bool:
    """Yes or no, as people mark a box."""
    plain = text.strip().lower()
    if plain not in (*_YES, *_NO):
        raise refuse(field, "must be yes or no", text)
    return plain in _YES


AGREE: Final = 0.015
"""Total and phases, each rounded to a centimetre, may miss each other by this [m] (ours)."""


@dataclass(frozen=True)
class Typed:
    """One attempt as typed."""

    # athlete, drill: names, or the beginnings of names
    athlete: str
    drill: str
    readings: tuple[str, ...] = ()  # in the order of the landings; see `layout.book.marks.places`
    zero: str = "board"
    # day, place: today, and the place of the latest session, where left out
    day: str | None = None
    place: str | None = None
    # pit, behind, total, phases: take-off line to pit, take-off toe behind its mark, measured
    # total, phases such as "hop step"
    pit: str | None = None
    behind: str | None = None
    total: str | None = None
    phases: str | None = None
    # kept with the session; an earlier one stays among the corrections
    session_note: str | None = None
    # its number in a table, with the set's before it where there are sets: 3, 2/3
    run: str | None = None
    # number of the kept plan it was jumped on; the last one made for that day where left out
    plan: int | None = None
    fields: Mapping[str, str] = field(default_factory=dict)  # of `FIELDS`


def _zero_x(given: Typed, plan: Planned | None) -> float | None:
    """Where the tape's zero is, from the first contact's mark [m]; None when not known."""
    if given.zero == "pit":
        if given.pit is not None:
            return parse_length(given.pit, "board-at", lowest=1.0, highest=20.0)
        return None if plan is None else plan.pit_x
    if given.zero == "start":
        return -plan.run_up if plan is not None and plan.run and plan.run_up > 0 else None
    return 0.0


@dataclass(frozen=True)
class Jumped:
    """What readings say."""

    lengths: tuple[float | None, ...]  # of the phases, toe to toe [m]
    total: float | None  # from the take-off toe [m]: the effective distance
    # take-off toe behind its mark [m]; total less that is the distance from the mark, which from a
    # board is the official one. None where it was not measured
    behind: float | None
    looks: tuple[str, ...] = ()  # what does not agree and was kept all the same


def measured(given: Typed, phases: Sequence[str], sand: bool, plan: Planned | None) -> Jumped:
    """Lengths of the phases and the total, from what was read; a total typed is from the mark.

    effective = official + toe behind the line

    Source: the definition by Hay 1990/1992, from memory.
    """
    if given.zero not in marks.ZEROS:
        hint = nearest(given.zero, marks.ZEROS)
        raise refuse("zero", f"must be one of {', '.join(marks.ZEROS)}{hint}", given.zero)
    lengths: tuple[float | None, ...] = (None,) * len(phases)
    total = behind = None
    if given.behind is not None:
        behind = parse_length(given.behind, "behind", lowest=-0.5, highest=3.0)
        if not given.readings and given.total is None:
            raise refuse("behind", "has no meaning without readings or a total", given.behind)
    if given.readings:
        lengths, total, behind = _read(given, phases, sand, plan, behind)
    looks = []
    if given.total is not None:
        said = marks.parse_reading(given.total, "total")
        if said is None or said.value <= 0:
            raise refuse("total", "must be a length above 0", given.total)
        most = marks.LONGEST * len(phases)
        parse_length(said.value, "total", lowest=marks.SHORTEST * len(phases), highest=most)
        whole = round(said.value + (behind or 0.0), 6)
        lengths = marks.with_total(lengths, whole)
        total = marks.whole(lengths) or whole
        if abs(total - whole) > AGREE + 1e-9:
            from_toe = f" + {show_length(behind)} behind" if behind else ""
            looks.append(
                f"total {show_length(said.value)}{from_toe} and the phases' sum "
                f"{show_length(total)} do not agree; the sum is kept"
            )
    if behind is not None and behind < 0:
        looks.append(f"the toe is {show_length(-behind)} past its mark; on a board that is a foul")
    return Jumped(lengths, total, behind, tuple(looks))


def _read(
    given: Typed, phases: Sequence[str], sand: bool, plan: Planned | None, behind: float | None
) -> tuple[tuple[float | None, ...], float | None, float | None]:
    """Lengths, total and toe behind its mark from the tape's readings [m]."""
    count = len(given.readings)
    labels = marks.named(phases)
    toe_read = count == len(phases) + 1
    labels = ["take-off toe", *labels] if count != len(phases) else labels
    labels += [f"reading {i + 1}" for i in range(len(labels), count)]
    pairs = zip(given.readings, labels, strict=False)
    readings = [marks.parse_reading(text, label) for text, label in pairs]
    if given.zero == "each":
        lengths = tuple(None if r is None else r.value for r in readings)
        marks.check_lengths(lengths, phases)
        if behind is not None and given.total is None:
            raise refuse("behind", "has no meaning where each phase is measured by itself",
                         given.behind)  # fmt: skip
        return lengths, marks.whole(lengths), behind
    if toe_read and behind is not None:
        raise refuse("behind", "is not needed where the take-off toe is read", given.behind)
    zero_x = _zero_x(given, plan)
    xs = marks.places(readings, phases, given.zero, zero_x, sand, behind or 0.0)
    if toe_read and xs[0] is not None and zero_x is not None:
        behind = round(-(zero_x + xs[0]), 6) + 0.0
    return marks.lengths_between(xs, phases), marks.whole((), xs), behind


_BESIDE: Final = ("total", "behind", "pit")
_BETWEEN: Final = " ; "


def as_typed(given: Typed) -> str | None:
    """Readings as they were typed, kept beside what was worked out from them."""
    parts = [*given.readings]
    for name in _BESIDE:
        text = getattr(given, name)
        if text is not None:
            parts.append(f"{name} {text}")
    return line_text("readings", _BETWEEN.join(parts), 400) if parts else None


def typed_parts(kept: str | None) -> tuple[tuple[str, ...], dict[str, str]]:
    """The readings that `as_typed` kept, and what was typed beside them.

    >>> typed_parts("2.61 ; 4.80 ; behind 12 cm")
    (('2.61', '4.80'), {'behind': '12 cm'})
    """
    readings, beside = [], {}
    for part in filter(None, (kept or "").split(_BETWEEN)):
        name, _, text = part.partition(" ")
        if name in _BESIDE and text:
            beside[name] = text
        else:
            readings.append(part)
    return tuple(readings), beside
