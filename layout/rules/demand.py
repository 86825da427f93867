"""What a drill demands of an athlete, and to whom it is closed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from layout.rules.standing import YEARS_BY_LEVEL, YOUTH_AGE, Standing

INTENSITIES: Final = ("low", "moderate", "high", "very high")
SHOCK: Final = INTENSITIES[-1]
SHOCK_SOURCE: Final = "Allerheiligen & Rogers 1995"
PRACTICE: Final = "common practice, no source"


@dataclass(frozen=True)
class Demand:
    """The least an athlete must be for a drill.

    Attributes
    ----------
    youngest : int
        [years]
    level : {"beginner", "intermediate", "advanced"}
    intensity : {"low", "moderate", "high", "very high"}
    source : str
        Of the age.
    """

    youngest: int
    level: str
    intensity: str
    source: str = "ours"


@dataclass(frozen=True)
class Reason:
    """Why something is closed: a stable short name, a sentence, and where the rule is from."""

    code: str
    text: str
    source: str


def closed_to(standing: Standing, demand: Demand, name: str = "the athlete") -> Reason | None:
    """Why a drill is closed to an athlete; None where it is open.

    Parameters
    ----------
    standing : Standing
    demand : Demand
    name : str
        Of the athlete, for the sentence.

    Source: nothing of shock level under 16 (Allerheiligen & Rogers 1995); ages ours or the drill's.
    """
    unsure = standing.taken("born") or standing.taken("on")
    who = f"{name} counts as {standing.age}." + (f" {unsure}" if unsure else "")
    if standing.young and demand.intensity == SHOCK:
        return Reason("shock", f"Very hard contacts, from {YOUTH_AGE} years; {who}", SHOCK_SOURCE)
    if standing.age < demand.youngest:
        return Reason("too-young", f"From {demand.youngest} years; {who}", demand.source)
    levels = list(YEARS_BY_LEVEL)
    if levels.index(standing.level) < levels.index(demand.level):
        unsure = standing.taken("level")
        text = f"For {demand.level} athletes; {name} counts as {standing.level}."
        return Reason("level", text + (f" {unsure}" if unsure else ""), PRACTICE)
    return None
