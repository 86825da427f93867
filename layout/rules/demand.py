"""What a drill demands of an athlete, and to whom it is closed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from layout.rules.budget import YOUTH_REPS, YOUTH_SOURCE
from layout.rules.rule import source_of
from layout.rules.sources import said
from layout.rules.standing import YEARS_BY_LEVEL, YOUTH_AGE, Standing

INTENSITIES: Final = ("low", "moderate", "high", "very high")
SHOCK: Final = INTENSITIES[-1]
SHOCK_SOURCE: Final = source_of("youth_age")
PRACTICE: Final = said("practice")
ROWS: Final = {
    "any drill": (10, "beginner", "low"),
    "a run-up": (11, "beginner", "moderate"),
    "a hop from a run-up on the track": (12, "beginner", "moderate"),
    "hop, step and jump": (13, "intermediate", "high"),
    "over 6 strides": (13, "intermediate", "moderate"),
    "hurdles over the line": (13, "intermediate", "high"),
    "hops repeated": (13, "intermediate", "high"),
    "two hops in a row": (14, "intermediate", "high"),
    "three hops in a row": (15, "intermediate", "high"),
    "over 8 strides": (15, "intermediate", "high"),
    "over 12 strides": (16, "intermediate", "high"),
    "two hops in a row over hurdles": (16, "advanced", "high"),
    "three hops in a row over hurdles": (16, "advanced", "very high"),
    "hop, step and jump from a run-up": (16, "intermediate", "very high"),
}
"""Least age, level and intensity by what a run holds (ours, no more than the catalogue's drills ask).
Very high is shock level; that a whole jump from a run-up counts as such is our reading."""


@dataclass(frozen=True)
class Demand:
    """The least an athlete must be for a drill, and its intensity.

    `source` is that of the age [years], `why` what in the run asks for it, empty where somebody asked;
    `contacts` are one run's, 0 where they do not matter.
    """

    youngest: int
    level: str
    intensity: str
    source: str = "ours"
    contacts: int = 0
    why: str = ""

    def raised(self, other: Demand) -> Demand:
        """The more careful of two in everything."""
        older = other if other.youngest > self.youngest else self
        return Demand(
            older.youngest,
            max(self.level, other.level, key=list(YEARS_BY_LEVEL).index),
            max(self.intensity, other.intensity, key=INTENSITIES.index),
            older.source,
            max(self.contacts, other.contacts),
            older.why,
        )


def _holds(moves: Sequence[str], strides: int, track: bool, over: bool) -> dict[str, bool]:
    """Which rows of `ROWS` a run falls under."""
    hops = moves.count("hop")
    row = max((len(list(g)) for move, g in groupby(moves) if move == "hop"), default=0)
    whole = {"hop", "step", "jump"} <= set(moves)
    return {
        "any drill": True,
        "a run-up": strides > 0,
        "a hop from a run-up on the track": strides > 0 and hops > 0 and track,
        "hop, step and jump": whole,
        "over 6 strides": strides > 6,
        "hurdles over the line": over,
        "hops repeated": hops > 1,
        "two hops in a row": row > 1,
        "three hops in a row": row > 2,
        "over 8 strides": strides > 8,
        "over 12 strides": strides > 12,
        "two hops in a row over hurdles": row > 1 and over,
        "three hops in a row over hurdles": row > 2 and over,
        "hop, step and jump from a run-up": whole and strides > 0,
    }


def demand_of(moves: Sequence[str], strides: int, track: bool, over: bool) -> Demand:
    """What a run demands by what it holds: all its moves, strides of the run-up (0 from standing), whether
    the last landing is on the track, and whether hurdles stand over the line.

    >>> demand_of(["hop", "step", "jump"], 5, False, False).youngest
    16
    """
    asked = Demand(0, "beginner", "low", contacts=len(moves) + (strides > 0))
    for name, holds in _holds(moves, strides, track, over).items():
        if holds:
            asked = asked.raised(Demand(*ROWS[name], why=name))
    return asked


@dataclass(frozen=True)
class Reason:
    """Why something is closed: a stable short name, a sentence, and where the rule is from."""

    code: str
    text: str
    source: str


def reasons(standing: Standing, demand: Demand, name: str = "the athlete") -> tuple[Reason, ...]:
    """Every reason why a drill is closed to an athlete; none where it is open.

    Source: nothing of shock level for the young (Allerheiligen & Rogers 1995); contacts a set (ACSM
    leaflet, read strictly); ages ours or the drill's.
    """
    out = []
    unsure = standing.taken("born") or standing.taken("on")
    who = f"{name} counts as {standing.age}." + (f" {unsure}" if unsure else "")
    if standing.young and demand.intensity == SHOCK:
        text = f"Very hard contacts, from {YOUTH_AGE} years; {who}"
        out.append(Reason("shock", text, SHOCK_SOURCE))
    elif standing.age < demand.youngest:
        why = f" ({demand.why})" if demand.why else ""
        out.append(Reason("too-young", f"From {demand.youngest} years{why}; {who}", demand.source))
    if standing.young and demand.contacts > YOUTH_REPS:
        most = f"at most {YOUTH_REPS} in a set under {YOUTH_AGE}"
        text = f"{demand.contacts} contacts a run, {most}; {who}"
        out.append(Reason("youth-run", text, YOUTH_SOURCE))
    levels = list(YEARS_BY_LEVEL)
    if levels.index(standing.level) < levels.index(demand.level):
        unsure = standing.taken("level")
        text = f"For {demand.level} athletes; {name} counts as {standing.level}."
        out.append(Reason("level", text + (f" {unsure}" if unsure else ""), PRACTICE))
    return tuple(out)


def despite_text(why: Reason, despite: str) -> str:
    """Why a drill is closed, and who goes on with it all the same."""
    return f"{why.text} Done despite this: {despite}".rstrip(".") + "."


def closed_to(standing: Standing, demand: Demand, name: str = "the athlete") -> Reason | None:
    """The first of the `reasons` why a drill is closed to an athlete; None where it is open."""
    return next(iter(reasons(standing, demand, name)), None)
