"""Flights against the worked fixture and an independent solver of the equations of motion."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from animate.body.stances import GRAVITY
from layout.athlete import carry
from layout.athlete.flight import flight_time, vy_for_time
from layout.plan.value import thrown
from tests.published import published

ROWS = {row["id"]: row for row in published("mechanics.toml")}
PHASES = ("hop", "step", "jump")

speeds_up = st.floats(-1.0, 5.0)
heights = st.floats(0.4, 1.6)


def _given(phase: str) -> dict[str, float]:
    names = {"vx": "b-vx", "vy": "b-vy", "start": "b-cm-takeoff", "end": "b-cm-landing",
             "take_off": "b-takeoff-distance", "landing": "b-landing-distance"}  # fmt: skip
    return {k: float(ROWS[row][phase]) for k, row in names.items()}


def _printed(row: str, phase: str, value: Any) -> None:
    """The value, rounded as the row is printed, is the row's."""
    assert round(float(value), ROWS[row]["digits"]) == pytest.approx(ROWS[row][phase], abs=1e-12)


def _lengths(monkeypatch: pytest.MonkeyPatch, **faster: float) -> carry.March:
    """The planner's own loop through fixture B, with its heights and reaches in place of a body's."""
    rows = {move: {**_given(move)} for move in PHASES}

    def leave(_: Any, move: str, speed: Any) -> Any:
        return np.full_like(speed, rows[move]["take_off"]), np.full_like(speed, rows[move]["start"])

    def arrive(_: Any, move: str, speed: Any) -> Any:
        b = rows.get(move, rows["jump"])
        return np.full_like(speed, b["landing"]), np.full_like(speed, b["end"])

    def take_off(i: int, *_: Any) -> Any:
        b = rows[PHASES[i]]
        return np.array([b["vx"] + faster.get("vx", 0.0)]), np.array([b["vy"]])

    monkeypatch.setattr(carry, "leave_at", leave)
    monkeypatch.setattr(carry, "stance_at", arrive)
    return carry.carried(None, PHASES, np.array([10.0]), take_off, sand=True)  # type: ignore[arg-type]


def test_fixture_b_through_the_planner_s_own_loop(monkeypatch: pytest.MonkeyPatch) -> None:
    made = _lengths(monkeypatch)
    for i, phase in enumerate(PHASES):
        b, time = _given(phase), made.time[i, 0]
        _printed("b-flight-time", phase, time)
        _printed("b-angle", phase, np.rad2deg(np.arctan2(made.vy[i, 0], made.vx[i, 0])))
        _printed("b-apex", phase, thrown(0.0, b["start"], b["vx"], b["vy"], time)["apex_z"])
        _printed("b-vy-touchdown", phase, made.vy_in[i + 1, 0])
        _printed("b-phase", phase, made.length[i, 0])
    row = ROWS["b-total"]
    assert round(float(made.total[0]), row["digits"]) == row["total"]


def test_speed_is_worth_what_was_derived(monkeypatch: pytest.MonkeyPatch) -> None:
    """A little more speed in every phase, at about 17 m."""
    row = ROWS["speed-worth"]
    plain = _lengths(monkeypatch).total[0]
    gain = _lengths(monkeypatch, vx=row["vx_gain"]).total[0] - plain
    assert round(float(gain), row["digits"]) == row["gain"]


def test_flight_alone_misses_what_was_derived(monkeypatch: pytest.MonkeyPatch) -> None:
    row, made = ROWS["flight-alone-misses"], _lengths(monkeypatch)
    missed = round(
        100.0 * (1.0 - float((made.vx * made.time).sum() / made.total[0])), row["digits"]
    )
    assert row["low"] <= missed <= row["high"]


def test_reach_trades_for_vertical_speed_as_was_derived() -> None:
    """Reach shared out both ways round the hop of fixture B; about: a fifth either way (ours)."""
    reach, speed = ROWS["geometry-speed-trade-length"], ROWS["geometry-speed-trade-speed"]
    b = _given("hop")
    time = float(flight_time(b["vy"], b["start"], b["end"]))
    change = reach["geometry"] / 2.0 / b["vx"]
    high, low = (float(vy_for_time(time + c, b["start"], b["end"])) for c in (change, -change))
    assert high - low == pytest.approx(speed["vy"], rel=0.2)


