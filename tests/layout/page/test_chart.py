"""Charts: ticks that are round and inside, values where the axis says, lines broken at gaps."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.page.chart import Chart, date_ticks, ticks
from layout.page.page import Line, Text


@given(st.floats(-1e4, 1e4), st.floats(0.01, 1e4), st.integers(3, 12))
def test_ticks_are_round_even_and_inside(low: float, room: float, most: int) -> None:
    found = ticks(low, low + room, most)
    assert 1 <= len(found) <= most + 1
    values = [value for value, _ in found]
    step = values[1] - values[0] if len(values) > 1 else room
    if len(values) > 1:
        assert f"{step:.3e}"[0] in "125"
        assert f"{step:.3e}"[2:5] == "000"
    for i, (value, text) in enumerate(found):
        assert low - 1e-6 * room <= value <= low + room * (1.0 + 1e-6)
        assert value == pytest.approx(values[0] + i * step, abs=1e-6)
        assert float(text) == pytest.approx(value, abs=1e-9 * max(1.0, abs(value)))


@given(st.integers(735_000, 741_000), st.integers(0, 9000))
def test_dates_are_inside_in_order_and_few(first: int, days: int) -> None:
    low, high = first - 0.1, first + days + 0.1
    found = date_ticks(low, high)
    values = [value for value, _ in found]
    assert 1 <= len(found) <= 10
    assert len(found) >= 3 or days < 300
    assert values == sorted(set(values))
    assert low <= values[0] <= values[-1] <= high
    for value, text in found:
        day = datetime.date.fromordinal(int(value))
        assert f"{day:%b}" in text
        assert day.day == 1 or text.startswith(f"{day.day} ")


def test_values_lie_where_the_axis_says_and_a_gap_stays_open() -> None:
    chart = Chart(20.0, 10.0, 120.0, 60.0, (0.0, 10.0), (0.0, 5.0))
    one, two = chart.curve((0, 2, 4, 6, 8), (1, 2, float("nan"), 3, 5), "near")
    assert isinstance(one, Line)
    assert isinstance(two, Line)
    assert one.points == ((20.0, 50.0), (40.0, 40.0))
    assert two.points == ((80.0, 30.0), (100.0, 10.0))
    figures = {i.text: i.at[1] for i in chart.frame("", []) if isinstance(i, Text)}
    assert figures["2"] - figures["4"] == pytest.approx(20.0)


def test_a_hatch_stays_inside_its_bar() -> None:
    chart = Chart(20.0, 10.0, 120.0, 60.0, (0.0, 10.0), (0.0, 5.0))
    bar, *strokes = chart.bar(5.0, 2.0, 3.0, "far", True, "bar")
    assert len(strokes) > 10
    for stroke in strokes:
        assert isinstance(stroke, Line)
        for x, y in stroke.points:
            assert 60.0 - 1e-9 <= x <= 80.0 + 1e-9
            assert 30.0 - 1e-9 <= y <= 60.0 + 1e-9
    assert chart.bar(5.0, 2.0, 3.0, "far", False, "bar") == [bar]
