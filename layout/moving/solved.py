"""The motion of a plan: from the cache or the library, else solved, with a line of progress."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from hashlib import blake2b
from pathlib import Path

from animate.body.body import Body, body
from animate.motion.chain import Settings
from animate.motion.check import check
from animate.motion.motion import Motion
from animate.motion.outcome import Progress, Stopped
from animate.motion.solve import cache_folder, canonical, find, fingerprint, kept
from animate.refused import Refused
from animate.whole_file import read_whole
from layout.moving.both import with_both
from layout.moving.chain import body_of, chain_of
from layout.moving.clearing import cleared, unsolved
from layout.moving.strong import with_asked
from layout.plan.value import Plan
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import number_in

SHIPPED = Path(__file__).parent / "motions"
LIMIT = 120.0
LONGEST = 86_400.0
"""Processor seconds a solve may take, and the most that may be asked for [s]."""
LARGEST = 5_000_000
"""Bytes of a kept motion, at most."""
SECONDS = "PHASEMARK_SOLVE_SECONDS"
"""Environment variable that sets them."""


def solve_seconds() -> float:
    """Processor seconds a solve may take [s]: the environment's choice, else `LIMIT`."""
    chosen = os.environ.get(SECONDS, "").strip()
    if not chosen:
        return LIMIT
    seconds = number_in(chosen) or 0.0
    if not 0.0 < seconds <= LONGEST:
        rule = f"must be a number of seconds above 0 and at most {LONGEST:.0f} (environment)"
        raise refuse(SECONDS, rule, chosen)
    return seconds


def ready(plan: Plan, who: Body, settings: Settings) -> Motion | None:
    """The demo club's motions come solved: the one that is exactly this plan's, if there is one."""
    return kept(chain_of(plan), who, settings, (SHIPPED, ".json.gz"))


def at_hand(plan: Plan, settings: Settings | None = None) -> Motion | None:
    """A plan's motion where nothing needs solving: shipped, or kept on this machine."""
    who = body(plan.who.stature, plan.who.mass, plan.who.build)
    found = ready(plan, who, settings or Settings())
    found = found or kept(chain_of(plan), who, settings)
    return None if found is None else _own(plan, found)


def mark_of(plan: Plan, settings: Settings) -> str:
    """The name of a plan's motion: the same for the same contacts, body and positions."""
    who = body(plan.who.stature, plan.who.mass, plan.who.build)
    chain = chain_of(plan)
    return fingerprint(chain if canonical(chain) else chain.mirrored(), who, settings)


def kept_mark(plan: Plan) -> str:
    """What tells the motion at hand for a plan from another; empty where there is none."""
    try:
        name = mark_of(plan, Settings())
    except ValueError:
        return ""
    for path in (SHIPPED / f"{name}.json.gz", cache_folder() / f"{name}.json"):
        try:
            return blake2b(read_whole(path, LARGEST), digest_size=16).hexdigest()
        except (OSError, ValueError):
            continue
    return ""


def with_motion(plan: Plan, motion: Motion) -> Plan:
    """The plan with all that its motion tells: hurdles held against it, its own heights and times, and what
    it asks of the legs."""
    told = with_both(cleared(plan, motion), motion)
    return with_asked(told, motion, check(motion).beyond)


def _own(plan: Plan, motion: Motion) -> Motion:
    """The motion with its athlete's presumed strength, so that one check serves all that ask."""
    return replace(motion, body=body_of(plan))


def refuse_unsound(motion: Motion) -> Motion:
    """The motion, where its mechanics hold: no other is handed out as an athlete's positions."""
    faults = check(motion).faults
    if faults:
        raise refuse("motion", f"the one found does not hold ({faults[0].text})")
    return motion


def motion_of(
    plan: Plan,
    settings: Settings | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> Motion:
    """The motion that a plan's athlete makes through its contacts.

    settings: the positions the coach asks for.
    progress: told while solving how many steps are done and how many there may be.
    stop: asked on the way; `Stopped` where it is true.
    """
    limit = solve_seconds()
    who = body(plan.who.stature, plan.who.mass, plan.who.build)
    found = ready(plan, who, settings or Settings())
    if found is not None:
        return _own(plan, found)
    try:
        return _own(plan, find(chain_of(plan), who, settings, progress, limit, stop=stop))
    except Stopped:
        raise
    except Refused as fault:
        raise refuse(fault.field, fault.told) from None


def moved(
    plan: Plan, progress: Progress | None = None, stop: Callable[[], bool] | None = None
) -> tuple[Plan, Motion | None, tuple[Fault, ...]]:
    """The plan with its hurdles checked against its motion, that motion, and why there is none."""
    solve_seconds()  # a fault of the environment is not this plan's
    try:
        motion = refuse_unsound(motion_of(plan, None, progress, stop))
    except BadInput as error:
        faults = tuple(error.faults)
        return unsolved(plan, faults[0].rule), None, faults
    return with_motion(plan, motion), motion, ()
