"""A symmetric matrix whose unknowns only meet those of the phase before and the next."""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array

Whole = NDArray[np.int_]
_LEAF: Final = 40
"""Below this size a triangle is inverted at once."""


class Layout:
    """Where each entry stands in one flat vector: blocks of a phase, and of a phase with the next.

    Unknown number `ends[-1]` stands for none: what is written there falls into a spare last place.
    """

    def __init__(self, ends: Whole) -> None:
        self.ends = ends
        self.n = int(ends[-1])
        self.sizes = [int(s) for s in np.diff(ends)]
        here = [s * s for s in self.sizes]
        beside = [a * b for a, b in itertools.pairwise(self.sizes)] + [0]
        at = np.cumsum([0, *itertools.chain.from_iterable(zip(here, beside, strict=True))])
        self.here, self.beside, self.length = at[::2], at[1::2], int(at[-1])
        self.block = np.searchsorted(ends, np.arange(self.n + 1), side="right") - 1
        self.local = np.arange(self.n + 1) - ends[self.block]
        self.diagonal = np.concatenate(
            [a + np.arange(s) * (s + 1) for a, s in zip(self.here, self.sizes, strict=False)]
        )

    def places(self, index: Whole) -> Whole:
        """Of each pair of some unknowns, (k, l) to (k, l, l)."""
        block, local = self.block[index], self.local[index]
        size = np.array([*self.sizes, 0])[block]
        one, other = block[:, :, None], block[:, None, :]
        beside = np.append(self.beside, 0)[block]
        start = np.where(one == other, self.here[block][:, :, None], beside[:, :, None])
        out = start + local[:, :, None] * size[:, None, :] + local[:, None, :]
        kept = ((one == other) | (other == one + 1)) & (one < len(self.sizes)) & (size[:, None] > 0)
        return np.where(kept, out, self.length)

    def pieces(self, flat: Array) -> tuple[list[Array], list[Array]]:
        """Blocks of the phases and of each with the next, as views."""
        here = [
            flat[a : a + s * s].reshape(s, s) for a, s in zip(self.here, self.sizes, strict=False)
        ]
        pairs = zip(self.beside, itertools.pairwise(self.sizes), strict=False)
        return here, [flat[at : at + a * b].reshape(a, b) for at, (a, b) in pairs]

    def split(self, x: Array) -> list[Array]:
        """A vector phase by phase."""
        return [x[a:b] for a, b in itertools.pairwise(self.ends)]

    def times(self, flat: Array, x: Array) -> Array:
        """The matrix times a vector."""
        here, beside = self.pieces(flat)
        parts = self.split(x)
        out = [block @ part for block, part in zip(here, parts, strict=True)]
        for i, block in enumerate(beside):
            out[i] += block @ parts[i + 1]
            out[i + 1] += block.T @ parts[i]
        return np.concatenate(out)


class Factor:
    """Cholesky factor of a matrix plus a diagonal; numpy's LinAlgError where it is not positive."""

    def __init__(self, layout: Layout, flat: Array, diagonal: Array) -> None:
        flat = flat.copy()
        flat[layout.diagonal] += diagonal
        self.layout = layout
        here, beside = layout.pieces(flat)
        self.inverse: list[Array] = []
        self.beside: list[Array] = []
        for i, block in enumerate(here):
            if i:
                block = block - self.beside[-1].T @ self.beside[-1]
            self.inverse.append(_inverted(np.asarray(np.linalg.cholesky(block), float)))
            if i < len(beside):
                self.beside.append(self.inverse[-1] @ beside[i])

    def solve(self, right: Array) -> Array:
        """The matrix's inverse times a vector."""
        out: list[Array] = []
        for i, part in enumerate(self.layout.split(right)):
            part = part - self.beside[i - 1].T @ out[-1] if i else part
            out.append(self.inverse[i] @ part)
        for i in range(len(out) - 1, -1, -1):
            part = out[i] - self.beside[i] @ out[i + 1] if i + 1 < len(out) else out[i]
            out[i] = self.inverse[i].T @ part
        return np.concatenate(out)


def _inverted(low: Array) -> Array:
    """Inverse of a lower triangle, by halves."""
    n = len(low)
    if n <= _LEAF:
        return np.asarray(np.linalg.inv(low), float)
    k = n // 2
    out = np.zeros_like(low)
    out[:k, :k], out[k:, k:] = _inverted(low[:k, :k]), _inverted(low[k:, k:])
    out[k:, :k] = -out[k:, k:] @ (low[k:, :k] @ out[:k, :k])
    return out
