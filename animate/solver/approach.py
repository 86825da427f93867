"""From key poses to nearly mechanics: a damped least-squares walk before the optimiser.

Key poses alone break the force and momentum rows by factors of a hundred; an interior-point method
started there wanders. A few dozen damped Gauss-Newton steps on objective plus squared violations
bring it near enough.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from animate.body import Array
from animate.solver.assemble import Filled


class _Penalty:
    def __init__(self, filled: Filled, jac_g: Any, parameters: Array) -> None:
        n = filled.program.size
        self.low, self.high = np.array(filled.program.low), np.array(filled.program.high)
        q = filled.quadratic
        upper = np.zeros((n, n))
        np.add.at(upper, (q[:, 0].astype(int), q[:, 1].astype(int)), q[:, 2])
        self.matrix = upper + upper.T - np.diag(np.diag(upper))
        self.lean, self.jac_g, self.parameters = filled.lean, jac_g, parameters
        pattern = jac_g.sparsity_out(1)
        self.rows = np.array(pattern.row())
        self.cols = np.repeat(np.arange(n), np.diff(np.array(pattern.colind())))
        self.n = n

    def __call__(self, x: Array) -> tuple[Array, Array]:
        g, jac = self.jac_g(x, self.parameters)
        g = np.array(g).ravel()
        over = np.where(g < self.low, g - self.low, np.where(g > self.high, g - self.high, 0.0))
        return over, np.array(jac.nonzeros())

    def merit(self, x: Array, over: Array, weight: float) -> float:
        return float(x @ self.matrix @ x / 2 - self.lean @ x + weight * over @ over / 2)

    def model(self, x: Array, over: Array, jac: Array, weight: float) -> tuple[Array, Array]:
        active = over != 0
        place = np.cumsum(active) - 1
        keep = active[self.rows]
        dense = np.zeros((int(active.sum()), self.n))
        dense[place[self.rows[keep]], self.cols[keep]] = jac[keep]
        gradient = self.matrix @ x - self.lean + weight * (dense.T @ over[active])
        return gradient, self.matrix + weight * (dense.T @ dense)


def approach(
    filled: Filled,
    jac_g: Any,
    parameters: Array,
    steps: int = 22,
    tell: Callable[[], None] | None = None,
) -> Array:
    """Walk from the filled-in start towards rows that hold.

    Parameters
    ----------
    filled : Filled
    jac_g : casadi Function
        x, p -> g, Jacobian.
    parameters : ndarray
    steps : int
    tell : callable or None
        Called after each step.

    Returns
    -------
    ndarray (n,)
        Unknowns within their bounds.
    """
    penalty = _Penalty(filled, jac_g, parameters)
    low, high = filled.low, filled.high
    x = np.clip(filled.start, low, high)
    over, jac = penalty(x)
    damping, weight = 1e-3, 1.0
    for _ in range(steps):
        gradient, hessian = penalty.model(x, over, jac, weight)
        stuck = ((x <= low) & (gradient > 0)) | ((x >= high) & (gradient < 0))
        free = ~stuck
        block, diagonal = hessian[np.ix_(free, free)], np.diag(hessian)[free]
        before = penalty.merit(x, over, weight)
        for _try in range(8):
            move = np.zeros(penalty.n)
            move[free] = np.linalg.solve(
                block + np.diag(damping * (diagonal + 1e-2)), -gradient[free]
            )
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
