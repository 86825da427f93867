"""How a moving body passes over an obstacle: what its parts sweep, and how far above a thin bar.

Every part's outline is laid down at every instant; between two instants the part is taken to cover
the convex hull of both, never less than the outlines at the instants themselves. Steps of 1 ms and of
.2 ms agree within half a millimetre of height on the motions tried (.3 where the underside is
steepest). The outlines are those the figure is drawn with, hulls of curves drawn by eye (ours).

An obstacle stands at x, is `BAR` deep along the runway and solid from the ground to its height: a
foot that passes under the bar of a hurdle counts as a hit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array
from animate.body.outlines import AT, ENDS, smooth
from animate.body.shapes import Label, Place, Shape, Stroke
from animate.body.wording import typeset
from animate.refused import Refused

if TYPE_CHECKING:
    from animate.motion.motion import Motion

BAR: Final = 0.025
"""Depth of an obstacle's top along the runway [m] (ours)."""
STEP: Final = 0.001
"""Time between two outlines [s]."""
GRID: Final = 0.01
"""Places tried lie this far apart, on whole centimetres [m]."""
EVEN: Final = 0.002
"""Places whose room differs by less are equally good [m] (ours)."""
_DEEP, _TALL = -1.0, 4.0
_FEW: Final = 12
Pieces = NDArray[Any]


@dataclass(frozen=True, eq=False)
class Sweep:
    """What the parts of a body cover between one instant and the next.

    times: (n,), [s].
    pieces: (n - 1,), convex, by part [m].
    """

    times: Array
    pieces: dict[str, Pieces]


@dataclass(frozen=True)
class Clearance:
    """The closest the body comes to passing too low over a place.

    gap: above the obstacle's top; negative is a hit and its depth [m].
    part: a key of `animate.body.outlines.ENDS`, such as r_foot.
    time: when [s].
    x, z: the lowest point, over the bar [m].
    """

    gap: float
    part: str
    time: float
    x: float
    z: float


@dataclass(frozen=True)
class Best:
    """Where an obstacle has most room.

    x: [m].
    lowest: lowest point of the sweep over the bar there [m].
    worst: the same, the least within the slack either way [m].
    """

    x: float
    lowest: float
    worst: float


def sweep(times: Array, positions: Array, parts: Sequence[str] | None = None) -> Sweep:
    """What a body covers as it moves: each part's outline at one instant and the next, and all between.

    piece k = convex hull of the part at times k and k + 1

    Source: outlines drawn by eye (ours).

    times: (n,), rising [s].
    positions: (n, 17, 2), joints [m], in the order of `animate.body.pose.JOINTS`, finite.
    parts: keys of `animate.body.outlines.ENDS`; None is the whole body.
    """
    import shapely

    times, positions = np.asarray(times, float), np.asarray(positions, float)
    if times.ndim != 1 or len(times) < 2 or positions.shape != (len(times), len(AT), 2):
        raise Refused("positions", f"(n, {len(AT)}, 2) for n > 1 times", positions.shape)
    if not (np.isfinite(times).all() and np.isfinite(positions).all()):
        raise Refused("positions", "must be finite numbers", "nan or infinity")
    if not (np.diff(times) > 0).all():
        raise Refused("times", "must be rising ones", times[:3].tolist())
    pieces = {}
    for name in ENDS if parts is None else parts:
        if name not in ENDS:
            raise Refused("parts", f"of {', '.join(ENDS)}", f"{name!r}")
        laid = _laid(positions, name)
        both = np.concatenate([laid[:-1], laid[1:]], axis=1)
        pieces[name] = np.asarray(shapely.convex_hull(shapely.linestrings(both)))
    return Sweep(times, pieces)


def _laid(positions: Array, name: str) -> Array:
    """A part's outline at every instant, (n, corners, 2) [m]."""
    first, far = (positions[:, AT[end]] for end in ENDS[name])
    along = far - first
    across = np.stack([-along[:, 1], along[:, 0]], axis=-1)
    kind = name[2:] if name[:2] in ("r_", "l_") else name
    s, f = np.array(Place(smooth(kind), 0.0, 0.0, 1.0, 0.0, 1).corners()).T[:, :, None]
    return np.asarray(first[:, None] + s * along[:, None] + f * across[:, None])


def sweep_of(motion: Motion, parts: Sequence[str] | None = None, step: float = STEP) -> Sweep:
    """What a solved motion covers from its beginning to its end, outlines a step apart (.0001 to .005 s)."""
    if not 1e-4 <= step <= 0.005:
        raise Refused("step", ".0001 to .005 s", step)
    times = np.linspace(0.0, motion.duration, 1 + int(np.ceil(motion.duration / step)))
    return sweep(times, motion.frames(times).positions, parts)


def _strips(xs: Array, bar: float) -> Pieces:
    import shapely

    deep, tall = np.full(len(xs), _DEEP), np.full(len(xs), _TALL)
    return np.asarray(shapely.box(xs - bar / 2, deep, xs + bar / 2, tall))


def _check_bar(bar: float) -> None:
    if not 1e-4 <= bar <= 1.0:
        raise Refused("bar", ".0001 to 1 m", bar)


def _near(pieces: Pieces, low: float, high: float) -> NDArray[np.intp]:
    """Which pieces reach into a stretch of the runway."""
    import shapely

    bounds = shapely.bounds(pieces)
    return np.flatnonzero((bounds[:, 2] >= low) & (bounds[:, 0] <= high))


