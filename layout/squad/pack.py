"""A squad pack: many athletes' handouts in one PDF with a contents page, and a file for each athlete.

Work is done by any executor (layout.squad.work). A broken athlete is told on the contents page and
stops no other.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from animate.body.shapes import Shape
from animate.film.themes import theme
from layout.moving.clip import step_contact
from layout.moving.poses import KeyPose, at_marks, key_poses
from layout.moving.solved import kept_mark, moved
from layout.page.page import MARGIN, Page, Text
from layout.page.pdf import to_pdf
from layout.phone.phone import phone
from layout.phone.runs import Sent
from layout.plan.drill import Drill
from layout.plan.spacing import Choices
from layout.plan.tape import Zero, tape_card
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.sheet.handout import Wish, handout
from layout.sheet.texts import SMALL
from layout.squad.batch import closed_in, planned
from layout.squad.pack_contents import Chapter, contents, starts
from layout.squad.roster import Member
from layout.squad.work import ATHLETES, JobDone, Report, Work, caught, fingerprint
from layout.words.faults import Fault
from layout.words.names import counted, safe_name
from layout.words.note import Note
from layout.words.trade import date_text
from layout.words.units import System

NOT_WANTED: Final = "Without positions, as asked."
STRIP: Final = 5.7
"""Where the pack's own line stands, over the paper's lower edge [mm]; printers reach about 5."""


@dataclass(frozen=True)
class Making:
    """What holds for a whole pack."""

    venue: Venue
    on: datetime.date
    choices: Choices = field(default_factory=Choices)
    zero: Zero = "board"
    system: System = "cm"
    step: float | None = None  # Of the tape [m]
    wish: Wish = field(default_factory=Wish)
    look: str = "light"
    figures: bool = True  # Whether athletes are drawn
    apart: bool = True  # Whether each athlete gets files of their own


@dataclass
class Pack:
    """What a run made."""

    report: Report = field(default_factory=Report)  # Files of the folder and faults
    chapters: list[Chapter] = field(default_factory=list)  # In the squad's order
    # Of each athlete the name, and of each file what is said of it and its name from the folder
    files: list[tuple[str, tuple[tuple[str, str], ...]]] = field(default_factory=list)


def _strip(page: Page, text: str, align: Literal["left", "right"]) -> Page:
    """A page with a line of small text under it."""
    x = MARGIN if align == "left" else page.width - MARGIN
    said = Text((x, page.height - STRIP), text, SMALL, role="quiet", align=align)
    return replace(page, ink=(*page.ink, said))


def athlete_files(member: Member, drills: Sequence[Drill]) -> tuple[str, ...]:
    """Names of an athlete's files, from the folder: one PDF, and a page for the phone a drill."""
    stem = f"{ATHLETES}/{safe_name(member.athlete.name)}"
    pages = [stem] if len(drills) == 1 else [f"{stem}-{d.slug}" for d in drills]
    return (f"{stem}.pdf", *(f"{p}.html" for p in pages))


def athlete_work(
    member: Member,
    drills: Sequence[Drill],
    making: Making,
    stop: Callable[[], bool] | None = None,
) -> JobDone:
    """Make one athlete's handouts; hands back their chapters too.

    stop: asked while a motion is worked out; `Stopped` where it is true.
    """
    chapters: list[Chapter] = []
    files: dict[str, bytes] = {}
    names = athlete_files(member, drills)
    look = theme(making.look)

    def one(made: Plan, phone_name: str) -> None:
        plan, motion, why = moved(made, stop=stop) if making.figures else (made, None, ())
        lacking = f"Without positions: {why[0].rule}." if why else ""
        lacking = lacking if making.figures else NOT_WANTED
        card = tape_card(plan, making.zero, making.system, making.step)
        poses: tuple[KeyPose, ...] = ()
        figures: tuple[tuple[Shape, ...], ...] = ()
        reading = None
        if motion is not None:
            poses, figures = key_poses(plan, motion), at_marks(plan, motion)
            reading = dict(step_contact(motion).reading.shown())
        first, *rest = handout(plan, card, poses, reading, making.wish, figures)
        first = _strip(first, lacking, "left") if lacking else first
        pages = (first, *rest)
        if making.apart:
            notes = (Note("no-figures", lacking, "ours"),) if lacking else ()
            told = replace(plan, notes=(*plan.notes, *notes))
            page = phone(told, card, pages, poses, motion, reading, Sent(look))
            files[phone_name] = page.encode()
        chapters.append(Chapter(member.athlete.name, plan.title, pages, lacking))

    plans, faults = planned(member, drills, making.venue, making.on, making.choices)
    for drill, phone_name in zip(drills, names[1:], strict=True):
        if drill.slug in plans:
            faults += caught(one, member, drill.slug, plans[drill.slug], phone_name)
    if chapters and making.apart:
        sheets = [page for chapter in chapters for page in chapter.pages]
        titles = " and ".join(chapter.title for chapter in chapters)
        title = f"{member.athlete.name}: {titles}"
        files[names[0]] = to_pdf(sheets, look, title, _marks(chapters, 0))
    return JobDone(files, faults, tuple(chapters))


