"""Torque a jumper's joints can give, beside the published column and the curve's own law."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.motion.limits import ISOMETRIC
from animate.motion.strength import CURVE, STEEPER, STRENGTH, most

ROWS = tomllib.loads(
    (Path(__file__).resolve().parents[2] / "published" / "contacts.toml").read_text("utf-8")
)["row"]
COLUMN = {r["id"]: r for r in ROWS if r["source"] == "torque-simulation"}


def test_the_column_is_as_seen() -> None:
    assert set(STRENGTH) == set(ISOMETRIC) == set(COLUMN)
    for name, s in STRENGTH.items():
        row = COLUMN[name]
        assert (s.eccentric, s.isometric, s.fastest) == (
            row["eccentric"],
            row["isometric"],
            row["fastest"],
        )


@pytest.mark.parametrize("name", STRENGTH)
def test_the_curve_goes_through_the_column(name: str) -> None:
    s = STRENGTH[name]
    still, fast, faster, giving = most(name, [0.0, s.fastest, 2 * s.fastest, -1e6])
    assert still == pytest.approx(s.isometric)
    assert (fast, faster) == (0.0, 0.0)
    assert giving == pytest.approx(s.eccentric, rel=1e-4)


@pytest.mark.parametrize("name", STRENGTH)
def test_slopes_where_a_muscle_begins_to_give(name: str) -> None:
    h = 1e-6
    below, at, above = most(name, [-h, 0.0, h])
    assert (below - at) / (at - above) == pytest.approx(STEEPER, rel=1e-3)


@given(st.sampled_from(sorted(STRENGTH)), st.floats(-60, 60), st.floats(0, 20))
def test_faster_never_gives_more(name: str, speed: float, more: float) -> None:
    slow, fast = most(name, [speed, speed + more])
    assert 0.0 <= fast <= slow <= STRENGTH[name].eccentric


def test_shortening_follows_the_hyperbola() -> None:
    """(T + a)(w + wc) is constant, a = T0 wc / w0: Hill's law."""
    s = STRENGTH["knee+"]
    w = np.linspace(0.0, s.fastest, 9)
    wc = CURVE * s.fastest
    product = (most("knee+", w) + s.isometric * CURVE) * (w + wc)
    assert np.ptp(product) < 1e-9 * product[0]
