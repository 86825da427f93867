"""From athlete, drill and venue to a Plan."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from animate.body import Array
from animate.stances import GRAVITY
from layout.faults import refuse
from layout.plan.ability import Ability, ability
from layout.plan.approach import check_marks
from layout.plan.athlete import Athlete
from layout.plan.bend import bent, whole
from layout.plan.carry import SLOPE_RANGE, Form, with_margin
from layout.plan.cautions import cautions_for
from layout.plan.drill import MOST_MOVES, Drill, closed_fault, refuse_unfit
from layout.plan.hurdles import hurdles_for
from layout.plan.inverse import enough_strides, entry_for
from layout.plan.load import dose_for, mean_braking, mean_vertical
from layout.plan.march import STAND_SPEED, March, march
from layout.plan.place import place_for
from layout.plan.split import Split, phases
from layout.plan.value import (
    PLAN_VERSION,
    ApproachPlan,
    Contact,
    Flight,
    Load,
    Plan,
    Who,
)
from layout.plan.venue import Venue
from layout.plan.warn import notes_for
from layout.plan.words import ARC_WORDS, LEGS, LEVELS, MOVES
from layout.reading import line_text, number
from layout.rules.demand import reasons
from layout.rules.standing import Standing

FOOT_Y: Final = 0.08
"""A foot's middle from the line of running [m] (ours)."""
LONGEST_DESPITE: Final = 120
"""Characters in which a coach says who decided to go on with a closed drill, and why."""
OTHER: Final = {"left": "right", "right": "left"}
SPREAD: Final = {"entry": 0.05, "lift": 0.05, "pull": 0.06, "reach": 0.08}
"""One-sigma doubts behind a forecast: approach speed, vertical speed, reach at the contacts as
shares, pull as it stands; the slope's is a quarter of its remembered range (ours)."""


@dataclass(frozen=True)
class Choices:
    """What a coach may change of a drill for one plan; None keeps the drill's own.

    Attributes
    ----------
    strides : int or None
        Of the approach.
    arc : {"low", "natural", "high"} or None
        Of every hop.
    cycles : int or None
    total : float or None
        Wanted length from the first contact to the last [m].
    split : Split or None
        For whole jumps, instead of the athlete's target split.
    lead : {"right", "left"} or None
        Leg of the first contact.
    board : float or None
        Take-off line to pit [m].
    hurdle : float or None
        Hurdle height [m].
    despite : str or None
        Who decided to go on with a drill that is closed to the athlete, and why.
    """

    strides: int | None = None
    arc: str | None = None
    cycles: int | None = None
    total: float | None = None
    split: Split | None = None
    lead: str | None = None
    board: float | None = None
    hurdle: float | None = None
    despite: str | None = None

    def __post_init__(self) -> None:
        for field, value, low, high in (
            ("strides", self.strides, 1, 24),
            ("cycles", self.cycles, 1, 12),
            ("length", self.total, 1.0, 60.0),
            ("board-at", self.board, 1.0, 20.0),
            ("hurdle", self.hurdle, 0.05, 0.60),
        ):
            if value is not None:
                number(field, value, low, high)
        for field, count in (("strides", self.strides), ("cycles", self.cycles)):
            if count is not None and type(count) is not int:
                raise refuse(field, "a whole number wanted", count)
        for field, word, known in (("hops", self.arc, ARC_WORDS), ("lead", self.lead, LEGS)):
            if word is not None and word not in known:
                raise refuse(field, f"one of {', '.join(known)} wanted", word)
        if self.despite is not None:
            line_text("despite", self.despite, LONGEST_DESPITE)


def feet(moves: Sequence[str], lead: str, stand: bool) -> tuple[str, ...]:
    """Which foot each contact is on: a hop keeps the leg, a step changes it, a jump takes both.

    >>> feet(("hop", "step", "jump"), "right", False)
    ('right', 'right', 'left', 'both')
    """
    out, foot = ["both" if stand else lead], lead
    for i, move in enumerate(moves):
        if move == "step" and not (stand and i == 0):
            foot = OTHER[foot]
        out.append("both" if move == "jump" else foot)
    return tuple(out)


def _scenarios(able: Ability, form: Form, entry: float) -> tuple[Array, Array, Array, Array]:
    """Entry, slope, pull and lift of the base case and of each doubt up and down."""
    half = (SLOPE_RANGE[1] - SLOPE_RANGE[0]) / 4.0
    entries, slopes = np.full(9, entry), np.full(9, form.slope)
    pulls, lifts = np.full(9, form.pull), np.ones(9)
    entries[1:3] *= 1.0 + np.array([-1, 1]) * SPREAD["entry"]
    slopes[3:5] += np.array([-1, 1]) * half
    pulls[5:7] += np.array([-1, 1]) * SPREAD["pull"]
    lifts[7:9] += np.array([-1, 1]) * SPREAD["lift"]
    return entries, slopes, pulls, lifts


