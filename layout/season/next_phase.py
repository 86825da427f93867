"""Where the next centimetres are, and how surely: which phase of a whole jump, and which split."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, cast

import numpy as np

from animate.body.body import Array, Body
from layout.athlete.ability import Ability
from layout.athlete.bend import whole
from layout.athlete.carry import SHOWN_MARGIN, Form, carried
from layout.athlete.optimum import FLAT, Optimum, best_split
from layout.season.comparison import INDEX, form_of
from layout.season.refit import Refit
from layout.season.told import Told
from layout.words.split import PHASES
from layout.words.trade import MOVES

LEAST: Final = 6
"""Whole jumps with all three phases measured, before it is asked at all (ours)."""
LOOKED_AT: Final = 40
"""Latest whole jumps that are looked at (ours)."""
BETTER: Final = 0.80
"""A better day's phase: longer than this share of the athlete's own (ours)."""
SURE: Final = 0.80
"""The phase is named where it comes first in this share of what is likely (ours)."""
_NUDGE: Final = 0.10
_DRAWS: Final = 200


@dataclass(frozen=True)
class Room:
    """What one phase has to give."""

    name: str
    better: float  # A better day's phase less the usual one [m]
    # what 1 m more in this phase, by upward speed, changes the total by [m]: it costs speed for the
    # phases after it
    worth: float
    # net, sure: better times worth, and its standard deviation [m]
    net: float
    sure: float
    first: float  # how often it comes first in what is likely [-]

    @property
    def cost(self) -> float:
        """What a better day's phase takes from those after it [m]."""
        return self.better * (self.worth - 1.0)


@dataclass(frozen=True)
class NextPhase:
    """Where the next centimetres are."""

    count: int  # whole jumps looked at; below `LEAST` nothing else is known
    strides: int | None
    rooms: tuple[Room, ...]  # hop, step, jump; empty where there are too few
    name: str | None  # the phase; None where it cannot be told

    @property
    def room(self) -> Room | None:
        """What the phase has to give; None where it cannot be told."""
        return next((r for r in self.rooms if r.name == self.name), None)


def worth_of(who: Body, form: Form, draws: Array) -> Array:
    """What 1 m more in a phase changes the total by [m], ndarray (3, k).

    draws: (11, k), parameters, of which slope and pull are used.
    """
    count = draws.shape[1]
    many = replace(
        form, slope=cast(Any, draws[INDEX["slope"]]), pull=cast(Any, draws[INDEX["pull"]])
    )
    entry = np.full(count, form.entry)

    def lengths(nudged: int | None) -> Array:
        def take_off(i: int, contact: int | None, into: Array, fall: Array) -> tuple[Array, Array]:
            vy = form.vy[i] + _NUDGE * (i == nudged)
            return many.out_of(i, into, vy - fall), np.full(count, vy)

        return carried(who, MOVES, entry, take_off).length

    base, out = lengths(None), []
    for i in range(len(MOVES)):
        change = lengths(i) - base
        out.append(change.sum(axis=0) / change[i])
    return np.array(out)


def next_phase(tolds: Sequence[Told], who: Body, form: Form, draws: Array) -> NextPhase:
    """Ask the whole jumps which phase the next centimetres are in.

    net = (80 of 100 of the athlete's own phases are shorter - middle) x worth

    Source: ours, on the loss/gain line (form Yu & Hay 1996).

    draws: (11, k), as likely as the fit; from the priors where nothing was fitted.
    """
    best: tuple[int, Array, int | None] = (0, np.zeros((0, 3)), None)
    for told in tolds:
        if not told.kind.whole:
            continue
        full = told.lengths[np.isfinite(told.lengths).all(axis=1)][-LOOKED_AT:]
        # The longest run-up that has enough; else the one with most.
        key = (len(full) >= LEAST, told.kind.strides or 0, len(full))
        if key > (best[0] >= LEAST, best[2] or 0, best[0]):
            best = (len(full), full, told.kind.strides)
    count, lengths, strides = best
    if count < LEAST:
        return NextPhase(count, strides, (), None)
    rng = np.random.default_rng(0)
    picks = rng.integers(0, count, (_DRAWS, count))
    again = lengths[picks]
    better = np.quantile(again, BETTER, axis=1) - np.median(again, axis=1)
    worth = worth_of(who, form, draws[:, rng.integers(0, draws.shape[1], _DRAWS)])
    net = better * worth.T
    alike = 1e-9 * rng.random(net.shape)  # phases that tie take turns
    first = np.bincount((net + alike).argmax(axis=1), minlength=3) / _DRAWS
    shown = np.quantile(lengths, BETTER, axis=0) - np.median(lengths, axis=0)
    rooms = tuple(
        Room(name, float(shown[i]), float(np.median(worth[i])), float(shown[i] * np.median(worth[i])),
             float(net[:, i].std()), float(first[i]))
        for i, name in enumerate(MOVES)
    )  # fmt: skip
    top = int(first.argmax())
    sure = first[top] >= SURE and rooms[top].net > 0.0
    return NextPhase(count, strides, rooms, MOVES[top] if sure else None)


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
        form = form_of(able, found.draws, i)
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
