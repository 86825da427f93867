"""Torque a jumper's joints can give, beside the published column and the curve's own law."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.stances import GRAVITY
from animate.motion.strength import IDLE, STRENGTH, share

ROWS = tomllib.loads(
    (Path(__file__).resolve().parents[2] / "published" / "contacts.toml").read_text("utf-8")
)["row"]
COLUMN = {r["id"]: r for r in ROWS if r["source"] == "torque-simulation"}


def test_the_column_is_as_seen() -> None:
    assert set(STRENGTH) == set(COLUMN)
    for name, s in STRENGTH.items():
        row = COLUMN[name]
        assert (s.eccentric, s.isometric, s.fastest) == (
            row["eccentric"],
            row["isometric"],
            row["fastest"],
        )


@pytest.mark.parametrize("name", STRENGTH)
def test_the_whole_of_it_is_asked_on_the_column(name: str) -> None:
    s = STRENGTH[name]
    assert share(name, s.isometric, 0.0) == pytest.approx(1.0)
    assert share(name, s.eccentric, -1e6) == pytest.approx(1.0)
    assert share(name, s.isometric / 2, s.fastest / 2) == pytest.approx(1.0)
    assert share(name, s.isometric * IDLE * 0.99, 2 * s.fastest) == 0.0
    assert share(name, s.isometric * IDLE * 1.01, 2 * s.fastest) > 2.0


@given(
    st.sampled_from(sorted(STRENGTH)), st.floats(-60, 60), st.floats(0, 20),
    st.floats(1, 20), st.floats(0.3, 1.0),
)  # fmt: skip
def test_faster_harder_and_weaker_ask_for_more(
    name: str, speed: float, more: float, torque: float, weak: float
) -> None:
    torque *= STRENGTH[name].isometric / 4
    asked = share(name, torque, speed)
    assert asked <= share(name, torque, speed + more) + 1e-12
    assert asked <= share(name, torque + more, speed) + 1e-12
    assert asked <= share(name, torque, speed, weak) + 1e-12


def test_power_beside_bounding() -> None:
    """Greatest power of the line is T0 w0 / 4: the ankle's is 1.2 to 1.4 times short of what was measured
    in bounding, the knee's is above it."""
    ankle, knee = (STRENGTH[n].isometric * STRENGTH[n].fastest / 4 for n in ("ankle-", "knee+"))
    assert share("ankle-", 1.01 * ankle / 15.4, 15.4) > 1.0  # more power at no speed
    row = next(r for r in ROWS if r["id"] == "bounding-power-ankle")
    assert 1.1 < row["first"] / ankle < row["fifth"] / ankle < 1.45
    assert next(r for r in ROWS if r["id"] == "bounding-power-knee")["third"] < knee


def test_untrained_adults_beside_the_column() -> None:
    """At rest, 1.75 m: what the shares by level and for women were chosen beside (`rules.toml`)."""
    rows = [r for r in ROWS if r["source"] == "anderson-2007"]
    of_men = [
        r["male"] * GRAVITY * 1.75 / STRENGTH[r["id"].removeprefix("isometric-")].isometric
        for r in rows
    ]
    women = [r["female"] / r["male"] for r in rows]
    assert (round(min(of_men), 2), round(max(of_men), 2)) == (0.30, 0.64)
    assert (round(min(women), 2), round(max(women), 2)) == (0.82, 1.12)
