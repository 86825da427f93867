"""What an athlete's file says that is hardly so: asked about, never refused."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from layout.athlete.athlete import Athlete
from layout.words.note import Note
from layout.words.split import phases
from layout.words.trade import MOVES

LONGEST: Final = {
    "hop": (6.33, "Yang 1995"),
    "step": (5.22, "men's record jump of 1995, from memory"),
    "jump": (7.02, "men's record jump of 1995, from memory"),
}
"""Longest phases among the published jumps at hand [m], and whose."""
MASS_INDEX: Final = (12.5, 32.0)
"""Mass over stature squared beyond which it is asked about [kg/m2] (ours, children included)."""


def questions(athlete: Athlete) -> Iterator[Note]:
    """Questions about an athlete's file, each with what answers it."""
    shown = [("target", "split", phases(athlete.target, athlete.split))]
    if athlete.jumped and athlete.best_phases:
        shown.append(("best", "phases of the best", phases(athlete.jumped, athlete.best_phases)))
    for total, split, lengths in shown:
        for move, length in zip(MOVES, lengths, strict=True):
            most, whose = LONGEST[move]
            if length > most:
                text = (
                    f"A {move} of {length:.2f} m is longer than the longest published one at hand, "
                    f"{most:.2f} m. Is that right? Put the {total} or the {split} right if not."
                )
                yield Note("is-that-right", text, whose)
    index, (low, high) = athlete.mass / athlete.stature**2, MASS_INDEX
    if not low <= index <= high:
        text = (
            f"{athlete.mass:g} kg at {athlete.stature:.2f} m is {index:.0f} kg/m2, outside {low:g} to "
            f"{high:g}. Is that right? Put the mass or the height right if not."
        )
        yield Note("is-that-right", text, "ours")
    if athlete.best and athlete.target < athlete.best - 0.005:
        text = (
            f"The target of {athlete.target:.2f} m is less than the best of {athlete.best:.2f} m. "
            "Is that right? Give a target if not."
        )
        yield Note("target-below-best", text, "ours")
