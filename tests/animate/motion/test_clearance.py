"""What a body sweeps over an obstacle, against motions whose answer is known in closed form."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import animate
from animate.body.body import body
from animate.body.outlines import AT, ENDS, part, points_of
from animate.body.pose import joints
from animate.body.shapes import Label, Stroke
from animate.body.stances import GRAVITY, key_poses
from animate.motion.clearance import (
    BAR,
    Sweep,
    best_place,
    clearance,
    lowest,
    rise,
    sweep,
    sweep_of,
)
from animate.motion.motion import Motion
from animate.motion.solve import canonical

VX, VY, TIME = 5.0, 2.0, 0.45
WHO = body(1.75, 70.0)
SWAP = [AT[n.replace("r_", "x_").replace("l_", "r_").replace("x_", "l_")] for n in AT]


def rigid(step: float = 0.001, swap: bool = False) -> tuple[Any, Any]:
    """A body stiff as a statue, thrown along a parabola: times and positions."""
    still = joints(WHO, key_poses()["touchdown after hop"], np.array([0.0, 0.9]))
    still = still[SWAP] if swap else still
    times = np.linspace(0.0, TIME, round(TIME / step) + 1)
    path = np.stack([VX * times, VY * times - GRAVITY * times**2 / 2], axis=-1)
    return times, still + path[:, None]


@lru_cache(maxsize=4)
def thrown(swap: bool = False) -> Sweep:
    return sweep(*rigid(swap=swap))


def by_hand(x: float, names: tuple[str, ...] = tuple(ENDS)) -> float:
    """Lowest point over the bar: every corner flies a parabola of its own, lowest at the bar's ends."""
    low = np.inf
    first = points_of(rigid()[1][0])
    for name in names:
        for a, b in part(first, name, 1).corners():
            for end in (x - BAR / 2, x + BAR / 2):
                t = (end - a) / VX
                if 0.0 <= t <= TIME:
                    low = min(low, b + VY * t - GRAVITY * t * t / 2)
    return low


@pytest.mark.parametrize("x", [0.6, 0.9, 1.13, 1.4])
def test_a_thrown_statue_clears_as_its_parabolas_do(x: float) -> None:
    # Between two instants a corner's chord lies g dt^2 / 8 = 1.2e-6 m under its parabola.
    assert clearance(thrown(), x, 0.2).gap == pytest.approx(by_hand(x) - 0.2, abs=5e-6)
    assert lowest(thrown(), np.array([x]))[0] == pytest.approx(by_hand(x), abs=5e-6)


@pytest.mark.parametrize("name", ["r_foot", "l_shank", "trunk"])
def test_one_part_alone(name: str) -> None:
    found = sweep(*rigid(), [name])
    assert list(found.pieces) == [name]
    one = clearance(found, 1.1, 0.0)
    assert one.part == name
    assert one.gap == pytest.approx(by_hand(1.1, (name,)), abs=5e-6)


def test_the_instant_and_the_point_are_where_the_part_is() -> None:
    one = clearance(thrown(), 1.1, 0.2)
    assert abs(one.x - 1.1) <= BAR / 2 + 1e-9
    assert one.z == pytest.approx(one.gap + 0.2)
    times, positions = rigid()
    near = positions[int(np.argmin(np.abs(times - one.time)))]
    shape = shapely.Polygon(part(points_of(near), one.part, 1).corners())
    assert shape.distance(shapely.Point(one.x, one.z)) < VX * 0.001


@given(st.floats(0.55, 1.5), st.floats(0.0, 0.6), st.floats(0.0, 0.5))
def test_lowering_by_d_clears_by_d_more(x: float, height: float, less: float) -> None:
    less = min(less, height)
    high, low = (clearance(thrown(), x, h) for h in (height, height - less))
    assert low.gap - high.gap == pytest.approx(less, abs=1e-12)
    assert (low.part, low.time, low.z) == (high.part, high.time, high.z)