def _marks(chapters: Sequence[Chapter], before: int) -> list[tuple[str, int]]:
    """Bookmarks of chapters that start after some pages."""
    firsts = starts(chapters, before)
    return [(f"{c.name}: {c.title}", i - 1) for c, i in zip(chapters, firsts, strict=True)]


def run_pack(
    members: Sequence[Member],
    drills: Sequence[Drill],
    making: Making,
    work: Work,
    executor: Executor,
    key: Callable[[Member], str] | None = None,
) -> Pack:
    """Make a squad's handouts, and keep each athlete's files in the work's folder as they are done.

    Where the disk refuses, what was finished stays so. `key` tells what an athlete's files are made
    from; else they are known by what is in them.
    """
    pack = Pack(work.report)
    making = replace(making, apart=work.ledger is not None)
    work.expect(len(members))
    jobs = [(athlete_work, member, drills, making) for member in members]
    found = work.run(executor, jobs, (lambda i: key(members[i])) if key else None)
    work.close()
    many = len(drills) > 1
    said = [f"for the phone: {d.title}" if many else "for the telephone" for d in drills]
    for i, made in found.items():
        pack.chapters += made.more
        if made.files:
            rows = zip(("to print (PDF)", *said), athlete_files(members[i], drills), strict=True)
            some = tuple((what, name) for what, name in rows if name in made.files)
            pack.files.append((members[i].athlete.name, some))
    pack.report.close_to(closed_in(members, drills, making.on, making.choices))
    return pack


def titled(
    members: Sequence[Member], drills: Sequence[Drill], making: Making
) -> tuple[str, tuple[str, ...]]:
    """A pack's title, and what stands under it: where, when, and the drills."""
    return f"Squad pack: {counted(len(members), 'athlete')}", (
        f"{making.venue.title}, {date_text(making.on)}.",
        *(f"{i}. {drill.title}" for i, drill in enumerate(drills, start=1)),
    )


def pack_pdf(
    chapters: Sequence[Chapter],
    faults: Sequence[Fault],
    making: Making,
    title: str,
    facts: Sequence[str],
) -> bytes:
    """All handouts in one PDF: contents, then each athlete's pages, numbered through."""
    front, links = contents(title, facts, chapters, faults, making.wish.paper)
    sheets = [*front, *(page for chapter in chapters for page in chapter.pages)]
    numbered = [
        _strip(page, f"Pack page {i} of {len(sheets)}", "right")
        for i, page in enumerate(sheets, start=1)
    ]
    marks = [("Contents", 0), *_marks(chapters, len(front))]
    return to_pdf(numbered, theme(making.look), title, marks, links=links)


def key_of(
    member: Member, drills: Sequence[Drill], making: Making, plans: Mapping[str, Plan] | None = None
) -> str:
    """What an athlete's files are made from: athlete, drills, settings and the motions at hand."""
    if plans is None:
        plans, _ = planned(member, drills, making.venue, making.on, making.choices)
    marks = [kept_mark(plan) for plan in plans.values()] if making.figures else []
    return fingerprint(member.athlete, tuple(drills), replace(making, apart=True), marks)


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

    own: the pack's own files, by name. told: what stands on the pack's first page.
    """
    pack = Pack(work.report)
    keys: list[str] = []
    for member in members:
        plans, faults = planned(member, drills, making.venue, making.on, making.choices)
        pack.report.faults += faults
        keys.append(key := key_of(member, drills, making, plans))
        names = athlete_files(member, drills)
        pages = [n for d, n in zip(drills, names[1:], strict=True) if d.slug in plans]
        if plans and work.wanted([names[0], *pages], key):
            return None
        if making.figures and not all(map(kept_mark, plans.values())):
            return None  # A motion that was not found is sought again
        for plan in plans.values():
            lacking = "" if making.figures else NOT_WANTED
            pack.chapters.append(Chapter(member.athlete.name, plan.title, (), lacking))
    if work.wanted(own, whole_key(keys, *told)):
        return None
    pack.report.faults.sort(key=lambda f: (f.file, f.line, f.field))
    pack.report.close_to(closed_in(members, drills, making.on, making.choices))
    return pack
