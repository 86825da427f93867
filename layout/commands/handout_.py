"""`phasemark handout`: what a coach prints for one athlete and one drill."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from animate.film.themes import theme
from animate.motion.motion import Motion
from layout.commands import checked
from layout.commands.given import card_from, need_words, plan_from, wish_from
from layout.commands.output import (
    PRINT,
    end,
    look_of,
    make_folder,
    marked,
    new_file,
    save_all,
    stem_of,
    warned,
)
from layout.commands.uses import is_squad
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.words.faults import BadInput, refuse
from layout.words.units import System

if TYPE_CHECKING:
    from layout.moving.poses import KeyPose
    from layout.sheet.handout import Wish

Files = list[tuple[str, str | bytes]]
"""Names of files, and what goes into them."""
SMALLEST: Final = 200
"""A scale that is used only where no larger one fits."""
SEND: Final = "next: send it as a message; it opens in any browser and needs no network"
NEXT: Final = {".pdf": PRINT, ".svg": PRINT, ".html": SEND}
"""Endings, and what to do with the file."""


def _figures(
    plan: Plan, motion: Motion | None
) -> tuple[tuple[KeyPose, ...], dict[str, str] | None, list[str]]:
    """Positions and what they measure, or why there are none."""
    from layout.moving.clip import step_contact
    from layout.moving.poses import key_poses

    if motion is None:
        return (), None, []
    try:
        return key_poses(plan, motion), dict(step_contact(motion).reading.shown()), []
    except BadInput as error:
        return (), None, checked.bare(tuple(error.faults))


def beside(to: str, number: int) -> str:
    """Where a later page goes when a file holds one page: name-2.svg beside name.svg."""
    path = Path(to)
    return to if number == 1 else str(path.with_name(f"{path.stem}-{number}{path.suffix}"))


def _why_small(plan: Plan, card: TapeCard, poses: tuple[KeyPose, ...], wish: Wish) -> list[str]:
    """What a larger drawing would want."""
    from layout.page.page import SCALES
    from layout.sheet.handout import handout

    try:
        handout(plan, card, poses, wish=replace(wish, scale=SCALES[1]))
    except BadInput as error:
        return [f"  1:{SMALLEST}, since at 1:{SCALES[1]} {fault.rule}" for fault in error.faults]
    return []


def _made(
    given: argparse.Namespace,
    plan: Plan,
    card: TapeCard,
    motion: Motion | None,
    to: str,
    key: str = "",
) -> tuple[Files, list[str]]:
    """The handout as files, and lines to say; a motion that was not found is left out of it."""
    from layout.moving.poses import at_marks
    from layout.page.letters import fonts_of, missing_line
    from layout.page.pdf import to_pdf
    from layout.page.svg import to_svg
    from layout.phone.phone import phone
    from layout.phone.runs import Sent
    from layout.sheet.handout import handout

    poses, reading, told = _figures(plan, motion)
    wish = wish_from(given)
    marks = () if motion is None else at_marks(plan, motion)
    pages = handout(plan, card, poses, reading, wish, marks)
    first, fonts, look = pages[0], fonts_of(pages), theme(look_of(given))
    title = f"{plan.who.name}: {plan.title}"
    kind = Path(to).suffix.lower()
    if kind == ".html":
        page = phone(plan, card, pages, poses, motion if poses else None, reading, Sent(look, key))
        out = [f"{to}: {title}, one file of {len(page.encode()) / 1000:.0f} kB; prints as "
               f"{len(pages)} x {given.paper}, 1:{first.scale}", *warned(plan.warnings)]  # fmt: skip
        return [(to, page)], [*out, *marked(missing_line(fonts, "printed sheet")), *told]
    title += f", 1:{first.scale}"
    if kind == ".pdf":
        files: Files = [(to, to_pdf(pages, look, title, fonts=fonts))]
    else:
        files = [(beside(to, i), to_svg(page, look, fonts)) for i, page in enumerate(pages, 1)]
    way = "upright" if first.height > first.width else "across"
    count = f", {len(pages)} pages" if len(pages) > 1 else ""
    out = [f"{' and '.join(name for name, _ in files)}: {title}, {given.paper} {way}{count}"]
    out += warned(plan.warnings)
    if first.scale == SMALLEST and not given.scale:
        out += _why_small(plan, card, poses, wish)
    return files, [*out, *marked(missing_line(fonts, "sheet")), *told]


def _plots(
    given: argparse.Namespace, plan: Plan, motion: Motion | None, system: System
) -> tuple[Files, list[str]]:
    """Plots of the plan, for a folder."""
    from animate.body.body import body
    from layout.sheet.plots import lever_page, lost_letters, named, plot_file, run_page, split_page

    who = body(plan.who.stature, plan.who.mass, plan.who.build)
    made = (
        ("split", split_page(plan, system), "lengths, target and measured"),
        ("run", run_page(plan, motion, system), "speed and height along the run"),
        ("lever", lever_page(who, named(plan), system), "the free leg, long and short"),
    )
    files: Files = []
    told = []
    for name, page, what in made:
        path = str(Path(given.plots) / f"{stem_of(plan)}-{name}.svg")
        files.append((path, plot_file(page, "svg", given.grey)))
        told.append(f"{path}: {what}")
    return files, [*told, *lost_letters(named(plan))]


def _key(given: argparse.Namespace, plan: Plan, kind: str) -> str:
    """The key of a phone page in the club's book, where one is named; the plan is kept there."""
    if given.book is None:
        return ""
    if kind != ".html":
        raise refuse("--book", "goes with a phone page (.html)", given.book)
    from layout.book.inbox import hand_out
    from layout.book.people import keep_latest
    from layout.book.sound import opened
    from layout.plan.stored import to_json

    with opened(Path(given.book)) as book:
        return hand_out(book, keep_latest(book, to_json(plan)))


def run(given: argparse.Namespace) -> int:
    """Write a handout."""
    if given.poster is not None:
        from layout.commands import handout_poster

        return handout_poster.run(given)
    need_words(given, "an athlete file and a drill, or a saved plan, needed")
    if is_squad(given.words[0]):
        from layout.commands import handout_pack

        return handout_pack.run(given)
    plan = plan_from(given)
    to, kind = new_file(given, f"{stem_of(plan)}.pdf", tuple(NEXT))
    wish_from(given)
    key = _key(given, plan, kind)
    motion, told = None, []
    if not given.no_figure:
        plan, motion, faults = checked.with_motion(plan)
        told = checked.bare(faults)
    card = card_from(given, plan)
    files, lines = _made(given, plan, card, motion, to, key)
    lines += told
    if given.plots:
        more, what = _plots(given, plan, motion, card.system)
        files, lines = [*files, *more], [*lines, *what]
        make_folder("--plots", given.plots)
    save_all(files, given.overwrite)
    return end([*lines, NEXT[kind]])
