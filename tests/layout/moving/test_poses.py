"""The four figures of a page: the right instants, set over their own ground, with what they say."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from animate.body.figure import JOINTS
from animate.body.shapes import Label, Stroke
from animate.motion.motion import Motion
from layout.commands.demo_ import COMPARED, plans
from layout.moving.clip import step_contact
from layout.moving.poses import KeyPose, key_poses
from layout.moving.solved import motion_of
from layout.page.page import Line, Text, View
from layout.words.faults import BadInput

PLANS = {stem: plan for stem, plan, _, _ in plans()}


def ready(stem: str) -> Motion:
    def no_solving(*_: object) -> None:
        raise AssertionError(f"{stem}: not shipped; python -m layout.commands.make_ready")

    return motion_of(PLANS[stem], None, no_solving)


@pytest.fixture(scope="module", params=list(PLANS))
def made(request: pytest.FixtureRequest) -> tuple[str, Motion, tuple[KeyPose, ...]]:
    stem: str = request.param
    motion = ready(stem)
    return stem, motion, key_poses(PLANS[stem], motion)


Made = tuple[str, Motion, tuple[KeyPose, ...]]


def test_four_instants_in_order_of_time(made: Made) -> None:
    _, motion, poses = made
    step = step_contact(motion)
    assert [p.time for p in poses] == [
        motion.takeoffs[step.index - 1],
        step.touchdown,
        step.high,
        motion.touchdowns[-1],
    ]
    assert [p.time for p in poses] == sorted(p.time for p in poses)


def test_labels_name_the_plans_own_contacts(made: Made) -> None:
    stem, _, poses = made
    contacts = PLANS[stem].contacts
    first, second, third, last = poses
    leads = contacts[first.contact].leave if first.contact >= 0 else "last stride"
    assert first.label == f"{leads} take-off"
    like = [c.number for c in contacts[1:] if c.leave == "step" and c.foot != "both"]
    nth = like.index(second.contact) + 1
    which = f", first of {len(like)}" if len(like) > 1 else ""
    assert (second.label, third.label, nth) == (f"step contact{which}", "thigh high", 1)
    assert second.contact == third.contact == first.contact + 1
    assert contacts[second.contact].leave == "step"
    assert last.contact == contacts[-1].number
    assert last.label.startswith(f"{contacts[-1].arrive} landing")
    assert ("sand" in last.label) == (contacts[-1].surface == "sand")


def test_each_stands_on_its_ground_with_the_hip_over_zero(made: Made) -> None:
    _, motion, poses = made
    for pose in poses:
        joints = motion.frames(np.array([pose.time])).positions[0]
        assert pose.x == joints[JOINTS.index("hip"), 0]
        ground = pose.shapes[0]
        assert isinstance(ground, Stroke)
        assert all(z == 0.0 for _, z in ground.points)
        assert ground.points[0][0] < pose.left < 0.0 < pose.right < ground.points[1][0]
        lows = [z for s in pose.shapes if not isinstance(s, Label) for _, z in s.points]
        assert min(lows) > -0.06  # soles are a little rounder than the straight foot
        body = [s for s in pose.shapes[1:17] if not isinstance(s, Label)]
        xs = [x for part in body for x, _ in part.points]
        assert (pose.left, pose.right) == (min(xs), max(xs))
        assert pose.top == max(z for part in body for _, z in part.points)
        assert pose.top > joints[JOINTS.index("vertex"), 1] - 0.03


def test_the_knee_gap_and_the_thigh_are_measured_on_the_figure(made: Made) -> None:
    _, motion, poses = made
    values = step_contact(motion).reading.values
    texts = [[s.text for s in p.shapes if isinstance(s, Label)] for p in poses]
    assert texts[0] == texts[3] == []
    assert texts[1] == [step_contact(motion).reading.shown()["knee_gap"]]
    (said,) = texts[2]
    shown = float(said.rstrip("°").replace("−", "-"))
    assert shown == pytest.approx(math.degrees(values["free_thigh_highest"]), abs=1.01)


UNIT = r"[−-]?[\d.]+( cm|°| s| m/s|° (above|below) level|° behind vertical)|level"


def test_every_measure_told_is_named_and_has_a_unit(made: Made) -> None:
    _, motion, poses = made
    assert dict(poses[1].measures)["knee gap"] == step_contact(motion).reading.shown()["knee_gap"]
    for pose in poses:
        assert len(pose.measures) >= 2
        for name, text in pose.measures:
            assert name
            assert re.fullmatch(UNIT, text)


def test_it_is_ink_at_a_true_scale() -> None:
    pose = key_poses(PLANS[COMPARED], ready(COMPARED))[1]
    ink = View(40, 100.0, 150.0).ink(pose.shapes)
    lines = [i for i in ink if isinstance(i, Line)]
    tall = 150.0 - min(y for line in lines for _, y in line.points)
    assert tall == pytest.approx(1000 * pose.top / 40)
    (text,) = (i for i in ink if isinstance(i, Text))
    assert text.text.endswith("cm")


def test_a_motion_of_another_plan_is_refused() -> None:
    with pytest.raises(BadInput, match="motion: must be one of this plan's contacts"):
        key_poses(PLANS["tevin-full-triple-jump"], ready(COMPARED))
