"""Signs that a picture measures wrongly: lens, panning, a tilted camera, a point clicked amiss.

Limits in standard deviations and in shares are ours, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise
from typing import Final

import numpy as np

from animate.body.body import Body
from animate.body.pose import SEGMENT
from layout.picture.camera import FAR, Camera, Errors
from layout.picture.measured import Measured
from layout.picture.places import ROLES
from layout.picture.points import Frame

BENT: Final = 3.5
"""The same for a mark off the line of the others."""
BUILD: Final = 0.06
"""How far a healthy athlete's segments differ from the table, one standard deviation [-]."""
TILTED: Final = float(np.radians(10.0))
PLUMB: Final = float(np.radians(1.0))
"""How plumb a pole is held, one standard deviation [rad]."""
OFF_GROUND: Final = 0.10
"""The foot that is down, above or below the marks' line [m]."""
BEYOND: Final = 0.5
"""How far outside the marks, in their span, the body may be."""


def signs_of(frame: Frame, who: Body, m: Measured) -> tuple[str, ...]:
    """What a coach should know before trusting a picture's measures.

    `m`: of the same frame. Returns a sentence each; empty where nothing is amiss.
    """
    camera = Camera(frame)
    return (
        *_marks(camera, m.errors),
        *_references(camera, m.errors),
        *_level(camera, m),
        *_segments(who, m),
        *_ground(frame, camera, m),
    )


def _marks(camera: Camera, e: Errors) -> list[str]:
    """Scale differing between marks, and marks off one line."""
    found = camera.neighbours(e)
    if not found:
        return []
    out = []
    low, high = min(found), max(found)
    share = high[0] / max(low[0], 1e-9) - 1.0
    if share > FAR * np.hypot(low[1], high[1]):
        out.append(
            f"The scale differs between marks by {100 * share:.0f} % ({high[2]}: {high[0]:.0f} pixels "
            f"to the metre, {low[2]}: {low[0]:.0f}): the camera was not square to the runway, was "
            "panned, or has a wide lens. The margins are larger for it; angles may be off too."
        )
    marks = camera.frame.marks
    at = np.array([(k.at.x, k.at.y) for k in marks])
    off = at - at.mean(axis=0)
    away = np.abs(off @ np.linalg.svd(off, full_matrices=False)[2][1])
    if away.max() > BENT * e.click:
        out.append(
            f"The mark at {marks[int(away.argmax())].reading:.2f} m lies {away.max():.0f} pixels off "
            "the line of the others: a wide lens bends it, or it is clicked wrong."
        )
    return out


def _references(camera: Camera, e: Errors) -> list[str]:
    """Scales and levels that do not agree, as of marks and an upright."""
    _, tilt = camera.parts(camera.nominal)
    found = camera.references(e)
    out = []
    for (i, (scale, loose, name)), (j, (other, looser, second)) in combinations(
        enumerate(found), 2
    ):
        share = other / scale - 1.0
        first = f"{second[0].upper()}{second[1:]}"
        if abs(share) > FAR * np.hypot(loose, looser):
            out.append(
                f"{first} gives a scale {100 * abs(share):.0f} % "
                f"{'larger' if share > 0 else 'smaller'} than {name}: they are not both in the "
                "athlete's plane, or the picture is stretched or bent by the lens."
            )
        turn = float(tilt[j] - tilt[i])
        shown = camera.levels[i] and camera.levels[j]
        if shown and abs(turn) > FAR * np.linalg.norm([loose, looser, PLUMB]):
            out.append(
                f"{first} and {name} differ by {abs(np.degrees(turn)):.1f}° in what is level: one is "
                "clicked wrong, not plumb, or the camera was not square to the runway."
            )
    return out


def _level(camera: Camera, m: Measured) -> list[str]:
    if not camera.level_shown:
        return [
            "Nothing in the picture shows what is level: the camera is taken as level, with "
            f"{np.degrees(m.errors.level):.1f}° of margin. Two marks on the runway would show it."
        ]
    if abs(m.tilt) > TILTED:
        return [
            f"The camera is tilted by {abs(np.degrees(m.tilt)):.0f}°. It is taken out, but are the "
            "marks on the runway, and clicked right?"
        ]
    return []


