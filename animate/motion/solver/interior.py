"""A primal-dual interior-point method on the condensed matrix of a program.

Slacks of the rows and multipliers are eliminated row by row, so that one Newton step costs one
block-tridiagonal matrix. Equations enter with a weight 1 / DELTA. The barrier stays where it is: near
the optimum a few steps onto the rows, each the shortest in the metric of objective and barrier, end it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array
from animate.motion.solver.blocks import Factor
from animate.motion.solver.program import Program

BARRIER: Final = 1e-3
DELTA: Final = 1e-9
PUSH: Final = 1e-3
"""How far a start is moved off its bounds."""
BAND: Final = 0.1
"""The same for a row held in a narrow band, as a share of it at most."""
STEPS: Final = 50
EQUATIONS: Final = 2e-5
INEQUALITIES: Final = 3e-4
DUAL: Final = 0.03
"""What rows and the gradient may be off at the end."""
WHOLE: Final = (1e-3, 1e-4)
"""The same for a whole solve: the gradient, and the multipliers of bounds times their room."""
_FAR: Final = 1e4
_TURNS: Final = 20
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Point:
    """Unknowns, the rows' slacks and multipliers, multipliers of the lower and upper bounds of both."""

    x: Array
    s: Array
    y: Array
    low: Array
    high: Array


@dataclass(frozen=True, eq=False)
class Ended:
    """What a solve ended with: why, after how many steps, the greatest excess of a row and its label."""

    point: Point
    ok: bool
    steps: int
    over: float
    label: str


@dataclass(frozen=True)
class Near:
    """When to leave the barrier for the rows: their greatest excess and that of the gradient.

    whole: never; it ends at the barrier's own least value, so that an end does not hang on its start.
    """

    rows: float = 0.1
    dual: float = 3.0
    whole: bool = False


class _Stuck(ArithmeticError):
    """No step leads on."""


