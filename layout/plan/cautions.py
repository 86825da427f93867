"""Plain cautions that go with every plan, sheet and page."""

from __future__ import annotations

from typing import Final

from layout.rules.standing import YOUTH_AGE

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


def in_short(age: int | None) -> str:
    """The cautions that go under every picture, in a line or two.

    Parameters
    ----------
    age : int or None
        [years]; unknown counts as young.

    Returns
    -------
    str
    """
    young = age is None or age < YOUTH_AGE
    return " ".join((IN_SHORT, *((YOUTH_IN_SHORT,) if young else ()), DEFER_IN_SHORT))


def cautions_for(own: tuple[str, ...], age: int | None) -> tuple[str, ...]:
    """All cautions of one plan: general, youth where it applies or is unknown, the drill's own.

    Parameters
    ----------
    own : tuple of str
        The drill's.
    age : int or None
        [years]

    Returns
    -------
    tuple of str
    """
    youth = (YOUTH,) if age is None or age < YOUTH_AGE else ()
    return (*GENERAL, *youth, *own, DEFER)
