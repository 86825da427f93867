"""A whole squad through all chosen drills: planned, shared out and drawn, and never twice."""

from __future__ import annotations

import dataclasses
import datetime
import json
from bisect import bisect_left
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace

import numpy as np

from animate.film.themes import theme
from layout.athlete.athlete import Athlete
from layout.moving.solved import moved
from layout.page.svg import to_svg
from layout.plan.drill import Drill, refuse_unfit
from layout.plan.spacing import Choices, make_plan
from layout.plan.stored import to_json
from layout.plan.tape import tape_card
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.rules.demand import Demand, closed_to
from layout.sheet.drawing import Sheet, draw
from layout.squad.feet import held, stood
from layout.squad.laid import NoMarks, SetOut
from layout.squad.roster import Member
from layout.squad.setout import Laying, set_out
from layout.squad.sets import Sharing, Tolerance, share
from layout.squad.squad_drawing import on_paper, squad_page
from layout.squad.squad_words import despite_note, over_note
from layout.squad.work import ATHLETES, JobDone, Report, Work, caught, fingerprint
from layout.words.faults import BadInput, Fault, refuse
from layout.words.names import safe_name
from layout.words.units import System

Card = Callable[[SetOut, int | None], bytes]
"""Makes a set-out's text; a function of a module, so that it can be sent to another process."""


@dataclass(frozen=True)
class Settings:
    """What holds for a whole batch."""

    venue: Venue
    on: datetime.date
    choices: Choices = field(default_factory=Choices)
    sets: int | None = None  # Shared sets asked for; None takes the fewest within the tolerance
    tolerance: Tolerance = field(default_factory=Tolerance)
    # Moves and how much their phases count; 1 where not named
    weights: tuple[tuple[str, float], ...] = ()
    system: System = "cm"
    step: float | None = None  # Of the tape [m]
    sheet: Sheet | None = None  # None takes the smallest paper that holds the drawing
    look: str = "light"

    def phases(self, plan: Plan) -> tuple[float, ...]:
        """Weights of a plan's phases."""
        told = dict(self.weights)
        return tuple(told.get(f.phase, 1.0) for f in plan.flights)


@dataclass(frozen=True)
class Runner:
    """An athlete the drill is open to, with what the sharing asks of them."""

    plan: Plan
    weight: float
    young: bool  # Whether youth limits hold


def no_marks(athlete: Athlete, drill: Drill, on: datetime.date, choices: Choices) -> NoMarks | None:
    """Why nothing is laid for an athlete; None where the drill is open to them as it is changed."""
    return _no_marks(athlete, drill.demand(choices.strides, choices.cycles), on)


def _no_marks(athlete: Athlete, asked: Demand, on: datetime.date) -> NoMarks | None:
    why = closed_to(athlete.standing(on), asked, athlete.name)
    return None if why is None else NoMarks(athlete.name, why.text, why.source)


def refuse_misplaced(drill: Drill, venue: Venue, choices: Choices) -> None:
    """Refuse, before any athlete is planned, a drill that has no place here or none for what is changed."""
    refuse_unfit(drill, choices.arc, choices.hurdle, choices.board)
    if drill.ends == "sand" and not venue.has_pit:
        raise refuse("venue", f"{drill.slug} ends in sand and this venue has no pit", venue.slug)
    if drill.board and not venue.boards and choices.board is None:
        raise refuse("venue", f"{drill.slug} needs a venue with boards", venue.slug)


def choices_for(drill: Drill, wish: Choices) -> Choices:
    """What is changed of a drill, of what is wished for several: only what it has a place for."""
    return replace(
        wish,
        strides=wish.strides if drill.start == "run" else None,
        arc=wish.arc if "hop" in drill.moves else None,
        board=wish.board if drill.ends == "sand" else None,
        hurdle=wish.hurdle if drill.hurdle else None,
    )


def closed_in(
    members: Sequence[Member], drills: Sequence[Drill], on: datetime.date, choices: Choices
) -> dict[str, dict[int, NoMarks]]:
    """By drill, the members it is closed to, by their place; none where a coach goes on despite that."""
    out: dict[str, dict[int, NoMarks]] = {d.slug: {} for d in drills}
    for drill in drills if choices.despite is None else ():
        asked = drill.demand(choices.strides, choices.cycles)
        for i, member in enumerate(members):
            why = _no_marks(member.athlete, asked, on)
            if why is not None:
                out[drill.slug][i] = why
    return out


