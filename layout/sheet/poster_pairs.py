"""The three pairs of a teaching poster: what is shown, what it measures, and what it does not show.

Each pair holds two ways of doing one thing. What computation says and what coaches say are kept
apart, since neither stands for the other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from animate.body import figure
from animate.body.body import body
from animate.body.outlines import AT
from animate.body.shapes import Area, Label, Point, Shape, Stroke
from animate.body.swing_table import HIP_MOMENT_PER_MASS, lever_curves
from animate.film.take import Draw
from animate.motion.chain import Settings
from animate.motion.motion import Motion
from layout.moving.clip import StepContact, step_contact
from layout.moving.poses import KeyPose, pose_at
from layout.moving.worth_told import Answer, answer, short
from layout.plan.value import Flight, Plan
from layout.rules.cautions import in_short
from layout.words.faults import refuse
from layout.words.units import show_length

PRACTICE: Final = "Common practice, no source:"
OPEN: Final = "An open question of the trade:"
WORTH: Final = "Worth:"
COMPUTED: Final = "Computed by Phasemark:"
FINE: Final = 0.001  # Spacing of the instants a motion is read at [s]


@dataclass(frozen=True, eq=False)
class Way:
    """One way of doing a drill."""

    name: str  # Two words, such as "Long lever"
    plan: Plan
    motion: Motion
    settings: Settings  # What the motion was asked for


@dataclass(frozen=True, eq=False)
class Shown:
    """One way as it stands on the poster."""

    name: str
    value: str  # The figure that is set large
    what: tuple[str, ...]  # Of what it is, and what else is drawn; a line each
    pose: KeyPose
    way: Way
    step: StepContact
    draw: Draw | None = None  # What is drawn on the figure at its instant


@dataclass(frozen=True, eq=False)
class Pair:
    """Two ways side by side."""

    moment: str  # The instant shown
    sides: tuple[Shown, Shown]
    difference: str  # Between their values
    # computed, practice: What the computation shows and does not show; what coaches say
    computed: str
    practice: str
    # What stands before that: `PRACTICE`, or `OPEN` where coaches do not agree
    said_by: str = PRACTICE
    worth: str = ""  # What it is worth to this athlete, where it is known


def caution_of(pairs: Sequence[Pair]) -> str:
    """What to mind, for the athlete whose ways these are."""
    plan = pairs[0].sides[0].way.plan
    return in_short(plan.who.standing, plan.despite)


def _read(way: Way) -> StepContact:
    """The step contact, which a hop must lead to."""
    step = step_contact(way.motion)
    support = way.motion.chain.supports[step.index]
    if support.arrive != "hop" or support.leave != "step":
        raise refuse("drill", "one with a hop and then a step needed", way.plan.drill)
    return step


def _flights(way: Way, step: StepContact) -> tuple[Flight, Flight]:
    """The hop before the step contact and the step after it."""
    number = step.index - (len(way.motion.chain.supports) - len(way.plan.contacts))
    return way.plan.flights[number - 1], way.plan.flights[number]


def passing(motion: Motion, step: StepContact) -> float | None:
    """When the free knee passes the other, from the step touchdown; None where it does not [s]."""
    until = float(motion.takeoffs[step.index])
    times = np.arange(step.touchdown, until, FINE)
    positions = motion.frames(times).positions
    free, support = (positions[:, AT[f"{s}_knee"], 0] for s in (step.free, step.support))
    ahead = np.flatnonzero(free >= support)
    return float(times[ahead[0]] - step.touchdown) if ahead.size else None


def _passes(ways: Sequence[Way], steps: Sequence[StepContact]) -> str:
    """When the knees pass, in both."""
    one, two = (passing(w.motion, s) for w, s in zip(ways, steps, strict=True))
    if one is None or two is None:
        return ""
    if round(one, 2) == round(two, 2):
        return f"the knees pass {one:.2f} s after the foot is down in both"
    return f"the knees pass {one:.2f} s and {two:.2f} s after the foot is down"


def _knees(one: Way, two: Way) -> Pair:
    steps = [_read(w) for w in (one, two)]
    gaps = [s.reading.values["knee_gap"] for s in steps]
    sides = []
    for way, step, gap in zip((one, two), steps, gaps, strict=True):
        behind = "free knee behind the other" if gap >= 0 else "free knee ahead of the other"
        value = f"{abs(100 * gap):.0f} cm"
        sides.append(
            _landing(way, step, value, (behind,), lambda p, s: figure.knee_gap(p, s.support))
        )
    length = show_length(_flights(one, steps[0])[1].length, "cm")
    passes = _passes((one, two), steps)
    return Pair(
        "Hop landing, the foot comes down",
        (sides[0], sides[1]),
        f"{abs(round(100 * gaps[1]) - round(100 * gaps[0]))} cm",
        f"{passes[:1].upper()}{passes[1:]}{'. ' if passes else ''}"
        f"The step is set to {length} in both, so this does not show which jumps farther.",
        "knees apart as the hop lands, free knee still behind; then thigh through.",
    )


def _landing(
    way: Way,
    step: StepContact,
    value: str,
    what: tuple[str, ...],
    measured: Callable[[list[Point], StepContact], Sequence[Shape]],
) -> Shown:
    """A way as its step contact comes down, with what is measured there drawn on it."""

    def draw(points: list[Point]) -> tuple[Shape, ...]:
        # Without figures, which stand in large letters beside it.
        return tuple(s for s in measured(points, step) if not isinstance(s, Label))

    pose = pose_at(way.motion, way.name, step.touchdown, (), step.index, draw)
    return Shown(way.name, value, what, pose, way, step, draw)


def _knee_angle(points: list[Point], step: StepContact) -> Sequence[Shape]:
    """The free knee's angle, 180 degrees for a straight leg, on the side where the leg is bent."""
    hip, knee, ankle = (points[AT[n]] for n in ("hip", f"{step.free}_knee", f"{step.free}_ankle"))
    ways = [float(np.arctan2(p[1] - knee[1], p[0] - knee[0])) for p in (ankle, hip)]
    return figure.angle(knee, ways[0], ways[1], "", 0.2)


