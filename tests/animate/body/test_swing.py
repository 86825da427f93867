"""The free leg as a lever: against hand sums, an independent solver and printed tables."""

from __future__ import annotations

import dataclasses
import importlib
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from animate.body.body import MASS_RANGE, STATURE_RANGE, Body, body
from animate.body.pose import SEGMENT, joints, segment_coms
from animate.body.swing import (
    GRAVITY,
    Lever,
    knee_gap,
    lever,
    swing_time,
    swing_time_flat,
    thigh_after,
)
from tests.published import published

# By name: scipy carries no types, and whether mypy is told to mind is the project's choice.
solve_ivp: Any = importlib.import_module("scipy.integrate").solve_ivp
ellipk: Any = importlib.import_module("scipy.special").ellipk

AVERAGE = body(1.80, 72.0)
FOLD = np.radians([0.0, 20.0, 60.0, 90.0, 120.0, 150.0, 180.0])


def printed(row: str) -> dict[str, Any]:
    (found,) = [r for r in published("swing.toml") if r["id"] == row]
    return found


def two_rods(length: float = 1.0, mass: float = 3.0) -> Body:
    """Thigh and shank two equal uniform rods, the foot next to nothing."""
    made = body(1.80, 72.0)
    lengths, masses, com, inertias = (
        np.array(v) for v in (made.lengths, made.masses, made.com, made.inertias)
    )
    for name, long, heavy in (("thigh", length, mass), ("shank", length, mass), ("foot", 0.2, 0.0)):
        i = SEGMENT[f"r_{name}"]
        lengths[i], masses[i], com[i], inertias[i] = long, heavy, 0.5, heavy * long**2 / 12
    return dataclasses.replace(made, lengths=lengths, masses=masses, com=com, inertias=inertias)


def pendulum(
    inertia: float, pull: float, ahead: float, start: float, moment: float, until: float
) -> Any:
    """The same leg by an independent solver; `pull` is m g r."""

    def event(_: float, y: Any) -> float:
        return float(y[0] - until)

    event.terminal = True  # type: ignore[attr-defined]
    event.direction = 1.0  # type: ignore[attr-defined]
    return solve_ivp(
        lambda _, y: (y[1], (moment - pull * np.sin(y[0] + ahead)) / inertia),
        (0.0, 30.0),
        (start, 0.0),
        events=event,
        rtol=1e-12,
        atol=1e-13,
        method="DOP853",
    )


# --- the lever -----------------------------------------------------------------------------


def test_two_rods_by_hand() -> None:
    # Straight: one rod, 6 kg, 2 m: 6 * 4 / 3 = 8. Square: 1 + 3 / 12 + 3 * (1 + .25) = 5.
    # Folded: both rods over the same metre: 2.
    leg = lever(two_rods(), np.radians([0.0, 90.0, 180.0]))
    np.testing.assert_allclose(leg.inertia, [8.0, 5.0, 2.0], rtol=1e-12)
    # Centres: 1 m down; (.5, .75) m; .5 m down. Behind the thigh by atan(.25 / .75) when square.
    np.testing.assert_allclose(leg.reach, [1.0, math.hypot(0.25, 0.75), 0.5], rtol=1e-12)
    np.testing.assert_allclose(leg.ahead, [0.0, -math.atan(1 / 3), 0.0], atol=1e-12)
    assert leg.mass == pytest.approx(6.0)


