"""The clip of a phone page: two still drawings and the numbers that move them.

Every outline stands once in the page, with where it lies in each frame beside it as whole numbers.
The view of the whole runway shows the same figure again, smaller. The script of the page moves it;
without one the figure stands at the step contact.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, NamedTuple

import numpy as np

from animate.body import figure
from animate.body.body import Array
from animate.body.shapes import Area, Label, Place, Point, Shape, Stroke, place_of
from animate.film.scene import Camera
from animate.film.staging import bodies_of, coms_of, fixed_camera, following_cameras
from animate.film.svg import Pen
from animate.film.svg_motion import path_data, short
from animate.film.take import Take, schedule
from animate.film.themes import theme
from animate.motion.motion import Motion
from animate.refused import Refused
from layout.moving.clip import HELD, HIGH_HELD, StepContact, beside, runway_of, step_contact
from layout.moving.poses import KeyPose, labelled
from layout.page.svg import escaped
from layout.phone.drawing import SCREEN
from layout.plan.tape import TapeCard
from layout.plan.value import Plan

RATE: Final = 100
"""Frames a second of the motion (ours): 25 a second at a quarter of its speed."""
LONG: Final = 7.0
"""A motion longer than this gets half as many [s] (ours): a page is to stay light."""
WIDE: Final = 360
CLOSE: Final = 300
"""Width of both views and height of the nearer one [px]."""
LETTERS: Final = 13.0
"""Height of a label [px] (ours)."""
MILLI: Final = 1000.0
SLACK: Final = 2e-3
"""How far the length of a limb may differ between frames [m]."""
RAISED: Final = 14
"""Height of the line of metres that is left out under the runway [px]."""


class Box(NamedTuple):
    """Width, height and letters of the nearer view [px]."""

    wide: int
    high: int
    letters: float


ALONE: Final = Box(WIDE, CLOSE, LETTERS)
BESIDE: Final = Box(240, 280, 19.0)
"""A clip by itself, and one of two, each half as wide on a telephone (ours)."""
EDGE: Final = 0.012
"""Width of the edge of an outline [m]."""


class Moment(NamedTuple):
    """A frame worth going to.

    said: what is measured there.
    rest: how long the clip rests on it [s].
    """

    frame: int
    label: str
    said: str
    rest: float


@dataclass(frozen=True)
class PhoneClip:
    """A clip as parts of an HTML page.

    close, whole: the athlete close by, and the whole runway, as SVG.
    data: the frames as JSON without any markup in it.
    poster: the frame that the drawings show: the step contact.
    """

    close: str
    whole: str
    data: str
    moments: tuple[Moment, ...]
    poster: int
    count: int


class _Tracks(NamedTuple):
    """What moves: every frame's shapes, the tracks, and which one each outline and the centre take."""

    drawn: list[tuple[Shape, ...]]
    tracks: list[Any]
    which: list[int]


def _tracks(bodies: Sequence[list[Point]], coms: Sequence[Point], near: Any) -> _Tracks:
    drawn = [figure.athlete(body, near) for body in bodies]
    places = np.array([[_placed(shape)[1:5] for shape in shapes] for shapes in drawn])
    carriers = _carriers(places)
    numbers = {k: i for i, k in enumerate(dict.fromkeys(carriers))}
    centre = np.rint(MILLI * np.array(coms)).astype(int)
    tracks = [_track(places[:, k]) for k in numbers]
    tracks.append(np.column_stack([centre, np.zeros(len(coms), int)]))
    return _Tracks(drawn, tracks, [*(numbers[k] for k in carriers), len(tracks) - 1])


def _outlined(moving: _Tracks, poster: int, pen: Pen) -> str:
    """The body at the poster's frame, each outline named by the track that moves it."""
    shapes = (*moving.drawn[poster], *figure.centre((0.0, 0.0)))
    return "".join(
        pen.shape(
            shape,
            f' data-track="{number}"{_put(moving.tracks[number][poster], pen.scale)}',
            path=_own(shape, pen.scale) if place_of(shape) else "",
        )
        for shape, number in zip(shapes, moving.which, strict=True)
        if not isinstance(shape, Label)
    )


class _Shot(NamedTuple):
    """A motion taken frame by frame: by which step contact, at which instants, and who is where."""

    plan: Plan
    card: TapeCard
    step: StepContact
    rate: int
    instants: tuple[float, ...]
    take: Take
    bodies: list[list[Point]]
    coms: list[Point]


