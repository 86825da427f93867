"""What a motion asks of the legs, in words: which joint, by how much, at which contact, and when."""

from __future__ import annotations

from dataclasses import replace

from animate.motion.check import check
from animate.motion.motion import Motion
from animate.motion.strength import Asked
from layout.commands.demo_ import plans
from layout.moving.chain import body_of
from layout.moving.solved import motion_of
from layout.moving.strong import SOURCE, strength_text


def _jump() -> Motion:
    return motion_of(next(p for stem, p, *_ in plans() if p.drill == "full-triple-jump"))


def test_says_joint_times_contact_and_milliseconds() -> None:
    motion = _jump()
    third = float(motion.touchdowns[2])
    beyond = (
        Asked("contact 3", "r_knee+", 7.0, -2.0, 1.4, third + 0.0404),
        Asked("contact 4", "l_knee-", 3.0, 1.0, 1.2, float(motion.touchdowns[3])),
        Asked("flight after contact 2", "l_hip+", 4.0, 30.0, 4.2, float(motion.takeoffs[1]) + 0.1),
    )
    assert motion.chain.supports[2].leave == "step"
    text = strength_text(motion, beyond)
    assert "right knee, straightening, 1.4 times at hop to step, 40 ms in." in text
    assert (
        "left hip, bending, over 3 times in the flight after take-off into hop, 100 ms in" in text
    )
    assert "left knee" not in text  # the knee is asked more elsewhere
    assert f"({100 * motion.body.strength:.0f} % of" in text


def test_nothing_is_said_where_nothing_is_asked_beyond() -> None:
    motion = _jump()
    assert strength_text(motion, ()) == ""


def test_the_athlete_s_own_share_is_said() -> None:
    motion = _jump()
    weak = replace(motion, body=replace(motion.body, strength=0.4))
    text = strength_text(weak, check(weak).beyond, SOURCE)
    assert f"(40 % of a national-level jumper's torque; {SOURCE}): " in text


def test_a_child_has_less_than_a_grown_jumper() -> None:
    people = {p.who.name: body_of(p).strength for _, p, *_ in plans()}
    assert people["Runa"] < people["Tevin"]
    assert all(0.1 <= s < 1.3 for s in people.values())
