"""Bodies laid out in front of a camera: the steps that clips and stills share."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from animate.body.figure import athlete, centre, points_of
from animate.body.shapes import Label, Point, Shape, Stroke
from animate.film.ground import DEPTH
from animate.film.scene import Camera
from animate.film.take import Note, Schedule, Take
from animate.refused import Refused


def bodies_of(take: Take, plan: Schedule, label: str) -> list[list[Point]]:
    rows = take.positions.tolist() if hasattr(take.positions, "tolist") else take.positions
    if len(rows) != len(plan.instants):
        raise Refused(label, f"a body for each of {len(plan.instants)} instants", len(rows))
    out = []
    for instant, row in zip(plan.instants, rows, strict=True):
        try:
            out.append(points_of(row))
        except ValueError as error:
            raise Refused(f"{label} at {instant:.3f} s", str(error)) from None
    return out


def coms_of(take: Take, plan: Schedule, label: str) -> list[Point]:
    if take.com is None:
        return []
    rows = take.com.tolist() if hasattr(take.com, "tolist") else take.com
    points = [(float(x), float(z)) for x, z in rows]
    if len(points) != len(plan.instants):
        raise Refused(f"{label} com", f"one for each of {len(plan.instants)} instants", len(points))
    if not all(math.isfinite(x + z) for x, z in points):
        raise Refused(f"{label} com", "must be finite numbers", "NaN or infinity")
    return points


Frames = tuple[tuple[Shape, ...], ...]
"""The shapes of every frame."""


def figures_of(take: Take, bodies: list[list[Point]], coms: list[Point]) -> Frames:
    """The body of every frame, and its centre of mass where the take has one."""
    rings = map(centre, coms) if coms else [()] * len(bodies)
    return tuple(
        (*athlete(body, take.near), *ring) for body, ring in zip(bodies, rings, strict=True)
    )


def noted(
    figures: Frames, bodies: list[list[Point]], plan: Schedule, notes: Sequence[Note]
) -> Frames:
    """The shapes of every frame with what the notes draw over them."""
    return tuple(
        (*shapes, *(s for n in notes if n.draw and n.holds(instant) for s in n.draw(body)))
        for shapes, body, instant in zip(figures, bodies, plan.instants, strict=True)
    )


def ground_of(take: Take, line: float) -> tuple[tuple[Shape, ...], float]:
    """What does not move, and how far it reaches under the ground line [m]."""
    if take.runway is None:
        return take.still, DEPTH + 0.05
    return (*take.runway.shapes(line), *take.still), take.runway.below(line)


def fixed_camera(
    take: Take, bodies: list[list[Point]], box: tuple[int, int, int, int], text: float
) -> tuple[Camera, tuple[Shape, ...]]:
    """A camera that sees every body, and the ground as it is seen from there."""
    xs = [x for body in bodies for x, _ in body]
    low, high = min(xs) - 0.4, max(xs) + 0.4
    if take.runway is not None:
        low, high = min(low, take.runway.start), max(high, take.runway.end)
    top = max(z for body in bodies for _, z in body) + 0.2
    scale = box[2] / (high - low)
    still, below = ground_of(take, text / scale)
    if (top + below) * scale > box[3]:
        # The texts keep their height in pixels, so what they take of the world depends on scale.
        for _ in range(6):
            scale = box[3] / (top + below)
            still, below = ground_of(take, text / scale)
        scale = min(scale, box[3] / (top + below))
    middle = (low + high) / 2
    return Camera(middle - box[2] / scale / 2, -below, scale), still


def in_view(shapes: Sequence[Shape], low: float, high: float) -> tuple[Shape, ...]:
    """What of some shapes is seen between two places: the rest is left out, and long lines are cut.

    low, high: along the runway [m].
    """
    out: list[Shape] = []
    for shape in shapes:
        if isinstance(shape, Label):
            # A text reaches about as far as the picture is wide at most.
            if 2 * low - high < shape.at[0] < 2 * high - low:
                out.append(shape)
            continue
        xs = [x for x, _ in shape.points]
        if max(xs) < low or min(xs) > high:
            continue
        if isinstance(shape, Stroke) and len(xs) > 2 and not shape.closed:
            within = [i for i, x in enumerate(xs) if low <= x <= high] or [0, len(xs) - 1]
            first, last = max(within[0] - 1, 0), within[-1] + 2
            shape = replace(shape, points=shape.points[first:last])
        out.append(shape)
    return tuple(out)


def following_cameras(
    takes: Sequence[Take],
    many: Sequence[list[list[Point]]],
    boxes: Sequence[tuple[int, int, int, int]],
    text: float,
) -> list[tuple[tuple[Camera, ...], tuple[Shape, ...]]]:
    """Cameras of one scale that keep each body in the middle, sliding by whole pixels.

    scale [px/m] = min(height / (top + below), width / 2.6 m), below the ground as deep as the texts need;
    left = mean of hip and shoulder over up to 3 frames either way, less half the width.
    """
    top = max(z for bodies in many for body in bodies for _, z in body) + 0.15
    high, wide = boxes[0][3], boxes[0][2]
    scale, below = 100.0, 0.6
    for _ in range(6):
        scale = min(high / (top + below), wide / 2.6)
        below = max(ground_of(take, text / scale)[1] for take in takes)
    scale = min(scale, high / (top + below))
    out = []
    for take, bodies in zip(takes, many, strict=True):
        middles = [(body[0][0] + body[1][0]) / 2 for body in bodies]
        cameras = []
        for i in range(len(middles)):
            reach = min(3, i, len(middles) - 1 - i)
            near = middles[i - reach : i + reach + 1]
            left = sum(near) / len(near) - wide / scale / 2
            cameras.append(Camera(round(left * scale) / scale, -below, scale))
        out.append((tuple(cameras), ground_of(take, text / scale)[0]))
    return out


_STANDS: Final = 0.44
"""Most of a picture's width that a body passes while the camera stands (ours)."""
_MOVES: Final = 0.8
"""How long the camera takes to the next place [s of the clip] (ours)."""
_SHIFTED: Final = 0.15
"""How far from half-way a move may lie, in stretches between two places, to fall into a flight (ours)."""


