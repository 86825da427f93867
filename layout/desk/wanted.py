"""What an address of the desk asks for: whose drill, and what the coach changes of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, ClassVar, Final, Self

from layout.desk.form import Address, Readers, read_parts, row_number
from layout.words.dates import read_day
from layout.words.reading import line_text, one_of, read_count, read_number
from layout.words.trade import ARC_WORDS
from layout.words.units import System, parse_length

ZEROS: Final = ("board", "start", "pit")


@dataclass(frozen=True)
class Wanted(Address):
    """What stands in the address of Set out; None leaves a thing as the drill or the body has it.

    `a` is the athlete's number in the book, `d` the drill, `v` the venue; `hops` the hop height, `board` the
    take-off line to the pit and `hurdle` a height [m]; `despite` who goes on with a closed drill, and why,
    `decided` from how many strides.
    At the step contact: `gap` the knee gap [m], `lever` the free knee, `thigh` the free thigh in the flight
    after, `trunk` [degrees, as a coach reads them], `held` how long the thigh stays [s].
    """

    PAGE: ClassVar[str] = "/set-out"

    a: int = 0
    d: str = ""
    v: str = ""
    strides: int | None = None
    hops: str | None = None
    gap: float | None = None
    zero: str = "board"
    tape: System = "cm"
    board: float | None = None
    hurdle: float | None = None
    lever: float | None = None
    thigh: float | None = None
    held: float | None = None
    trunk: float | None = None
    arms: str | None = None
    despite: str | None = None
    decided: int | None = None

    def only(self) -> Wanted:
        """The same athlete, drill, place and unit, with nothing changed of the drill."""
        return Wanted(a=self.a, d=self.d, v=self.v, tape=self.tape)

    def changed(self, **parts: Any) -> Self:
        """The same with other parts; who decided to go on decided for this athlete and drill alone."""
        told = replace(self, **parts)
        if (told.a, told.d) != (self.a, self.d) and "despite" not in parts:
            told = replace(told, despite=None, decided=None)
        return told


@dataclass(frozen=True)
class Look(Address):
    """What stands in an address of Season: whose, which days, which runs of them, what was seen.

    `a` is the athlete's number, `d` a drill, `since` and `until` days, `v` the venue of new marks; `at`,
    `hit`, `sound`, `contact` and `pain` are what the coach saw on the present rung, as typed; `weeks` and
    `days` are of a block. `phases`, `arcs` and `run_up` (strides) are of attempts that are told together,
    `week` the Monday of one, `part` of a long list of runs, `n` the number of one.
    """

    PAGE: ClassVar[str] = "/season"

    a: int = 0
    d: str = ""
    v: str = ""
    tape: System = "cm"
    since: str | None = None
    until: str | None = None
    at: str = ""
    hit: str = ""
    sound: str = ""
    contact: str = ""
    pain: str = ""
    weeks: str = "4"
    days: str = "mon,thu"
    run_up: int | None = None
    phases: str = ""
    arcs: str = ""
    week: str | None = None
    part: int = 1
    n: int = 0


def _gap(text: str) -> float:
    from animate.motion.chain import LIMITS

    low, high, _ = LIMITS["knee_gap"]
    return parse_length(text, "knee-gap", lowest=low, highest=high)


def _degrees(setting: str) -> Callable[[str], float]:
    def read(text: str) -> float:
        from layout.moving.positions import read_degrees

        return read_degrees(setting, text)

    return read


def _held(text: str) -> float:
    from animate.motion.chain import LIMITS

    low, high, _ = LIMITS["hold"]
    return read_number("thigh-held", text, low, high, "s")


def _despite(text: str) -> str:
    from layout.plan.drill import LONGEST_DESPITE

    return line_text("despite", text, LONGEST_DESPITE)


_READ: Final[Readers] = {
    "a": lambda t: row_number("athlete", t),
    "d": lambda t: line_text("drill", t, 80),
    "v": lambda t: line_text("venue", t, 80),
    "strides": lambda t: read_count("strides", t, 1, 24),
    "hops": lambda t: one_of("hops", t, ARC_WORDS),
    "gap": _gap,
    "zero": lambda t: one_of("zero", t, ZEROS),
    "tape": lambda t: one_of("tape", t, ("cm", "ft")),
    "board": lambda t: parse_length(t, "board-at", lowest=1.0, highest=20.0),
    "hurdle": lambda t: parse_length(t, "hurdle", lowest=0.05, highest=0.60),
    "lever": _degrees("knee_bend"),
    "thigh": _degrees("thigh_high"),
    "held": _held,
    "trunk": _degrees("trunk"),
    "arms": lambda t: one_of("arms", t, ("alternate", "together")),
    "despite": _despite,
    "decided": lambda t: read_count("strides", t, 1, 24),
}


def _day(name: str) -> Callable[[str], str]:
    return lambda t: read_day(name, t).isoformat()


def _words(name: str) -> Callable[[str], str]:
    return lambda t: line_text(name, t, 400)


_LOOKED: Final[Readers] = {
    **{name: _READ[name] for name in ("a", "d", "v", "tape")},
    "since": _day("since"),
    "until": _day("until"),
    **{name: _words(name) for name in ("at", "hit", "sound", "contact", "pain", "weeks", "days")},
    **{name: _words(name) for name in ("phases", "arcs")},
    "run_up": lambda t: read_count("run_up", t, 0, 24),
    "week": _day("week"),
    "part": lambda t: read_count("part", t, 1, 10**6),
    "n": lambda t: row_number("run", t),
}


def looked(query: Mapping[str, str], also: tuple[str, ...] = ()) -> Look:
    """What an address of Season asks for; faults and `also` as for `wanted`.

    A form says each weekday by itself (`on-mon=on`), and `on` where none may be ticked.
    """
    said = {n: t for n, t in query.items() if not n.startswith("on-") and n != "on"}
    if "on" in query:
        said["days"] = ",".join(n[3:] for n in query if n.startswith("on-")) or "none"
    return Look(**read_parts(said, _LOOKED, also))


def wanted(query: Mapping[str, str], also: tuple[str, ...] = ()) -> Wanted:
    """What an address asks for; every fault is noted before refusing. `also`: names read elsewhere."""
    return Wanted(**read_parts(query, _READ, also))
