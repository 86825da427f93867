"""Plain cautions that go with every plan, sheet and page."""

from __future__ import annotations

from typing import Final

from layout.rules.load import REST, STEP_PEAK
from layout.rules.standing import YOUTH_AGE, YOUTH_REPS, YOUTH_SESSIONS, YOUTH_SETS, Standing

TIMES: Final = {1: "once", 2: "twice", 3: "three times"}

GENERAL: Final = (
    "Warm up fully first. Stop at once on any pain.",
    "Grass, rubber track or a sprung floor; never concrete or tile (from memory).",
    f"{REST[0]} to {REST[1]} hours between jumping sessions (NSCA Essentials, from memory).",
    f"One leg bears many body weights: a peak of {STEP_PEAK.low:g} in the step contact "
    f"({STEP_PEAK.source}).",
)
"""Surface and recovery: NSCA Essentials of Strength Training (from memory)."""
YOUTH: Final = (
    f"Under {YOUTH_AGE}: {TIMES[YOUTH_SESSIONS]} a week at most, never on days in a row, 1 to "
    f"{YOUTH_SETS} sets (ACSM leaflet) of at most {YOUTH_REPS} contacts (our reading); no shock-level "
    "jumps (Allerheiligen & Rogers 1995)."
)
DEFER: Final = (
    "The governing body's rules, the venue's rules and a licensed coach's or doctor's word "
    "come first."
)

COMPUTED: Final = "Computed by a model, not measured on the athlete."
IN_SHORT: Final = "Warm up first; stop at once on any pain."
YOUTH_IN_SHORT: Final = "Under 16: twice a week at most, 1 to 3 short sets."
DEFER_IN_SHORT: Final = "Rules and a licensed coach's or doctor's word come first."
"""The same for what has room for a line or two: clips, stills, comparisons, the poster."""


def in_short(stands: Standing, despite: str = "") -> str:
    """The cautions that go under every picture, in a line or two.

    Parameters
    ----------
    stands : Standing
    despite : str
        The plan's, which comes first.
    """
    return " ".join(
        (
            *((despite,) if despite else ()),
            IN_SHORT,
            *((YOUTH_IN_SHORT,) if stands.young else ()),
            DEFER_IN_SHORT,
        )
    )


def cautions_for(own: tuple[str, ...], stands: Standing | None) -> tuple[str, ...]:
    """All cautions of one plan: general, youth where it applies or is unknown, the drill's own.

    Parameters
    ----------
    own : tuple of str
        The drill's.
    stands : Standing or None
        None where nobody is known: the youth limits are said.
    """
    youth = (YOUTH,) if stands is None or stands.young else ()
    return (*GENERAL, *youth, *own, DEFER)