# --- an independent solver ------------------------------------------------------------------------


def _fall(vx: float, vy: float, start: float, end: float) -> tuple[float, float, float, float]:
    """Time, distance, touchdown vy and apex from integrating the motion with an event."""
    from scipy.integrate import solve_ivp

    def down(_: float, s: np.ndarray[Any, Any]) -> float:
        return float(s[1] - end)

    def top(_: float, s: np.ndarray[Any, Any]) -> float:
        return float(s[3])

    down.terminal, down.direction = True, -1.0  # type: ignore[attr-defined]
    top.direction = -1.0  # type: ignore[attr-defined]
    found = solve_ivp(
        lambda _, s: [s[2], s[3], 0.0, -GRAVITY],
        (0.0, 3.0), [0.0, start, vx, vy], events=[down, top], rtol=1e-10, atol=1e-12, max_step=0.02,
    )  # fmt: skip
    (x, _, _, vy_end), (time,) = found.y_events[0][0], found.t_events[0]
    high = max(start, *(s[1] for s in found.y_events[1])) if len(found.t_events[1]) else start
    return float(time), float(x), float(vy_end), float(high)


@settings(max_examples=60)
@given(st.floats(0.5, 12.0), speeds_up, heights, heights)
def test_flight_agrees_with_an_ode_solver(vx: float, vy: float, start: float, end: float) -> None:
    # Downward through the end height: from above it, or rising over it first.
    assume(start > end + 0.01 or (vy > 0.05 and start + vy * vy / (2 * GRAVITY) > end + 0.01))
    time, x, vy_end, high = _fall(vx, vy, start, end)
    found = float(flight_time(vy, start, end))
    assert found == pytest.approx(time, abs=1e-7)
    ends = thrown(0.6, start, vx, vy, found)
    assert ends["end_x"] == pytest.approx(x + 0.6, abs=1e-6)
    assert ends["end_z"] == pytest.approx(end, abs=1e-6)
    assert ends["vy_end"] == pytest.approx(vy_end, abs=1e-6)
    assert ends["apex_z"] == pytest.approx(high, abs=1e-6)


@given(speeds_up, heights, heights)
def test_there_and_back(vy: float, start: float, end: float) -> None:
    assume(vy * vy + 2 * GRAVITY * (start - end) > 1e-3)
    time = flight_time(vy, start, end)
    assume(float(time) > 1e-2)
    assert float(vy_for_time(time, start, end)) == pytest.approx(vy, abs=1e-9)


@given(speeds_up, heights, st.floats(0.0, 1.0))
def test_higher_take_off_flies_longer(vy: float, end: float, drop: float) -> None:
    assert (
        float(flight_time(vy, end + drop + 0.01, end))
        > float(flight_time(vy, end + drop, end)) - 1e-12
    )
    assert float(flight_time(vy + 0.1, end + drop, end)) >= float(flight_time(vy, end + drop, end))


def test_level_flight_lasts_twice_the_rise() -> None:
    assert float(flight_time(2.0, 1.0, 1.0)) == pytest.approx(2 * 2.0 / GRAVITY)
    assert float(flight_time(0.0, 1.0, 1.0)) == 0.0


@pytest.mark.parametrize("vy", [np.nan, np.inf, -5.1, 8.1])
def test_unlikely_velocity_refused(vy: float) -> None:
    with pytest.raises(ValueError, match=r"^vy: -5 to 8 m/s, got"):
        flight_time(vy, 1.0, 1.0)


def test_a_height_that_is_never_reached_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^vy: too small to rise"):
        flight_time(1.0, 1.0, 1.5)


@pytest.mark.parametrize("time", [0.0, -0.1, np.nan])
def test_no_time_refused(time: float) -> None:
    with pytest.raises(ValueError, match=r"^time: above 0 s"):
        vy_for_time(time, 1.0, 1.0)
