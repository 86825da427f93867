"""What every way of handing out shares: paper and scale wished for, positions, figures on the runway."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Final

from animate.motion.motion import Motion
from layout.plan.value import Plan
from layout.words.faults import BadInput, refuse

if TYPE_CHECKING:
    from animate.body.shapes import Shape
    from layout.moving.poses import KeyPose
    from layout.sheet.handout import Wish

PRINT: Final = "next: print it at 100 % and check the bar with a ruler"


def wish_from(given: argparse.Namespace) -> Wish:
    """Paper, which way it is turned, and scale."""
    from layout.page.page import paper_size, parse_scale
    from layout.sheet.handout import Wish

    if given.upright and given.across:
        raise refuse("--across", "--upright and --across cannot go together")
    paper_size(given.paper, given.upright)
    upright = True if given.upright else False if given.across else None
    return Wish(given.paper, upright, parse_scale(given.scale) if given.scale else None)


def figures(
    plan: Plan, motion: Motion | None
) -> tuple[tuple[KeyPose, ...], dict[str, str] | None, list[str]]:
    """Positions and what they measure, or why there are none."""
    from layout.moving.clip import step_contact
    from layout.moving.poses import key_poses

    if motion is None:
        return (), None, []
    try:
        return key_poses(plan, motion), dict(step_contact(motion).reading.shown()), []
    except BadInput as error:
        return (), None, [f"  ! no positions on it: {fault}" for fault in error.faults]


def on_runway(plan: Plan, motion: Motion | None) -> tuple[tuple[Shape, ...], ...]:
    """The athlete at each contact, out of the motion where there is one."""
    from layout.moving.poses import at_marks

    return () if motion is None else at_marks(plan, motion)
