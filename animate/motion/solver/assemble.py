"""From a chain, a body and the coach's settings to a filled-in program."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from animate.body.stances import GRAVITY
from animate.motion.chain import Chain, Settings
from animate.motion.solver import mechanics as me
from animate.motion.solver.form import FREE, FREE_MIRROR, Slot, basis, flat_span
from animate.motion.solver.places import AT, INF, TOLERANCE, N, Places
from animate.motion.solver.program import Program, Whole
from animate.motion.solver.tuning import (
    ANKLE,
    FORCE_CAP,
    HIP,
    LAST_CAP,
    SAND_HOLDS,
    SAND_SINKS,
    SAND_SLOWS,
    SEAT,
    SHOULDER,
    SPEED_WEIGHT,
    pair,
)


@dataclass(eq=False)
class Filled:
    """A program with its start, bounds and the places of the unknowns."""

    program: Program
    phases: tuple[Slot, ...]
    coefficients: list[Whole]
    base: list[Whole | None]
    time: list[int]
    fall: list[Whole | None]
    slack: list[Whole | None]
    start: Array
    low: Array
    high: Array
    quadratic: Array
    lean: Array
    stature: float
    ends: Whole


_C: Final = {name: k for k, name in enumerate(me.CONTACT_ROWS)}
_F: Final = {name: k for k, name in enumerate(me.FLIGHT_ROWS)}
_SELDOM: Final = ("dorsi", "knee_bend", "free_knee_extend", "free_knee_bend")
"""Moments that seldom reach their ceiling: held at every other instant."""


class _Build(Places):
    """Adds the rows."""

    # -- instants ---------------------------------------------------------------------------

    def _entries(self, i: int, tau: float) -> list[tuple[int, int, float]]:
        slot, index = self.phases[i], self.coefficients[i]
        if slot.kind == "contact" and slot.support.side == "l":
            index = index[:, FREE_MIRROR]
        out: list[tuple[int, int, float]] = []
        rows = [basis(np.array(slot.breaks), np.array([tau]), k)[0] for k in range(3)]
        for k, row in enumerate(rows):
            for c in np.flatnonzero(row):
                out += [(k * N + d, int(index[c, d]), float(row[c])) for d in range(N)]
        if slot.kind == "flight":
            fall = self.fall[i]
            assert fall is not None
            out += [(3 * N, self.time[i], 1.0)]
            out += [(3 * N + 1 + j, int(fall[j]), 1.0) for j in range(5)]
            return out
        base = self.base[i]
        if base is not None:
            for k, row in enumerate(rows):
                for c in np.flatnonzero(row):
                    out += [(3 * N + 2 * k + j, int(base[c, j]), float(row[c])) for j in (0, 1)]
        slack = self.slack[i]
        assert slack is not None
        out += [(3 * N + 6, self.time[i], 1.0)]
        out += [(3 * N + 7 + j, int(slack[j]), 1.0) for j in range(3)]
        return out

    def contact(self, i: int) -> None:
        """Rows of one contact."""
        slot = self.phases[i]
        sand = slot.support.surface == "sand"
        taus = _grid(slot.breaks, 4 if sand else 3)
        if not sand:
            taus = sorted({*taus, 0.02, 0.06, 0.875, 0.925, 0.975, 0.99})
        self._touching(i, taus)
        landing = self.landing[i]
        assert landing is not None
        if i == 0:
            self._first(landing)
        self._entering(i, landing)

    def _touching(self, i: int, taus: list[float]) -> None:
        """Rows of a contact at some instants."""
        slot, row = self.phases[i], self.program.row
        s = slot.support
        sand, both = s.surface == "sand", s.side == "both"
        last = i + 1 == len(self.phases)
        weights = self._mean_force(i)
        for number, tau in enumerate(taus):
            values = np.concatenate([self.p, self._footing(slot, tau)])
            at = self.program.instant(me.contact_kernel(), self._entries(i, tau), values)
            if tau == 0.0:
                self._meets(at, self.landing[i], "start of contact")
            if tau == 1.0 and not last:
                self._meets(at, self.fall[i + 1], "take-off")
                row(at, _C["fz"], 0, 0, label="no force at take-off")
                row(at, _C["fx"], 0, 0, label="no force at take-off")
            else:
                low, high = self._force_band(slot, tau, weights)
                row(at, _C["fz"], low, high, label="fz")
                if sand:
                    self._sinking(at, tau)
                for name in ("cop-", "cop+") if sand else ("grip+", "grip-", "cop-", "cop+"):
                    row(at, _C[name], 0, INF, label=name[:-1])
            for name in me.CONTACT_ROWS[5:15]:
                if not (name.startswith("free") and both) and not (name in _SELDOM and number % 2):
                    row(at, _C[name], -INF, 0, label=name)
            if not both and not (tau == 0.0 and i == 0 and s.arrive == "stand"):
                clear = 0.015 if s.arrive != "stand" else 0.0
                row(at, _C["free_heel"], clear, INF, label="clear")
                row(at, _C["free_toe"], clear, INF, label="clear")
            gap = self.settings.knee_gap
            if not both and tau == 0.0 and s.leave == "step" and gap is not None:
                row(at, _C["knee_gap"], gap - 0.004, gap + 0.004, label="knee gap")

    def _footing(self, slot: Slot, tau: float) -> list[float]:
        """What a contact's kernel is told of the foot: pivot, feet, mark, reach of the pressure."""
        s = slot.support
        feet = 2.0 if s.side == "both" else 1.0
        if s.surface == "sand":
            return [0.0, feet, s.toe, 0.08, 0.97]
        flat_from, flat_to = flat_span(slot)
        heel_turn = tau < (0.0 if s.arrive == "run" else flat_from) - 1e-9
        back, front = 0.03, 0.75 if heel_turn else 0.97
        if tau > flat_to + 1e-9:
            back, front = 0.55, 0.93 if tau < 0.86 else 0.90
        mark = s.toe - float(self.body.lengths[-1])
        return [0.0 if heel_turn else 1.0, feet, mark, back, front]

    def _meets(self, at: tuple[str, int], state: Whole | None, label: str) -> None:
        """The centre of mass is where, and as fast as, four unknowns say."""
        assert state is not None
        for j, name in enumerate(("com_x", "com_z", "com_vx", "com_vz")):
            self.program.row(at, _C[name], 0, 0, [(int(state[j]), -1.0)], label)

    def _sinking(self, at: tuple[str, int], tau: float) -> None:
        """In sand the body goes down until it is at rest, and never up again."""
        row = self.program.row
        row(at, _C["fx"], -SAND_HOLDS, SAND_HOLDS, label="hold of the sand")
        row(at, _C["hip_z"], SEAT * self.body.stature, INF, label="seat")
        if tau < 1.0:
            row(at, _C["com_vz"], -INF, 0.0, label="sinking")
            return
        most = SAND_SLOWS if self.chain.supports[-1].side == "both" else INF
        row(at, _C["com_vz"], -SAND_SINKS, 0.0, label="rest in the sand")
        row(at, _C["com_vx"], -0.3, most, label="rest in the sand")

    def _mean_force(self, i: int) -> float:
        """Planned mean vertical force of a contact [body weights]."""
        s = self.phases[i].support
        if i == 0:
            down = 0.0 if s.arrive == "stand" else -0.7
        else:
            before = self.phases[i - 1]
            down = before.support.vy - GRAVITY * before.nominal
        up = s.vy if s.leave != "end" else 0.0
        return max(1.0, 1 + (up - down) / (GRAVITY * s.duration))

    def _force_band(self, slot: Slot, tau: float, mean: float) -> tuple[float, float]:
        """Floor and ceiling of the vertical force: one push, never let go of half-way."""
        s = slot.support
        if s.leave == "end" and s.surface == "track":
            return 0.03, LAST_CAP
        if s.arrive == "stand" or s.leave == "end":
            return 0.03, FORCE_CAP
        if tau < 0.08:
            return 0.1, min(FORCE_CAP, 1.3 * mean)
        if tau <= 0.80:
            return 0.5 * mean, min(FORCE_CAP, 2.2 * mean)
        return 0.03 if tau < 0.985 else 0.0, FORCE_CAP

    def _first(self, landing: Whole) -> None:
        s = self.chain.supports[0]
        if s.arrive == "stand":
            for col in landing[2:]:
                self.low[int(col)] = self.high[int(col)] = self.start[int(col)] = 0.0
            index = self.coefficients[0]
            alike = s.side == "both"
            for d in range(N):
                if alike and d >= AT["l_thigh"]:
                    continue
                self.program.line([(int(index[1, d]), 1.0), (int(index[0, d]), -1.0)], 0, 0, "rest")
            return
        vx, vz = int(landing[2]), int(landing[3])
        self.low[vx], self.high[vx] = s.vx_in - TOLERANCE, s.vx_in + TOLERANCE
        self._soft(vx, s.vx_in, SPEED_WEIGHT)
        down = (-1.3, -0.3) if s.arrive == "run" else (-4.0, -0.5)
        self.low[vz], self.high[vz] = down
        self.start[vz] = 0.5 * sum(down)

    def _entering(self, i: int, landing: Whole) -> None:
        """Fall of the flight before, and agreement of rates, at this touchdown."""
        if i == 0:
            return
        fall = self.fall[i - 1]
        assert fall is not None
        entries = [(0, self.time[i - 1], 1.0)]
        entries += [(1 + j, int(fall[j]), 1.0) for j in range(4)]
        entries += [(5 + j, int(landing[j]), 1.0) for j in range(4)]
        at = self.program.instant(me.fall_kernel(), entries, np.zeros(1))
        for j in range(4):
            self.program.row(at, j, 0, 0, label="touchdown")

    def join(self, i: int) -> None:
        """Rates agree where phase i meets the next; second derivatives too at take-off."""
        kernel = me.join_kernel()
        entries: list[tuple[int, int, float]] = []
        for k, (phase, tau) in enumerate(((i, 1.0), (i + 1, 0.0))):
            slot, index = self.phases[phase], self.coefficients[phase]
            for der in (1, 2):
                row = basis(np.array(slot.breaks), np.array([tau]), der)[0]
                for c in np.flatnonzero(row):
                    entries += [
                        ((2 * k + der - 1) * N + d, int(index[c, d]), float(row[c]))
                        for d in range(N)
                    ]
            entries.append((4 * N + k, self.time[phase], 1.0))
        at = self.program.instant(kernel, entries, np.zeros(1))
        takeoff = self.phases[i].kind == "contact"
        for j in range(N):
            self.program.row(at, j, 0, 0, label="rate " + FREE[j])
        if takeoff:
            for j in range(N):
                self.program.row(at, N + j, 0, 0, label="second " + FREE[j])

    def flight(self, i: int) -> None:
        """Rows of one flight."""
        slot, prog = self.phases[i], self.program
        per = 4 if slot.support.leave == "run" else 3
        taus = _grid(slot.breaks, per)
        near = [taus[0] + (taus[1] - taus[0]) / 2]
        near += [a + (b - a) / 2 for a, b in zip(taus[-5:-1], taus[-4:], strict=True)]
        for tau in near:
            self._steady(i, tau)
        for number, tau in enumerate(taus):
            at = self._flying(i, tau)
            prog.row(at, _F["momentum"], 0, 0, label="momentum")
            # Moments change slowly in the air: every other instant is enough.
            for name in me.FLIGHT_ROWS[5:] if number % 2 == 0 or tau == 1.0 else ():
                prog.row(at, _F[name], -INF, 0.95, label=name)
            if tau not in (0.0, 1.0):
                self._above(i, tau, at)

    def _flying(self, i: int, tau: float) -> tuple[str, int]:
        values = np.concatenate([self.p, [tau]])
        return self.program.instant(me.flight_kernel(), self._entries(i, tau), values)

    def _steady(self, i: int, tau: float) -> tuple[str, int]:
        """Between the points of the momentum rows only a band holds it: more equations than the
        spline can meet would leave no solution."""
        band = 0.012 / self.body.mass
        at = self._flying(i, tau)
        self.program.row(at, _F["momentum"], -band, band, label="momentum")
        return at

    def _above(self, i: int, tau: float, at: tuple[str, int]) -> None:
        """Feet clear of the ground."""
        slot = self.phases[i]
        then = slot.then
        assert then is not None
        left = ("r", "l") if slot.support.side == "both" else (slot.support.side,)
        comes = ("r", "l") if then.side == "both" else (then.side,)
        for side in "rl":
            low = 0.015
            if side in left:
                low = min(low, 0.1 * tau)
            if side in comes:
                low = min(low, 0.1 * (1 - tau))
            for end in ("heel", "toe"):
                self.program.row(at, _F[f"{side}_{end}"], low, INF, label="clear")

    def more(self, extra: dict[int, list[float]]) -> None:
        """The rows at more instants, after all the others so that those keep their numbers."""
        for i, taus in extra.items():
            if self.phases[i].kind == "contact":
                self._touching(i, taus)
            else:
                for tau in taus:
                    self._above(i, tau, self._steady(i, tau))

    def limits(self, i: int) -> None:
        """Hip and ankle limits on the splines' coefficients (they enclose the curve)."""
        index, line = self.coefficients[i], self.program.line
        for c in range(0 if i == 0 else 1, len(index)):
            col = {name: int(index[c, d]) for name, d in AT.items()}
            trunk = (col["trunk"], -1.0)
            for s in ("r_", "l_"):
                line([(col[s + "upper_arm"], 1.0), trunk], *pair(SHOULDER), label="shoulder limit")
                if s == "l_" and col["l_thigh"] == col["r_thigh"]:
                    continue
                thigh = col[s + "thigh"]
                line([(thigh, 1.0), trunk], *pair(HIP), label="hip limit")
                foot = [(col[s + "foot"], 1.0), (thigh, -1.0), (col[s + "knee"], 1.0)]
                line(foot, *pair(ANKLE), label="ankle limit")

    def coach(self) -> None:
        """What the coach asked, as rows."""
        want = self.settings
        for i, slot in enumerate(self.phases):
            s = slot.support
            if s.leave != "step" or s.side == "both":
                continue
            free = "l_" if s.side == "r" else "r_"
            index = self.coefficients[i]
            if slot.kind == "contact":
                if want.knee_bend is not None:
                    col = int(index[0, AT[free + "knee"]])
                    near = np.radians(1.0)
                    self.program.line(
                        [(col, 1.0)], want.knee_bend - near, want.knee_bend + near, "knee bend"
                    )
                if want.trunk is not None:
                    near = np.radians(2.0)
                    for c in (0, slot.count - 1):
                        self.program.line(
                            [(int(index[c, 0]), 1.0)], want.trunk - near, want.trunk + near, "trunk"
                        )
            elif want.thigh_high is not None:
                self._hold(i, free, want.thigh_high, want.hold)

    def _hold(self, i: int, free: str, high: float, hold: float | None) -> None:
        slot, index = self.phases[i], self.coefficients[i]
        d = AT[free + "thigh"]
        share = min((hold if hold is not None else 0.0) / slot.nominal * 1.08, 0.7)
        begin = 0.12
        for tau in np.linspace(begin, begin + share, 7) if share else [begin + 0.1]:
            row = basis(np.array(slot.breaks), np.array([tau]))[0]
            terms = [(int(index[c, d]), float(row[c])) for c in np.flatnonzero(row)]
            slip = np.radians(3.8 if share else 0.5)
            self.program.line(terms, high - slip, high + np.radians(3.0), "thigh high")


