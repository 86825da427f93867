"""What a solve tells while it runs, when it ends, and when it finds nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from animate.refused import Refused

Progress = Callable[[int, float], None]
"""Told the iteration and the seconds since the start."""


class NotFound(Refused):
    """The solver did not find a motion; says how far it got."""


@dataclass(frozen=True)
class Outcome:
    """How a solve went."""

    status: str
    iterations: int
    seconds: float
    rounds: int = 1
