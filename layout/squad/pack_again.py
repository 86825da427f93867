"""A squad pack that was made before: known by what it was made from, so that nothing is made twice."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace

from layout.moving.solved import SECONDS, kept_mark
from layout.plan.drill import Drill
from layout.plan.spacing import make_plan
from layout.plan.value import Plan
from layout.squad.ledger import fingerprint
from layout.squad.pack import LEFT_OUT, NOT_WANTED, Making, Pack, athlete_files
from layout.squad.pack_contents import Chapter
from layout.squad.roster import Member
from layout.squad.shared import closed_in
from layout.squad.work import Work, caught


def _plans(member: Member, drills: Sequence[Drill], making: Making, pack: Pack) -> dict[str, Plan]:
    """The plans of the drills that are open to an athlete; faults go to the pack's report."""
    out: dict[str, Plan] = {}
    shut = closed_in([member], drills, making.on, making.choices)
    for drill in drills:
        if shut[drill.slug]:
            continue

        def work(drill: Drill = drill) -> None:
            plan = make_plan(member.athlete, drill, making.venue, making.on, making.choices)
            out[drill.slug] = plan

        name = f"{member.athlete.name}, {drill.slug}"
        pack.report.faults += caught(work, member, name)
    return out


def key_of(member: Member, drills: Sequence[Drill], making: Making) -> str:
    """What an athlete's files are made from: athlete, drills, settings and the motions at hand."""
    return _key(member, drills, making, _plans(member, drills, making, Pack()))


def _key(member: Member, drills: Sequence[Drill], making: Making, plans: dict[str, Plan]) -> str:
    marks: list[str] = []
    if making.figures != "none":
        marks = [kept_mark(plan) for plan in plans.values()]
    # A longer time to solve may find what a shorter one did not.
    tried = os.environ.get(SECONDS, "") if making.figures == "solve" else ""
    return fingerprint(member.athlete, tuple(drills), replace(making, apart=True), marks, tried)


def whole_key(keys: Sequence[str], *told: object) -> str:
    """What the pack's own files are made from: everybody's, and what stands on the first page."""
    return fingerprint(tuple(keys), told)


def made_before(
    members: Sequence[Member],
    drills: Sequence[Drill],
    making: Making,
    work: Work,
    own: Sequence[str],
    told: Sequence[object],
) -> Pack | None:
    """The pack of a folder where nothing is left to do, without its pages; None where something is.

    work: with the folder.
    own: the pack's own files, by name.
    told: what stands on the pack's first page.
    """
    pack = Pack(work.report)
    keys: list[str] = []
    for member in members:
        plans = _plans(member, drills, making, pack)
        keys.append(key := _key(member, drills, making, plans))
        names = athlete_files(member, drills)
        pages = [n for d, n in zip(drills, names[1:], strict=True) if d.slug in plans]
        if plans and work.wanted([names[0], *pages], key):
            return None
        for plan in plans.values():
            lacking = (
                NOT_WANTED if making.figures == "none" else "" if kept_mark(plan) else LEFT_OUT
            )
            pack.chapters.append(Chapter(member.athlete.name, plan.title, (), lacking))
    if work.wanted(own, whole_key(keys, *told)):
        return None
    pack.report.faults.sort(key=lambda f: (f.file, f.line, f.field))
    pack.report.close_to(closed_in(members, drills, making.on, making.choices))
    return pack
