"""Who is here and what is set up for them, as the address of Squad says it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Final

from layout.desk.form import Address, Readers, read_parts, row_number
from layout.desk.wanted import Wanted, wanted
from layout.words.faults import refuse
from layout.words.reading import read_count
from layout.words.units import System

MOST_HERE: Final = 200
"""Athletes on one runway (ours): their numbers fit an address."""
MOST_DRILLS: Final = 40
"""Drills chosen at once (ours)."""
MOST_SETS: Final = 9
"""Shared sets a coach may ask for here (ours)."""
WITHIN: Final = (5, 10, 15, 20, 30)
"""How far off shared marks may be, to choose from [cm] (ours)."""


_AS_ON_SET_OUT: Final = ("v", "tape", "strides", "hops", "board", "hurdle", "zero")
"""Parts of the address that are those of Set out."""


@dataclass(frozen=True)
class Roll(Address):
    """What stands in the address of Squad; None leaves a thing as the drill or the rule has it.

    `who` are the athletes' numbers in the book, `d` the drills, `at` the one that is shown, `v` the venue;
    `sets` asked for, `within` how far off their marks may be [cm]; `hops`, `board` and `hurdle` as on Set
    out; `zero` is of the sheets.
    """

    PAGE: ClassVar[str] = "/squad"

    who: tuple[int, ...] = ()
    d: tuple[str, ...] = ()
    at: str = ""
    v: str = ""
    tape: System = "cm"
    sets: int | None = None
    within: int | None = None
    strides: int | None = None
    hops: str | None = None
    board: float | None = None
    hurdle: float | None = None
    zero: str = "board"

    @property
    def shown(self) -> str:
        """The drill that is shown: the one chosen, else the first."""
        return self.at if self.at in self.d else self.d[0] if self.d else ""

    def one(self, athlete: int, page: str = "/set-out") -> str:
        """The address of one athlete's own drill, set out as it is here."""
        same = {n: getattr(self, n) for n in _AS_ON_SET_OUT}
        return Wanted(a=athlete, d=self.shown, **same).address(page)


def _list(field: str, text: str, most: int, read: Callable[[str], Any]) -> tuple[Any, ...]:
    parts = [p for p in text.split(",") if p.strip()]
    if len(parts) > most:
        raise refuse(field, f"at most {most}", len(parts))
    return tuple(dict.fromkeys(read(p.strip()) for p in parts))


def _as_on_set_out(name: str) -> Callable[[str], Any]:
    return lambda text: getattr(wanted({name: text}), name)


_READ: Final[Readers] = {
    "who": lambda t: _list("who", t, MOST_HERE, lambda n: row_number("athlete", n)),
    "d": lambda t: _list("drills", t, MOST_DRILLS, _as_on_set_out("d")),
    "at": _as_on_set_out("d"),
    "sets": lambda t: read_count("sets", t, 1, MOST_SETS),
    "within": lambda t: read_count("tolerance", t, 1, 200),
    **{name: _as_on_set_out(name) for name in _AS_ON_SET_OUT},
}


def rolled(query: Mapping[str, str], also: tuple[str, ...] = ()) -> Roll:
    """What an address of Squad asks for; every fault is noted before refusing.

    A form without script says each name by itself (`who-3=on`, `d-hop-step-sand=on`). `also`: names read
    elsewhere.
    """
    said = {n: t for n, t in query.items() if t and n not in also}
    for name in ("who", "d"):
        ticked = [n.partition("-")[2] for n in said if n.startswith(f"{name}-")]
        if ticked:
            said[name] = ",".join([*filter(None, [said.get(name)]), *ticked])
    whole = {n: t for n, t in said.items() if not n.startswith(("who-", "d-"))}
    made = Roll(**read_parts(whole, _READ, ()))
    return made if made.at in made.d else made.changed(at="")


def is_ticked(query: Mapping[str, str]) -> bool:
    """Whether a form without script asked, so that the address has names one by one."""
    return any(n.startswith(("who-", "d-")) for n in query)
