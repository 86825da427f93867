"""Outlines that are stored once and laid down many times."""

from __future__ import annotations

import math
import pickle
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.outlines import PARTS, smooth
from animate.body.shapes import Area, Place, Placed, place_of

NUMBERS = st.floats(-20, 20)
PLACES = st.builds(
    Place,
    st.sampled_from([smooth(kind) for kind in PARTS]),
    NUMBERS,
    NUMBERS,
    NUMBERS,
    NUMBERS,
    st.sampled_from([1, -1]),
)


@given(PLACES)
def test_an_outline_keeps_its_form_wherever_it_lies(place: Place) -> None:
    size = math.hypot(place.vx, place.vz)
    points = place.points()
    for i in range(0, len(points), 5):
        wanted = math.dist(place.outline[i], place.outline[0]) * size
        assert math.dist(points[i], points[0]) == pytest.approx(wanted, abs=1e-9)


@given(PLACES)
def test_the_hull_holds_the_outline_tightly(place: Place) -> None:
    points, hull = place.points(), place.corners()
    assert len(hull) <= len(points)
    for axis in (0, 1):
        assert min(p[axis] for p in hull) == pytest.approx(min(p[axis] for p in points), abs=1e-9)
        assert max(p[axis] for p in hull) == pytest.approx(max(p[axis] for p in points), abs=1e-9)


def test_to_everybody_else_it_is_an_area() -> None:
    place = Place(((0.0, 0.0), (1.0, 0.0), (1.0, 0.5)), 2.0, 3.0, 0.0, -1.0, 1)
    shape = Placed.at(place, "near", "paper")
    assert isinstance(shape, Area)
    assert shape.points == ((2.0, 3.0), (2.0, 2.0), (2.5, 2.0))
    assert shape == Placed.at(place, "near", "paper")
    assert shape != Placed.at(place, "far", "paper")
    assert pickle.loads(pickle.dumps(shape)) == shape
    assert place_of(shape) is place
    other = replace(shape, role="far")
    assert (other.points, other.role, other.edge) == (shape.points, "far", "paper")
    assert place_of(other) is None
    with pytest.raises(AttributeError):
        shape.role = "far"  # type: ignore[misc]
