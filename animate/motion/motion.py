"""A solved motion: evaluate it at any time, check it, keep it in a file.

In flight the hip follows from the parabola of the centre of mass, in contact from the foot on its
mark, so a stored motion is a table of spline coefficients and evaluating it is cheap.
"""

from __future__ import annotations

import gzip
import json
import os
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import SEGMENTS, Array, Body
from animate.body.body import body as make_body
from animate.body.pose import JOINTS
from animate.body.stances import GRAVITY
from animate.motion.chain import Chain, Settings
from animate.motion.solver.form import (
    EXPAND,
    FREE,
    FREE_MIRROR,
    Phase,
    Slot,
    basis,
    flat_span,
    offsets,
    slots,
)
from animate.refused import Refused
from animate.whole_file import fill_with, read_bounded, write_whole

VERSION: Final = 1
Whole = NDArray[np.int_]
_LIMIT_BYTES: Final = 500_000
"""Of a motion's file, unpacked: ten times the longest shipped one."""
LONGEST: Final = 4.0
"""Of one phase [s]."""


@dataclass(frozen=True, eq=False)
class Frames:
    """A motion at some instants.

    times: (n,), [s].
    angles, rates, accelerations: (n, 14), segment angles and their derivatives [rad], [rad/s],
        [rad/s2].
    hip: (n, 2), [m].
    positions: (n, 17, 2), joint positions [m] in the order of `animate.body.pose.JOINTS`.
    com, com_velocity, com_acceleration: (n, 2), of the centre of mass [m], [m/s], [m/s2].
    momentum: (n,), angular momentum about the centre of mass [kg m2/s], + turns the way a limb swings
        forward.
    momentum_rate: (n,), [N m].
    phase: (n,), number of the phase each instant lies in.
    """

    times: Array
    angles: Array
    rates: Array
    accelerations: Array
    hip: Array
    positions: Array
    com: Array
    com_velocity: Array
    com_acceleration: Array
    momentum: Array
    momentum_rate: Array
    phase: Whole


def placed(angles: Array, rates: Array, seconds: Array, vectors: Array) -> tuple[Array, ...]:
    """Points fixed to segments, relative to the hip: place, velocity, acceleration."""
    c, s = np.cos(angles), np.sin(angles)
    u, v = vectors[..., 0].T, vectors[..., 1].T

    def mix(a: Array, b: Array) -> Array:
        return np.stack([a @ u - b @ v, b @ u + a @ v], axis=-1)

    return (
        mix(c, s),
        mix(-rates * s, rates * c),
        mix(-seconds * s - rates**2 * c, seconds * c - rates**2 * s),
    )


