"""A plan's motion with a line on the screen while it is solved, and hurdles checked against it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from layout.commands.streams import progress
from layout.plan.value import Plan
from layout.words.faults import Fault

if TYPE_CHECKING:
    from animate.motion.chain import Settings
    from animate.motion.motion import Motion


def solving(plan: Plan, settings: Settings) -> Motion:
    """The motion of a plan, with a line on the screen while it is being solved."""
    from layout.moving.solved import motion_of

    with progress("round", f"{plan.who.name} in motion: ") as tell:
        return motion_of(plan, settings, tell)


def with_motion(plan: Plan) -> tuple[Plan, Motion | None, tuple[Fault, ...]]:
    """What `moved` hands back, with a line on the screen while the motion is being solved."""
    from layout.moving.solved import moved

    with progress("round", f"{plan.who.name} in motion: ") as tell:
        return moved(plan, tell)


def checked(plan: Plan) -> Plan:
    """The plan with its hurdles checked against the athlete's motion; one without any comes back at
    once and imports nothing."""
    return with_motion(plan)[0] if plan.hurdles else plan


def bare(faults: tuple[Fault, ...]) -> list[str]:
    """Why nothing shows the athlete."""
    return [f"  ! no positions on it: {fault}" for fault in faults]
