"""The chain an athlete makes of a drill, or the nearest to what a coach wants of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, cast

import numpy as np

from animate.body.body import Array
from layout.athlete.ability import Ability
from layout.athlete.athlete import CALIBRATED, Athlete
from layout.athlete.bend import WHOLE, bent, whole
from layout.athlete.carry import (
    SLOPE_RANGE,
    Form,
    March,
    carried,
    form_of_march,
    vy_for_phase,
    with_margin,
)
from layout.athlete.flight import arrival
from layout.athlete.growth import standing_triple
from layout.athlete.inverse import enough_strides, entry_for
from layout.athlete.march import STAND_SPEED, Chain, march
from layout.plan.drill import Choices, Drill, too_often
from layout.rules.rule import rule
from layout.rules.wind import COUNTED, DOUBT, WORTH
from layout.words.faults import BadInput, refuse
from layout.words.split import phases
from layout.words.trade import MOVES

SPREAD: Final[dict[str, float]] = rule("forecast_spread")
"""One-sigma margins behind a forecast of an athlete not measured in drills; shares, pull as it stands."""
LOSS_SPREAD: Final[tuple[float, float, float]] = rule("loss_spread")


REPEATED: Final = 2.5
"""How much wider the margin of fitted figures is once a move has followed itself, as none does in the
jump and its short versions that tell most of a fit (ours: so that seasons of another model are covered)."""


def wider(moves: Sequence[str]) -> Array:
    """By how much the margin of each phase widens for repeated moves [-], ndarray (m,).

    >>> wider(("hop", "hop", "step")).tolist()
    [1.0, 2.5, 2.5]
    """
    again = np.cumsum([i > 0 and move == moves[i - 1] for i, move in enumerate(moves)]) > 0
    return np.where(again, REPEATED, 1.0)


def likely(able: Ability, timed: bool) -> tuple[Form, Array]:
    """Forms as likely as the athlete's own, each of which makes the same full jump.

    Speed at the board (`timed` or not), the three shares of speed lost, slope and pull, each down and
    up by one sigma in its turn: the upward speeds follow from the phases.

    Returns the forms as one with fields (13,), the athlete's own first, and their board speeds over it [-].
    """
    form, who = able.form, able.who
    way = np.kron(np.eye(6), [-1.0, 1.0])
    moved = np.concatenate([np.zeros((6, 1)), way], axis=1)
    faster = 1.0 + SPREAD["timed" if timed else "untimed"] * moved[0]
    made = whole(who, form)
    lengths, kept = made.length[:, 0], (made.vx / made.vx_in[:3])[:, 0]
    keep = kept[:, None] - np.array(LOSS_SPREAD)[:, None] * moved[1:4]

    def take_off(i: int, _: int | None, into: Array, fall: Array) -> tuple[Array, Array]:
        vx = into * keep[i]
        return vx, vy_for_phase(who, MOVES[i], arrival(MOVES[i], False), vx, float(lengths[i]))

    found = form_of_march(carried(who, MOVES, form.entry * faster, take_off), form, None)
    higher = np.array(found.vy) / np.array(found.vy)[:, :1]
    slope = form.slope + (SLOPE_RANGE[1] - SLOPE_RANGE[0]) / 4.0 * moved[4]
    most: Any = tuple(most * up for most, up in zip(form.highest, higher, strict=True))
    pull: Any = form.pull + SPREAD["pull"] * moved[5]
    hardest: Any = form.hardest * higher.max(axis=0)
    return replace(found, slope=cast(Any, slope), pull=pull, highest=most, hardest=hardest), faster


def _forecast(athlete: Athlete, able: Ability, moves: Chain, entry: float) -> tuple[March, Array]:
    """What an athlete makes of a chain from an entry speed, and its one-sigma margin by phase [m].

    sigma^2 = sum of ((up - down) / 2)^2 over pairs + (model length)^2; the pairs are `likely` forms and
    the speed of this approach. Who was fitted to own attempts has their margin instead, `wider` for
    repeated moves. Ours.
    """
    own = athlete.calibration.margin
    if own is not None:
        chain = march(able.who, able.form, moves, np.array([entry]))
        return chain, own * wider(moves.moves) * chain.length[:, 0]
    many, faster = likely(able, athlete.speed is not None)
    chain = march(able.who, many, moves, entry * faster)
    near = 1.0 + SPREAD["approach"] * np.array([-1.0, 1.0])
    run = march(able.who, able.form, moves, entry * near).length
    pairs = (
        np.hstack([chain.length[:, 2::2] - chain.length[:, 1::2], run[:, 1:] - run[:, :1]]) / 2.0
    )
    model = SPREAD["model"] * chain.length[:, 0]
    return chain, np.asarray(np.sqrt((pairs**2).sum(axis=1) + model**2))


def _blown(able: Ability, moves: Chain, entry: float, wind: float) -> tuple[float, float]:
    """The entry speed that stands for this wind [m/s], and what the wind is worth [m].

    worth = `WORTH` wind total / own full jump, wind up to `COUNTED`; the speed is the one that makes the
    chain so much longer.
    The figure is of whole jumps: in proportion for what is shorter or longer, ours.
    """
    still = float(march(able.who, able.form, moves, np.array([entry])).total[0])
    worth = WORTH * max(-COUNTED, min(COUNTED, wind)) * still / able.reach
    try:
        return entry_for(able, moves, still + worth), worth
    except BadInput:
        raise refuse("wind", "leaves nothing of this drill", wind) from None


def chain_of(drill: Drill, choices: Choices) -> Chain:
    """The moves of a drill's version, and their arcs."""
    cycles = drill.cycles if choices.cycles is None else choices.cycles
    for why in too_often(drill.moves, cycles):
        raise refuse("cycles", why, cycles)
    moves, arcs = drill.moves * cycles, drill.arcs * cycles
    if choices.arc is not None:
        arcs = tuple(choices.arc if m == "hop" else a for m, a in zip(moves, arcs, strict=True))
    return Chain(moves, arcs, drill.ends == "sand", drill.start == "stand")


