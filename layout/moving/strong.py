"""What a motion asks of the legs, beside what its athlete is taken to give, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from animate.motion.motion import Motion
from animate.motion.strength import Asked
from layout.moving.clearing import part_text
from layout.plan.value import Plan
from layout.rules.sources import said
from layout.words.note import Note

CODE: Final = "motion-asks"
"""Of the remark that a plan whose motion is known carries."""
MOST: Final = 3.0
"""Times over that are told as a figure (ours)."""
SOURCE: Final = f"{said('torque-simulation')}; shares by level, age and sex, {said('ours')}"
_WAYS: Final = {
    "hip-": "straightening", "hip+": "bending", "knee+": "straightening",
    "knee-": "bending", "ankle-": "toes down", "ankle+": "toes up",
}  # fmt: skip


def called(motion: Motion, number: int) -> str:
    """A contact as a coach says it."""
    support = motion.chain.supports[number]
    if support.leave == "run":
        return "last stride of the run-in"
    if support.leave == "end":
        return "landing, as far as shown"
    if support.arrive in ("run", "stand"):
        return f"take-off into {support.leave}"
    return f"{support.arrive} to {support.leave}"


def _one(motion: Motion, found: Asked) -> str:
    at, aloft = _at(found), not found.where.startswith("contact")
    since = found.at - float((motion.takeoffs if aloft else motion.touchdowns)[at])
    name = f"{part_text(found.joint[:-1])}, {_WAYS[found.joint[2:]]}"
    where = f"{'in the flight after' if aloft else 'at'} {called(motion, at)}"
    return f"{name}, {_times(found)} times {where}, {1000 * since:.0f} ms in"


def _times(found: Asked) -> str:
    return f"over {MOST:g}" if found.times > MOST else f"{found.times:.1f}"


def _at(found: Asked) -> int:
    """The contact it is asked in, or in the flight after which."""
    return int(found.where.rpartition(" ")[2]) - 1


def _worst(beyond: Sequence[Asked]) -> list[Asked]:
    """Of hip, knee and ankle where each is asked most beyond what the athlete gives, the most over first."""
    worst: dict[str, Asked] = {}
    for found in beyond:
        joint = found.joint[2:-1]
        if joint not in worst or found.times > worst[joint].times:
            worst[joint] = found
    return sorted(worst.values(), key=lambda f: -f.times)


def over(motion: Motion, beyond: Sequence[Asked]) -> list[str]:
    """Where hip, knee and ankle are asked most beyond what the athlete gives, the most over first."""
    return [_one(motion, found) for found in _worst(beyond)]


def with_asked(plan: Plan, motion: Motion, beyond: Sequence[Asked]) -> Plan:
    """The plan with a remark of which joints its motion asks beyond what the athlete gives, and where."""
    kept = tuple(n for n in plan.notes if n.code != CODE)
    # The run-in's one stride stands for a whole approach: what it asks is no matter of the plan.
    joints = _worst([a for a in beyond if motion.chain.supports[_at(a)].leave != "run"])
    if not joints:
        return replace(plan, notes=kept)
    most, names = joints[0], [found.joint[2:-1] for found in joints]
    where = called(motion, _at(most))
    place = f"at {where}" if most.where.startswith("contact") else f"after {where}"
    several = " and ".join(", ".join(names).rsplit(", ", 1))
    text = (
        f"The motion asks more of {several} than this athlete is taken to give, most of the "
        f"{names[0]}, {_WAYS[most.joint[2:]]}: {_times(most)} times {place}."
    )
    return replace(plan, notes=(*kept, Note(CODE, text, SOURCE, grave=False)))


def share_text(motion: Motion) -> str:
    """What the athlete of a motion is taken to give."""
    return f"{100 * motion.body.strength:.0f} % of a national-level jumper's torque"


def strength_text(motion: Motion, beyond: Sequence[Asked], source: str = "") -> str:
    """Where hip, knee and ankle are asked most beyond what the athlete is taken to give; "" if nowhere."""
    rows = over(motion, beyond)
    if not rows:
        return ""
    given = f"{share_text(motion)}{'; ' if source else ''}{source}"
    return (
        f"The motion drawn asks more of the legs than this athlete is taken to give ({given}): "
        f"{'; '.join(rows)}."
    )
