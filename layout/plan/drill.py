"""Drills: lists of moves with an approach, a surface to end on and what to coach."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from layout.rules.demand import INTENSITIES, Demand, Reason, closed_to, demand_of
from layout.rules.standing import Standing
from layout.rules.wind import RANGE
from layout.words.faults import BadInput, refuse
from layout.words.names import safe_name
from layout.words.reading import Fields, line_text, nearest, number, own_file, read_entries, shipped
from layout.words.split import Split
from layout.words.trade import ARC_WORDS, LEGS, LEVELS, MOVES

HURDLE_HEIGHTS: Final = (15, 23, 30, 40, 46, 50, 60)
"""Heights low hurdles come in [cm] (common practice, no source)."""
MOST_MOVES: Final = 30
YOUNGEST: Final = 12
"""Where a coach's own drill names no age [years] (ours), or what its run asks, if that is more."""
MOST_STRIDES: Final = 24
LONGEST_DESPITE: Final = 120
"""Characters in which a coach says who decided to go on with a closed drill, and why."""


@dataclass(frozen=True)
class HurdleRule:
    """Which flights have a hurdle (phases of one cycle, from 0), where, and how high at each level [cm].

    Beside the line it is a cue; over it, to be cleared.
    """

    place: str
    under: tuple[int, ...]
    heights: tuple[int, ...]


@dataclass(frozen=True)
class Drill:
    """One drill of a catalogue; fields as in drills.toml."""

    slug: str
    title: str
    job: str
    moves: tuple[str, ...]
    cycles: int
    start: str
    strides: int
    lead: str
    ends: str
    finish: str
    arcs: tuple[str, ...]
    level: str
    youngest: int
    youngest_source: str
    hurdle: HurdleRule | None
    board: bool
    full: bool
    dose: tuple[tuple[int, int], ...]
    intensity: str
    points: tuple[str, ...]
    faults: tuple[str, ...]
    cautions: tuple[str, ...]
    source: str

    @property
    def chain(self) -> tuple[str, ...]:
        """All moves of one run."""
        return self.moves * self.cycles

    @property
    def contacts(self) -> int:
        """Ground contacts of one run: each landing, and the take-off after a run-in."""
        return len(self.chain) + (self.start == "run")

    def strides_of(self, full: int) -> int:
        """Strides of its own approach for an athlete whose full approach has `full`."""
        return full if self.full else min(self.strides, full)

    def demand(self, strides: int | None = None, cycles: int | None = None) -> Demand:
        """What a version of the drill demands: what its run does, and what its file asks beyond that."""
        own = Demand(self.youngest, self.level, self.intensity, self.youngest_source)
        return own.raised(_run_demand(self, strides, cycles))


def _run_demand(drill: Drill, strides: int | None, cycles: int | None) -> Demand:
    run_up = MOST_STRIDES if drill.full else drill.strides
    if strides is not None and drill.start == "run":
        run_up = strides
    moves = drill.moves * (drill.cycles if cycles is None else cycles)
    over = drill.hurdle is not None and drill.hurdle.place == "over"
    return demand_of(moves, run_up, drill.ends == "track", over)


def _careful(fields: Fields, drill: Drill) -> Drill:
    """The drill, refused where its file asks for less care than its run demands; what it leaves out is
    what its run demands."""
    least = _run_demand(drill, None, None)
    why = f"its run holds {least.why}"
    if fields.given("youngest") and drill.youngest < least.youngest:
        fields.fault("youngest", f"{least.youngest} or more needed, {why}", drill.youngest)
    for key, given, wanted, order in (
        ("level", drill.level, least.level, LEVELS),
        ("intensity", drill.intensity, least.intensity, INTENSITIES),
    ):
        if fields.given(key) and order.index(given) < order.index(wanted):
            fields.fault(key, f"{wanted} or more needed, {why}", given)
    fields.done()
    return replace(
        drill,
        youngest=max(drill.youngest, least.youngest),
        level=max(drill.level, least.level, key=LEVELS.index),
        intensity=max(drill.intensity, least.intensity, key=INTENSITIES.index),
    )


