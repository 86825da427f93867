"""Two contacts compared and one beside the bands: hand figures, what one lacks, the rows as kept."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from animate.body.body import body
from animate.body.pose import SEGMENT, centre_of_mass, joints
from animate.motion.compare import compare
from animate.motion.measures import MEASURES, Contact, Reading, Track, read_contact

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
