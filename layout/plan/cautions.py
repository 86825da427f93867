"""Plain cautions that go with every plan, sheet and page."""

from __future__ import annotations

from typing import Final

from layout.rules.standing import Standing

GENERAL: Final = (
    "Warm up fully first. Stop at once on any pain.",
    "Grass, rubber track or a sprung floor; never concrete or tile.",
    "Leave 48 to 72 hours before the next jumping session.",
    "A triple-jump contact loads one leg with many body weights: 15 were measured in the step.",
)
"""Surface and recovery: NSCA Essentials of Strength Training (from memory); load: Perttunen et al.
2000."""
YOUTH: Final = (
    "Under 16: twice a week at most, never on consecutive days, 1 to 3 short sets, no shock-level "
    "jumps."
)
"""ACSM leaflet; Allerheiligen & Rogers 1995."""
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

    Returns
    -------
    tuple of str
    """
    youth = (YOUTH,) if stands is None or stands.young else ()
    return (*GENERAL, *youth, *own, DEFER)