@dataclass(frozen=True, eq=False)
class Motion:
    """An athlete moving through a chain of contacts.

    phases: contact, flight, contact ... in order.
    """

    body: Body
    chain: Chain
    settings: Settings
    phases: tuple[Phase, ...]

    @cached_property
    def starts(self) -> Array:
        """Start of each phase and the end of the last [s], (phases + 1,)."""
        return np.concatenate([[0.0], np.cumsum([p.duration for p in self.phases])])

    @property
    def duration(self) -> float:
        """Whole time [s]."""
        return float(self.starts[-1])

    @property
    def touchdowns(self) -> Array:
        """Time each contact starts [s], (contacts,)."""
        return self.starts[:-1:2]

    @property
    def takeoffs(self) -> Array:
        """Time each contact ends [s], (contacts,); the last is the end of the motion."""
        return self.starts[1::2]

    @property
    def contact_times(self) -> Array:
        """[s], (contacts,)"""
        return self.takeoffs - self.touchdowns

    @property
    def flight_times(self) -> Array:
        """[s], (contacts - 1,)"""
        return self.touchdowns[1:] - self.takeoffs[:-1]

    @cached_property
    def _vectors(self) -> dict[str, Array]:
        return offsets(self.body)

    def frames(self, times: Array, phase: int | None = None) -> Frames:
        """Evaluate the motion.

        times: (n,), [s], within 0 and `duration`; an event belongs to the phase that starts there.
        phase: take this phase's side of its end points.
        """
        times = np.atleast_1d(np.asarray(times, float))
        if times.ndim != 1 or not np.isfinite(times).all():
            raise Refused("times", "must be finite numbers in one row")
        low, high = -1e-9, self.duration + 1e-9
        if len(times) and (times.min() < low or times.max() > high):
            raise Refused("times", f"0 to {self.duration:g} s", f"{times.min()} {times.max()}")
        n = len(times)
        if phase is None:
            which = np.searchsorted(self.starts, times, side="right") - 1
            which = np.clip(which, 0, len(self.phases) - 1)
        else:
            which = np.full(n, phase)
        free = np.zeros((3, n, len(FREE)))
        for k in sorted(set(which.tolist())):  # np.unique imports np.ma: 20 ms
            here = which == k
            p = self.phases[k]
            tau = (times[here] - self.starts[k]) / p.duration
            for d in range(3):
                matrix = basis(np.array(p.slot.breaks), tau, d)
                # Summed term by term: a matrix product rounds by a column's place, so that a mirror
                # image would differ in the last digit on some machines.
                total = np.multiply(matrix[:, :, None], p.angles, order="C").sum(axis=1)
                free[d, here] = total / p.duration**d
        angles, rates, seconds = (free[d] @ EXPAND.T for d in range(3))
        names = [*JOINTS, "com"]
        rel = placed(angles, rates, seconds, np.stack([self._vectors[name] for name in names]))
        hips = [np.zeros((n, 2)) for _ in range(3)]
        for k in sorted(set(which.tolist())):  # np.unique imports np.ma: 20 ms
            here = which == k
            part = tuple(r[here] for r in rel)
            for out, value in zip(hips, self._hip(k, times[here], names, part), strict=True):
                out[here] = value
        com, velocity, acceleration = (r[:, -1] + h for r, h in zip(rel, hips, strict=True))
        momentum, change = self._momentum(angles, rates, seconds)
        positions = rel[0][:, :-1] + hips[0][:, None]
        return Frames(
            times, angles, rates, seconds, hips[0], positions, com, velocity, acceleration,
            momentum, change, which,
        )  # fmt: skip

    def _hip(
        self, k: int, times: Array, names: list[str], rel: tuple[Array, ...]
    ) -> tuple[Array, Array, Array]:
        p = self.phases[k]
        t = times - self.starts[k]
        com = names.index("com")
        if p.slot.kind == "flight":
            fall = np.array([0.0, -GRAVITY])
            c = p.com + p.velocity * t[:, None] + fall * (t**2 / 2)[:, None]
            v = p.velocity + fall * t[:, None]
            return c - rel[0][:, com], v - rel[1][:, com], fall - rel[2][:, com]
        s = p.slot.support
        heel, toe = (names.index(f"{s.foot}_{e}") for e in ("heel", "toe"))
        tau = t / p.duration
        if s.surface == "sand":
            assert p.base is not None
            path = [
                basis(np.array(p.slot.breaks), tau, d) @ p.base / p.duration**d for d in range(3)
            ]
            path[0] = path[0] + np.array([s.toe, 0.0])
            first, second, third = (b - r[:, heel] for b, r in zip(path, rel, strict=True))
            return first, second, third
        turn = (tau < flat_span(p.slot)[0])[:, None]
        mark, foot = np.array([s.toe, 0.0]), np.array([self.body.lengths[-1], 0.0])
        place, rate, second = (np.where(turn, -r[:, heel], -r[:, toe]) for r in rel)
        return place + np.where(turn, mark - foot, mark), rate, second

    def _momentum(self, angles: Array, rates: Array, seconds: Array) -> tuple[Array, Array]:
        com = self._vectors["com"]
        vectors = np.stack([self._vectors["com:" + s] - com for s in SEGMENTS])
        r, v, a = placed(angles, rates, seconds, vectors)
        m, i = self.body.masses, self.body.inertias

        def cross(b: Array) -> Array:
            return np.asarray((r[..., 0] * b[..., 1] - r[..., 1] * b[..., 0]) @ m)

        return cross(v) + rates @ i, cross(a) + seconds @ i

    def mirrored(self) -> Motion:
        """The same motion of an athlete of the other leg: right and left changed over."""
        chain = self.chain.mirrored()
        fresh = slots(chain)
        phases = tuple(
            replace(p, slot=slot, angles=p.angles[:, FREE_MIRROR])
            for p, slot in zip(self.phases, fresh, strict=True)
        )
        return Motion(self.body, chain, self.settings, phases)

    def as_dict(self) -> dict[str, Any]:
        """Plain data for JSON; angles rounded to 1e-9 rad, lengths to 1e-9 m."""

        def figures(values: Array) -> list[Any]:
            return np.round(np.asarray(values, float), 9).tolist()  # type: ignore[no-any-return]

        return {
            "version": VERSION,
            "body": [self.body.stature, self.body.mass, self.body.build],
            "chain": self.chain.as_dict(),
            "settings": self.settings.as_dict(),
            "phases": [
                {
                    "duration": round(p.duration, 12),
                    "angles": figures(p.angles),
                    "base": None if p.base is None else figures(p.base),
                    "com": figures(p.com),
                    "velocity": figures(p.velocity),
                }
                for p in self.phases
            ],
        }

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Motion:
        """Back from `as_dict`."""
        if not isinstance(data, dict) or data.get("version") != VERSION:
            got = data.get("version") if isinstance(data, dict) else type(data).__name__
            raise Refused("version", f"{VERSION} needed", f"{got!r}")
        try:
            body = make_body(*data["body"])
            chain = Chain.from_dict(data["chain"])
            settings = Settings(**data["settings"])
            phases: list[Phase] = []
            start = 0.0
            for slot, p in zip(slots(chain), data["phases"], strict=True):
                phases.append(_phase(slot, start, p, len(phases) + 1))
                start += phases[-1].duration
        except (AttributeError, IndexError, KeyError, OverflowError, TypeError) as fault:
            raise Refused("motion", f"a field is missing or of the wrong kind ({fault})") from None
        return cls(body, chain, settings, tuple(phases))

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write to a file, whole or not at all; packed when the name ends in ``.gz``."""
        content = json.dumps(self.as_dict(), separators=(",", ":")).encode()
        if str(path).endswith(".gz"):
            content = gzip.compress(content, 9, mtime=0)
        place = Path(path)
        place.parent.mkdir(parents=True, exist_ok=True)
        write_whole(place, fill_with(content), overwrite=True)

    @classmethod
    def load(cls, path: str | os.PathLike[str]) -> Motion:
        """Read a file written by `save`."""
        try:
            return cls.from_dict(json.loads(read_bounded(path, _LIMIT_BYTES)))
        except RecursionError:
            raise Refused(str(path), "nested too deeply") from None
        except (OSError, ValueError) as fault:
            raise Refused(str(path), str(fault)) from None


def _phase(slot: Slot, start: float, data: dict[str, Any], number: int) -> Phase:
    """One phase out of a file, every figure finite and every table of the shape its slot has."""

    def table(name: str, shape: tuple[int, ...]) -> Array:
        out = np.array(data[name], float)
        if out.shape != shape or not np.isfinite(out).all():
            raise Refused(f"{name} of phase {number}", "wrong shape or figures")
        return out

    duration = float(table("duration", ()))
    if not 0.0 < duration <= LONGEST:
        raise Refused(f"duration of phase {number}", f"above 0, at most {LONGEST:g} s")
    sand = slot.kind == "contact" and slot.support.surface == "sand"
    base = table("base", (slot.count, 2)) if sand else None
    return Phase(
        slot, start, duration, table("angles", (slot.count, len(FREE))), base,
        table("com", (2,)), table("velocity", (2,)),
    )  # fmt: skip
