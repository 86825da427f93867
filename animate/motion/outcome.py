"""What a solve tells while it runs, what it ends with, and when it finds nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from animate.refused import Refused

if TYPE_CHECKING:
    from animate.motion.motion import Motion
    from animate.motion.solver.interior import Point

Progress = Callable[[int, int], None]
"""Told how many steps are done and how many there may be: a guess that grows."""


class NotFound(Refused):
    """The solver did not find a motion; says how far it got."""


class Stopped(Refused):
    """The caller did not want the motion any more."""


@dataclass(frozen=True, eq=False)
class Outcome:
    """A motion, and where the solver stood in the end: the start of one for the next setting.

    point: unknowns and multipliers.
    labels: the rows they belong to.
    steps: of the solver.
    """

    motion: Motion
    point: Point
    labels: tuple[str, ...]
    steps: int
