"""From athlete, drill and venue to a Plan."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from animate.body.body import Array
from animate.body.stances import GRAVITY
from animate.refused import Refused
from layout.athlete.ability import ability
from layout.athlete.approach import check_marks
from layout.athlete.athlete import Athlete
from layout.athlete.carry import March
from layout.plan.choices import Choices as Choices
from layout.plan.drill import Drill, closed_fault, refuse_unfit
from layout.plan.hurdles import hurdles_for
from layout.plan.made import chain_of, made_of
from layout.plan.place import place_for
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
from layout.plan.warn import Behind, notes_for
from layout.rules.cautions import cautions_for
from layout.rules.demand import reasons
from layout.rules.load import dose_for, mean_braking, mean_vertical
from layout.rules.standing import Standing
from layout.words.faults import refuse
from layout.words.split import phases
from layout.words.trade import LEVELS

FOOT_Y: Final = 0.08
"""A foot's middle from the line of running [m] (ours)."""
OTHER: Final = {"left": "right", "right": "left"}


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
                phase=move,
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
    if not (drill.full and athlete.best and athlete.best_phases) or choices.total is not None:
        return ()
    best = phases(athlete.best, athlete.best_phases)
    return tuple(f.length - was for f, was in zip(flights, best, strict=True))


def make_plan(
    athlete: Athlete,
    drill: Drill,
    venue: Venue,
    on: datetime.date,
    choices: Choices | None = None,
) -> Plan:
    """Plan one drill for one athlete at one venue on a day, to which ages are counted.

    Contacts stand where the phases of the athlete's `march` end, x_i = sum of the lengths before [m], y =
    `FOOT_Y` to the foot's side [m]; contact time = (landing + ahead) / mean speed [s]; mean forces as in
    `layout.rules.load`. Between contacts the centre of mass is a thrown body. Lengths are a forecast with
    a margin of one sigma, or a target without one, for a wished length or the athlete's own full jump.

    Refused where the drill is closed to this athlete and nobody decided to go on, or where it cannot be
    planned at all; what is merely unwise is a warning. Source: the carry model, ours, on published
    figures as told there.

    >>> from importlib.resources import files
    >>> from layout import find_drill, find_venue, read_athlete
    >>> tevin = read_athlete(files("layout.catalogue.club") / "tevin.toml")
    >>> day = datetime.date(2026, 11, 25)
    >>> plan = make_plan(tevin, find_drill("hop-step-sand"), find_venue("club"), day)
    >>> [(f.phase, round(f.length, 2), round(f.plus_minus, 2)) for f in plan.flights]
    [('hop', 3.23, 0.18), ('step', 3.01, 0.21)]
    """
    choices = choices or Choices()
    refuse_unfit(drill, choices.arc, choices.hurdle, choices.board)
    stands = athlete.standing(on)
    shut = reasons(stands, drill.demand(choices.strides, choices.cycles), athlete.name)
    if shut and choices.despite is None:
        raise closed_fault(athlete.name, stands, drill, shut[0], venue.has_pit)
    athlete = replace(athlete, strides=athlete.full_strides(on))
    able = ability(athlete)
    try:
        made = made_of(athlete, drill, choices, able)
    except Refused as fault:
        raise refuse(fault.field, fault.told) from None
    length = made.chain.length[:, 0]
    if not np.isfinite(length).all() or length.min() < 0.2:
        raise refuse("drill", f"{drill.title} has no flight left at this approach", athlete.name)
    behind = Behind(athlete, drill, venue, able, made, stands, tuple(shut), choices)
    bare, cut = _bare(behind, on)
    return notes_for(bare, behind, cut)


def _bare(behind: Behind, on: datetime.date) -> tuple[Plan, bool]:
    """The plan without its notes, and whether a youth limit lowered the dose."""
    athlete, drill, able, made = behind.athlete, behind.drill, behind.able, behind.made
    stands, shut, choices = behind.stands, behind.shut, behind.choices
    run, chain, sure, strides = chain_of(drill, choices), made.chain, made.sure, made.strides
    lead = choices.lead or (OTHER[athlete.leg] if drill.lead == "weak" else athlete.leg)
    standing_on = feet(run.moves, lead, run.stand)
    contacts = _contacts(chain, run.moves, standing_on, drill)
    flights = _flights(chain, run.moves, run.arcs, sure)
    run_up = able.run.run_up(strides)[1] if strides else 0.0
    place = place_for(behind.venue, drill, contacts, run_up, choices.board, athlete.best)
    hurdles = hurdles_for(drill, flights, stands.level, stands.age, lead, choices.hurdle)
    load, cut = _load(drill, standing_on, stands)
    total = float(chain.length[:, 0].sum())
    plan = Plan(
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
        shares=tuple(f.length / total for f in flights),
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
    return plan, cut
