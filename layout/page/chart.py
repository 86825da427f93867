"""Charts on a page: a box with its own x and y, drawn with the same ink as everything else."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from animate.body.shapes import Role
from layout.page.page import HAIR, Ink, Line, Page, Point, Text, corners
from layout.page.widths import text_width, wrapped

WIDE: Final = 210.0
"""Width of a chart's page [mm]."""
EDGE: Final = 4.0
SMALL: Final = 3.2
"""Em of figures and names on a chart [mm]."""
THICK: Final = 0.7
THIN: Final = 0.4
DASH: Final = (1.8, 1.1)
DOTS: Final = (0.3, 0.9)
HATCH: Final = 1.6
"""Distance of the strokes that fill a bar, along its edge [mm]."""
Tick = tuple[float, str]
"""A value and how it is written."""


def ticks(low: float, high: float, most: int = 6) -> list[Tick]:
    """Round values from low to high, at most so many: steps of 1, 2 or 5 times a power of ten.

    >>> ticks(0.142, 0.25)[0], [text for _, text in ticks(-2.6, 16.0)]
    ((0.16, '0.16'), ['0', '5', '10', '15'])
    """
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * m for m in (1, 2, 5, 10) if power * m >= rough * (1.0 - 1e-9))
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [(round(i * step, 9), f"{i * step:.{digits}f}") for i in range(first, last + 1)]


def date_ticks(low: float, high: float, most: int = 9) -> list[Tick]:
    """Days (proleptic ordinals) from low to high: firsts of months, or days where there are few.

    >>> [text for _, text in date_ticks(739_290, 739_380)][1:]
    ['Apr', 'May']
    """
    first, last = (datetime.date.fromordinal(int(d)) for d in (math.ceil(low), math.floor(high)))
    months = [(y, m) for y in range(first.year, last.year + 1) for m in range(1, 13)]
    days = [datetime.date(y, m, 1) for y, m in months]
    inside = [d for d in days if first <= d <= last]
    if len(inside) < 3:
        step = next(s for s in (1, 2, 7, 14, 28) if (high - low) / s <= most)
        inside = [datetime.date.fromordinal(d) for d in range(math.ceil(low), int(high) + 1, step)]
        return [
            (d.toordinal(), f"{d.day} {d:%b}" + f" {d.year}" * (not i))
            for i, d in enumerate(inside)
        ]
    step = next(
        (s for s in (1, 2, 3, 6) if len(inside) / s <= most), 12 * -(-len(inside) // (12 * most))
    )
    kept = [d for d in inside if (12 * d.year + d.month - 1) % step == 0]
    return [
        (d.toordinal(), f"{d:%b}" + f" {d.year}" * (not i or d.month == 1))
        for i, d in enumerate(kept)
    ]


@dataclass(frozen=True)
class Chart:
    """A box on the page and the values at its edges.

    left, top, right, low: [mm].
    x, y: values at its left and right, lower and upper edge.
    """

    left: float
    top: float
    right: float
    low: float
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: float, y: float) -> Point:
        """Where two values lie on the page [mm]."""
        along = (x - self.x[0]) / (self.x[1] - self.x[0])
        up = (y - self.y[0]) / (self.y[1] - self.y[0])
        wide, high = self.right - self.left, self.low - self.top
        return float(self.left + along * wide), float(self.low - up * high)

    def frame(self, name: str, across: Sequence[Tick], under: str = "") -> list[Ink]:
        """Two axes, level lines, figures and names.

        name, under: of the values up, over the chart, and along, under it.
        across: along; those without a text are only marked.
        """
        out: list[Ink] = [say((self.left, self.top - 2.2), name, "quiet")]
        for value, text in ticks(*self.y):
            x, y = self.at(self.x[0], value)
            out.append(Line(((x, y), (self.right, y)), "far", width=HAIR))
            out.append(say((x - 1.6, y + 1.1), text, align="right"))
        for value, text in across:
            x, _ = self.at(value, self.y[0])
            out.append(Line(((x, self.low), (x, self.low + 1.0)), "line", width=0.25))
            out.append(say((x, self.low + 4.6), text, align="middle"))
        corner = ((self.left, self.top), (self.left, self.low), (self.right, self.low))
        out.append(Line(corner, "line", width=0.25))
        out.append(say(((self.left + self.right) / 2.0, self.low + 9.4), under, align="middle"))
        return [item for item in out if not isinstance(item, Text) or item.text]

    def curve(
        self, xs: Iterable[float], ys: Iterable[float], role: Role, width: float = THICK,
        dash: tuple[float, ...] = (), name: str = "",
    ) -> list[Ink]:  # fmt: skip
        """A line through values, broken where one is not a number."""
        runs: list[list[Point]] = [[]]
        for x, y in zip(xs, ys, strict=True):
            if math.isfinite(y):
                runs[-1].append(self.at(float(x), float(y)))
            elif runs[-1]:
                runs.append([])
        return [Line(tuple(r), role, None, width, False, dash, name) for r in runs if len(r) > 1]

    def level(self, y: float, role: Role) -> list[Ink]:
        """A dashed line across."""
        return self.curve(self.x, (y, y), role, THIN, DASH, f"level-{y:g}")

    def stairs(
        self, edges: Sequence[float], values: Sequence[float], role: Role, dash: tuple[float, ...]
    ) -> list[Ink]:
        """A line that holds each value from one edge to the next."""
        xs = [x for pair in pairwise(edges) for x in pair]
        return self.curve(xs, [v for v in values for _ in (0, 1)], role, THIN, dash)

    def bar(
        self, x: float, wide: float, y: float, role: Role, hatched: bool, name: str
    ) -> list[Ink]:
        """A bar from the foot of the chart, so wide about x; hatched, so that grey print tells it."""
        (left, top), (right, low) = self.at(x - wide / 2.0, y), self.at(x + wide / 2.0, self.y[0])
        return _block(left, top, right, low, role, hatched, name)

    def spot(self, x: float, y: float, corners: int) -> Line:
        """A mark of so many corners, the first at the top of it or, of four, its side level."""
        turn, size = math.pi / 4.0 * (corners == 4), 1.0 + 1.2 / corners
        a, b = self.at(x, y)
        way = [turn + 2.0 * math.pi * i / corners for i in range(corners)]
        points = tuple((a + size * math.sin(w), b - size * math.cos(w)) for w in way)
        return Line(points, None, "near", closed=True)

    def legend(self, told: Sequence[tuple[str, Role, bool | tuple[float, ...]]]) -> list[Ink]:
        """What bars (hatched or not) and dashed lines mean, in a row over the chart, at its right."""
        out: list[Ink] = []
        x, y = self.right, self.top - 2.2
        for text, role, kind in reversed(told):
            x -= text_width(text, SMALL)
            out.append(say((x, y), text))
            left, right = x - 8.5, x - 1.5
            if isinstance(kind, bool):
                out += _block(left, y - 2.3, right, y + 0.2, role, kind)
            else:
                out.append(Line(((left, y - 1.1), (right, y - 1.1)), role, None, THIN, False, kind))
            x -= 13.0
        return out


