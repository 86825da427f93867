"""The few words that files, options and texts share."""

from __future__ import annotations

import datetime
from typing import Final, Literal

Leg = Literal["right", "left"]
Level = Literal["beginner", "intermediate", "advanced"]
LEVELS: Final = ("beginner", "intermediate", "advanced")
LEGS: Final = ("right", "left")
ARC_WORDS: Final = ("low", "natural", "high")
MOVES: Final = ("hop", "step", "jump")
"""A hop lands on the same leg, a step on the other, a jump on both feet."""
SLUG_RULE: Final = "small letters, digits and hyphens needed"


def is_slug(name: str) -> bool:
    """Whether a drill or rung may be called that."""
    return bool(name) and all(c in "abcdefghijklmnopqrstuvwxyz0123456789-" for c in name)


def day_text(on: datetime.date) -> str:
    """A day as "Mon 4 May"; the same in every language setting of the machine."""
    days = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{days[on.weekday()]} {on.day} {months[on.month - 1]}"


def date_text(on: datetime.date) -> str:
    """A day as "Mon 4 May 2026"."""
    return f"{day_text(on)} {on.year}"