def standing_cameras(
    cameras: Sequence[Camera], bodies: list[list[Point]], plan: Schedule, wide: int
) -> tuple[Camera, ...]:
    """Cameras that stand while the body passes a stretch, and go on to the next while it is in the air.

    Ground and texts can be read and a foot on the ground does not slide; where that leaves the camera less
    time to stand than to move, or would cut the body, it follows as it did.

    cameras: each with the body in the middle.
    """
    scale, lefts = cameras[0].scale, [camera.left for camera in cameras]
    middles = [left + wide / scale / 2 for left in lefts]
    reach = max(abs(x - m) for body, m in zip(bodies, middles, strict=True) for x, _ in body)
    room = min(_STANDS * wide / scale, (wide / scale / 2 - reach - 0.1) / (0.5 + _SHIFTED))
    start, way = min(lefts), max(lefts) - min(lefts)
    takes = round(_MOVES / min(plan.durations))
    if room <= 0 or 2 * takes * (many := max(1, math.ceil(way / room))) > len(cameras):
        return tuple(cameras)
    stretch = way / many
    centres = []
    for k in range(1, many):
        between = start + k * stretch
        near = [i for i, x in enumerate(lefts) if abs(x - between) <= _SHIFTED * stretch]
        free = [i for i in near if not any(abs(h - i) <= takes / 2 for h in plan.held)]
        feet = {i: min(z for _, z in bodies[i]) for i in free or near}
        centres.append(max(feet, key=feet.__getitem__))
    out = []
    for i, camera in enumerate(cameras):
        shares = [min(max((i - c) / takes + 0.5, 0.0), 1.0) for c in centres]
        gone = 0.5 + sum(s * s * (3 - 2 * s) for s in shares)
        left = start + gone * stretch
        out.append(replace(camera, left=round(left * scale) / scale))
    return tuple(out)


def whole_labels(
    still: Sequence[Shape],
    moving: Sequence[tuple[Shape, ...]],
    cameras: Sequence[Camera],
    wide: float,
    text: float,
) -> tuple[tuple[Shape, ...], tuple[tuple[Shape, ...], ...]]:
    """Texts on the ground shown only while all of each is in view of a camera that goes along.

    still, moving: what stands, and what each frame has besides.
    cameras: one for each frame.
    wide, text: of the picture, and the height of its letters [px].
    Returns `still` without its labels, and `moving` with those that no edge cuts.
    """
    labels = [s for s in still if isinstance(s, Label)]
    rest = tuple(s for s in still if not isinstance(s, Label))

    def seen(label: Label, camera: Camera) -> bool:
        # As in `shortened`: a letter is about .6 of its height wide, a bold one .68.
        long = len(label.text) * text * label.size * (0.68 if label.bold else 0.6)
        share = {"left": 0.0, "middle": 0.5, "right": 1.0}[label.align]
        start = (label.at[0] - camera.left) * camera.scale - share * long
        return start >= 0.0 and start + long <= wide

    frames = tuple(
        (*(one for one in labels if seen(one, camera)), *shapes)
        for shapes, camera in zip(moving, cameras, strict=True)
    )
    return rest, frames


def text_height(size: tuple[int, int]) -> float:
    """Height of normal text [px]: a share of the picture, never below 11."""
    return max(11.0, round(min(size[0] / 48, size[1] / 24) * 2) / 2)


def shortened(text: str, room: float, size: float, bold: bool = False) -> str:
    """A text cut, with dots, to about the room there is; the letters' size stays.

    room: [px].
    size: letter height (em) [px].

    >>> shortened("knees at touchdown", 100, 20)
    'knees a…'
    """
    # A letter of the shipped font is about .6 of its height wide, a bold one .68.
    letters = max(1, int(room / (size * (0.68 if bold else 0.6))))
    if len(text) <= letters:
        return text
    return text[: max(1, letters - 1)].rstrip() + "\N{HORIZONTAL ELLIPSIS}"