def _grid(breaks: tuple[float, ...], per: int) -> list[float]:
    out: list[float] = []
    for a, b in itertools.pairwise(breaks):
        out += [a + (b - a) * k / per for k in range(per)]
    return [*out, breaks[-1]]


def fill(
    chain: Chain, body: Body, settings: Settings, extra: Sequence[dict[int, list[float]]] = ()
) -> Filled:
    """Set up the program of a chain for one athlete.

    `extra` are more instants to hold the rows at, as fractions by phase number; a longer sequence adds
    rows after those of a shorter one.
    """
    b = _Build(chain, body, settings)
    b.place()
    for i, slot in enumerate(b.phases):
        if slot.kind == "contact":
            b.contact(i)
        else:
            b.flight(i)
        b.limits(i)
        if i + 1 < len(b.phases):
            b.join(i)
    b.coach()
    for instants in extra:
        b.more(instants)
    n = b.program.size

    def vector(table: dict[int, float], default: float) -> Array:
        out = np.full(n, default)
        out[list(table)] = list(table.values())
        return out

    return Filled(
        b.program, b.phases, b.coefficients, b.base, b.time, b.fall, b.slack,
        vector(b.start, 0.0), vector(b.low, -INF), vector(b.high, INF),
        np.array(b.quad, float), vector(b.linear, 0.0), body.stature,
        np.array(b.ends),
    )  # fmt: skip
