"""Rows of segments, swing, contacts and positions beside the body, the key poses and a shipped motion."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np

from animate.body.body import SEGMENTS, Array, body
from animate.body.pose import SEGMENT
from animate.body.stances import GRAVITY, key_poses, touchdown
from animate.body.swing import lever
from animate.body.swing_table import HIP_MOMENT_PER_MASS, KNEE_BEND_REACHED
from animate.motion.motion import Motion
from animate.motion.strength import STRENGTH, share
from layout.picture.measured import measure
from layout.picture.points import Click, Frame, Mark
from layout.rules.standing import Standing
from layout.rules.strength import strength_of
from tests.bench.outside import Part, part
from tests.published import Row
from tests.published.held import ROOT, Found, holds, rows

TALL = body(1.86, 76.0, "male")
"""The size of a 17 m jumper (ours)."""
LEG = ("thigh", "shank", "foot")
KINDS = ("head", "trunk", "upper_arm", "forearm", "hand", *LEG)


def _at(kind: str) -> int:
    return SEGMENTS.index(kind if kind in SEGMENTS else f"r_{kind}")


# --- segments -------------------------------------------------------------------------------------


@holds("segments", *KINDS)
def _de_leva(row: Row) -> Found:
    """The women's column sums to .9999 as printed; sharing that out stays inside the print."""
    for build in ("male", "female"):
        who, i = body(1.80, 70.0, build), _at(row["id"])
        yield f"mass_{build}", who.masses[i] / 70.0, None
        yield f"com_{build}", who.com[i], None
        yield f"rg_{build}", math.sqrt(who.inertias[i] / who.masses[i]) / who.lengths[i], None


MASS_APART = {"thigh": 0.05, "trunk": 0.07}
COM_APART = {"thigh": 0.05, "upper_arm": 0.15, "hand": 0.16, "foot": 0.08}
RG_APART = {"foot": 0.215, "upper_arm": 0.06, "hand": 0.08, "shank": 0.05}
"""How far the two studies are apart at the most, where they cut the body differently [-]."""


@holds("segments.dempster", *KINDS[1:], "head_neck")
def _dempster(row: Row) -> Found:
    """A rival study, on other cuts: ours is de Leva's mean of men and women."""
    kind = row["id"].removesuffix("_neck")
    who, i = body(1.80, 70.0), _at(kind)
    yield "mass", who.masses[i] / 70.0, MASS_APART.get(kind, 0.015)
    if "com" in row:
        yield "com", who.com[i], COM_APART.get(kind, 0.04)
        gyration = math.sqrt(who.inertias[i] / who.masses[i]) / who.lengths[i]
        yield "rg", gyration, RG_APART.get(kind, 0.045)


@holds("segments.length", *KINDS[1:], "foot_height")
def _lengths(row: Row) -> Found:
    who = body(1.80, 70.0)
    ours = who.ankle[1] if row["id"] == "foot_height" else who.lengths[_at(row["id"])]
    yield "length", ours / 1.80, None


# --- the free leg ---------------------------------------------------------------------------------


def _straight() -> tuple[float, float, float]:
    """Mass [share], centre and radius of gyration from the hip over hip to ankle [-], ours."""
    leg, who = lever(body(1.80, 72.0), 0.0), body(1.80, 72.0)
    span = float(who.lengths[_at("thigh")] + who.lengths[_at("shank")])
    return leg.mass / 72.0, float(leg.reach) / span, math.sqrt(float(leg.inertia) / leg.mass) / span


