"""Rows held at instants of a phase: mixtures of an instant's quantities and of single unknowns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array
from animate.body.stances import GRAVITY
from animate.motion.solver.form import DEGREE, FREE, basis
from animate.motion.solver.phasor import TURNS, Quantity, State, Tensors

Whole = NDArray[np.int_]
N: Final = len(FREE)
SPAN: Final = DEGREE + 1
"""Coefficients that matter at one place."""


@dataclass(frozen=True)
class Row:
    """low <= sum of quantities + sum of unknowns <= high."""

    name: str
    terms: Mapping[str, float]
    low: float
    high: float
    others: Sequence[tuple[int, float]] = ()


@dataclass(eq=False)
class Instant:
    """One place of a phase, by fraction, and the rows held there.

    kind: instants of one kind have the same quantities.
    extra: unknowns beside the angles that rows here may name: the same all over one spline cell. In a
        flight the first two are height and rise of the centre of mass at take-off.
    """

    phase: int
    tau: float
    kind: tuple[object, ...]
    quantities: Mapping[str, Quantity]
    extra: Whole
    rows: list[Row] = field(default_factory=list)

    def row(
        self,
        name: str,
        terms: Mapping[str, float],
        low: float,
        high: float,
        others: Sequence[tuple[int, float]] = (),
    ) -> None:
        """Hold a mixture of quantities (and unknowns) between two bounds."""
        start = sum(v * self.quantities[k].start for k, v in terms.items())
        self.rows.append(Row(name, terms, low - start, high - start, others))


@lru_cache(maxsize=4096)
def cell_of(breaks: tuple[float, ...], tau: float) -> tuple[int, Array]:
    """Spline cell of a place, and its splines with two derivatives by fraction, (5, 3)."""
    at = np.array(breaks)
    cell = int(np.clip(np.searchsorted(at, tau, side="right") - 1, 0, len(at) - 2))
    row = [basis(at, np.array([tau]), k)[0, cell : cell + SPAN] for k in range(3)]
    return cell, np.stack(row, 1)


class Group:
    """Instants of one kind, all at once.

    The unknowns of an instant, in order: coefficients of its cell (5 of each curve, the eleven angles
    and in sand the path's two), the phase's duration, the extras. Local variables: values, rates and
    second derivatives of the curves, duration, extras.
    """

    def __init__(
        self,
        instants: Sequence[Instant],
        breaks: Sequence[tuple[float, ...]],
        coefficients: Sequence[Whole],
        time: Sequence[int],
    ) -> None:
        found = [(i.phase, *cell_of(breaks[i.phase], i.tau)) for i in instants]
        order = sorted(range(len(instants)), key=lambda k: found[k][:2])
        instants, found = [instants[k] for k in order], [found[k] for k in order]
        index = [coefficients[i][cell : cell + SPAN] for i, cell, _ in found]
        self.n, self.nd = len(instants), index[0].shape[1]
        self.index = np.array(index).reshape(self.n, -1)
        self.basis = np.array([b for *_, b in found])
        self.time = np.array([time[i.phase] for i in instants])
        self.tau = np.array([i.tau for i in instants])
        self.extra = np.array([i.extra for i in instants])
        self.flying = instants[0].kind == ("flight",)
        key = np.array([100 * i + cell for i, cell, _ in found])
        starts = np.flatnonzero(np.diff(key, prepend=-1))
        self.spans = [(int(a), int(b)) for a, b in zip(starts, [*starts[1:], self.n], strict=True)]
        self.unknowns: Whole = np.hstack([self.index, self.time[:, None], self.extra])
        self.cells = self.unknowns[starts]
        self._rows(instants)

    def _rows(self, instants: Sequence[Instant]) -> None:
        known = instants[0].quantities
        used = {name for i in instants for row in i.rows for name in row.terms}
        at = {name: k for k, name in enumerate(n for n in known if n in used)}
        self.tensors = Tensors([known[name] for name in at])
        widest = max(len(i.rows) for i in instants)
        shape = self.n, widest
        self.mix = np.zeros((*shape, len(at)))
        self.push = np.zeros((*shape, self.extra.shape[1]))
        low, high, kept = np.zeros(shape), np.zeros(shape), np.zeros(shape, bool)
        self.labels: list[str] = []
        for k, instant in enumerate(instants):
            place = {int(c): j for j, c in enumerate(instant.extra)}
            for r, row in enumerate(instant.rows):
                for name, value in row.terms.items():
                    self.mix[k, r, at[name]] = value
                for col, value in row.others:
                    self.push[k, r, place[col]] = value
                low[k, r], high[k, r], kept[k, r] = row.low, row.high, True
                self.labels.append(f"{instant.phase}:{instant.tau:.6f}:{row.name}")
        self.kept = kept
        self.low, self.high = low[kept], high[kept]

    def _enter(self, padded: Array) -> State:
        nd = self.nd
        self.t = padded[self.time]
        scale = self.t[:, None] ** -np.arange(3.0)
        self.w = self.basis * scale[:, None, :]
        self.y = self.w.transpose(0, 2, 1) @ padded[self.index].reshape(self.n, SPAN, nd)
        turned = self.y[:, :, :N] @ TURNS.T
        lift = np.full(self.n, 1j * GRAVITY)
        if nd > N:
            lift = lift + self.y[:, 2, N] + 1j * self.y[:, 2, N + 1]
        return State(turned[:, 0], turned[:, 1], turned[:, 2], lift)

    def _whole(self, base: Array, padded: Array) -> Array:
        """Row values from those of the quantities that turn."""
        extra = padded[self.extra]
        if self.nd > N:
            path = self.y[:, :, N:].reshape(self.n, -1)
            base = base + path @ self.tensors.path.reshape(-1, 6).T
        if self.flying:
            s = self.tau * self.t
            base = base + np.outer(
                extra[:, 0] + extra[:, 1] * s - GRAVITY * s * s / 2, self.tensors.fall
            )
        rows = self.mix @ base[:, :, None] + self.push @ extra[:, :, None]
        return np.asarray(rows[:, :, 0][self.kept])

    def values(self, padded: Array) -> Array:
        """The rows at unknowns (padded with a nought)."""
        return self._whole(self.tensors.values(self._enter(padded)), padded)

    def linearise(self, padded: Array) -> Array:
        """The rows, their derivatives kept: `slope` (n, rows, local variables)."""
        nd, tensors = self.nd, self.tensors
        self.state = self._enter(padded)
        base, slopes = tensors.slopes(self.state)
        k = np.zeros((self.n, tensors.count, 3 * nd + 1 + self.extra.shape[1]))
        curves = k[:, :, : 3 * nd].reshape(self.n, tensors.count, 3, nd)
        curves[..., :N] = slopes @ TURNS
        if nd > N:
            curves[..., N:] = tensors.path
            curves[:, :, 2, N:] += tensors.lifted(self.state)
        k[:, :, : 3 * nd] = curves.reshape(self.n, tensors.count, -1)
        # Rates go with 1 / T and seconds with 1 / T^2.
        self.by_time = (self.y * np.arange(0.0, -3.0, -1)[:, None]).reshape(self.n, -1)
        self.by_time /= self.t[:, None]
        k[:, :, 3 * nd] = (k[:, :, : 3 * nd] @ self.by_time[:, :, None])[:, :, 0]
        if self.flying:
            s = self.tau * self.t
            down = self.tau * (padded[self.extra[:, 1]] - GRAVITY * s)
            k[:, :, 3 * nd] += np.outer(down, tensors.fall)
            k[:, :, 3 * nd + 1] = tensors.fall
            k[:, :, 3 * nd + 2] = np.outer(s, tensors.fall)
        self.quantities = k
        self.slope = self.mix @ k
        self.slope[:, :, 3 * nd + 1 :] += self.push
        return self._whole(base, padded)

    def _spread(self, rows: Array) -> Array:
        out = np.zeros(self.kept.shape)
        out[self.kept] = rows
        return out

    def back(self, rows: Array) -> tuple[Whole, Array]:
        """Transposed derivatives times a vector of rows, as unknowns and what each gets."""
        local = (self._spread(rows)[:, None] @ self.slope)[:, 0]
        curves = self.w @ local[:, : 3 * self.nd].reshape(self.n, 3, self.nd)
        rest = local[:, 3 * self.nd :]
        return self.unknowns, np.hstack([curves.reshape(self.n, -1), rest])

    def forth(self, padded: Array) -> Array:
        """Derivatives times a step of the unknowns."""
        curves = self.w.transpose(0, 2, 1) @ padded[self.index].reshape(self.n, SPAN, self.nd)
        local = [curves.reshape(self.n, -1), padded[self.time][:, None], padded[self.extra]]
        return np.asarray((self.slope @ np.hstack(local)[:, :, None])[:, :, 0][self.kept])

    def steepness(self) -> Array:
        """Greatest derivative of each row by a coefficient, about."""
        wide = np.abs(self.w).max(1)
        most = np.abs(self.slope[:, :, : 3 * self.nd])
        most = most.reshape(self.n, -1, 3, self.nd).max(3) * wide[:, None]
        return np.asarray(most.max(2)[self.kept])

    def cell_matrices(self, weight: Array, lam: Array | None) -> Array:
        """J' diag(weight) J, and with multipliers their rows' second derivatives, over each cell's
        unknowns, (cells, size, size)."""
        n3 = 3 * self.nd
        local = self.slope.transpose(0, 2, 1) @ (self._spread(weight)[:, :, None] * self.slope)
        if lam is not None:
            self._curve(local, (self._spread(lam)[:, None] @ self.mix)[:, 0])
        shape = self.n, 3, self.nd
        inner = local[:, :n3, :n3].reshape(*shape, 3, self.nd).transpose(0, 1, 3, 2, 4)
        inner = inner.reshape(self.n * 9, -1)
        side = local[:, :n3, n3:].reshape(self.n * 3, -1)
        corner = np.add.reduceat(local[:, n3:, n3:], [a for a, _ in self.spans], axis=0)
        w = np.ascontiguousarray(self.w.transpose(1, 0, 2))
        w2 = (w[:, None, :, :, None] * w[None, :, :, None, :]).reshape(SPAN**2, -1)
        w = w.reshape(SPAN, -1)
        size, k = self.cells.shape[1], SPAN * self.nd
        out = np.empty((len(self.spans), size, size))
        for c, (a, b) in enumerate(self.spans):
            whole = w2[:, 9 * a : 9 * b] @ inner[9 * a : 9 * b]
            whole = whole.reshape(SPAN, SPAN, self.nd, self.nd).transpose(0, 2, 1, 3)
            out[c, :k, :k] = whole.reshape(k, k)
            beside = w[:, 3 * a : 3 * b] @ side[3 * a : 3 * b]
            out[c, :k, k:] = beside.reshape(k, -1)
        out[:, k:, :k] = out[:, :k, k:].transpose(0, 2, 1)
        out[:, k:, k:] = corner
        return out

    def _curve(self, local: Array, weight: Array) -> None:
        """Add the second derivatives of the quantities' weighted sum over the local variables."""
        nd, t = self.nd, 3 * self.nd
        turned, by_rates, by_lift = self.tensors.curves(self.state, weight)
        turned = TURNS.T @ turned @ TURNS
        by_rates = TURNS.T @ (by_rates[:, :, None] * TURNS)
        bent = np.zeros((self.n, t, t))
        q, w, a = (slice(k * nd, k * nd + N) for k in range(3))
        bent[:, q, q], bent[:, q, w], bent[:, q, a] = (turned[:, k] for k in range(3))
        bent[:, w, w] = by_rates
        if nd > N:
            bent[:, q, t - 2 :] = TURNS.T @ by_lift
        bent[:, nd:, :nd] = bent[:, :nd, nd:].transpose(0, 2, 1)
        slope = (weight[:, None] @ self.quantities[:, :, :t])[:, 0]
        order = np.repeat(np.arange(3.0), nd)
        ahead = (bent @ self.by_time[:, :, None])[:, :, 0]
        by_time = (ahead * self.by_time).sum(1)
        by_time += (slope * self.by_time * -(order + 1)).sum(1) / self.t
        ahead -= order * slope / self.t[:, None]
        if self.flying:
            falling = weight @ self.tensors.fall
            by_time -= GRAVITY * self.tau**2 * falling
            local[:, t, t + 2] += self.tau * falling
            local[:, t + 2, t] += self.tau * falling
        local[:, :t, :t] += bent
        local[:, :t, t] += ahead
        local[:, t, :t] += ahead
        local[:, t, t] += by_time
