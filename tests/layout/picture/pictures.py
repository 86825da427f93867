"""Invented pictures for the tests: a pose seen by a camera that is known, as a file of points."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from animate.body.body import Array, Body, body
from animate.body.pose import SEGMENT, centre_of_mass, joints
from layout.picture.places import roles_of
from layout.picture.points import Frame, points_from

WHO: Final = body(1.72, 61.0, "female")
POSE: Final = {
    "trunk": -4.0, "head": -6.0,
    "r_thigh": 34.0, "r_shank": 12.0, "r_foot": 8.0,
    "l_thigh": -22.0, "l_shank": -105.0, "l_foot": -95.0,
    "r_upper_arm": -50.0, "r_forearm": 10.0, "r_hand": 10.0,
    "l_upper_arm": 40.0, "l_forearm": 110.0, "l_hand": 110.0,
}  # fmt: skip
"""A step touchdown on the right leg, in degrees as `pose` has them; invented."""
PLAIN: Final = ("head", "shoulder", "hip", *(
    f"{role} {part}" for role in ("support", "free")
    for part in ("knee", "ankle", "heel", "toe", "elbow", "wrist")
))  # fmt: skip


def angles_of(**changed: float) -> Array:
    made = np.zeros(14)
    for name, degrees in {**POSE, **changed}.items():
        made[SEGMENT[name]] = np.radians(degrees)
    return made


def positions_of(who: Body = WHO, /, **changed: float) -> Array:
    """Joints (17, 2) with the lower of the right foot's ends on the ground."""
    at = joints(who, angles_of(**changed), np.array([3.0, 0.0]))
    at[:, 1] -= min(at[11, 1], at[12, 1])
    return at


def places(who: Body = WHO, /, **changed: float) -> dict[str, Array]:
    return roles_of(positions_of(who, **changed), "r")


def centre(who: Body = WHO, /, **changed: float) -> Array:
    return np.asarray(centre_of_mass(who, positions_of(who, **changed)) - np.array([3.0, 0.0]))


@dataclass(frozen=True)
class Picture:
    """How a pose is filmed: pixels to the metre, roll, and where what is put."""

    scale: float = 310.0
    tilt: float = 0.0
    runs: str = "right"
    words: tuple[str, str] = ("near", "far")
    marks: tuple[float, ...] = (-1.2, 1.3)
    uprights: tuple[float, ...] = ()
    lengths: tuple[float, ...] = ()
    at: tuple[float, float] = (900.0, 800.0)
    parts: tuple[str, ...] = PLAIN
    extra: tuple[str, ...] = ()
    bend: Any = None
    pose: dict[str, float] = field(default_factory=dict)

    def pixel(self, x: float, z: float) -> tuple[float, float]:
        way = 1.0 if self.runs == "right" else -1.0
        if self.bend is not None:
            x, z = self.bend(x, z)
        w = (way * x + 1j * z) * np.exp(1j * self.tilt) * self.scale
        return self.at[0] + w.real, self.at[1] - w.imag

    def rows(self) -> list[tuple[str, float, float, str]]:
        """Every row that has a place: name, x, y, value; the tape's zero is 4 m behind the hip."""
        out = [("mark", *self.pixel(x, 0.0), repr(4.0 + x)) for x in self.marks]
        for x in self.uprights:
            out += [("upright", *self.pixel(x, z), "1.1") for z in (0.0, 1.1)]
        for size in self.lengths:
            out += [("length", *self.pixel(x, 0.4), repr(size)) for x in (0.5, 0.5 - size)]
        names = {"support": self.words[0], "free": self.words[1]}
        for name, (x, z) in places(**self.pose).items():
            word, _, part = name.partition(" ")
            if name in self.parts:
                out.append((f"{names[word]} {part}" if part else name, *self.pixel(x, z), ""))
        return out

    def text(self, separator: str = ";", comma: bool = False, noise: Any = None) -> str:
        lines = [separator.join(("point", "x", "y", "value"))]
        for name, x, y, value in self.rows():
            if noise is not None:
                x, y = x + noise(), y + noise()
            cells = (name, repr(float(x)), repr(float(y)), value)
            lines.append(separator.join(c.replace(".", ",") if comma else c for c in cells))
        return "\n".join([*lines, *self.extra]) + "\n"

    def frame(self, noise: Any = None) -> Frame:
        return points_from(self.text(noise=noise), "p.csv").frames[0]