def test_average_straight_leg_by_hand() -> None:
    # 1.80 m: thigh .441, shank .4428, ankle .0702 up and .0684 ahead of the heel, foot .2736 m.
    # 72 kg, mean of the two de Leva columns over their sum, .99995.
    total = 0.0681 + 0.43015 + 2 * (0.0263 + 0.015 + 0.00585 + 0.1447 + 0.0457 + 0.0133)
    thigh, shank, foot = (72.0 * m / total for m in (0.1447, 0.0457, 0.0133))
    foot_x, foot_z = 0.42145 * 0.2736 - 0.0684, 0.441 + 0.4428 + 0.0702
    expected = (
        thigh * ((0.38535 * 0.441) ** 2 + (0.3465 * 0.441) ** 2)
        + shank * ((0.441 + 0.43735 * 0.4428) ** 2 + (0.2545 * 0.4428) ** 2)
        + foot * (foot_x**2 + foot_z**2 + (0.262 * 0.2736) ** 2)
    )
    assert float(lever(AVERAGE, 0.0).inertia) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("bend", FOLD)
@pytest.mark.parametrize("ankle", [-0.6, 0.0, 0.4])
def test_same_as_the_posed_body(bend: float, ankle: float) -> None:
    angles = np.zeros(14)
    angles[SEGMENT["r_shank"]] = -bend
    angles[SEGMENT["r_foot"]] = ankle - bend
    at = joints(AVERAGE, angles, np.zeros(2))
    leg = [SEGMENT[f"r_{n}"] for n in ("thigh", "shank", "foot")]
    r = segment_coms(AVERAGE, at)[leg]
    expected = (AVERAGE.inertias[leg] + AVERAGE.masses[leg] * (r**2).sum(axis=1)).sum()
    centre = (AVERAGE.masses[leg, None] * r).sum(axis=0) / AVERAGE.masses[leg].sum()
    made = lever(AVERAGE, bend, ankle)
    assert float(made.inertia) == pytest.approx(expected, rel=1e-12)
    assert float(made.reach) == pytest.approx(float(np.hypot(*centre)), rel=1e-12)
    assert float(made.ahead) == pytest.approx(float(np.arctan2(centre[0], -centre[1])), abs=1e-12)


def test_shape_follows_the_bend() -> None:
    bends = np.radians(np.linspace(0, 170, 6)).reshape(2, 3)
    assert lever(AVERAGE, bends).inertia.shape == (2, 3)
    one_by_one = [float(lever(AVERAGE, b).inertia) for b in bends.ravel()]
    np.testing.assert_allclose(lever(AVERAGE, bends).inertia.ravel(), one_by_one, rtol=1e-14)


@given(
    st.floats(*STATURE_RANGE),
    st.floats(*MASS_RANGE),
    st.sampled_from(["male", "female", "average"]),
    st.floats(15.0, 179.0),
    st.floats(0.1, 30.0),
)
def test_more_bend_less_inertia(
    stature: float, mass: float, build: Any, bend: float, more: float
) -> None:
    # Below some 10 degrees the foot, which sticks out in front, turns the order round.
    made = body(stature, mass, build)
    longer, shorter = lever(made, np.radians([bend, min(bend + more, 180.0)])).inertia
    assert longer > shorter


def test_longest_lever_is_where_the_foot_lines_up() -> None:
    # Shank and foot together act along the line from the knee to their common centre; the
    # inertia is greatest when that line carries on the thigh's.
    shank, foot = (SEGMENT[f"r_{n}"] for n in ("shank", "foot"))
    at = joints(AVERAGE, np.zeros(14), np.zeros(2))
    r = segment_coms(AVERAGE, at)[[shank, foot]] - [0.0, -AVERAGE.lengths[SEGMENT["r_thigh"]]]
    x, z = (AVERAGE.masses[[shank, foot], None] * r).sum(axis=0)
    lean = math.atan2(x, -z)
    grid = np.radians(np.linspace(0.0, 20.0, 20001))
    assert 0 < lean < math.radians(15)
    assert grid[np.argmax(lever(AVERAGE, grid).inertia)] == pytest.approx(lean, abs=2e-5)


@given(st.floats(*STATURE_RANGE), st.floats(*MASS_RANGE), st.floats(0.0, math.pi))
def test_inertia_scales_with_mass_and_stature_squared(h: float, m: float, bend: float) -> None:
    unit = float(lever(AVERAGE, bend).inertia) / (72.0 * 1.80**2)
    assert float(lever(body(h, m), bend).inertia) == pytest.approx(unit * m * h * h, rel=1e-9)


