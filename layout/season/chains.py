"""Lengths of a chain for many sets of parameters at once: what the planner marches, as a function
of what is to be fitted."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final, cast

import numpy as np

from animate.body.body import Array, Body
from layout.athlete.approach import MOST_STRIDES, approach
from layout.athlete.carry import Form, carried, form_of_march
from layout.athlete.march import Chain, march
from layout.words.trade import MOVES

NAMES: Final = (
    "speed", "up_hop", "up_step", "up_jump", "slope", "pull", "loss_hop", "loss_step", "loss_jump",
    "tau", "stand",
)  # fmt: skip
"""Parameters in the order of every array of them: full approach speed, upward take-off speeds, the
line's slope and pull, shares of speed lost in the three contacts, time constant of the approach,
take-off speed from standing."""
INDEX: Final = {name: i for i, name in enumerate(NAMES)}


def form_of(who: Body, theta: Array, column: int | None = None) -> Form:
    """The form of a full approach with these parameters.

    Contact by contact vx = (1 - loss) vx_in and vy = up: the line of the form passes through these.

    Parameters
    ----------
    theta : ndarray (11, k)
        In the order of `NAMES`.
    column : int or None
        The one parameter set to give in plain numbers; all, with fields (k,), where left out.
    """
    theta = theta if column is None else theta[:, column : column + 1]
    ups, losses = theta[1:4], theta[6:9]
    made = carried(
        who, MOVES, theta[0], lambda i, _, into, fall: (into * (1.0 - losses[i]), ups[i])
    )
    found = form_of_march(made, Form(*[cast(Any, 0.0)] * 5), None if column is None else 0)
    given: Any = (
        (tuple(losses), *theta[4:6])
        if column is None
        else (tuple(losses[:, 0].tolist()), *theta[4:6, 0].tolist())
    )
    return replace(found, losses=given[0], slope=given[1], pull=given[2])


def predicted(who: Body, theta: Array, chain: Chain, entry: Array) -> Array:
    """Phase lengths of a chain for many parameter sets [m], ndarray (phases, k)."""
    return march(who, form_of(who, theta), chain, entry).length


def speeds_of(theta: Array, full_strides: int, stature: float, run_up: float | None) -> Array:
    """Speed after 0 to 24 strides for each parameter set [m/s], ndarray (25, k)."""
    pairs = np.stack([theta[INDEX["speed"]], theta[INDEX["tau"]]])
    different, which = np.unique(pairs, axis=1, return_inverse=True)
    curves = [
        approach(float(v), full_strides, stature, float(t), run_up).speed for v, t in different.T
    ]
    return np.array(curves).reshape(-1, MOST_STRIDES + 1).T[:, which.ravel()]
