"""What the references of a picture say of its scale and level, and the body's places from it.

A click w = x - i y [px] becomes a place p = f Re(w e^-it) / s + i Im(w e^-it) / s [m], with the
scale s [px/m] and the camera's tilt t from the references and f = 1, or -1 where the athlete runs
to the left, so that p always runs along x.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from layout.picture.places import ROLES, SEGMENT_ENDS, Complex, measures_of
from layout.picture.points import Frame
from layout.words.faults import BadInput, Fault

SCALES: Final = (5.0, 50_000.0)
"""Scales accepted [px/m]."""
SPAN: Final = 0.2
"""Marks closer than this give no scale [m]."""
FAR: Final = 3.0
"""Standard deviations beyond which clicks alone are no excuse (ours)."""
DISTANCE: Final = 0.1
"""Error of `nearer`, one standard deviation in parts of it (ours)."""
FEET: Final = ("ankle", "heel", "toe")
NEAREST: Final = 0.02
"""Ends of a segment closer than this have no direction [m]."""


@dataclass(frozen=True)
class Errors:
    """Standard deviations of what goes in; all ours, no source."""

    click: float = 2.0  # of a click, each way [px]
    joint: float = 0.01  # of finding a joint's centre under skin and clothes, each way [m]
    tape: float = 0.005  # of a mark's reading and of a known length [m]
    plane: float = 0.01  # of the scale, for references not quite in the athlete's plane [-]
    # of the camera's level, where nothing in the picture shows it [rad]
    level: float = float(np.radians(1.5))


def errors_of(frame: Frame, usual: Errors | None = None) -> Errors:
    """The errors of a frame: the usual ones, but for those its file states."""
    usual = usual or Errors()
    return Errors(
        usual.click if frame.click is None else frame.click,
        usual.joint if frame.joint is None else frame.joint,
        usual.tape,
        float(np.hypot(usual.plane, DISTANCE * frame.nearer)),
        usual.level,
    )


class Camera:
    """What the references of a frame say of the scale and the level.

    Everything is a function of one flat list of inputs (..., k): body clicks x, y; reference
    clicks x, y; reference lengths; the relative error of the plane; that of the level [rad].
    """

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.names = tuple(frame.body)
        marks = frame.marks
        readings = np.array([m.reading for m in marks])
        # Marks of another plane than the athlete's do not show the height of the ground in it.
        # Marks that are all on one spot still show where the ground is, but no scale.
        self.many = len(marks)
        self.on_ground = self.many > 0 and not frame.nearer
        self.spans = self.many > 1 and float(np.ptp(readings)) >= SPAN
        rods = frame.rods
        ends = [*(m.at for m in marks), *(e for r in rods for e in (r.one, r.two))]
        clicks = [(c.x, c.y) for c in (*(frame.body[n] for n in self.names), *ends)]
        lengths = [*readings, *(r.length for r in rods)]
        self.refs = len(ends)
        self.nominal = np.concatenate([np.ravel(clicks), lengths, [0.0, 0.0]])
        self.upright = np.array([r.upright for r in rods], dtype=bool)
        self.level_shown = self.spans or bool(self.upright.any())
        weights = [float(np.sum((readings - readings.mean()) ** 2))] if self.spans else []
        self.weights = np.array([*weights, *(r.length**2 / 2.0 for r in rods)])
        self.signs = np.ones(self.weights.size)
        raw = self._parts(self.nominal)
        self.signs = np.where(raw.real < 0, -1.0, 1.0)

    def inputs(self, z: Array) -> tuple[Complex, Complex, Array]:
        """Body clicks, reference clicks, and lengths out of a flat list."""
        split = 2 * (len(self.names) + self.refs)
        clicks = z[..., :split].reshape((*z.shape[:-1], -1, 2)).astype(float)
        w = clicks[..., 0] - 1j * clicks[..., 1]
        return w[..., : len(self.names)], w[..., len(self.names) :], z[..., split:-2]

    def _parts(self, z: Array) -> Complex:
        """Pixels to a metre along the level, one for the marks and one for each rod."""
        _, w, lengths = self.inputs(z)
        out = []
        if self.spans:
            x = lengths[..., : self.many]
            x = x - x.mean(axis=-1, keepdims=True)
            v = w[..., : self.many]
            v = v - v.mean(axis=-1, keepdims=True)
            # What is nearer to the camera looks larger in proportion.
            out.append((x * v).sum(axis=-1) / (x * x).sum(axis=-1) * (1.0 - self.frame.nearer))
        for i, upright in enumerate(self.upright):
            at = self.many + 2 * i
            along = (w[..., at + 1] - w[..., at]) / lengths[..., self.many + i]
            out.append(along * (-1j if upright else 1.0))
        return np.asarray(np.stack(out, axis=-1) * self.signs, dtype=complex)

    def parts(self, z: Array) -> tuple[Array, Array]:
        """Scale [px/m] and tilt [rad] that each reference gives; a length gives no tilt."""
        raw = self._parts(z)
        return np.abs(raw), np.angle(raw)

    @property
    def levels(self) -> Array:
        """Weight of each reference in the tilt."""
        shows = np.concatenate([[True] if self.spans else [], self.upright]).astype(bool)
        return np.asarray(self.weights * shows)

    def solve(self, z: Array) -> tuple[Array, Array]:
        """Scale [px/m] and tilt [rad] of all references together, longer ones weighing more."""
        scale, tilt = self.parts(z)
        whole = (self.weights * scale).sum(axis=-1) / self.weights.sum()
        turn = (self.levels * np.exp(1j * tilt)).sum(axis=-1)
        return whole * (1.0 + z[..., -2]), np.angle(turn) + z[..., -1]

    def places(self, z: Array) -> tuple[Complex, Array]:
        """Body points (..., n) and height of the ground (...) in metres, x to the right."""
        body, refs, _ = self.inputs(z)
        scale, tilt = self.solve(z)
        turn = np.exp(-1j * tilt) / scale
        if self.on_ground:
            ground = (refs[..., : self.many].mean(axis=-1) * turn).imag
        else:
            ground = (body * turn[..., None]).imag.min(axis=-1)
        return body * turn[..., None], ground

    def neighbours(self, errors: Errors) -> list[tuple[float, float, str]]:
        """Scale [px/m], its relative deviation [-] and where, between marks next to each other.

        Empty with fewer than three places marked: two cannot disagree.
        """
        marks = sorted(self.frame.marks, key=lambda k: k.reading)
        if len({k.reading for k in marks}) < 3:
            return []
        out = []
        for a, b in pairwise(marks):
            gap = b.reading - a.reading
            if gap > 0:
                pixels = float(np.hypot(b.at.x - a.at.x, b.at.y - a.at.y))
                loose = np.sqrt(2.0) * np.hypot(errors.click / max(pixels, 1.0), errors.tape / gap)
                out.append((pixels / gap, float(loose), f"{a.reading:.2f} to {b.reading:.2f} m"))
        return out

    def references(self, errors: Errors) -> list[tuple[float, float, str]]:
        """Scale [px/m], its relative deviation [-] and what, of each reference as a whole."""
        scale, _ = self.parts(self.nominal)
        words = ["the upright" if u else "the known length" for u in self.upright]
        names = [*(["the marks"] if self.spans else []), *words]
        loose = np.sqrt(2.0) * np.hypot(errors.click / scale, errors.tape)
        loose = loose / np.sqrt(2.0 * self.weights)
        return [(float(s), float(d), n) for s, d, n in zip(scale, loose, names, strict=True)]

    def spread(self, errors: Errors) -> float:
        """Half the relative range of scales where clicks and tape do not explain it, else 0 [-]."""
        out = 0.0
        for found in (self.neighbours(errors), self.references(errors)):
            if len(found) > 1:
                low, high = min(found), max(found)
                share = high[0] / max(low[0], 1e-9) - 1.0
                if share > FAR * np.hypot(low[1], high[1]):
                    out = max(out, share / 2.0)
        return min(out, 1.0)

    def deviations(self, errors: Errors, scale: float) -> Array:
        """Standard deviations of the inputs, in their order and units."""
        body = float(np.hypot(errors.click, errors.joint * scale))
        level = 0.0 if self.level_shown else errors.level
        counts = (2 * len(self.names), 2 * self.refs, self.many + self.upright.size, 1, 1)
        return np.repeat([body, errors.click, errors.tape, errors.plane, level], counts)


class Reader:
    """The measures of one frame as a function of its flat list of inputs.

    Refused: the references give no scale, the direction is not to be told, or points coincide.
    """

    def __init__(self, frame: Frame, who: Body) -> None:
        self.who, self.camera = who, Camera(frame)
        nominal = self.camera.nominal
        scale, _ = self.camera.solve(nominal)
        label = f"frame {frame.name}" if frame.name else "points"
        if not SCALES[0] <= float(scale) <= SCALES[1]:
            rule = f"must be a scale of {SCALES[0]:g} to {SCALES[1]:g} pixels to the metre"
            raise BadInput([Fault(label, rule, f"{float(scale):.3g}")])
        places, _ = self.camera.places(nominal)
        at = dict(zip(self.camera.names, places, strict=True))
        self.role = self._roles(frame, at)
        self.roles = tuple(self._named(n) for n in self.camera.names)
        by_role = {self._named(n): p for n, p in at.items()}
        self.facing = self._facing(frame, by_role, label)
        for one, two in SEGMENT_ENDS:
            if {one, two} <= by_role.keys() and abs(by_role[one] - by_role[two]) < NEAREST:
                rule = f"{two} and {one} at least {100 * NEAREST:.0f} cm apart needed"
                raise BadInput([Fault(label, rule)])
        self.runs = "right" if self.facing > 0 else "left"
        words = frame.sides
        # An athlete who runs to the viewer's right shows the right side.
        near = {"near": "near", "left": self.runs}.get(words[0], "support")
        self.near = self.role[near]
        self.side = ""
        if words[0] == "near":
            other = "left" if self.runs == "right" else "right"
            self.side = self.runs if self.near == "support" else other
        elif words[0] == "left":
            self.side = next(word for word in words if self.role[word] == "support")

    def _roles(self, frame: Frame, at: Mapping[str, complex]) -> dict[str, str]:
        one, two = frame.sides
        if one in ROLES:
            return {one: one, two: two}
        low = [
            min((at[f"{side} {k}"].imag for k in FEET if f"{side} {k}" in at), default=np.inf)
            for side in (one, two)
        ]
        down, up = (one, two) if low[0] <= low[1] else (two, one)
        return {down: "support", up: "free"}

    def _named(self, name: str) -> str:
        word, _, part = name.partition(" ")
        return f"{self.role[word]} {part}" if part else name

    def _facing(self, frame: Frame, at: Mapping[str, complex], label: str) -> float:
        if frame.runs:
            return 1.0 if frame.runs == "right" else -1.0
        # Not the free foot: behind the body it may point down and back.
        for behind in ("support heel", "support ankle"):
            if {"support toe", behind} <= at.keys():
                return 1.0 if (at["support toe"] - at[behind]).real >= 0 else -1.0
        rule = "toe and heel of the leg that is down needed, or a row runs with right or left"
        raise BadInput([Fault(label, f"{rule}, for the direction")])

    def at(self, z: Array) -> dict[str, Array]:
        """Places (..., 2) by role, x along the run from the hip and z above the ground [m]."""
        places, ground = self.camera.places(z)
        hip = places[..., self.camera.names.index("hip")].real
        x = self.facing * (places.real - hip[..., None])
        xz = np.stack([x, places.imag - ground[..., None]], axis=-1)
        return {name: xz[..., i, :] for i, name in enumerate(self.roles)}

    def evaluate(self, z: Array) -> dict[str, Array]:
        """Every measure (...) by name, and the scale and the tilt."""
        scale, tilt = self.camera.solve(z)
        return {**measures_of(self.at(z), self.who), "scale": scale, "tilt": tilt}
