"""Two figures beside each other at one scale, for a screen: target and measured, or two pictures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Final, NamedTuple

import numpy as np

from animate.body.body import Array
from animate.body.shapes import Shape
from animate.motion.measures import Measure
from layout.page.page import Ink, Line, Page, Text, View, extent, moved
from layout.picture.beside import AROUND, PANEL, UNDER, aimed, panel, seen
from layout.picture.measured import Measured
from layout.picture.places import from_hip
from layout.picture.target import Target
from layout.sheet.texts import SMALL
from layout.words.faults import refuse

WIDE: Final = 104.0
"""Width of the drawing [mm] (ours): its letters are 11 px or more on a telephone."""
SCALES: Final = (15, 20, 25, 30, 40, 50, 75, 100)
BETWEEN: Final = 3.0
"""Between the two at least [mm]."""
BAR: Final = 7.0
"""Height of the row with the bar [mm]."""


class Figure(NamedTuple):
    """One of the two: its title, its shapes, and its points, x from the hip [m]."""

    title: str
    shapes: Sequence[Shape]
    points: Array


def of_target(target: Target, measured: Measured, gap: str) -> Figure:
    """The target figure, turned as the measured athlete is; `gap` is its knee gap in words."""
    at = from_hip(target.positions)
    return Figure("Target", aimed(at, target.support, measured, gap), at)


def of_measured(title: str, measured: Measured, gap: str) -> Figure:
    """The clicked points as a figure."""
    return Figure(title, seen(measured, gap), np.array(list(measured.places.values())))


def pair_page(one: Figure, two: Figure) -> Page:
    """Both on one ground at the largest of `SCALES` that fits; refused where none does."""
    every = np.vstack([one.points, two.points])
    span = float(every[:, 0].min()) - AROUND, float(every[:, 0].max()) + AROUND
    high = float(every[:, 1].max()) + UNDER
    low = min(float(every[:, 1].min()), 0.0) - UNDER
    for scale in SCALES:
        if 2000.0 * (span[1] - span[0]) / scale + BETWEEN > WIDE:
            continue  # their ground alone is too wide: nothing need be drawn to see it
        base = BAR + 1000.0 * high / scale
        drawn = [panel(View(scale, 0.0, base), span, of.title, of.shapes) for of in (one, two)]
        # A knee gap's figure may stand out to the left of everything else.
        ends = [extent(ink)[0::2] for ink in drawn]
        wide = sum(right - left for left, right in ends)
        if wide + BETWEEN <= WIDE:
            break
    else:
        raise refuse("picture", "the figures are too far apart to be drawn; are points amiss?")
    spare = (WIDE - wide - BETWEEN) / 4.0
    at, out = spare, list[Ink]()
    for ink, (left, right) in zip(drawn, ends, strict=True):
        out += moved(ink, at - left, 0.0)
        at += right - left + BETWEEN + 2 * spare
    bar = 500.0 / scale
    out += [
        Line(((1.0, 3.0), (1.0 + bar, 3.0)), "line", None, 1.0, name="bar"),
        Text((2.5 + bar, 4.2), "50 cm", SMALL + 0.4),
    ]
    return Page(WIDE, base - 1000.0 * low / scale + PANEL, scale, "Two figures", tuple(out))


@dataclass(frozen=True)
class Apart:
    """One measure of two pictures; `difference` is the second's less the first's [its unit].

    Errors of two pictures are independent, so the margins add in squares.
    """

    measure: Measure
    one: tuple[float, float]
    two: tuple[float, float]

    @property
    def difference(self) -> float:
        """The second's less the first's."""
        return self.two[0] - self.one[0]

    @property
    def margin(self) -> float:
        """Of the difference."""
        return hypot(self.one[1], self.two[1])

    @property
    def clear(self) -> bool:
        """Whether they differ by more than their margins."""
        return abs(self.difference) > self.margin


def apart(
    measures: Sequence[Measure],
    one: Mapping[str, tuple[float, float]],
    two: Mapping[str, tuple[float, float]],
) -> tuple[Apart, ...]:
    """What both pictures have measured, in the order of `measures`."""
    both = [m for m in measures if m.name in one and m.name in two]
    return tuple(Apart(m, one[m.name], two[m.name]) for m in both)
