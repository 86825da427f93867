"""A plan and its motion as a clip: the whole drill, held and measured at the step contact."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, cast

import numpy as np

from animate import figure, film
from animate.body import Array
from animate.compare import compare
from animate.ground import Runway
from animate.measures import Reading, contacts_of, read_contact
from animate.motion import Motion
from animate.outlines import Side
from animate.scene import Scene
from animate.shapes import Point, Shape
from layout.plan.value import Plan

STEP: Final = 0.001
"""Spacing of the instants measures are read at [s]."""
HELD: Final = 1.6
HIGH_HELD: Final = 1.0
"""How long the clip rests at the step contact, and at the high thigh [s] (ours)."""
BEFORE: Final = 0.40
AFTER: Final = 0.60
"""What a comparison shows round the step touchdown [s] (ours)."""
ROWS: Final = (
    "knee_gap",
    "free_knee_touchdown",
    "free_thigh_highest",
    "free_thigh_hold",
    "contact_time",
    "speed_lost",
)
"""Measures under a comparison."""
Camera = Literal["fixed", "follow", "both"]


@dataclass(frozen=True, eq=False)
class StepContact:
    """The contact a clip is about: the first that leaves by a step, else the middle one.

    Attributes
    ----------
    index : int
        In the motion's chain.
    touchdown, high : float
        When it begins, and when the free thigh is highest in the flight after it [s].
    support, free : {"r", "l"}
    reading : Reading
    """

    index: int
    touchdown: float
    high: float
    support: Side
    free: Side
    reading: Reading


def step_contact(motion: Motion) -> StepContact:
    """Find and measure the step contact of a motion.

    Parameters
    ----------
    motion : Motion

    Returns
    -------
    StepContact

    Raises
    ------
    ValueError
        No contact on one foot that is left again.
    """
    supports = motion.chain.supports
    ones = [i for i, s in enumerate(supports) if s.side != "both" and s.leave not in ("end", "run")]
    if not ones:
        raise ValueError("motion: a contact on one foot that is left again wanted, got none")
    index = next((i for i in ones if supports[i].leave == "step"), ones[len(ones) // 2])
    down = float(motion.touchdowns[index])
    until = float(motion.touchdowns[index + 1])
    start = max(down - 0.05, 0.0)
    times = np.linspace(start, until, 1 + round((until - start) / STEP))
    frames = motion.frames(times)
    contacts = contacts_of(supports, motion.touchdowns, motion.takeoffs)
    reading = read_contact(
        frames, contacts[index], motion.body.leg, until=until, velocities=frames.com_velocity
    )
    support = cast(Side, supports[index].side)
    free: Side = "l" if support == "r" else "r"
    return StepContact(index, down, _highest(motion, index, free), support, free, reading)


def _highest(motion: Motion, index: int, free: Side) -> float:
    off, until = float(motion.takeoffs[index]), float(motion.touchdowns[index + 1])
    times = np.linspace(off, off + 0.75 * (until - off), 60)
    names = motion.frames(times).positions
    knee = names[:, figure.JOINTS.index(f"{free}_knee"), 1]
    hip = names[:, figure.JOINTS.index("hip"), 1]
    return float(times[int(np.argmax(knee - hip))])


def runway_of(plan: Plan) -> Runway:
    """The runway of a clip: boards, marks named by foot and reading, hurdles, sand."""
    run_in = 2.6 if plan.approach.strides else 1.0
    last = plan.contacts[-1].x
    marks = tuple(
        (c.x, f"{'' if c.foot == 'both' else c.foot[0].upper() + ' '}{c.x:.2f}")
        for c in plan.contacts
    )
    return Runway(
        start=-run_in - 0.6,
        end=last + 2.0,
        sand=plan.place.pit_x if plan.ends == "sand" else None,
        boards=(0.0,) if plan.place.board is not None else (),
        marks=marks,
        hurdles=tuple((h.x, h.height) for h in plan.hurdles),
    )


def _notes(step: StepContact, shift: float = 0.0) -> list[film.Note]:
    gap = step.reading.shown().get("knee_gap", "")
    high = step.reading.shown().get("free_thigh_highest", "")

    def knees(points: list[Point]) -> tuple[Shape, ...]:
        return figure.knee_gap(points, step.support)

    def thigh(points: list[Point]) -> tuple[Shape, ...]:
        return figure.thigh_angle(points, step.free)

    down, top = step.touchdown - shift, step.high - shift
    return [
        film.Note(down, down, knees, f"free knee {gap} behind"),
        film.Note(top, top, thigh, f"free thigh {high}, held"),
    ]


def clip_of(
    plan: Plan,
    motion: Motion,
    slow: float = 4.0,
    camera: Camera = "both",
    theme: str = "light",
    fps: float = 25.0,
    size: tuple[int, int] = (960, 540),
) -> Scene:
    """The whole drill in slow motion, held at the step contact and at the high thigh.

    Parameters
    ----------
    plan : Plan
    motion : Motion
    slow : float
        Times slower than life.
    camera : {"fixed", "follow", "both"}
    theme : {"light", "print-grey"}
    fps : float
        [1/s]
    size : (int, int)
        [px]

    Returns
    -------
    Scene
    """
    step = step_contact(motion)
    holds = ((step.touchdown, HELD), (step.high, HIGH_HELD))
    shown = film.schedule(0.0, motion.duration, fps, slow, holds)
    frames = motion.frames(np.array(shown.instants))
    take = film.Take(frames.positions, frames.com, plan.who.name, "r", runway_of(plan))
    return film.clip(take, shown, _notes(step), camera, size, theme)


def stills_of(plan: Plan, motion: Motion, kind: str, theme: str = "light") -> Scene:
    """A ghost trail or a pose strip of the whole drill.

    Parameters
    ----------
    plan : Plan
    motion : Motion
    kind : {"trail", "strip"}
    theme : str

    Returns
    -------
    Scene
    """
    step = step_contact(motion)
    moments = _moments(motion, step)
    instants = tuple(t for t, _ in moments)
    # In a trail the contacts are drawn in full and what lies between them pale.
    full = tuple(i for i, (_, text) in enumerate(moments) if kind == "trail" and "down" in text)
    shown = film.Schedule(instants, (0.2,) * len(instants), 1.0, full)
    frames = motion.frames(np.array(instants))
    name = f"{plan.who.name}: {plan.title}"
    dense = motion.frames(np.linspace(0.0, motion.duration, 200)).com.tolist()
    path = figure.path([(x, z) for x, z in dense])
    take = film.Take(frames.positions, None, name, "r", runway_of(plan), path)
    notes = _notes(step)
    if kind == "trail":
        return film.ghost_trail(take, shown, theme=theme, notes=notes[:1])
    captions = [text for _, text in moments]
    return film.pose_strip(take, shown, captions, theme=theme, notes=notes)


def _moments(motion: Motion, step: StepContact) -> list[tuple[float, str]]:
    """The instants that tell a drill, with what each is: contacts, take-offs and mid-flights."""
    found: dict[float, str] = {step.high: "free thigh high"}
    supports = motion.chain.supports
    for i, s in enumerate(supports):
        down, off = float(motion.touchdowns[i]), float(motion.takeoffs[i])
        arrive = "start" if s.arrive == "stand" else f"touchdown after {s.arrive}"
        found[down] = "step contact, touchdown" if i == step.index else arrive
        if s.leave == "end":
            found[off] = "end"
            continue
        found[off] = f"take-off into {s.leave}"
        middle = (off + float(motion.touchdowns[i + 1])) / 2
        if i != step.index and s.leave != "run":
            found[middle] = f"{s.leave} flight"
    return sorted((min(max(t, 0.0), motion.duration), text) for t, text in found.items())


def side_by_side_of(
    one: Motion, two: Motion, names: tuple[str, str], title: str, theme: str = "light"
) -> Scene:
    """Two motions next to each other, time 0 at the step touchdown, with measures and differences.

    Parameters
    ----------
    one, two : Motion
    names : (str, str)
    title : str
    theme : str

    Returns
    -------
    Scene
    """
    steps = [step_contact(m) for m in (one, two)]
    start = -min(BEFORE, *(s.touchdown for s in steps))
    end = min(AFTER, *(m.duration - s.touchdown for m, s in zip((one, two), steps, strict=True)))
    shown = film.schedule(start, end, 25.0, 4.0, ((0.0, HELD),))
    takes = []
    for motion, step, name in zip((one, two), steps, names, strict=True):
        at = np.clip(np.array(shown.instants) + step.touchdown, 0.0, motion.duration)
        frames = motion.frames(at)
        off = np.array([motion.chain.supports[step.index].toe, 0.0])
        positions: Array = frames.positions - off
        ground = Runway(-3.0, 5.0, marks=((0.0, "step contact"),))
        takes.append(film.Take(positions, frames.com - off, name, "r", ground))
    rows = film.rows_of(compare(steps[0].reading, steps[1].reading), ROWS)
    support = steps[0].support
    note = film.Note(0.0, 0.0, lambda points: figure.knee_gap(points, support), "")
    left, right = takes
    return film.side_by_side(left, right, shown, rows, (note,), theme=theme, title=title)
