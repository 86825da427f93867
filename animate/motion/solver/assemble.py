"""From a chain, a body and the coach's settings to a program: every row is said here.

A row of mechanics is added where its instants are made (`_touching`, `_flying`) with
`Instant.row(name, {quantity: factor}, low, high)`; the quantities are those of
`animate.motion.solver.phasor.Figure`. A row of unknowns alone is a `line`.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from animate.body.body import Body
from animate.body.stances import GRAVITY
from animate.motion.chain import Chain, Settings
from animate.motion.solver.form import Slot, basis, flat_span
from animate.motion.solver.instants import Instant
from animate.motion.solver.ledger import Ledger
from animate.motion.solver.phasor import Figure
from animate.motion.solver.places import AT, INF, TOLERANCE, N
from animate.motion.solver.tuning import (
    ANKLE,
    BETWEEN,
    BETWEEN_RUN,
    CEILING,
    FORCE_CAP,
    HIP,
    LAST_CAP,
    LAST_LEAST,
    MU_TRACK,
    RUN_FADES,
    SAND_HOLDS,
    SAND_SINKS,
    SAND_SLOWS,
    SEAT,
    SHOULDER,
    STRAIGHT,
    pair,
)

Weak = Mapping[int, Sequence[float]]
"""More instants to hold the rows at: fractions by phase."""
_WEIGHT: Final = 1 / GRAVITY
_STATE: Final = ("com_x", "com_z", "com_vx", "com_vz")
_LIMITED: Final = (
    ("ankle", -1.0, "plantar", 0),
    ("ankle", 1.0, "dorsi", 0),
    ("knee", 1.0, "knee_extend", 1),
    ("knee", -1.0, "knee_bend", 1),
    ("hip", 1.0, "hip_bend", 2),
    ("hip", -1.0, "hip_extend", 2),
    ("free_hip", 1.0, "hip_bend", 2),
    ("free_hip", -1.0, "hip_extend", 2),
    ("free_knee", 1.0, "knee_extend", 1),
    ("free_knee", -1.0, "knee_bend", 1),
)
"""Moments of a contact, the way each is limited, and whose slack it has."""
_SELDOM: Final = (("ankle", 1.0), ("knee", -1.0), ("free_knee", 1.0), ("free_knee", -1.0))
"""Of these, those that seldom reach their ceiling: held at every other instant."""


class Build(Ledger):
    """Adds the rows."""

    def __init__(
        self,
        chain: Chain,
        body: Body,
        settings: Settings,
        weak: Sequence[Weak] = (),
        posed: bool = True,
    ) -> None:
        super().__init__(chain, body, settings, posed)
        self.figure = Figure(body)
        self.known[("flight",)] = self.figure.flight()
        more = {i: [t for w in weak for t in w.get(i, ())] for i in range(len(self.phases))}
        for i, slot in enumerate(self.phases):
            if slot.kind == "contact":
                self._contact(i, more[i])
            else:
                self._flight(i, more[i])
            self._limits(i)
            self._finished(i)
        self._coach()

    def _contact(self, i: int, more: Sequence[float]) -> None:
        """Rows of one contact."""
        slot = self.phases[i]
        s = slot.support
        if s.surface == "sand":
            taus = _grid(slot.breaks, 4)
        else:
            between = BETWEEN_RUN if s.leave == "run" else BETWEEN
            taus = sorted({*_grid(slot.breaks, 3), 0.02, 0.06, 0.875, 0.925, 0.975, 0.99, *between})
        self._touching(i, taus)
        self._touching(i, more)
        if i == 0:
            self._first()

    def _standing(self, i: int, tau: float) -> tuple[Instant, float, float]:
        """An instant of a contact, and the reach of the pressure: shares of the foot from the point
        that stands still."""
        slot, place = self.phases[i], self.places[i]
        s = slot.support
        feet = 2.0 if s.side == "both" else 1.0
        flat_from, flat_to = flat_span(slot)
        if s.surface == "sand":
            heel, back, front = True, 0.08, 0.97
        else:
            heel = tau < (0.0 if s.arrive == "run" else flat_from) - 1e-9
            back, front = 0.03, 0.75 if heel else 0.97
            if tau > flat_to + 1e-9:
                back, front = 0.55, 0.93 if tau < 0.86 else 0.90
        kind = ("contact", heel, feet, s.surface)
        if kind not in self.known:
            self.known[kind] = self.figure.contact(heel, feet)
        state = np.full(4, -1)
        assert place.slack is not None
        assert place.landing is not None
        if tau < slot.breaks[1]:
            state = place.landing
        elif tau >= slot.breaks[-2] and s.held:
            state = self.rest
        elif tau >= slot.breaks[-2] and i + 1 < len(self.phases):
            state = self.places[i + 1].fall[:4]  # type: ignore[index]
        at = self._at(i, tau, kind, np.concatenate([place.slack, state]))
        still = 0.0 if heel else 1.0
        return at, back - still, front - still

    def _touching(self, i: int, taus: Sequence[float]) -> None:
        """Rows of a contact at some instants."""
        slot = self.phases[i]
        s = slot.support
        both, last = s.side == "both", i + 1 == len(self.phases)
        mean, foot = self._mean_force(i), self.figure.foot
        for number, tau in enumerate(taus):
            at, back, front = self._standing(i, tau)
            if tau == 0.0:
                self._meets(at, "start of contact")
            if tau == 1.0 and not last:
                self._meets(at, "take-off")
                at.row("no force at take-off", {"fz": _WEIGHT}, 0, 0)
                at.row("no push at take-off", {"fx": _WEIGHT}, 0, 0)
            else:
                at.row("fz", {"fz": _WEIGHT}, *self._force_band(slot, tau, mean))
                if tau == 1.0 and s.held:
                    self._meets(at, "held")
                if s.surface == "sand":
                    self._sinking(at, tau)
                else:
                    for way in (1.0, -1.0):
                        grip = {"fz": MU_TRACK * _WEIGHT, "fx": -way * _WEIGHT}
                        at.row(f"grip {way:+.0f}", grip, 0, INF)
                by_foot = _WEIGHT / foot
                at.row("cop -", {"ground": by_foot, "fz": -back * _WEIGHT}, 0, INF)
                at.row("cop +", {"ground": -by_foot, "fz": front * _WEIGHT}, 0, INF)
            self._stressed(at, number, both)
            if not both and not (tau == 0.0 and i == 0 and s.arrive == "stand"):
                clear = 0.015 if s.arrive != "stand" else 0.0
                for end in ("free_heel", "free_toe"):
                    at.row(f"clear {end}", {end: 1.0}, clear, INF)
            gap = self.settings.knee_gap
            if not both and tau == 0.0 and s.leave == "step" and gap is not None:
                at.row("knee gap", {"knee_gap": 1.0}, gap - 0.004, gap + 0.004)

    def _stressed(self, at: Instant, number: int, both: bool) -> None:
        """Moments of a contact under their ceilings, or at a cost."""
        for name, way, limit, slack in _LIMITED:
            seldom = (name, way) in _SELDOM and number % 2
            if not (both and name.startswith("free")) and not seldom:
                over = [(int(at.extra[slack]), -1.0)]
                at.row(f"{name} {limit}", {name: way / CEILING[limit]}, -INF, 0, over)

    def _meets(self, at: Instant, name: str) -> None:
        """The centre of mass is where, and as fast as, four unknowns say."""
        s = self.phases[at.phase].support
        mark = s.toe if s.surface == "sand" else s.toe - self.figure.foot
        for quantity, col in zip(_STATE, at.extra[3:], strict=True):
            start = -mark if quantity == "com_x" else 0.0
            at.row(f"{name} {quantity}", {quantity: 1.0}, start, start, [(int(col), -1.0)])

    def _sinking(self, at: Instant, tau: float) -> None:
        """In sand the body goes down until it is at rest, and never up again."""
        at.row("hold of the sand", {"fx": _WEIGHT}, -SAND_HOLDS, SAND_HOLDS)
        at.row("seat", {"hip_z": 1.0}, SEAT * self.body.stature, INF)
        if tau < 1.0:
            at.row("sinking", {"com_vz": 1.0}, -INF, 0.0)
            return
        most = SAND_SLOWS if self.chain.supports[-1].side == "both" else INF
        at.row("rest in the sand, down", {"com_vz": 1.0}, -SAND_SINKS, 0.0)
        at.row("rest in the sand, on", {"com_vx": 1.0}, -0.3, most)

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
            return 0.03, max(LAST_LEAST, LAST_CAP * mean)
        if s.arrive == "stand" or s.leave == "end":
            return 0.03, FORCE_CAP
        if self.posed and s.leave == "run" and tau >= 0.5:
            return 0.03 if tau < 0.985 else 0.0, 2 * (1 - tau) * RUN_FADES * mean + 0.03
        if tau < 0.08:
            return 0.1, min(FORCE_CAP, 1.3 * mean)
        if tau <= 0.80:
            return 0.5 * mean, min(FORCE_CAP, 2.2 * mean)
        return 0.03 if tau < 0.985 else 0.0, FORCE_CAP

    def _first(self) -> None:
        """How a motion begins: at rest, or coming in from the stride before."""
        s, landing, index = self.chain.supports[0], self.places[0].landing, self.places[0].angles
        assert landing is not None
        vx, vz = int(landing[2]), int(landing[3])
        if s.arrive == "stand":
            for col in (vx, vz):
                self.low[col] = self.high[col] = self.start[col] = 0.0
            for d in range(AT["l_thigh"] if s.side == "both" else N):
                self.line([(index[1, d], 1.0), (index[0, d], -1.0)], 0, 0, f"rest {d}")
            return
        self.low[vx], self.high[vx] = s.vx_in - TOLERANCE, s.vx_in + TOLERANCE
        self.soft(vx, s.vx_in, self.speed_weight)
        self.low[vz], self.high[vz] = (-1.3, -0.3) if s.arrive == "run" else (-4.0, -0.5)
        self.start[vz] = 0.5 * (self.low[vz] + self.high[vz])

    def _flight(self, i: int, more: Sequence[float]) -> None:
        """Rows of one flight: momentum is exact at some instants and in a band between them, since more
        equations than the spline can meet would leave no solution."""
        slot = self.phases[i]
        taus = _grid(slot.breaks, 4 if slot.support.leave == "run" else 3)
        near = [(a + b) / 2 for a, b in itertools.pairwise(taus)]
        for tau in near:
            self._flying(i, tau, 0.012 / self.body.mass)
        for number, tau in enumerate(taus):
            at = self._flying(i, tau, 0.0)
            # Moments change slowly in the air: every other instant is enough.
            if number % 2 == 0 or tau == 1.0:
                self._swung(at)
            if tau not in (0.0, 1.0):
                self._above(at)
        for tau in more:
            self._above(self._flying(i, tau, 0.012 / self.body.mass))

    def _flying(self, i: int, tau: float, band: float) -> Instant:
        fall = self.places[i].fall
        assert fall is not None
        at = self._at(i, tau, ("flight",), fall[[1, 3, 4]])
        at.row("momentum", {"momentum": 1.0}, -band, band, [(int(fall[4]), -1.0)])
        return at

    def _swung(self, at: Instant) -> None:
        """Moments of a flight under their ceilings."""
        for side, (joint, up, down) in itertools.product(
            "rl", (("hip", "hip_bend", "hip_extend"), ("knee", "knee_extend", "knee_bend"))
        ):
            most = -0.95 * CEILING[down], 0.95 * CEILING[up]
            at.row(f"{side}_{joint}", {f"{side}_{joint}": 1.0}, *most)

    def _above(self, at: Instant) -> None:
        """Feet clear of the ground."""
        slot, tau = self.phases[at.phase], at.tau
        assert slot.then is not None
        for side in "rl":
            low = 0.015
            if slot.support.side in (side, "both"):
                low = min(low, 0.1 * tau)
            if slot.then.side in (side, "both"):
                low = min(low, 0.1 * (1 - tau))
            for end in ("heel", "toe"):
                at.row(f"clear {side}_{end}", {f"{side}_{end}": 1.0}, low, INF)

    def _limits(self, i: int) -> None:
        """Hip, shoulder and ankle limits on the splines' coefficients (they enclose the curve)."""
        index = self.places[i].angles
        for c in range(0 if i == 0 else 1, len(index)):
            col = dict(zip(AT, index[c], strict=True))
            for s in ("r_", "l_"):
                terms = [(col[s + "upper_arm"], 1.0), (col["trunk"], -1.0)]
                self.line(terms, *pair(SHOULDER), f"{i}:{c} {s}shoulder limit")
                if s == "l_" and col["l_thigh"] == col["r_thigh"]:
                    continue
                thigh = col[s + "thigh"]
                terms = [(thigh, 1.0), (col["trunk"], -1.0)]
                self.line(terms, *pair(HIP), f"{i}:{c} {s}hip limit")
                terms = [(col[s + "foot"], 1.0), (thigh, -1.0), (col[s + "knee"], 1.0)]
                self.line(terms, *pair(ANKLE), f"{i}:{c} {s}ankle limit")

    def _finished(self, i: int) -> None:
        """A push off both feet is finished: knee and hip nearly straight."""
        slot, last = self.phases[i], self.places[i].angles[-1]
        if slot.kind == "contact" and len(slot.stance) == 2 and slot.support.leave != "end":
            col = dict(zip(AT, last, strict=True))
            self.line([(col["r_knee"], 1.0)], 0.0, STRAIGHT, f"{i}: knee straight")
            hip = [(col["r_thigh"], 1.0), (col["trunk"], -1.0)]
            self.line(hip, -INF, STRAIGHT, f"{i}: hip straight")

    def _coach(self) -> None:
        """What the coach asked, as rows."""
        want = self.settings
        for i, slot in enumerate(self.phases):
            s = slot.support
            if s.leave != "step" or s.side == "both":
                continue
            free, index = "l_" if s.side == "r" else "r_", self.places[i].angles
            if slot.kind == "flight":
                if want.thigh_high is not None:
                    self._hold(i, AT[free + "thigh"], want.thigh_high)
                continue
            near = np.radians(1.0)
            for c, name, asked, slip in (
                (0, free + "knee", want.knee_bend, near),
                (0, "trunk", want.trunk, 2 * near),
                (slot.count - 1, "trunk", want.trunk, 2 * near),
            ):
                if asked is not None:
                    terms = [(index[c, AT[name]], 1.0)]
                    self.line(terms, asked - slip, asked + slip, f"{i}:{c} {name} asked")

    def _hold(self, i: int, d: int, high: float) -> None:
        slot, index = self.phases[i], self.places[i].angles
        share = min((self.settings.hold or 0.0) / slot.nominal * 1.08, 0.7)
        begin = 0.12
        slip = np.radians(3.8 if share else 0.5)
        for k, tau in enumerate(np.linspace(begin, begin + share, 7) if share else [begin + 0.1]):
            row = basis(np.array(slot.breaks), np.array([tau]))[0]
            terms = zip(index[:, d], row, strict=True)
            self.line(
                [t for t in terms if t[1]], high - slip, high + np.radians(3.0), f"{i}:{k} hold"
            )


def _grid(breaks: tuple[float, ...], per: int) -> list[float]:
    out: list[float] = []
    for a, b in itertools.pairwise(breaks):
        out += [a + (b - a) * k / per for k in range(per)]
    return [*out, breaks[-1]]
