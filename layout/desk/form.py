"""What an address or a form sends, read part by part; and whether a thing was changed meanwhile."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Container, Iterable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, ClassVar, Self
from urllib.parse import urlencode

from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import LONGEST_LINE, read_count

Readers = Mapping[str, Callable[[str], Any]]


@dataclass(frozen=True)
class Address:
    """The parts of one page's address, each a field with what is usual as its default."""

    PAGE: ClassVar[str]

    def fields(self) -> dict[str, str]:
        """Each part that is not as usual, as the address and a form's unseen fields say it."""
        usual, out = type(self)(), {}
        for name in (f.name for f in fields(self)):
            value = getattr(self, name)
            if value != getattr(usual, name):
                out[name] = (
                    ",".join(map(str, value)) if isinstance(value, tuple | list) else str(value)
                )
        return out

    def changed(self, **parts: Any) -> Self:
        """The same with other parts."""
        return replace(self, **parts)

    def address(self, page: str = "", **changed: Any) -> str:
        """The address that asks for this, with what is `changed`; what was left out stays out."""
        said = urlencode(self.changed(**changed).fields(), safe=",")
        return f"{page or self.PAGE}?{said}" if said else page or self.PAGE


def read_parts(given: Mapping[str, str], readers: Readers, also: Container[str]) -> dict[str, Any]:
    """Every part that is said, read; every fault is noted before refusing. `also`: names read elsewhere."""
    faults: list[Fault] = []
    found: dict[str, Any] = {}
    for name, text in given.items():
        if name in also or not text:
            continue
        if name not in readers:
            faults += refuse("address", "has a part that is not known", name).faults
            continue
        try:
            found[name] = readers[name](text)
        except BadInput as error:
            faults += error.faults
    if faults:
        raise BadInput(faults)
    return found


def row_number(field: str, text: str) -> int:
    """The number of a row of the book."""
    return read_count(field, text, 1, 10**9)


def known_only(names: Iterable[str], known: Container[str]) -> None:
    """Refuse a form with a field that it does not have."""
    odd = next((n for n in names if n not in known), None)
    if odd is not None:
        raise refuse("form", "has a field that is not known", odd)


def lines_of(given: Mapping[str, str], names: Iterable[str]) -> dict[str, str]:
    """The fields of a form that were sent, each on one line; one that is too long is refused."""
    values = {n: " ".join(given[n].split()) for n in names if n in given}
    long = next((n for n, t in values.items() if len(t) > LONGEST_LINE // 2), None)
    if long:
        raise refuse(long, "is too long")
    return values


def mark_of(thing: object) -> str:
    """What tells a thing as it was shown from one that was changed meanwhile."""
    return hashlib.sha256(str(thing).encode()).hexdigest()[:16]


def refuse_changed(field: str, given: Mapping[str, str], mark: str, what: Any = None) -> None:
    """Refuse a form about a thing that was changed since it was shown."""
    if given.get("was") != mark:
        raise refuse(field, "was changed meanwhile, perhaps in another tab; look at it anew", what)


def by_field(
    faults: Iterable[Fault], fields: Container[str], name: Callable[[str], str] = str
) -> tuple[dict[str, list[Fault]], list[str]]:
    """Faults by the field of a form each belongs to, and the lines of those that belong to none.

    `name`: a field of the form out of a fault's.
    """
    own: dict[str, list[Fault]] = {}
    other: list[str] = []
    for fault in faults:
        field = name(fault.field)
        if field in fields:
            own.setdefault(field, []).append(fault)
        else:
            other.append(str(fault))
    return own, other


def beside(fault: Fault) -> str:
    """A fault as it stands beside its field.

    >>> beside(Fault("mass", "must be a number from 20 to 200 kg", "heavy"))
    "must be a number from 20 to 200 kg, got 'heavy'"
    """
    return str(replace(fault, field="", file="", line=0)).removeprefix(": ")
