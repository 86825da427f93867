"""The unknowns of a chain: where each one sits, its bounds, its start, its pull to the key poses."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from animate.body.body import Body
from animate.motion.chain import Chain, Settings
from animate.motion.solver import mechanics as me
from animate.motion.solver.form import DEGREE, FREE, Slot, basis, flat_coefficients, slots
from animate.motion.solver.program import Program, Whole
from animate.motion.solver.reference import pulls, reference
from animate.motion.solver.tuning import (
    BOUNDS,
    DURATION_BAND,
    JERK_WEIGHT,
    LEAN,
    SAND_TOES,
    SMOOTH,
    SMOOTH_WEIGHT,
    SPEED_WEIGHT,
    TALL,
    TOE_OFF_MARK,
    part,
)

N: Final = len(FREE)
INF: Final = float("inf")
AT: Final = {name: i for i, name in enumerate(FREE)}

TOLERANCE: Final = 0.08
"""Speeds are held this near the plan [m/s]; .1 is promised."""


class Places:
    """Numbers the unknowns and collects the objective."""

    def __init__(self, chain: Chain, body: Body, settings: Settings) -> None:
        self.chain, self.body, self.settings = chain, body, settings
        self.p = me.body_vector(body)
        self.phases = slots(chain)
        # L (1 - cos a) is how far turning the foot up by a takes the toe back.
        self.heel_first = float(np.sqrt(2 * TOE_OFF_MARK / body.lengths[-1]))
        self.program = Program()
        self.low: dict[int, float] = {}
        self.high: dict[int, float] = {}
        self.start: dict[int, float] = {}
        self.quad: list[tuple[int, int, float]] = []
        self.linear: dict[int, float] = {}
        self.coefficients: list[Whole] = []
        self.base: list[Whole | None] = []
        self.time: list[int] = []
        self.fall: list[Whole | None] = []
        self.slack: list[Whole | None] = []
        self.landing: list[Whole | None] = []
        self.ends: list[int] = []

    # -- unknowns ---------------------------------------------------------------------------

    def place(self) -> None:
        """Number the unknowns: values are shared where phases meet."""
        previous: Whole | None = None
        for i, slot in enumerate(self.phases):
            index = np.full((slot.count, N), -2)
            if previous is not None:
                index[0] = previous
            held = self._held(slot)
            both = slot.kind == "contact" and slot.support.side == "both"
            after = self.phases[i + 1] if i + 1 < len(self.phases) else None
            for c in range(slot.count):
                for d in range(N):
                    if index[c, d] != -2:
                        continue
                    if (c, d) in held or (
                        c == slot.count - 1 and after is not None and (0, d) in self._held(after)
                    ):
                        index[c, d] = -1
                    elif (
                        both
                        and FREE[d].startswith("l_")
                        and part(FREE[d])
                        in (
                            "thigh",
                            "knee",
                            "foot",
                        )
                    ):
                        index[c, d] = index[c, AT["r_" + part(FREE[d])]]
                    else:
                        index[c, d] = self.program.unknowns(1)[0]
            if after is not None and after.kind == "contact" and after.support.side == "both":
                for name in ("thigh", "knee", "foot"):
                    index[-1, AT["l_" + name]] = index[-1, AT["r_" + name]]
            previous = index[-1]
            self.coefficients.append(index)
            self._guess(i, slot, index)
            self._others(i, slot)
            self.ends.append(self.program.size)

    def _held(self, slot: Slot) -> set[tuple[int, int]]:
        if slot.kind == "flight" or slot.support.surface == "sand":
            return set()
        first, last = flat_coefficients(slot)
        return {(c, AT[f"{s}_foot"]) for s in slot.stance for c in range(first, last)}

    def _guess(self, i: int, slot: Slot, index: Whole) -> None:
        tau = np.linspace(0, 1, 4 * (slot.count - DEGREE) + 1)
        want = reference(self.chain, self.settings, i, tau)
        fit = basis(np.array(slot.breaks), tau)
        weight = np.ones(len(tau))
        weight[[0, -1]] = 30.0
        coef = np.linalg.lstsq(fit * weight[:, None], want * weight[:, None], rcond=None)[0]
        bounds = {k: np.radians(v) for k, v in BOUNDS.items()}
        second = basis(np.array(slot.breaks), tau, 2) / slot.nominal**2
        third = basis(np.array(slot.breaks), tau, 3) / slot.nominal**3
        share = slot.nominal / len(tau)
        supports = self.chain.supports
        before = supports[slot.index - 1] if slot.index else None
        after = supports[slot.index + 1] if slot.index + 1 < len(supports) else None
        pull = pulls(slot, before, after, tau)
        for d, name in enumerate(FREE):
            low, high = bounds[part(name)]
            if name == "trunk" and self._upright(slot):
                low = math.radians(TALL)
            on_ground = part(name) == "foot" and name[0] in slot.stance
            for c in range(slot.count):
                col = int(index[c, d])
                if col < 0:
                    continue
                if on_ground and slot.support.surface == "track":
                    toe = c >= slot.count - DEGREE
                    self.low[col], self.high[col] = (-1.45, 0.0) if toe else (0.0, self.heel_first)
                else:
                    low = max(low, SAND_TOES) if on_ground else low
                    self.low[col] = max(self.low.get(col, -INF), low)
                    self.high[col] = min(self.high.get(col, INF), high)
                self.start[col] = float(
                    np.clip(coef[c, d], self.low[col] + 1e-3, self.high[col] - 1e-3)
                )
            lean, smooth = LEAN[part(name)], SMOOTH[part(name)]
            drawn = lean * pull[:, d : d + 1] * fit
            gram = drawn.T @ fit + smooth * SMOOTH_WEIGHT * second.T @ second
            gram = (gram + smooth * JERK_WEIGHT * third.T @ third) * share
            linear = share * drawn.T @ want[:, d]
            cols = index[:, d]
            for a in range(slot.count):
                if cols[a] < 0:
                    continue
                self.linear[cols[a]] = self.linear.get(cols[a], 0.0) + linear[a]
                for b in range(slot.count):
                    if cols[b] >= cols[a]:
                        self.quad.append((cols[a], cols[b], gram[a, b]))

    def _upright(self, slot: Slot) -> bool:
        """Whether the trunk is kept tall: not from standing, nor folding for a landing."""
        s, then = slot.support, slot.then
        folds = then is not None and (then.side == "both" or then.surface == "sand")
        return s.arrive != "stand" and s.surface == "track" and s.side != "both" and not folds

    def _soft(self, col: int, target: float, weight: float) -> None:
        self.quad.append((col, col, weight))
        self.linear[col] = self.linear.get(col, 0.0) + weight * target

    def _others(self, i: int, slot: Slot) -> None:
        new = self.program.unknowns
        (t,) = new(1)
        self.time.append(t)
        down, up = DURATION_BAND[slot.kind]
        self.low[t], self.high[t] = down * slot.nominal, up * slot.nominal
        self.start[t] = slot.nominal
        self._soft(t, slot.nominal, 0.5 / slot.nominal**2)
        if slot.kind == "flight":
            cols = new(5)
            self.fall.append(cols)
            self.slack.append(None)
            self.landing.append(None)
            self.base.append(None)
            s = slot.support
            for col, value, band in (
                (cols[0], s.toe + 0.35, 3.0),
                (cols[1], 0.6 * self.body.stature, 1.0),
                (cols[2], s.vx, TOLERANCE),
                (cols[3], s.vy, TOLERANCE),
                (cols[4], 0.0, INF),
            ):
                self.start[col] = value
                self.low[col], self.high[col] = value - band, value + band
            self._soft(cols[2], s.vx, SPEED_WEIGHT)
            self._soft(cols[3], s.vy, SPEED_WEIGHT)
            return
        self.fall.append(None)
        slack, landing = new(3), new(4)
        self.slack.append(slack)
        self.landing.append(landing)
        for col in slack:
            self.low[col], self.high[col], self.start[col] = 0.95, 4.0, 1.05
            self.linear[col] = self.linear.get(col, 0.0) - 0.3
        for col, value in zip(
            landing,
            (slot.support.toe - 0.3, 0.55 * self.body.stature, slot.support.vx_in, -1.0),
            strict=True,
        ):
            self.low[col], self.high[col], self.start[col] = -INF, INF, value
        if slot.support.surface == "sand":
            index = np.full((slot.count, 2), -1)
            index[1:, 0], index[1:, 1] = new(slot.count - 1), new(slot.count - 1)
            for c in range(1, slot.count):
                self.low[index[c, 0]], self.high[index[c, 0]] = 0.0, 0.45
                self.low[index[c, 1]], self.high[index[c, 1]] = -0.14, 0.0
                self.start[index[c, 0]] = 0.2 * min(1.0, c / 3)
                self.start[index[c, 1]] = -0.08 * min(1.0, c / 3)
                self._soft(index[c, 0], 0.2 * min(1.0, c / 3), 0.02)
                self._soft(index[c, 1], -0.09 * min(1.0, c / 3), 0.05)
            self.base.append(index)
        else:
            self.base.append(None)
