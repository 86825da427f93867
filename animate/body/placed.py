"""An outline that is stored once and laid down many times.

A body drawn in a hundred frames is the same few outlines turned and carried. A `Placed` area keeps
the outline and where it lies, and works out its points only when somebody asks for them.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

from animate.body.shapes import Area, Point, Role

Outline = tuple[Point, ...]


class Place(NamedTuple):
    """Where an outline lies: point = (x, z) + along (vx, vz) + across side (-vz, vx).

    outline: points (along, across) in lengths of (vx, vz) [-].
    x, z: where (0, 0) of the outline lies [m].
    vx, vz: where (1, 0) lies from there [m].
    side: {1, -1}, -1 lays the mirror image.
    """

    outline: Outline
    x: float
    z: float
    vx: float
    vz: float
    side: int

    def points(self) -> Outline:
        """The points of the outline as it lies [m]."""
        _, x, z, vx, vz, side = self
        fx, fz = -side * vz, side * vx
        return tuple([(x + s * vx + f * fx, z + s * vz + f * fz) for s, f in self.outline])

    def corners(self) -> Outline:
        """The corners of the outline's convex hull as it lies [m]."""
        return self._replace(outline=_hull(self.outline)).points()


@lru_cache(maxsize=256)
def _hull(outline: Outline) -> Outline:
    def side(points: list[Point]) -> list[Point]:
        out: list[Point] = []
        for x, y in points:
            while len(out) > 1:
                (ax, ay), (bx, by) = out[-2:]
                if (bx - ax) * (y - ay) > (by - ay) * (x - ax):
                    break
                out.pop()
            out.append((x, y))
        return out[:-1]

    ordered = sorted(set(outline))
    return tuple(side(ordered) + side(ordered[::-1])) or outline


class Placed(Area):
    """An area that knows how its outline was laid down; to everybody else an `Area`.

    place: None once it was changed with `dataclasses.replace`.
    """

    place: Place | None

    def __init__(
        self, points: Outline, role: Role, edge: Role | None = None, filled: bool = True
    ) -> None:
        self.__dict__.update(_points=points, role=role, edge=edge, filled=filled, place=None)

    @classmethod
    def at(cls, place: Place, role: Role, edge: Role | None = None) -> Placed:
        """The area that an outline covers where it is laid."""
        made = cls.__new__(cls)
        made.__dict__.update(role=role, edge=edge, filled=True, place=place)
        return made

    @property
    def points(self) -> Outline:
        """The points of the outline [m]."""
        kept: dict[str, Any] = self.__dict__
        if "_points" not in kept:
            assert self.place is not None
            kept["_points"] = self.place.points()
        found: Outline = kept["_points"]
        return found


def place_of(shape: object) -> Place | None:
    """How a shape was laid down, where it knows."""
    return shape.place if type(shape) is Placed else None
