"""The figure in motion beside the drawing: the clip with its moments and what is measured there."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from animate.motion.check import check
from layout.desk.pages import part
from layout.moving.poses import key_poses, told_in
from layout.moving.positions import moved_along
from layout.moving.solved import at_hand
from layout.moving.strong import SOURCE, over, share_text
from layout.phone.clip import phone_clip
from layout.phone.phone import RESTING, SPEEDS
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.rules.cautions import COMPUTED
from layout.words.faults import BadInput
from layout.words.feet import as_read
from layout.words.units import System

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
        return part("figure.html", clip=None, why=str(error.faults[0]))
    return part(
        "figure.html", clip=clip, speeds=SPEEDS, resting=RESTING, moved=moved(plan, motion, card.system),
        over=over(motion, check(motion).beyond), given=share_text(motion), source=SOURCE, computed=COMPUTED,
    )  # fmt: skip


def moved(plan: Plan, motion: Motion, system: System) -> str:
    """What a trunk that was asked for moves along; empty where none was."""
    trunk = motion.settings.trunk
    alone = None if trunk is None else at_hand(plan, replace(motion.settings, trunk=None))
    found, was = moved_along(motion, alone)
    if not found:
        return ""
    without = f", {was} without it" if was else ""
    said = (
        f"The trunk moves the knees too: knee gap {found}{without}. Choose a knee gap to hold it."
    )
    return as_read(said, system)
