"""Forces, moments and places of a body at many instants, with exact first and second derivatives.

A segment's direction is a phasor z = e^(i angle), x real and z imaginary, and every point of the body
a sum of constants times phasors. So each quantity here is

    Im[ sum conj(z_s) pair_st a_t + sum conj(z_s) whirl_st v_t + sum conj(pull_s z_s) lift
        + sum (place_s z_s + rate_s v_s + second_s a_s) ] + sum (turn_s w_s + spin_s w'_s)

with v = i w z, a = (i w' - w^2) z, and lift = b'' + i g of a point b that does not go with the body.
Forces and moments are per kilogram of the athlete.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import SEGMENTS, Array, Body
from animate.body.stances import GRAVITY
from animate.motion.dynamics import BEYOND
from animate.motion.solver.form import EXPAND, offsets

Complex = NDArray[np.complex128]

GROUPS: Final = tuple(s for s in SEGMENTS if not s.endswith("hand"))
"""Segments that turn on their own: a hand goes with its forearm."""
NS: Final = len(GROUPS)
TURNS: Final = EXPAND[[SEGMENTS.index(s) for s in GROUPS]]
"""Their angles from the free ones, (12, 11)."""


def _group(segment: str) -> int:
    return GROUPS.index(segment.replace("hand", "forearm"))


_SHAPES: Final[dict[str, tuple[int, ...]]] = {
    "pair": (NS, NS), "whirl": (NS, NS), "pull": (NS,), "place": (NS,), "rate": (NS,),
    "second": (NS,), "turn": (NS,), "spin": (NS,), "path": (3, 2), "fall": (),
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Quantity:
    """Coefficients of the sum above, `_SHAPES` or nought; `path` is what b, b', b'' (x, z each) add,
    `fall` the share of the flying centre's height, `start` a constant."""

    pair: Complex | float = 0.0
    whirl: Complex | float = 0.0
    pull: Complex | float = 0.0
    place: Complex | float = 0.0
    rate: Complex | float = 0.0
    second: Complex | float = 0.0
    turn: Array | float = 0.0
    spin: Array | float = 0.0
    path: Array | float = 0.0
    fall: float = 0.0
    start: float = 0.0


def _moved(point: Complex, order: int, axis: int, start: float = 0.0) -> Quantity:
    """Place, speed or acceleration (order 0 to 2) of a point along x or z (axis 0 or 1)."""
    path = np.zeros((3, 2))
    path[order, axis] = 1.0
    name = ("place", "rate", "second")[order]
    return Quantity(**{name: point * (1j, 1)[axis]}, path=path, start=start)  # type: ignore[arg-type]