@holds("swing", "total-leg-mass", "total-leg-centre", "total-leg-gyration")
def _leg(row: Row) -> Found:
    """Ours against a rival study's whole leg, and that study's own parts against its whole."""
    which = ("total-leg-mass", "total-leg-centre", "total-leg-gyration").index(row["id"])
    yield "value", _straight()[which], (0.05, 0.08, 0.07)[which]
    table, long = rows(), {"thigh": 0.245, "shank": 0.246, "foot": 0.039}
    parts = {k: table["segments.dempster", k] for k in LEG}
    mass = sum(p["mass"] for p in parts.values())
    tops = {"thigh": 0.0, "shank": 0.245, "foot": 0.491}
    span = 0.491
    centre = {k: (tops[k] + p["com"] * long[k]) for k, p in parts.items()}
    mean = sum(parts[k]["mass"] * centre[k] for k in LEG) / mass / span
    square = sum(
        p["mass"] * (centre[k] ** 2 + (p["rg"] * long[k]) ** 2) for k, p in parts.items()
    ) / mass  # fmt: skip
    yield "value", (mass, mean, math.sqrt(square) / span)[which], (0.0006, 0.02, 0.02)[which]


@holds("swing", "leg-swing-frequency")
def _frequency(row: Row) -> Found:
    """Their statures were not seen: 1.55 to 1.95 m spans 6 % either way of 1.72 m."""
    leg = lever(body(1.72, 68.0), 0.0)
    pull = leg.mass * GRAVITY * float(leg.reach)
    yield "value", math.sqrt(pull / float(leg.inertia)) / (2.0 * math.pi), 0.06 * row["value"]


@holds("swing", "knee-bend-most", "hip-moment")
def _given(row: Row) -> Found:
    knee = row["id"] == "knee-bend-most"
    yield "value", math.degrees(KNEE_BEND_REACHED) if knee else HIP_MOMENT_PER_MASS, None


# --- strength -------------------------------------------------------------------------------------


@holds("contacts", *STRENGTH)
def _torque(row: Row) -> Found:
    joint = row["id"]
    yield "eccentric", 1.0 / float(share(joint, 1.0, -1e6)), None
    yield "isometric", 1.0 / float(share(joint, 1.0, 0.0)), None
    half = 0.5 * row["isometric"]
    yield "fastest", 10.0 / (float(share(joint, half, 10.0)) - float(share(joint, half, 0.0))), None


@holds("contacts", "bounding-power-ankle", "bounding-power-knee")
def _power(row: Row) -> Found:
    """What the line through the torques lets a joint give; at the ankle a tendon springs back the rest."""
    ankle = row["id"].endswith("ankle")
    torque, speed = np.meshgrid(np.linspace(0.1, 8.0, 80), np.linspace(0.0, 36.0, 73))
    asked = share("ankle-" if ankle else "knee+", torque, speed)
    best = float((torque * speed)[asked <= 1.0].max())
    for key in ("first", "third", "fifth"):
        yield key, best, ((0.7 if ankle else 1.0) * row[key], 4.0 * row[key])


@holds("contacts", *(f"isometric-{joint}" for joint in STRENGTH))
def _healthy(row: Row) -> Found:
    """Over weight times a stature of 1.75 m: the beginner we plan for stands between the healthy adults
    of this row and a national jumper (2.4 times as strong at the most)."""
    joint = row["id"].removeprefix("isometric-")
    still = 1.0 / float(share(joint, 1.0, 0.0))
    for build in ("male", "female"):
        ours = strength_of(Standing(25, "beginner", 0.0), build) * still / (GRAVITY * 1.75)
        yield build, ours, (0.8 * row[build], 2.4 * row[build])


# --- positions ------------------------------------------------------------------------------------


def _knee(pose: str) -> float:
    a = key_poses()[pose]
    return 180.0 - math.degrees(a[SEGMENT["r_thigh"]] - a[SEGMENT["r_shank"]])


@holds("positions-facts", "knee-touchdown", "knee-takeoff", "trunk-lean", "toe-ahead")
def _poses(row: Row) -> Found:
    down, up = ("touchdown after hop", "touchdown after step"), (
        "take-off into hop", "take-off into step", "take-off into jump")  # fmt: skip
    if row["id"] == "toe-ahead":
        assert row["total"] == 17.0
        yield "low..high", touchdown(TALL, "hop").at(9.4).toe, None
        return
    if row["id"] == "trunk-lean":
        for pose in (*down, up[1]):
            lean = math.degrees(key_poses()[pose][SEGMENT["trunk"]])
            yield "within", lean, (-row["within"], row["within"])
        return
    for pose in down if row["id"] == "knee-touchdown" else up:
        yield "low..high", _knee(pose), None


