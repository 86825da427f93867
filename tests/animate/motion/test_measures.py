"""Measures of a contact: against hand figures, mirrored, shifted, coarsely sampled, refused."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.body import Array, body
from animate.body.pose import JOINT, SEGMENT, centre_of_mass, joints, mirrored
from animate.motion.chain import Support
from animate.motion.measures import (
    HOLD_WITHIN,
    MEASURE,
    MEASURES,
    Contact,
    Reading,
    Sampled,
    Track,
    contacts_of,
    read_contact,
    read_motion,
)

if TYPE_CHECKING:
    from animate.motion.motion import Frames

    def frames_can_be_read(frames: Frames) -> Sampled:
        return frames


BODY = body(1.80, 72.0)
THIGH = float(BODY.lengths[SEGMENT["r_thigh"]])
DEG = math.pi / 180
DOWN, OFF, NEXT = 0.2, 0.36, 0.71
STEP = Contact("r", DOWN, OFF, "hop", "step")
KNEES = {"r_thigh": 30.0, "r_shank": 10.0, "l_thigh": -30.0, "l_shank": -115.0, "trunk": -6.0}
Angle = float | Callable[[Array], Array]


def still(angles: dict[str, float]) -> Array:
    made = np.zeros(14)
    for name, degrees in angles.items():
        made[SEGMENT[name]] = degrees * DEG
    return made


def moving(
    angles: dict[str, Angle] | None = None,
    hip: Callable[[Array], Array] | None = None,
    step: float = 0.001,
    end: float = 1.0,
) -> Track:
    """A motion whose angles, in degrees, are given functions of time."""
    times = np.linspace(0.0, end, round(end / step) + 1)
    made = np.zeros((times.size, 14))
    for name, path in {**KNEES, **(angles or {})}.items():
        value = path(times) if callable(path) else np.full(times.size, path)
        made[:, SEGMENT[name]] = value * DEG
    at = hip(times) if hip else np.stack([8.0 * times, np.full(times.size, 1.0)], axis=1)
    positions = joints(BODY, made, at)
    return Track(times, made, positions, centre_of_mass(BODY, positions))


def read(track: Track, contact: Contact = STEP, **more: Any) -> dict[str, float]:
    return dict(
        read_contact(track, contact, BODY.leg, **{"since": 0.0, "until": NEXT, **more}).values
    )


def degrees(value: float) -> float:
    return value / DEG


# --- positions -----------------------------------------------------------------------------


def test_knees_apart_by_hand() -> None:
    # Thighs 30 degrees either side of vertical: an equilateral triangle, the knees level.
    got = read(moving())
    assert got["knee_gap"] == pytest.approx(THIGH, rel=1e-12)
    assert got["knee_distance"] == pytest.approx(THIGH, rel=1e-12)
    assert got["knee_gap_share"] == pytest.approx(THIGH / BODY.leg, rel=1e-12)
    assert degrees(got["thighs_apart_touchdown"]) == pytest.approx(60.0)
    assert degrees(got["free_thigh_touchdown"]) == pytest.approx(-120.0)
    assert degrees(got["free_knee_touchdown"]) == pytest.approx(95.0)
    assert degrees(got["support_knee_touchdown"]) == pytest.approx(160.0)
    assert degrees(got["trunk_lean_touchdown"]) == pytest.approx(6.0)


def test_a_free_knee_in_front_counts_minus() -> None:
    got = read(moving({"r_thigh": -30.0, "l_thigh": 30.0}))
    assert got["knee_gap"] == pytest.approx(-THIGH, rel=1e-12)
    assert got["knee_distance"] == pytest.approx(THIGH, rel=1e-12)


def test_the_straight_line_has_its_height_too() -> None:
    # Support thigh level in front, free thigh straight down: root 2 apart, one thigh along.
    got = read(moving({"r_thigh": 90.0, "l_thigh": 0.0}))
    assert got["knee_distance"] == pytest.approx(THIGH * math.sqrt(2), rel=1e-12)
    assert got["knee_gap"] == pytest.approx(THIGH, rel=1e-12)
    assert degrees(got["free_thigh_touchdown"]) == pytest.approx(-90.0)


@pytest.mark.parametrize(("right", "left", "apart"), [(170.0, -170.0, 20.0), (350.0, -30.0, 20.0)])
def test_thighs_apart_is_the_short_way_round(right: float, left: float, apart: float) -> None:
    got = read(moving({"r_thigh": right, "l_thigh": left}))
    assert degrees(got["thighs_apart_touchdown"]) == pytest.approx(apart)


def test_support_knee_through_the_contact() -> None:
    # 160 at touchdown, a dip of 25 half way, 160 at take-off plus 12 of drift.
    def shank(t: Array) -> Array:
        share = np.clip((t - DOWN) / (OFF - DOWN), 0.0, 1.0)
        return 10.0 - 25.0 * np.sin(np.pi * share) + 12.0 * share

    got = read(moving({"r_shank": shank}))
    assert degrees(got["support_knee_touchdown"]) == pytest.approx(160.0, abs=0.01)
    assert degrees(got["support_knee_takeoff"]) == pytest.approx(172.0, abs=0.01)
    share = math.acos(12.0 / (25.0 * math.pi)) / math.pi
    least = 160.0 - 25.0 * math.sin(math.pi * share) + 12.0 * share
    assert degrees(got["support_knee_minimum"]) == pytest.approx(least, abs=0.01)


def test_trunk_lean_keeps_the_sign_of_its_worst() -> None:
    def trunk(t: Array) -> Array:
        return -3.0 + 40.0 * (t - DOWN)  # -3 is 3 forward; at take-off 3.4 backward

    got = read(moving({"trunk": trunk}))
    assert degrees(got["trunk_lean_touchdown"]) == pytest.approx(3.0)
    assert degrees(got["trunk_lean_takeoff"]) == pytest.approx(-3.4)
    assert degrees(got["trunk_lean_most"]) == pytest.approx(-3.4)


def test_toe_and_body() -> None:
    track = moving(hip=lambda t: np.stack([3.0 + 0.0 * t, 1.0 + 0.0 * t], axis=1))
    toe = track.positions[0, JOINT["r_toe"], 0] - track.com[0, 0]
    got = read(track)
    assert got["toe_ahead"] == pytest.approx(float(toe), abs=1e-12)
    assert got["cm_ahead"] == pytest.approx(float(-toe), abs=1e-12)
    assert got["toe_ahead"] > 0.2
    up = track.com[0, 1] - track.positions[0, JOINT["r_toe"], 1]
    assert math.tan(got["landing_angle"]) == pytest.approx(float(up) / got["toe_ahead"], rel=1e-9)
    assert 45.0 < degrees(got["landing_angle"]) < 90.0


# --- the free thigh in flight --------------------------------------------------------------


def test_highest_thigh_and_how_long_it_is_held() -> None:
    # Up 200 deg/s to 82 at .5 s, down 100 deg/s: within ten degrees for .05 + .10 s.
    def thigh(t: Array) -> Array:
        return 82.0 - np.where(t < 0.5, 200.0 * (0.5 - t), 100.0 * (t - 0.5))

    def shank(t: Array) -> Array:
        return thigh(t) - 85.0 - 60.0 * (t - 0.5)  # bent by 85 when the thigh is highest

    got = read(moving({"l_thigh": thigh, "l_shank": shank}))
    assert degrees(got["free_thigh_highest"]) == pytest.approx(-8.0, abs=1e-9)
    assert got["free_thigh_hold"] == pytest.approx(0.15, abs=1e-9)
    assert degrees(got["free_knee_flight"]) == pytest.approx(95.0)
    assert degrees(got["free_thigh_takeoff"]) == pytest.approx(82.0 - 28.0 - 90.0, abs=1e-9)


def test_the_hold_ends_with_the_flight() -> None:
    got = read(moving({"l_thigh": 80.0, "l_shank": 0.0}))
    assert got["free_thigh_hold"] == pytest.approx(NEXT - OFF, abs=1e-12)
    assert got["flight_time"] == pytest.approx(NEXT - OFF, abs=1e-12)


def test_only_the_stretch_round_the_highest_counts() -> None:
    def thigh(t: Array) -> Array:
        return np.interp(t, [0.36, 0.40, 0.44, 0.48, 0.52, 0.56], [80.0, 80.0, 40.0, 84.0, 84.0, 0])

    got = read(moving({"l_thigh": thigh}))
    # Up 44 degrees in .04 s, .04 s level, down 84 in .04 s.
    assert got["free_thigh_hold"] == pytest.approx(0.04 + 0.04 * (10 / 44 + 10 / 84), abs=1e-6)
    assert degrees(HOLD_WITHIN) == pytest.approx(10.0)


@given(
    st.floats(20.0, 100.0), st.floats(60.0, 400.0), st.floats(60.0, 400.0), st.floats(0.42, 0.65)
)
def test_hold_of_any_triangle(top: float, up: float, down: float, when: float) -> None:
    def thigh(t: Array) -> Array:
        return top - np.where(t < when, up * (when - t), down * (t - when))

    got = read(moving({"l_thigh": thigh}))
    expected = min(10.0 / up, when - OFF) + min(10.0 / down, NEXT - when)
    assert got["free_thigh_hold"] == pytest.approx(expected, abs=0.0025)
    assert 0.0 <= got["free_thigh_hold"] <= NEXT - OFF + 1e-12
    assert degrees(got["free_thigh_highest"]) == pytest.approx(top - 90.0, abs=0.21)


# --- times and speeds ----------------------------------------------------------------------


def ballistic(t: Array) -> Array:
    """Two flights with a contact between, the slopes broken at its ends on purpose."""
    into = np.stack([8.6 * (t - DOWN), 1.0 - 2.4 * (t - DOWN) - 4.905 * (t - DOWN) ** 2], axis=1)
    s = t - OFF
    out = np.stack([1.3 + 7.9 * s, 1.02 + 1.7 * s - 4.905 * s**2], axis=1)
    share = ((t - DOWN) / (OFF - DOWN))[:, None]
    on = np.array([0.0, 1.0]) + share * np.array([1.3, 0.02])
    return np.where(t[:, None] <= DOWN, into, np.where(t[:, None] >= OFF, out, on))


@pytest.mark.parametrize("step", [0.001, 0.002, 0.01])
def test_speeds_come_from_the_flights(step: float) -> None:
    track = moving(step=step)
    track = dataclasses.replace(track, com=ballistic(track.times))
    got = read(track)
    assert got["speed_touchdown"] == pytest.approx(8.6, abs=1e-9)
    assert got["fall_touchdown"] == pytest.approx(-2.4, abs=1e-9)
    assert got["speed_takeoff"] == pytest.approx(7.9, abs=1e-9)
    assert got["rise_takeoff"] == pytest.approx(1.7, abs=1e-9)
    assert got["takeoff_angle"] == pytest.approx(math.atan2(1.7, 7.9), abs=1e-9)
    assert got["speed_lost"] == pytest.approx(0.7, abs=1e-9)
    assert got["contact_time"] == pytest.approx(0.16, abs=1e-12)
    assert got["flight_time"] == pytest.approx(0.35, abs=1e-12)


def test_without_a_flight_the_contact_tells_its_own_speed() -> None:
    track = moving()
    track = dataclasses.replace(track, com=ballistic(track.times))
    got = read(track, since=DOWN)
    assert got["speed_touchdown"] == pytest.approx(1.3 / 0.16, abs=1e-6)
    assert "foot_sweep" not in got


def test_the_callers_velocity_is_taken_as_given() -> None:
    track = moving()
    velocities = np.stack([track.times, -2.0 * track.times], axis=1)
    got = read(track, velocities=velocities)
    assert got["speed_touchdown"] == pytest.approx(DOWN)
    assert got["fall_touchdown"] == pytest.approx(-2 * DOWN)
    assert got["speed_lost"] == pytest.approx(DOWN - OFF)


def test_foot_sweep_is_backward_past_the_body() -> None:
    # Thigh and shank turn as one about a hip that rides with the body: the foot goes back.
    def turning(t: Array) -> Array:
        return 20.0 - 300.0 * (t - DOWN)

    track = moving({"r_thigh": turning, "r_shank": turning, "r_foot": turning})
    track = dataclasses.replace(track, com=track.positions[:, JOINT["hip"]])
    down = round(DOWN / 0.001)
    middle = track.positions[:, [JOINT["r_heel"], JOINT["r_toe"]], :].mean(axis=1)
    arm = float((track.positions[:, JOINT["hip"], 1] - middle[:, 1])[down])
    got = read(track)
    # 300 deg/s about the hip: backward speed is that times the height of the hip over the foot.
    assert got["foot_sweep"] == pytest.approx(300.0 * DEG * arm, abs=0.02)
    assert got["foot_sweep"] > 3.0


# --- any contact, any motion ---------------------------------------------------------------


def wobbly(seed: int, step: float = 0.001) -> Track:
    rng = np.random.default_rng(seed)
    size, rate, phase = rng.uniform(5, 40, 14), rng.uniform(2, 9, 14), rng.uniform(0, 6, 14)

    def path(i: int) -> Callable[[Array], Array]:
        return lambda t: size[i] * np.sin(rate[i] * t + phase[i])

    return moving({name: path(i) for name, i in SEGMENT.items()}, step=step)


@pytest.mark.parametrize("seed", range(5))
def test_mirrored_motion_reads_the_same(seed: int) -> None:
    track = wobbly(seed)
    angles = mirrored(track.angles)
    positions = joints(BODY, angles, track.positions[:, JOINT["hip"]])
    other = Track(track.times, angles, positions, centre_of_mass(BODY, positions))
    left = dataclasses.replace(STEP, side="l")
    assert read(other, left) == pytest.approx(read(track), abs=1e-9)


@given(st.integers(0, 99), st.floats(-50.0, 50.0), st.floats(-20.0, 20.0))
def test_where_and_when_do_not_matter(seed: int, along: float, later: float) -> None:
    track = wobbly(seed)
    move = np.array([along, 0.0])
    moved = Track(track.times + later, track.angles, track.positions + move, track.com + move)
    contact = dataclasses.replace(STEP, touchdown=DOWN + later, takeoff=OFF + later)
    got = read_contact(moved, contact, BODY.leg, since=later, until=NEXT + later)
    assert dict(got.values) == pytest.approx(read(track), abs=1e-5)


def test_coarse_sampling_stays_close() -> None:
    fine, coarse = read(wobbly(3)), read(wobbly(3, step=0.004))
    assert fine.keys() == coarse.keys()
    for name, value in fine.items():
        slack = {"m": 0.002, "rad": 0.02, "s": 0.004, "m/s": 0.05, "-": 0.002}[MEASURE[name].unit]
        assert coarse[name] == pytest.approx(value, abs=slack), name


def test_instants_between_samples() -> None:
    track = moving({"r_thigh": lambda t: 100.0 * t, "l_thigh": 0.0}, step=0.01)
    contact = Contact("r", 0.2034, 0.3671)
    got = read(track, contact)
    assert degrees(got["thighs_apart_touchdown"]) == pytest.approx(20.34, abs=1e-9)
    assert degrees(got["thighs_apart_takeoff"]) == pytest.approx(36.71, abs=1e-9)


def test_a_full_contact_has_every_measure() -> None:
    got = read_contact(moving(), STEP, BODY.leg, since=0.0, until=NEXT)
    assert list(got.values) == [m.name for m in MEASURES]
    assert all(isinstance(v, float) and math.isfinite(v) for v in got.values.values())


def test_what_cannot_be_read_is_left_out() -> None:
    track = moving()
    whole = set(read(track))
    flight = {m.name for m in MEASURES if m.at == "flight"}
    take_off = {m.name for m in MEASURES if m.at == "take-off"}
    touch = {m.name for m in MEASURES if m.at == "touchdown"}
    free = {n for n in whole if "free" in n or n.startswith(("knee_", "thighs_"))}
    assert whole - set(read(track, until=None)) == flight
    ended = dataclasses.replace(STEP, leave="end")
    assert whole - set(read(track, ended)) == flight | take_off
    stood = dataclasses.replace(STEP, arrive="stand")
    assert whole - set(read(track, stood)) == touch | {"contact_time", "speed_lost"}
    both = dataclasses.replace(STEP, side="both")
    assert whole - set(read(track, both)) == free


def test_two_feet_take_the_foremost_toe_and_the_mean_knee() -> None:
    track = moving({"r_thigh": 40.0, "r_shank": 30.0, "l_thigh": 50.0, "l_shank": 20.0})
    got = read(track, dataclasses.replace(STEP, side="both"))
    assert degrees(got["support_knee_touchdown"]) == pytest.approx(160.0)
    i = round(DOWN / 0.001)
    toes = track.positions[i, [JOINT["r_toe"], JOINT["l_toe"]], 0] - track.com[i, 0]
    assert got["toe_ahead"] == pytest.approx(float(toes.max()), abs=1e-9)


def test_a_chain_of_contacts_shares_its_flights() -> None:
    track = moving()
    contacts = [
        Contact("r", 0.0, 0.1, "run", "hop"),
        STEP,
        Contact("l", NEXT, 0.9, "step", "end"),
    ]
    first, middle, last = read_motion(track, contacts, BODY.leg)
    assert first.values["flight_time"] == pytest.approx(0.1)
    assert middle.values == read_contact(track, STEP, BODY.leg, since=0.1, until=NEXT).values
    assert "flight_time" not in last.values
    assert last.contact.side == "l"
    with pytest.raises(ValueError, match="contact 3 touchdown: not before contact 2 takes off"):
        read_motion(track, [*contacts[:2], Contact("l", 0.3, 0.4)], BODY.leg)


def test_contacts_take_their_times_from_a_motion() -> None:
    supports = (
        Support("r", 0.0, "run", "hop", 8.0, 7.5, 2.0, 0.1),
        Support("r", 4.0, "hop", "step", 7.5, 7.0, 1.7, 0.16),
    )
    first, second = contacts_of(supports, [0.0, DOWN], np.array([0.1, OFF]))
    assert first == Contact("r", 0.0, 0.1, "run", "hop")
    assert second == STEP
    with pytest.raises(ValueError, match="touchdowns, takeoffs: 2 each needed, got 1 and 2"):
        contacts_of(supports, [0.0], [0.1, 0.2])


# --- print ---------------------------------------------------------------------------------


def test_measures_are_fit_to_print() -> None:
    assert len(MEASURE) == len(MEASURES)
    for m in MEASURES:
        assert m.coach_unit in ("cm", "°", "s", "m/s", "%")
        assert m.at in ("touchdown", "contact", "take-off", "flight")
        assert m.definition
        assert "\n" not in m.definition
        assert len(m.definition) <= 140
    shown = Reading(STEP, {"knee_gap": 0.4004, "flight_time": 0.35, "trunk_lean_most": -1e-5})
    assert shown.shown() == {
        "knee_gap": "40.0 cm",
        "flight_time": "0.350 s",
        "trunk_lean_most": "0°",
    }
    assert MEASURE["knee_gap_share"].shown(0.42) == "42.0 %"
    assert MEASURE["speed_lost"].shown(-0.25, signed=True) == "-0.25 m/s"


# --- refusals ------------------------------------------------------------------------------


def _spoilt(field: str, value: Any) -> Track:
    return dataclasses.replace(moving(), **{field: value})


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: Contact("x", 0.0, 1.0), "side: r, l or both, got 'x'"),  # type: ignore[arg-type]
        (lambda: Contact("r", 1.0, 1.0), "takeoff: after the touchdown at 1 s, got 1"),
        (lambda: Contact("r", 0.0, float("nan")), "takeoff: after the touchdown"),
        (lambda: read(moving(), Contact("r", 0.5, 1.2), until=None), "takeoff: .*got 1.2"),
        (lambda: read(moving(), until=0.3), "until: .*in order, got 0.3"),
        (lambda: read(moving(), since=0.25), "touchdown: .*in order, got 0.2"),
        (lambda: read(moving(), since=-0.5), "since: .*got -0.5"),
        (lambda: read_contact(moving(), STEP, 0.0), "leg: above 0 m, got 0"),
        (lambda: read_contact(moving(), STEP, float("nan")), "leg: above 0 m, got nan"),
        (lambda: read(_spoilt("com", np.zeros((3, 2)))), "com: must be finite numbers of shape"),
        (lambda: read(_spoilt("angles", np.full((1001, 14), np.nan))), "angles: must be finite"),
        (lambda: read(_spoilt("times", np.zeros(1001))), "times: three or more, each later"),
        (
            lambda: read(moving(), velocities=np.zeros(5)),
            "velocities: must be finite numbers of shape",
        ),
    ],
)
def test_bad_input_is_refused_in_one_line(call: Any, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refused:
        call()
    assert "\n" not in str(refused.value)


def test_the_still_pose_of_these_tests_is_what_they_think() -> None:
    angles = still({"r_thigh": 90.0})
    at = joints(BODY, angles, np.zeros(2))
    np.testing.assert_allclose(at[JOINT["r_knee"]], [THIGH, 0.0], atol=1e-12)
