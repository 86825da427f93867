"""Signs of sets of marks: shapes that differ in outline, for those who see no colours."""

from __future__ import annotations

from math import cos, pi, sin
from typing import Final

from layout.page.page import Line, Point


def _ring(corners: int, turn: float, inner: float = 1.0) -> tuple[Point, ...]:
    """Corners round a middle, every second one at `inner` of the radius."""
    return tuple(
        (sin(turn + 2 * pi * i / corners) * r, -cos(turn + 2 * pi * i / corners) * r)
        for i in range(corners)
        for r in ((1.0, inner)[i % 2] if inner != 1.0 else 1.0,)
    )


def _plus(arm: float) -> tuple[Point, ...]:
    a = arm
    return ((-a, -1), (a, -1), (a, -a), (1, -a), (1, a), (a, a), (a, 1), (-a, 1), (-a, a), (-1, a),
            (-1, -a), (-a, -a))  # fmt: skip


SIGNS: Final[tuple[tuple[str, tuple[Point, ...]], ...]] = (
    ("disc", _ring(20, 0.0)),
    ("square", ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9))),
    ("triangle", _ring(3, 0.0)),
    ("diamond", _ring(4, 0.0)),
    ("plus", _plus(0.35)),
    ("triangle on its point", _ring(3, pi)),
    ("star", _ring(10, 0.0, 0.42)),
    ("bar", ((-0.4, -1.0), (0.4, -1.0), (0.4, 1.0), (-0.4, 1.0))),
    ("hourglass", ((-0.9, -1.0), (0.9, -1.0), (0.1, 0.0), (0.9, 1.0), (-0.9, 1.0), (-0.1, 0.0))),
    ("flag", ((-0.9, -1.0), (0.9, -0.5), (-0.5, 0.0), (-0.5, 1.0), (-0.9, 1.0))),
)
"""Outlines of marks, told apart by shape; past the last the same again, open instead of filled."""


def sign_name(number: int) -> str:
    """What a set's sign is called.

    >>> sign_name(0), sign_name(13)
    ('disc', 'open diamond')
    """
    name = SIGNS[number % len(SIGNS)][0]
    return f"open {name}" if number // len(SIGNS) % 2 else name


def sign(at: Point, radius: float, number: int, name: str = "") -> Line:
    """The sign of a set's marks, at a place on the page [mm]."""
    _, outline = SIGNS[number % len(SIGNS)]
    filled = number // len(SIGNS) % 2 == 0
    points = tuple((at[0] + radius * x, at[1] + radius * y) for x, y in outline)
    return Line(points, "mark", "mark" if filled else "paper", 0.3, True, name=name)
