"""Drawn things as plain data, in metres; how they get onto paper or a screen is not known here.

x along the runway, z (or y, in a plan view) up the picture. Colours are named by role, never by
value: a theme decides what a role looks like, and no role is told apart by colour alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

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
