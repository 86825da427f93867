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

from animate.body.body import Array
from animate.motion.solver.mechanics import Kernel
from animate.motion.solver.wide import WIDTH, blocks, place

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

    def build(self, quadratic: Array) -> Built:
        """Everything the optimiser calls, as maps of the kernels' values and derivatives.

        Parameters
        ----------
        quadratic : ndarray (m, 3)
            Upper triangle of the objective's matrix as (row, col, value).
        """
        return Built(self, quadratic)

    def parameters(self, lean: Array) -> Array:
        """The parameter vector of `Built`: the objective's linear part, then the instants'."""
        parts = [lean]
        for g in self.groups.values():
            size = g.kernel.np
            flat = np.zeros(blocks(g.count) * WIDTH * size)
            flat[place(np.arange(g.count)[:, None], np.arange(size), size)] = g.parameters
            parts.append(flat)
        return np.concatenate(parts)


class Built:
    """A program as casadi expressions; `functions` gives what the optimiser calls."""

    def __init__(self, program: Program, quadratic: Array) -> None:
        n = program.size
        self.size, self.count = n, len(program.low)
        widths = [g.kernel.np * WIDTH * blocks(g.count) for g in program.groups.values()]
        self.x, self.p = ca.MX.sym("x", n), ca.MX.sym("p", n + sum(widths))
        matrix = _sparse(quadratic[:, 0], quadratic[:, 1], quadratic[:, 2], n, n)
        self.full = matrix + matrix.T - ca.diag(ca.diag(matrix))
        self.linear = np.array(program.linear) if program.linear else np.zeros((0, 3))
        self.groups = [_Wide(g) for g in program.groups.values()]
        hes, jac = _Scatter(n), _Scatter(self.count)
        values, jacs, at = [], [], n
        rows_of: dict[str, list[int]] = {name: [] for name in program.groups}
        for number, (name, _) in enumerate(program.order):
            if name:
                rows_of[name].append(number)
        self.source = np.full(self.count, -1)
        length = 0
        for (name, group), one, width in zip(
            program.groups.items(), self.groups, widths, strict=True
        ):
            one.enter(self.x, self.p[at : at + width], n)
            at += width
            numbers = np.array(rows_of[name], int)
            kept = np.array(group.keep, int).reshape(-1, 2)
            self.source[numbers] = length + place(kept[:, 0], kept[:, 1], group.kernel.ng)
            length += group.kernel.ng * WIDTH * one.blocks
            values.append(ca.vec(one.value))
            jacs.append(ca.vec(one.jac))
            one.scatter(numbers, kept, jac, hes)
        self.values, self.jacs = ca.vertcat(*values), ca.vertcat(*jacs)
        jac.constant(self.linear[:, 0], self.linear[:, 1], self.linear[:, 2])
        self.jac_map = jac.build(n)
        hes.constant(quadratic[:, 0], quadratic[:, 1], quadratic[:, 2])
        self.hes_map = hes.build(n)

    def functions(self) -> dict[str, Any]:
        """Objective, constraints and derivatives.

        Returns
        -------
        dict
            nlp (x, p -> f, g), nlp_g, jac_g, hess_lag, grad_f.
        """
        n, m = self.size, self.count
        lam_f, lam_g = ca.MX.sym("lf"), ca.MX.sym("lg", m)
        lean = self.p[:n]
        f = ca.dot(self.x, ca.mtimes(self.full, self.x)) / 2 - ca.dot(lean, self.x)
        real = np.flatnonzero(self.source >= 0)
        put = _sparse(real, self.source[real], np.ones(len(real)), m, self.values.numel())
        lin = self.linear
        g = ca.mtimes(_sparse(lin[:, 0], lin[:, 1], lin[:, 2], m, n), self.x)
        g = ca.densify(g + ca.mtimes(put, self.values))
        jac_map, jac_const, jac_sp = self.jac_map
        hes_map, hes_const, hes_sp = self.hes_map
        lam = ca.mtimes(put.T, lam_g)
        start, parts = 0, []
        for one in self.groups:
            size = one.group.kernel.ng * WIDTH * one.blocks
            parts.append(ca.vec(one.hess(lam[start : start + size])))
            start += size
        x, p = self.x, self.p
        jac_nz = ca.mtimes(jac_map, self.jacs) + jac_const
        hes_nz = ca.mtimes(hes_map, ca.vertcat(*parts)) + hes_const * lam_f
        return {
            "nlp": {"x": x, "p": p, "f": f, "g": g},
            "nlp_g": ca.Function("g", [x, p], [g]),
            "jac_g": ca.Function("nlp_jac_g", [x, p], [g, ca.MX(jac_sp, jac_nz)]),
            "hess_lag": ca.Function("nlp_hess_l", [x, p, lam_f, lam_g], [ca.MX(hes_sp, hes_nz)]),
            "grad_f": ca.Function("nlp_grad_f", [x, p], [f, ca.mtimes(self.full, x) - lean]),
        }


