"""The rungs of a ladder: drills in a version, with what is asked first, read from TOML."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from layout.plan.drill import HURDLE_HEIGHTS, MOST_MOVES, Choices, Drill, catalogue
from layout.rules.demand import Demand
from layout.rules.load import REST
from layout.words.faults import refuse
from layout.words.reading import Fields, nearest, number, read_entries, read_toml
from layout.words.trade import ARC_WORDS, LEVELS, SLUG
from layout.words.units import parse_length

SOUNDS: Final = ("quiet", "firm", "loud")
"""How a contact sounds, softest first."""
HIGHEST: Final = 40
LONGEST_REST: Final = 336
"""Hours of rest a rung may ask for: two weeks."""
HARD: Final = ("high", "very high")


@dataclass(frozen=True)
class Wants:
    """What must be seen before a rung is climbed to; None asks nothing.

    The least share of runs with every contact on its mark [-], the loudest contact, the longest time on
    the ground [s], the least distance of the free knee behind the support knee at the step contact [m],
    the least and most share of the step in a whole jump [-].
    """

    hit: float | None = None
    sound: str | None = None
    contact: float | None = None
    knee_gap: float | None = None
    step_share: tuple[float, float] | None = None


@dataclass(frozen=True)
class Falls:
    """What sends an athlete down from a rung; None never does.

    Fewer runs on the marks than this share [-], contacts as loud as this, longer on the ground than this
    [s].
    """

    hit: float | None = None
    sound: str | None = None
    contact: float | None = None


@dataclass(frozen=True)
class Rung:
    """One rung; fields as in ladder.toml, lengths in metres, shares of 1, rest in hours."""

    slug: str
    title: str
    height: int
    drill: Drill
    choices: Choices
    level: str
    youngest: int
    youngest_source: str
    years: float
    start: str | None
    dose: tuple[int, int] | None
    tolerance: float
    enter: Wants
    down: Falls
    sessions: int
    rest: int
    lead_in: str | None
    source: str

    @property
    def demand(self) -> Demand:
        """What this version demands, and what the ladder asks beyond that."""
        own = Demand(self.youngest, self.level, self.drill.intensity, self.youngest_source)
        return own.raised(self.drill.demand(self.choices.strides, self.choices.cycles))

    @property
    def intensity(self) -> str:
        """Of this version."""
        return self.demand.intensity

    @property
    def contacts(self) -> int:
        """Ground contacts of one run in this version."""
        cycles = self.choices.cycles or self.drill.cycles
        return len(self.drill.moves) * cycles + (self.drill.start == "run")

    def strides(self, full: int) -> int:
        """Strides of the approach for an athlete whose full approach has `full`."""
        if self.drill.full:
            return self.choices.strides or full
        return self.choices.strides or min(self.drill.strides, full)

    def dose_at(self, level: str) -> tuple[int, int]:
        """Sets and runs for a level, before any limit."""
        return self.dose or self.drill.dose[LEVELS.index(level)]


@dataclass(frozen=True)
class Ladder:
    """Rungs from the lowest; those of one height in the file's order."""

    rungs: tuple[Rung, ...]
    file: str = "ladder.toml"

    def find(self, name: str, field: str = "at") -> Rung:
        """A rung by its name."""
        wanted = name.strip().lower()
        for rung in self.rungs:
            if rung.slug == wanted:
                return rung
        known = [r.slug for r in self.rungs]
        hint = nearest(wanted, known) or "; phasemark ladder --list has the names"
        raise refuse(field, f"is not a rung of the ladder{hint}", name)


def _share(key: str) -> Callable[[Any], float]:
    return lambda v: number(key, v, 0, 100) / 100.0


def _pair(key: str, low: float, high: float) -> Callable[[Any], tuple[float, float]]:
    def parse(value: Any) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            raise refuse(key, "[least, most] needed", value)
        one, two = (number(key, v, low, high) for v in value)
        if one >= two:
            raise refuse(key, "least below most needed", value)
        return one, two

    return parse


def _dose(value: Any) -> tuple[int, int]:
    fine = isinstance(value, list) and len(value) == 2 and all(type(n) is int for n in value)
    if not fine or not (1 <= value[0] <= 10 and 1 <= value[1] <= 20):
        raise refuse("dose", "[sets 1 to 10, runs 1 to 20] needed", value)
    return value[0], value[1]


def _table(key: str, value: Any) -> Fields:
    if not isinstance(value, Mapping):
        raise refuse(key, "must be a table", value)
    return Fields(value, label=key)


def _falling(inner: Fields) -> tuple[float | None, str | None, float | None]:
    return (
        inner.via("hit", _share("hit"), None),
        inner.choice("sound", SOUNDS, None),
        inner.number("contact", 0.08, 1.0, None),
    )


def _enter(value: Any) -> Wants:
    inner = _table("enter", value)
    hit, sound, contact = _falling(inner)
    gap = inner.via(
        "knee_gap", lambda v: parse_length(v, "knee_gap", lowest=0.0, highest=1.0), None
    )
    share = inner.via("step_share", _pair("step_share", 10, 60), None)
    inner.done()
    return Wants(hit, sound, contact, gap, share and (share[0] / 100.0, share[1] / 100.0))


def _down(value: Any) -> Falls:
    inner = _table("down", value)
    found = Falls(*_falling(inner))
    inner.done()
    return found


def _drill_in(drills: Mapping[str, Drill]) -> Callable[[Any], Drill]:
    def parse(value: Any) -> Drill:
        if not isinstance(value, str) or value not in drills:
            raise refuse("drill", f"is not in the catalogue{nearest(str(value), drills)}", value)
        return drills[value]

    return parse