@dataclass(frozen=True)
class Choices:
    """What a coach may change of a drill for one plan; None keeps the drill's own.

    `arc` is of every hop, `total` the length from the first contact to the last [m], `split` for whole
    jumps instead of the athlete's own, `lead` the leg of the first contact, `board` the take-off line to
    the pit [m], `hurdle` a height [m], `despite` who decided to go on with a closed drill, and why, `wind`
    along the runway, plus from behind [m/s].
    """

    strides: int | None = None
    arc: str | None = None
    cycles: int | None = None
    total: float | None = None
    split: Split | None = None
    lead: str | None = None
    board: float | None = None
    hurdle: float | None = None
    despite: str | None = None
    wind: float | None = None

    def __post_init__(self) -> None:
        for field, value, low, high in (
            ("strides", self.strides, 1, 24),
            ("cycles", self.cycles, 1, 12),
            ("length", self.total, 1.0, 60.0),
            ("board-at", self.board, 1.0, 20.0),
            ("hurdle", self.hurdle, 0.05, 0.60),
            ("wind", self.wind, *RANGE),
        ):
            if value is not None:
                number(field, value, low, high)
        for field, count in (("strides", self.strides), ("cycles", self.cycles)):
            if count is not None and type(count) is not int:
                raise refuse(field, "must be a whole number", count)
        for field, word, known in (("hops", self.arc, ARC_WORDS), ("lead", self.lead, LEGS)):
            if word is not None and word not in known:
                raise refuse(field, f"must be one of {', '.join(known)}", word)
        if self.despite is not None:
            line_text("despite", self.despite, LONGEST_DESPITE)


def refuse_unfit(drill: Drill, arc: str | None, hurdle: float | None, board: float | None) -> None:
    """Refuse what a coach asks of a drill that has no place for it."""
    for field, value, fits, lacking in (
        ("hops", arc, "hop" in drill.moves, "has no hops"),
        ("hurdle", hurdle, drill.hurdle is not None, "has no hurdles"),
        ("board-at", board, drill.ends == "sand", "does not end in sand"),
    ):
        if value is not None and not fits:
            raise refuse(field, f"{drill.slug} {lacking}", value)


def too_often(moves: Sequence[str], cycles: int) -> Iterator[str]:
    """The rules that so many cycles of these phases break."""
    if cycles > 1 and "jump" in moves:
        yield "a drill that ends with a jump cannot repeat"
    if len(moves) * cycles > MOST_MOVES:
        yield f"at most {MOST_MOVES} phases in a run allowed"


