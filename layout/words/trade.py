"""The few words that files, options and texts share."""

from __future__ import annotations

from typing import Final, Literal

Leg = Literal["right", "left"]
Level = Literal["beginner", "intermediate", "advanced"]
LEVELS: Final = ("beginner", "intermediate", "advanced")
LEGS: Final = ("right", "left")
ARC_WORDS: Final = ("low", "natural", "high")
MOVES: Final = ("hop", "step", "jump")
"""A hop lands on the same leg, a step on the other, a jump on both feet."""
SLUG: Final = "abcdefghijklmnopqrstuvwxyz0123456789-"
"""Letters of a drill's name."""