@given(st.floats(0.55, 1.5), st.floats(0.0, 0.6))
def test_the_other_leg_is_the_same_with_the_sides_changed(x: float, height: float) -> None:
    one, two = (clearance(thrown(swap), x, height) for swap in (False, True))
    assert one.gap == pytest.approx(two.gap, abs=1e-12)
    if one.part[1] == "_":
        assert two.part == {"r": "l", "l": "r"}[one.part[0]] + one.part[1:]


def test_a_foot_under_the_bar_is_a_hit() -> None:
    low = clearance(thrown(), 1.1, 0.0).gap
    assert low > 0
    assert clearance(thrown(), 1.1, low + 0.07).gap == pytest.approx(-0.07)


@given(st.floats(0.001, 0.3), st.floats(0.001, 0.3), st.floats(0.7, 1.3))
def test_a_deeper_bar_never_has_more_room(one: float, two: float, x: float) -> None:
    thin, deep = sorted((one, two))
    assert clearance(thrown(), x, 0.1, deep).gap <= clearance(thrown(), x, 0.1, thin).gap + 1e-12


# --- the best place -------------------------------------------------------------------------------


def thrown_box(middle: float, wide: float = 0.2) -> Sweep:
    """A box flung over a place, its path the same before and behind it."""
    times = np.linspace(-0.3, 0.3, 601)
    x, z = middle + VX * times, 0.8 - GRAVITY * times**2 / 2
    boxes = shapely.box(x - wide / 2, z, x + wide / 2, z + 0.1)
    ends = [shapely.convex_hull(shapely.union(a, b)) for a, b in pairwise(boxes)]
    return Sweep(times, {"r_foot": np.array(ends)})


@pytest.mark.parametrize("slack", [0.0, 0.05, 0.1])
@pytest.mark.parametrize("middle", [2.0, 3.37])
def test_the_same_before_and_behind_is_best_in_the_middle(middle: float, slack: float) -> None:
    best = best_place(thrown_box(middle), middle - 0.9, middle + 0.9, slack)
    assert best.x == pytest.approx(middle, abs=1e-9)
    # The box's trailing (or leading) end is over the bar's far end last: that is the lowest.
    for value, off in ((best.lowest, 0.0), (best.worst, slack)):
        t = (0.1 + BAR / 2 + off) / VX
        assert value == pytest.approx(0.8 - GRAVITY * t * t / 2, abs=5e-6)


@pytest.mark.parametrize("slack", [0.0, 0.1])
def test_no_other_centimetre_is_better(slack: float) -> None:
    best = best_place(thrown(), 0.7, 1.3, slack)
    off = round(100 * slack)

    def worst(place: int) -> float:
        return min(by_hand((place + d) / 100) for d in range(-off, off + 1))

    most = max(worst(k) for k in range(70, 131))
    assert best.worst == pytest.approx(worst(round(100 * best.x)), abs=5e-6)
    assert most - 0.002 - 1e-5 <= best.worst <= most + 1e-5
    assert best.lowest == pytest.approx(by_hand(best.x), abs=5e-6)


def test_a_plateau_is_met_in_its_middle() -> None:
    floor = shapely.box(0.0, 0.4, 3.0, 0.5)
    steps = shapely.union(floor, shapely.box(0.0, 0.1, 1.0, 0.4))
    pieces = np.array([floor, shapely.box(0.0, 0.1, 1.0, 0.4), shapely.box(2.0, 0.2, 3.0, 0.4)])
    assert steps.area > floor.area
    best = best_place(Sweep(np.arange(4.0), {"trunk": pieces}), 0.2, 2.8)
    assert best.x == pytest.approx(1.5, abs=0.011)
    assert best.lowest == pytest.approx(0.4)


# --- a solved motion, another way -----------------------------------------------------------------


@lru_cache(maxsize=1)
def solved() -> Motion:
    path = Path(animate.__file__).parent / "motion" / "motions" / "two-hops-step-175.json.gz"
    motion = Motion.load(path)
    assert canonical(motion.chain)
    return motion


