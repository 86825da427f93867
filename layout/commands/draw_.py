"""`phasemark draw`."""

from __future__ import annotations

import argparse

from animate.film.themes import theme
from layout.commands import output
from layout.commands.checked import bare, with_motion
from layout.commands.given import card_from, need_words, plan_from
from layout.moving.poses import at_marks
from layout.page.files import page_file
from layout.page.page import parse_scale
from layout.sheet.drawing import Sheet, draw


def run(given: argparse.Namespace) -> int:
    """Draw a plan to a file."""
    need_words(given, "an athlete file and a drill, or a saved plan, needed")
    sheet = Sheet(given.paper, given.upright, parse_scale(given.scale) if given.scale else None)
    plan = plan_from(given)
    to, kind = output.new_file(given, f"{output.stem_of(plan)}.svg", output.DRAWINGS)
    card_from(given, plan)  # refused before any work
    plan, motion, faults = with_motion(plan)
    figures = at_marks(plan, motion) if motion is not None else ()
    page = draw(plan, card_from(given, plan), sheet, figures)
    data = page_file(page, kind[1:], theme(output.look_of(given)))
    lines = [f"{to}: {page.title}, {given.paper} {'upright' if given.upright else 'across'}"]
    lines += [*output.warned(plan.warnings), *bare(faults)]
    if kind != ".svg":
        from layout.page.letters import fonts_of, missing_line

        lines += output.marked(missing_line(fonts_of([page]), kind[1:].upper()))
    output.save(to, data, given.overwrite)
    return output.end([*lines, output.PRINT])
