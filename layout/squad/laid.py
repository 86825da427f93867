"""A squad's set-out as values: sets on the ground, who uses them, and the stations of the walk."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

from layout.words.note import Note
from layout.words.units import System

SETOUT_VERSION: Final = 2


@dataclass(frozen=True)
class Served:
    """One athlete on a set of marks."""

    name: str
    leg: str
    age: int  # As it counts [years]
    # lengths, off: The athlete's own phases, and the marks' less those [m]
    lengths: tuple[float, ...]
    off: tuple[float, ...]
    # Whether a shared set's marks were off by more than the tolerance, so that these are their own
    over: bool
    strides: int
    start: float  # Start mark back from the take-off line; 0 from standing [m]
    young: bool  # Whether youth limits hold: their marks are never longer than their own phases

    @property
    def percent(self) -> tuple[float, ...]:
        """How far the marks are off, in per cent of the athlete's own phases."""
        return tuple(100.0 * o / own for o, own in zip(self.off, self.lengths, strict=True))


@dataclass(frozen=True)
class NoMarks:
    """An athlete to whom the drill is closed, so that nothing is laid for them."""

    name: str
    why: str
    source: str


@dataclass(frozen=True)
class LaidHurdle:
    """A hurdle or cone of one set."""

    x: float  # From the take-off line [m]
    height: float  # The lowest that any of the set's athletes is to have [m]
    place: str  # "beside" or "over"
    # "left", "right" or "": where it stands beside the line, for the leg the set's feet are told for
    side: str
    thing: str  # "hurdle" or "cone"


@dataclass(frozen=True)
class LaidSet:
    """One set of marks on the ground."""

    label: str
    shared: bool
    lane: int  # From 1
    line: float  # Take-off line, from the tape's zero along the runway [m]
    xs: tuple[float, ...]  # Marks from the take-off line on, itself included [m]
    feet: tuple[str, ...]  # Foot of each mark, for `leg`
    leg: str  # Take-off leg the feet are told for; the other leg has them the other way round
    mixed: bool  # Whether athletes of both legs use it
    hurdles: tuple[LaidHurdle, ...]
    athletes: tuple[Served, ...]

    @property
    def lengths(self) -> tuple[float, ...]:
        """Phases, mark to mark [m]."""
        return tuple(b - a for a, b in itertools.pairwise(self.xs))


@dataclass(frozen=True)
class Station:
    """One thing to lay down on the walk."""

    lane: int
    x: float  # From the tape's zero along the runway, before rounding [m]
    reading: float  # On the tape, rounded [m]; below 0 on the other side of the zero
    # shown, side, gap: As printed; the way from the zero; from the station before
    shown: str
    side: str
    gap: str
    kind: str  # take-off, contact, landing, hurdle or pit
    labels: tuple[str, ...]  # Sets it serves
    what: str


@dataclass(frozen=True)
class SetOut:
    """A squad's whole set-out for one drill."""

    version: int
    drill: str
    title: str
    date: str
    venue: str
    ends: str
    phases: tuple[str, ...]  # Moves in order
    zero: str  # Where the tape's zero is held, on every lane
    system: System
    rounding: float  # How far a printed reading may be off the exact mark [m]
    tolerance: str
    search: str  # How far the sharing is the best one
    misfit: float  # [m^2]; and `bound`, what no sharing can be under (see `Sharing`)
    bound: float | None
    lanes: int
    lane_spacing: float
    width: float
    pit_width: float
    pit_length: float
    sets: tuple[LaidSet, ...]
    stations: tuple[Station, ...]  # Lane by lane, each walked away from the zero
    notes: tuple[Note, ...]  # About the set-out as a whole, then each athlete's warnings
    cautions: tuple[str, ...]
    doses: tuple[str, ...]
    # Athletes of the squad that the drill is closed to; `notes` tells of them too
    no_marks: tuple[NoMarks, ...] = ()

    @property
    def athletes(self) -> int:
        """How many athletes it serves."""
        return sum(len(s.athletes) for s in self.sets)
