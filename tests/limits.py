"""Where a thing begins to be true: tests hold it against the rule's own value."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def flips(true: Callable[[float], bool], low: float, high: float, steps: int = 22) -> float:
    """Where between two values an answer turns, by halving; it must turn."""
    first = true(low)
    assert true(high) != first, f"the same at {low} and {high}: {first}"
    for _ in range(steps):
        middle = (low + high) / 2.0
        low, high = (middle, high) if true(middle) == first else (low, middle)
    return (low + high) / 2.0


def taken_from_to(take: Callable[[Any], object], low: float, high: float, step: float = 0) -> None:
    """Both ends are taken; what is a little beyond either is refused."""
    whole = isinstance(low, int) and isinstance(high, int)
    off = step or (1 if whole else 0.01 * (high - low))
    for value in (low, high):
        take(value)
    for value in (low - off, high + off):
        with pytest.raises(ValueError, match=r"."):
            take(value)
