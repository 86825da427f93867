"""The forecast turned round: which approach does this length need?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from layout.athlete.ability import Ability
from layout.athlete.approach import MOST_STRIDES
from layout.athlete.march import march
from layout.words.faults import refuse


def entry_for(
    able: Ability,
    moves: Sequence[str],
    arcs: Sequence[str],
    total: float,
    sand: bool,
    stand: bool = False,
) -> float:
    """The entry speed whose chain has a wanted length: the forecast turned round.

    Parameters
    ----------
    able : Ability
    moves, arcs : sequence of str
    total : float
        [m]
    sand, stand : bool

    Returns
    -------
    float
        [m/s]

    Raises
    ------
    BadInput
        No speed from 1 to 13 m/s gives it.
    """
    low, high = 1.0, 13.0
    for _ in range(4):
        speeds = np.linspace(low, high, 25)
        totals = march(able.who, able.form, moves, arcs, speeds, sand, stand).total
        above = np.flatnonzero(totals >= total)
        if not above.size or (above[0] == 0 and low == 1.0 and totals[0] > total + 0.005):
            least, most = float(totals.min()), float(totals.max())
            raise refuse("length", f"this drill can be {least:.2f} to {most:.2f} m long", total)
        at = max(int(above[0]), 1)
        low, high = float(speeds[at - 1]), float(speeds[at])
    span = float(totals[at] - totals[at - 1])
    share = (total - float(totals[at - 1])) / span if span > 0 else 1.0
    return low + (high - low) * share


def strides_for_total(
    able: Ability,
    moves: Sequence[str],
    arcs: Sequence[str],
    total: float,
    sand: bool,
    most: int = MOST_STRIDES,
) -> int | None:
    """Fewest strides of approach, up to `most`, whose chain reaches a length; None where none does."""
    made = march(able.who, able.form, moves, arcs, able.run.speed[1 : most + 1], sand).total
    enough = np.flatnonzero(made >= total - 1e-9)
    return int(enough[0]) + 1 if enough.size else None


def enough_strides(
    able: Ability, moves: Sequence[str], arcs: Sequence[str], total: float, sand: bool, full: int
) -> str:
    """How many strides of an approach would reach a length, up to the athlete's full one, in words."""
    found = strides_for_total(able, moves, arcs, total, sand, full)
    return (
        f"{found} strides would reach it"
        if found
        else f"the full {full} strides would not reach it"
    )
