"""The figure in motion beside the drawing: the clip with its moments and what is measured there."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from layout.desk.pages import part
from layout.moving.poses import key_poses, told_in
from layout.phone.clip import phone_clip
from layout.phone.phone import RESTING, SPEEDS
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.words.faults import BadInput

if TYPE_CHECKING:
    from animate.motion.motion import Motion
    from layout.desk.setout import SetOut


def shown(out: SetOut) -> str:
    """The figure of what is set out, as markup; a line instead where it has no contact to show."""
    assert out.plan is not None
    assert out.card is not None
    assert out.motion is not None
    return _shown(out.plan, out.card, out.motion)


@lru_cache(maxsize=16)
def _shown(plan: Plan, card: TapeCard, motion: Motion) -> str:
    try:
        poses = told_in(key_poses(plan, motion), card.system)
        clip = phone_clip(plan, card, motion, poses)
    except BadInput as error:
        return part("figure.html", clip=None, why=str(error.faults[0]), speeds=(), resting="")
    return part("figure.html", clip=clip, why="", speeds=SPEEDS, resting=RESTING)
