"""The few instants that tell a drill, one figure each, ready to be set on a page to scale."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from animate.body import figure
from animate.body.shapes import Label, Point, Shape, Stroke
from animate.body.wording import typeset
from animate.film.take import Draw
from animate.motion.measures import MEASURE, Contact, contacts_of, read_contact
from animate.motion.motion import Motion
from layout.moving.clip import STEP, step_contact, which_step
from layout.plan.value import Plan
from layout.words.faults import refuse
from layout.words.feet import as_read
from layout.words.units import System

GROUND: Final = 0.15
"""How far the ground line reaches past the figure, each way [m] (ours)."""

TAKEOFF: Final = ("speed_takeoff", "takeoff_angle", "free_thigh_takeoff")
TOUCHDOWN: Final = ("knee_gap", "free_knee_touchdown", "toe_ahead")
HIGH: Final = ("free_thigh_highest", "free_thigh_hold")
LANDING: Final = ("toe_ahead", "trunk_lean_touchdown")
"""Measures told beside each figure, by name in `animate.motion.measures`."""


@dataclass(frozen=True)
class KeyPose:
    """One figure at one instant.

    label: what it shows: "hop take-off", "step contact", "thigh high", "jump landing, sand".
    shapes: the athlete, the ground under them and what is measured on them [m]: x = 0 at the hip, z = 0
        on the ground. A flight keeps its height. Stands on `View.ink` as it is.
    measures: name and value as a coach reads them, such as ("knee gap", "38 cm"); fewer where the
        contact has none to read.
    left, right, top: how far the body reaches from x = 0 and z = 0 [m]; left is negative. The figures
        of a dimension may stand out beyond it by the width of their text.
    time: instant of the motion [s].
    x: where x = 0 lies along the runway [m].
    contact: number of the plan's contact that it is at, or that was left last; -1 is the last stride of
        the run-in.
    """

    label: str
    shapes: tuple[Shape, ...]
    measures: tuple[tuple[str, str], ...]
    left: float
    right: float
    top: float
    time: float
    x: float
    contact: int


def at_marks(plan: Plan, motion: Motion) -> tuple[tuple[Shape, ...], ...]:
    """The athlete at each contact of a plan, where they are on the runway [m].

    motion: of that plan.
    Returns at the first contact of a run-in as the foot leaves, from standing as the drill begins, at
        all others as the foot comes down.
    """
    lead = _lead(plan, motion)
    times = [float(t) for t in motion.touchdowns[lead:]]
    if plan.contacts[0].arrive != "stand":
        times[0] = float(motion.takeoffs[lead])
    positions = motion.frames(np.array(times)).positions
    return tuple(figure.athlete(figure.points_of(at)) for at in positions)


def _lead(plan: Plan, motion: Motion) -> int:
    """How many strides of the run-in a plan's motion has before its first contact."""
    lead = len(motion.chain.supports) - len(plan.contacts)
    marks = [s.toe for s in motion.chain.supports[max(lead, 0) :]]
    if lead not in (0, 1) or not np.allclose(marks, [c.x for c in plan.contacts], atol=1e-6):
        raise refuse("motion", "must be one of this plan's contacts", f"marks {marks}")
    return lead


def key_poses(plan: Plan, motion: Motion) -> tuple[KeyPose, ...]:
    """The take-off into the step contact, its touchdown, the high thigh and the landing.

    Examples
    --------
    Four figures in a row at 1:40, 45 mm apart (`layout.page.page`)::

        for i, pose in enumerate(key_poses(plan, motion)):
            ink += View(40, 30.0 + 45.0 * i, 120.0).ink(pose.shapes)

    Returns in order of time: take-off of the hop (or whatever leads to the step contact); step
        touchdown with the knee gap dimensioned; free thigh at its highest in the flight after, with its
        angle; touchdown of the drill's last contact. Four, or three where the drill starts on the step
        contact from standing.
    """
    lead = _lead(plan, motion)
    step = step_contact(motion)
    contacts = contacts_of(motion.chain.supports, motion.touchdowns, motion.takeoffs)
    here, last = contacts[step.index], contacts[-1]
    stood = here.arrive == "stand"
    sand = motion.chain.supports[-1].surface == "sand"

    def gap(points: list[Point]) -> tuple[Shape, ...]:
        return () if stood else figure.knee_gap(points, step.support)

    def thigh(points: list[Point]) -> tuple[Shape, ...]:
        return figure.thigh_angle(points, step.free)

    def told(index: int, names: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
        values = step.reading.values if index == step.index else _read(motion, contacts, index)
        kept = [(MEASURE[n], values[n]) for n in names if n in values]
        return tuple((m.label, typeset(m.shown(value))) for m, value in kept)

    which = which_step(motion).removeprefix("the ")
    name = f"{here.leave} contact{f', {which}' if which else ''}"
    rows: list[tuple[str, float, int, tuple[str, ...], Draw | None]] = [
        ("start" if stood else name, step.touchdown, step.index, TOUCHDOWN, gap),
        ("thigh high", step.high, step.index, HIGH, thigh),
        (f"{last.arrive} landing{', sand' if sand else ''}", last.touchdown, -1, LANDING, None),
    ]
    if step.index:
        before = contacts[step.index - 1]
        what = "last stride" if before.leave == "run" else before.leave
        rows.insert(0, (f"{what} take-off", before.takeoff, step.index - 1, TAKEOFF, None))
    out = []
    for label, time, index, names, draw in rows:
        index %= len(contacts)
        out.append(pose_at(motion, label, time, told(index, names), index - lead, draw))
    return tuple(out)


def labelled(shapes: Sequence[Shape], system: System) -> tuple[Shape, ...]:
    """Shapes with the figures of their labels in the system that is asked for."""
    return tuple(
        replace(shape, text=as_read(shape.text, system)) if isinstance(shape, Label) else shape
        for shape in shapes
    )


def told_in(poses: Sequence[KeyPose], system: System) -> tuple[KeyPose, ...]:
    """Poses with what is measured on them in the system that is asked for."""
    return tuple(
        replace(
            pose,
            shapes=labelled(pose.shapes, system),
            measures=tuple((name, as_read(value, system)) for name, value in pose.measures),
        )
        for pose in poses
    )


def _read(motion: Motion, contacts: tuple[Contact, ...], index: int) -> Mapping[str, float]:
    """What a contact measures at its touchdown and take-off; not the flight after it."""
    contact = contacts[index]
    count = 1 + math.ceil((contact.takeoff - contact.touchdown) / STEP)
    frames = motion.frames(np.linspace(contact.touchdown, contact.takeoff, count))
    return read_contact(frames, contact, motion.body.leg, velocities=frames.com_velocity).values


def pose_at(
    motion: Motion,
    label: str,
    time: float,
    measures: tuple[tuple[str, str], ...],
    contact: int,
    draw: Draw | None,
) -> KeyPose:
    """The body at an instant, moved so that its hip is over x = 0."""
    positions = motion.frames(np.array([time])).positions[0]
    x = float(positions[figure.JOINTS.index("hip"), 0])
    points = figure.points_of(positions - np.array([x, 0.0]))
    body = figure.athlete(points)
    reached = [point for part in body if not isinstance(part, Label) for point in part.points]
    left, right = min(p[0] for p in reached), max(p[0] for p in reached)
    ground = Stroke(((left - GROUND, 0.0), (right + GROUND, 0.0)), "line")
    shapes = (ground, *body, *(draw(points) if draw else ()))
    top = max(p[1] for p in reached)
    return KeyPose(label, shapes, measures, left, right, top, time, x, contact)