@lru_cache(maxsize=1)
def _jump() -> tuple[Motion, dict[str, Part]]:
    """A shipped whole jump, its step support and the flight after it, read from outside."""
    folder = ROOT / "animate" / "motion" / "motions"
    motion = Motion.load(folder / "drill-full-triple-jump-3.json.gz")
    at = next(i for i, s in enumerate(motion.chain.supports) if s.leave == "step")
    return motion, {"contact": part(motion, 2 * at), "flight": part(motion, 2 * at + 1)}


def _seen() -> dict[str, Any]:
    """Step support of the shipped jump: support side, angles over time [deg], times [s]."""
    motion, parts = _jump()
    support = next(s for s in motion.chain.supports if s.leave == "step")
    side, free = support.side, "l" if support.side == "r" else "r"
    p = parts["contact"]

    def deg(name: str) -> Array:
        return np.asarray(np.degrees(p.angle[name]))

    down = p.com[0] - p.point[f"{side}_toe"][0]
    vx, vy = p.velocity[-1]
    return {
        "knee": 180.0 - (deg(f"{side}_thigh") - deg(f"{side}_shank")),
        "thighs": np.abs(deg(f"{free}_thigh") - deg(f"{side}_thigh")),
        "hip": 180.0 - (deg(f"{side}_thigh") - deg("trunk")),
        # From the knee to the toe, seen from the ankle: the toe lies lower than the sole is level.
        "ankle": 90.0 + deg(f"{side}_shank") - deg(f"{side}_foot") + TOE_DOWN,
        "times": 1e3 * (p.times - p.times[0]),
        "landing": math.degrees(math.atan2(down[1], -down[0])),
        "angle": math.degrees(math.atan2(vy, vx)),
        "free": 180.0 - np.degrees(parts["flight"].angle[f"{free}_thigh"]
                                   - parts["flight"].angle[f"{free}_shank"]),
    }  # fmt: skip


@holds("positions-facts", "knee-minimum", "free-knee-flight")
def _moving(row: Row) -> Found:
    """In the shipped jump; a band remembered with low confidence, so a tenth beyond its ends."""
    ours = _seen()["knee"].min() if row["id"] == "knee-minimum" else np.median(_seen()["free"])
    yield "low..high", ours, 15.0


TOE_DOWN = math.degrees(math.atan2(TALL.ankle[1], TALL.lengths[_at("foot")] - TALL.ankle[0]))
"""Line from ankle to toe under the sole's [deg]."""
GROUPS = {
    "step-thighs-touchdown": (lambda: _seen()["thighs"][0], 12.0),
    "step-thighs-takeoff": (lambda: _seen()["thighs"][-1], 20.0),
    "step-knee-least": (lambda: _seen()["knee"].min(), 10.0),
    "step-landing-angle": (lambda: _seen()["landing"], 12.0),
    "step-takeoff-angle": (lambda: _seen()["angle"], 2.0),
}
"""Ours, and how far off jumpers over 17 m it may be [deg] (ours)."""


@holds("contacts", *GROUPS)
def _step(row: Row) -> Found:
    """The shipped jump lies within two standard deviations of the college men, and near the best."""
    ours, near = GROUPS[row["id"]]
    yield "college", float(ours()), 2.0 * row["college_sd"]
    yield "best", float(ours()), near
    assert row["best_sd"] < row["college_sd"]


@holds("kinematics", "step-give-times")
def _give(row: Row) -> Found:
    """No spread was printed; how near is ours. The shipped jump's ankle goes on bending."""
    found = _seen()
    for joint, near in (("hip", 10.0), ("knee", 10.0), ("ankle", 30.0)):
        yield joint, found["times"][int(np.argmin(found[joint]))], near


@holds("kinematics", "step-ankle-least")
def _ankle(row: Row) -> Found:
    yield "ankle", _seen()["ankle"].min(), 2.0 * row["ankle_sd"]


