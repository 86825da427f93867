"""Contact and flight times from the frames in which a foot comes down and is off again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from animate.motion.measure_table import MEASURE, Measure
from layout.words.faults import refuse

ENDS: Final = ("down", "off")
MOST_EVENTS: Final = 40
SLOWEST: Final = 64.0
"""A film is played at most so many times slower than it was taken (ours)."""
LONGEST: Final = {"contact_time": 0.6, "flight_time": 1.5}
"""Longer than this is no contact or flight of a jump [s] (ours)."""


@dataclass(frozen=True)
class Event:
    """The first frame in which a foot is on the ground, or off it.

    end: of `ENDS`. at: the frame's time [s]. gap: since the frame before [s].
    """

    end: str
    at: float
    gap: float


@dataclass(frozen=True)
class Span:
    """One contact or flight: what it is, how long, and the most it can be off by [s]."""

    measure: Measure
    value: float
    margin: float
    odd: str = ""  # what is unlikely of it


def spans(events: Sequence[Event], slower: float = 1.0) -> tuple[Span, ...]:
    """Contact and flight times between events that follow each other.

    What begins in a frame began somewhere since the frame before, so a time is that between the middles
    of both gaps, and its margin half of either: it is never passed while the rate holds.

    slower: how many times slower the film plays than it was taken.
    Refused: more events than `MOST_EVENTS`, two at one time, a foot down or off twice running.
    """
    if not 1.0 <= slower <= SLOWEST:
        raise refuse("slower", f"must be 1 to {SLOWEST:g} times", slower)
    if len(events) > MOST_EVENTS:
        raise refuse("frames", f"at most {MOST_EVENTS} chosen frames allowed", len(events))
    out = []
    for a, b in pairwise(sorted(events, key=lambda e: e.at)):
        if a.end == b.end:
            words = "comes down" if a.end == "down" else "is off"
            raise refuse("frames", f"the foot {words} twice running; the other end between needed")
        if b.at - a.at < 1e-6:
            raise refuse("frames", "one frame cannot be both ends")
        name = "contact_time" if a.end == "down" else "flight_time"
        value = ((b.at - b.gap / 2) - (a.at - a.gap / 2)) / slower
        odd = ""
        if value > LONGEST[name]:
            odd = "longer than any of a jump: slow motion, or a wrong frame?"
        out.append(Span(MEASURE[name], value, (a.gap + b.gap) / 2 / slower, odd))
    return tuple(out)