def test_beside_the_printed_whole_leg() -> None:
    # Two tables that cut the thigh from the trunk at different places (leg masses .204 and .161)
    # and should still swing alike: within a tenth, set before the figure was known.
    span = 0.245 + 0.246
    theirs = (
        printed("total-leg-mass")["value"] * (printed("total-leg-gyration")["value"] * span) ** 2
    )
    ours = float(lever(AVERAGE, 0.0).inertia) / (72.0 * 1.80**2)
    assert ours == pytest.approx(theirs, rel=0.10)


def test_beside_the_measured_swing_frequency() -> None:
    leg = lever(body(1.72, 68.0), 0.0)
    ours = math.sqrt(leg.mass * GRAVITY * float(leg.reach) / float(leg.inertia)) / (2 * math.pi)
    # Their statures weren't seen: 1.55 to 1.95 m spans 6 % either way of 1.72 m.
    assert ours == pytest.approx(printed("leg-swing-frequency")["value"], rel=0.06)
    assert printed("leg-swing-frequency")["tag"] == "seen"


# --- the swing -----------------------------------------------------------------------------


def test_flat_swing_by_hand() -> None:
    # 8 kg m2 through 1 rad by 100 N m: sqrt(16 / 100) = .4 s.
    leg = lever(two_rods(), 0.0)
    assert float(swing_time(leg, 0.2, 1.2, 100.0, gravity=0.0)) == pytest.approx(0.4, rel=1e-12)
    assert float(swing_time_flat(8.0, 1.0, 100.0)) == pytest.approx(0.4, rel=1e-15)


def test_quarter_period_of_a_released_leg() -> None:
    # Next to no moment: a pendulum let go at 60 degrees hangs straight after K(sin 30) / w0.
    leg = lever(two_rods(), 0.0)
    w0 = math.sqrt(6.0 * GRAVITY * 1.0 / 8.0)
    expected = float(ellipk(math.sin(math.radians(30.0)) ** 2)) / w0
    got = float(swing_time(leg, math.radians(-60.0), 0.0, 1e-10))
    assert got == pytest.approx(expected, rel=1e-9)


def test_small_swing_is_harmonic() -> None:
    # About the thigh angle the moment would hold, the leg swings as a cosine.
    leg = lever(two_rods(), 0.0)
    pull, moment = 6.0 * GRAVITY, 1e-4
    w0, hold = math.sqrt(pull / 8.0), moment / pull
    got = float(swing_time(leg, -hold, hold, moment))
    assert got == pytest.approx(math.acos(0.0) / w0, rel=1e-6)


@given(
    st.floats(0.0, 170.0),
    st.floats(-60.0, 20.0),
    st.floats(5.0, 90.0),
    st.floats(1.5, 5.0),
    st.sampled_from([0.0, GRAVITY, 25.0]),
)
def test_time_and_angle_against_another_solver(
    bend: float, start: float, sweep: float, per_mass: float, gravity: float
) -> None:
    leg = lever(AVERAGE, math.radians(bend))
    a0, a1 = math.radians(start), math.radians(start + sweep)
    moment = per_mass * AVERAGE.mass
    pull = leg.mass * gravity * float(leg.reach)
    assume(moment > 1.2 * pull)
    told = pendulum(float(leg.inertia), pull, float(leg.ahead), a0, moment, a1)
    assert told.t_events[0].size == 1
    time = float(swing_time(leg, a0, a1, moment, gravity))
    assert time == pytest.approx(float(told.t_events[0][0]), rel=1e-8)
    assert float(thigh_after(leg, a0, moment, time, gravity)) == pytest.approx(a1, abs=1e-8)


