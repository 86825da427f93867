"""March through a chain of contacts: what a drill's approach and moves make of an athlete's form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from animate.body.stances import GRAVITY
from layout.athlete.carry import RUN_FALL, Form, arrival, leave_at, phase_for, stance_at
from layout.words.trade import MOVES

ARCS: Final[dict[str, float]] = {"low": 0.80, "natural": 1.00, "high": 1.10}
"""Vertical take-off velocity of an arc against the athlete's own (ours, no source; high stays
inside the 10 % of what the athlete has shown)."""
STAND_SPEED: Final = 0.33
"""Horizontal take-off speed from a stand as a share of full approach speed (ours, no source)."""
SLOWEST: Final = 1.2
"""A chain slower than this at a take-off [m/s] is no longer a chain of bounds (ours)."""

MOST_DRIVEN: Final = 0.9
"""Greatest share of what is missing to the full approach's speed that one contact adds (ours)."""


@dataclass(frozen=True, eq=False)
class March:
    """A chain computed for n sets of assumptions at once; contact i is followed by move i.

    Attributes
    ----------
    vx_in, vy_in : ndarray (contacts, n)
        Velocity at touchdown [m/s]; nan for a start from a stand.
    vx, vy : ndarray (moves, n)
        Velocity at take-off [m/s].
    landing, height_in : ndarray (contacts, n)
        Toe (sand: nearest break) ahead of the centre of mass, and its height, at touchdown [m].
    ahead, height : ndarray (moves, n)
        Centre of mass ahead of the toe, and its height, at take-off [m].
    length, time : ndarray (moves, n)
        Phase length [m] and flight time [s].
    """

    vx_in: Array
    vy_in: Array
    vx: Array
    vy: Array
    landing: Array
    height_in: Array
    ahead: Array
    height: Array
    length: Array
    time: Array

    @property
    def total(self) -> Array:
        """Sum of the phases [m], ndarray (n,)."""
        return np.asarray(self.length.sum(axis=0))


def allowed_gain(most: Array | float, arcs: Sequence[str], number: int) -> Array | float:
    """Greatest change of upward speed in a contact: a high arc before or after it asks for more."""
    return most * max(1.0, *(ARCS[arc] for arc in arcs[max(number - 1, 0) : number + 1]))


def fastest_from(full: Array | float, vx: Array) -> Array:
    """Greatest forward speed a contact drives an athlete to who comes in at vx [m/s].

    No contact drives past the speed of the full approach, nor all the way to it.
    """
    return np.asarray(vx + MOST_DRIVEN * np.maximum(full - vx, 0.0))


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

    Parameters
    ----------
    who : Body
    moves, arcs : sequence of str (m,)
    number : int
        Which of the moves.
    vx : ndarray (n,)
        Forward speed [m/s].
    rooms : sequence of ndarray (n,) or float
        Greatest change of upward speed in each contact [m/s].
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


def march(
    who: Body,
    form: Form,
    moves: Sequence[str],
    arcs: Sequence[str],
    entry: Array,
    sand: bool,
    stand: bool = False,
    slope: Array | float | None = None,
    pull: Array | float | None = None,
    lift: Array | float = 1.0,
) -> March:
    """March through moves from an entry speed, keeping what the athlete can do at take-off.

    Parameters
    ----------
    who : Body
    form : Form
    moves, arcs : sequence of str (m,)
        hop, step or jump; low, natural or high.
    entry : ndarray (n,)
        Speed at the first touchdown, or at take-off from a stand [m/s].
    sand : bool
        Whether the last landing is in sand.
    stand : bool
        Start from two feet.
    slope, pull : ndarray (n,) or float, optional
        Replace the form's, to see what they matter.
    lift : ndarray (n,) or float
        Multiplies every vertical take-off velocity.

    Raises
    ------
    ValueError
        Unknown move or arc, no move, or lists of different length.
    """
    if not moves or len(moves) != len(arcs):
        raise ValueError(f"moves: one arc for each move, got {len(moves)} and {len(arcs)}")
    if any(m not in MOVES for m in moves) or any(a not in ARCS for a in arcs):
        raise ValueError(f"moves: of {', '.join(MOVES)}, got {', '.join(moves)}")
    if "jump" in moves[:-1]:
        raise ValueError(f"moves: a jump can only be the last, got {', '.join(moves)}")
    slope = form.slope if slope is None else slope
    pull = form.pull if pull is None else pull
    entry = np.atleast_1d(np.asarray(entry, float))
    most = max(form.gains)
    rooms = [
        np.minimum(allowed_gain(most, arcs, i), form.hardest) * lift for i in range(len(moves))
    ]
    vx_in, fall, arrive = entry, np.full_like(entry, RUN_FALL), "run"
    nothing = np.full_like(entry, np.nan)
    ins, outs, flights = [], [], []
    for i, (move, arc) in enumerate(zip(moves, arcs, strict=True)):
        kind = MOVES.index(move)
        wanted = np.minimum(form.vy[kind] * ARCS[arc], form.highest[kind]) * lift
        wanted = np.minimum(wanted, even_lifts(who, moves, arcs, i, vx_in, rooms))
        if i == 0 and stand:
            leave, vx, vy = "stand", entry, wanted + np.zeros_like(entry)
            ins.append((nothing, nothing, nothing, nothing))
        else:
            leave = move
            # No contact gives more vertical change than the athlete has shown in one.
            vy = np.minimum(wanted, rooms[i] + fall)
            kind = {"run": 0, "hop": 1, "step": 2}[arrive]
            loss = form.loss(kind, vx_in, vy - fall, slope, pull)
            vx = np.clip(vx_in - loss, SLOWEST, fastest_from(form.entry, vx_in))
            ins.append((vx_in, fall, *stance_at(who, arrive, vx_in)))
        last = i == len(moves) - 1
        landing = arrival(move, sand and last)
        length, time, fall = phase_for(who, leave, landing, vx, vy)
        outs.append((vx, vy, *leave_at(who, leave, vx)))
        flights.append((length, time))
        vx_in, arrive = vx, move
    ins.append((vx_in, fall, *stance_at(who, landing, vx_in)))
    into = [np.array(np.broadcast_arrays(*column)) for column in zip(*ins, strict=True)]
    out = [np.array(np.broadcast_arrays(*column)) for column in zip(*outs, strict=True)]
    flight = [np.array(np.broadcast_arrays(*column)) for column in zip(*flights, strict=True)]
    return March(into[0], into[1], out[0], out[1], into[2], into[3], out[2], out[3], *flight)
