"""The forecast turned round: which approach does this length need?"""

from __future__ import annotations

import numpy as np

from layout.athlete.ability import Ability
from layout.athlete.approach import MOST_STRIDES
from layout.athlete.march import Chain, march
from layout.words.faults import refuse


def entry_for(able: Ability, chain: Chain, total: float) -> float:
    """The entry speed whose chain has a given length: the forecast turned round [m/s].

    total(entry) = total, total as of `march`, which never falls with the entry

    Refused where no speed from 1 to 13 m/s gives it. Source: ours.

    >>> from layout.athlete.ability import ability
    >>> from layout.athlete.athlete import athlete_from
    >>> table = {"name": "A", "stature": 1.7, "mass": 60, "leg": "left", "best": 11.0}
    >>> round(entry_for(ability(athlete_from(table)), Chain(("hop", "step"), ("natural",) * 2), 6.0), 2)
    6.34
    """
    low, high = 1.0, 13.0
    for _ in range(4):
        speeds = np.linspace(low, high, 25)
        totals = march(able.who, able.form, chain, speeds).total
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
    able: Ability, chain: Chain, total: float, most: int = MOST_STRIDES
) -> int | None:
    """Fewest strides of approach, up to `most`, whose chain reaches a length; None where none does."""
    made = march(able.who, able.form, chain, able.run.speed[1 : most + 1]).total
    enough = np.flatnonzero(made >= total - 1e-9)
    return int(enough[0]) + 1 if enough.size else None


def enough_strides(able: Ability, chain: Chain, total: float, full: int) -> str:
    """How many strides of an approach would reach a length, up to the athlete's full one, in words."""
    found = strides_for_total(able, chain, total, full)
    return (
        f"{found} strides would reach it"
        if found
        else f"the full {full} strides would not reach it"
    )
