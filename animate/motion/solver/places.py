"""The unknowns of a chain: where each one sits, its bounds, its start, its pull to the key poses."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from animate.body.stances import takeoff
from animate.motion.chain import Chain, Settings
from animate.motion.solver.blocks import Whole
from animate.motion.solver.form import DEGREE, FREE, Slot, basis, flat_coefficients, slots
from animate.motion.solver.reference import pulls, reference
from animate.motion.solver.tuning import (
    BACK,
    BOUNDS,
    CONTACT_TIME,
    DURATION_BAND,
    EASED,
    HEIGHT_WEIGHT,
    JERK_WEIGHT,
    LEAN,
    SAND_TOES,
    SMOOTH,
    SMOOTH_WEIGHT,
    SPEED_WEIGHT,
    STILL_WEIGHT,
    TALL,
    TOE_OFF_MARK,
    TOUCH,
    part,
)

N: Final = len(FREE)
INF: Final = float("inf")
AT: Final = {name: i for i, name in enumerate(FREE)}
LEG: Final = ("thigh", "knee", "foot")

TOLERANCE: Final = 0.08
"""Speeds are held this near the plan [m/s]; .1 is promised."""


@dataclass(frozen=True, eq=False)
class Place:
    """Unknowns of one phase, -1 where a coefficient is held at nought.

    angles: (count, 11).
    base: (count, 2), path of the heels, in sand.
    fall: (5,), in a flight: centre of mass (x, z) and its velocity at take-off, angular momentum.
    slack: (3,), of a contact: how far ankle, knee and hip may go beyond their ceilings.
    landing: (4,), of a contact: centre of mass and its velocity at touchdown.
    """

    angles: Whole
    base: Whole | None
    time: int
    fall: Whole | None
    slack: Whole | None
    landing: Whole | None


class Places:
    """Numbers the unknowns and collects the objective."""

    def __init__(self, chain: Chain, body: Body, settings: Settings, posed: bool = True) -> None:
        self.chain, self.body, self.settings, self.posed = chain, body, settings, posed
        self.phases = slots(chain)
        # Where no motion is found as near the plan, the mechanics come first here too.
        self.speed_weight = SPEED_WEIGHT if posed else EASED * SPEED_WEIGHT
        # L (1 - cos a) is how far turning the foot up by a takes the toe back.
        self.heel_first = float(np.sqrt(2 * TOE_OFF_MARK / body.lengths[-1]))
        self.low: list[float] = []
        self.high: list[float] = []
        self.start: list[float] = []
        self.lean: list[float] = []
        self.quadratic: list[tuple[Whole, Array]] = []
        self.ends: list[int] = [0]
        self.places: list[Place] = []
        self.further: dict[int, int] = {}
        previous: Whole | None = None
        for i, slot in enumerate(self.phases):
            angles = self._numbered(i, previous)
            self._guess(i, angles)
            self.places.append(self._others(slot, angles))
            self.ends.append(len(self.low))
            previous = angles[-1]

    def new(self, low: float, high: float, start: float) -> int:
        """A new unknown between bounds."""
        for values, value in ((self.low, low), (self.high, high), (self.start, start)):
            values.append(value)
        self.lean.append(0.0)
        return len(self.low) - 1

    def soft(self, col: int, target: float, weight: float) -> None:
        """Draw an unknown to a value."""
        self.quadratic.append((np.array([col]), np.array([[weight]])))
        self.lean[col] += weight * target

    def _numbered(self, i: int, previous: Whole | None) -> Whole:
        """Numbers of a phase's coefficients: values are shared where phases meet, and by both legs."""
        slot = self.phases[i]
        after = self.phases[i + 1] if i + 1 < len(self.phases) else None
        held, then = self._held(slot), self._held(after)
        both = slot.kind == "contact" and slot.support.side == "both"
        lands_on_both = after is not None and len(after.stance) == 2
        index = np.full((slot.count, N), -1)
        for c in range(slot.count):
            last = c == slot.count - 1
            for d, name in enumerate(FREE):
                alike = name[0] == "l" and part(name) in LEG and (both or (last and lands_on_both))
                if c == 0 and previous is not None:
                    index[c, d] = previous[d]
                elif (c, d) in held or (last and (0, d) in then):
                    continue
                elif alike:
                    index[c, d] = index[c, AT["r_" + part(name)]]
                else:
                    index[c, d] = self.new(-INF, INF, 0.0)
        return index

    def _held(self, slot: Slot | None) -> set[tuple[int, int]]:
        """Coefficients of flat feet."""
        if slot is None or slot.kind == "flight" or slot.support.surface == "sand":
            return set()
        first, last = flat_coefficients(slot)
        return {(c, AT[f"{s}_foot"]) for s in slot.stance for c in range(first, last)}

    def _guess(self, i: int, index: Whole) -> None:
        """Bounds, start and pull of the angles' coefficients."""
        slot = self.phases[i]
        tau = np.linspace(0, 1, 4 * (slot.count - DEGREE) + 1)
        want = reference(self.chain, self.settings, i, tau)
        breaks = np.array(slot.breaks)
        fit = basis(breaks, tau)
        weight = np.ones((len(tau), 1))
        weight[[0, -1]] = 30.0
        coef = np.linalg.lstsq(fit * weight, want * weight, rcond=None)[0]
        second, third = (basis(breaks, tau, k) / slot.nominal**k for k in (2, 3))
        share = slot.nominal / len(tau)
        bent = share * SMOOTH_WEIGHT * second.T @ second + share * JERK_WEIGHT * third.T @ third
        supports, k = self.chain.supports, slot.index
        after = supports[k + 1] if k + 1 < len(supports) else None
        pull = pulls(slot, supports[k - 1] if k else None, after, tau)
        if not self.posed and slot.support.leave == "run" and slot.kind == "contact":
            pull[tau > TOUCH] = 1.0
        for d, name in enumerate(FREE):
            for c, col in enumerate(index[:, d]):
                if col >= 0:
                    self._bound(slot, name, c, int(col))
                    inside = self.low[col] + 1e-3, self.high[col] - 1e-3
                    self.start[col] = float(np.clip(coef[c, d], *inside))
            drawn = share * LEAN[part(name)] * pull[:, d, None] * fit
            real = index[:, d] >= 0
            cols = index[real, d]
            gram = drawn.T @ fit + SMOOTH[part(name)] * bent
            self.quadratic.append((cols, gram[np.ix_(real, real)]))
            for col, value in zip(cols, (drawn.T @ want[:, d])[real], strict=True):
                self.lean[col] += float(value)

    def _bound(self, slot: Slot, name: str, c: int, col: int) -> None:
        low, high = (math.radians(v) for v in BOUNDS[part(name)])
        on_ground = part(name) == "foot" and name[0] in slot.stance
        if on_ground and slot.support.surface == "track":
            toe = c >= slot.count - DEGREE
            self.low[col], self.high[col] = (-1.45, 0.0) if toe else (0.0, self.heel_first)
            return
        if name == "trunk" and self._upright(slot):
            low = math.radians(TALL)
            if self.posed and not self.chain.supports[-1].held:
                high = math.radians(BACK)
        low = max(low, SAND_TOES) if on_ground else low
        self.low[col] = max(self.low[col], low)
        self.high[col] = min(self.high[col], high)

    def _upright(self, slot: Slot) -> bool:
        """Whether the trunk is kept tall: not from standing, nor folding for a landing."""
        s, then = slot.support, slot.then
        folds = then is not None and (then.side == "both" or then.surface == "sand")
        return s.arrive != "stand" and s.surface == "track" and s.side != "both" and not folds

    def _others(self, slot: Slot, angles: Whole) -> Place:
        """Duration, and what a flight or a contact has beside its angles."""
        s, nominal = slot.support, slot.nominal
        down, up = (share * nominal for share in DURATION_BAND[slot.kind])
        if slot.kind == "contact" and s.arrive != "stand" and s.leave != "end":
            down, up = nominal - CONTACT_TIME, nominal + CONTACT_TIME
        time = self.new(down, up, nominal)
        self.soft(time, nominal, 0.5 / nominal**2)
        if slot.kind == "flight":
            fall = [
                self.new(value - band, value + band, value)
                for value, band in (
                    (s.toe + 0.35, 3.0),
                    (0.6 * self.body.stature, 1.0),
                    (s.vx, TOLERANCE),
                    (s.vy, TOLERANCE),
                    (0.0, INF),
                )
            ]
            self.soft(fall[2], s.vx, self.speed_weight)
            self.soft(fall[3], s.vy, self.speed_weight)
            if self.posed:
                pose = takeoff(self.body, "stand" if s.arrive == "stand" else s.leave)
                self.soft(fall[1], float(pose.at(s.vx).height), HEIGHT_WEIGHT)
            return Place(angles, None, time, np.array(fall), None, None)
        slack = np.array([self.new(0.95, 4.0, 1.05) for _ in range(3)])
        for col in slack:
            self.lean[col] -= 0.3
        state = s.toe - 0.3, 0.55 * self.body.stature, s.vx_in, -1.0
        landing = np.array([self.new(-INF, INF, value) for value in state])
        if s.held:
            rest = s.toe - 0.1, 0.55 * self.body.stature, 0.0, 0.0
            self.rest = np.array([self.new(-INF, INF, value) for value in rest])
            for col in self.rest[2:]:
                self.soft(int(col), 0.0, STILL_WEIGHT)
        base = self._dug_in(slot.count) if s.surface == "sand" else None
        return Place(angles, base, time, None, slack, landing)

    def _dug_in(self, count: int) -> Whole:
        """The heels' path from the break: forward and down."""
        index = np.full((count, 2), -1)
        for c in range(1, count):
            far = min(1.0, c / 3)
            index[c] = self.new(0.0, 0.45, 0.2 * far), self.new(-0.14, 0.0, -0.08 * far)
            self.soft(int(index[c, 0]), 0.2 * far, 0.02)
            self.soft(int(index[c, 1]), -0.09 * far, 0.05)
        return index
