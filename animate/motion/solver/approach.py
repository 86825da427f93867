"""From key poses to nearly mechanics: a damped least-squares walk before the solver proper.

Key poses alone break the force and momentum rows by factors of a hundred; an interior-point method
started there wanders. A few dozen damped Gauss-Newton steps on objective plus squared violations
bring it near enough.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from animate.body.body import Array
from animate.motion.solver.blocks import Factor
from animate.motion.solver.program import Program


def approach(
    program: Program, x: Array, tell: Callable[[], None] | None = None, steps: int = 22
) -> Array:
    """Walk from key poses towards rows that hold; unknowns within their bounds.

    x: (n,), start.
    tell: called before each step; what it raises ends the walk.
    """
    p = program

    def over(rows: Array) -> Array:
        return rows - np.clip(rows, p.row_low, p.row_high)

    x = np.clip(x, p.low, p.high)
    off = over(p.linearise(x))
    damping, weight = 1e-3, 1.0
    for _ in range(steps):
        if tell is not None:
            tell()
        before = p.objective(x) + weight * off @ off / 2
        gradient = p.pulled(x) + weight * p.back(off)
        flat = p.matrix(weight * (off != 0.0))
        stuck = (x <= p.low) & (gradient > 0) | (x >= p.high) & (gradient < 0)
        diagonal = flat[p.layout.diagonal]
        for _try in range(8):
            factor = Factor(p.layout, flat, damping * (diagonal + 1e-2) + 1e14 * stuck)
            there = np.clip(x - factor.solve(np.where(stuck, 0.0, gradient)), p.low, p.high)
            new = over(p.values(there))
            after = p.objective(there) + weight * new @ new / 2
            if after < before:
                damping = max(damping / 3, 1e-7)
                break
            damping *= 5
        else:
            break
        x = there
        off = over(p.linearise(x))
        if before - after < 0.025 * weight * float(off @ off) + 1e-3:
            if weight >= 25.0:
                break
            weight *= 5
    return x
