"""Lengths of a chain for many sets of parameters at once: what the planner marches, as a function
of what is to be fitted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final, cast

import numpy as np

from animate.body.body import Array, Body
from layout.athlete.approach import MOST_STRIDES, approach
from layout.athlete.carry import RUN_FALL, Form, arrival, phase_for
from layout.athlete.march import ARCS, SLOWEST, allowed_gain, even_lifts, fastest_from
from layout.words.trade import MOVES

NAMES: Final = (
    "speed", "up_hop", "up_step", "up_jump", "slope", "pull", "loss_hop", "loss_step", "loss_jump",
    "tau", "stand",
)  # fmt: skip
"""Parameters in the order of every array of them: full approach speed, upward take-off speeds, the
line's slope and pull, shares of speed lost in the three contacts, time constant of the approach,
take-off speed from a stand."""
INDEX: Final = {name: i for i, name in enumerate(NAMES)}
_KIND: Final = {"run": 0, "hop": 1, "step": 2}


def form_of(who: Body, theta: Array) -> Form:
    """The form of a full approach with these parameters; its fields are arrays (k,).

    Parameters
    ----------
    who : Body
    theta : ndarray (11, k)
        In the order of `NAMES`.
    """
    into = theta[INDEX["speed"]]
    ups, losses = theta[1:4], theta[6:9]
    fall = np.full_like(into, RUN_FALL)
    out, gains = [], []
    entry = into
    for move, up, loss in zip(MOVES, ups, losses, strict=True):
        into = into * (1.0 - loss)
        gains.append(up - fall)
        out.append(into)
        _, _, fall = phase_for(who, move, arrival(move, False), into, up)
    parts = (
        entry,
        out,
        list(ups),
        gains,
        list(losses),
        theta[INDEX["slope"]],
        theta[INDEX["pull"]],
    )
    return Form(*cast(Any, tuple(tuple(p) if isinstance(p, list) else p for p in parts)))


def lengths_of(
    who: Body,
    form: Form,
    moves: Sequence[str],
    ups: Sequence[Array],
    entry: Array,
    sand: bool,
    stand: bool = False,
    limited: bool = True,
    arcs: Sequence[str] = (),
) -> Array:
    """Phase lengths of a chain [m], ndarray (moves, k); as `layout.athlete.march.march` makes them.

    Parameters
    ----------
    who : Body
    form : Form
        Its fields may be arrays (k,).
    moves : sequence of str (m,)
    ups : sequence of ndarray (k,)
        Vertical take-off velocity wanted in each [m/s].
    entry : ndarray (k,)
        Speed at the first touchdown, or at take-off from a stand [m/s].
    sand, stand : bool
    limited : bool
        Whether no contact gives more vertical change than was shown in one.
    arcs : sequence of str (m,)
        Natural where left out.
    """
    arcs = arcs or ("natural",) * len(moves)
    most = np.maximum.reduce([np.asarray(g, float) for g in form.gains])
    rooms = [allowed_gain(most, arcs, i) for i in range(len(moves))]
    into, fall, arrive = entry, np.full_like(entry, RUN_FALL), "run"
    lengths = []
    for i, (move, up) in enumerate(zip(moves, ups, strict=True)):
        leave = move
        if limited:
            up = np.minimum(up, even_lifts(who, moves, arcs, i, into, rooms))
        if i == 0 and stand:
            leave, out = "stand", into
        else:
            up = np.minimum(up, rooms[i] + fall) if limited else up
            loss = form.loss(_KIND[arrive], into, up - fall, form.slope, form.pull)
            out = np.clip(into - loss, SLOWEST, fastest_from(form.entry, into))
        landing = arrival(move, sand and i == len(moves) - 1)
        length, _, fall = phase_for(who, leave, landing, out, np.clip(up, -1.5, 6.0))
        lengths.append(length)
        into, arrive = out, move
    return np.array(lengths)


def predicted(
    who: Body,
    theta: Array,
    moves: Sequence[str],
    arcs: Sequence[str],
    entry: Array,
    sand: bool,
    stand: bool,
) -> Array:
    """Phase lengths of a drill for many parameter sets [m], ndarray (moves, k)."""
    form = form_of(who, theta)
    ups = [np.asarray(form.vy[MOVES.index(m)]) * ARCS[a] for m, a in zip(moves, arcs, strict=True)]
    return lengths_of(who, form, moves, ups, entry, sand, stand, arcs=arcs)


def speeds_of(theta: Array, full_strides: int, stature: float, run_up: float | None) -> Array:
    """Speed after 0 to 24 strides for each parameter set [m/s], ndarray (25, k)."""
    pairs = np.stack([theta[INDEX["speed"]], theta[INDEX["tau"]]])
    different, which = np.unique(pairs, axis=1, return_inverse=True)
    curves = [
        approach(float(v), full_strides, stature, float(t), run_up).speed for v, t in different.T
    ]
    return np.array(curves).reshape(-1, MOST_STRIDES + 1).T[:, which.ravel()]
