"""How the frames of a scene become the animations of an SVG: times, turns, travels."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from animate.body.shapes import Area, Point, Stroke, place_of
from animate.film.scene import Scene, starts

_RIGID: Final = 0.05
"""How far a point may be from a turned and moved outline for it to count as the same [px]."""


class Clock:
    """The times of the frames, and the attributes every animation of the clip shares."""

    def __init__(self, scene: Scene) -> None:
        self.count = len(scene.durations)
        self.poster = scene.poster
        at = starts(scene.durations, 0.001)
        whole = at[-1]
        self.fractions = [short(t / whole, 5) for t in at[:-1]]
        even = all(t * self.count == whole * i for i, t in enumerate(at[:-1]))
        self.times = "" if even else f' keyTimes="{";".join(self.fractions)}"'
        end = 'repeatCount="indefinite"' if scene.loop else 'fill="freeze"'
        self.tail = f' dur="{short(whole / 1000, 3)}s" calcMode="discrete" {end}'

    def moved(self, kind: str, values: Sequence[str]) -> str:
        """An animation of `transform`, one value a frame."""
        return (
            f'<animateTransform attributeName="transform" type="{kind}" '
            f'values="{";".join(values)}"{self.times}{self.tail}/>'
        )

    def changed(self, name: str, values: Sequence[str]) -> str:
        """An animation of a plain attribute, one value a frame."""
        return (
            f'<animate attributeName="{name}" values="{";".join(values)}"{self.times}{self.tail}/>'
        )

    def shown(self, frames: Iterable[int]) -> str:
        """An animation that shows an element in these frames only; empty where that is all."""
        wanted = set(frames)
        if len(wanted) == self.count:
            return ""
        turns = {0, *wanted, *(i + 1 for i in wanted)} - {self.count}
        values: list[str] = []
        times: list[str] = []
        for i in sorted(turns):
            value = "inline" if i in wanted else "none"
            if not values or values[-1] != value:
                values.append(value)
                times.append(self.fractions[i])
        return (
            f'<animate attributeName="display" values="{";".join(values)}" '
            f'keyTimes="{";".join(times)}"{self.tail}/>'
        )

    def hidden(self, frames: Iterable[int]) -> str:
        """The attribute that hides an element from viewers that cannot move."""
        return "" if self.poster in set(frames) else ' display="none"'


class Slot:
    """One outline through the clip: the frames that have it, in order."""

    def __init__(self) -> None:
        self.shapes: dict[int, Area | Stroke] = {}


_Key = tuple[object, ...]


def _key(shape: Area | Stroke) -> _Key:
    if isinstance(shape, Area):
        place = place_of(shape)
        length = len(place.outline if place else shape.points)
        return (0, shape.role, shape.edge, shape.filled, length)
    return (1, shape.role, shape.width, shape.closed, shape.dash, len(shape.points))


def slots_of(frames: list[list[Area | Stroke]]) -> list[Slot] | None:
    """Outlines that go on from frame to frame, in an order that holds in every frame."""
    order: list[_Key] = []
    found: dict[_Key, Slot] = {}
    before: list[_Key] | None = None
    row: list[Slot] = []
    for i, shapes in enumerate(frames):
        kinds = [_key(shape) for shape in shapes]
        if kinds == before:  # as most frames are
            for slot, shape in zip(row, shapes, strict=True):
                slot.shapes[i] = shape
            continue
        before, row = kinds, []
        seen: dict[_Key, int] = {}
        at = 0
        for kind, shape in zip(kinds, shapes, strict=True):
            nth = seen[kind] = seen.get(kind, 0) + 1
            key = (nth, *kind)
            if key in found:
                place = order.index(key)
                if place < at:
                    return None
                at = place + 1
            else:
                order.insert(at, key)
                found[key] = Slot()
                at += 1
            found[key].shapes[i] = shape
            row.append(found[key])
    return [found[key] for key in order]


def carried(
    full: Sequence[Area | Stroke], scale: float
) -> tuple[list[str], list[str], list[Point]] | None:
    """As `rigid`, for outlines that know where they lie; None where they do not, or where one
    does not keep its size.

    full: the outline in every frame.
    scale: [px/m].
    Returns places and angles of all frames, and the outline of the first about its own origin [px].
    """
    found = [place_of(shape) for shape in full]
    first = found[0]
    if first is None:
        return None
    length = math.hypot(first.vx, first.vz)
    reach = max(abs(c) for point in first.outline for c in point)
    turn = math.degrees(math.atan2(first.vz, first.vx))
    places, angles = [], []
    for place in found:
        if place is None or place.outline is not first.outline or place.side != first.side:
            return None
        if abs(math.hypot(place.vx, place.vz) - length) * scale * reach > _RIGID:
            return None
        places.append(f"{tenths(place.x * scale)} {tenths(-place.z * scale)}")
        angles.append(tenths(turn - math.degrees(math.atan2(place.vz, place.vx))))
    if len(set(places)) == len(set(angles)) == 1:
        return None
    own = first._replace(x=0.0, z=0.0).points()
    return places, angles, [(x * scale, z * scale) for x, z in own]


def rigid(
    full: list[tuple[Point, ...]], scale: float
) -> tuple[list[str], list[str], list[Point]] | None:
    """The first outline about its first point, and where each frame carries and turns it.

    Returns None where an outline changes its form by more than `_RIGID`.
    """
    base = full[0]
    ax, az = base[0]
    far = max(range(len(base)), key=lambda k: (base[k][0] - ax) ** 2 + (base[k][1] - az) ** 2)
    fx, fz = base[far][0] - ax, base[far][1] - az
    reach = math.hypot(fx, fz)
    if reach == 0:
        return None
    fx, fz = fx / reach, fz / reach
    own = [(x - ax, z - az) for x, z in base]
    slack = _RIGID / scale
    # Enough points to catch any change of form; between them the outline is smooth.
    checked = range(0, len(base), max(1, len(base) // 8))
    places, angles = [], []
    for points in full:
        px, pz = points[0]
        gx, gz = points[far][0] - px, points[far][1] - pz
        length = math.hypot(gx, gz)
        if abs(length - reach) > slack:
            return None
        cos, sin = (fx * gx + fz * gz) / length, (fx * gz - fz * gx) / length
        for k in checked:
            x, z = own[k]
            qx, qz = points[k]
            if abs(px + cos * x - sin * z - qx) + abs(pz + sin * x + cos * z - qz) > slack:
                return None
        places.append(f"{short(px * scale)} {short(-pz * scale)}")
        angles.append(short(-math.degrees(math.atan2(sin, cos))))
    return places, angles, [(x * scale, z * scale) for x, z in own]


def path_data(points: Sequence[Point], closed: bool, scale: float, digits: int = 1) -> str:
    """A path in whole steps of the last digit, each point told from the one before."""
    fine = 10**digits
    step = scale * fine
    x0 = y0 = 0
    out = []
    for i, (x, z) in enumerate(points):
        x1, y1 = round(x * step), round(-z * step)
        pair = short((x1 - x0) / fine, digits), short((y1 - y0) / fine, digits)
        gap = "" if pair[1].startswith("-") else " "
        lead = "M" if i == 0 else "l" if i == 1 else "" if pair[0].startswith("-") else " "
        out.append(f"{lead}{pair[0]}{gap}{pair[1]}")
        x0, y0 = x1, y1
    return "".join(out) + ("z" if closed else "")


def tenths(value: float) -> str:
    """A number to one decimal; quicker than `short` and hardly longer.

    >>> tenths(12.04), tenths(-0.04), tenths(0.25)
    ('12', '0', '0.2')
    """
    text = f"{value:.1f}"
    if text.endswith(".0"):
        text = text[:-2]
    return "0" if text == "-0" else text


def short(value: float, digits: int = 1) -> str:
    """A number as short as it goes."""
    text = f"{value:.{digits}f}"
    if digits:
        text = text.rstrip("0").rstrip(".")
    if text.startswith(("0.", "-0.")):
        text = text.replace("0.", ".", 1)
    return "0" if text in ("-0", "", "-") else text