def doubt(chain: March) -> Array:
    """One-sigma doubt of every phase's length, from the scenarios of `_scenarios` [m]."""
    pairs = (chain.length[:, 2::2] - chain.length[:, 1::2]) / 2.0
    reach = SPREAD["reach"] * (chain.ahead[:, 0] + chain.landing[1:, 0])
    return np.asarray(np.sqrt((pairs**2).sum(axis=1) + reach**2))


def _moves(drill: Drill, choices: Choices) -> tuple[tuple[str, ...], tuple[str, ...]]:
    cycles = drill.cycles if choices.cycles is None else choices.cycles
    if cycles > 1 and "jump" in drill.moves:
        raise refuse("cycles", "a drill that ends with a jump cannot repeat", cycles)
    if len(drill.moves) * cycles > MOST_MOVES:
        raise refuse("cycles", f"at most {MOST_MOVES} moves in a run wanted", cycles)
    moves, arcs = drill.moves * cycles, drill.arcs * cycles
    if choices.arc is not None:
        arcs = tuple(choices.arc if m == "hop" else a for m, a in zip(moves, arcs, strict=True))
    return moves, arcs


def _entry(athlete: Athlete, drill: Drill, choices: Choices, able: Ability) -> tuple[int, float]:
    """Strides and speed of this plan's approach."""
    if drill.start == "stand":
        if choices.strides is not None:
            raise refuse("strides", "this drill starts from a stand", choices.strides)
        stand = athlete.calibration.stand_speed
        return 0, STAND_SPEED * able.form.entry if stand is None else stand
    strides = drill.strides if choices.strides is None else choices.strides
    if drill.full:
        strides = athlete.strides if choices.strides is None else choices.strides
    elif choices.strides is None:
        strides = min(strides, athlete.strides)
    if strides > athlete.strides:
        known = "" if athlete.strides_given else ", taken from age and level (set `strides`)"
        rule = f"at most {athlete.strides}, {athlete.name}'s full approach{known}"
        raise refuse("strides", rule, strides)
    return strides, able.run.run_up(strides)[0]


@dataclass(frozen=True, eq=False)
class _Made:
    """A chain as planned.

    Attributes
    ----------
    chain : March
    sure : ndarray or None
        Doubt of each phase; None for targets [m].
    strides : int
    entry : float
        [m/s]
    forecast : float
        What these strides make [m].
    wish : tuple of float
        Phases of the wanted split where it had to bend [m].
    """

    chain: March
    sure: Array | None
    strides: int
    entry: float
    forecast: float
    wish: tuple[float, ...] = ()


def _whole(
    able: Ability, split: Split, can: March, slowest: float | None, fastest: float
) -> tuple[March, float, tuple[float, ...]]:
    """A whole jump as long as `can`, its split as near to the wanted one as the athlete can make it."""
    wish = phases(float(can.total[0]), split)
    lengths = tuple(can.length[:, 0])
    form, share = bent(able.who, able.form, wish, lengths, slowest, fastest)
    made, entry = (
        (can, float(can.vx_in[0, 0])) if form is None else (whole(able.who, form), form.entry)
    )
    return made, entry, wish if share > 0.0 else ()


def _longest(
    athlete: Athlete, able: Ability, moves: Sequence[str], arcs: Sequence[str], drill: Drill,
    strides: int, entry: float, total: float,
) -> None:  # fmt: skip
    """Refuse a length beyond what may be asked for: the approach `SHOWN_MARGIN` faster, no faster
    than the athlete's own by as much."""
    sand, stand = drill.ends == "sand", drill.start == "stand"
    most = min(with_margin(entry), with_margin(able.shown.entry))
    longest = float(march(able.who, able.form, moves, arcs, np.array([most]), sand, stand).total[0])
    if total <= longest + 1e-6:
        return
    rule = (
        f"{athlete.name} can be asked for {math.floor(100.0 * longest) / 100.0:.2f} m at most from "
    )
    rule += "a stand" if stand else f"{strides} strides; "
    if not stand:
        rule += enough_strides(able, moves, arcs, total, sand, athlete.strides)
    raise refuse("length", rule, round(total, 2))


