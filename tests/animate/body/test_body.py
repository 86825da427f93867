"""The body's segments against the published tables."""

from __future__ import annotations

import math
import tomllib
from typing import Any, get_args

import numpy as np
import pytest
from hypothesis import given

from animate.body.body import FOOT_HEIGHT, MASS_RANGE, SEGMENTS, STATURE_RANGE, Build, body
from tests import strategies as own
from tests.published import FOLDER, ids, published

ROWS = published("segments.toml", "seen")
LENGTHS = tomllib.loads((FOLDER / "segments.toml").read_text(encoding="utf-8"))["length"]
STATURE, MASS = 1.80, 70.0


def _where(kind: str) -> list[int]:
    return [i for i, name in enumerate(SEGMENTS) if name == kind or name[2:] == kind]


@pytest.mark.parametrize("build", ["male", "female"])
@pytest.mark.parametrize("row", ROWS, ids=ids(ROWS))
def test_de_leva_row(row: dict[str, Any], build: Build) -> None:
    who = body(STATURE, MASS, build)
    places = _where(row["id"])
    assert places
    for i in places:
        # The women's column sums to .9999 as printed; sharing that out stays inside the print.
        assert abs(who.masses[i] / MASS - row[f"mass_{build}"]) <= 0.5 * 10 ** -row["digits"]
        assert who.com[i] == row[f"com_{build}"]
        gyration = math.sqrt(who.inertias[i] / who.masses[i]) / who.lengths[i]
        assert gyration == pytest.approx(row[f"rg_{build}"], abs=1e-12)


def test_every_segment_has_a_row() -> None:
    known = {i for row in ROWS for i in _where(row["id"])}
    assert known == set(range(len(SEGMENTS)))


@pytest.mark.parametrize("row", LENGTHS, ids=[r["id"] for r in LENGTHS])
def test_drillis_contini_row(row: dict[str, Any]) -> None:
    who = body(STATURE, MASS)
    if row["id"] == "foot_height":
        assert row["length"] == FOOT_HEIGHT
        assert who.ankle[1] == pytest.approx(row["length"] * STATURE)
        return
    places = _where(row["id"])
    assert places
    for i in places:
        assert who.lengths[i] == pytest.approx(row["length"] * STATURE)


@given(own.sizes, own.builds)
def test_masses_sum_and_segments_stack_to_the_stature(
    size: tuple[float, float], build: Build
) -> None:
    stature, mass = size
    who = body(stature, mass, build)
    assert who.masses.sum() == pytest.approx(mass, rel=1e-12)
    assert (who.masses > 0).all()
    assert (who.inertias > 0).all()
    head, trunk, thigh, shank = (
        who.lengths[SEGMENTS.index(s)] for s in ("head", "trunk", "r_thigh", "r_shank")
    )
    assert head + trunk + thigh + shank + who.ankle[1] == pytest.approx(stature)
    assert who.leg == pytest.approx(thigh + shank + who.ankle[1])


@given(own.sizes, own.builds)
def test_sides_are_alike(size: tuple[float, float], build: Build) -> None:
    who = body(*size, build)
    right = [i for i, s in enumerate(SEGMENTS) if s.startswith("r_")]
    left = [SEGMENTS.index("l_" + SEGMENTS[i][2:]) for i in right]
    for values in (who.lengths, who.masses, who.com, who.inertias):
        assert np.array_equal(values[right], values[left])


def test_inertia_grows_with_mass_and_the_square_of_stature() -> None:
    small, tall = body(1.50, 50.0, "female"), body(1.80, 50.0, "female")
    heavy = body(1.50, 75.0, "female")
    assert tall.inertias / small.inertias == pytest.approx(np.full(14, (1.8 / 1.5) ** 2))
    assert heavy.inertias / small.inertias == pytest.approx(np.full(14, 1.5))


def test_average_lies_between_the_columns() -> None:
    male, female, average = (body(STATURE, MASS, b) for b in get_args(Build))
    assert average.com == pytest.approx((male.com + female.com) / 2.0)
    for a, b, c in zip(male.masses, female.masses, average.masses, strict=True):
        assert min(a, b) <= c <= max(a, b)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((STATURE_RANGE[0] - 0.01, MASS), "stature"),
        ((STATURE_RANGE[1] + 0.01, MASS), "stature"),
        ((math.nan, MASS), "stature"),
        ((math.inf, MASS), "stature"),
        ((STATURE, MASS_RANGE[0] - 0.1), "mass"),
        ((STATURE, MASS_RANGE[1] + 0.1), "mass"),
        ((STATURE, math.nan), "mass"),
        ((STATURE, MASS, "tall"), "build"),
    ],
)
def test_refused(arguments: tuple[Any, ...], field: str) -> None:
    with pytest.raises(ValueError, match=f"^{field}: .*, got "):
        body(*arguments)


def test_a_body_cannot_be_changed() -> None:
    who = body(STATURE, MASS)
    with pytest.raises(ValueError, match="read-only"):
        who.masses[0] = 1.0
    assert body(STATURE, MASS) is who