@holds("kinematics", "step-hip-give")
def _hip(row: Row) -> Found:
    hip = _seen()["hip"]
    yield "give", hip[0] - hip.min(), row["give_sd"]


@holds("contacts", "sprint-on-a-picture")
def _on_a_picture(row: Row) -> Found:
    """The runner's joints put up from the set's own angles, filmed tilted, tapped and measured.

    The hip's angle, trunk to thigh, places the stance thigh; what comes back is measured.
    """
    found = {v.measure.name: math.degrees(v.value) for v in measure(_runner(row), TALL).values
             if v.measure.unit == "rad"}  # fmt: skip
    yield "knee", found["support_knee_touchdown"], 0.05
    yield "free_knee", found["free_knee_touchdown"], 0.05
    yield "thighs", found["thighs_apart_touchdown"], 0.05
    yield "trunk", found["trunk_lean_touchdown"], 0.05
    thigh = found["support_thigh_touchdown"] + 90.0
    yield "hip", 180.0 - thigh - found["trunk_lean_touchdown"], 0.05


def _runner(row: Row) -> Frame:
    """A picture of joints (x ahead, z up), 300 pixels to the metre, the camera rolled by 3 degrees."""

    def along(length: float, degrees: float) -> complex:
        """A segment from straight down, forward positive."""
        return length * complex(math.sin(math.radians(degrees)), -math.cos(math.radians(degrees)))

    hip = 0.9j
    trunk = hip - along(0.6, -row["trunk"])
    stance = 180.0 - row["hip"] - row["trunk"]
    at = {"hip": hip, "shoulder": trunk}
    for role, thigh, knee in (
        ("support", stance, row["knee"]), ("free", stance - row["thighs"], row["free_knee"]),
    ):  # fmt: skip
        at[f"{role} knee"] = hip + along(0.453, thigh)
        at[f"{role} ankle"] = at[f"{role} knee"] + along(0.447, thigh - (180.0 - knee))
    turn = 300.0 * complex(math.cos(0.05), math.sin(0.05))

    def click(place: complex) -> Click:
        seen = place * turn
        return Click(900.0 + seen.real, 800.0 - seen.imag)

    marks = tuple(Mark(click(complex(x, 0.0)), 4.0 + x) for x in (-1.0, 1.5))
    return Frame("", {n: click(p) for n, p in at.items()}, marks, (), "right")


@holds("contacts", "sprint-stride")
def _sprint(row: Row) -> Found:
    """Beside the running stride's key poses; the forces beside what the drills' contacts ask."""
    down, up = key_poses()["touchdown after run"], key_poses()["take-off into run"]
    yield "knee_touchdown", _knee("touchdown after run"), 10.0
    yield "knee_least", _seen()["knee"].min(), 25.0
    yield "knee_takeoff", _knee("take-off into run"), 10.0
    for key, pose, off in (("thighs_touchdown", down, 40.0), ("thighs_takeoff", up, 30.0)):
        apart = math.degrees(abs(pose[SEGMENT["r_thigh"]] - pose[SEGMENT["l_thigh"]]))
        yield key, apart, off
    from tests import strategies as own

    first = own.plan("tevin", "full-triple-jump").contacts[0]
    assert first.time is not None
    assert first.vertical is not None
    assert first.vy_in is not None
    yield "contact", first.time, 0.03
    # A mean over a contact is at most its peak, and at least half of it for one hump.
    yield "peak", first.vertical, (0.5 * row["peak"], 1.2 * row["peak"])
    p = _jump()[1]["contact"]
    share = (p.times[1:-1][int(p.force[:, 1].argmax())] - p.times[0]) / (p.times[-1] - p.times[0])
    yield "peak_at", share, 0.25
    # A jumper lowers before the board: falls less than a sprinter, and never rises onto it.
    yield "vy_in", first.vy_in, (row["vy_in"], 0.0)
    # And takes off upward with more than a running stride's.
    assert first.vy is not None
    yield "vy_out", first.vy, (2.0 * row["vy_out"], 4.5)