class Figure:
    """The quantities of one body."""

    def __init__(self, body: Body) -> None:
        self.points: dict[str, Complex] = {}
        for name, vectors in offsets(body).items():
            self.points[name] = np.zeros(NS, complex)
            for k, segment in enumerate(SEGMENTS):
                self.points[name][_group(segment)] += complex(*vectors[k])
        self.mass = dict(zip(SEGMENTS, body.masses / body.mass, strict=True))
        self.inertia = dict(zip(SEGMENTS, body.inertias / body.mass, strict=True))
        self.foot = float(body.lengths[-1])
        self.com = self.points["com"]
        everything = self._beyond(SEGMENTS, self.com, self.com)
        self.whole, self.spin = everything[0], everything[2]

    def _beyond(
        self, segments: Sequence[str], joint: Complex, origin: Complex
    ) -> tuple[Complex, Complex, Array]:
        """Moment about a joint of moving segments whose accelerations count from `origin`."""
        pair, pull, spin = np.zeros((NS, NS), complex), np.zeros(NS, complex), np.zeros(NS)
        for name in segments:
            com = self.points["com:" + name]
            pair += self.mass[name] * np.outer(np.conj(com - joint), com - origin)
            pull += self.mass[name] * (com - joint)
            spin[_group(name)] += self.inertia[name]
        return pair, pull, spin

    def _leg(self, side: str, joint: str, origin: Complex) -> tuple[Complex, Complex, Array]:
        at = self.points[joint if joint in self.points else f"{side}_{joint}"]
        return self._beyond([f"{side}_{p}" for p in BEYOND[joint]], at, origin)

    def _swinging(self, side: str, joint: str, origin: Complex) -> Quantity:
        """Moment of a joint with nothing but air beyond it, accelerations counted from `origin` [N m/kg]."""
        pair, pull, spin = self._leg(side, joint, origin)
        return Quantity(pair=pair, pull=pull, spin=spin)

    def contact(self, heel: bool, feet: float) -> dict[str, Quantity]:
        """Of a contact on the right foot, or both: the heel or the toe stands still, or on a path b.

        ground : moment of the ground force about the still point [N m/kg].
        ankle, knee, hip : of the stance leg, free_ankle, free_knee, free_hip : of the other, r_shoulder,
            r_elbow and of the left : of the arms [N m/kg]; hip speed, free_hip speed and so on [rad/s].
        fx, fz : ground force [m/s2].
        com_x (from the heel's mark), com_z, com_vx, com_vz : [m], [m/s].
        free_heel, free_toe, hip_z : heights, knee_gap : support knee ahead of the free one [m].
        """
        held = self.points["r_heel" if heel else "r_toe"]
        com = self.com - held
        whole = self.whole + np.outer(np.conj(com), com)
        out = {"ground": Quantity(pair=whole, pull=com, spin=self.spin)}
        for joint in ("ankle", "knee", "hip"):
            pair, pull, spin = self._leg("r", joint, held)
            at = self.points["hip" if joint == "hip" else "r_" + joint] - held
            out[joint] = Quantity(
                pair=pair - (whole - np.outer(np.conj(at), com)) / feet,
                pull=pull - (com - at) / feet,
                spin=spin - self.spin / feet,
            )
        for joint in ("knee", "hip"):
            out["free_" + joint] = self._swinging("l", joint, held)
        out |= {
            "fx": _moved(com, 2, 0),
            "fz": _moved(com, 2, 1, GRAVITY),
            "com_x": _moved(com, 0, 0, 0.0 if heel else self.foot),
            "com_z": _moved(com, 0, 1),
            "com_vx": _moved(com, 1, 0),
            "com_vz": _moved(com, 1, 1),
            "hip_z": _moved(-held, 0, 1),
            "knee_gap": Quantity(place=1j * (self.points["r_knee"] - self.points["l_knee"])),
        }
        for end in ("heel", "toe"):
            out["free_" + end] = _moved(self.points["l_" + end] - held, 0, 1)
        out["free_ankle"] = self._swinging("l", "ankle", held)
        for side, joint in itertools.product("rl", ("shoulder", "elbow")):
            out[f"{side}_{joint}"] = self._swinging(side, joint, held)
        return out | self._speeds("", "free_")

    def _speeds(self, right: str, left: str) -> dict[str, Quantity]:
        """How fast the legs' joints turn, each the way its positive moment turns it [rad/s]."""
        out = {}
        for side, called in (("r", right), ("l", left)):
            at = {name: _group(f"{side}_{name}") for name in ("thigh", "shank", "foot")}
            at["trunk"] = _group("trunk")
            for joint, far, near in (
                ("hip", "thigh", "trunk"), ("knee", "shank", "thigh"), ("ankle", "foot", "shank")
            ):  # fmt: skip
                turn = np.zeros(NS)
                turn[at[far]], turn[at[near]] = 1.0, -1.0
                out[f"{called}{joint} speed"] = Quantity(turn=turn)
        return out

    def flight(self) -> dict[str, Quantity]:
        """Of a flight: angular momentum [m2/s], heights of the feet's ends [m], moments [N m/kg]."""
        out = {"momentum": Quantity(whirl=self.whole, turn=self.spin)}
        for side in "rl":
            for end in ("heel", "toe"):
                name = f"{side}_{end}"
                out[name] = Quantity(place=self.points[name] - self.com, fall=1.0)
            for joint in ("hip", "knee", "ankle", "shoulder", "elbow"):
                pair, _, spin = self._leg(side, joint, self.com)
                out[f"{side}_{joint}"] = Quantity(pair=pair, spin=spin)
        return out | self._speeds("r_", "l_")


class State:
    """Phasors of n instants: angles, rates and second derivatives (n, 12), lift (n,)."""

    def __init__(self, turn: Array, rate: Array, second: Array, lift: Complex) -> None:
        self.z: Complex = np.exp(1j * turn)
        self.w, self.dw, self.lift = rate, second, lift[:, None]
        self.conj = np.conj(self.z)
        self.grow = 1j * second - rate * rate
        self.a = self.grow * self.z
        self.v = 1j * rate * self.z


