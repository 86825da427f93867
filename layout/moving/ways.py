"""Two ways of doing a drill side by side: which, what a drill lacks for it, and what differs."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from animate.body.body import LEG
from animate.motion.chain import Settings
from animate.motion.compare import Difference, compare
from animate.motion.motion import Motion
from layout.moving.clip import has_step_contact, rows_beside, step_contact
from layout.plan.value import Plan

OF: Final = ("knees", "lever", "hops", "arms")
KNEES: Final = (0.28, 0.50)
LEVER: Final = (math.radians(55.0), math.radians(115.0))
"""Knees closer and further apart, in leg lengths, to the whole centimetre; long and short lever [rad]
(ours)."""
HOPS: Final = ("low", "natural")


def gap_of(plan: Plan, share: float) -> float:
    """A knee gap, so many leg lengths, to the whole centimetre [m]."""
    return round(share * LEG * plan.who.stature, 2)


def ways(of: str, base: Settings, plan: Plan) -> tuple[tuple[str, Settings], tuple[str, Settings]]:
    """The two ways that a comparison shows, by name."""
    if of == "knees":
        one, two = (replace(base, knee_gap=gap_of(plan, share)) for share in KNEES)
        return ("Knees closer", one), ("Knees apart", two)
    if of == "lever":
        one, two = (replace(base, knee_bend=bend) for bend in LEVER)
        return ("Long lever", one), ("Short lever", two)
    if of == "arms":
        one, two = replace(base, arms="alternate"), replace(base, arms="together")
        return ("Arms alternate", one), ("Arms together", two)
    return ("Low hop", replace(base, arc="low")), ("Natural hop", replace(base, arc="natural"))


def lacking(of: str, plan: Plan) -> str:
    """What a drill has not that two ways of it would differ in; empty where it has all."""
    if of == "arms":
        return ""
    if of == "hops":
        return "" if any(f.phase == "hop" for f in plan.flights) else "hops"
    return "" if has_step_contact(plan) else "step contact"


def differences(one: Motion, two: Motion) -> list[tuple[str, str, str, str]]:
    """Measures of two step contacts: name and instant, both values, and what the second has more."""
    found = measured(one, two)
    rows = rows_beside(one, two, [d.measure.name for d in found])
    return [
        (f"{row.name}, {d.measure.at}", *row.texts()) for row, d in zip(rows, found, strict=True)
    ]


def measured(one: Motion, two: Motion) -> tuple[Difference, ...]:
    """Measures of two step contacts, as figures."""
    return compare(step_contact(one).reading, step_contact(two).reading)
