"""How many contacts an athlete's session may hold: one ceiling, the athlete's own, for every screen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from layout.rules.rule import rule, source_of
from layout.rules.standing import YOUTH_AGE, Standing

BUDGET: Final[dict[str, tuple[int, int]]] = rule("budget")
BUDGET_SOURCE: Final = source_of("budget")
YOUTH_SETS: Final[int] = rule("youth_sets")
YOUTH_REPS: Final[int] = rule("youth_reps")
YOUTH_SESSIONS: Final[int] = rule("youth_sessions")
YOUTH_SOURCE: Final = source_of("youth_reps")
SESSIONS: Final[int] = rule("sessions")


@dataclass(frozen=True)
class Budget:
    """The contacts a session may hold. A ceiling: fewer is never too few.

    `low` is where the published ceilings for the level begin, 0 where the youth limit holds; `sets` a
    session and `reps`, contacts a set, are 0 where no rule limits them; `sessions` are a week's.
    """

    low: int
    most: int
    sets: int
    reps: int
    sessions: int
    who: str
    source: str

    @property
    def pair(self) -> tuple[int, int]:
        """`low` and `most`."""
        return self.low, self.most

    @property
    def text(self) -> str:
        """The ceiling as words that follow a number of contacts.

        >>> budget_of(Standing(12, "beginner", 0.0)).text
        'at most 30 in a session under 16, 3 sets of 10'
        >>> budget_of(Standing(20, "beginner", 0.0)).text
        'at most 100 in a session at beginner level'
        """
        sets = f", {self.sets} sets of {self.reps}" if self.sets else ""
        return f"at most {self.most} in a session {self.who}{sets}"


def budget_of(standing: Standing) -> Budget:
    """The budget of an athlete who counts so.

    Source: ACSM leaflet (repetitions read as contacts, ours); by level NSCA Essentials of Strength
    Training, from memory; see `rules.toml`.
    """
    if standing.young:
        most = YOUTH_SETS * YOUTH_REPS
        who = f"under {YOUTH_AGE}"
        return Budget(0, most, YOUTH_SETS, YOUTH_REPS, YOUTH_SESSIONS, who, YOUTH_SOURCE)
    low, most = BUDGET[standing.level]
    return Budget(low, most, 0, 0, SESSIONS, f"at {standing.level} level", BUDGET_SOURCE)