def _segments(who: Body, m: Measured) -> list[str]:
    """Thigh, shank and trunk against the athlete's stature, and thigh against shank."""
    ends = {
        **{f"{r} thigh": ("hip", f"{r} knee") for r in ROLES},
        **{f"{r} shank": (f"{r} knee", f"{r} ankle") for r in ROLES},
        "trunk": ("shoulder", "hip"),
    }
    loose = np.sqrt(2.0) * float(np.hypot(m.errors.click / m.scale, m.errors.joint))
    odd: list[tuple[str, float, float]] = []
    shares: dict[str, tuple[float, float]] = {}
    for name, (one, two) in ends.items():
        if not {one, two} <= m.places.keys():
            continue
        length = float(np.hypot(*np.subtract(m.places[two], m.places[one])))
        kind = name.split()[-1]
        usual = float(who.lengths[SEGMENT[kind if kind == "trunk" else f"r_{kind}"]])
        sigma = float(np.hypot(BUILD, loose / usual))
        shares[name] = (length / usual, sigma)
        if abs(length / usual - 1.0) > 2.0 * sigma:
            odd.append((name, length, usual))
    alike = np.mean([s for s, _ in shares.values()])
    ways = {s > 1.0 for s, _ in shares.values()}
    if len(shares) > 2 and len(ways) == 1 and abs(alike - 1.0) > 2.0 * BUILD:
        more = "longer" if alike > 1.0 else "shorter"
        return [
            f"All segments come out {more} than the athlete's stature says, by "
            f"{100 * abs(alike - 1.0):.0f} % on average: is the known length or a mark's reading "
            "right, and in the athlete's plane?"
        ]
    out = [
        f"The {name} comes out {100 * length:.0f} cm long; about {100 * usual:.0f} cm is usual for "
        "the athlete's stature: a point clicked amiss, or a limb turned out of the picture."
        for name, length, usual in odd
    ]
    for role in ROLES:
        if {f"{role} thigh", f"{role} shank"} <= shares.keys() and not any(
            name.startswith(role) for name, _, _ in odd
        ):
            (thigh, a), (shank, b) = shares[f"{role} thigh"], shares[f"{role} shank"]
            if abs(np.log(thigh / shank)) > 2.0 * np.hypot(a, b):
                long, short = ("thigh", "shank") if thigh > shank else ("shank", "thigh")
                out.append(
                    f"The {role} {long} is long beside the {role} {short}: is the knee clicked right?"
                )
    return out


def _ground(frame: Frame, camera: Camera, m: Measured) -> list[str]:
    """The foot that is down against the marks, the body against their span, and its direction."""
    out = []
    foot = {
        k: m.places[f"support {k}"] for k in ("toe", "heel", "ankle") if f"support {k}" in m.places
    }
    low = min((z for k, (_, z) in foot.items() if k != "ankle"), default=None)
    if camera.on_ground and low is not None and abs(low) > OFF_GROUND:
        out.append(
            f"The foot that is down lies {100 * abs(low):.0f} cm {'above' if low > 0 else 'below'} the "
            "line of the marks: they are nearer or farther than the athlete, so the scale is off (rows "
            "camera and nearer put it right), or the foot is not down yet."
        )
    if camera.spans:
        readings = [k.reading for k in frame.marks]
        places = np.array([(k.at.x, k.at.y) for k in frame.marks])
        hip = np.array([frame.body["hip"].x, frame.body["hip"].y])
        first, last = places[int(np.argmin(readings))], places[int(np.argmax(readings))]
        along = float((hip - first) @ (last - first) / ((last - first) @ (last - first)))
        if not -BEYOND <= along <= 1.0 + BEYOND:
            out.append(
                "The athlete is well outside the marks: the scale is not known there. Put marks on "
                "both sides of the contact."
            )
    if "toe" in foot and "heel" in foot and foot["toe"][0] < foot["heel"][0]:
        out.append(
            "The toe of the foot that is down points against the run: are toe and heel, or the "
            "direction, swapped?"
        )
    return out


def moved(frames: Sequence[Frame], click: float) -> tuple[str, ...]:
    """Signs of a camera that moved, panned or zoomed between frames of one file."""
    out = []
    for a, b in pairwise(frames):
        here = {k.reading: np.array([k.at.x, k.at.y]) for k in a.marks}
        pairs = [
            (here[k.reading], np.array([k.at.x, k.at.y])) for k in b.marks if k.reading in here
        ]
        if not pairs:
            continue
        shift = max(float(np.hypot(*(q - p))) for p, q in pairs)
        if shift > FAR * np.sqrt(2.0) * click:
            out.append(
                f"The camera moved by {shift:.0f} pixels between frames {a.name} and {b.name}: each is "
                "measured by its own marks; keep the camera still."
            )
    return tuple(out)
