"""The nonlinear program of a chain: unknowns, constraints, exact sparse derivatives.

A constraint row is one row of a kernel at one instant plus a linear part. Instants depend on the
unknowns linearly (y = S x with constant S), so Jacobian and Hessian are constant sparse maps of
the kernels' derivatives; they are built once per kind of chain.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

from animate.body import Array
from animate.solver.mechanics import Kernel

Whole = NDArray[np.int_]


@dataclass(eq=False)
class Group:
    """Instants of one kernel and the rows kept of each."""

    kernel: Kernel
    s_row: list[Whole] = field(default_factory=list)
    s_col: list[Whole] = field(default_factory=list)
    s_val: list[Array] = field(default_factory=list)
    parameters: list[Array] = field(default_factory=list)
    keep: list[tuple[int, int]] = field(default_factory=list)

    @property
    def count(self) -> int:
        """Number of instants."""
        return len(self.parameters)


@dataclass(eq=False)
class Program:
    """Collects unknowns and rows, then builds the functions the optimiser calls."""

    size: int = 0
    groups: dict[str, Group] = field(default_factory=dict)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    order: list[tuple[str, int]] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)
    linear: list[tuple[int, int, float]] = field(default_factory=list)

    def unknowns(self, count: int) -> Whole:
        """Indices of that many new unknowns."""
        out = np.arange(self.size, self.size + count)
        self.size += count
        return out

    def instant(
        self, kernel: Kernel, entries: list[tuple[int, int, float]], parameters: Array
    ) -> tuple[str, int]:
        """Add an instant: y[row] = sum of value x[col] over (row, col, value)."""
        group = self.groups.setdefault(kernel.name, Group(kernel))
        k = group.count
        rows = np.array([e[0] for e in entries], int)
        cols = np.array([e[1] for e in entries], int)
        vals = np.array([e[2] for e in entries], float)
        real = (cols >= 0) & (vals != 0)
        group.s_row.append(rows[real])
        group.s_col.append(cols[real])
        group.s_val.append(vals[real])
        group.parameters.append(np.asarray(parameters, float))
        return kernel.name, k

    def row(
        self,
        where: tuple[str, int],
        index: int,
        low: float,
        high: float,
        linear: list[tuple[int, float]] | None = None,
        label: str = "",
    ) -> None:
        """Keep one kernel row of an instant, plus a linear part, between bounds."""
        group = self.groups[where[0]]
        self.order.append((where[0], len(group.keep)))
        group.keep.append((where[1], index))
        self._bounds(low, high, linear, label)

    def line(
        self, terms: list[tuple[int, float]], low: float, high: float, label: str = ""
    ) -> None:
        """A purely linear row; one without unknowns is left out."""
        if not any(col >= 0 for col, _ in terms):
            return
        self.order.append(("", 0))
        self._bounds(low, high, [t for t in terms if t[0] >= 0], label)

    def _bounds(
        self, low: float, high: float, linear: list[tuple[int, float]] | None, label: str
    ) -> None:
        number = len(self.low)
        self.low.append(low)
        self.high.append(high)
        self.labels.append(label)
        for col, value in linear or []:
            self.linear.append((number, col, value))

    def functions(self, quadratic: Array) -> dict[str, Any]:
        """Build objective, constraints and derivatives.

        Parameters
        ----------
        quadratic : ndarray (m, 3)
            Upper triangle of the objective's matrix as (row, col, value).

        Returns
        -------
        dict
            nlp (x, p -> f, g), jac_g, hess_lag, and ``kernels``: column counts of p.
        """
        n, m = self.size, len(self.low)
        x = ca.MX.sym("x", n)
        widths = [g.kernel.np * g.count for g in self.groups.values()]
        p = ca.MX.sym("p", n + sum(widths))
        lam_f, lam_g = ca.MX.sym("lf"), ca.MX.sym("lg", m)
        rows_of: dict[str, list[int]] = {name: [] for name in self.groups}
        for number, (name, _) in enumerate(self.order):
            if name:
                rows_of[name].append(number)
        matrix = _sparse(quadratic[:, 0], quadratic[:, 1], quadratic[:, 2], n, n)
        full = matrix + matrix.T - ca.diag(ca.diag(matrix))
        lean = p[:n]
        f = ca.dot(x, ca.mtimes(full, x)) / 2 - ca.dot(lean, x)
        lin = np.array(self.linear) if self.linear else np.zeros((0, 3))
        a = _sparse(lin[:, 0], lin[:, 1], lin[:, 2], m, n)
        g = ca.mtimes(a, x)
        jac = _Scatter(m, n, upper=False)
        hes = _Scatter(n, n, upper=True)
        jac.constant(lin[:, 0], lin[:, 1], lin[:, 2])
        hes.constant(quadratic[:, 0], quadratic[:, 1], quadratic[:, 2])
        jac_parts: list[Any] = []
        hes_parts: list[Any] = []
        at = n
        for (name, group), width in zip(self.groups.items(), widths, strict=True):
            kernel, count = group.kernel, group.count
            par = ca.reshape(p[at : at + width], kernel.np, count)
            at += width
            y = ca.reshape(ca.mtimes(_stacked(group, n), x), kernel.ny, count)
            value = ca.vec(kernel.value.map(count)(y, par))
            numbers = np.array(rows_of[name])
            picked = np.array([k * kernel.ng + i for k, i in group.keep])
            put = _sparse(numbers, picked, np.ones(len(numbers)), m, kernel.ng * count)
            g = g + ca.mtimes(put, value)
            lam = ca.reshape(ca.mtimes(put.T, lam_g), kernel.ng, count)
            jac_parts.append(ca.vec(kernel.jac.map(count)(y, par)))
            hes_parts.append(ca.vec(kernel.hess.map(count)(y, par, lam)))
            _scatter(group, numbers, jac, hes)
        jac_map, jac_const, jac_sp = jac.build()
        hes_map, hes_const, hes_sp = hes.build()
        jac_nz = ca.mtimes(jac_map, ca.vertcat(*jac_parts)) + jac_const
        hes_nz = ca.mtimes(hes_map, ca.vertcat(*hes_parts)) + hes_const * lam_f
        return {
            "nlp": {"x": x, "p": p, "f": f, "g": ca.densify(g)},
            "jac_g": ca.Function("nlp_jac_g", [x, p], [ca.densify(g), ca.MX(jac_sp, jac_nz)]),
            "hess_lag": ca.Function("nlp_hess_l", [x, p, lam_f, lam_g], [ca.MX(hes_sp, hes_nz)]),
            "grad_f": ca.Function("nlp_grad_f", [x, p], [f, ca.mtimes(full, x) - lean]),
        }

    def parameters(self, lean: Array) -> Array:
        """The parameter vector of `functions`: the objective's linear part, then the instants'."""
        parts = [np.concatenate(g.parameters) for g in self.groups.values()]
        return np.concatenate([lean, *parts])


def _sparse(rows: Array | Whole, cols: Array | Whole, vals: Array, n: int, m: int) -> Any:
    """A constant sparse matrix; repeated places add up."""
    key = np.asarray(cols, np.int64) * n + np.asarray(rows, np.int64)
    places, inverse = np.unique(key, return_inverse=True)
    nz = np.bincount(inverse, weights=np.asarray(vals, float), minlength=len(places))
    return ca.DM(_pattern(places, n, m), nz)


def _pattern(places: Whole, n: int, m: int) -> Any:
    counts = np.bincount(places // n, minlength=m) if len(places) else np.zeros(m, int)
    starts = np.concatenate([[0], np.cumsum(counts)])
    return ca.Sparsity(n, m, starts.astype(int).tolist(), (places % n).astype(int).tolist())


def _stacked(group: Group, n: int) -> Any:
    ny = group.kernel.ny
    rows = np.concatenate([k * ny + r for k, r in enumerate(group.s_row)])
    cols, vals = np.concatenate(group.s_col), np.concatenate(group.s_val)
    return _sparse(rows, cols, vals, ny * group.count, n)


class _Scatter:
    """Triplets (row, col, source, factor): a sparse matrix as a linear map of a long vector."""

    def __init__(self, n: int, m: int, upper: bool) -> None:
        self.n, self.m, self.upper = n, m, upper
        self.parts: list[tuple[Whole, Whole, Array]] = []
        self.length = 0
        self.fixed: tuple[Whole, Array] = (np.zeros(0, np.int64), np.zeros(0))

    def constant(self, rows: Array, cols: Array, vals: Array) -> None:
        key = np.asarray(cols, np.int64) * self.n + np.asarray(rows, np.int64)
        self.fixed = (key, np.asarray(vals, float))

    def add(self, rows: Whole, cols: Whole, source: Whole, factor: Array) -> None:
        if self.upper:
            ok = rows <= cols
            rows, cols, source, factor = rows[ok], cols[ok], source[ok], factor[ok]
        key = cols.astype(np.int64) * self.n + rows
        self.parts.append((key, source + self.length, factor))

    def build(self) -> tuple[Any, Any, Any]:
        key = np.concatenate([k for k, _, _ in self.parts])
        source = np.concatenate([s for _, s, _ in self.parts])
        factor = np.concatenate([f for _, _, f in self.parts])
        places = np.unique(np.concatenate([key, self.fixed[0]]))
        index = np.searchsorted(places, key)
        const = np.bincount(
            np.searchsorted(places, self.fixed[0]), weights=self.fixed[1], minlength=len(places)
        )
        mapping = _sparse(index, source, factor, len(places), self.length)
        return mapping, ca.DM(const), _pattern(places, self.n, self.m)


def _scatter(group: Group, numbers: Array, jac: _Scatter, hes: _Scatter) -> None:
    kernel = group.kernel
    ny, ng = kernel.ny, kernel.ng
    jac_mask, hes_mask = kernel.jac_mask, kernel.hes_mask
    rows_of: dict[int, list[tuple[int, int]]] = {}
    for (k, i), number in zip(group.keep, numbers, strict=True):
        rows_of.setdefault(k, []).append((i, number))
    for k in range(group.count):
        r, c, v = group.s_row[k], group.s_col[k], group.s_val[k]
        for i, number in rows_of.get(k, []):
            ok = jac_mask[i, r]
            jac.add(np.full(int(ok.sum()), number), c[ok], (k * ny + r[ok]) * ng + i, v[ok])
        kept = [i for i, _ in rows_of.get(k, [])]
        if not kept:
            continue
        mask = hes_mask[kept].any(axis=0)
        a, b = np.nonzero(mask[np.ix_(r, r)] & (c[:, None] <= c[None, :]))
        hes.add(c[a], c[b], (k * ny + r[b]) * ny + r[a], v[a] * v[b])
    jac.length += ny * ng * group.count
    hes.length += ny * ny * group.count