def lowest(found: Sweep, xs: Array, bar: float = BAR) -> Array:
    """Lowest point swept within bar / 2 of each place xs (k,) [m]; infinite where the body never is.

    The bar's depth along the runway is .0001 to 1 [m].
    """
    import shapely

    _check_bar(bar)
    xs = np.asarray(xs, float)
    low, high = float(xs.min()) - bar, float(xs.max()) + bar
    near = np.concatenate([p[_near(p, low, high)] for p in found.pieces.values()])
    # What a few pieces leave is more than all leave: a piece above that is never the lowest.
    most = _lowest(near[::_FEW], xs, bar).max()
    return _lowest(near[shapely.bounds(near)[:, 1] <= most], xs, bar)


def _lowest(pieces: Pieces, xs: Array, bar: float) -> Array:
    import shapely

    whole = shapely.union_all(pieces)
    # In tiles, so that a strip is cut from a small region.
    out = np.full(len(xs), np.inf)
    for start in range(0, len(xs), 25):
        some = xs[start : start + 25]
        tile = shapely.clip_by_rect(whole, some.min() - bar, _DEEP, some.max() + bar, _TALL)
        cut = shapely.bounds(shapely.intersection(tile, _strips(some, bar)))[:, 1]
        out[start : start + 25] = np.where(np.isnan(cut), np.inf, cut)
    return out


def clearance(found: Sweep, x: float, height: float, bar: float = BAR) -> Clearance:
    """How far above an obstacle's top the body passes at the closest.

    gap = lowest point of the sweep within bar / 2 of x, less the height

    x a place the body passes over [m], height 0 to 3 [m], bar its depth, .0001 to 1 [m]. A body
    that stands straight, carried along with its hip 1.5 m up, over a 30 cm hurdle:

    >>> from animate.body.body import body
    >>> from animate.body.pose import joints
    >>> still = np.zeros((2, 14))
    >>> hips = np.array([[0.0, 1.5], [0.1, 1.5]])
    >>> passed = clearance(sweep([0.0, 0.1], joints(body(1.80, 72.0), still, hips)), 0.05, 0.3)
    >>> passed.part, round(passed.gap, 2)
    ('r_foot', 0.25)
    """
    import shapely

    _check_bar(bar)
    if not 0.0 <= height <= 3.0:
        raise Refused("height", "0 to 3 m", height)
    strip = shapely.box(x - bar / 2, _DEEP, x + bar / 2, _TALL)
    best: Clearance | None = None
    for part, pieces in found.pieces.items():
        near = _near(pieces, x - bar / 2, x + bar / 2)
        over = shapely.intersection(pieces[near], strip)
        low = shapely.bounds(over)[:, 1]
        if not len(low) or np.isnan(low).all():
            continue
        k = int(np.nanargmin(low))
        if best is None or low[k] - height < best.gap:
            corners = shapely.get_coordinates(over[k])
            at = corners[int(np.argmin(corners[:, 1]))]
            when = float(found.times[near[k] : near[k] + 2].mean())
            best = Clearance(float(low[k] - height), part, when, float(at[0]), float(at[1]))
    if best is None:
        raise Refused("x", "a place the body passes over", x)
    return best


def best_place(
    found: Sweep, start: float, end: float, slack: float = 0.0, bar: float = BAR
) -> Best:
    """Where along a stretch an obstacle has most room, even when it or the body is off by a slack.

    x* = the middle of the whole centimetres at which min over [x - slack, x + slack] of `lowest` is
    within 2 mm of the greatest. Stretch at most 20 m, slack 0 to 1 [m].
    """
    if not 0.0 <= slack <= 1.0:
        raise Refused("slack", "0 to 1 m", slack)
    first, last = int(np.ceil(start / GRID - 1e-9)), int(np.floor(end / GRID + 1e-9))
    if not 0 <= last - first <= 20.0 / GRID:
        raise Refused("end", "up to 20 m beyond the start", f"{start:g} to {end:g}")
    off = round(slack / GRID)
    places: Array = np.arange(first - off, last + off + 1, dtype=float) * GRID
    low = lowest(found, places, bar)
    worst = np.lib.stride_tricks.sliding_window_view(low, 2 * off + 1).min(axis=1)
    top = int(np.argmax(worst))
    good = worst >= worst[top] - EVEN
    left = right = top
    while left and good[left - 1]:
        left -= 1
    while right + 1 < len(good) and good[right + 1]:
        right += 1
    k = (left + right) // 2
    return Best(round((first + k) * GRID, 6), float(low[k + off]), float(worst[k]))


def rise(x: float, low: float, high: float, text: str) -> tuple[Shape, ...]:
    """An upright dimension line at x between two heights [m], either way round, with its figure behind."""
    from animate.body.figure import haloed

    out: list[Shape] = []
    for z in (low, high):
        out += haloed(Stroke(((x - 0.07, z), (x + 0.07, z)), "measure", 0.012))
    out += haloed(Stroke(((x, low), (x, high)), "measure", 0.018))
    at = (x + 0.11, (low + high) / 2)
    out.append(Label(at, typeset(text), "measure", 1.1, "left", bold=True))
    return tuple(out)
