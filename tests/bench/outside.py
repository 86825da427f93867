"""Mechanics of a motion measured from outside: only segment angles and the hip's path are taken.

Tables of segments come from `tests/published/segments.toml`, places, speeds and accelerations from
central differences a quarter of a millisecond apart, joint moments from Newton and Euler, segment
after segment from the foot. Nothing of the solver's rows or of `animate.motion.check` is used.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import SEGMENTS
from animate.motion.motion import Motion

Array = NDArray[np.float64]
G: Final = 9.81
STEP: Final = 0.00025
"""Between instants [s]."""
TABLES: Final = Path(__file__).resolve().parents[1] / "published" / "segments.toml"
LIMBS: Final = ("upper_arm", "forearm", "hand", "thigh", "shank", "foot")
BEYOND: Final = (("ankle", "foot", "shank"), ("knee", "shank", "thigh"), ("hip", "thigh", ""))
"""Joints of a leg from the foot up: the segment below, the one above ("" the trunk)."""


def kind(segment: str) -> str:
    """A segment without its side."""
    return segment[2:] if segment[:2] in ("r_", "l_") else segment


@cache
def table(stature: float, mass: float, build: str) -> dict[str, tuple[float, float, float, float]]:
    """Mass [kg], centre from the first end [m], inertia [kg m2] and length [m] of each kind."""
    data = tomllib.loads(TABLES.read_text(encoding="utf-8"))
    share = {row["id"]: float(row["length"]) for row in data["length"]}
    share["head"] = 1.0 - sum(share[n] for n in ("trunk", "thigh", "shank", "foot_height"))
    sexes = ("male", "female") if build == "average" else (build,)
    out, total = {}, 0.0
    for row in data["row"]:
        name, length = row["id"], share[row["id"]] * stature
        m, c, r = (np.mean([row[f"{f}_{s}"] for s in sexes]) for f in ("mass", "com", "rg"))
        out[name] = (float(m), float(c) * length, float(r) * length, length)
        total += m * (2 if name in LIMBS else 1)
    return {
        name: (m * mass / total, c, m * mass / total * r * r, length)
        for name, (m, c, r, length) in out.items()
    }


@dataclass(frozen=True, eq=False)
class Part:
    """One phase on its fine grid: [s], [rad], [m], [m/s], [N], [N m], [rad/s].

    `inner` ones lack the first and last instant. `moment` and `speed` are of the legs' joints, by side
    and name: + bends the hip, straightens the knee, raises the toes.
    """

    times: Array
    angle: dict[str, Array]
    point: dict[str, Array]
    com: Array
    velocity: Array
    force: Array
    moment: dict[str, Array]
    speed: dict[str, Array]


def rate(x: Array, h: float) -> Array:
    """Rate of change, fourth order at both ends."""
    out = np.empty_like(x)
    out[1:-1] = (x[2:] - x[:-2]) / (2 * h)
    ends = np.array([-25.0, 48.0, -36.0, 16.0, -3.0]) / (12 * h)
    out[0] = np.tensordot(ends, x[:5], 1)
    out[-1] = -np.tensordot(ends, x[:-6:-1], 1)
    return out


def second(x: Array, h: float) -> Array:
    """Second derivative at the inner instants."""
    return np.asarray((x[2:] - 2 * x[1:-1] + x[:-2]) / h**2)


def cross(r: Array, f: Array) -> Array:
    """Turning effect of one vector at the place of another."""
    return np.asarray(r[..., 0] * f[..., 1] - r[..., 1] * f[..., 0])


def _placed(motion: Motion, a: dict[str, Array], hip: Array) -> tuple[dict[str, Array], ...]:
    who = motion.body
    tab = table(who.stature, who.mass, who.build)

    def far(segment: str, length: float) -> Array:
        return length * np.stack([np.sin(a[segment]), -np.cos(a[segment])], 1)

    point = {"hip": hip, "shoulder": hip - far("trunk", tab["trunk"][3])}
    point["vertex"] = point["shoulder"] - far("head", tab["head"][3])
    centre = {
        "head": point["vertex"] + far("head", tab["head"][1]),
        "trunk": point["shoulder"] + far("trunk", tab["trunk"][1]),
    }
    along, square = who.ankle
    for s in ("r_", "l_"):
        rows = (
            ("shoulder", (("upper_arm", "elbow"), ("forearm", "wrist"), ("hand", "tip"))),
            ("hip", (("thigh", "knee"), ("shank", "ankle"))),
        )
        for start, limb in rows:
            here = point[start]
            for part, end in limb:
                centre[s + part] = here + far(s + part, tab[part][1])
                here = here + far(s + part, tab[part][3])
                point[s + end] = here
        turn = a[s + "foot"]
        on = np.stack([np.cos(turn), np.sin(turn)], 1)
        up = np.stack([-np.sin(turn), np.cos(turn)], 1)
        point[s + "heel"] = point[s + "ankle"] - along * on - square * up
        point[s + "toe"] = point[s + "heel"] + tab["foot"][3] * on
        centre[s + "foot"] = point[s + "heel"] + tab["foot"][1] * on
    return point, centre


def part(motion: Motion, k: int) -> Part:
    """Phase k of a motion, measured."""
    start, end = motion.starts[k], motion.starts[k + 1]
    n = max(8, round((end - start) / STEP))
    times, h = np.linspace(start, end, n + 1), (end - start) / n
    frames = motion.frames(times, k)
    a = {name: frames.angles[:, i] for i, name in enumerate(SEGMENTS)}
    point, centre = _placed(motion, a, frames.hip)
    tab = table(motion.body.stature, motion.body.mass, motion.body.build)
    mass = motion.body.mass
    com = sum(tab[kind(s)][0] * centre[s] for s in SEGMENTS) / mass
    force = mass * (second(com, h) + np.array([0.0, G]))
    turning: Any = 0.0
    for s in SEGMENTS:
        m, _, inertia, _ = tab[kind(s)]
        away = (centre[s] - com)[1:-1]
        turning += m * cross(away, second(centre[s] - com, h)) + inertia * second(a[s], h)
    about = turning + cross(com[1:-1], force)
    slot = motion.phases[k].slot
    down = slot.support.side if slot.kind == "contact" else ""
    moment, speed = {}, {}
    for s in "rl":
        share = 0.5 if down == "both" else float(down == s)
        total: Any = 0.0
        for joint, below, above in BEYOND:
            at = point["hip" if joint == "hip" else f"{s}_{joint}"][1:-1]
            done = {"ankle": 1, "knee": 2, "hip": 3}[joint]
            total = -share * (about - cross(at, force))
            for seg in (f"{s}_{name}" for name in ("foot", "shank", "thigh")[:done]):
                m, _, inertia, _ = tab[kind(seg)]
                pull = second(centre[seg], h) + np.array([0.0, G])
                total = (
                    total + m * cross(centre[seg][1:-1] - at, pull) + inertia * second(a[seg], h)
                )
            moment[f"{s}_{joint}"] = total / mass
            upper = a[f"{s}_{above}"] if above else a["trunk"]
            speed[f"{s}_{joint}"] = rate(a[f"{s}_{below}"] - upper, h)[1:-1]
    return Part(times, a, point, com, rate(com, h), force, moment, speed)