Planning = Callable[[Athlete, Drill, Venue, datetime.date, Choices], Plan]


def gathered(
    members: Sequence[Member], drill: Drill, settings: Settings, make: Planning = make_plan
) -> tuple[list[Runner], list[NoMarks], list[Fault]]:
    """Who can be laid marks for, whom the drill is closed to, and what is wrong with the others."""
    runners: list[Runner] = []
    faults: list[Fault] = []
    shut = closed_in(members, [drill], settings.on, settings.choices)[drill.slug]
    for i, member in enumerate(members):
        athlete = member.athlete
        if i in shut:
            continue
        try:
            plan = make(athlete, drill, settings.venue, settings.on, settings.choices)
        except BadInput as error:
            faults += error.at(member.file, member.line).faults
            continue
        runners.append(Runner(plan, member.weight, athlete.standing(settings.on).young))
    return runners, list(shut.values()), faults


def planned(
    member: Member, drills: Sequence[Drill], venue: Venue, on: datetime.date, choices: Choices
) -> tuple[dict[str, Plan], list[Fault]]:
    """An athlete's plans of the drills that are open to them, by name, and what is wrong."""
    plans: dict[str, Plan] = {}
    faults: list[Fault] = []

    def one(drill: Drill) -> None:
        plans[drill.slug] = make_plan(member.athlete, drill, venue, on, choices)

    shut = closed_in([member], drills, on, choices)
    for drill in drills:
        if not shut[drill.slug]:
            faults += caught(one, member, drill.slug, drill)
    return plans, faults


def shared_out(
    runners: Sequence[Runner],
    closed: Sequence[NoMarks],
    drill: Drill,
    settings: Settings,
    feet: bool = True,
) -> tuple[SetOut, int | None]:
    """Share a squad's plans of one drill out and lay them on the venue; nobody young is stretched.

    feet: whether hurdles are held against the motions at hand.
    Returns the sets asked for too, None where the tolerance set their number.
    """
    made = [r.plan for r in runners]
    plans = [stood(p) for p in made] if feet else made
    young = np.array([r.young for r in runners])
    lengths = np.array([[f.length for f in p.flights] for p in plans])
    phases = settings.phases(plans[0])

    def shared(sets: int | None, tolerance: Tolerance) -> Sharing:
        weights = np.array([r.weight for r in runners])
        return share(lengths, sets, tolerance, np.array(phases), weights, young)

    sharing = enough = shared(settings.sets, settings.tolerance)
    if sharing.off and settings.sets is not None:
        enough = shared(None, settings.tolerance)
        # Least misfit may leave somebody over where as few sets keep everybody within.
        sharing = enough if len(enough.sets) <= settings.sets else sharing
    how = Laying(
        settings.tolerance, phases, settings.system, settings.step, settings.choices.board,
        young=young.tolist(), no_marks=closed,
    )  # fmt: skip
    laid = set_out(plans, sharing, drill, settings.venue, how)
    laid = held(laid, made) if feet else laid
    if settings.choices.despite and any(p.despite for p in plans):
        laid = replace(laid, notes=(despite_note(plans, settings.choices.despite), *laid.notes))
    if not sharing.off or settings.sets is None:
        return laid, sharing.wanted
    kind, asked = settings.tolerance.kind, settings.sets

    def keeps(whole: int) -> bool:
        """Whether as few sets keep everybody within so many centimetres or per cent."""
        return len(shared(None, Tolerance(whole / 100, kind)).sets) <= asked

    wide = shared(asked, Tolerance(1e3))
    wider = wide.widest(lengths, [w > 0.0 for w in phases], kind)
    if wider:
        wholes = range(1, round(100 * wider.size))
        wider = Tolerance((1 + bisect_left(wholes, True, key=keeps)) / 100, kind)
    note = over_note(laid, asked, len(enough.sets), wider)
    return replace(laid, notes=(note, *laid.notes)), sharing.wanted


