"""A whole squad through all chosen drills: planned, shared out and drawn, and never twice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor

from animate.film.themes import theme
from layout.page.svg import to_svg
from layout.plan.drill import Drill
from layout.plan.spacing import make_plan
from layout.plan.stored import to_json
from layout.plan.tape import tape_card
from layout.plan.value import Plan
from layout.sheet.drawing import draw
from layout.squad.laid import NoMarks, SetOut
from layout.squad.ledger import fingerprint
from layout.squad.roster import Member
from layout.squad.shared import Runner, Settings, closed_in, setout_json, shared_out
from layout.squad.squad_drawing import on_paper, squad_page
from layout.squad.work import ATHLETES, JobDone, Report, Work, caught
from layout.words.faults import Fault
from layout.words.names import safe_name

Card = Callable[[SetOut, int | None], bytes]
"""Makes a set-out's text; a function of a module, so that it can be sent to another process."""


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
    plans: dict[str, Plan] = {}
    files: dict[str, bytes] = {}
    faults: list[Fault] = []

    def one(drill: Drill) -> None:
        plan = make_plan(member.athlete, drill, settings.venue, settings.on, settings.choices)
        if drill.slug in drawn:
            card = tape_card(plan, "board", settings.system, settings.step)
            page = on_paper(lambda sheet: draw(plan, card, sheet), settings.sheet)
            svg, data = athlete_files(member, drill.slug)
            files[svg] = to_svg(page, theme(settings.look)).encode()
            files[data] = to_json(plan).encode()
        plans[drill.slug] = plan

    for drill in drills:
        name = f"{member.athlete.name}, {drill.slug}"
        faults += caught(lambda d=drill: one(d), member, name)  # type: ignore[misc]
    return JobDone(files, tuple(faults), plans)


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
        laid = shared_out(runners, closed, drill, settings)
        files[text] = card(laid, settings.sets)
        files[data] = setout_json(laid).encode()
        page = squad_page(laid, settings.sheet, settings.step)
        files[svg] = to_svg(page, theme(settings.look)).encode()

    return JobDone(files, caught(one, None, f"squad, {drill.slug}"))


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
    what was finished stays so.

    members: with names that differ.
    work: with a folder.
    executor: any: a pool of processes, or one that a cluster's library hands out.
    card: text of a set-out.
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
