"""Outlines with as few points as print can tell from all of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from layout.page.page import Ink, Line

FINE: Final = 0.05
"""How far an outline may be from its full one [mm]."""


def thinned(ink: Iterable[Ink], fine: float = FINE) -> list[Ink]:
    """Ink whose long closed outlines are within `fine` [mm] of the ones given."""
    import shapely

    out: list[Ink] = []
    for item in ink:
        if isinstance(item, Line) and item.closed and len(item.points) > 8:
            line = shapely.LineString([*item.points, item.points[0]])
            points = tuple((float(x), float(y)) for x, y in line.simplify(fine).coords[:-1])
            item = replace(item, points=points)
        out.append(item)
    return out
