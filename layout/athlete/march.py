"""March through a chain of contacts: what a drill's approach and moves make of an athlete's form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from animate.body.stances import GRAVITY
from animate.refused import Refused
from layout.athlete.carry import Form, March, carried
from layout.athlete.flight import leave_at, stance_at
from layout.rules.rule import rule
from layout.words.trade import MOVES

ARCS: Final[dict[str, float]] = {"low": 0.80, "natural": 1.00, "high": 1.10}
"""Vertical take-off velocity of an arc against the athlete's own (ours, no source; high stays
inside the 10 % of what the athlete has shown)."""
STAND_SPEED: Final[float] = rule("stand_speed")
"""Horizontal take-off speed from standing as a share of full approach speed."""


@dataclass(frozen=True)
class Chain:
    """Moves of a run with their arcs.

    moves, arcs: hop, step or jump; low, natural or high.
    sand, stand: whether the last landing is in sand, whether it starts from two feet.
    """

    moves: tuple[str, ...]
    arcs: tuple[str, ...]
    sand: bool = False
    stand: bool = False

    def __post_init__(self) -> None:
        moves, arcs = self.moves, self.arcs
        if not moves or len(moves) != len(arcs):
            raise Refused("moves", "one arc for each move", f"{len(moves)} and {len(arcs)}")
        if any(m not in MOVES for m in moves) or any(a not in ARCS for a in arcs):
            raise Refused("moves", f"of {', '.join(MOVES)}", ", ".join(moves))
        if "jump" in moves[:-1]:
            raise Refused("moves", "a jump can only be the last", ", ".join(moves))


def allowed_gain(most: Array | float, arcs: Sequence[str], number: int) -> Array | float:
    """Greatest change of upward speed in a contact: a high arc before or after it asks for more."""
    return most * max(1.0, *(ARCS[arc] for arc in arcs[max(number - 1, 0) : number + 1]))


def even_lifts(
    who: Body,
    moves: Sequence[str],
    arcs: Sequence[str],
    number: int,
    vx: Array,
    rooms: Sequence[Array | float],
) -> Array | float:
    """Greatest upward speed of a repeated move that the contacts round it can give again [m/s].

    With two flights of one move and vy in proportion to their arcs, r = arc after / arc before:

        r vy + sqrt(vy^2 + 2 g drop) = most

    so that no flight lands too hard for the next to be its like. No limit where moves change.

    number: which of the moves.
    vx: (n,), forward speed [m/s].
    rooms: (n,), greatest change of upward speed in each contact [m/s].
    """
    move, out = moves[number], np.asarray(np.inf)
    for before in (number - 1, number):
        if before < 0 or before + 1 >= len(moves) or moves[before] != moves[before + 1]:
            continue
        room = np.asarray(rooms[before + 1], float)
        drop = leave_at(who, move, vx)[1] - stance_at(who, move, vx)[1]
        ratio = ARCS[arcs[before + 1]] / ARCS[arcs[before]]
        left = room * room - 2.0 * GRAVITY * drop
        under = np.maximum((room * ratio) ** 2 - (ratio**2 - 1.0) * left, 0.0)
        lift = left / (room * ratio + np.sqrt(under))
        out = np.minimum(out, lift if before == number else ratio * lift)
    return np.asarray(out)


def march(who: Body, form: Form, chain: Chain, entry: Array, lift: Array | float = 1.0) -> March:
    """March through a chain from an entry speed, keeping what the athlete can do at take-off.

    vy = min(vy of the form x arc, highest, even_lifts, fall + allowed gain); vx = `Form.out_of`;
    a hop out of a hop loses `again` less of the speed at the hop's touchdown in the form

    form: its fields may be ndarray (n,).
    entry: (n,), speed at the first touchdown, or at take-off from standing [m/s].
    lift: (n,), multiplies every vertical take-off velocity.

    >>> from animate.body.body import body
    >>> from layout.athlete.carry import form_from_jump
    >>> who = body(1.80, 72.0, "male")
    >>> form = form_from_jump(who, (5.2, 4.2, 5.0), speed=9.0)
    >>> run = Chain(("hop", "step"), ("natural", "natural"))
    >>> march(who, form, run, np.array([7.0, 8.0])).length.round(2).tolist()
    [[4.22, 4.71], [3.44, 3.82]]
    """
    moves, arcs = chain.moves, chain.arcs
    entry = np.atleast_1d(np.asarray(entry, float))
    most = np.maximum.reduce([np.asarray(gain, float) for gain in form.gains])
    rooms = [
        np.minimum(allowed_gain(most, arcs, i), form.hardest) * lift for i in range(len(moves))
    ]

    def take_off(i: int, contact: int | None, into: Array, fall: Array) -> tuple[Array, Array]:
        kind = MOVES.index(moves[i])
        vy = np.minimum(form.vy[kind] * ARCS[arcs[i]], form.highest[kind]) * lift
        vy = np.minimum(vy, even_lifts(who, moves, arcs, i, into, rooms))
        if contact is None:
            return into, vy + np.zeros_like(into)
        # No contact gives more vertical change than the athlete has shown in one.
        vy = np.minimum(vy, rooms[i] + fall)
        spared = form.again * form.touchdown_speeds[1] if contact == 1 and kind == 0 else 0.0
        return form.out_of(contact, into, vy - fall, spared), vy

    return carried(who, moves, entry, take_off, chain.sand, chain.stand)
