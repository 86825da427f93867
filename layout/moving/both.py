"""One thing, two figures: what the plan says of the body's heights and contact times and what its
solved motion says, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from animate.body.stances import GRAVITY
from animate.motion.motion import Motion
from layout.plan.hurdles import flight_text
from layout.plan.value import Plan
from layout.words.note import Note

WHY: Final = (
    "The plan works with fixed poses at touchdown and take-off, the motion finds its own: its "
    "heights and contact times are its own too. Marks are the same in both."
)


@dataclass(frozen=True)
class Both:
    """One figure of the plan and of its motion.

    name: of the flight, or of the contact by the flight it leads to.
    plan, motion: [m] or [s].
    """

    name: str
    plan: float
    motion: float


def heights(plan: Plan, motion: Motion) -> tuple[Both, ...]:
    """Highest point of the body's centre in each flight [m].

    z = z0 + vy^2 / (2 g), from the take-off of the plan and of the motion.
    """
    first = len(motion.chain.supports) - len(plan.contacts)
    out = []
    for i, flight in enumerate(plan.flights):
        rising = motion.phases[2 * (first + i) + 1]
        top = float(rising.com[1]) + max(float(rising.velocity[1]), 0.0) ** 2 / (2.0 * GRAVITY)
        out.append(Both(flight_text(plan, i), flight.apex_z, top))
    return tuple(out)


def contact_times(plan: Plan, motion: Motion) -> tuple[Both, ...]:
    """Time on the ground of each contact the plan has one for [s]."""
    first = len(motion.chain.supports) - len(plan.contacts)
    return tuple(
        Both(flight_text(plan, i), c.time, float(motion.contact_times[first + i]))
        for i, c in enumerate(plan.contacts[:-1])
        if c.time is not None
    )


def both_lines(plan: Plan, motion: Motion) -> tuple[str, ...]:
    """Heights and contact times of plan and motion, and why they differ, as sentences."""

    def row(found: Sequence[Both], unit: str) -> str:
        return ", ".join(f"{b.name} {b.plan:.2f} / {b.motion:.2f}" for b in found) + f" {unit}"

    times = contact_times(plan, motion)
    out = [f"Highest point of the body's centre, plan / motion: {row(heights(plan, motion), 'm')}."]
    out += [f"Contact before it, plan / motion: {row(times, 's')}."] if times else []
    return (*out, WHY)


CODE: Final = "motion-differs"
"""Of the remark that a plan whose motion is known carries."""


def with_both(plan: Plan, motion: Motion) -> Plan:
    """The plan with a remark that gives the motion's heights and contact times, and why they differ."""

    def row(found: Sequence[Both], unit: str) -> str:
        return ", ".join(f"{b.motion:.2f}" for b in found) + f" {unit}"

    times = contact_times(plan, motion)
    spent = f"; on the ground {row(times, 's')}" if times else ""
    text = (
        "The plan's heights and times are of fixed poses. The motion drawn, in order: highest "
        f"{row(heights(plan, motion), 'm')}{spent}. Marks are the same."
    )
    kept = tuple(n for n in plan.notes if n.code != CODE)
    return replace(plan, notes=(*kept, Note(CODE, text, "model, ours", grave=False)))
