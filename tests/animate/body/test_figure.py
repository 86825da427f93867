"""The body as shapes: where its parts lie, mirror images, what is measured on it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body import outlines, pose
from animate.body.body import body
from animate.body.figure import (
    JOINTS,
    angle,
    athlete,
    centre,
    dimension,
    ghost,
    knee_gap,
    path,
    thigh_angle,
)
from animate.body.shapes import Area, Label, Point, Stroke
from tests.animate.film.film_motion import END, body_at

INSTANTS = st.floats(0, END)
AT = {name: i for i, name in enumerate(JOINTS)}


def areas(shapes: Any) -> list[Area]:
    return [shape for shape in shapes if isinstance(shape, Area)]


def labels(shapes: Any) -> list[str]:
    return [shape.text for shape in shapes if isinstance(shape, Label)]


def moved(points: list[Point], **to: Point) -> list[Point]:
    out = list(points)
    for name, point in to.items():
        out[AT[name]] = point
    return out


def inside(point: Point, outline: tuple[Point, ...]) -> bool:
    x, z = point
    within = False
    for (x0, z0), (x1, z1) in zip(outline, outline[1:] + outline[:1], strict=True):
        if (z0 > z) != (z1 > z) and x < x0 + (z - z0) / (z1 - z0) * (x1 - x0):
            within = not within
    return within


def test_arrays_lists_and_tuples_draw_the_same() -> None:
    built = body(1.75, 70.0)
    array = pose.joints(built, np.zeros(14), np.array([0.0, 1.0]))
    assert athlete(array) == athlete(array.tolist()) == athlete(tuple(map(tuple, array)))


@given(INSTANTS)
def test_every_part_holds_the_middle_of_its_segment(t: float) -> None:
    points = body_at(t)
    order = [f"l_{k}" for k in ("hand", "forearm", "upper_arm", "foot", "shank", "thigh")]
    order += ["head", "", "trunk", ""]  # hair and shorts lie on these
    order += [f"r_{k}" for k in ("foot", "shank", "thigh", "hand", "forearm", "upper_arm")]
    drawn = areas(athlete(points))
    assert len(drawn) == len(order) == 16
    for shape, segment in zip(drawn, order, strict=True):
        if not segment:
            continue
        (ax, az), (bx, bz) = (points[AT[name]] for name in outlines.ENDS[segment])
        if segment.endswith("foot"):  # its ends lie on the sole: look a little above it
            along, up = 0.3, 0.1
        else:
            along, up = 0.5, 0.0
        vx, vz = bx - ax, bz - az
        spot = (ax + along * vx - up * vz, az + along * vz + up * vx)
        assert inside(spot, shape.points), segment


@given(INSTANTS)
def test_a_mirrored_athlete_is_the_mirrored_picture(t: float) -> None:
    points = body_at(t)
    flipped = [(-x, z) for x, z in points]
    mirrored = [
        Area(tuple((-x, z) for x, z in shape.points), shape.role, shape.edge)
        for shape in areas(athlete(points))
    ]
    for one, other in zip(areas(athlete(flipped, facing=-1)), mirrored, strict=True):
        assert (one.role, one.edge) == (other.role, other.edge)
        assert np.allclose(one.points, other.points, atol=1e-12)


@given(INSTANTS)
def test_swapping_the_legs_and_the_near_side_changes_nothing(t: float) -> None:
    points = body_at(t)
    swapped = points[:3] + points[6:9] + points[3:6] + points[13:17] + points[9:13]
    assert athlete(points, near="r") == athlete(swapped, near="l")
    assert athlete(points, near="r") != athlete(points, near="l")


@given(INSTANTS, st.floats(-50, 50), st.floats(-5, 5))
def test_a_body_carried_along_is_the_same_body(t: float, dx: float, dz: float) -> None:
    points = body_at(t)
    carried = athlete([(x + dx, z + dz) for x, z in points])
    for one, other in zip(areas(athlete(points)), areas(carried), strict=True):
        assert np.allclose(np.add(one.points, (dx, dz)), other.points, atol=1e-9)


def test_near_and_far_differ_in_fill_and_outline() -> None:
    shapes = areas(athlete(body_at(0.3)))
    far, near = shapes[:6], shapes[-6:]
    assert {(s.role, s.edge) for s in far} == {("far", "near")}
    assert {(s.role, s.edge) for s in near} == {("near", "paper")}


def test_limbs_taper() -> None:
    upright = pose.joints(body(1.80, 70.0), np.zeros(14), np.array([0.0, 1.0]))
    for shape, top, low in (
        (areas(athlete(upright))[-4], 0.95, 0.62),  # thigh
        (areas(athlete(upright))[-5], 0.45, 0.13),  # shank
    ):
        assert width_at(shape, top) > 1.3 * width_at(shape, low)


def width_at(shape: Area, z: float) -> float:
    xs = []
    for (x0, z0), (x1, z1) in zip(shape.points, shape.points[1:] + shape.points[:1], strict=True):
        if (z0 > z) != (z1 > z):
            xs.append(x0 + (z - z0) / (z1 - z0) * (x1 - x0))
    return max(xs) - min(xs)


def test_shoes_stand_on_the_ground() -> None:
    standing = pose.joints(body(1.80, 70.0), np.zeros(14), np.array([0.0, body(1.80, 70.0).leg]))
    for foot in (areas(athlete(standing))[3], areas(athlete(standing))[10]):
        assert min(z for _, z in foot.points) == pytest.approx(0.0, abs=0.004)


def test_a_ghost_is_one_tone() -> None:
    shapes = areas(ghost(body_at(0.1)))
    assert len(shapes) == 14
    assert {shape.role for shape in shapes} == {"far"}


# --- what is measured -----------------------------------------------------------------------


def with_knees(right: Point, left: Point) -> list[Point]:
    return moved(body_at(0.0), hip=(0.0, 0.9), r_knee=right, l_knee=left)


def test_the_knee_gap_is_dimensioned_between_the_knees() -> None:
    shapes = knee_gap(with_knees((0.3, 0.55), (-0.1, 0.5)))
    assert labels(shapes) == ["40.0 cm"]
    level = [s for s in shapes if isinstance(s, Stroke) and s.points[0][1] == s.points[1][1]]
    for stroke in level:
        assert [x for x, _ in stroke.points] == [-0.1, 0.3]


@pytest.mark.parametrize(
    ("support", "facing", "text"),
    [("r", 1, "40.0 cm"), ("l", 1, "−40.0 cm"), ("r", -1, "−40.0 cm"), ("l", -1, "40.0 cm")],
)
def test_a_free_knee_already_ahead_gives_a_gap_below_zero(
    support: Any, facing: int, text: str
) -> None:
    shapes = knee_gap(with_knees((0.3, 0.5), (-0.1, 0.5)), support, facing=facing)
    assert labels(shapes) == [text]


@pytest.mark.parametrize(
    ("knee", "text"),
    [((0.4, 0.9), "0°"), ((0.3, 0.6), "−45°"), ((0.0, 0.5), "−90°"), ((0.3, 1.2), "+45°")],
)
def test_thigh_angle_is_from_level_ahead(knee: Point, text: str) -> None:
    points = with_knees(knee, (0.0, 0.5))
    assert labels(thigh_angle(points, "r")) == [text]
    flipped = [(-x, z) for x, z in points]
    assert labels(thigh_angle(flipped, "r", facing=-1)) == [text]


@given(st.floats(-7, 7), st.floats(-7, 7), st.floats(0.05, 2))
def test_an_arc_keeps_its_radius_and_takes_the_short_way(a: float, b: float, r: float) -> None:
    strokes = [s for s in angle((1.0, 2.0), a, b, "", r) if isinstance(s, Stroke)]
    arc = strokes[-1].points
    assert all(math.dist(p, (1.0, 2.0)) == pytest.approx(r) for p in arc)
    turned = abs(math.remainder(b - a, 2 * math.pi))
    assert math.dist(arc[0], arc[-1]) == pytest.approx(2 * r * math.sin(turned / 2), abs=1e-9)


def test_a_dimension_of_nothing_is_still_finite() -> None:
    shapes = dimension((0.0, 0.5), (0.0, 0.5), 0.3, "0 cm")
    assert all(
        math.isfinite(c) for s in shapes if not isinstance(s, Label) for p in s.points for c in p
    )


def test_the_centre_of_mass_ring_is_round() -> None:
    (ring,) = areas(centre((1.0, 1.2), 0.05))
    assert all(math.dist(p, (1.0, 1.2)) == pytest.approx(0.05) for p in ring.points)


# --- bad input ------------------------------------------------------------------------------


@pytest.mark.parametrize("foot", [None, 0.1, 0.2, 0.26, 0.34, 0.42, 0.5])
@pytest.mark.parametrize("facing", [1, -1])
def test_the_figure_of_the_knee_gap_is_clear_of_the_free_foot(
    foot: float | None, facing: int
) -> None:
    body = np.array(with_knees((0.3 * facing, 0.5), (-0.1 * facing, 0.45)))
    for name, x, z in (("ankle", 0.3, 0.08), ("heel", 0.25, 0.0), ("toe", 0.45, 0.0)):
        body[AT[f"r_{name}"]] = (x * facing, z)
        back, high = (-0.5, 0.7) if foot is None else (-0.3, foot)
        body[AT[f"l_{name}"]] = (back * facing, high)
    shapes = knee_gap(body, "r", facing=facing)
    (label,) = (s for s in shapes if isinstance(s, Label))
    assert label.at[0] * facing < -0.1
    assert label.at[1] >= 0.07 - 1e-9
    if foot is None:
        assert label.at[1] == pytest.approx(0.25)
    elif foot >= 0.22 or foot < 0.1:  # lower than that there is no room between foot and ground
        assert abs(label.at[1] - foot) >= 0.15 - 1e-9


@pytest.mark.parametrize(
    ("positions", "words"),
    [
        (
            moved(body_at(0), r_knee=(math.nan, 0.5)),
            "must be finite numbers, got nan, 0.5 at r_knee",
        ),
        (moved(body_at(0), hip=(math.inf, 0.5)), "at hip"),
        (body_at(0)[:16], "17 points needed, got 16"),
        ([1.0, 2.0], "pairs"),
        ([("a", "b")] * 17, "pairs"),
    ],
)
@pytest.mark.parametrize("draw", [athlete, ghost, knee_gap])
def test_a_bad_body_is_refused_in_one_line(positions: Any, words: str, draw: Any) -> None:
    with pytest.raises(ValueError, match=words) as told:
        draw(positions)
    assert "\n" not in str(told.value)


def test_a_bad_look_is_refused() -> None:
    with pytest.raises(ValueError, match="near: r or l, got 'x'"):
        athlete(body_at(0), near="x")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="facing: 1"):
        athlete(body_at(0), facing=0)
    with pytest.raises(ValueError, match="path: at least 2"):
        path([(0.0, 1.0)])
