"""From key poses to nearly mechanics: a damped least-squares walk before the optimiser.

Key poses alone break the force and momentum rows by factors of a hundred; an interior-point method
started there wanders. A few dozen damped Gauss-Newton steps on objective plus squared violations
bring it near enough.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array
from animate.motion.solver.assemble import Filled
from animate.motion.solver.program import Whole


class _Blocks:
    """A symmetric matrix whose unknowns only meet those of the phase before and the next."""

    def __init__(self, ends: Whole) -> None:
        self.ends = ends
        self.sizes = np.diff(ends)
        self.diagonal = [np.zeros((k, k)) for k in self.sizes]
        self.beside = [np.zeros((a, b)) for a, b in itertools.pairwise(self.sizes)]

    def copy(self) -> _Blocks:
        """Blocks of its own."""
        out = _Blocks(self.ends)
        out.diagonal = [block.copy() for block in self.diagonal]
        out.beside = [block.copy() for block in self.beside]
        return out

    def add(self, phase: int, two: Array) -> None:
        """Add a matrix over the unknowns of a phase and the next."""
        k = self.sizes[phase]
        self.diagonal[phase] += two[:k, :k]
        if phase + 1 < len(self.sizes):
            self.beside[phase] += two[:k, k:]
            self.diagonal[phase + 1] += two[k:, k:]

    def times(self, x: Array) -> Array:
        """The matrix times a vector."""
        parts = [x[a:b] for a, b in itertools.pairwise(self.ends)]
        out = [block @ part for block, part in zip(self.diagonal, parts, strict=True)]
        for i, block in enumerate(self.beside):
            out[i] = out[i] + block @ parts[i + 1]
            out[i + 1] = out[i + 1] + block.T @ parts[i]
        return np.concatenate(out)

    def solved(self, right: Array, extra: Array, free: NDArray[np.bool_]) -> Array:
        """Solve with `extra` on the diagonal, the unknowns that are not free held at zero."""
        right = np.where(free, right, 0.0)
        mats: list[Array] = []
        rights: list[Array] = []
        spans = list(itertools.pairwise(self.ends))
        for i, (a, b) in enumerate(spans):
            mask = free[a:b]
            block = self.diagonal[i] * np.outer(mask, mask)
            block[np.diag_indices(b - a)] = np.where(
                mask, np.diag(self.diagonal[i]) + extra[a:b], 1.0
            )
            part = right[a:b]
            if i:
                c = self.beside[i - 1] * np.outer(free[slice(*spans[i - 1])], mask)
                gone = np.linalg.solve(mats[-1], np.column_stack([c, rights[-1]]))
                block = block - c.T @ gone[:, :-1]
                part = part - c.T @ gone[:, -1]
            mats.append(block)
            rights.append(part)
        out = [np.linalg.solve(mats[-1], rights[-1])]
        for i in range(len(spans) - 2, -1, -1):
            c = self.beside[i] * np.outer(free[slice(*spans[i])], free[slice(*spans[i + 1])])
            out.insert(0, np.linalg.solve(mats[i], rights[i] - c @ out[0]))
        return np.concatenate(out)


class _Penalty:
    def __init__(self, filled: Filled, jac_g: Any, parameters: Array) -> None:
        n = filled.program.size
        self.low, self.high = np.array(filled.program.low), np.array(filled.program.high)
        self.ends = np.append([0], filled.ends)
        self.phase = np.searchsorted(self.ends, np.arange(n), side="right") - 1
        self.matrix = _Blocks(self.ends)
        q = filled.quadratic
        rows, cols = q[:, 0].astype(int), q[:, 1].astype(int)
        first = np.minimum(self.phase[rows], self.phase[cols])
        for i in range(len(self.ends) - 1):
            mine = first == i
            size = self.ends[min(i + 2, len(self.ends) - 1)] - self.ends[i]
            upper = np.zeros((size, size))
            at = rows[mine] - self.ends[i], cols[mine] - self.ends[i]
            np.add.at(upper, at, q[mine, 2])
            self.matrix.add(i, upper + upper.T - np.diag(np.diag(upper)))
        self.lean, self.jac_g, self.parameters = filled.lean, jac_g, parameters
        pattern = jac_g.sparsity_out(1)
        self.rows = np.array(pattern.row())
        self.cols = np.repeat(np.arange(n), np.diff(np.array(pattern.colind())))
        self.first = np.full(len(self.low), len(self.ends))
        np.minimum.at(self.first, self.rows, self.phase[self.cols])
        self.n = n

    def __call__(self, x: Array) -> tuple[Array, Array]:
        g, jac = self.jac_g(x, self.parameters)
        g = np.array(g).ravel()
        over = np.where(g < self.low, g - self.low, np.where(g > self.high, g - self.high, 0.0))
        return over, np.array(jac.nonzeros())

    def merit(self, x: Array, over: Array, weight: float) -> float:
        return float(x @ self.matrix.times(x) / 2 - self.lean @ x + weight * over @ over / 2)

    def model(self, x: Array, over: Array, jac: Array, weight: float) -> tuple[Array, _Blocks]:
        active = over != 0
        hessian = self.matrix.copy()
        back = np.zeros(self.n)
        for i in range(len(self.ends) - 1):
            mine = active & (self.first == i)
            place = np.cumsum(mine) - 1
            keep = mine[self.rows]
            start, end = self.ends[i], self.ends[min(i + 2, len(self.ends) - 1)]
            dense = np.zeros((int(mine.sum()), end - start))
            dense[place[self.rows[keep]], self.cols[keep] - start] = jac[keep]
            back[start:end] += dense.T @ over[mine]
            hessian.add(i, weight * (dense.T @ dense))
        return self.matrix.times(x) - self.lean + weight * back, hessian


def approach(
    filled: Filled,
    jac_g: Any,
    parameters: Array,
    steps: int = 22,
    tell: Callable[[], None] | None = None,
    enough: float = 0.0,
    limit: float = math.inf,
) -> Array:
    """Walk from the filled-in start towards rows that hold; unknowns within their bounds.

    Parameters
    ----------
    jac_g : casadi Function
        x, p -> g, Jacobian.
    tell : callable or None
        Called after each step.
    enough : float
        Stop after six steps or more once no row is broken by more than this, in its own units.
    limit : float
        Stop after the step in which this much processor time is spent [s].
    """
    penalty = _Penalty(filled, jac_g, parameters)
    low, high = filled.low, filled.high
    x = np.clip(filled.start, low, high)
    over, jac = penalty(x)
    damping, weight = 1e-3, 1.0
    began = time.process_time()
    for step in range(steps):
        if time.process_time() - began > limit:
            break
        if step >= 6 and float(np.abs(over).max()) < enough:
            break
        gradient, hessian = penalty.model(x, over, jac, weight)
        stuck = ((x <= low) & (gradient > 0)) | ((x >= high) & (gradient < 0))
        free = ~stuck
        diagonal = np.concatenate([np.diag(block) for block in hessian.diagonal])
        before = penalty.merit(x, over, weight)
        for _try in range(8):
            move = hessian.solved(-gradient, damping * (diagonal + 1e-2), free)
            there = np.clip(x + move, low, high)
            new_over, new_jac = penalty(there)
            after = penalty.merit(there, new_over, weight)
            if after < before:
                damping = max(damping / 3, 1e-7)
                break
            damping *= 5
        else:
            break
        x, over, jac = there, new_over, new_jac
        if tell is not None:
            tell()
        if before - after < 0.025 * weight * float(over @ over) + 1e-3:
            if weight >= 25.0:
                break
            weight *= 5
    return x
