"""Middles, lines and fits that a wrong digit on the tape does not pull about."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array

BISQUARE: Final = 4.685
HUBER: Final = 1.345
"""Tuning for 95 % efficiency where errors are normal (textbook values)."""
_EFFICIENCY: Final = 0.95
_MAD: Final = 1.4826


def spread_of(values: Array) -> float:
    """Robust standard deviation of deviations: 1.4826 times the median of their sizes; nan if none."""
    known = values[np.isfinite(values)]
    return float(_MAD * np.median(np.abs(known))) if known.size else float("nan")


def centre(values: Array, spread: Array) -> tuple[Array, Array]:
    """The middle of rows, and the weight of each row.

    From the median on, rows are weighted by Tukey's biweight of their most deviant column: a mark
    misread spoils two phases at once, so a row counts as a whole.

    values: (n, m), nan where not measured.
    spread: (m,), standard deviation of good rows, above 0.
    Returns nan for columns without a value; weights 0 to 1.
    """
    known = np.isfinite(values)
    middle = _median(values)
    weights = np.ones(values.shape[0])
    for _ in range(20):
        off = np.where(known, np.abs(values - middle) / spread, 0.0).max(axis=1, initial=0.0)
        weights = np.where(off < BISQUARE, (1.0 - (off / BISQUARE) ** 2) ** 2, 0.0)
        each = weights[:, None] * known
        mass = each.sum(axis=0)
        moved = (each * np.where(known, values, 0.0)).sum(axis=0) / np.where(mass > 0, mass, 1.0)
        moved = np.where(mass > 0, moved, middle)
        done = np.allclose(moved, middle, rtol=0.0, atol=1e-6, equal_nan=True)
        middle = moved
        if done:
            break
    return middle, weights


def _median(values: Array) -> Array:
    """Median of each column over what is known; nan where nothing is."""
    return np.array([np.median(c[np.isfinite(c)]) if np.isfinite(c).any() else np.nan
                     for c in values.T])  # fmt: skip


def count_of(weights: Array) -> float:
    """How many equal rows weighted rows are worth, less what the weighting costs."""
    total = float(weights.sum())
    return _EFFICIENCY * total**2 / float((weights**2).sum()) if total > 0 else 0.0


def line(x: Array, y: Array) -> tuple[float, float]:
    """Slope of a robust straight line and its standard error, by Huber's weights.

    x, y: (n,), at least 3 points, x not all alike.
    """
    design = np.stack([np.ones_like(x), x - x.mean()], axis=1)
    weights = np.ones_like(x)
    for _ in range(30):
        root = np.sqrt(weights)
        bend = np.linalg.lstsq(design * root[:, None], y * root, rcond=None)[0]
        off = y - design @ bend
        scale = max(spread_of(off), 1e-9)
        fresh = np.minimum(1.0, HUBER * scale / np.maximum(np.abs(off), 1e-12))
        if np.allclose(fresh, weights, atol=1e-6):
            break
        weights = fresh
    free = max(len(x) - 2, 1)
    # The larger of both estimates: with few days the median alone may be far too small.
    variance = max(float((weights * off**2).sum()) / free, scale**2 * len(x) / free)
    matrix = np.linalg.inv(design.T @ (design * weights[:, None]))
    return float(bend[1]), float(np.sqrt(variance * matrix[1, 1]))


def huber_cost(off: Array) -> float:
    """Sum of Huber's loss of standardised residuals."""
    size = np.abs(off)
    return float(np.where(size <= HUBER, 0.5 * off**2, HUBER * size - 0.5 * HUBER**2).sum())


def least(
    residuals: Callable[[Array], Array],
    free: NDArray[np.bool_],
    low: Array,
    high: Array,
    rounds: int = 40,
) -> tuple[Array, Array]:
    """Robust least squares towards a prior: Gauss-Newton with Huber's weights, damped and bounded.

    Minimises sum huber(residuals(u)) + |u|^2 / 2, where u is in prior standard deviations. By hand,
    for one residual u - 2: the sum is least at 1, and its second derivative is 2.

    residuals: from u as ndarray (p, k), k sets at once, to standardised residuals (r, k).
    free: (p,), which may move; the others stay at 0.
    low, high: (p,), bounds of u, round 0.
    Returns the fit, and its covariance in the same units; that of what stays is the prior's.

    >>> at, cover = least(lambda u: u - 2.0, np.array([True]), np.array([-9.0]), np.array([9.0]))
    >>> at.round(6).tolist(), cover.round(6).tolist()
    ([1.0], [[0.5]])
    """
    count = free.size
    at = np.zeros(count)
    step = 1e-3
    fitted = np.flatnonzero(free)
    damping = 0.0
    off = residuals(at[:, None])[:, 0]
    cost = huber_cost(off)
    normal = np.eye(fitted.size)
    for _ in range(rounds):
        away = np.repeat(at[:, None], fitted.size, axis=1)
        away[fitted, np.arange(fitted.size)] += step
        slope = (residuals(away) - off[:, None]) / step
        weights = np.minimum(1.0, HUBER / np.maximum(np.abs(off), 1e-12))
        normal = slope.T @ (slope * weights[:, None]) + np.eye(fitted.size)
        pull = slope.T @ (weights * off) + at[fitted]
        moved = 0.0
        for _ in range(12):
            shift = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -pull)
            new = at.copy()
            new[fitted] = np.clip(at[fitted] + shift, low[fitted], high[fitted])
            new_off = residuals(new[:, None])[:, 0]
            new_cost = huber_cost(new_off) + 0.5 * float(new @ new)
            if np.isfinite(new_cost) and new_cost <= cost + 1e-12:
                moved = float(np.abs(new - at).max())
                at, off, cost = new, new_off, new_cost
                damping *= 0.3
                break
            damping = max(4.0 * damping, 1e-3)
        if moved < 1e-5:
            break
    cover = np.eye(count)
    cover[np.ix_(fitted, fitted)] = np.linalg.inv(normal)
    return at, cover
