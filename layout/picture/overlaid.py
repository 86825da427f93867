"""A figure laid over the coach's own picture: its shapes as pixels, through the picture's own camera."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from animate.body.body import Array, Body
from animate.body.outlines import Side
from animate.body.shapes import Area, Shape, Stroke
from layout.picture.beside import turned
from layout.picture.camera import Reader
from layout.picture.measured import Measured
from layout.picture.places import from_hip
from layout.picture.points import Frame


class Onto:
    """From places of `Measured` to pixels of its picture: w = (f x + hip + i (z + ground)) s e^it."""

    def __init__(self, frame: Frame, who: Body) -> None:
        reader = Reader(frame, who)
        camera = reader.camera
        body, ground = camera.places(camera.nominal)
        scale, tilt = camera.solve(camera.nominal)
        self.facing, self.ground = reader.facing, float(ground)
        self.hip = float(body[camera.names.index("hip")].real)
        self.turn = complex(float(scale) * np.exp(1j * float(tilt)))

    def pixels(self, places: Array) -> Array:
        """Pixels (..., 2) of places (..., 2): x ahead of the hip, z above the ground [m]."""
        x = self.facing * places[..., 0] + self.hip
        w = (x + 1j * (places[..., 1] + self.ground)) * self.turn
        return np.stack([w.real, -w.imag], axis=-1)


def drawn_on(onto: Onto, shapes: Iterable[Shape]) -> list[dict[str, Any]]:
    """Lines and outlines as pixels."""
    return [
        {
            "points": np.round(onto.pixels(np.array(shape.points)), 1).tolist(),
            "closed": isinstance(shape, Area) or shape.closed,
        }
        for shape in shapes
        if isinstance(shape, Area | Stroke)
    ]


def target_on(
    frame: Frame, who: Body, measured: Measured, positions: Array, support: Side
) -> list[dict[str, Any]]:
    """The target figure over the picture: hip over hip, on the same ground, the same leg nearer."""
    return drawn_on(Onto(frame, who), turned(from_hip(positions), support, measured))
