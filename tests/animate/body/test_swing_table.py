"""The lever table: its columns, both sides of the trade, and each column by another way."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest

from animate.body.body import body
from animate.body.pose import SEGMENT, centre_of_mass, joints
from animate.body.swing import lever, swing_time
from animate.body.swing_table import (
    HIP_MOMENT_PER_MASS,
    KNEE_BEND_REACHED,
    STEP_CONTACT,
    LeverRow,
    SwingTask,
    lever_curves,
    lever_table,
)
from tests.published import published

AVERAGE = body(1.80, 72.0)


def test_defaults_are_the_rows_they_claim() -> None:
    swing = {r["id"]: r for r in published("swing.toml")}
    (row,) = [r for r in published("mechanics.toml") if r["id"] == "contact-times"]
    assert row["step"] == STEP_CONTACT
    assert swing["hip-moment"]["value"] == HIP_MOMENT_PER_MASS
    assert swing["hip-moment"]["tag"] == "ours"
    assert math.radians(swing["knee-bend-most"]["value"]) == pytest.approx(KNEE_BEND_REACHED)


def test_table_has_its_columns_and_bends() -> None:
    rows = lever_table(AVERAGE)
    assert [round(math.degrees(r.knee_bend)) for r in rows] == list(range(40, 171, 10))
    curves = lever_curves(AVERAGE, np.radians([40.0, 50.0]))
    assert list(curves) == [f.name for f in dataclasses.fields(LeverRow)]
    assert all(v.shape == (2,) for v in curves.values())
    for name, column in curves.items():
        assert getattr(rows[1], name) == pytest.approx(float(column[1]), rel=1e-12)
    assert [r.reached for r in rows] == [r.knee_bend < math.radians(155) for r in rows]


def test_the_reference_bend_meets_its_own_touchdown() -> None:
    task = SwingTask()
    curves = lever_curves(AVERAGE, [task.reference], task)
    assert float(curves["thigh_same_time"][0]) == pytest.approx(task.touchdown, abs=1e-8)
    assert float(curves["gap_same_time"][0]) == pytest.approx(float(curves["gap_same_angle"][0]))


def test_the_trade_is_shown_both_ways() -> None:
    curves = lever_curves(AVERAGE, np.radians(np.arange(20.0, 151.0, 2.0)))
    # Costs of a longer lever: slower, further behind, later. Worth: more angular momentum.
    for name in ("inertia", "time", "time_flat", "gap_same_time", "time_left", "momentum"):
        assert np.all(np.diff(curves[name]) < 0), name
    assert np.all(np.diff(curves["thigh_takeoff"]) >= 0)
    # At the same thigh angles the bend doesn't enter at all.
    assert np.ptp(curves["gap_same_angle"]) < 1e-12
    np.testing.assert_allclose(curves["late"], curves["time_left"] - STEP_CONTACT, atol=1e-12)


def test_the_lift_is_that_of_the_posed_body() -> None:
    task, bend = SwingTask(), math.radians(80.0)
    heights = []
    for thigh in (task.touchdown, task.high):
        angles = np.zeros(14)
        angles[SEGMENT["l_thigh"]] = thigh
        angles[SEGMENT["l_shank"]] = angles[SEGMENT["l_foot"]] = thigh - bend
        heights.append(float(centre_of_mass(AVERAGE, joints(AVERAGE, angles, np.zeros(2)))[1]))
    lift = float(lever_curves(AVERAGE, [bend], task)["lift"][0])
    assert lift == pytest.approx(heights[1] - heights[0], abs=1e-12)


def test_momentum_is_the_impulse_of_the_moment() -> None:
    # Without gravity: moment times the time it acted.
    task = SwingTask(gravity=0.0)
    curves = lever_curves(AVERAGE, np.radians([50.0, 120.0]), task)
    allowed = float(
        swing_time(lever(AVERAGE, task.reference), task.back, task.touchdown, 144.0, 0.0)
    )
    np.testing.assert_allclose(
        curves["momentum"], 144.0 * (curves["time_left"] + allowed), rtol=1e-9
    )


def test_time_left_follows_from_where_each_bend_was() -> None:
    task = SwingTask()
    curves = lever_curves(AVERAGE, np.radians([60.0]), task)
    leg = lever(AVERAGE, math.radians(60.0))
    to_touchdown = float(swing_time(leg, task.back, curves["thigh_same_time"][0], 144.0))
    to_high = float(swing_time(leg, task.back, task.high, 144.0))
    assert float(curves["time_left"][0]) == pytest.approx(to_high - to_touchdown, abs=1e-9)


def test_thigh_at_takeoff_is_where_the_time_left_it() -> None:
    task = SwingTask()
    curves = lever_curves(AVERAGE, np.radians([20.0, 120.0]), task)
    reference = lever(AVERAGE, task.reference)
    had = float(swing_time(reference, task.back, task.touchdown, 144.0)) + task.contact
    late, there = curves["thigh_takeoff"]
    took = float(swing_time(lever(AVERAGE, math.radians(20.0)), task.back, late, 144.0))
    assert took == pytest.approx(had, abs=1e-9)
    assert late < task.high
    assert there == task.high


def test_too_weak_a_hip_says_so() -> None:
    curves = lever_curves(AVERAGE, [0.0], SwingTask(moment_per_mass=0.3, gravity=40.0))
    assert np.isinf(curves["time"]).all()
    assert np.isinf(curves["late"]).all()
    assert np.isnan(curves["momentum"]).all()
    with pytest.raises(ValueError, match="moment_per_mass: enough to bring"):
        lever_curves(
            AVERAGE,
            [1.0],
            SwingTask(moment_per_mass=0.2, back=0.3, touchdown=1.2, high=1.3, gravity=60.0),
        )


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: SwingTask(back=0.0, touchdown=-0.1), "back, touchdown, high: rising"),
        (lambda: SwingTask(contact=0.0), "contact: 0.02 to 1, got 0"),
        (lambda: SwingTask(moment_per_mass=float("nan")), "moment_per_mass: 0.2 to 10, got nan"),
    ],
)
def test_bad_input_is_refused_in_one_line(call: Any, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refused:
        call()
    assert "\n" not in str(refused.value)
