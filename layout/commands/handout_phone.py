"""`phasemark handout --to x.html`: the handout as a page for a telephone."""

from __future__ import annotations

import argparse

from animate.film.themes import theme
from animate.motion.motion import Motion
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.rules.sources import said


def run(
    given: argparse.Namespace, plan: Plan, card: TapeCard, motion: Motion | None, to: str
) -> tuple[list[tuple[str, str | bytes]], list[str]]:
    """Make the page; returns its file and lines to say."""
    from layout.commands.handout_parts import figures, on_runway, wish_from
    from layout.page.letters import fonts_of, missing_line
    from layout.phone.phone import phone
    from layout.sheet.handout import handout

    poses, reading, told = figures(plan, motion)
    pages = handout(plan, card, poses, reading, wish_from(given), on_runway(plan, motion))
    look = theme("print-grey" if given.grey else "light")
    page = phone(plan, card, pages, poses, motion if poses else None, reading, look)
    told_of = f"{to}: {plan.who.name}: {plan.title}, one file of {len(page.encode()) / 1000:.0f} kB"
    out = [f"{told_of}; prints as {len(pages)} x {given.paper}, 1:{pages[0].scale}"]
    out += [f"  ! {note.text} [{said(note.source)}]" for note in plan.warnings]
    lost = missing_line(fonts_of(pages), "printed sheet")
    return [(to, page)], [*out, *([f"  ! {lost}"] if lost else []), *told]
