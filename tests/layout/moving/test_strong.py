"""What a motion asks of the legs, in words: which joint, by how much, at which contact, and when."""

from __future__ import annotations

import html
import re
from dataclasses import replace

import pytest

from animate.motion.check import check
from animate.motion.motion import Motion
from animate.motion.strength import Asked
from layout.commands.demo_ import plans
from layout.moving.chain import body_of
from layout.moving.solved import motion_of, moved, with_motion
from layout.moving.strong import CODE, SOURCE, called, strength_text, with_asked
from layout.phone.phone import phone
from layout.plan.tape import tape_card
from layout.sheet.handout import handout
from layout.sheet.texts import Words


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


@pytest.mark.parametrize("place", ["sheet", "phone"])
def test_a_plan_s_sheet_and_phone_page_say_what_its_joints_are_asked(place: str) -> None:
    bare = next(p for _, p, *_ in plans() if p.drill == "full-triple-jump")
    plan, motion, _ = moved(bare)
    assert motion is not None
    mine = [a for a in check(motion).beyond if not a.where.endswith("contact 1")]
    assert motion.chain.supports[0].leave == "run"
    most = max(mine, key=lambda a: a.times)
    (note,) = [n for n in plan.notes if n.code == CODE]
    assert with_motion(plan, motion).notes.count(note) == 1
    assert f"most of the {most.joint[2:-1]}, " in note.text
    assert re.search(r"most of the \w+, [\w ]+: (over 3|[12]\.\d) times (at|after) ", note.text)
    at = int(most.where.rpartition(" ")[2]) - 1
    assert called(motion, at) in note.text
    card = tape_card(plan)
    if place == "sheet":
        words = " ".join(Words(plan, card).sure.split())
    else:
        page = phone(plan, card, handout(plan, card))
        words = " ".join(re.sub(r"<[^>]*>", "", html.unescape(page)).split())
    assert note.text in words
    assert with_asked(plan, motion, ()).notes == tuple(n for n in plan.notes if n.code != CODE)


def test_the_motion_handed_out_is_checked_once_for_all_that_ask() -> None:
    plan = next(p for _, p, *_ in plans() if p.drill == "full-triple-jump")
    motion = motion_of(plan)
    assert motion.body == body_of(plan)
    check.cache_clear()
    with_motion(plan, motion)
    with_motion(plan, motion)
    assert check.cache_info().misses == 1


def test_a_child_has_less_than_a_grown_jumper() -> None:
    people = {p.who.name: body_of(p).strength for _, p, *_ in plans()}
    assert people["Runa"] < people["Tevin"]
    assert all(0.1 <= s < 1.3 for s in people.values())
