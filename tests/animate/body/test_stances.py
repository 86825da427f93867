"""Take-off and landing distances that come from the poses."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.body import SEGMENTS, Body, Build, body
from animate.body.pose import SEGMENT, stance
from animate.body.stances import (
    ARRIVALS,
    DEPARTURES,
    GRAVITY,
    StanceTable,
    key_poses,
    takeoff,
    touchdown,
)
from tests import strategies as own
from tests.published import published

BANDS = {row["id"]: row for row in published("positions-facts.toml", "memory-low")}
TALL = body(1.86, 76.0, "male")
"""The size of a 17 m jumper (ours)."""
SPEEDS = np.linspace(0.0, 11.0, 45)


def _knee(pose: str) -> float:
    """Support knee angle of a key pose, 180 being straight [deg]."""
    angles = key_poses()[pose]
    bend = angles[SEGMENT["r_thigh"]] - angles[SEGMENT["r_shank"]]
    return float(180.0 - np.rad2deg(bend))


@pytest.mark.parametrize("pose", ["touchdown after hop", "touchdown after step"])
def test_support_knee_at_touchdown_is_inside_the_remembered_band(pose: str) -> None:
    row = BANDS["knee-touchdown"]
    assert row["low"] <= _knee(pose) <= row["high"]


@pytest.mark.parametrize("pose", ["take-off into hop", "take-off into step", "take-off into jump"])
def test_support_knee_at_take_off_is_inside_the_remembered_band(pose: str) -> None:
    row = BANDS["knee-takeoff"]
    assert row["low"] <= _knee(pose) <= row["high"]


@pytest.mark.parametrize(
    "pose", ["touchdown after hop", "take-off into step", "touchdown after step"]
)
def test_trunk_stays_near_the_vertical_round_the_step(pose: str) -> None:
    lean = np.rad2deg(key_poses()[pose][SEGMENT["trunk"]])
    assert abs(lean) <= BANDS["trunk-lean"]["within"]


def test_toe_ahead_at_step_touchdown_is_inside_the_remembered_band() -> None:
    """At the touchdown that begins the step's support, at fixture B's speed out of the hop."""
    speed = next(r for r in published("mechanics.toml") if r["id"] == "b-vx")["hop"]
    row = BANDS["toe-ahead"]
    assert row["low"] <= float(touchdown(TALL, "hop").at(speed).toe) <= row["high"]


@given(own.sizes, own.builds)
def test_feet_land_ahead_and_leave_behind(size: tuple[float, float], build: Build) -> None:
    who = body(*size, build)
    unit = np.sqrt(GRAVITY * who.leg)
    speed = np.linspace(0.0, 4.0, 9) * unit
    for arrive in ARRIVALS:
        found = touchdown(who, arrive).at(speed)
        assert (found.toe > found.heel).all()
        assert (found.toe > 0.05 * who.stature).all()
        assert (found.toe < 0.6 * who.stature).all()
        # Sitting into the sand is low, a standing body's centre is near .57 of its height.
        assert (found.height > 0.25 * who.stature).all()
        assert (found.height < 0.62 * who.stature).all()
    for leave in DEPARTURES:
        found = takeoff(who, leave).at(speed)
        assert (found.toe < 0.0).all()
        assert (found.height > 0.5 * who.stature).all()
        assert (found.height < 0.75 * who.stature).all()


def _tables(who: Body) -> list[tuple[str, StanceTable]]:
    makers: list[tuple[Callable[[Body, str], StanceTable], tuple[str, ...]]] = [
        (touchdown, ARRIVALS),
        (takeoff, DEPARTURES),
    ]
    return [(name, make(who, name)) for make, names in makers for name in names]


def test_more_speed_never_brings_the_foot_nearer() -> None:
    for name, table in _tables(TALL):
        reach = np.abs(table.at(SPEEDS).toe)
        assert (np.diff(reach) >= -1e-12).all(), name


@pytest.mark.parametrize(("froude", "turn"), [(0.0, -9.0), (1.9, 0.0), (2.4, 5.5), (4.2, 13.0)])
def test_the_stance_leg_turns_with_speed_within_its_limits(froude: float, turn: float) -> None:
    """11 degrees for each unit of v / sqrt(g leg) from 1.9, but never past -9 or 13 (ours)."""
    speed = froude * np.sqrt(GRAVITY * TALL.leg)
    for name, find, part, way in (
        ("hop", touchdown, "touchdown after hop", 1.0),
        ("jump", takeoff, "take-off into jump", -1.0),
    ):
        turned = key_poses()[part].copy()
        turned[[SEGMENT["r_thigh"], SEGMENT["r_shank"]]] += way * np.deg2rad(turn)
        if way < 0:
            turned[SEGMENT["r_foot"]] -= np.deg2rad(turn) / 2
        found, want = find(TALL, name).at(speed), stance(TALL, turned, "r")
        assert float(found.toe) == pytest.approx(float(want.toe), abs=1e-3)
        assert float(found.height) == pytest.approx(float(want.height), abs=1e-3)


def test_a_foot_lands_lower_than_it_leaves() -> None:
    for speed in (4.0, 7.0, 9.0):
        for move in ("hop", "step"):
            up, down = takeoff(TALL, move).at(speed), touchdown(TALL, move).at(speed)
            assert up.height > down.height
        assert (
            takeoff(TALL, "jump").at(speed).height
            > touchdown(TALL, "two feet in sand").at(speed).height
        )


@given(st.floats(1.2, 2.2), st.floats(1.2, 2.2), st.floats(0.3, 4.0), own.builds)
def test_geometry_scales_with_size_at_the_same_froude_speed(
    one: float, two: float, froude: float, build: Build
) -> None:
    a, b = body(one, 60.0, build), body(two, 60.0, build)
    for (_, first), (_, second) in zip(_tables(a), _tables(b), strict=True):
        here = first.at(froude * np.sqrt(GRAVITY * a.leg))
        there = second.at(froude * np.sqrt(GRAVITY * b.leg))
        assert float(here.toe) / one == pytest.approx(float(there.toe) / two, abs=1e-9)
        assert float(here.height) / one == pytest.approx(float(there.height) / two, abs=1e-9)


def test_sand_landing_is_the_written_pose_itself() -> None:
    """One source of truth: nothing but the key pose decides the two-footed landing."""
    written = stance(TALL, key_poses()["sand landing"], "r")
    for speed in (0.0, 5.0, 9.0):
        found = touchdown(TALL, "two feet in sand").at(speed)
        assert float(found.toe) == pytest.approx(float(written.toe))
        assert float(found.heel) == pytest.approx(float(written.heel))
        assert float(found.height) == pytest.approx(float(written.height))


def test_at_meets_the_table_and_is_straight_between() -> None:
    table = touchdown(TALL, "hop")
    assert table.at(table.speed).toe == pytest.approx(table.toe)
    middle = (table.speed[10] + table.speed[11]) / 2
    assert float(table.at(middle).toe) == pytest.approx((table.toe[10] + table.toe[11]) / 2)


def test_key_poses_are_whole() -> None:
    for name, pose in key_poses().items():
        assert pose.shape == (len(SEGMENTS),), name
        assert np.isfinite(pose).all()
        for side in ("r", "l"):
            thigh, shank = pose[SEGMENT[f"{side}_thigh"]], pose[SEGMENT[f"{side}_shank"]]
            assert thigh - shank >= -1e-9, (name, side)  # a knee does not bend forward


@pytest.mark.parametrize("find", [touchdown, takeoff])
def test_unknown_word_refused(find: Callable[[Body, str], StanceTable]) -> None:
    with pytest.raises(ValueError, match=r"(arrive|leave): one of .*, got 'flight'"):
        find(TALL, "flight")
