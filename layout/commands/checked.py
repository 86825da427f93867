"""A plan's motion with a line on the screen while it is solved, and hurdles checked against it."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from layout.plan.value import Plan
from layout.words.faults import BadInput, Fault

if TYPE_CHECKING:
    from animate.motion.chain import Settings
    from animate.motion.motion import Motion


def solving(plan: Plan, settings: Settings) -> Motion:
    """The motion of a plan, with a line on the screen while it is being solved."""
    from layout.moving.solved import motion_of

    shown = sys.stderr.isatty()

    def tell(done: int, of: int) -> None:
        if shown:
            line = f"\rsolving {plan.who.name}: {plan.title}, step {done} of {of} or so"
            sys.stderr.write(f"{line:<78}")
            sys.stderr.flush()

    try:
        return motion_of(plan, settings, tell)
    finally:
        if shown:
            sys.stderr.write("\r" + " " * 78 + "\r")


def checked(plan: Plan, given: argparse.Namespace) -> Plan:
    """The plan with its hurdles checked against the athlete's motion, unless told not to.

    A plan without hurdles comes back at once and imports nothing. Where no motion is found the plan
    says so and stays unchecked.
    """
    if not plan.hurdles or getattr(given, "unchecked", False):
        return plan
    return with_motion(plan)[0]


def with_motion(plan: Plan) -> tuple[Plan, Motion | None, tuple[Fault, ...]]:
    """The plan with its hurdles checked against its motion, that motion, and why there is none."""
    from animate.motion.chain import Settings
    from layout.moving.both import with_both
    from layout.moving.clearing import cleared, unsolved
    from layout.moving.solved import refuse_unsound, solve_seconds

    solve_seconds()  # a fault of the environment is not this plan's
    try:
        motion = refuse_unsound(solving(plan, Settings()))
    except BadInput as error:
        faults = tuple(error.faults)
        return (unsolved(plan, faults[0].rule) if plan.hurdles else plan), None, faults
    return with_both(cleared(plan, motion) if plan.hurdles else plan, motion), motion, ()
