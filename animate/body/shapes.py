"""Drawn things as plain data, in metres; how they get onto paper or a screen is not known here.

x along the runway, z (or y, in a plan view) up the picture. Colours are named by role, never by
value: a theme decides what a role looks like, and no role is told apart by colour alone.

A body drawn in a hundred frames is the same few outlines turned and carried: a `Placed` area keeps the
outline and where it lies, and works out its points only when somebody asks for them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, NamedTuple

Point = tuple[float, float]

Role = Literal[
    "ground",  # runway surface
    "sand",
    "line",  # take-off line, lane edges
    "near",  # limbs of the side nearest the viewer
    "far",  # limbs of the other side
    "body",  # trunk and head
    "arc",  # path of the centre of mass
    "mark",  # things the coach puts down
    "hurdle",
    "measure",  # dimension lines and their figures
    "text",
    "quiet",  # secondary text and helper lines
    "warn",
    "left",
    "right",
    "paper",
]


@dataclass(frozen=True)
class Stroke:
    """An open or closed line.

    points: [m].
    width: line width [m]; 0 means a hairline whose width the page decides.
    dash: lengths on and off [m], empty for a whole line.
    """

    points: tuple[Point, ...]
    role: Role
    width: float = 0.0
    closed: bool = False
    dash: tuple[float, ...] = ()


@dataclass(frozen=True)
class Area:
    """A filled outline, with or without an edge.

    points: [m].
    edge: role of the outline; None draws none.
    filled: False leaves the inside open: how a left print differs from a right one.
    """

    points: tuple[Point, ...]
    role: Role
    edge: Role | None = None
    filled: bool = True


@dataclass(frozen=True)
class Label:
    """A short text at a point, its size set by the page so that it stays readable.

    at: anchor [m].
    size: relative to the page's normal text, 1 is normal.
    align: {"left", "middle", "right"}, which end of the text sits at `at`.
    """

    at: Point
    text: str
    role: Role = "text"
    size: float = 1.0
    align: Literal["left", "middle", "right"] = "middle"
    bold: bool = False


Shape = Stroke | Area | Label
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
