"""Joint positions and centre of mass, worked by hand and by symmetry."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.body import ANKLE_ALONG_FOOT, SEGMENTS, body
from animate.body.pose import (
    ENDS,
    JOINT,
    JOINTS,
    MIRROR,
    SEGMENT,
    centre_of_mass,
    directions,
    joints,
    mirrored,
    segment_coms,
    stance,
)
from tests import strategies as own
from tests.published import FOLDER, published

ROWS = {row["id"]: row for row in published("segments.toml", "seen")}
WHO = body(1.80, 70.0, "male")
UPRIGHT = np.zeros(len(SEGMENTS))


def _fraction(kind: str) -> float:
    """Length of a segment as a fraction of stature, from the published table."""
    import tomllib

    table = tomllib.loads((FOLDER / "segments.toml").read_text(encoding="utf-8"))["length"]
    return float(next(row["length"] for row in table if row["id"] == kind))


def _standing_by_hand(build: str) -> tuple[float, float]:
    """Centre of mass of a straight standing body as a fraction of stature: (ahead of ankle, up).

    Every segment hangs straight, so each centre is a sum of fractions of stature.
    """
    trunk, thigh, shank = _fraction("trunk"), _fraction("thigh"), _fraction("shank")
    foot, rise = _fraction("foot"), _fraction("foot_height")
    upper_arm, forearm, hand = _fraction("upper_arm"), _fraction("forearm"), _fraction("hand")
    hip = rise + shank + thigh
    shoulder = hip + trunk
    com = {k: row[f"com_{build}"] for k, row in ROWS.items()}
    up = {
        "head": 1.0 - com["head"] * (1.0 - shoulder),
        "trunk": shoulder - com["trunk"] * trunk,
        "upper_arm": shoulder - com["upper_arm"] * upper_arm,
        "forearm": shoulder - upper_arm - com["forearm"] * forearm,
        "hand": shoulder - upper_arm - forearm - com["hand"] * hand,
        "thigh": hip - com["thigh"] * thigh,
        "shank": hip - thigh - com["shank"] * shank,
        "foot": 0.0,  # both ends of a flat foot lie on the ground
    }
    count = {k: 1 if k in ("head", "trunk") else 2 for k in ROWS}
    whole = sum(count[k] * row[f"mass_{build}"] for k, row in ROWS.items())
    height = sum(count[k] * row[f"mass_{build}"] * up[k] for k, row in ROWS.items()) / whole
    ahead = (com["foot"] - ANKLE_ALONG_FOOT) * foot
    return 2 * ROWS["foot"][f"mass_{build}"] * ahead / whole, height


@pytest.mark.parametrize("build", ["male", "female"])
def test_standing_straight_by_hand(build: Any) -> None:
    who = body(1.80, 70.0, build)
    ahead, height = _standing_by_hand(build)
    positions = joints(who, UPRIGHT, np.array([0.0, who.leg]))
    assert positions[JOINT["vertex"]] == pytest.approx([0.0, 1.80])
    for joint in ("r_toe", "l_toe", "r_heel", "l_heel"):
        assert positions[JOINT[joint], 1] == pytest.approx(0.0, abs=1e-12)
    com = centre_of_mass(who, positions)
    assert com == pytest.approx([ahead * 1.80, height * 1.80], abs=1e-9)
    over = stance(who, UPRIGHT, "r")
    assert over.height == pytest.approx(height * 1.80, abs=1e-9)
    assert over.toe == pytest.approx((1 - ANKLE_ALONG_FOOT) * who.lengths[10] - ahead * 1.80)


def test_directions_follow_the_convention() -> None:
    quarter = np.full(len(SEGMENTS), math.pi / 2)
    down, forward, up = directions(UPRIGHT), directions(quarter), directions(2 * quarter)
    for name, i in SEGMENT.items():
        if name.endswith("_foot"):
            assert down[i] == pytest.approx([1.0, 0.0], abs=1e-12)  # flat
            assert forward[i] == pytest.approx([0.0, 1.0], abs=1e-12)  # toes straight up
        else:
            assert down[i] == pytest.approx([0.0, -1.0], abs=1e-12)
            assert forward[i] == pytest.approx([1.0, 0.0], abs=1e-12)
            assert up[i] == pytest.approx([0.0, 1.0], abs=1e-12)


def test_a_leaning_trunk_moves_the_head_forward() -> None:
    lean = UPRIGHT.copy()
    lean[[SEGMENT["trunk"], SEGMENT["head"]]] = -math.radians(30.0)
    positions = joints(WHO, lean, np.zeros(2))
    long = WHO.lengths[SEGMENT["trunk"]]
    assert positions[JOINT["shoulder"]] == pytest.approx(
        [long * 0.5, long * math.cos(math.radians(30.0))]
    )
    assert positions[JOINT["vertex"], 0] > positions[JOINT["shoulder"], 0]


@given(own.angles, st.tuples(st.floats(-50, 50), st.floats(-5, 5)))
def test_segments_keep_their_length_and_hang_together(
    angles: list[float], hip: tuple[float, float]
) -> None:
    positions = joints(WHO, np.array(angles), np.array(hip))
    assert positions.shape == (len(JOINTS), 2)
    assert positions[JOINT["hip"]] == pytest.approx(hip)
    for i, (first, far) in enumerate(ENDS):
        span = np.linalg.norm(positions[JOINT[far]] - positions[JOINT[first]])
        assert span == pytest.approx(WHO.lengths[i], abs=1e-9)
    for side in ("r", "l"):
        heel = positions[JOINT[f"{side}_heel"]] - positions[JOINT[f"{side}_ankle"]]
        assert np.linalg.norm(heel) == pytest.approx(math.hypot(*WHO.ankle), abs=1e-9)


@given(own.angles, st.tuples(st.floats(-50, 50), st.floats(-5, 5)))
def test_moving_the_hip_moves_the_whole_body(angles: list[float], hip: tuple[float, float]) -> None:
    pose = np.array(angles)
    here, there = joints(WHO, pose, np.zeros(2)), joints(WHO, pose, np.array(hip))
    assert there - here == pytest.approx(np.broadcast_to(hip, here.shape), abs=1e-9)
    moved = centre_of_mass(WHO, there) - centre_of_mass(WHO, here)
    assert moved == pytest.approx(np.array(hip), abs=1e-9)


@given(own.angles)
def test_centre_of_mass_balances(angles: list[float]) -> None:
    positions = joints(WHO, np.array(angles), np.zeros(2))
    lever = segment_coms(WHO, positions) - centre_of_mass(WHO, positions)
    assert (WHO.masses[:, None] * lever).sum(axis=0) == pytest.approx([0.0, 0.0], abs=1e-9)


@given(own.angles)
def test_mirror_image(angles: list[float]) -> None:
    pose = np.array(angles)
    other = mirrored(pose)
    assert np.array_equal(mirrored(other), pose)
    here, there = joints(WHO, pose, np.zeros(2)), joints(WHO, other, np.zeros(2))
    swap = [JOINT[{"r_": "l_", "l_": "r_"}.get(j[:2], j[:2]) + j[2:]] for j in JOINTS]
    assert there == pytest.approx(here[swap], abs=1e-12)
    assert centre_of_mass(WHO, there) == pytest.approx(centre_of_mass(WHO, here), abs=1e-12)
    right, left = stance(WHO, pose, "r"), stance(WHO, other, "l")
    for a, b in ((right.toe, left.toe), (right.heel, left.heel), (right.height, left.height)):
        assert a == pytest.approx(b, abs=1e-12)


def test_mirror_swaps_every_limb_once() -> None:
    assert sorted(MIRROR) == list(range(len(SEGMENTS)))
    for i, j in enumerate(MIRROR):
        assert (i == j) == (SEGMENTS[i] in ("head", "trunk"))


def test_many_poses_at_once_are_the_single_ones() -> None:
    poses = np.random.default_rng(1).uniform(-2, 2, (3, 5, len(SEGMENTS)))
    hips = np.random.default_rng(2).uniform(-2, 2, (3, 5, 2))
    together = joints(WHO, poses, hips)
    assert together.shape == (3, 5, len(JOINTS), 2)
    assert together[2, 4] == pytest.approx(joints(WHO, poses[2, 4], hips[2, 4]))
    assert centre_of_mass(WHO, together).shape == (3, 5, 2)
    assert stance(WHO, poses, "l").height.shape == (3, 5)


@pytest.mark.parametrize(
    ("angles", "hip"),
    [
        (np.zeros(13), np.zeros(2)),
        (UPRIGHT, np.zeros(3)),
        (np.full(14, math.nan), np.zeros(2)),
        (UPRIGHT, np.array([0.0, math.inf])),
    ],
)
def test_refused(angles: Any, hip: Any) -> None:
    with pytest.raises(ValueError, match=r"needed|must be"):
        joints(WHO, angles, hip)


def test_unknown_side_refused() -> None:
    with pytest.raises(ValueError, match="side: r or l, got 'left'"):
        stance(WHO, UPRIGHT, "left")  # type: ignore[arg-type]