@pytest.mark.parametrize("per_mass", [0.3, 0.5, 0.7, 0.8, 0.9, 1.1])
@pytest.mark.parametrize("start", [-80.0, -20.0, 10.0, 60.0, 100.0])
@pytest.mark.parametrize("end", [20.0, 90.0, 140.0])
def test_stuck_exactly_when_the_other_solver_is(per_mass: float, start: float, end: float) -> None:
    if end <= start:
        return
    leg = lever(AVERAGE, 0.5)
    moment, pull = per_mass * AVERAGE.mass, leg.mass * GRAVITY * float(leg.reach)
    a0, a1 = math.radians(start), math.radians(end)
    time = float(swing_time(leg, a0, a1, moment))
    push = moment - pull * math.sin(a0 + float(leg.ahead))
    told = pendulum(float(leg.inertia), pull, float(leg.ahead), a0, moment, a1)
    # A leg that falls back first and comes round later isn't a swing forward.
    got_there = push > 0 and told.t_events[0].size == 1
    assert math.isfinite(time) == got_there
    if got_there:
        assert time == pytest.approx(float(told.t_events[0][0]), rel=1e-6)


@pytest.mark.parametrize(("share", "through"), [(0.72, False), (0.73, True)])
def test_stuck_past_level_though_the_end_would_be_free(share: float, through: bool) -> None:
    # Hand sum over the weight: share * a + cos a - 1 is least where sin a = share beyond level,
    # at 133.9 deg -.0106 and at 133.1 deg +.0125; at 150 deg both are above 0.
    leg = Lever(np.array(0.0), np.array(8.0), np.array(1.0), np.array(0.0), 6.0, 1.0)
    weight = 6.0 * GRAVITY
    end = math.radians(149.99)
    time = float(swing_time(leg, 0.0, end, share * weight))
    told = pendulum(8.0, weight, 0.0, 0.0, share * weight, end)
    assert share * end + math.cos(end) - 1 > 0
    assert (told.t_events[0].size == 1) == through
    assert math.isfinite(time) == through
    if through:
        assert time == pytest.approx(float(told.t_events[0][0]), rel=1e-8)


def test_parametrised_stuck_cases_have_both_kinds() -> None:
    leg = lever(AVERAGE, 0.5)
    times = [
        float(swing_time(leg, math.radians(10.0), math.radians(90.0), m * 72.0)) for m in (0.3, 1.1)
    ]
    assert math.isinf(times[0])
    assert math.isfinite(times[1])


def test_no_way_to_go_takes_no_time() -> None:
    assert float(swing_time(lever(AVERAGE, 1.0), 0.4, 0.4, 10.0)) == 0.0
    assert float(thigh_after(lever(AVERAGE, 1.0), 0.4, 10.0, 0.0)) == 0.4


@given(st.floats(15.0, 165.0), st.floats(1.0, 15.0), st.floats(2.0, 6.0))
def test_a_longer_lever_is_slower_at_the_same_moment(
    bend: float, more: float, per_mass: float
) -> None:
    bends = np.radians([bend, bend + more])
    longer, shorter = swing_time(lever(AVERAGE, bends), 0.0, 1.2, per_mass * 72.0, gravity=0.0)
    assert longer > shorter


@given(st.floats(20.0, 150.0), st.floats(1.0, 4.0), st.floats(1.1, 3.0))
def test_more_moment_is_quicker_and_flat_times_go_with_its_root(
    bend: float, per_mass: float, factor: float
) -> None:
    leg = lever(AVERAGE, math.radians(bend))
    moment = 72.0 * per_mass
    weak, strong = (float(swing_time(leg, -0.3, 0.6, m)) for m in (moment, moment * factor))
    assert strong < weak
    weak, strong = (float(swing_time(leg, -0.3, 0.6, m, 0.0)) for m in (moment, moment * factor))
    assert weak / strong == pytest.approx(math.sqrt(factor), rel=1e-9)