class Tensors:
    """Quantities stacked: their values, slopes and curvature at many instants."""

    def __init__(self, parts: Sequence[Quantity]) -> None:
        stacked = {
            name: np.array([np.broadcast_to(getattr(p, name), shape) for p in parts])
            for name, shape in _SHAPES.items()
        }
        self.count = len(parts)
        self.place, self.rate, self.second = (
            stacked[k].astype(complex) for k in ("place", "rate", "second")
        )
        self.turn, self.spin = stacked["turn"], stacked["spin"]
        self.path, self.fall = stacked["path"], stacked["fall"]
        self.pull = np.conj(stacked["pull"].astype(complex))
        self.pair, self.whirl = (_Pairs(stacked[k].astype(complex)) for k in ("pair", "whirl"))

    def values(self, s: State) -> Array:
        """(n, quantities)"""
        out = (s.conj @ self.pull.T) * s.lift + s.z @ self.place.T
        out += s.v @ self.rate.T + s.a @ self.second.T
        for pairs, of in ((self.pair, s.a), (self.whirl, s.v)):
            if len(pairs.rows):
                out[:, pairs.rows] += (s.conj[:, None] * pairs.after(of)).sum(2)
        return np.asarray(out.imag + s.w @ self.turn.T + s.dw @ self.spin.T)

    def slopes(self, s: State) -> tuple[Array, Array]:
        """Values, and derivatives by angles, rates and seconds, (n, quantities, 3, 12)."""
        n = len(s.z)
        left = self.pull * s.lift[:, None]
        right = np.repeat(self.second[None], n, 0)
        rows = self.pair.rows
        if len(rows):
            left[:, rows] += self.pair.after(s.a)
            right[:, rows] += self.pair.before(s.conj)
        left *= s.conj[:, None]
        value = left.sum(2) + s.a @ self.second.T
        right *= s.z[:, None]
        place, rate = self.place * s.z[:, None], self.rate * s.z[:, None]
        value += place.sum(2) + (rate * (1j * s.w)[:, None]).sum(2)
        out = np.empty((n, self.count, 3, NS))
        out[:, :, 0] = (right * s.grow[:, None] + place + rate * (1j * s.w)[:, None] - left).real
        out[:, :, 1] = rate.real - 2 * s.w[:, None] * right.imag + self.turn
        out[:, :, 2] = right.real + self.spin
        whirled = self.whirl.rows
        if len(whirled):
            left = s.conj[:, None] * self.whirl.after(s.v)
            right = self.whirl.before(s.conj) * s.z[:, None]
            value[:, whirled] += left.sum(2)
            out[:, whirled, 0] += (right * (1j * s.w)[:, None] - left).real
            out[:, whirled, 1] += right.real
        return value.imag + s.w @ self.turn.T + s.dw @ self.spin.T, out

    def lifted(self, s: State) -> Array:
        """Derivatives of the quantities by the path's second derivative, x and z, (n, quantities, 2)."""
        pulled = s.conj @ self.pull.T
        return np.stack([pulled.imag, pulled.real], -1)

    def curves(self, s: State, weight: Array) -> tuple[Array, Array, Array]:
        """Second derivatives of the quantities' sum under (n, quantities) weights.

        By angle and angle, angle and rate, angle and second (n, 3, 12, 12); by rate and rate, a
        diagonal (n, 12); by angle and the path's second derivative (n, 12, 2).
        """
        second, rate = (weight @ self.second) * s.z, (weight @ self.rate) * s.z
        pulled = (weight @ self.pull) * s.conj
        whole = second * s.grow + (weight @ self.place) * s.z + rate * (1j * s.w) + pulled * s.lift
        by_angle, by_rate, right = -whole.imag, -rate.imag, second
        out = np.zeros((len(s.z), 3, NS, NS))
        if len(self.pair.rows):
            y = self.pair.summed(weight) * s.conj[:, :, None] * s.z[:, None, :]
            x = (y * s.grow[:, None, :]).imag
            out[:, 0] = x + x.transpose(0, 2, 1)
            out[:, 1] = 2 * s.w[:, None, :] * y.real
            out[:, 2] = y.imag
            by_angle -= x.sum(2) + x.sum(1)
            right = right + y.sum(1)
        if len(self.whirl.rows):
            y = self.whirl.summed(weight) * s.conj[:, :, None] * s.z[:, None, :]
            x = y.real * s.w[:, None, :]
            out[:, 0] += x + x.transpose(0, 2, 1)
            out[:, 1] += y.imag
            by_angle -= x.sum(2) + x.sum(1)
            by_rate -= y.imag.sum(1)
        i = np.arange(NS)
        out[:, 0, i, i] += by_angle
        out[:, 1, i, i] += by_rate - 2 * s.w * right.real
        out[:, 2, i, i] -= right.imag
        return out, -2 * right.imag, np.stack([-pulled.real, pulled.imag], -1)


class _Pairs:
    """Those of a stack of matrices that are not zero."""

    def __init__(self, matrices: Complex) -> None:
        self.rows = np.flatnonzero(np.abs(matrices).max(axis=(1, 2), initial=0.0))
        kept = matrices[self.rows]
        self.shape = len(self.rows), NS
        self._after = np.ascontiguousarray(kept.reshape(-1, NS).T)
        self._before = np.ascontiguousarray(kept.transpose(1, 0, 2).reshape(NS, -1))
        self._flat = kept.reshape(len(self.rows), NS * NS)

    def after(self, x: Complex) -> Complex:
        """Each matrix times x, (n, rows, 12)."""
        return (x @ self._after).reshape(-1, *self.shape)

    def before(self, x: Complex) -> Complex:
        """x times each matrix, (n, rows, 12)."""
        return (x @ self._before).reshape(-1, *self.shape)

    def summed(self, weight: Array) -> Complex:
        """The matrices' sum under (n, quantities) weights, (n, 12, 12)."""
        return (weight[:, self.rows] @ self._flat).reshape(-1, NS, NS)
