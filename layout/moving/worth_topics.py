"""What may be varied at the step: how each thing is read from a motion, held in one, and said."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from animate.body.pose import JOINT, SEGMENT
from animate.body.stances import GRAVITY
from animate.motion.chain import LIMITS, Settings
from animate.motion.motion import Motion
from animate.motion.solver.freed import Terms

UNTESTED: Final = "Untested against anything published. "
"""What an answer begins with: no topic that is shown has a published contrast of its own at hand."""
CLOSER: Final = (
    "better jumpers were filmed with their thighs closer as the foot lands (50 against 70 degrees; Kong & "
    "Zhou 1999), and this model does not show that, so its curve is not shown"
)


@dataclass(frozen=True)
class Topic:
    """One thing that is varied.

    step: from one point to the next, SI.
    middle: value of the middle point; None: the one that is best when it is left open.
    unit, times: as people read it, and by what a value is multiplied for it.
    against: what is published that the model does not show: its curve is then not shown.
    """

    name: str
    told: str
    step: float
    middle: float | None
    unit: str
    times: float
    turned: float = 0.0
    against: str = ""

    def shown(self, value: float) -> float:
        """A value as people read it."""
        return self.turned + self.times * value


_DEGREES: Final = math.degrees(1.0)
TOPICS: Final = {
    t.name: t
    for t in (
        Topic("knees", "knees apart as the foot lands", 0.03, None, "cm", 100.0, against=CLOSER),
        Topic("lever", "free knee as the foot lands, 180 straight", -0.14, None, "°", -_DEGREES, 180.0),
        Topic("thigh", "free thigh at its highest in the step, 90 level", 0.07, None, "°", _DEGREES),
        Topic("trunk", "trunk at the step, lean forward +", 0.04, -0.05, "°", -_DEGREES),
        Topic("arms", "upper arms apart as the foot leaves, 0 together", 0.35, None, "°", _DEGREES),
        Topic("hops", "rise of the hop before, same energy", 0.02, None, "cm", 100.0),
    )
}  # fmt: skip


def asked(topic: Topic, value: float, part: Motion, terms: Terms) -> tuple[Settings, Terms, float]:
    """Settings and terms that hold a topic at a value, and by how much the hop grows by it [m]."""
    plain = Settings(arms=part.settings.arms)
    if topic.name == "hops":
        return (plain, *_hop(part, terms, value))
    if topic.name == "arms":
        return plain, replace(terms, arms=value), 0.0
    chosen: dict[str, Any] = {NAMES[topic.name]: value}
    return replace(plain, **chosen), terms, 0.0


def _hop(part: Motion, terms: Terms, rise: float) -> tuple[Terms, float]:
    """Take-off of the flight before with another rise and the same energy; how much longer it is [m]."""
    phase, g = part.phases[1], GRAVITY
    vx, vy = phase.velocity
    up = math.sqrt(2 * g * rise)
    on = math.sqrt(vx**2 + vy**2 - up**2)
    drop = vy * phase.duration - g * phase.duration**2 / 2
    time = (up + math.sqrt(up**2 - 2 * g * drop)) / g
    return replace(terms, hop=(on, up)), float(on * time - vx * phase.duration)


def read(topic: Topic, motion: Motion) -> float:
    """The value a part's motion has."""
    if topic.name == "hops":
        return float(motion.phases[1].velocity[1] ** 2 / (2 * GRAVITY))
    side = motion.chain.supports[1].side
    free = "l" if side == "r" else "r"
    ends = motion.frames(motion.starts[[2, 3]] - np.array([0.0, 1e-9]), 2)
    angle = {s: ends.angles[:, i] for s, i in SEGMENT.items()}
    if topic.name == "knees":
        knees = ends.positions[0, [JOINT[f"{side}_knee"], JOINT[f"{free}_knee"]], 0]
        return float(knees[0] - knees[1])
    if topic.name == "lever":
        return float(angle[f"{free}_thigh"][0] - angle[f"{free}_shank"][0])
    if topic.name == "arms":
        return float(angle[f"{side}_upper_arm"][1] - angle[f"{free}_upper_arm"][1])
    if topic.name == "trunk":
        return float(angle["trunk"].mean())
    flight = motion.frames(np.linspace(motion.starts[3], motion.starts[4], 60)[:-1], 3)
    return float(flight.angles[:, SEGMENT[f"{free}_thigh"]].max())


NAMES: Final = {"knees": "knee_gap", "lever": "knee_bend", "thigh": "thigh_high", "trunk": "trunk"}
"""Topics that are a setting of the coach's."""


def middle_of(topic: Topic, value: float) -> float:
    """A value for the middle of a curve: to a centimetre or a degree, two steps inside what may be asked."""
    grain = 1.0 / abs(topic.times)
    if topic.name in NAMES:
        low, high, _ = LIMITS[NAMES[topic.name]]
        inside = 2 * abs(topic.step)
        value = min(max(value, low + inside), high - inside)
    return round(value / grain) * grain
