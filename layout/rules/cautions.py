"""Plain cautions that go with every plan, sheet and page."""

from __future__ import annotations

from typing import Final

from layout.rules.budget import YOUTH_REPS, YOUTH_SESSIONS, YOUTH_SETS
from layout.rules.ground import HARD_WORDS
from layout.rules.load import REST, STEP_PEAK
from layout.rules.rule import source_of
from layout.rules.standing import YOUTH_AGE, Standing

TIMES: Final = {1: "once", 2: "twice"}.get(YOUTH_SESSIONS, f"{YOUTH_SESSIONS} times")

GENERAL: Final = (
    "Warm up fully first. Stop at once on any pain.",
    f"Grass, rubber track or a sprung floor; never {', '.join(HARD_WORDS[:-1])} "
    f"or {HARD_WORDS[-1]} (from memory).",
    f"{REST[0]} to {REST[1]} hours between jumping sessions: {source_of('rest')}.",
    f"One leg bears many body weights: a peak of {STEP_PEAK.low:g} in the step contact "
    f"({STEP_PEAK.source}).",
)
YOUTH: Final = (
    f"Under {YOUTH_AGE}: {TIMES} a week at most, never on days in a row, 1 to {YOUTH_SETS} sets (ACSM "
    f"leaflet) of at most {YOUTH_REPS} contacts (our reading); no shock-level jumps "
    "(Allerheiligen & Rogers 1995)."
)
DEFER: Final = (
    "The governing body's rules, the venue's rules and a licensed coach's or doctor's word "
    "come first."
)

COMPUTED: Final = "Computed by a model, not measured on the athlete."
IN_SHORT: Final = "Warm up first; stop at once on any pain."
YOUTH_IN_SHORT: Final = f"Under {YOUTH_AGE}: {TIMES} a week at most, 1 to {YOUTH_SETS} short sets."
DEFER_IN_SHORT: Final = "Rules and a licensed coach's or doctor's word come first."
"""The same for what has room for a line or two: clips, stills, comparisons, the poster."""

PAIN: Final = "Pain is put down. Stop at once, and jump no more today."
"""Said when a coach puts down that there was pain (ours)."""

UNTIL_GONE: Final = "no jumping until it is gone and a doctor or physiotherapist agrees"
"""What pain means for the days after (common practice, no source)."""


def in_short(stands: Standing, despite: str = "") -> str:
    """The cautions that go under every picture, in a line or two; a plan's `despite` comes first."""
    youth = YOUTH_IN_SHORT if stands.young else ""
    return " ".join(filter(None, (despite, IN_SHORT, youth, DEFER_IN_SHORT)))


def cautions_for(own: tuple[str, ...], stands: Standing | None) -> tuple[str, ...]:
    """All cautions of one plan: general, youth where it applies or nobody is known, the drill's own."""
    youth = (YOUTH,) if stands is None or stands.young else ()
    return (*GENERAL, *youth, *own, DEFER)
