"""`phasemark draw`."""

from __future__ import annotations

import argparse

from animate.body.shapes import Shape
from animate.film.themes import theme
from layout.commands import output
from layout.commands.checked import checked
from layout.commands.given import card_from, need_words, plan_from
from layout.page.files import page_file
from layout.page.page import parse_scale
from layout.plan.value import Plan
from layout.sheet.drawing import Sheet, draw


def _figures(plan: Plan) -> tuple[tuple[Shape, ...], ...]:
    """The athlete at each contact where the motion is kept; nothing is solved for a drawing."""
    from layout.moving.poses import at_marks
    from layout.moving.solved import at_hand

    try:
        motion = at_hand(plan)
    except ValueError:
        return ()  # contacts no body can make: the runway is drawn all the same
    return () if motion is None else at_marks(plan, motion)


def run(given: argparse.Namespace) -> int:
    """Draw a plan to a file."""
    need_words(given, "an athlete file and a drill, or a saved plan, needed")
    sheet = Sheet(given.paper, given.upright, parse_scale(given.scale) if given.scale else None)
    plan = plan_from(given)
    to, kind = output.new_file(given, f"{output.stem_of(plan)}.svg", output.DRAWINGS)
    plan = checked(plan, given)
    page = draw(plan, card_from(given, plan), sheet, _figures(plan))
    data = page_file(page, kind[1:], theme(output.look_of(given)))
    lines = [f"{to}: {page.title}, {given.paper} {'upright' if given.upright else 'across'}"]
    lines += output.warned(plan.warnings)
    if kind != ".svg":
        from layout.page.letters import fonts_of, missing_line

        lines += output.marked(missing_line(fonts_of([page]), kind[1:].upper()))
    output.save(to, data, given.overwrite)
    return output.end([*lines, output.PRINT])
