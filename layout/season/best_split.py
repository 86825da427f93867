"""The best split for this athlete from what was jumped: bounds, flatness, and no more than that."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from layout.athlete.ability import Ability
from layout.athlete.bend import whole
from layout.athlete.carry import SHOWN_MARGIN, Form
from layout.athlete.optimum import FLAT, Optimum, best_split
from layout.season.chains import form_of
from layout.season.refit import Refit
from layout.words.split import PHASES

LIKELY: Final = (0.10, 0.90)
"""Bounds hold eight of ten likely parameter sets (ours)."""
_SETS: Final = 60
_ROUNDED: Final = 0.005
"""Shares are told in whole per cent."""


@dataclass(frozen=True)
class BestSplit:
    """The search on the fitted line."""

    optimum: Optimum
    usual: tuple[float, float, float]  # shares of the jump it starts from [-]
    bounds: tuple[tuple[float, float], ...]  # of the best shares [-]
    gain: tuple[float, float]  # bounds of the gain [m]
    inside: bool  # whether the usual split is among those within `optimum.FLAT` of the best
    fitted: bool  # whether the parameters are the athlete's own


def best_split_of(able: Ability, found: Refit) -> BestSplit:
    """Search the best split on an athlete's own line and on others as likely.


    Source: search of `layout.athlete.optimum`, form Yu & Hay 1996; bounds by likely parameter sets.
    """
    optimum = best_split(replace(able, shown=found.form))
    shares, gains = [], []
    for i in range(_SETS):
        form = form_of(able.who, found.draws, i)
        one = best_split(replace(able, shown=form))
        shares.append(one.shares)
        gains.append(one.gain)
    bounds = np.quantile(np.array(shares), LIKELY, axis=0).T
    low, high = np.quantile(np.array(gains), LIKELY)
    usual = _shares(able, found.form)
    inside = all(
        lowest - _ROUNDED <= share <= highest + _ROUNDED
        for share, (lowest, highest) in zip(usual, optimum.flat, strict=True)
    )
    return BestSplit(
        optimum,
        usual,
        tuple((float(a), float(b)) for a, b in bounds),
        (float(low), float(high)),
        inside,
        found.enough,
    )


def _shares(able: Ability, form: Form) -> tuple[float, float, float]:
    """Shares of the jump that a form makes."""
    lengths = whole(able.who, form).length[:, 0]
    hop, step, jump = (float(d) for d in lengths / lengths.sum())
    return hop, step, jump


def best_split_text(found: BestSplit) -> str:
    """Plain sentences that do not over-promise."""
    best, usual = (
        ":".join(f"{100 * s:.0f}" for s in shares) for shares in (found.optimum.shares, found.usual)
    )
    near = ", ".join(
        f"{name} {100 * low:.0f} to {100 * high:.0f}"
        for name, (low, high) in zip(PHASES, found.optimum.flat, strict=True)
    )
    text = (
        f"{'Usual' if found.fitted else 'Best jump'} split {usual}; best computed {best}, with every "
        f"upward speed kept within {100 * SHOWN_MARGIN:.0f} % of that jump's. "
        f"Nearly as good, within {100 * FLAT:.0f} cm: {near} %. "
    )
    if found.inside:
        text += "The present split is among those: a change of split alone wins next to nothing. "
    else:
        low, high = (100 * g for g in found.gain)
        text += (
            f"The present split lies outside; the computation finds {low:.0f} to {high:.0f} cm. "
        )
    wide = ", ".join(
        f"{name} {100 * low:.0f} to {100 * high:.0f}"
        for name, (low, high) in zip(PHASES, found.bounds, strict=True)
    )
    text += f"As unsure as the parameters are, the best could lie at {wide} %. "
    if found.optimum.at_edge:
        names = " and ".join(", ".join(found.optimum.at_edge).rsplit(", ", 1))
        text += (
            f"It asks for all the change it may in the {names}: that is strength and timing, not "
            "split, so take the direction and not the figure. "
        )
    whose = "the athlete's own" if found.fitted else "default"
    return text + f"Computed on {whose} parameters: a hint, not a promise."
