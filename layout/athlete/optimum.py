"""The split that takes this athlete furthest at today's speed, and how flat the best is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, cast

import numpy as np

from animate.body.body import Array
from animate.refused import Refused
from layout.athlete.ability import Ability
from layout.athlete.carry import SHOWN_MARGIN, carried
from layout.words.trade import MOVES

FLAT: Final = 0.05
"""Splits within this of the best total count as equally good [m] (ours)."""
_GRID: Final = 15


@dataclass(frozen=True)
class Optimum:
    """The best split inside what the athlete has shown.

    `gain` is over the shown jump's total [m]; `flat` the lowest and highest share of each phase among
    splits within `FLAT` of the best; `at_edge` the moves whose vertical speed sits at the edge of what
    was shown: the true best may lie beyond.
    """

    total: float
    gain: float
    shares: tuple[float, float, float]
    flat: tuple[tuple[float, float], tuple[float, float], tuple[float, float]]
    at_edge: tuple[str, ...]


def best_split(able: Ability, margin: float = SHOWN_MARGIN) -> Optimum:
    """Search vertical take-off speeds within a margin of the shown ones, on the athlete's own line.

    max of the total over vy_i = f_i vy_i of the shown form, 15 values of each f from 1 - margin to
    1 + margin; vx = `Form.out_of` of each contact. `margin` [-] is above 0 to .25.
    Source: search on the loss/gain line (form Yu & Hay 1996); bounds ours.

    >>> from layout.athlete.ability import ability
    >>> from layout.athlete.athlete import athlete_from
    >>> table = {"name": "A", "stature": 1.7, "mass": 60, "leg": "left", "best": 11.0}
    >>> found = best_split(ability(athlete_from(table)))
    >>> round(found.total, 2), round(found.gain, 2), [round(s, 3) for s in found.shares]
    (11.11, 0.11, [0.333, 0.314, 0.354])
    """
    if not 0.0 < margin <= 0.25:
        raise Refused("margin", "above 0 to .25", f"{margin:g}")
    form = able.shown
    scale = np.linspace(1.0 - margin, 1.0 + margin, _GRID)
    mesh = [m.ravel() for m in np.meshgrid(scale, scale, scale, indexing="ij")]

    def take_off(i: int, contact: int | None, into: Array, fall: Array) -> tuple[Array, Array]:
        vy = form.vy[i] * mesh[i]
        return form.out_of(cast(int, contact), into, vy - fall), vy

    phases = carried(able.who, MOVES, np.full(mesh[0].size, form.entry), take_off).length
    totals = phases.sum(axis=0)
    best, middle = int(totals.argmax()), mesh[0].size // 2
    shares = phases / totals
    near = shares[:, totals >= totals[best] - FLAT]
    edge = [
        move
        for move, values in zip(MOVES, mesh, strict=True)
        if abs(values[best] - 1.0) > margin * 0.99
    ]
    hop, step, jump = (float(s) for s in shares[:, best])
    flat = [(float(row.min()), float(row.max())) for row in near]
    gain = float(totals[best] - totals[middle])
    return Optimum(
        float(totals[best]), gain, (hop, step, jump), (flat[0], flat[1], flat[2]), tuple(edge)
    )


def optimum_text(found: Optimum) -> str:
    """One plain sentence or two that do not over-promise."""
    split = ":".join(f"{100 * s:.0f}" for s in found.shares)
    (low, high), *_ = found.flat
    text = (
        f"At today's speed the model's best split is about {split}, {100 * found.gain:.0f} cm more than "
        f"the jump it was made from; any hop share from {100 * low:.0f} to {100 * high:.0f} % comes "
        f"within {100 * FLAT:.0f} cm of it."
    )
    if found.at_edge:
        names = " and ".join(", ".join(found.at_edge).rsplit(", ", 1))
        verb = "sits" if len(found.at_edge) == 1 else "sit"
        text += (
            f" Upward speed in the {names} {verb} at the edge of what the athlete has shown, so take "
            "the direction, not the figure."
        )
    return text + " Default parameters unless you gave your own: a hint, not a promise."