def setout_json(laid: SetOut) -> str:
    """A set-out as JSON text, with each athlete's misfit in per cent as well."""
    table = dataclasses.asdict(laid)
    for row, item in zip(table["sets"], laid.sets, strict=True):
        row["lengths"] = item.lengths
        for cell, who in zip(row["athletes"], item.athletes, strict=True):
            cell["percent"] = who.percent
    return json.dumps(table, ensure_ascii=False, indent=1) + "\n"


def athlete_files(member: Member, drill: str) -> tuple[str, str]:
    """Names of an athlete's drawing and plan, from the batch's folder."""
    stem = f"{ATHLETES}/{safe_name(member.athlete.name)}-{drill}"
    return f"{stem}.svg", f"{stem}.json"


def squad_files(drill: str) -> tuple[str, str, str]:
    """Names of a squad's drawing, tape card and values, from the batch's folder."""
    return f"{drill}.svg", f"{drill}.txt", f"{drill}.json"


def athlete_work(
    member: Member, drills: Sequence[Drill], drawn: frozenset[str], settings: Settings
) -> JobDone:
    """Plan one athlete's drills, handed back by name, and draw those in `drawn`."""
    files: dict[str, bytes] = {}

    def one(plan: Plan) -> None:
        plan = moved(plan)[0] if plan.hurdles else plan
        card = tape_card(plan, "board", settings.system, settings.step)
        page = on_paper(lambda sheet: draw(plan, card, sheet), settings.sheet)
        svg, data = athlete_files(member, plan.drill)
        files[svg] = to_svg(page, theme(settings.look)).encode()
        files[data] = to_json(plan).encode()

    plans, faults = planned(member, drills, settings.venue, settings.on, settings.choices)
    for slug in [slug for slug in plans if slug in drawn]:
        failed = caught(one, member, slug, plans[slug])
        # What cannot be drawn is not shared out either.
        if failed:
            del plans[slug]
        faults += failed
    return JobDone(files, faults, plans)


def squad_work(
    runners: Sequence[Runner],
    closed: Sequence[NoMarks],
    drill: Drill,
    settings: Settings,
    card: Card,
) -> JobDone:
    """Share out and draw one drill for a squad."""
    files: dict[str, bytes] = {}
    svg, text, data = squad_files(drill.slug)

    def one() -> None:
        laid, wanted = shared_out(runners, closed, drill, settings)
        files[text] = card(laid, wanted)
        files[data] = setout_json(laid).encode()
        page = squad_page(laid, settings.sheet, settings.step)
        files[svg] = to_svg(page, theme(settings.look)).encode()

    return JobDone(files, caught(one, None, drill.slug))


def run_batch(
    members: Sequence[Member],
    drills: Sequence[Drill],
    settings: Settings,
    work: Work,
    executor: Executor,
    card: Card,
) -> Report:
    """Plan, share out and draw a squad's drills into a folder, going on where a run before stopped.

    A broken athlete or drill is in the report's faults and stops no other; where the disk refuses,
    what was finished stays so. `executor` may be one that a cluster's library hands out.
    """
    shut = closed_in(members, drills, settings.on, settings.choices)
    work.report.close_to(shut)
    everybody = tuple((m.athlete, m.weight) for m in members)
    shared = {
        d.slug
        for d in drills
        if len(shut[d.slug]) < len(members)
        and work.wanted(squad_files(d.slug), fingerprint(everybody, d, settings))
    }
    jobs, places = [], []
    for i, member in enumerate(members):
        open_ = [d for d in drills if i not in shut[d.slug]]
        drawn = frozenset(
            d.slug
            for d in open_
            if work.wanted(athlete_files(member, d.slug), fingerprint(member.athlete, d, settings))
        )
        needed = [d for d in open_ if d.slug in drawn | shared]
        if needed:
            jobs.append((athlete_work, member, needed, drawn, settings))
            places.append(i)
    work.expect(len(jobs) + len(shared))
    planned = {places[i]: made.more for i, made in work.run(executor, jobs).items()}
    squads = []
    for drill in (d for d in drills if d.slug in shared):
        runners = [
            Runner(plans[drill.slug], m.weight, m.athlete.standing(settings.on).young)
            for m, plans in ((members[i], plans) for i, plans in planned.items())
            if drill.slug in plans
        ]
        closed = tuple(shut[drill.slug].values())
        squads += [(squad_work, runners, closed, drill, settings, card)] if runners else []
    work.run(executor, squads)
    return work.close()
