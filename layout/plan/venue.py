"""The place: runway, boards, pit and lanes, and whether everything set out lies where it should."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path
from typing import Any, Final

from layout.rules.ground import ONE_BOARD
from layout.words.faults import refuse
from layout.words.reading import Fields, is_file, nearest, own_file, read_entries, shipped
from layout.words.units import parse_length

STEEPEST: Final = 0.10
"""A runway that falls more is a slip of the pen (ours)."""
_FALL: Final = re.compile(r"(-)?(?:1 ?: ?([1-9][0-9]{0,5})|([0-9]{1,2}(?:\.[0-9]{1,4})?) ?%)")


@dataclass(frozen=True)
class Venue:
    """One place to jump, lengths in metres.

    The runway's length is from its start to the take-off line farthest from the pit; without a pit, all of
    it. Boards are from each take-off line to the near edge of the pit; lanes from middle to middle. The
    pit has length 0 where there is none. `fall_along` is of the runway's last 40 m, plus down towards the
    pit, `fall_across` from side to side [-]; None where nobody has measured.
    """

    slug: str
    title: str
    runway_length: float
    runway_width: float
    boards: tuple[float, ...]
    pit_length: float
    pit_width: float
    lanes: int
    lane_spacing: float
    surface: str
    fall_along: float | None = None
    fall_across: float | None = None

    @property
    def has_pit(self) -> bool:
        """Whether there is sand to land in."""
        return self.pit_length > 0.0

    def line_at(self, board: float) -> float:
        """The board of this venue that a distance to the pit stands for, or the distance itself [m]."""
        near = [b for b in self.boards if abs(b - board) <= ONE_BOARD]
        return near[0] if near else board

    @property
    def start(self) -> float:
        """Where the runway starts, x measured from the pit's near edge (or the runway's end) [m]."""
        return -(self.runway_length + (max(self.boards) if self.boards else 0.0))


def _boards(value: Any) -> tuple[float, ...]:
    if not isinstance(value, list) or len(value) > 12:
        raise refuse("boards", "must be a list of distances to the pit", value)
    out: list[float] = []
    for board in sorted(parse_length(v, "boards", lowest=1.0, highest=20.0) for v in value):
        if not out or board - out[-1] > ONE_BOARD:
            out.append(board)
    return tuple(out)


def read_fall(field: str, value: Any) -> float:
    """A fall as surveyors write it, 1:1000 or 0.1 %; minus is uphill [-].

    >>> read_fall("fall_along", "1:1000"), read_fall("fall_along", "-0,05 %")
    (0.001, -0.0005)
    """
    found = isinstance(value, str) and _FALL.fullmatch(value.strip().replace(",", "."))
    if not found:
        raise refuse(field, "must be such as 1:1000 or 0.1 %", value)
    sign, one_in, percent = found.groups()
    fall = float(percent) / 100.0 if percent else 1.0 / float(one_in)
    if fall > STEEPEST:
        raise refuse(field, f"at most {100 * STEEPEST:g} %", value)
    return -fall if sign else fall


def _venue(slug: str, fields: Fields) -> Venue:
    title = fields.string("title", 80)
    runway = fields.length("runway_length", 5.0, 120.0)
    width = fields.length("runway_width", 0.9, 10.0, 1.22)
    boards = fields.via("boards", _boards, ())
    pit_length = fields.length("pit_length", 0.0, 20.0, 0.0)
    pit_width = fields.length("pit_width", 0.0, 10.0, 2.75)
    lanes = fields.whole("lanes", 1, 12, 1)
    spacing = fields.length("lane_spacing", 0.0, 20.0, 0.0)
    surface = fields.string("surface", 60, "synthetic")
    falls = [
        fields.via(key, partial(read_fall, key), None) for key in ("fall_along", "fall_across")
    ]
    fields.take("source", {})
    if boards and not pit_length:
        fields.fault("boards", "boards want a pit; give pit_length", list(boards))
    if lanes and lanes > 1 and width is not None and spacing < width - 1e-9:
        fields.fault("lane_spacing", f"at least the runway width {width:g} m needed", spacing)
    fields.done()
    return Venue(
        slug, title, runway, width, boards, pit_length, pit_width if pit_length else 0.0, lanes,
        spacing, surface, *falls,
    )  # fmt: skip


def venues_from(table: Mapping[str, Any], file: str, text: str) -> dict[str, Venue]:
    """Venues of a table, every fault of every entry noted before refusing."""
    return read_entries("venue", _venue, (table, file, text))


@lru_cache(maxsize=1)
def venues() -> dict[str, Venue]:
    """The venues that come with Phasemark, by slug."""
    return venues_from(*shipped("venues.toml"))


def find_venue(name: str) -> Venue:
    """A venue by slug, or the first one of a coach's own TOML file."""
    if name in venues():
        return venues()[name]
    if name.lower().endswith(".toml") or is_file(name):
        return next(iter(venues_from(*own_file(Path(name))).values()))
    hint = nearest(name, venues()) or f"; known: {', '.join(venues())}"
    raise refuse("venue", f"is not known{hint}", name)


@dataclass(frozen=True)
class Footprint:
    """A thing on the ground, as a rectangle around it, x from the first contact [m]."""

    name: str
    x0: float
    x1: float
    y0: float
    y1: float

    def meets(self, other: Footprint) -> bool:
        """Whether they share more ground than a touching edge."""
        wide = min(self.x1, other.x1) - max(self.x0, other.x0)
        deep = min(self.y1, other.y1) - max(self.y0, other.y0)
        return wide > 0.0 < deep and wide * deep > 1e-9


UNDERFOOT: Final = "stands where a foot lands"


def misplaced(
    venue: Venue, pit_edge: float, things: tuple[Footprint, ...], feet: tuple[Footprint, ...]
) -> tuple[tuple[str, str], ...]:
    """Things and feet that do not lie where they should, each with what is wrong with it.

    Off the runway, in the sand, in another lane, under a foot; `pit_edge` is the pit's near edge or the
    runway's end [m].
    """
    half, start, end = venue.runway_width / 2.0, pit_edge + venue.start, pit_edge
    runway = Footprint("runway", start, end, -half, half)
    beside = (-venue.lane_spacing, venue.lane_spacing) if venue.lanes > 1 else ()
    lanes = [Footprint("lane", start, end, c - half, c + half) for c in beside]
    out = []
    for thing in things:
        if not (start - 1e-9 <= thing.x0 and thing.x1 <= end + 1e-9):
            out.append((thing.name, "lies beyond the runway"))
        if any(thing.meets(lane) and not lane.meets(runway) for lane in lanes):
            out.append((thing.name, "stands in the next lane"))
        if any(thing.meets(foot) for foot in feet):
            out.append((thing.name, UNDERFOOT))
    for foot in feet:
        along = start - 1e-9 <= foot.x0 and foot.x1 <= end + 1e-9
        if not (along and -half - 1e-9 <= foot.y0 and foot.y1 <= half + 1e-9):
            out.append((foot.name, "is not wholly on the runway"))
    return tuple(out)