class _Walk:
    """One solve. Unknowns x and slacks s stand in one vector u; rows are scaled."""

    def __init__(self, program: Program, x: Array, warm: Point | None) -> None:
        p = self.program = program
        self.fixed = p.low >= p.high - 1e-12
        low, high = np.where(self.fixed, -np.inf, p.low), np.where(self.fixed, np.inf, p.high)
        x = _inside(np.where(self.fixed, p.low, x), low, high, 1.0)
        g = p.linearise(x)
        self.scale = 1 / np.maximum(1.0, p.steepness())
        self.row_low, self.row_high = p.row_low * self.scale, p.row_high * self.scale
        self.equal = p.row_low >= p.row_high - 1e-12
        self.g = g * self.scale
        self.low = np.append(low, np.where(self.equal, -np.inf, self.row_low))
        self.high = np.append(high, np.where(self.equal, np.inf, self.row_high))
        self.has_low, self.has_high = np.isfinite(self.low), np.isfinite(self.high)
        s = self.g if warm is None else np.where(self.equal, self.g, warm.s * self.scale)
        s = _inside(s, self.low[p.n :], self.high[p.n :], BAND)
        self.u = np.append(x, s)
        self.y = np.zeros(p.m)
        self.z_low, self.z_high = self.has_low * 1.0, self.has_high * 1.0
        if warm is not None:
            self._warm(warm)
        self.bend = 0.0
        self.filter: list[tuple[float, float]] = []
        self.first = 0.0

    def _warm(self, warm: Point) -> None:
        shrink = np.append(np.ones(self.program.n), 1 / self.scale)
        self.y = warm.y / self.scale
        low, high = self._rooms(self.u)
        for name, has, room, z in (
            ("z_low", self.has_low, low, warm.low),
            ("z_high", self.has_high, high, warm.high),
        ):
            usual = BARRIER / np.maximum(room, 1e-12)
            setattr(self, name, np.where(has, np.clip(z * shrink, usual / _FAR, usual * _FAR), 0.0))

    def point(self) -> Point:
        """Where it stands, in the rows' own scale."""
        n, grow = self.program.n, np.append(np.ones(self.program.n), self.scale)
        s = self.u[n:] / self.scale
        return Point(self.u[:n], s, self.y * self.scale, self.z_low * grow, self.z_high * grow)

    def _rooms(self, u: Array) -> tuple[Array, Array]:
        """Distance to the bounds, 1 where there is none."""
        low = np.where(self.has_low, u - self.low, 1.0)
        return low, np.where(self.has_high, self.high - u, 1.0)

    def off(self, u: Array, g: Array) -> Array:
        """By how much each row is not its bound or slack."""
        return np.where(self.equal, g - self.row_low, g - u[self.program.n :])

    def excess(self) -> Array:
        """By how much each row is beyond its bounds, in its own scale."""
        g = self.g / self.scale
        p = self.program
        return np.asarray(np.maximum(p.row_low - g, g - p.row_high))

    def held(self, equations: float, others: float) -> bool:
        """Whether no row is further off."""
        over = self.excess()
        worst = (float(over[rows].max(initial=0.0)) for rows in (self.equal, ~self.equal))
        return all(w <= most for w, most in zip(worst, (equations, others), strict=True))

    def dual(self) -> float:
        """Greatest entry of the Lagrangian's gradient by the unknowns."""
        p = self.program
        out = p.pulled(self.u[: p.n]) + p.back(self.y * self.scale)
        out += (self.z_high - self.z_low)[: p.n]
        return float(np.abs(out[~self.fixed]).max())

    def complementary(self, most: float = 0.01) -> bool:
        """Whether the multipliers of the bounds go with the barrier."""
        low, high = self._rooms(self.u)
        off = np.abs(low * self.z_low - BARRIER * self.has_low)
        return bool(
            max(off.max(), np.abs(high * self.z_high - BARRIER * self.has_high).max()) <= most
        )

    def stands(self, near: Near, rows: float = 0.1 * EQUATIONS) -> bool:
        """Whether it may end here; a whole solve with no row further off than `rows`."""
        if not self.held(EQUATIONS, INEQUALITIES):
            return False
        if not near.whole:
            return self.dual() <= DUAL and self.complementary()
        off = float(np.abs(self.off(self.u, self.g)).max())
        return off <= rows and self.dual() <= WHOLE[0] and self.complementary(WHOLE[1])

    def barrier(self, u: Array) -> float:
        """Objective and barrier."""
        low, high = self._rooms(u)
        logs = float(np.log(low).sum() + np.log(high).sum())
        return self.program.objective(u[: self.program.n]) - BARRIER * logs

    def _condensed(self, exact: bool) -> tuple[Array, Array, Array]:
        """Matrix, its diagonal of the bounds, weights of the rows."""
        low, high = self._rooms(self.u)
        sigma = self.z_low / low + self.z_high / high
        n = self.program.n
        weight = np.where(self.equal, 1 / DELTA, sigma[n:])
        lam = self.y * self.scale if exact else None
        flat = self.program.matrix(weight * self.scale**2, lam)
        return flat, sigma[:n] + np.where(self.fixed, 1e14, 0.0), weight

    def newton(self) -> None:
        """The step's matrix, its factor, and the barrier's slope here."""
        flat, diagonal, self.weight = self._condensed(exact=True)
        bend = 0.0
        for _ in range(_TURNS):
            try:
                self.factor = Factor(self.program.layout, flat, diagonal + bend)
                break
            except np.linalg.LinAlgError:
                grow = 8.0 if self.bend else 30.0
                bend = bend * grow if bend else max(1e-5, self.bend / 3)
        else:
            raise _Stuck
        self.bend = bend or self.bend
        low, high = self._rooms(self.u)
        self.slope = BARRIER * (self.has_high / high - self.has_low / low)
        n = self.program.n
        self.slope[:n] += self.program.pulled(self.u[:n])

    def step(self, off: Array) -> tuple[Array, Array]:
        """Step of unknowns and slacks, and the rows' new multipliers, to undo `off`."""
        p, n = self.program, self.program.n
        start = np.where(self.equal, self.y + off * self.weight, off * self.weight + self.slope[n:])
        right = -(self.slope[:n] + p.back(start * self.scale))
        du, moved = self._moved(self.factor, right, off)
        return du, start + moved * self.weight

    def _moved(self, factor: Factor, right: Array, off: Array) -> tuple[Array, Array]:
        """Step of unknowns and slacks, and by how much it moves the rows."""
        dx = factor.solve(np.where(self.fixed, 0.0, right))
        moved = self.program.forth(dx) * self.scale
        return np.append(dx, np.where(self.equal, 0.0, moved + off)), moved

    def reach(self, du: Array, share: float) -> float:
        """How much of a step keeps inside the bounds."""
        low, high = self._rooms(self.u)
        return min(_part(low, du, share, self.has_low), _part(high, -du, share, self.has_high))

    def advance(self) -> None:
        """One step of the method."""
        self.newton()
        n = self.program.n
        off = self.off(self.u, self.g)
        du, y = self.step(off)
        low, high = self._rooms(self.u)
        d_low = self.has_low * BARRIER / low - self.z_low - self.z_low / low * du
        d_high = self.has_high * BARRIER / high - self.z_high + self.z_high / high * du
        du, y, share = self._search(du, y, off)
        reach = min(
            _part(self.z_low, d_low, 0.999, self.has_low),
            _part(self.z_high, d_high, 0.999, self.has_high),
        )
        self.u = self.u + share * du
        self.y = self.y + share * (y - self.y)
        low, high = self._rooms(self.u)
        for name, has, room, d in (
            ("z_low", self.has_low, low, d_low),
            ("z_high", self.has_high, high, d_high),
        ):
            usual = BARRIER / room
            z = getattr(self, name) + reach * d
            setattr(self, name, np.where(has, np.clip(z, usual / 1e10, usual * 1e10), 0.0))
        self.g = self.program.linearise(self.u[:n]) * self.scale

    def _search(self, du: Array, y: Array, off: Array) -> tuple[Array, Array, float]:
        """Step, multipliers and share of the step that a filter takes; else nothing leads on."""
        n = self.program.n
        theta, phi = float(np.abs(off).sum()), self.barrier(self.u)
        self.first = self.first or max(1.0, theta)
        falls = float(self.slope @ du)
        share = most = self.reach(du, 0.999)
        for trial in range(12):
            u = self.u + share * du
            there = self.off(u, self.program.values(u[:n]) * self.scale)
            new = float(np.abs(there).sum())
            taken = self._takes((new, self.barrier(u)), (theta, phi), share, falls)
            if taken:
                if taken == "filter":
                    self.filter.append(((1 - 1e-5) * theta, phi - 1e-5 * theta))
                return du, y, share
            if trial == 0 and new >= theta and share == most:
                second, y2 = self.step(share * off + there)
                part = self.reach(second, 0.999)
                u = self.u + part * second
                after = np.abs(self.off(u, self.program.values(u[:n]) * self.scale)).sum()
                if after <= (1 - 1e-5) * theta and after < 1e4 * self.first:
                    self.filter.append(((1 - 1e-5) * theta, phi - 1e-5 * theta))
                    return second, y2, part
            share /= 2
        raise _Stuck

    def _takes(
        self, there: tuple[float, float], here: tuple[float, float], share: float, falls: float
    ) -> str:
        """Whether a trial is taken, and by what: rows' excess and barrier there and here, share of the
        step, slope along it."""
        (new, value), (theta, phi) = there, here
        if new >= 1e4 * self.first or any(new >= t and value >= f for t, f in self.filter):
            return ""
        if falls < 0 and theta <= 1e-4 * self.first and share * (-falls) ** 2.3 > theta**1.1:
            return "descent" if value <= phi + 1e-8 * share * falls + 1e-12 * abs(phi) else ""
        nearer = new <= (1 - 1e-5) * theta or value <= phi - 1e-5 * theta or new < 1e-7
        return "filter" if nearer else ""

    def project(self) -> tuple[bool, int]:
        """A few steps onto the rows, each the shortest in the metric of objective and barrier; back to
        the start when they do not get there."""
        kept, n, last = (self.u, self.g), self.program.n, np.inf
        for count in range(1, 5):
            flat, diagonal, weight = self._condensed(exact=False)
            off = self.off(self.u, self.g)
            factor = Factor(self.program.layout, flat, diagonal + 1e-5)
            right = -self.program.back(weight * off * self.scale)
            du, _ = self._moved(factor, right, off)
            self.u = self.u + self.reach(du, 0.95) * du
            self.g = self.program.linearise(self.u[:n]) * self.scale
            if self.held(EQUATIONS, INEQUALITIES):
                return True, count
            worst = float(self.excess().max())
            if worst > 0.7 * last:
                break
            last = worst
        self.u = kept[0]
        self.g = self.program.linearise(self.u[:n]) * self.scale
        return False, count