def _block(
    left: float, top: float, right: float, low: float, role: Role, hatched: bool, name: str = ""
) -> list[Ink]:
    out: list[Ink] = [Line(corners(left, right, top, low), "near", role, 0.28, True, (), name)]
    if hatched:
        sums = [
            left + top + HATCH * i for i in range(1, int((right - left + low - top) / HATCH) + 1)
        ]
        for s in sums:
            one, two = max(left, s - low), min(right, s - top)
            out.append(Line(((one, s - one), (two, s - two)), "near", width=0.25))
    return out


def say(at: Point, text: str, role: Role = "text", align: str = "left", bold: bool = False) -> Text:
    """A text of a chart."""
    return Text(at, text, SMALL, role, align, bold)  # type: ignore[arg-type]


def boxed(at: Point, lines: Sequence[str]) -> list[Ink]:
    """Lines of text one over the other on a piece of paper, the last at a place, each in its middle."""
    wide = max(text_width(t, SMALL) for t in lines) / 2.0 + 0.7
    (x, y), high = at, 4.2 * len(lines)
    rows = [say((x, y - 4.2 * i), t, align="middle") for i, t in enumerate(reversed(lines))]
    paper = corners(x - wide, x + wide, y + 1.2 - high, y + 1.2)
    return [Line(paper, None, "paper", closed=True), *rows]


def headed(texts: Sequence[str]) -> tuple[list[Ink], float]:
    """Lines at the head of a chart's page, and where the rest may begin [mm]."""
    lines = [line for text in texts if text for line in wrapped(text, 3.9, WIDE - 2.0 * EDGE)]
    ink: list[Ink] = [Text((EDGE, EDGE + 3.4 + 5.0 * i), line, 3.9) for i, line in enumerate(lines)]
    return ink, EDGE + 5.0 * len(lines)


def chart_page(title: str, high: float, ink: Iterable[Ink], wide: float = WIDE) -> Page:
    """A page round charts: no drawing to scale."""
    return Page(wide, high, 0, title, tuple(ink))
