"""What a coach saw on the present rung: read from options or from a small TOML file."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from layout.training.rungs import SOUNDS
from layout.words.faults import BadInput, refuse
from layout.words.reading import Fields, line_of, number, read_count, read_number, read_toml, whole
from layout.words.units import parse_length

LEAST_RUNS: Final = 4
"""Fewer runs than this say little of how often an athlete meets the marks (ours)."""
FIELDS: Final = ("at", "hit", "sound", "contact", "step_share", "knee_gap", "sessions", "pain")
"""What an observation file may hold."""


@dataclass(frozen=True)
class Observed:
    """What was seen by the day the placing is for, to which ages are counted; None where it was not.

    `at` is the rung the athlete is on, None places by level; `hit` runs with every contact within the
    rung's tolerance, and all runs; `sound` the loudest contact that came more than once; `contact` time on
    the ground [s]; `step_share` of a whole jump [-]; `knee_gap` free knee behind the support knee at the
    step contact [m]; `sessions` done on this rung.
    """

    on: datetime.date
    at: str | None = None
    hit: tuple[int, int] | None = None
    sound: str | None = None
    contact: float | None = None
    step_share: float | None = None
    knee_gap: float | None = None
    sessions: int | None = None
    pain: bool = False

    def __post_init__(self) -> None:
        if self.hit is not None and not 0 <= self.hit[0] <= self.hit[1]:
            raise refuse("hit", "runs on the marks of all runs needed, such as 4/5", self.hit)
        if self.sound is not None and self.sound not in SOUNDS:
            raise refuse("sound", f"must be one of {', '.join(SOUNDS)}", self.sound)
        for field, value, low, high in (
            ("contact", self.contact, 0.08, 1.0),
            ("step_share", self.step_share, 0.1, 0.6),
            ("knee_gap", self.knee_gap, -0.5, 1.0),
            ("sessions", self.sessions, 0, 500),
        ):
            if value is not None:
                number(field, value, low, high)

    @property
    def nothing(self) -> bool:
        """Whether nothing was seen of the athlete on the rung."""
        seen = (self.hit, self.sound, self.contact, self.step_share, self.knee_gap)
        return all(v is None for v in seen) and not self.pain


def parse_hit(value: Any) -> tuple[int, int]:
    """Runs on the marks of all runs, as "4/5" or "4 of 5".

    >>> parse_hit("4 of 5")
    (4, 5)
    """
    rule = "runs on the marks of all runs needed, such as 4/5"
    match = re.fullmatch(r" *([0-9]{1,4}) *(?:/|of) *([0-9]{1,4}) *", str(value))
    if not isinstance(value, str) or not match or not int(match[2]):
        raise refuse("hit", rule, value)
    made, of = int(match[1]), int(match[2])
    if made > of:
        raise refuse("hit", rule, value)
    return made, of


def _figure(
    key: str, low: float, high: float, unit: str, over: float = 1.0
) -> Callable[[Any], float]:
    """A number, also as text with a decimal comma and its unit."""

    def parse(value: Any) -> float:
        if isinstance(value, str):
            return read_number(key, value, low, high, unit) / over
        return number(key, value, low, high) / over

    return parse


def _sessions(value: Any) -> int:
    return (read_count if isinstance(value, str) else whole)("sessions", value, 0, 500)


def _pain(value: Any) -> bool:
    if not isinstance(value, bool):
        raise refuse("pain", "must be true or false", value)
    return value


def observed_from(
    table: Mapping[str, Any],
    on: datetime.date,
    file: str = "",
    text: str = "",
    options: frozenset[str] = frozenset(),
) -> Observed:
    """What was seen from a table, every fault noted before refusing; `options` came from the command line.

    hit ("4/5"), sound, contact [s], step_share [per cent], knee_gap (a length), sessions, pain, at.
    """
    fields = Fields(table, file, text, options=options)
    at = fields.string("at", 60, None)
    hit = fields.via("hit", parse_hit, None)
    sound = fields.choice("sound", SOUNDS, None)
    contact = fields.via("contact", _figure("contact", 0.08, 1.0, "s"), None)
    share = fields.via("step_share", _figure("step_share", 10.0, 60.0, "%", 100.0), None)
    gap = fields.via(
        "knee_gap", lambda v: parse_length(v, "knee_gap", lowest=-0.5, highest=1.0), None
    )
    sessions = fields.via("sessions", _sessions, None)
    pain = fields.via("pain", _pain, False)
    fields.done()
    return Observed(on, at, hit, sound, contact, share, gap, sessions, pain)


def read_seen(
    path: Path | None, on: datetime.date, changes: Mapping[str, Any] | None = None
) -> Observed:
    """What was seen from a file, single fields replaced from the command line."""
    table, text = read_toml(path) if path is not None else ({}, "")
    changes = changes or {}
    return observed_from(
        {**table, **changes}, on, "" if path is None else str(path), text, frozenset(changes)
    )


def in_seen(error: BadInput, path: Path, changes: Mapping[str, Any]) -> BadInput:
    """Faults of what a file said, found only later, placed in it; those of options stay as they are."""
    text = read_toml(path)[1]
    return BadInput(
        replace(f, file=str(path), line=line_of(text, f.field))
        if not f.file and f.field in FIELDS and f.field not in changes
        else f
        for f in error.faults
    )
