"""Positions measured on a picture, each with its margin, and compared with the target figure.

Margins are carried through to first order: the variance of a measure is the sum over all clicks,
readings, the plane and the level of (slope times standard deviation) squared.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from animate.body.body import Array, Body
from animate.motion.measures import Measure
from layout.picture.camera import Errors, Reader, errors_of
from layout.picture.places import READ
from layout.picture.points import Frame

SURE: Final = 2.0
"""Standard deviations in a margin: about 19 times of 20 the error is smaller."""


@dataclass(frozen=True)
class Value:
    """One measure of a picture."""

    measure: Measure
    value: float  # [measure.unit]
    margin: float  # `SURE` standard deviations [measure.unit]
    # from_scale, from_clicks: the parts of it: references, plane and level; body points. They add
    # in squares
    from_scale: float
    from_clicks: float


@dataclass(frozen=True, eq=False)
class Measured:
    """A picture measured."""

    frame: str
    # x ahead of the hip and z above the ground, or above the lowest point where no mark shows the
    # ground [m]; by name, limbs as support or free
    places: Mapping[str, tuple[float, float]]
    near: str  # support or free: the limb on the viewer's side
    runs: str  # right or left
    side: str  # right or left: the leg that is down
    # scale, scale_margin: [px/m], and relative to it [-]
    scale: float
    scale_margin: float
    # tilt, tilt_margin: camera's roll, positive where the picture's horizon rises to the right
    # [rad]
    tilt: float
    tilt_margin: float
    errors: Errors
    values: tuple[Value, ...]
    missing: tuple[Measure, ...]  # what could not be read for want of points


def slopes(reader: Reader, deviations: Array) -> dict[str, Array]:
    """What one standard deviation of each input changes in each measure, to first order.

    deviations: (k,).
    Returns [unit of the measure]; central differences over a hundredth of a deviation.
    """
    small = 0.01
    steps = np.diag(small * deviations)
    nominal = reader.camera.nominal
    up, down = reader.evaluate(nominal + steps), reader.evaluate(nominal - steps)
    turns = {m.name for m in READ if m.unit == "rad"}
    out = {}
    for name in up:
        change = up[name] - down[name]
        if name in turns:
            change = (change + np.pi) % (2 * np.pi) - np.pi
        out[name] = change / (2 * small)
    return out


def measure(frame: Frame, who: Body, errors: Errors | None = None) -> Measured:
    """Measure one picture.

    errors: those of `errors_of` when left out; its `plane` grows where references contradict each other
        by more than clicks and tape explain.
    """
    reader = Reader(frame, who)
    camera = reader.camera
    nominal = camera.nominal
    known = errors or errors_of(frame)
    # Marks that contradict each other leave the scale open by as much.
    known = replace(known, plane=float(np.hypot(known.plane, camera.spread(known))))
    found = reader.evaluate(nominal)
    turned = slopes(reader, camera.deviations(known, float(found["scale"])))
    clicked = 2 * len(camera.names)

    def margin(name: str, part: slice) -> float:
        return SURE * float(np.linalg.norm(turned[name][part]))

    parts = (slice(None), slice(clicked, None), slice(clicked))
    values = tuple(
        Value(m, float(found[m.name]), *(margin(m.name, part) for part in parts))
        for m in READ
        if m.name in found
    )
    places = {n: (float(p[0]), float(p[1])) for n, p in reader.at(nominal).items()}
    scale = float(found["scale"])
    return Measured(
        frame.name, places, reader.near, reader.runs, reader.side, scale,
        margin("scale", slice(None)) / scale, float(found["tilt"]), margin("tilt", slice(None)),
        known, values, tuple(m for m in READ if m.name not in found),
    )  # fmt: skip


@dataclass(frozen=True)
class Held:
    """One measure of the target figure and of the picture, in the measure's unit."""

    measure: Measure
    # target, measured, difference: difference = measured less target
    target: float
    measured: float
    difference: float
    margin: float  # of what was measured
    clear: bool  # whether the difference is larger than the margin


def held_against(target: Mapping[str, Any], measured: Measured) -> tuple[Held, ...]:
    """What was measured beside the target.

    target: from `measures_of` the target figure's places.
    """
    out = []
    for v in measured.values:
        if v.measure.name in target:
            aim = float(target[v.measure.name])
            change = v.value - aim
            out.append(Held(v.measure, aim, v.value, change, v.margin, abs(change) > v.margin))
    return tuple(out)