def test_a_solved_motion_checked_by_points_alone() -> None:
    """Outlines every .2 ms as thick clouds of points, no polygon library: the same lowest point."""
    motion = solved()
    found = sweep_of(motion)
    toes = [s.toe for s in motion.chain.supports]
    for x in (toes[2] + 0.8, toes[2] + 1.3, toes[3] + 1.0):
        mine = clearance(found, x, 0.0)
        times = np.arange(max(mine.time - 0.03, 0), min(mine.time + 0.03, motion.duration), 2e-4)
        low = np.inf
        for points in motion.frames(times).positions:
            corners = np.array(part(points_of(points), mine.part, 1).corners())
            ends = np.roll(corners, -1, axis=0)
            share = np.linspace(0, 1, 60)[:, None, None]
            cloud = (corners + share * (ends - corners)).reshape(-1, 2)
            over = cloud[np.abs(cloud[:, 0] - x) <= BAR / 2]
            low = min(low, over[:, 1].min(initial=np.inf))
        assert mine.gap == pytest.approx(low, abs=0.001)
        assert mine.gap <= low + 1e-6


def test_finer_steps_change_less_than_half_a_millimetre() -> None:
    motion = solved()
    coarse, fine = (sweep_of(motion, ["r_foot", "l_foot"], s) for s in (0.001, 0.0002))
    xs = np.linspace(2.0, 6.0, 41)
    assert np.abs(lowest(coarse, xs) - lowest(fine, xs)).max() < 5e-4


# --- what is refused ------------------------------------------------------------------------------


def _times(n: int) -> Any:
    return np.linspace(0, 1, n)


@pytest.mark.parametrize(
    ("times", "shape", "said"),
    [
        (_times(1), (1, 17, 2), "positions"),
        (_times(3), (3, 16, 2), "positions"),
        (_times(3), (2, 17, 2), "positions"),
        (np.array([0.0, 1.0, 1.0]), (3, 17, 2), "times"),
        (np.array([0.0, np.nan, 1.0]), (3, 17, 2), "finite"),
        (np.array([1.0, 0.0]), (2, 17, 2), "times"),
    ],
)
def test_bodies_that_are_none_are_refused(times: Any, shape: tuple[int, ...], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        sweep(times, np.zeros(shape))


def test_figures_out_of_range_are_refused() -> None:
    found = thrown()
    with pytest.raises(ValueError, match="parts: "):
        sweep(*rigid(), ["tail"])
    with pytest.raises(ValueError, match="step: "):
        sweep_of(solved(), step=0.1)
    for bar in (0.0, -1.0, 2.0, float("nan")):
        with pytest.raises(ValueError, match="bar: "):
            clearance(found, 1.0, 0.1, bar)
        with pytest.raises(ValueError, match="bar: "):
            lowest(found, np.array([1.0]), bar)
    for height in (-0.1, 3.1, float("nan")):
        with pytest.raises(ValueError, match="height: "):
            clearance(found, 1.0, height)
    for x in (40.0, -40.0):
        with pytest.raises(ValueError, match="x: a place the body passes over"):
            clearance(found, x, 0.1)
    with pytest.raises(ValueError, match="slack: "):
        best_place(found, 0.0, 1.0, 2.0)
    for start, end in ((1.0, 0.5), (0.0, 21.0), (1.001, 1.009)):
        with pytest.raises(ValueError, match="end: "):
            best_place(found, start, end)
    assert np.isinf(lowest(found, np.array([40.0]))).all()


def test_a_rise_is_drawn_between_its_heights() -> None:
    shapes = rise(2.0, 0.23, 0.42, "+19 cm")
    (label,) = [s for s in shapes if isinstance(s, Label)]
    assert label.text.replace("\N{NO-BREAK SPACE}", " ") == "+19 cm"
    heights = {z for s in shapes if isinstance(s, Stroke) for _, z in s.points}
    assert heights == {0.23, 0.42}
