"""The nonlinear program of a chain: rows between bounds, their derivatives, a quadratic objective."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from animate.body.body import Array
from animate.body.stances import GRAVITY
from animate.motion.solver.blocks import Layout, Whole


class Part(Protocol):
    """Some rows. Unknowns come padded with a nought that stands for those held at it."""

    low: Array
    high: Array
    labels: list[str]
    cells: Whole
    """Unknowns that meet in these rows, (cells, size)."""

    def values(self, padded: Array) -> Array:
        """The rows."""

    def linearise(self, padded: Array) -> Array:
        """The rows; what follows is at these unknowns."""

    def back(self, rows: Array) -> tuple[Whole, Array]:
        """Transposed derivatives times a vector of rows, as unknowns and what each gets."""

    def forth(self, padded: Array) -> Array:
        """Derivatives times a step of the unknowns."""

    def steepness(self) -> Array:
        """Greatest derivative of each row, about."""

    def cell_matrices(self, weight: Array, lam: Array | None) -> Array:
        """J' diag(weight) J and the rows' second derivatives under multipliers, (cells, size, size)."""


class Lines:
    """Linear rows: sums of a few unknowns, the sums' factors (k, l)."""

    def __init__(
        self, cells: Whole, slope: Array, low: Array, high: Array, labels: list[str]
    ) -> None:
        self.cells, self.slope = cells, slope
        self.low, self.high, self.labels = low, high, labels

    def values(self, padded: Array) -> Array:
        """The rows."""
        return self.forth(padded)

    def linearise(self, padded: Array) -> Array:
        """The rows; what follows is at these unknowns."""
        return self.values(padded)

    def back(self, rows: Array) -> tuple[Whole, Array]:
        """Transposed derivatives times a vector of rows, as unknowns and what each gets."""
        return self.cells, rows[:, None] * self.slope

    def forth(self, padded: Array) -> Array:
        """Derivatives times a step of the unknowns."""
        return np.asarray((padded[self.cells] * self.slope).sum(1))

    def steepness(self) -> Array:
        """Greatest derivative of each row."""
        return np.asarray(np.abs(self.slope).max(1, initial=0.0))

    def cell_matrices(self, weight: Array, lam: Array | None) -> Array:
        """J' diag(weight) J and the rows' second derivatives under multipliers, (cells, size, size)."""
        out = (weight[:, None] * self.slope)[:, :, None] * self.slope[:, None]
        return out if lam is None else out + lam[:, None, None] * self._bent()

    def _bent(self) -> Array:
        return np.zeros((1, 1, 1))


class Joins(Lines):
    """Where two phases meet: sum of w c / T^k before and after, of three coefficients c each.

    Cells are c, T before and c, T after; `w` (k, 2, 3) has the sign.
    """

    def __init__(self, cells: Whole, w: Array, order: Array, labels: list[str]) -> None:
        zero = np.zeros(len(cells))
        super().__init__(cells, np.zeros(cells.shape), zero, zero, labels)
        self.w, self.order = w, order[:, None]

    def _sides(self, padded: Array) -> tuple[Array, Array, Array]:
        v = padded[self.cells].reshape(-1, 2, 4)
        shrunk = self.w / v[:, :, 3:] ** self.order[:, :, None]
        return v[:, :, 3], shrunk, (shrunk * v[:, :, :3]).sum(2)

    def values(self, padded: Array) -> Array:
        """The rows."""
        return np.asarray(self._sides(padded)[2].sum(1))

    def linearise(self, padded: Array) -> Array:
        """The rows; what follows is at these unknowns."""
        t, shrunk, value = self._sides(padded)
        self.slope = np.dstack([shrunk, -self.order * value / t]).reshape(-1, 8)
        self.bent = np.zeros((len(t), 8, 8))
        for side in (0, 1):
            c, at = slice(4 * side, 4 * side + 3), 4 * side + 3
            cross = -self.order * shrunk[:, side] / t[:, side, None]
            self.bent[:, c, at] = self.bent[:, at, c] = cross
            more = self.order[:, 0] * (self.order[:, 0] + 1)
            self.bent[:, at, at] = more * value[:, side] / t[:, side] ** 2
        return np.asarray(value.sum(1))

    def _bent(self) -> Array:
        return self.bent


