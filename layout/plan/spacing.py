"""From athlete, drill and venue to a Plan."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Final

import numpy as np

from animate.refused import Refused
from layout.athlete.ability import ability
from layout.athlete.approach import check_marks
from layout.athlete.athlete import Athlete
from layout.athlete.march import Chain
from layout.plan.drill import Choices as Choices
from layout.plan.drill import Drill, closed_fault, refuse_unfit
from layout.plan.hurdles import hurdles_for
from layout.plan.made import Made, chain_of, made_of
from layout.plan.place import place_for
from layout.plan.value import PLAN_VERSION, ApproachPlan, Contact, Flight, Load, Plan, Who, thrown
from layout.plan.venue import Venue
from layout.plan.warn import Behind, notes_for
from layout.rules.cautions import cautions_for
from layout.rules.demand import despite_text, reasons
from layout.rules.load import dose_for, mean_braking, mean_vertical
from layout.rules.standing import Standing
from layout.words.faults import refuse
from layout.words.split import phases
from layout.words.trade import LEVELS

FOOT_Y: Final = 0.08
"""A foot's middle from the line of running [m] (ours)."""
FROM_DRILL: Final = ("title", "job", "level", "intensity", "ends", "finish", "points", "faults")
"""What a plan tells as its drill does."""
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


COMING: Final = ("vx_in", "vy_in", "landing", "height_in")
GOING: Final = ("vx", "vy", "ahead", "height")


def _laid(
    made: Made, run: Chain, on: tuple[str, ...]
) -> tuple[tuple[Contact, ...], tuple[Flight, ...]]:
    """Contacts and flights of a chain, from the first contact's toe."""
    chain, moves = made.chain, run.moves
    xs = np.concatenate([[0.0], np.cumsum(chain.length[:, 0])])
    contacts, flights = [], []
    for i, foot in enumerate(on):
        last = i == len(moves)
        come = {} if i == 0 and run.stand else {n: float(getattr(chain, n)[i, 0]) for n in COMING}
        away = {} if last else {n: float(getattr(chain, n)[i, 0]) for n in GOING}
        forces = {}
        if come and away:
            time = 2.0 * (come["landing"] + away["ahead"]) / (come["vx_in"] + away["vx"])
            forces["time"] = time
            forces["vertical"] = float(mean_vertical(away["vy"] - come["vy_in"], time))
            forces["braking"] = float(mean_braking(come["vx_in"] - away["vx"], time))
        y = {"both": 0.0, "left": FOOT_Y, "right": -FOOT_Y}[foot]
        contacts.append(
            Contact(
                number=i,
                foot=foot,
                x=float(xs[i]),
                y=y,
                arrive=moves[i - 1] if i else "stand" if run.stand else "run",
                leave="end" if last else moves[i],
                surface="sand" if last and run.sand else "track",
                **come,
                **away,
                **forces,
            )
        )
        if not last:
            x, z = float(xs[i] + chain.ahead[i, 0]), away["height"]
            vx, vy, time = away["vx"], away["vy"], float(chain.time[i, 0])
            flights.append(
                Flight(
                    number=i,
                    phase=moves[i],
                    arc=run.arcs[i],
                    length=float(chain.length[i, 0]),
                    time=time,
                    vx=vx,
                    vy=vy,
                    start_x=x,
                    start_z=z,
                    plus_minus=None if made.sure is None else float(made.sure[i]),
                    **thrown(x, z, vx, vy, time),
                )
            )
    return tuple(contacts), tuple(flights)


def _load(drill: Drill, on: tuple[str, ...], standing: Standing) -> tuple[Load, bool]:
    """Contacts of the dose, and whether a youth limit lowered it."""
    counted = on[1:] if drill.start == "stand" else on
    sets, runs = drill.dose[LEVELS.index(standing.level)]
    dose = dose_for(sets, runs, len(counted), standing)
    by_foot = (counted.count(foot) for foot in ("left", "right", "both"))
    load = (dose.sets, dose.runs, dose.contacts_per_run, dose.contacts, *by_foot, *dose.budget.pair)
    return Load(*load), dose.cut_for_youth


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
    [('hop', 3.26, 0.23), ('step', 3.06, 0.25)]
    """
    choices = choices or Choices()
    refuse_unfit(drill, choices.arc, choices.hurdle, choices.board)
    stands = athlete.standing(on)
    shut = reasons(stands, drill.demand(choices.strides, choices.cycles), athlete.name)
    if shut and choices.despite is None:
        raise closed_fault(athlete.name, stands, drill, shut[0], venue.has_pit)
    athlete = athlete.on_day(on)
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
    run, strides = chain_of(drill, choices), made.strides
    lead = choices.lead or (OTHER[athlete.leg] if drill.lead == "weak" else athlete.leg)
    standing_on = feet(run.moves, lead, run.stand)
    contacts, flights = _laid(made, run, standing_on)
    run_up = able.run.run_up(strides)[1] if strides else 0.0
    place = place_for(behind.venue, drill, contacts, run_up, choices.board, athlete.best)
    hurdles = hurdles_for(drill, flights, stands.level, stands.age, lead, choices.hurdle)
    load, cut = _load(drill, standing_on, stands)
    total, best = float(made.chain.length[:, 0].sum()), None
    if drill.full and athlete.jumped and athlete.best_phases and choices.total is None:
        best = phases(athlete.jumped, athlete.best_phases)
    plan = Plan(
        version=PLAN_VERSION,
        date=on.isoformat(),
        who=Who(
            athlete.name, athlete.leg, stands.level, athlete.stature, athlete.mass,
            athlete.build, stands.age, athlete.target, athlete.best,
            tuple(a.text for a in stands.assumed),
        ),
        drill=drill.slug,
        **{name: getattr(drill, name) for name in FROM_DRILL},
        place=place,
        approach=ApproachPlan(strides, made.entry, run_up, check_marks(able.run, strides)),
        contacts=contacts,
        flights=flights,
        hurdles=hurdles,
        total=total,
        shares=tuple(f.length / total for f in flights),
        gaps=tuple(f.length - was for f, was in zip(flights, best, strict=True)) if best else (),
        forecast=made.sure is not None,
        style="",
        load=load,
        cautions=cautions_for(drill.cautions, stands),
        notes=(),
        despite=despite_text(shut[0], choices.despite or "") if shut else "",
    )  # fmt: skip
    return plan, cut