def _stand(athlete: Athlete, able: Ability) -> float:
    """Speed at take-off from standing [m/s]: the athlete's own; or whose triple jump from standing is as
    long as one at equal points with their long jump from standing; or a share of the full speed."""
    own, usual, jump = (
        athlete.calibration.stand_speed,
        STAND_SPEED * able.form.entry,
        athlete.standing_jump,
    )
    if own is not None or jump is None:
        return usual if own is None else own
    total = standing_triple(jump)
    if athlete.guess is not None:
        total *= min(1.0, athlete.guess.total / athlete.guess.usual)
    low, high = CALIBRATED["stand_speed"]
    speeds = np.linspace(low, max(low, min(high, able.form.entry)), 81)
    made = march(able.who, able.form, Chain(MOVES, ("natural",) * 3, True, True), speeds).total
    return float(np.interp(total, made, speeds))


def _entry(athlete: Athlete, drill: Drill, choices: Choices, able: Ability) -> tuple[int, float]:
    """Strides and speed of this plan's approach."""
    if drill.start == "stand":
        if choices.strides is not None:
            raise refuse("strides", "this drill starts from standing", choices.strides)
        return 0, _stand(athlete, able)
    strides = choices.strides
    if strides is None:
        strides = drill.strides_of(athlete.strides)
    if strides > athlete.strides:
        known = "" if athlete.strides_given else ", taken from age and level as none is given"
        most = f"at most {athlete.strides}, {athlete.name}'s full approach{known}"
        raise refuse("strides", most, strides)
    return strides, able.run.run_up(strides)[0]


@dataclass(frozen=True, eq=False)
class Made:
    """A chain as planned: its margin in each phase [m], None for targets, and its approach [strides, m/s].

    `forecast` is what these strides make [m], `wish` the phases of the split asked for where it had to
    bend [m], `blown` what the wind of the day is worth in the forecast [m].
    """

    chain: March
    sure: Array | None
    strides: int
    entry: float
    forecast: float
    wish: tuple[float, ...] = ()
    blown: float = 0.0


def _longest(
    athlete: Athlete, able: Ability, chain: Chain, strides: int, entry: float, total: float
) -> None:
    """Refuse a length beyond what may be asked for: the approach `SHOWN_MARGIN` faster, no faster
    than the athlete's own by as much."""
    fastest = min(with_margin(entry), with_margin(able.shown.entry))
    longest = float(march(able.who, able.form, chain, np.array([fastest])).total[0])
    if total <= longest + 1e-6:
        return
    start = "standing"
    if not chain.stand:
        start = f"{strides} strides; {enough_strides(able, chain, total, athlete.strides)}"
    most = math.floor(100.0 * longest) / 100.0
    told = f"{athlete.name} can be asked for {most:.2f} m at most from {start}"
    told += "" if athlete.guess is None else "; no best is known"
    raise refuse("length", told, round(total, 2))


def made_of(athlete: Athlete, drill: Drill, choices: Choices, able: Ability) -> Made:
    """The chain this athlete makes of a drill, or the nearest to what the coach wants of it."""
    moves, total = chain_of(drill, choices), choices.total
    strides, entry = _entry(athlete, drill, choices, able)
    own, blown = athlete.guess is None and total is None, 0.0
    target = drill.full and own and strides == athlete.strides
    if choices.wind and strides and total is None and not target:
        entry, blown = _blown(able, moves, entry, choices.wind)
    chain, sure = _forecast(athlete, able, moves, entry)
    sure = np.hypot(sure, DOUBT * blown * chain.length[:, 0] / chain.total[0])
    if athlete.guess is not None:
        sure = np.hypot(sure, athlete.guess.width * chain.length[:, 0])
    forecast, needed = float(chain.total[0]), entry
    if total is not None:
        _longest(athlete, able, moves, strides, entry, total)
        needed = entry_for(able, moves, total)
    can = march(able.who, able.form, moves, np.array([needed]))
    # Split markers are for natural arcs: a low or high hop sets its own marks.
    if moves == WHOLE and (target or drill.board or total is not None):
        can = whole(able.who, able.form) if target else can
        fastest = with_margin(able.shown.entry) if target else max(entry, needed)
        wish = phases(float(can.total[0]), choices.split or athlete.split)
        # As long as `can`, the split as near to the one asked for as the athlete can make it.
        lengths = tuple(can.length[:, 0])
        slowest = None if target else 0.35 * able.form.entry
        form, share = bent(able.who, able.form, wish, lengths, slowest, fastest)
        made, needed = can, float(can.vx_in[0, 0])
        if form is not None:
            made, needed = whole(able.who, form), form.entry
        certain = None if target or total is not None else sure
        if target:
            forecast = float(made.total[0])
        return Made(made, certain, strides, needed, forecast, wish if share > 0.0 else (), blown)
    if total is not None:
        return Made(can, None, strides, needed, forecast)
    return Made(chain, sure, strides, entry, forecast, blown=blown)
