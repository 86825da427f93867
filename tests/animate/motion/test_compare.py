"""Two contacts compared and one beside the bands: hand figures, what one lacks, the rows as kept."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from animate.body.body import body
from animate.body.pose import SEGMENT, centre_of_mass, joints
from animate.motion.compare import BANDS, TAG_SAYS, beside_bands, compare
from animate.motion.measures import MEASURES, Contact, Reading, Track, read_contact
from tests.published import published

BODY = body(1.80, 72.0)
THIGH = float(BODY.lengths[SEGMENT["r_thigh"]])
DOWN, OFF, NEXT = 0.2, 0.36, 0.71
STEP = Contact("r", DOWN, OFF, "hop", "step")
KNEES = {"r_thigh": 30.0, "r_shank": 10.0, "l_thigh": -30.0, "l_shank": -115.0, "trunk": -6.0}


def moving(angles: dict[str, float] | None = None) -> Track:
    """One pose, in degrees, carried along at 8 m/s."""
    times = np.linspace(0.0, 1.0, 1001)
    made = np.zeros((times.size, 14))
    for name, degrees in {**KNEES, **(angles or {})}.items():
        made[:, SEGMENT[name]] = math.radians(degrees)
    positions = joints(BODY, made, np.stack([8.0 * times, np.ones(times.size)], axis=1))
    return Track(times, made, positions, centre_of_mass(BODY, positions))


def test_compare_in_the_coachs_units() -> None:
    together, apart = (
        read_contact(moving({"l_thigh": a}), STEP, BODY.leg, since=0.0, until=NEXT)
        for a in (0.0, -30.0)
    )
    rows = {d.measure.name: d for d in compare(together, apart)}
    assert list(rows) == [m.name for m in MEASURES]
    gap = rows["knee_gap"]
    assert gap.measure.coach_unit == "cm"
    assert gap.a == pytest.approx(50.0 * THIGH, rel=1e-9)
    assert gap.b == pytest.approx(100.0 * THIGH, rel=1e-9)
    assert gap.difference == pytest.approx(50.0 * THIGH, rel=1e-9)
    assert rows["free_thigh_touchdown"].difference == pytest.approx(-30.0)
    assert rows["contact_time"].difference == 0.0
    back = {d.measure.name: d for d in compare(apart, together)}
    for name, row in rows.items():
        assert row.difference is not None
        assert back[name].difference == pytest.approx(-row.difference, abs=1e-9)


def test_compare_shows_what_one_lacks() -> None:
    track = moving()
    step = read_contact(track, STEP, BODY.leg, since=0.0, until=NEXT)
    landing = read_contact(track, dataclasses.replace(STEP, side="both", leave="end"), BODY.leg)
    rows = {d.measure.name: d for d in compare(step, landing)}
    assert rows["knee_gap"].a is not None
    assert rows["knee_gap"].b is None
    assert rows["knee_gap"].difference is None
    assert compare(Reading(STEP, {}), Reading(STEP, {})) == ()


def test_bands_are_the_remembered_rows_and_say_so() -> None:
    rows = {r["id"]: r for r in published("positions-facts.toml")}
    bands = {b.measure: b for b in BANDS}
    for measure, row, factor in (
        ("support_knee_touchdown", "knee-touchdown", 1.0),
        ("support_knee_minimum", "knee-minimum", 1.0),
        ("support_knee_takeoff", "knee-takeoff", 1.0),
        ("free_knee_flight", "free-knee-flight", 1.0),
        ("toe_ahead", "toe-ahead", 100.0),
    ):
        assert rows[row]["tag"] == "memory-low"
        assert bands[measure].tag == "ML"
        assert bands[measure].low == pytest.approx(rows[row]["low"] * factor)
        assert bands[measure].high == pytest.approx(rows[row]["high"] * factor)
    assert bands["trunk_lean_most"].high == -bands["trunk_lean_most"].low
    assert bands["trunk_lean_most"].high == rows["trunk-lean"]["within"]
    assert TAG_SAYS == {
        "ML": "remembered band, unverified",
        "CP": "common practice, no source",
    }


def test_beside_bands() -> None:
    got = read_contact(moving(), STEP, BODY.leg, since=0.0, until=NEXT)
    rows = {b.band.measure: b for b in beside_bands(got)}
    assert set(rows) == {b.measure for b in BANDS}
    assert rows["support_knee_touchdown"].inside  # 160
    assert rows["support_knee_touchdown"].says == "remembered band, unverified"
    assert not rows["support_knee_minimum"].inside  # 160 again
    assert rows["knee_gap"].inside
    assert rows["free_thigh_touchdown"].inside
    assert not rows["free_thigh_highest"].inside
    assert rows["toe_ahead"].value == pytest.approx(100 * got.values["toe_ahead"])
    for row in rows.values():
        assert row.says.startswith(TAG_SAYS[row.band.tag])
        assert "validated" not in row.says
    # Of no other contact than the one into the step.
    hop = read_contact(moving(), dataclasses.replace(STEP, leave="hop"), BODY.leg)
    assert beside_bands(hop) == ()
