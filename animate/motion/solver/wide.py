"""Evaluate a function for many instants at once, each operation on a row of instants.

A scalar function of symbols costs the same few nanoseconds of book-keeping for every operation of
every instant; done on `WIDTH` instants together that cost is shared, some four times faster.
"""

from __future__ import annotations

from typing import Any, Final

import casadi as ca
import numpy as np
from numpy.typing import NDArray

WIDTH: Final = 48
"""Instants done together."""

Whole = NDArray[np.int_]


def widened(function: Any) -> Any:
    """The same function of `WIDTH` columns: every input and output element becomes a column.

    Parameters
    ----------
    function : casadi Function
        Of dense column vectors, made of scalar symbols.

    Returns
    -------
    casadi Function
        Inputs (WIDTH, size in), outputs (WIDTH, size out).
    """
    given = [ca.MX.sym(f"i{k}", WIDTH, function.size1_in(k)) for k in range(function.n_in())]
    columns = [ca.horzsplit(one) for one in given]
    out: list[list[Any]] = [[None] * function.nnz_out(k) for k in range(function.n_out())]
    store: list[Any] = [None] * function.sz_w()
    for k in range(function.n_instructions()):
        what = function.instruction_id(k)
        to, of = function.instruction_output(k), function.instruction_input(k)
        if what == ca.OP_CONST:
            store[to[0]] = ca.MX(function.instruction_constant(k))
        elif what == ca.OP_INPUT:
            store[to[0]] = columns[of[0]][of[1]]
        elif what == ca.OP_OUTPUT:
            out[to[0]][to[1]] = store[of[0]]
        elif len(of) == 2:
            store[to[0]] = ca.MX.binary(what, store[of[0]], store[of[1]])
        else:
            store[to[0]] = ca.MX.unary(what, store[of[0]])
    ones = ca.MX.ones(WIDTH, 1)
    whole = [ca.horzcat(*(c if c.numel() == WIDTH else c * ones for c in row)) for row in out]
    return ca.Function(function.name(), given, whole)


def blocks(count: int) -> int:
    """Blocks of `WIDTH` that hold this many instants."""
    return -(-count // WIDTH)


def place(instant: Any, element: Any, size: int) -> Any:
    """Where an element of an instant stands in the flat vector of all blocks."""
    return ((instant // WIDTH) * size + element) * WIDTH + instant % WIDTH