def _moves(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not 1 <= len(value) <= MOST_MOVES:
        raise refuse("phases", f"must be a list of 1 to {MOST_MOVES} phases", value)
    wrong = [v for v in value if v not in MOVES]
    if wrong:
        hint = nearest(str(wrong[0]), MOVES)
        raise refuse("phases", f"each must be hop, step or jump{hint}", wrong[0])
    if "jump" in value[:-1]:
        raise refuse("phases", "a jump lands on two feet and can only be the last phase", value)
    return tuple(value)


def _arcs(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or any(v not in ARC_WORDS for v in value):
        raise refuse("arcs", "must be a list of low, natural or high", value)
    return tuple(value)


def _hurdle(value: Any) -> HurdleRule:
    if not isinstance(value, Mapping):
        raise refuse("hurdle", "must be a table", value)
    inner = Fields(value, label="hurdle")
    place = inner.choice("place", ("beside", "over"))
    under = inner.take("under")
    whole = isinstance(under, list) and under and all(type(i) is int and i >= 0 for i in under)
    if under is not None and not whole:
        inner.fault("under", "must be a list of phase numbers from 0", under)
    heights = tuple(inner.via(level, _height) for level in LEVELS)
    inner.done()
    return HurdleRule(place, tuple(under), heights)


def _height(value: Any) -> int:
    return round(100 * hurdle_height(value))


def hurdle_height(value: Any) -> float:
    """A height that low hurdles come in, given in centimetres [m]."""
    if type(value) is not int or value not in HURDLE_HEIGHTS:
        known = ", ".join(map(str, HURDLE_HEIGHTS))
        raise refuse("hurdle", f"must be one of {known} cm", value)
    return value / 100.0


def dose_of(value: Any, level: str = "") -> tuple[int, int]:
    """Sets and runs out of a list of two."""
    fine = isinstance(value, list) and len(value) == 2 and all(type(n) is int for n in value)
    if not fine or not (1 <= value[0] <= 10 and 1 <= value[1] <= 20):
        raise refuse("dose", f"{level}[sets 1 to 10, runs 1 to 20] needed", value)
    return value[0], value[1]


def _dose(value: Any) -> tuple[tuple[int, int], ...]:
    if not isinstance(value, Mapping) or set(value) != set(LEVELS):
        raise refuse("dose", "sets and runs for beginner, intermediate and advanced needed", value)
    return tuple(dose_of(value[level], f"{level}: ") for level in LEVELS)


def _drill(slug: str, fields: Fields) -> Drill:
    fields.slug(slug)
    title = fields.string("title", 60)
    job = fields.string("job", 140)
    moves = fields.via("phases", _moves)
    cycles = fields.whole("cycles", 1, 12, 1)
    start = fields.choice("start", ("run", "stand"), "run")
    strides = fields.whole("strides", 0, MOST_STRIDES, 0 if start == "stand" else 6)
    lead = fields.choice("lead", ("strong", "weak", "either"), "strong")
    ends = fields.choice("ends", ("track", "sand"))
    finish = fields.choice("finish", ("run on", "hold", "land"), "run on")
    arcs = fields.via("arcs", _arcs, ("natural",) * len(moves or ()))
    level = fields.choice("level", LEVELS, LEVELS[0])
    youngest = fields.whole("youngest", 6, 18, YOUNGEST)
    hurdle = fields.via("hurdle", _hurdle, None)
    board = fields.flag("board")
    full = fields.flag("full")
    dose = fields.via("dose", _dose)
    intensity = fields.choice("intensity", INTENSITIES, INTENSITIES[0])
    points = fields.strings("points", 1, 6, 140)
    faults = fields.strings("faults", 1, 6, 180)
    cautions = fields.strings("cautions", 0, 4, 180, ())
    youngest_source = fields.string("youngest_source", 80, "ours")
    source = fields.string("source", 80, "common practice, no source")
    if moves and arcs and len(arcs) != len(moves):
        fields.fault("arcs", f"one for each of the {len(moves)} phases needed", list(arcs))
    for rule in too_often(moves or (), cycles or 1):
        fields.fault("cycles", rule, cycles)
    if moves and "jump" in moves and ends == "track":
        fields.fault("ends", "a jump wants sand to land in", ends)
    if start == "run" and strides == 0:
        fields.fault("strides", "a run wants at least 1 stride", strides)
    if start == "stand" and strides:
        fields.fault("strides", "a standing start has 0 strides", strides)
    if hurdle and moves and any(i >= len(moves) for i in hurdle.under):
        fields.fault("hurdle", f"under: phases 0 to {len(moves) - 1} needed", list(hurdle.under))
    fields.done()
    drill = Drill(
        slug, title, job, moves, cycles, start, strides, lead, ends, finish, arcs, level,
        youngest, youngest_source, hurdle, board, full, dose, intensity, points, faults, cautions, source,
    )  # fmt: skip
    return _careful(fields, drill)


def drills_from(table: Mapping[str, Any], file: str, text: str) -> dict[str, Drill]:
    """Drills of a table, every fault of every entry noted before refusing."""
    return read_entries("drill", _drill, (table, file, text))


@lru_cache(maxsize=1)
def catalogue() -> dict[str, Drill]:
    """The drills that come with Phasemark, by slug."""
    return drills_from(*shipped("drills.toml"))


def read_drills(path: Path) -> dict[str, Drill]:
    """Read a coach's own drill file."""
    return drills_from(*own_file(path))


def easier(stands: Standing, drill: Drill, pit: bool = True) -> Drill | None:
    """The hardest of the catalogue's drills that is open to an athlete, the most like one first."""
    fits = [
        d for d in catalogue().values()
        if closed_to(stands, d.demand()) is None and d.slug != drill.slug and (pit or d.ends != "sand")
    ]  # fmt: skip

    def order(other: Drill) -> tuple[int, int, int, bool]:
        asked = other.demand()
        alike = len(set(other.moves) & set(drill.moves))
        rank = INTENSITIES.index(asked.intensity)
        return rank, asked.youngest, alike, other.ends == drill.ends

    return max(fits, key=order, default=None)


GO_ON: Final = 'To go on all the same: --despite "who decided and why"'


def closed_fault(
    name: str, stands: Standing, drill: Drill, why: Reason, pit: bool = True
) -> BadInput:
    """The refusal of a drill that is closed to an athlete, with an easier one that is open."""
    other = easier(stands, drill, pit)
    if closed_to(stands, drill.demand()) is None:
        instead = "Open as the drill has it, without the change"
    elif other is None:
        instead = "No drill of the catalogue is open"
    else:
        instead = f"Easier and open: {other.slug}"
    return refuse("drill", f"{drill.slug} is closed to {name}. {why.text} {instead}. {GO_ON}")


def find_drill(name: str, own: Mapping[str, Drill] | None = None) -> Drill:
    """A drill by slug, or title in any case; a coach's own win over the catalogue's."""
    known = {**catalogue(), **(own or {})}
    wanted = name.strip().lower()
    if wanted in known:
        return known[wanted]
    for drill in known.values():
        if drill.title.lower() == wanted:
            return drill
    hint = nearest(wanted, known) or "; see phasemark plan --list"
    raise refuse("drill", f"is not in the catalogue{hint}", safe_name(name) and name)