def _made(athlete: Athlete, drill: Drill, choices: Choices, able: Ability) -> _Made:
    """The chain this athlete makes of a drill, or the nearest to what the coach wants of it."""
    moves, arcs = _moves(drill, choices)
    strides, entry = _entry(athlete, drill, choices, able)
    sand, stand = drill.ends == "sand", drill.start == "stand"
    entries, slopes, pulls, lifts = _scenarios(able, able.form, entry)
    chain = march(able.who, able.form, moves, arcs, entries, sand, stand, slopes, pulls, lifts)
    forecast = float(chain.total[0])
    # Split markers are for natural arcs: a low or high hop sets its own marks.
    jump = moves == MOVES and sand and not stand and set(arcs) == {"natural"}
    split = choices.split or athlete.split
    target = drill.full and choices.total is None and strides == athlete.strides
    wanted = forecast if choices.total is None else choices.total
    needed = entry
    if choices.total is not None:
        _longest(athlete, able, moves, arcs, drill, strides, entry, wanted)
        needed = entry_for(able, moves, arcs, wanted, sand, stand)
    can = march(able.who, able.form, moves, arcs, np.array([needed]), sand, stand)
    if jump and target:
        can = whole(able.who, able.form)
        made, needed, wish = _whole(able, split, can, None, with_margin(able.shown.entry))
        return _Made(made, None, strides, needed, float(made.total[0]), wish)
    if jump and (drill.board or choices.total is not None):
        fastest = max(entry, needed)
        made, needed, wish = _whole(able, split, can, 0.35 * able.form.entry, fastest)
        sure = doubt(chain) if choices.total is None else None
        return _Made(made, sure, strides, needed, forecast, wish)
    if choices.total is not None:
        return _Made(can, None, strides, needed, forecast)
    return _Made(chain, doubt(chain), strides, entry, forecast)


def _contacts(
    chain: March, moves: tuple[str, ...], on: tuple[str, ...], drill: Drill
) -> tuple[Contact, ...]:
    xs = np.concatenate([[0.0], np.cumsum(chain.length[:, 0])])
    out = []
    for i, foot in enumerate(on):
        last = i == len(moves)
        start = i == 0 and drill.start == "stand"
        time = vertical = braking = None
        vx_in, vy_in = (None, None) if start else (chain.vx_in[i, 0], chain.vy_in[i, 0])
        if not last and not start:
            gone = chain.landing[i, 0] + chain.ahead[i, 0]
            time = float(2.0 * gone / (vx_in + chain.vx[i, 0]))
            vertical = float(mean_vertical(chain.vy[i, 0] - vy_in, time))
            braking = float(mean_braking(vx_in - chain.vx[i, 0], time))
        y = 0.0 if foot == "both" else FOOT_Y * (1.0 if foot == "left" else -1.0)
        away = (
            [None] * 4
            if last
            else [float(a[i, 0]) for a in (chain.vx, chain.vy, chain.ahead, chain.height)]
        )
        into = [None] * 2 if start else [float(chain.landing[i, 0]), float(chain.height_in[i, 0])]
        out.append(
            Contact(
                number=i,
                foot=foot,
                x=float(xs[i]),
                y=y,
                arrive=("stand" if start else "run") if i == 0 else moves[i - 1],
                leave="end" if last else moves[i],
                surface="sand" if last and drill.ends == "sand" else "track",
                vx_in=None if start else float(chain.vx_in[i, 0]),
                vy_in=None if start else float(chain.vy_in[i, 0]),
                vx=away[0],
                vy=away[1],
                landing=into[0],
                ahead=away[2],
                height_in=into[1],
                height=away[3],
                time=time,
                vertical=vertical,
                braking=braking,
            )
        )
    return tuple(out)


def _flights(
    chain: March, moves: tuple[str, ...], arcs: tuple[str, ...], sure: Array | None
) -> tuple[Flight, ...]:
    xs = np.concatenate([[0.0], np.cumsum(chain.length[:, 0])])
    out = []
    for i, (move, arc) in enumerate(zip(moves, arcs, strict=True)):
        vx, vy, time = (float(a[i, 0]) for a in (chain.vx, chain.vy, chain.time))
        x0, z0 = float(xs[i] + chain.ahead[i, 0]), float(chain.height[i, 0])
        rise = max(vy, 0.0) / GRAVITY
        out.append(
            Flight(
                number=i,
                move=move,
                arc=arc,
                length=float(chain.length[i, 0]),
                time=time,
                vx=vx,
                vy=vy,
                vy_end=vy - GRAVITY * time,
                start_x=x0,
                start_z=z0,
                end_x=x0 + vx * time,
                end_z=z0 + vy * time - GRAVITY * time * time / 2.0,
                apex_x=x0 + vx * rise,
                apex_z=z0 + max(vy, 0.0) ** 2 / (2.0 * GRAVITY),
                plus_minus=None if sure is None else float(sure[i]),
            )
        )
    return tuple(out)