def _inside(v: Array, low: Array, high: Array, band: float) -> Array:
    """A vector pushed off its bounds."""
    width = np.where(np.isfinite(low) & np.isfinite(high), high - low, np.inf)

    def push(bound: Array) -> Array:
        size = np.maximum(1.0, np.abs(np.where(np.isfinite(bound), bound, 0.0)))
        return np.minimum(PUSH * size, band * width * (PUSH if band == 1.0 else 1.0))

    return np.minimum(np.maximum(v, low + push(low)), high - push(high))


def _part(room: Array, step: Array, share: float, has: Flags) -> float:
    """How much of a step leaves some of the room."""
    down = has & (step < 0)
    return min(1.0, float((-share * room[down] / step[down]).min(initial=np.inf)))


def solve(
    program: Program,
    x: Array,
    warm: Point | None = None,
    near: Near | None = None,
    tell: Callable[[], None] | None = None,
    steps: int = STEPS,
) -> Ended:
    """Minimise the program's objective over its rows and bounds, nearly.

    x: (n,), start.
    warm: slacks and multipliers of a like program's end.
    tell: called before each step; what it raises ends the solve.
    steps: at most.
    """
    near = near or Near()
    walk = _Walk(program, x, warm)
    ok, count, tried = False, 0, False
    try:
        while count < steps:
            if tell is not None:
                tell()
            ok = walk.stands(near)
            close = not near.whole and not tried and walk.dual() <= near.dual
            if not ok and close and walk.held(near.rows, near.rows):
                tried = True
                ok, more = walk.project()
                count += more
            if ok:
                break
            if tried and walk.held(0.3 * near.rows, 0.3 * near.rows):
                tried, near = False, Near(0.3 * near.rows, near.dual)
            walk.advance()
            count += 1
    except (_Stuck, np.linalg.LinAlgError):
        # So near that rounding leads no further.
        ok = near.whole and walk.stands(near, EQUATIONS)
    over = walk.excess()
    worst = int(np.argmax(over))
    return Ended(walk.point(), ok, count, float(over[worst]), program.labels[worst])