class _Wide:
    """A group of instants in blocks."""

    def __init__(self, group: Group) -> None:
        self.group, self.blocks = group, blocks(group.count)

    def enter(self, x: Any, parameters: Any, n: int) -> None:
        """Hang the kernel on the unknowns."""
        group, kernel = self.group, self.group.kernel
        rows = [place(k, r, kernel.ny) for k, r in enumerate(group.s_row)]
        cols, vals = np.concatenate(group.s_col), np.concatenate(group.s_val)
        whole = kernel.ny * WIDTH * self.blocks
        stacked = _sparse(np.concatenate(rows), cols, vals, whole, n)
        self.y = ca.reshape(ca.mtimes(stacked, x), WIDTH, kernel.ny * self.blocks)
        self.par = ca.reshape(parameters, WIDTH, kernel.np * self.blocks)
        self.value = kernel.value.map(self.blocks)(self.y, self.par)
        self.jac = kernel.jac.map(self.blocks)(self.y, self.par)

    def hess(self, lam: Any) -> Any:
        """The Hessian's entries for multipliers of every row of every instant."""
        kernel = self.group.kernel
        lam = ca.reshape(lam, WIDTH, kernel.ng * self.blocks)
        return kernel.hess.map(self.blocks)(self.y, self.par, lam)

    def scatter(self, numbers: Whole, kept: Whole, jac: _Scatter, hes: _Scatter) -> None:
        """Where the derivatives' entries go."""
        group, kernel = self.group, self.group.kernel
        sizes = kernel.value.size2_out(0), kernel.jac.size2_out(0), kernel.hess.size2_out(0)
        order = np.argsort(kept[:, 0], kind="stable")
        ends = np.searchsorted(kept[order, 0], np.arange(group.count + 1))
        for k in range(group.count):
            r, c, v = group.s_row[k], group.s_col[k], group.s_val[k]
            mine = order[ends[k] : ends[k + 1]]
            if not len(mine):
                continue
            entry = kernel.jac_at[kept[mine, 1]][:, r]
            i, j = np.nonzero(entry >= 0)
            jac.add(numbers[mine][i], c[j], place(k, entry[i, j], sizes[1]), v[j])
            pair = kernel.hes_at[np.ix_(r, r)]
            a, b = np.nonzero((pair >= 0) & (c[:, None] <= c[None, :]))
            hes.add(c[a], c[b], place(k, pair[a, b], sizes[2]), v[a] * v[b])
        jac.length += sizes[1] * WIDTH * self.blocks
        hes.length += sizes[2] * WIDTH * self.blocks


def _sparse(rows: Array | Whole, cols: Array | Whole, vals: Array, n: int, m: int) -> Any:
    """A constant sparse matrix; repeated places add up."""
    key = np.asarray(cols, np.int64) * n + np.asarray(rows, np.int64)
    vals = np.asarray(vals, float)
    if not len(key):
        return ca.DM(n, m)
    order = np.argsort(key)
    key = key[order]
    first = np.flatnonzero(np.concatenate([[True], np.diff(key) > 0]))
    return ca.DM(_pattern(key[first], n, m), np.add.reduceat(vals[order], first))


def _pattern(places: Whole, n: int, m: int) -> Any:
    counts = np.bincount(places // n, minlength=m) if len(places) else np.zeros(m, int)
    starts = np.concatenate([[0], np.cumsum(counts)])
    return ca.Sparsity(n, m, starts.astype(int).tolist(), (places % n).astype(int).tolist())


class _Scatter:
    """Triplets (row, col, source, factor): a sparse matrix as a linear map of a long vector."""

    def __init__(self, n: int) -> None:
        self.n = n
        self.parts: list[tuple[Whole, Whole, Whole, Array]] = []
        self.length = 0
        self.fixed: tuple[Whole, Array] = (np.zeros(0, np.int64), np.zeros(0))

    def constant(self, rows: Array, cols: Array, vals: Array) -> None:
        """Entries that do not change."""
        key = np.asarray(cols, np.int64) * self.n + np.asarray(rows, np.int64)
        self.fixed = (key, np.asarray(vals, float))

    def add(self, rows: Whole, cols: Whole, source: Whole, factor: Array) -> None:
        """Entries that are a factor times an element of the source."""
        self.parts.append((rows, cols, source + self.length, factor))

    def build(self, m: int) -> tuple[Any, Any, Any]:
        """The map, the constant part and the pattern of the n by m matrix."""
        row, col, source, factor = (np.concatenate(part) for part in zip(*self.parts, strict=True))
        key = col.astype(np.int64) * self.n + row
        used = np.zeros(self.n * m, bool)
        used[key] = used[self.fixed[0]] = True
        places = np.flatnonzero(used)
        number = np.cumsum(used, dtype=np.int32) - 1
        index = number[key]
        const = np.bincount(number[self.fixed[0]], weights=self.fixed[1], minlength=len(places))
        mapping = _sparse(index, source, factor, len(places), self.length)
        return mapping, ca.DM(const), _pattern(places, self.n, m)