def _load(drill: Drill, on: tuple[str, ...], standing: Standing) -> tuple[Load, bool]:
    counted = on[1:] if drill.start == "stand" else on
    sets, runs = drill.dose[LEVELS.index(standing.level)]
    dose = dose_for(sets, runs, len(counted), standing)
    return Load(
        dose.sets,
        dose.runs,
        dose.contacts_per_run,
        dose.contacts,
        counted.count("left"),
        counted.count("right"),
        counted.count("both"),
        *dose.budget.pair,
    ), dose.cut_for_youth


def _gaps(
    athlete: Athlete, drill: Drill, choices: Choices, flights: tuple[Flight, ...]
) -> tuple[float, ...]:
    """Planned phases less those of the best jump, for the athlete's own full jump [m]."""
    if not (drill.full and athlete.best and athlete.jumped) or choices.total is not None:
        return ()
    best = phases(athlete.best, athlete.jumped)
    return tuple(f.length - was for f, was in zip(flights, best, strict=True))


def make_plan(
    athlete: Athlete,
    drill: Drill,
    venue: Venue,
    on: datetime.date,
    choices: Choices | None = None,
) -> Plan:
    """Plan one drill for one athlete at one venue.

    Parameters
    ----------
    athlete : Athlete
    drill : Drill
    venue : Venue
    on : date
        The day it is for; ages are counted to it.
    choices : Choices, optional

    Returns
    -------
    Plan

    Raises
    ------
    BadInput
        The drill is closed to this athlete and nobody decided to go on, or it cannot be planned at
        all; what is merely unwise is a warning.
    """
    choices = choices or Choices()
    refuse_unfit(drill, choices.arc, choices.hurdle, choices.board)
    stands = athlete.standing(on)
    shut = reasons(stands, drill.demand(choices.strides, choices.cycles), athlete.name)
    if shut and choices.despite is None:
        raise closed_fault(athlete.name, stands, drill, shut[0], venue.has_pit)
    athlete = replace(athlete, strides=athlete.full_strides(on))
    able = ability(athlete)
    moves, arcs = _moves(drill, choices)
    try:
        made = _made(athlete, drill, choices, able)
    except ValueError as error:
        if hasattr(error, "faults"):
            raise
        field, _, rule = str(error).partition(": ")
        raise refuse(field, rule) from None
    chain, sure, strides = made.chain, made.sure, made.strides
    if not np.isfinite(chain.length[:, 0]).all() or chain.length[:, 0].min() < 0.2:
        raise refuse("drill", f"{drill.title} has no flight left at this approach", athlete.name)
    stand = drill.start == "stand"
    lead = choices.lead or (OTHER[athlete.leg] if drill.lead == "weak" else athlete.leg)
    standing_on = feet(moves, lead, stand)
    contacts = _contacts(chain, moves, standing_on, drill)
    flights = _flights(chain, moves, arcs, sure)
    run_up = able.run.run_up(strides)[1] if strides else 0.0
    place = place_for(venue, drill, contacts, run_up, choices.board, athlete.best)
    hurdles = hurdles_for(drill, flights, stands.level, stands.age, lead, choices.hurdle)
    load, cut = _load(drill, standing_on, stands)
    total = float(chain.length[:, 0].sum())
    shares = tuple(f.length / total for f in flights)
    bare = Plan(
        version=PLAN_VERSION,
        date=on.isoformat(),
        who=Who(
            athlete.name, athlete.leg, stands.level, athlete.stature, athlete.mass,
            athlete.build, stands.age, athlete.target, athlete.best,
            tuple(a.text for a in stands.assumed),
        ),
        drill=drill.slug,
        title=drill.title,
        job=drill.job,
        level=drill.level,
        intensity=drill.intensity,
        ends=drill.ends,
        finish=drill.finish,
        place=place,
        approach=ApproachPlan(strides, made.entry, run_up, check_marks(able.run, strides)),
        contacts=contacts,
        flights=flights,
        hurdles=hurdles,
        total=total,
        shares=shares,
        gaps=_gaps(athlete, drill, choices, flights),
        forecast=sure is not None,
        style="",
        load=load,
        points=drill.points,
        faults=drill.faults,
        cautions=cautions_for(drill.cautions, stands),
        notes=(),
        despite=f"{shut[0].text} Done despite this: {choices.despite}".rstrip(".") + "."
        if shut
        else "",
    )  # fmt: skip
    return notes_for(
        bare,
        athlete,
        drill,
        venue,
        able,
        made.forecast,
        cut,
        stands,
        shut,
        choices.hurdle,
        made.wish,
    )