def _lever(one: Way, two: Way) -> Pair:
    steps = [_read(w) for w in (one, two)]
    bends = [w.settings.knee_bend for w in (one, two)]
    if None in bends:
        raise refuse("lever", "both ways need a free knee asked for")
    who = body(one.plan.who.stature, one.plan.who.mass, one.plan.who.build)
    times = [float(t) for t in lever_curves(who, np.array(bends, dtype=float))["time"]]
    sides = []
    for way, step, time in zip((one, two), steps, times, strict=True):
        knee = np.degrees(step.reading.values["free_knee_touchdown"])
        what = ("to swing that leg up", f"knee at {knee:.0f}°")
        sides.append(_landing(way, step, f"{time:.2f} s", what, _knee_angle))
    passes = _passes((one, two), steps)
    kept = f" In these two motions the leg folds on the way and {passes}." if passes else ""
    held = " and ".join(f"{180.0 - np.degrees(b or 0.0):.0f}°" for b in bends)
    return Pair(
        "Hop landing, the foot comes down",
        (sides[0], sides[1]),
        f"{abs(round(times[1], 2) - round(times[0], 2)):.2f} s",
        f"Time of a leg whose knee is held at {held} (180° is straight), at one hip effort "
        f"({HIP_MOMENT_PER_MASS:g} N m per kg, no source: all times move with it, their order does "
        f"not).{kept}",
        "whether a longer, slower lever pays; we know of no study.",
        OPEN,
    )


def _height(pose: KeyPose, com: Point) -> tuple[Shape, ...]:
    """The height of the body's centre over the ground, dimensioned behind the figure."""
    x, top = pose.left - 0.12, com[1]
    out: list[Shape] = [
        *figure.haloed(Stroke(((x - 0.05, top), com), "measure", 0.008, dash=(0.04, 0.03))),
        *figure.haloed(Stroke(((x, 0.0), (x, top)), "measure", 0.014)),
        *figure.centre(com, 0.04),
    ]
    for z, way in ((0.0, 1.0), (top, -1.0)):
        inner = z + way * 0.06
        out.append(Area(((x, z), (x - 0.022, inner), (x + 0.022, inner)), "measure"))
    return tuple(out)


def _hops(one: Way, two: Way) -> Pair:
    steps = [_read(w) for w in (one, two)]
    flights = [_flights(w, s) for w, s in zip((one, two), steps, strict=True)]
    sides = []
    for way, step, (_, stride) in zip((one, two), steps, flights, strict=True):
        off = float(way.motion.takeoffs[step.index - 1])
        times = np.arange(off, step.touchdown, FINE)
        coms = way.motion.frames(times).com
        at = int(np.argmax(coms[:, 1]))
        pose = pose_at(way.motion, way.name, float(times[at]), (), step.index, None)
        com = (float(coms[at, 0]) - pose.x, float(coms[at, 1]))
        high = _height(pose, com)
        what = ("the step after it", f"body's centre {show_length(com[1], 'cm')} up")
        left = pose.left - 0.2
        ground = Stroke(((left, 0.0), (pose.right + 0.15, 0.0)), "line")
        drawn = replace(pose, shapes=(ground, *pose.shapes[1:], *high), left=left)
        length = show_length(stride.length, "cm")
        sides.append(Shown(way.name, length, what, drawn, way, step))
    hops = [show_length(hop.length, "cm") for hop, _ in flights]
    tops = " and ".join(show_length(hop.apex_z, "cm") for hop, _ in flights)
    totals = [show_length(w.plan.total, "cm") for w in (one, two)]
    outs = [
        f"{way.motion.chain.supports[s.index].vx:.1f}"
        for way, s in zip((one, two), steps, strict=True)
    ]
    gap = round(flights[0][1].length, 2) - round(flights[1][1].length, 2)
    return Pair(
        "Highest point of the hop",
        (sides[0], sides[1]),
        f"{abs(100 * gap):.0f} cm",
        f"Hop {hops[0]} and {hops[1]}, by the plan {tops} up; speed into the step {outs[0]} and "
        f"{outs[1]} m/s; whole run "
        f"{totals[0]} and {totals[1]}. Same approach; how much speed height costs is "
        "Phasemark's model, and differs between athletes.",
        "low fast hop off the board: run off it, do not jump up.",
    )


def pairs_of(
    knees: tuple[Way, Way], lever: tuple[Way, Way], hops: tuple[Way, Way]
) -> tuple[Pair, Pair, Pair]:
    """The three pairs of a poster: knees together and apart, lever long and short, hops low and high.

    Each is told what it is worth to the athlete whose knees they are, where that is known.
    Raises BadInput: a drill without a hop that leads to a step.
    """
    plan, made = knees[0].plan, (_knees(*knees), _lever(*lever), _hops(*hops))
    known = (answer(plan, of, Settings()) for of in ("knees", "lever", "hops"))
    one, two, three = (_worthy(p, w) for p, w in zip(made, known, strict=True))
    return one, two, three


def _worthy(pair: Pair, answer: Answer) -> Pair:
    """A pair with what it is worth: a row of its own where it is known, else some words after the last."""
    if answer.worth is None:
        return replace(pair, practice=f"{pair.practice} {WORTH} {short(answer)}")
    return replace(pair, worth=short(answer))