class Falls(Lines):
    """Thrown bodies: c + v T - g T^2 / 2 - c1 - e; cells are T, c, v, c1, e; e is how much further than
    planned the mark lies where the motion may choose it."""

    def __init__(self, cells: Whole, falls: Array, labels: list[str]) -> None:
        zero = np.zeros(len(cells))
        super().__init__(cells, np.zeros(cells.shape), zero, zero, labels)
        self.gravity = GRAVITY * falls
        self.bent = np.zeros((len(cells), 5, 5))
        self.bent[:, 0, 2] = self.bent[:, 2, 0] = 1.0
        self.bent[:, 0, 0] = -self.gravity

    def values(self, padded: Array) -> Array:
        """The rows."""
        t, c, v, c1, e = padded[self.cells].T
        return np.asarray(c + v * t - self.gravity * t * t / 2 - c1 - e)

    def linearise(self, padded: Array) -> Array:
        """The rows; what follows is at these unknowns."""
        t, _, v, _, _ = padded[self.cells].T
        one = np.ones_like(t)
        self.slope = np.stack([v - self.gravity * t, one, t, -one, -one], 1)
        return self.values(padded)

    def _bent(self) -> Array:
        return self.bent


class Program:
    """Rows, bounds and objective x'Qx / 2 - lean'x over unknowns that stand in blocks by phase.

    n, m: unknowns, rows.
    low, high: (n,).
    row_low, row_high: (m,).
    labels: phase, place and name of each row: the same row of a like chain has the same label.
    """

    def __init__(
        self,
        parts: Sequence[Part],
        ends: Whole,
        bounds: tuple[Array, Array],
        quadratic: Sequence[tuple[Whole, Array]],
        lean: Array,
    ) -> None:
        self.layout = Layout(ends)
        self.n = self.layout.n
        self.low, self.high = bounds
        self.lean = lean
        self.parts = [p for p in parts if len(p.low)]
        self.row_low = np.concatenate([p.low for p in self.parts])
        self.row_high = np.concatenate([p.high for p in self.parts])
        self.labels = [label for p in self.parts for label in p.labels]
        self.m = len(self.row_low)
        self.at = np.cumsum([0] + [len(p.low) for p in self.parts])
        places = [self.layout.places(p.cells).ravel() for p in self.parts]
        self.places = np.concatenate(places).astype(np.intp)
        self.q = np.zeros(self.layout.length + 1)
        for index, matrix in quadratic:
            np.add.at(self.q, self.layout.places(index[None])[0], matrix)
        self.q = self.q[:-1]

    def _padded(self, x: Array) -> Array:
        return np.append(x, 0.0)

    def _split(self, rows: Array) -> list[Array]:
        return [rows[a:b] for a, b in zip(self.at[:-1], self.at[1:], strict=True)]

    def values(self, x: Array) -> Array:
        """The rows, (m,)."""
        padded = self._padded(x)
        return np.concatenate([p.values(padded) for p in self.parts])

    def linearise(self, x: Array) -> Array:
        """The rows, (m,); derivatives are of here until the next call."""
        padded = self._padded(x)
        return np.concatenate([p.linearise(padded) for p in self.parts])

    def back(self, rows: Array) -> Array:
        """Transposed derivatives times a vector of rows, (n,)."""
        found = [p.back(v) for p, v in zip(self.parts, self._split(rows), strict=True)]
        index = np.concatenate([i.ravel() for i, _ in found])
        value = np.concatenate([v.ravel() for _, v in found])
        return np.asarray(np.bincount(index, value, self.n + 1)[:-1], float)

    def forth(self, step: Array) -> Array:
        """Derivatives times a step of the unknowns, (m,)."""
        padded = self._padded(step)
        return np.concatenate([p.forth(padded) for p in self.parts])

    def steepness(self) -> Array:
        """Greatest derivative of each row, about, (m,)."""
        return np.concatenate([p.steepness() for p in self.parts])

    def matrix(self, weight: Array, lam: Array | None = None) -> Array:
        """Q + J' diag(weight) J, and the rows' second derivatives under multipliers, flat."""
        lams = [None] * len(self.parts) if lam is None else self._split(lam)
        found = [
            p.cell_matrices(w, y).ravel()
            for p, w, y in zip(self.parts, self._split(weight), lams, strict=True)
        ]
        whole = np.bincount(self.places, np.concatenate(found), self.layout.length + 1)
        return self.q + whole[:-1]

    def pulled(self, x: Array) -> Array:
        """Gradient of the objective, (n,)."""
        return self.layout.times(self.q, x) - self.lean

    def objective(self, x: Array) -> float:
        """Value of the objective."""
        return float(x @ self.layout.times(self.q, x) / 2 - self.lean @ x)