@given(st.floats(*STATURE_RANGE), st.floats(*MASS_RANGE), st.floats(30.0, 150.0))
def test_flat_time_goes_with_stature_and_not_with_mass(h: float, m: float, bend: float) -> None:
    def time(made: Body) -> float:
        leg = lever(made, math.radians(bend))
        return float(swing_time(leg, -0.3, 1.2, 2.0 * made.mass, gravity=0.0))

    assert time(body(h, m)) / time(AVERAGE) == pytest.approx(h / 1.80, rel=1e-9)


# --- the gap -------------------------------------------------------------------------------


def test_knee_gap_by_hand() -> None:
    # Thighs 30 degrees either side make an equilateral triangle; level and straight down: one
    # thigh; the free knee in front: minus.
    gap = knee_gap(0.44, np.radians([30.0, 90.0, -30.0]), np.radians([-30.0, 0.0, 30.0]))
    np.testing.assert_allclose(gap, [0.44, 0.44, -0.44], rtol=1e-12)


def test_knee_gap_is_that_of_the_posed_body() -> None:
    angles = np.zeros(14)
    angles[SEGMENT["r_thigh"]], angles[SEGMENT["l_thigh"]] = 0.7, -0.35
    angles[SEGMENT["l_shank"]] = -1.9
    at = joints(AVERAGE, angles, np.zeros(2))
    apart = at[9] - at[13]
    gap = knee_gap(float(AVERAGE.lengths[SEGMENT["r_thigh"]]), 0.7, -0.35)
    assert float(gap) == pytest.approx(float(apart[0]), rel=1e-12)


NAN = float("nan")


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: lever(AVERAGE, -0.1), "knee_bend: 0 to 3.14159, got -0.1"),
        (lambda: lever(AVERAGE, [1.0, NAN]), "knee_bend: 0 to 3.14159, got nan"),
        (lambda: lever(AVERAGE, []), "knee_bend: .*got nothing"),
        (lambda: lever(AVERAGE, 1.0, 2.0), "ankle: "),
        (lambda: swing_time(lever(AVERAGE, 1.0), 0.5, 0.4, 10.0), "end: not behind start"),
        (lambda: swing_time(lever(AVERAGE, 1.0), 0.0, NAN, 10.0), "end: .*got nan"),
        (lambda: swing_time(lever(AVERAGE, 1.0), -3.0, 0.4, 10.0), "start: .*got -3"),
        (lambda: swing_time(lever(AVERAGE, 1.0), 0.0, 0.4, 0.0), "moment: above 0"),
        (lambda: swing_time(lever(AVERAGE, 1.0), 0.0, 0.4, 1.0, -1.0), "gravity: 0 to 500, got -1"),
        (lambda: swing_time_flat(0.0, 1.0, 1.0), "inertia: above 0"),
        (lambda: swing_time_flat(1.0, -1.0, 1.0), "sweep: "),
        (lambda: thigh_after(lever(AVERAGE, 1.0), 0.0, 10.0, -1.0), "time: 0 to 2, got -1"),
    ],
)
def test_bad_input_is_refused_in_one_line(call: Any, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refused:
        call()
    assert "\n" not in str(refused.value)


def test_a_thigh_swings_from_level_behind_to_30_degrees_short_of_straight_up() -> None:
    """Ours: wider than any pose of a drill."""
    leg, ends = lever(AVERAGE, 1.0), (math.radians(-90.0), math.radians(150.0))
    assert swing_time(leg, *ends, 1000.0) > 0.0
    for start, end in ((ends[0] - 0.01, ends[1]), (ends[0], ends[1] + 0.01)):
        with pytest.raises(ValueError, match=r"^(start|end): "):
            swing_time(leg, start, end, 1000.0)


def test_a_lever_may_be_made_by_hand() -> None:
    leg = Lever(np.array(0.0), np.array(8.0), np.array(1.0), np.array(0.0), 6.0, 1.0)
    assert float(swing_time(leg, 0.0, 1.0, 100.0, 0.0)) == pytest.approx(0.4)
