"""What a solve tells while it runs, and when it finds nothing."""

from __future__ import annotations

from collections.abc import Callable

from animate.refused import Refused

Progress = Callable[[int, float], None]
"""Told the iteration and the seconds since the start."""


class NotFound(Refused):
    """The solver did not find a motion; says how far it got."""
