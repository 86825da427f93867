"""What a coach saw on the present rung, from options or a small TOML file, and what a rung asks.

It is met, missed in shape, or not enough to go up.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from layout.athlete.athlete import Athlete
from layout.rules.demand import PRACTICE
from layout.rules.load import FAST_SOURCE, LONGEST_FAST_CONTACT
from layout.training.rungs import SOUNDS, Rung, Wants
from layout.words.faults import BadInput, refuse
from layout.words.note import Note
from layout.words.reading import (
    Fields,
    line_of,
    number,
    number_or_text,
    read_count,
    read_toml,
    whole,
)

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
    made, of = (int(match[1]), int(match[2])) if match and isinstance(value, str) else (0, 0)
    if not of or made > of:
        raise refuse("hit", rule, value)
    return made, of


def _share(value: Any) -> float:
    return number_or_text("step_share", value, 10.0, 60.0, "%") / 100.0


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
    contact = fields.via("contact", lambda v: number_or_text("contact", v, 0.08, 1.0, "s"), None)
    share = fields.via("step_share", _share, None)
    gap = fields.length("knee_gap", -0.5, 1.0, None)
    counted = read_count if isinstance(table.get("sessions"), str) else whole
    sessions = fields.via("sessions", lambda v: counted("sessions", v, 0, 500), None)
    pain = fields.flag("pain")
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


# --- against what a rung asks ----------------------------------------------------------------------


def cm(length: float) -> str:
    """A short length for a coach, in whole centimetres.

    >>> cm(0.996)
    '100 cm'
    """
    return f"{100 * length:.0f} cm"


def version_text(rung: Rung) -> str:
    """The drill and what is changed of it: "hop-step-sand, natural hops, 6 strides"."""
    changed = rung.choices
    out = [rung.drill.slug]
    if changed.arc:
        out.append(f"{changed.arc} hops")
    if changed.cycles:
        out.append(f"{changed.cycles} times" if changed.cycles > 1 else "once")
    if changed.strides:
        out.append(f"{changed.strides} strides")
    if changed.hurdle:
        out.append(f"hurdles {cm(changed.hurdle)}")
    return ", ".join(out)


def asked(wants: Wants, on: Rung) -> tuple[str, ...]:
    """What must be seen on one rung to climb to the next, as a coach reads it."""
    out = []
    if wants.hit is not None:
        close = cm(on.tolerance)
        out.append(f"{100 * wants.hit:.0f} % of runs with every mark met within {close}")
    if wants.sound is not None:
        out.append("quiet contacts" if wants.sound == "quiet" else f"no louder than {wants.sound}")
    if wants.contact is not None:
        out.append(f"contacts up to {wants.contact:.2f} s, if timed")
    if wants.knee_gap is not None:
        out.append(f"free knee {cm(wants.knee_gap)} or more behind at the step, if filmed")
    if wants.step_share is not None:
        low, high = (100 * s for s in wants.step_share)
        out.append(f"step {low:g} to {high:g} % of a whole jump")
    return tuple(out)


@dataclass(frozen=True)
class Judged:
    """What was met, what missed in shape (knee gap, step share), and all else that keeps from going up."""

    met: tuple[Note, ...]
    shape: tuple[Note, ...]
    held: tuple[Note, ...]


def _hit_text(hit: tuple[int, int]) -> str:
    return f"{hit[0]} of {hit[1]} runs on the marks"


def judge(wants: Wants, seen: Observed, athlete: Athlete, sessions: int) -> Judged:
    """What was seen against what the next rung asks, and the sessions its present one has.

    Hits and sound must be known, and the step share where it is asked (else that of the best jump is
    taken); contact time and knee gap count where they are, sessions where those done are known.
    """
    met, shape, held = list[Note](), list[Note](), list[Note]()

    def put(into: list[Note], code: str, text: str, source: str = "ours") -> None:
        into.append(Note(code, text, source, grave=into is not met))

    if wants.hit is not None:
        least = f"{100 * wants.hit:.0f} %"
        if seen.hit is None:
            put(held, "hit", f"How many runs met the marks is not given; {least} asked.")
        elif seen.hit[1] < LEAST_RUNS:
            put(held, "hit", f"{_hit_text(seen.hit)}: too few to tell; {LEAST_RUNS} runs at least.")
        elif seen.hit[0] < wants.hit * seen.hit[1] - 1e-9:
            put(held, "hit", f"{_hit_text(seen.hit)}; {least} asked.")
        else:
            put(met, "hit", f"{_hit_text(seen.hit)}; {least} asked.")
    if wants.sound is not None:
        if seen.sound is None:
            put(held, "sound", "How the contacts sound is not given: quiet, firm or loud.")
        elif SOUNDS.index(seen.sound) > SOUNDS.index(wants.sound):
            put(held, "sound", f"Contacts are {seen.sound}; {wants.sound} asked.", PRACTICE)
        else:
            put(met, "sound", f"Contacts are {seen.sound}.", PRACTICE)
    if wants.contact is not None and seen.contact is not None:
        slow = seen.contact > wants.contact + 1e-9
        text = f"On the ground {seen.contact:.2f} s; {wants.contact:.2f} s or less asked."
        source = FAST_SOURCE if wants.contact == LONGEST_FAST_CONTACT else "ours"
        put(held if slow else met, "contact", text, source)
    if wants.knee_gap is not None and seen.knee_gap is not None:
        near = seen.knee_gap < wants.knee_gap - 1e-9
        text = f"Free knee {cm(seen.knee_gap)} behind at the step contact; "
        put(shape if near else met, "knee-gap", f"{text}{cm(wants.knee_gap)} or more asked.")
    if wants.step_share is not None:
        share, of = seen.step_share, ""
        if share is None and athlete.best_phases is not None:
            share, of = athlete.best_phases.shares[1], " in the best jump"
        low, high = wants.step_share
        band = f"{100 * low:g} to {100 * high:g} % asked."
        if share is None:
            text = f"The step's share is not given; {band}"
            put(held, "step-share", text, PRACTICE)
        else:
            off = not low - 1e-9 <= share <= high + 1e-9
            text = f"The step is {100 * share:.1f} %{of}; {band}"
            put(shape if off else met, "step-share", text, f"{PRACTICE}; band ours")
    if seen.sessions is not None and seen.sessions < sessions:
        put(held, "sessions", f"{seen.sessions} of {sessions} sessions done on this rung.")
    return Judged(tuple(met), tuple(shape), tuple(held))


def falls(rung: Rung, seen: Observed) -> list[Note]:
    """What was seen that sends an athlete down from a rung."""
    out = []
    down = rung.down
    if down.sound and seen.sound and SOUNDS.index(seen.sound) >= SOUNDS.index(down.sound):
        out.append(Note("sound", f"Contacts are {seen.sound}: too hard for now.", PRACTICE))
    made, of = seen.hit or (0, 0)
    if down.hit is not None and of >= LEAST_RUNS and made < down.hit * of - 1e-9:
        text = f"Only {_hit_text((made, of))}; under {100 * down.hit:.0f} % goes down."
        out.append(Note("hit", text, "ours"))
    if down.contact and seen.contact and seen.contact > down.contact + 1e-9:
        text = f"On the ground {seen.contact:.2f} s: over {down.contact:.2f} s is no longer a fast rebound."
        source = FAST_SOURCE if down.contact == LONGEST_FAST_CONTACT else "ours"
        out.append(Note("contact", text, source))
    return out