def _shot(plan: Plan, card: TapeCard, motion: Motion) -> _Shot:
    step = step_contact(motion)
    rate = RATE if motion.duration <= LONG else RATE // 2
    holds = ((step.touchdown, 0.04), (step.high, 0.04))
    shown = schedule(0.0, motion.duration, 25.0, rate / 25.0, holds, 0.04)
    frames = motion.frames(np.array(shown.instants))
    runway = replace(runway_of(plan, motion), marks=_marks(plan, card))
    take = Take(frames.positions, frames.com, plan.who.name, "r", runway, beside(plan))
    bodies, coms = bodies_of(take, shown, "motion"), coms_of(take, shown, "motion")
    return _Shot(plan, card, step, rate, tuple(shown.instants), take, bodies, coms)


def phone_clip(plan: Plan, card: TapeCard, motion: Motion, poses: Sequence[KeyPose]) -> PhoneClip:
    """A plan's motion as a clip that a page's script plays.

    card: whose readings name the marks.
    poses: the moments that can be gone to.
    """
    return _clips([_shot(plan, card, motion)], [poses], [""], ALONE)[0]


def clips_beside(
    plans: tuple[Plan, Plan], cards: tuple[TapeCard, TapeCard], motions: tuple[Motion, Motion]
) -> tuple[PhoneClip, PhoneClip]:
    """Two motions as clips of one scale for one page; their parts are named -1 and -2."""
    shots = [_shot(*each) for each in zip(plans, cards, motions, strict=True)]
    one, two = _clips(shots, [(), ()], ["-1", "-2"], BESIDE)
    return one, two


def _clips(
    shots: Sequence[_Shot], poses: Sequence[Sequence[KeyPose]], marks: Sequence[str], box: Box
) -> list[PhoneClip]:
    """Clips of one scale; each mark ends the names of a clip's parts in the page."""
    boxes = [(0, 0, box.wide, box.high)] * len(shots)
    seen = following_cameras([s.take for s in shots], [s.bodies for s in shots], boxes, box.letters)
    return [
        _clip(shot, (cameras, ground), told, mark, box)
        for shot, (cameras, ground), told, mark in zip(shots, seen, poses, marks, strict=True)
    ]


def _clip(
    shot: _Shot,
    seen: tuple[Sequence[Camera], Sequence[Shape]],
    poses: Sequence[KeyPose],
    mark: str,
    box: Box,
) -> PhoneClip:
    (cameras, ground), raised = seen, round(RAISED * box.letters / LETTERS)
    step, take, bodies, coms = shot.step, shot.take, shot.bodies, shot.coms
    poster, high = (shot.instants.index(t) for t in (step.touchdown, step.high))
    moments = _moments(poses, {poster: HELD, high: HIGH_HELD}, shot.instants)
    scale = cameras[0].scale
    pen = Pen(theme("light"), scale, box.letters, SCREEN)
    moving = _tracks(bodies, coms, take.near)
    left = np.rint(np.array([c.left for c in cameras]) * scale).astype(int)
    base = round(box.high + cameras[0].bottom * scale)
    told = "knee_gap" in step.reading.values
    gap = figure.knee_gap(bodies[poster], step.support) if told else ()
    notes = _note(poster, labelled(gap, shot.card.system), pen)
    notes += _note(high, figure.thigh_angle(bodies[high], step.free), pen, ' display="none"')
    rim = short(min(theme("light").hairline, EDGE * scale), 2)
    close = (
        f'<svg class="close" viewBox="0 0 {box.wide} {box.high - raised}" role="img" stroke-linejoin="round" '
        f'aria-label="{escaped(f"{shot.plan.who.name} close by, moving")}">'
        f'<g id="world{mark}" transform="translate({-left[poster]} {base})" stroke-width="{rim}">'
        f"{_drawn((*_named(ground, pen.scale, raised), *figure.path(coms)), pen)}"
        f'<g id="body{mark}">{_outlined(moving, poster, pen)}</g>{notes}</g></svg>'
    )
    data = {
        "tick": 1.0 / shot.rate,
        "scale": round(scale, 3),
        "base": base,
        "poster": poster,
        "left": _steps(left),
        "tracks": [[_steps(column) for column in track.T] for track in moving.tracks],
        "moments": [m._asdict() for m in moments],
    }
    frames_told = json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")
    whole = _whole(take, bodies, coms, scale, mark)
    return PhoneClip(close, whole, frames_told, moments, poster, len(bodies))


def _marks(plan: Plan, card: TapeCard) -> tuple[tuple[float, str], ...]:
    """Each contact with its foot and its reading on the tape card."""
    out = []
    for contact in plan.contacts:
        shown = (row.shown for row in card.lines if abs(row.x - contact.x) < 1e-6)
        foot = "" if contact.foot == "both" else f"{contact.foot[0].upper()} "
        out.append((contact.x, foot + next(shown, "").removesuffix(" m")))
    return tuple(out)


