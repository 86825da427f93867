"""A squad pack: many athletes' handouts in one PDF with a contents page, and a file for each athlete.

Work is done by any executor (layout.squad.work). A broken athlete is told on the contents page and
stops no other.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from animate.body.shapes import Shape
from animate.film.themes import theme
from animate.motion.motion import Motion
from layout.moving.both import with_both
from layout.moving.clearing import cleared
from layout.moving.clip import step_contact
from layout.moving.poses import KeyPose, at_marks, key_poses
from layout.moving.solved import at_hand, motion_of, refuse_unsound
from layout.page.page import MARGIN, Page
from layout.page.pdf import to_pdf
from layout.phone.phone import phone
from layout.plan.drill import Drill
from layout.plan.spacing import Choices, make_plan
from layout.plan.tape import Zero, tape_card
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.sheet.handout import Wish, handout
from layout.sheet.texts import SMALL, text_at
from layout.squad.pack_contents import Chapter, contents, index_html
from layout.squad.roster import Member
from layout.squad.shared import closed_in
from layout.squad.work import ATHLETES, JobDone, Report, Work, caught
from layout.words.faults import BadInput, Fault
from layout.words.names import safe_name
from layout.words.note import Note
from layout.words.units import System

Figures = Literal["kept", "solve", "none"]
LEFT_OUT: Final = "Without positions: the athlete's motion has not been worked out."
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
    figures: Figures = "kept"  # Athletes drawn where the motion is kept, always, or never
    apart: bool = True  # Whether each athlete gets files of their own


@dataclass
class Pack:
    """What a run made."""

    report: Report = field(default_factory=Report)  # Files of the folder and faults
    chapters: list[Chapter] = field(default_factory=list)  # In the squad's order
    # Of each athlete the name, and of each file what is said of it and its name from the folder
    files: list[tuple[str, tuple[tuple[str, str], ...]]] = field(default_factory=list)


def moved_plan(plan: Plan, figures: Figures) -> tuple[Plan, Motion | None, str]:
    """A plan with its hurdles checked against the motion, the motion, and why there is none."""
    motion, lacking = None, NOT_WANTED if figures == "none" else LEFT_OUT
    try:
        if figures == "solve":
            motion = refuse_unsound(motion_of(plan))
        elif figures == "kept":
            motion = at_hand(plan)
    except BadInput as error:
        lacking = f"Without positions: {error.faults[0].rule}."
    except ValueError as error:
        # A chain that cannot be: the sheet is still of use, the motion is not.
        lacking = f"Without positions: {error}."
    if motion is None:
        return plan, None, lacking
    return with_both(cleared(plan, motion) if plan.hurdles else plan, motion), motion, ""


def _strip(page: Page, text: str, align: Literal["left", "right"]) -> Page:
    """A page with a line of small text under it."""
    x = MARGIN if align == "left" else page.width - MARGIN
    said = text_at((x, page.height - STRIP), text, SMALL, role="quiet", align=align)
    return replace(page, ink=(*page.ink, said))


def athlete_files(member: Member, drills: Sequence[Drill]) -> tuple[str, ...]:
    """Names of an athlete's files, from the folder: one PDF, and a page for the phone a drill."""
    stem = f"{ATHLETES}/{safe_name(member.athlete.name)}"
    pages = [stem] if len(drills) == 1 else [f"{stem}-{d.slug}" for d in drills]
    return (f"{stem}.pdf", *(f"{p}.html" for p in pages))


def athlete_work(member: Member, drills: Sequence[Drill], making: Making) -> JobDone:
    """Make one athlete's handouts; hands back their chapters too."""
    chapters: list[Chapter] = []
    files: dict[str, bytes] = {}
    faults: list[Fault] = []
    names = athlete_files(member, drills)
    look = theme(making.look)

    def one(drill: Drill, phone_name: str) -> None:
        made = make_plan(member.athlete, drill, making.venue, making.on, making.choices)
        plan, motion, lacking = moved_plan(made, making.figures)
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
            told = plan
            if lacking:
                note = Note("no-figures", lacking, "ours")
                told = replace(plan, notes=(*plan.notes, note))
            page = phone(told, card, pages, poses, motion, reading, look)
            files[phone_name] = page.encode()
        chapters.append(Chapter(member.athlete.name, plan.title, pages, lacking))

    shut = closed_in([member], drills, making.on, making.choices)
    for drill, phone_name in zip(drills, names[1:], strict=True):
        if shut[drill.slug]:
            continue
        name = f"{member.athlete.name}, {drill.slug}"

        def work(drill: Drill = drill, phone_name: str = phone_name) -> None:
            one(drill, phone_name)

        faults += caught(work, member, name)
    if chapters and making.apart:
        sheets = [page for chapter in chapters for page in chapter.pages]
        titles = " and ".join(chapter.title for chapter in chapters)
        title = f"{member.athlete.name}: {titles}"
        files[names[0]] = to_pdf(sheets, look, title, _marks(chapters, 0))
    return JobDone(files, tuple(faults), tuple(chapters))


def _marks(chapters: Sequence[Chapter], before: int) -> list[tuple[str, int]]:
    """Bookmarks of chapters that start after some pages."""
    out = []
    for chapter in chapters:
        out.append((f"{chapter.name}: {chapter.title}", before))
        before += len(chapter.pages)
    return out


def run_pack(
    members: Sequence[Member],
    drills: Sequence[Drill],
    making: Making,
    work: Work,
    executor: Executor,
    key: Callable[[Member], str] | None = None,
) -> Pack:
    """Make a squad's handouts, and keep each athlete's files in the work's folder as they are done.

    Where the disk refuses, what was finished stays so.

    members: with names that differ.
    key: what an athlete's files are made from; else they are known by what is in them.
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


def pack_pdf(
    chapters: Sequence[Chapter],
    faults: Sequence[Fault],
    making: Making,
    title: str,
    facts: Sequence[str],
) -> bytes:
    """All handouts in one PDF: contents, then each athlete's pages, numbered through.

    faults: who is not in it, and why.
    facts: place, day and drills, under the title.
    """
    front, links = contents(title, facts, chapters, faults, making.wish.paper)
    sheets = [*front, *(page for chapter in chapters for page in chapter.pages)]
    numbered = [
        _strip(page, f"Pack page {i} of {len(sheets)}", "right")
        for i, page in enumerate(sheets, start=1)
    ]
    marks = [("Contents", 0), *_marks(chapters, len(front))]
    return to_pdf(numbered, theme(making.look), title, marks, links=links)


def index_html_of(
    pack: Pack, title: str, facts: Sequence[str], faults: Sequence[Fault], whole: str
) -> str:
    """The page that leads to a folder's files: the whole pack first, then each athlete's."""
    files = [("All in one", (("to print (PDF)", whole),)), *pack.files]
    return index_html(title, facts, files, faults)
