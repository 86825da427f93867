"""A motion that chooses its own lengths: from one landing on, the marks lie where the jump falls, and legs
give no more than the column of `animate.motion.strength`.

What comes before that landing stands as it was solved: pose and speeds as the foot before leaves the
ground, the thrown body, its angular momentum. In the air limbs may still move, under their moments.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from animate.body.body import Array
from animate.body.stances import GRAVITY
from animate.motion.chain import Chain, Settings
from animate.motion.motion import Motion
from animate.motion.solver.assemble import Build, Weak
from animate.motion.solver.blocks import Whole
from animate.motion.solver.form import Phase, Slot, slots
from animate.motion.solver.instants import Instant
from animate.motion.solver.places import AT, INF, Place
from animate.motion.solver.program import Joins
from animate.motion.solver.run import start_from, unpack
from animate.motion.solver.tuning import FORCE_CAP
from animate.motion.strength import STRENGTH

LEGS: Final = ("hip", "knee", "ankle")
ARMS: Final = {"shoulder": 2.0, "elbow": 1.0}
"""Moments of the arms at most, either way [N m/kg] (ours, no source)."""
TOES_UP: Final = 3.0
"""Moment that raises the toes at most [N m/kg]: a foot set down on its heel asks more than the published
.88 to 1.47, which other tissue gives too (ours)."""
RUN_IN: Final = 2.0
"""In the short flight of the stride before a take-off from a run the ceilings are so many times as high: it
was solved without them, and begins as solved (ours)."""
SAME: Final = 1e-5
"""Fractions of a contact nearer than this are one instant."""
INSIDE: Final = 0.95
"""Share of a ceiling asked for at the instants, so that it holds between them too."""
IMPACT_UNTIL: Final = 0.2
"""Fraction of a contact in which the impact is taken (ours): the column is let through `impact` times."""
OVER: Final = 30.0
"""Cost of going over the column, per time over: more than a longer jump ever gives back."""
RANGES: Final = {"contact": (0.09, 0.30), "flight": (0.12, 0.95), "further": (-2.5, 2.5)}
"""Where contact times, flight times [s] and lengths beyond the plan's [m] are sought; no answer may lie
at their ends."""
SPEEDS: Final = 3.0
"""Likewise for speeds at take-off, either way from the plan [m/s]."""


@dataclass(frozen=True)
class Terms:
    """On what terms a motion may choose.

    strength: share of the column that legs give on the ground [-]; in the air they have the whole of it.
    impact: share let through in the first fifth of a contact [-]: a rigid foot meets the ground at once,
        and soft tissue is not in the model.
    reward: for a phase being longer, by flight [1/m]; the last holds for later ones.
    speed: for horizontal speed at the first take-off [s/m].
    same: the first phase keeps its planned length.
    meets: the next contact is met with the body placed as planned.
    shape: pull to the key poses over the usual.
    hop: velocity the flight before begins with [m/s]; None is as solved.
    arms: angle between the upper arms as the foot leaves [rad]; None leaves it open.
    still: arms keep the place on the trunk that they land with.
    """

    strength: float
    impact: float = 2.0
    reward: tuple[float, ...] = (10.0, 10.0)
    speed: float = 0.0
    same: bool = False
    meets: bool = False
    shape: float = 0.1
    hop: tuple[float, float] | None = None
    arms: float | None = None
    still: bool = False


def from_contact(motion: Motion, number: int) -> Motion:
    """The part of a motion that begins with the contact before contact `number`."""
    k = number - 1
    chain = Chain(motion.chain.supports[k:], motion.chain.flights[k:])
    begins = motion.phases[2 * k].start
    phases = tuple(
        replace(phase, start=phase.start - begins, slot=slot)
        for phase, slot in zip(motion.phases[2 * k :], slots(chain), strict=True)
    )
    return Motion(motion.body, chain, motion.settings, phases)


class Freed(Build):
    """The program of a part as `from_contact` gives it; `close` holds contacts half-way between the usual
    instants too."""

    def __init__(
        self,
        part: Motion,
        settings: Settings,
        terms: Terms,
        weak: Sequence[Weak] = (),
        close: bool = True,
    ) -> None:
        self.close = close
        self.part, self.terms = part, terms
        self.asked: dict[int, list[float]] = {}
        super().__init__(part.chain, part.body, settings, weak)
        self._weigh()
        self._stand_before()
        self._land()

    def _others(self, slot: Slot, angles: Whole) -> Place:
        place, i = super()._others(slot, angles), len(self.places)
        if slot.kind == "flight" and i > 1:
            low, high = RANGES["further"]
            held = self.terms.same and i == 3
            self.further[i] = self.new(0.0 if held else low, 0.0 if held else high, 0.0)
        return place

    def _first(self) -> None:
        """The motion begins as solved: nothing to ask of its first contact."""

    def _contact(self, i: int, more: Sequence[float]) -> None:
        if i:
            super()._contact(i, more)

    def _touching(self, i: int, taus: Sequence[float]) -> None:
        """Rows at some instants, each once."""
        if self.close and i > 1 and i not in self.asked and self.phases[i].support.leave != "end":
            # Half-way between them too: an instant added where a leg is strained moves a best by millimetres.
            taus = [*taus, *((a + b) / 2 for a, b in itertools.pairwise(taus) if a >= IMPACT_UNTIL)]
        known = self.asked.setdefault(i, [])
        fresh = []
        for tau in taus:
            if all(abs(tau - other) > SAME for other in known):
                known.append(tau)
                fresh.append(tau)
        super()._touching(i, fresh)

    def _limits(self, i: int) -> None:
        if i:
            super()._limits(i)

    def _finished(self, i: int) -> None:
        if i:
            super()._finished(i)

    def _force_band(self, slot: Slot, tau: float, mean: float) -> tuple[float, float]:
        if slot.support.leave == "end" or tau >= 0.08:
            return 0.03 if tau < 0.985 or slot.support.leave == "end" else 0.0, FORCE_CAP
        return 0.1, FORCE_CAP

    def _stressed(self, at: Instant, number: int, both: bool) -> None:
        if self.phases[at.phase].support.leave == "end":
            super()._stressed(at, number, both)
            return
        share = self.terms.strength
        if at.tau < IMPACT_UNTIL:
            share = max(share, self.terms.impact)
        for free in ("", "free_"):
            for k, joint in enumerate(reversed(LEGS)):
                self._curved(at, free + joint, INSIDE * share, int(at.extra[k]))
        self._arms(at)

    def _swung(self, at: Instant) -> None:
        # As the foot leaves, second derivatives are not those of the contact before.
        if at.phase == 1 and at.tau == 0.0:
            return
        share = INSIDE * max(1.0, self.terms.strength)
        runs = at.phase == 1 and self.phases[0].support.leave == "run"
        for side in ("r_", "l_"):
            for joint in LEGS:
                self._curved(at, side + joint, share * (RUN_IN if runs else 1.0), None)
        self._arms(at, RUN_IN if runs else 1.0)

    def _curved(self, at: Instant, name: str, share: float, over: int | None) -> None:
        """Under the column either way; `over` is the unknown that says how many times it is let through."""
        joint = name.rsplit("_", 1)[-1]
        for sign, way in (("+", 1.0), ("-", -1.0)):
            if joint + sign == "ankle+":
                at.row(f"{name} toes up", {name: 1.0}, -INF, TOES_UP)
                continue
            s = STRENGTH[joint + sign]
            most, others = (1.0, []) if over is None else (0.0, [(over, -1.0)])
            line = {name: way / (share * s.isometric), f"{name} speed": way / s.fastest}
            at.row(f"{name}{sign} line", line, -INF, most, others)
            at.row(f"{name}{sign} top", {name: way / (share * s.eccentric)}, -INF, most, others)

    def _arms(self, at: Instant, times: float = 1.0) -> None:
        for side in ("r_", "l_"):
            for joint, most in ARMS.items():
                room = INSIDE * times * most
                at.row(f"{side}{joint}", {side + joint: 1.0}, -room, room)

    def _joins(self) -> Joins:
        """All but the second derivatives where the part begins: they were asked of no strength."""
        joins = super()._joins()
        kept = np.array([not label.startswith("0: second") for label in joins.labels])
        labels = [label for label, keep in zip(joins.labels, kept, strict=True) if keep]
        return Joins(joins.cells[kept], joins.w[kept], joins.order[kept, 0], labels)

    def _coach(self) -> None:
        super()._coach()
        apart = self.terms.arms
        index, last = self.places[2].angles, self.phases[2].count - 1
        if apart is not None:
            # The arm of the take-off side swings forward with the free leg.
            ahead, behind = ("r", "l") if self.phases[2].support.side == "r" else ("l", "r")
            arms = [
                (index[last, AT[f"{s}_upper_arm"]], w) for s, w in ((ahead, 1.0), (behind, -1.0))
            ]
            self.line(arms, apart - 0.02, apart + 0.02, "2: arms apart")
        if self.terms.still:
            self._still(index)

    def _still(self, index: Whole) -> None:
        for c in range(1, len(index)):
            for name in ("r_upper_arm", "l_upper_arm"):
                terms = [(index[c, AT[name]], 1.0), (index[0, AT[name]], -1.0)]
                terms += [(index[c, AT["trunk"]], -1.0), (index[0, AT["trunk"]], 1.0)]
                self.line(terms, -0.02, 0.02, f"2:{c} {name} still")
            for name in ("r_elbow", "l_elbow"):
                terms = [(index[c, AT[name]], 1.0), (index[0, AT[name]], -1.0)]
                self.line(terms, -0.02, 0.02, f"2:{c} {name} still")

    def _weigh(self) -> None:
        """The objective: length or speed, and only a light pull to the key poses."""
        share = self.terms.shape
        self.quadratic = [(cols, share * q) for cols, q in self.quadratic if len(cols) > 1]
        self.lean = [share * value for value in self.lean]
        for place in self.places:
            self.lean[place.time] = 0.0
            for col in () if place.fall is None else place.fall:
                self.lean[int(col)] = 0.0
        for slot, place in zip(self.phases, self.places, strict=True):
            if place.slack is None or slot.support.leave == "end":
                continue
            for col in place.slack:
                self.low[col], self.high[col], self.start[col] = 0.999, 8.0, 1.5
                self.lean[col] = -OVER
        reward = self.terms.reward
        for k, i in enumerate(sorted(self.further)):
            self.lean[self.further[i]] += reward[min(k, len(reward) - 1)]
        fall = self.places[3].fall
        assert fall is not None
        self.lean[int(fall[2])] += self.terms.speed

    def _fix(self, cols: Whole, values: Array) -> None:
        for col, value in zip(cols.ravel(), np.asarray(values, float).ravel(), strict=True):
            if col >= 0:
                self.low[col] = self.high[col] = self.start[col] = float(value)

    def _stand_before(self) -> None:
        """The first contact, and how the body flies from it."""
        x = start_from(self, self.part)
        assert x is not None
        here, air = self.places[0], self.places[1]
        cols = here.angles[here.angles >= 0]
        self._fix(cols, x[cols])
        self._fix(np.array([here.time]), x[[here.time]])
        assert here.slack is not None
        assert here.landing is not None
        assert air.fall is not None
        self._fix(here.slack, np.ones(3))
        self._fix(here.landing, np.zeros(4))
        phase, landed = self.part.phases[1], self.places[2].landing
        assert landed is not None
        velocity = phase.velocity if self.terms.hop is None else np.array(self.terms.hop)
        place, speed = _fallen(phase, phase.duration, phase.velocity)
        time = phase.duration
        if self.terms.hop is not None:
            # As high at touchdown as before: only the time in the air changes.
            up = velocity[1]
            time = (up + np.sqrt(up**2 + 2 * GRAVITY * (phase.com[1] - place[1]))) / GRAVITY
            speed = velocity - np.array([0.0, GRAVITY * time])
        middle = np.linspace(self.part.starts[1], self.part.starts[2], 41)[1:-1]
        spin = float(self.part.frames(middle, 1).momentum.mean()) / self.body.mass
        begins = np.array([place[0] - velocity[0] * time, phase.com[1]])
        self.back = float(begins[0] - phase.com[0])
        self._fix(air.fall, np.array([*begins, *velocity, spin]))
        self._fix(np.array([air.time]), np.array([time]))
        self._fix(landed, np.array([*place, *speed]))

    def _land(self) -> None:
        """Ranges of what is free, and how sand, or the next contact, is met."""
        for i, (slot, place) in enumerate(zip(self.phases, self.places, strict=True)):
            if i < 2:
                continue
            if slot.kind == "flight" or slot.support.leave != "end":
                self.low[place.time], self.high[place.time] = RANGES[slot.kind]
            if place.fall is not None:
                for col in map(int, place.fall[2:4]):
                    self.low[col] -= SPEEDS
                    self.high[col] += SPEEDS
            if place.landing is not None and i > 2:
                sand = slot.support.surface == "sand"
                if sand or (self.terms.meets and i == 4):
                    phase = self.part.phases[i - 1]
                    where, _ = _fallen(phase, phase.duration, phase.velocity)
                    self._fix(place.landing[:2], where)


def _fallen(phase: Phase, time: float, velocity: Array) -> tuple[Array, Array]:
    """Where the centre of mass of a flight is after a time, and how fast [m], [m/s]."""
    down = np.array([0.0, GRAVITY])
    return phase.com + velocity * time - down * time**2 / 2, velocity - down * time


def moved(build: Freed, x: Array) -> Motion:
    """The motion a vector of unknowns stands for, its marks where the jump falls."""
    supports, flights = list(build.chain.supports), list(build.chain.flights)
    shift = 0.0
    supports[0] = replace(supports[0], toe=supports[0].toe + build.back)
    found: list[Phase] = []
    for i, (phase, place) in enumerate(zip(unpack(build, x).phases, build.places, strict=True)):
        k = phase.slot.index
        if place.fall is not None:
            vx, vy = map(float, phase.velocity)
            supports[k] = replace(supports[k], vx=vx, vy=vy)
            flights[k] = phase.duration
            found.append(replace(phase, com=phase.com + np.array([shift, 0.0])))
            shift += float(x[build.further[i]]) if i in build.further else 0.0
            continue
        if i:
            speed = float(x[place.landing[2]]) if place.landing is not None else 0.0
            toe = supports[k].toe + shift
            supports[k] = replace(supports[k], toe=toe, vx_in=speed, duration=phase.duration)
        found.append(phase)
    chain = Chain(tuple(supports), tuple(flights))
    phases = tuple(replace(p, slot=slot) for p, slot in zip(found, slots(chain), strict=True))
    return Motion(build.body, chain, build.settings, phases)