def _moments(
    poses: Sequence[KeyPose], rests: dict[int, float], instants: Sequence[float]
) -> tuple[Moment, ...]:
    """The key instants, each at its nearest frame."""
    at = np.array(instants)
    out = []
    for pose in poses:
        frame = int(np.argmin(np.abs(at - pose.time)))
        said = ", ".join(f"{name} {value}" for name, value in pose.measures)
        out.append(Moment(frame, pose.label, said, rests.get(frame, 0.0)))
    return tuple(out)


def _note(frame: int, shapes: Sequence[Shape], pen: Pen, hidden: str = "") -> str:
    """What is measured on the figure in one frame."""
    return f'<g data-frame="{frame}"{hidden}>{_drawn(shapes, pen)}</g>' if shapes else ""


def _placed(shape: Shape) -> Place:
    place = place_of(shape)
    assert place is not None
    return place


def _carriers(places: Array) -> list[int]:
    """For each outline the first that lies where it lies in every frame."""
    count = places.shape[1]
    return [
        next(j for j in range(k + 1) if np.array_equal(places[:, j], places[:, k]))
        for k in range(count)
    ]


def _track(places: Array) -> Any:
    """Place [mm] and turn [.1 degree] in every frame, as whole numbers."""
    vx, vz = places[:, 2], places[:, 3]
    length = np.hypot(vx, vz)
    if np.ptp(length) > SLACK:
        raise Refused(
            "motion", "limbs of one length", f"{length.min():.3f} to {length.max():.3f} m"
        )
    turn = np.degrees(np.unwrap(np.arctan2(vz, vx)))
    return np.column_stack(
        [np.rint(MILLI * places[:, 0]), np.rint(MILLI * places[:, 1]), np.rint(10.0 * turn)]
    ).astype(int)


def _steps(column: Any) -> list[int]:
    """Whole numbers as the first and the differences after it."""
    return [int(v) for v in np.diff(column, prepend=0)]


def _put(at: Any, scale: float) -> str:
    """How an outline lies in one frame; the script writes the same."""
    x, z, turn = (float(v) for v in at)
    move = f"translate({short(x * scale / MILLI, 2)} {short(-z * scale / MILLI, 2)})"
    return f' transform="{move}rotate({short(-turn / 10.0)})"'


def _own(shape: Shape, scale: float) -> str:
    """An outline about its own origin, lying along x [px]."""
    place = _placed(shape)
    long = math.hypot(place.vx, place.vz)
    flat = place._replace(x=0.0, z=0.0, vx=long, vz=0.0)
    return path_data(flat.points(), True, scale, 1)


def _drawn(shapes: Sequence[Shape], pen: Pen) -> str:
    out = [pen.shape(s) for s in shapes if isinstance(s, (Area, Stroke))]
    return "".join([*out, *(pen.label(s) for s in shapes if isinstance(s, Label))])


def _named(ground: Sequence[Shape], scale: float, raised: int = RAISED) -> list[Shape]:
    """The runway with the tape card's readings in place of its own metres."""
    # Those count from the first contact, the tape card need not.
    up = raised / scale
    return [
        replace(s, at=(s.at[0], s.at[1] + up)) if isinstance(s, Label) else s
        for s in ground
        if not (isinstance(s, Label) and s.role == "quiet")
    ]


def _whole(
    take: Take, bodies: list[list[Point]], coms: list[Point], close: float, mark: str
) -> str:
    """The whole runway with the same figure on it, smaller."""
    eye, ground = fixed_camera(take, bodies, (0, 0, WIDE, CLOSE), LETTERS)
    top = max(z for body in bodies for _, z in body) + 0.2
    high = min(CLOSE, math.ceil((top - eye.bottom) * eye.scale))
    pen = Pen(theme("light"), eye.scale, LETTERS, SCREEN)
    line = figure.path(coms[::3])
    rim = short(min(theme("light").hairline, EDGE * eye.scale), 2)
    x, y = -eye.left * eye.scale, high + eye.bottom * eye.scale
    return (
        f'<svg class="whole" viewBox="0 0 {WIDE} {high - RAISED}" role="img" stroke-linejoin="round" '
        f'aria-label="{escaped(f"{take.name} on the whole runway, moving")}">'
        f'<g transform="translate({short(x, 2)} {short(y, 2)})" stroke-width="{rim}">'
        f"{_drawn((*_named(ground, pen.scale), *line), pen)}"
        f'<use href="#body{mark}" transform="scale({eye.scale / close:.4f})"/></g></svg>'
    )
