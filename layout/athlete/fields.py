"""How a field of an athlete is read and written, whichever way it comes: file, table or option.

The fields themselves stand in `layout.athlete.athlete`, each told once, beside its name.
"""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Any

from layout.words.faults import BadInput, refuse
from layout.words.reading import (
    MISSING,
    Fields,
    line_text,
    number,
    number_in,
    number_or_text,
    one_of,
    whole,
)
from layout.words.split_text import parse_split
from layout.words.units import mass_in, parse_length, parse_speed


def toml_line(name: str, typed: Any) -> str:
    """A field as a line of a TOML file.

    >>> toml_line("best", "11.90 m"), toml_line("calibration.tau", 1.9)
    ('best = "11.90 m"', 'calibration.tau = 1.9')
    """
    return f"{name} = {json.dumps(typed, ensure_ascii=False)}"


def typed_number(text: str) -> Any:
    """Typed text as a file would hold it; what is no number stays text and is refused there."""
    found = number_in(text)
    if found is None:
        return text
    return int(found) if found.is_integer() and abs(found) < 1e12 else found


def _typed_three(text: str) -> Any:
    parts = [number_in(p) for p in re.split(r"[/:; ]+", text)]
    return text if None in parts else parts


@dataclass(frozen=True)
class Kind:
    """What a field is.

    `read` makes the value in SI of the field's name, what a file holds, and the fields before it;
    `typed` what a file would hold of the text of a cell or an option; `written` a line of TOML.
    """

    read: Callable[[str, Any, Mapping[str, Any]], Any]
    typed: Callable[[str], Any] = str
    written: Callable[[Any], str] = repr


def figure(low: float, high: float) -> Kind:
    """A number within bounds."""
    return Kind(lambda n, v, _: number(n, v, low, high), typed_number, "{:.3f}".format)


def weight(low: float, high: float) -> Kind:
    """A body's mass within bounds [kg], or in pounds where that is said."""

    def read(name: str, value: Any, _: Mapping[str, Any]) -> float:
        said = mass_in(value) if isinstance(value, str) else None
        try:
            return number(name, value if said is None else said, low, high)
        except BadInput:
            rule = f"must be a mass from {low:g} to {high:g} kg"
            raise refuse(name, rule, value) from None

    return Kind(read, typed_number, "{:.3f}".format)


def count(low: int, high: int) -> Kind:
    """A whole number within bounds."""
    return Kind(lambda n, v, _: whole(n, v, low, high), typed_number)


def length(low: float, high: float) -> Kind:
    """A length within bounds [m]."""
    return Kind(
        lambda n, v, _: parse_length(v, n, lowest=low, highest=high), written='"{:.2f} m"'.format
    )


def speed(low: float, high: float) -> Kind:
    """A speed within bounds [m/s]."""
    return Kind(
        lambda n, v, _: parse_speed(v, n, lowest=low, highest=high), written="{:.2f}".format
    )


def seconds(low: float, high: float) -> Kind:
    """A time within bounds [s]."""
    return Kind(lambda n, v, _: number_or_text(n, v, low, high, "s"), written="{:.2f}".format)


def word(*known: str) -> Kind:
    """One of a few words."""
    return Kind(lambda n, v, _: one_of(n, v, known))


def line(longest: int) -> Kind:
    """One line of text."""
    return Kind(lambda n, v, _: line_text(n, v, longest))


def split_of(total: str) -> Kind:
    """Phases of the total that another field is, or several together."""
    return Kind(lambda _, v, before: parse_split(v, summed(before, total)))


def summed(before: Mapping[str, Any], names: str) -> Any:
    """The value of a field, with what fields named after it add; None where the first is not known."""
    first, *more = (before[name] for name in names.split())
    return first if first is None else first + sum(value or 0.0 for value in more)


def shares(low: float, high: float, such_as: str) -> Kind:
    """A share for each of the three take-offs [-]."""

    def read(name: str, value: Any, _: Mapping[str, Any]) -> tuple[float, ...]:
        if not isinstance(value, list) or len(value) != 3:
            raise refuse(name, f"three shares of speed needed, such as {such_as}", value)
        return tuple(number(name, v, low, high) for v in value)

    return Kind(read, _typed_three, lambda v: f"[{', '.join(f'{x:.3f}' for x in v)}]")


def told(kind: Kind, help: str = "", sign: str | None = None, **more: str) -> dict[str, Any]:
    """What a dataclass's field says of itself.

    `help` and `sign`, what it shows for the value, are of the option: none where `help` is empty. More:
    `option` where it is not called as the field is; `instead`, the field whose value counts where this
    one is left out, or several together; `guessed`, what is taken where it is left out, in words.
    """
    return {"kind": kind, "help": help, "sign": sign, **more}


@dataclass(frozen=True)
class Field:
    """One field of an athlete's file, as its dataclass tells it."""

    name: str
    kind: Kind
    default: Any
    help: str
    sign: str | None
    option: str = ""
    instead: str = ""
    guessed: str = ""

    @property
    def needed(self) -> bool:
        """Whether it can't be left out."""
        return self.default is MISSING and not self.instead and not self.guessed

    @property
    def dest(self) -> str:
        """The name its option is kept by."""
        return self.option or self.name


@lru_cache(maxsize=8)
def fields_of(kind: type) -> tuple[Field, ...]:
    """The fields that a dataclass tells of, in order."""
    return tuple(
        Field(
            f.name, default=MISSING if f.default is dataclasses.MISSING else f.default, **f.metadata
        )
        for f in dataclasses.fields(kind)
        if f.metadata
    )


def _read(field: Field, before: Mapping[str, Any], value: Any) -> Any:
    return field.kind.read(field.name, value, before)


def read_fields(fields: Fields, kind: type) -> dict[str, Any]:
    """Every field of a dataclass from a table; faults are noted in `fields`."""
    out: dict[str, Any] = {}
    for f in fields_of(kind):
        default = summed(out, f.instead) if f.instead else None if f.guessed else f.default
        out[f.name] = fields.via(f.name, partial(_read, f, out), default)
    return out
