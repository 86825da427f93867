"""`phasemark handout`: what a coach prints for one athlete and one drill."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from animate.film.themes import theme
from animate.motion.motion import Motion
from layout.commands import checked
from layout.commands.given import plan_from
from layout.commands.handout_parts import PRINT, figures, on_runway, wish_from
from layout.commands.plan_ import card_from, keep_existing, save_all, say
from layout.commands.uses import is_squad
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.rules.sources import said
from layout.words.faults import BadInput, Fault, refuse
from layout.words.names import safe_name
from layout.words.units import System

if TYPE_CHECKING:
    from layout.moving.poses import KeyPose
    from layout.sheet.handout import Wish

Files = list[tuple[str, str | bytes]]
"""Names of files, and what goes into them."""
Maker = Callable[[argparse.Namespace, Plan, TapeCard, Motion | None, str], tuple[Files, list[str]]]
"""Makes a handout; returns its files and lines to say."""
SMALLEST: Final = 200
"""A scale that is used only where no larger one fits."""


def with_motion(given: argparse.Namespace, plan: Plan) -> tuple[Plan, Motion | None, list[str]]:
    """A plan with its hurdles checked, its motion, and what to say; no motion where none is wanted.

    A motion that cannot be found is said and left out: the coach still gets the sheet.
    """
    if given.no_figure:
        return plan, None, []
    plan, motion, faults = checked.with_motion(plan)
    return plan, motion, [f"  ! no positions on it: {fault}" for fault in faults]


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


def _sheet(
    given: argparse.Namespace, plan: Plan, card: TapeCard, motion: Motion | None, to: str
) -> tuple[Files, list[str]]:
    """The sheet to print, as PDF or SVG."""
    from layout.page.letters import fonts_of, missing_line
    from layout.page.pdf import to_pdf
    from layout.page.svg import to_svg
    from layout.sheet.handout import handout

    poses, reading, told = figures(plan, motion)
    wish = wish_from(given)
    pages = handout(plan, card, poses, reading, wish, on_runway(plan, motion))
    look = theme("print-grey" if given.grey else "light")
    fonts = fonts_of(pages)
    title = f"{plan.who.name}: {plan.title}, 1:{pages[0].scale}"
    if to.lower().endswith(".pdf"):
        files: Files = [(to, to_pdf(pages, look, title, fonts=fonts))]
    else:
        files = [(beside(to, i), to_svg(page, look, fonts)) for i, page in enumerate(pages, 1)]
    first = pages[0]
    way = "upright" if first.height > first.width else "across"
    count = f", {len(pages)} pages" if len(pages) > 1 else ""
    out = [f"{' and '.join(name for name, _ in files)}: {title}, {given.paper} {way}{count}"]
    out += [f"  ! {note.text} [{said(note.source)}]" for note in plan.warnings]
    if first.scale == SMALLEST and not given.scale:
        out += _why_small(plan, card, poses, wish)
    lost = missing_line(fonts, "sheet")
    return files, [*out, *([f"  ! {lost}"] if lost else []), *told]


def _plots(
    given: argparse.Namespace, plan: Plan, motion: Motion | None, system: System
) -> tuple[Files, list[str]]:
    """Plots of the plan, for a folder."""
    from animate.body.body import body
    from layout.sheet.plots import lever_page, lost_letters, named, plot_file, run_page, split_page

    stem = f"{safe_name(plan.who.name)}-{plan.drill}"
    who = body(plan.who.stature, plan.who.mass, plan.who.build)
    made = (
        ("split", split_page(plan, system), "lengths, target and measured"),
        ("run", run_page(plan, motion, system), "speed and height along the run"),
        ("lever", lever_page(who, named(plan), system), "the free leg, long and short"),
    )
    files: Files = []
    told = []
    for name, page, what in made:
        path = str(Path(given.plots) / f"{stem}-{name}.svg")
        files.append((path, plot_file(page, "svg", given.grey)))
        told.append(f"{path}: {what}")
    return files, [*told, *lost_letters(named(plan))]


def _make_folder(name: str) -> None:
    try:
        Path(name).mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        rule = f"cannot be made ({getattr(error, 'strerror', '') or error})"
        raise BadInput([Fault("--plots", rule, None, name)]) from None


def _phone(
    given: argparse.Namespace, plan: Plan, card: TapeCard, motion: Motion | None, to: str
) -> tuple[Files, list[str]]:
    """The page for a telephone."""
    from layout.commands import handout_phone

    return handout_phone.run(given, plan, card, motion, to)


MAKERS: Final[dict[str, Maker]] = {".pdf": _sheet, ".svg": _sheet, ".html": _phone}
"""What is made, by the ending of the file's name."""
SEND: Final = "next: send it as a message; it opens in any browser and needs no network"
NEXT: Final = {".pdf": PRINT, ".svg": PRINT, ".html": SEND}
"""What to do with it, by the same."""


def run(given: argparse.Namespace) -> int:
    """Write a handout."""
    if given.poster is not None:
        from layout.commands import handout_poster

        return handout_poster.run(given)
    if not given.words:
        raise refuse("words", "an athlete file and a drill, or a saved plan, needed")
    if is_squad(given.words[0]):
        from layout.commands import handout_pack

        return handout_pack.run(given)
    plan = plan_from(given)
    to = given.to or f"{safe_name(plan.who.name)}-{plan.drill}.pdf"
    kind = Path(to).suffix.lower()
    if kind not in MAKERS:
        raise refuse("--to", f"must be a file ending in {', '.join(MAKERS)}", to)
    keep_existing(to, given.overwrite)
    wish_from(given)
    plan, motion, told = with_motion(given, plan)
    card = card_from(given, plan)
    files, lines = MAKERS[kind](given, plan, card, motion, to)
    lines += told
    if given.plots:
        more, said = _plots(given, plan, motion, card.system)
        files, lines = [*files, *more], [*lines, *said]
        _make_folder(given.plots)
    save_all(files, given.overwrite)
    say([*lines, NEXT[kind]])
    return 0