def _hurdle(value: Any) -> float:
    if type(value) is not int or value not in HURDLE_HEIGHTS:
        known = ", ".join(map(str, HURDLE_HEIGHTS))
        raise refuse("hurdle", f"must be one of {known} cm", value)
    return int(value) / 100.0


def _version(fields: Fields, drill: Drill | None) -> Choices:
    """The version, checked against the drill where that is known."""
    hops = fields.choice("hops", ARC_WORDS, None)
    strides = fields.whole("strides", 1, 24, None)
    cycles = fields.whole("cycles", 1, 12, None)
    hurdle = fields.via("hurdle", _hurdle, None)
    if drill is not None:
        if strides and drill.start == "stand":
            fields.fault("strides", "this drill starts from standing", strides)
        if cycles and cycles > 1 and "jump" in drill.moves:
            fields.fault("cycles", "a drill that ends with a jump cannot repeat", cycles)
        if cycles and len(drill.moves) * cycles > MOST_MOVES:
            fields.fault("cycles", f"at most {MOST_MOVES} phases in a run allowed", cycles)
        if hurdle and drill.hurdle is None:
            fields.fault("hurdle", "this drill has no hurdles", fields.table["hurdle"])
        if hops and "hop" not in drill.moves:
            fields.fault("hops", "this drill has no hops", hops)
    return Choices(strides=strides, arc=hops, cycles=cycles, hurdle=hurdle)


def _other(fields: Fields, others: Mapping[str, Any], height: int | None) -> str | None:
    """The lead-in: a lower rung of the same file."""
    name = fields.string("lead_in", 60, None)
    if name is None:
        return None
    entry = others.get(name)
    if not isinstance(entry, Mapping):
        fields.fault("lead_in", f"is not a rung of this file{nearest(name, others)}", name)
    elif height is not None and isinstance(entry.get("height"), int) and entry["height"] >= height:
        fields.fault("lead_in", f"must be a rung lower than height {height}", name)
    return str(name)


def _start(fields: Fields, slug: str, others: Mapping[str, Any]) -> str | None:
    start: str | None = fields.choice("start", LEVELS, None)
    for name, entry in others.items():
        if name == slug:
            break
        if start and isinstance(entry, Mapping) and entry.get("start") == start:
            fields.fault("start", f"{name} is already where {start} athletes start", start)
    return start


def _rung(
    slug: str,
    table: Mapping[str, Any],
    others: Mapping[str, Any],
    drills: Mapping[str, Drill],
    file: str,
    text: str,
) -> Rung:
    label = f"rung.{slug}"
    fields = Fields(table, file, text, label, label)
    if not slug or any(c not in SLUG for c in slug):
        fields.fault("name", "small letters, digits and hyphens needed", slug)
    title = fields.string("title", 60)
    height = fields.whole("height", 1, HIGHEST)
    drill: Drill | None = fields.via("drill", _drill_in(drills))
    choices = _version(fields, drill)
    least = drill.demand(choices.strides, choices.cycles) if drill else None
    level = fields.choice("level", LEVELS, least.level if least else LEVELS[0])
    youngest = fields.whole("youngest", 6, 40, least.youngest if least else None)
    if least is not None and youngest is not None:
        if youngest < least.youngest:
            rule = f"{least.youngest} or more needed for this version of the drill"
            fields.fault("youngest", rule, youngest)
        if LEVELS.index(level) < LEVELS.index(least.level):
            rule = f"{least.level} or higher needed for this version of the drill"
            fields.fault("level", rule, level)
    years = fields.number("years", 0, 40, 0.0)
    start = _start(fields, slug, others)
    dose = fields.via("dose", _dose, None)
    tolerance = fields.via(
        "tolerance", lambda v: parse_length(v, "tolerance", lowest=0.02, highest=1.0), 0.20
    )
    enter = fields.via("enter", _enter, Wants())
    down = fields.via("down", _down, Falls())
    sessions = fields.whole("sessions", 1, 30, 4)
    usual = REST[1] if least and least.intensity in HARD else REST[0]
    rest = fields.whole("rest", REST[0], LONGEST_REST, usual)
    lead_in = _other(fields, others, height)
    source = fields.string("source", 80, "ours")
    fields.done()
    assert drill is not None  # else done has refused
    assert least is not None
    own = youngest == least.youngest
    return Rung(
        slug, title, height, drill, choices, level, youngest,
        least.source if own else "ours", years, start, dose, tolerance, enter, down,
        sessions, rest, lead_in, source,
    )  # fmt: skip


def ladder_from(
    table: Mapping[str, Any], file: str, text: str, own: Mapping[str, Drill] | None = None
) -> Ladder:
    """Read a ladder, noting every fault of every rung before refusing."""
    drills = {**catalogue(), **(own or {})}
    others = table.get("rung")
    known = others if isinstance(others, Mapping) else {}
    rungs = read_entries(
        table, "rung", lambda slug, entry: _rung(slug, entry, known, drills, file, text), file
    )
    return Ladder(tuple(sorted(rungs.values(), key=lambda r: r.height)), file)


@lru_cache(maxsize=1)
def ladder() -> Ladder:
    """The ladder that comes with Phasemark."""
    text = files("layout.catalogue").joinpath("ladder.toml").read_text(encoding="utf-8")
    return ladder_from(tomllib.loads(text), "ladder.toml", text)


def read_ladder(path: Path, own: Mapping[str, Drill] | None = None) -> Ladder:
    """Read a coach's own ladder."""
    table, text = read_toml(path)
    return ladder_from(table, str(path), text, own)
