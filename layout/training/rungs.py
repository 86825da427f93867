"""The rungs of a ladder: drills in a version, with what is asked first, read from TOML."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from layout.plan.drill import Choices, Drill, catalogue, dose_of, hurdle_height, too_often
from layout.rules.demand import Demand
from layout.rules.load import REST
from layout.words.faults import refuse
from layout.words.reading import Fields, nearest, number, own_file, read_entries, shipped
from layout.words.trade import ARC_WORDS, LEVELS

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
        return self.choices.strides or self.drill.strides_of(full)

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


def _step_share(value: Any) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise refuse("step_share", "[least, most] needed", value)
    low, high = (number("step_share", v, 10, 60) for v in value)
    if low >= high:
        raise refuse("step_share", "least below most needed", value)
    return low / 100.0, high / 100.0


def _asked(key: str, value: Any, more: bool = False) -> tuple[Any, ...]:
    """What a table asks of runs on the marks, sound and contact time; more: knee gap and step too."""
    if not isinstance(value, Mapping):
        raise refuse(key, "must be a table", value)
    inner = Fields(value, label=key)
    found: tuple[Any, ...] = (
        inner.via("hit", lambda v: number("hit", v, 0, 100) / 100.0, None),
        inner.choice("sound", SOUNDS, None),
        inner.number("contact", 0.08, 1.0, None),
    )
    if more:
        gap = inner.length("knee_gap", 0.0, 1.0, None)
        found = (*found, gap, inner.via("step_share", _step_share, None))
    inner.done()
    return found


def _known(name: Any, drills: Mapping[str, Drill]) -> Drill:
    if not isinstance(name, str) or name not in drills:
        raise refuse("drill", f"is not in the catalogue{nearest(str(name), drills)}", name)
    return drills[name]


def _version(fields: Fields, drill: Drill | None) -> Choices:
    """The version, checked against the drill where that is known."""
    hops = fields.choice("hops", ARC_WORDS, None)
    strides = fields.whole("strides", 1, 24, None)
    cycles = fields.whole("cycles", 1, 12, None)
    hurdle = fields.via("hurdle", hurdle_height, None)
    if drill is not None:
        if strides and drill.start == "stand":
            fields.fault("strides", "this drill starts from standing", strides)
        for rule in too_often(drill.moves, cycles or 1):
            fields.fault("cycles", rule, cycles)
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
    slug: str, fields: Fields, others: Mapping[str, Any], drills: Mapping[str, Drill]
) -> Rung:
    fields.slug(slug)
    title = fields.string("title", 60)
    height = fields.whole("height", 1, HIGHEST)
    drill: Drill | None = fields.via("drill", lambda v: _known(v, drills))
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
    dose = fields.via("dose", dose_of, None)
    tolerance = fields.length("tolerance", 0.02, 1.0, 0.20)
    enter = fields.via("enter", lambda v: Wants(*_asked("enter", v, more=True)), Wants())
    down = fields.via("down", lambda v: Falls(*_asked("down", v)), Falls())
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
    rungs = read_entries("rung", lambda s, f: _rung(s, f, known, drills), (table, file, text))
    return Ladder(tuple(sorted(rungs.values(), key=lambda r: r.height)), file)


@lru_cache(maxsize=1)
def ladder() -> Ladder:
    """The ladder that comes with Phasemark."""
    return ladder_from(*shipped("ladder.toml"))


def read_ladder(path: Path, own: Mapping[str, Drill] | None = None) -> Ladder:
    """Read a coach's own ladder."""
    return ladder_from(*own_file(path), own)
