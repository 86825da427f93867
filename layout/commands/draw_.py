"""`phasemark draw`."""

from __future__ import annotations

import argparse
from pathlib import Path

from animate.body.shapes import Shape
from animate.film.themes import Theme, theme
from layout.commands.checked import checked
from layout.commands.given import plan_from
from layout.commands.plan_ import card_from, keep_existing, save, say
from layout.page.files import page_file
from layout.page.page import Page, parse_scale
from layout.plan.value import Plan
from layout.rules.sources import said
from layout.sheet.drawing import Sheet, draw
from layout.words.faults import refuse
from layout.words.names import safe_name

DRAWINGS = (".svg", ".pdf", ".png")


def rendered(page: Page, kind: str, look: Theme) -> bytes:
    """A page in one of the file formats.

    Parameters
    ----------
    page : Page
    kind : {".svg", ".pdf", ".png"}
    look : Theme

    Raises
    ------
    BadInput
        Another kind.
    """
    if kind not in DRAWINGS:
        raise refuse("--to", f"must be a file ending in {', '.join(DRAWINGS)}", kind or None)
    return page_file(page, kind[1:], look)


def default_name(plan: Plan) -> str:
    """A safe file name for a plan's drawing."""
    return f"{safe_name(plan.who.name)}-{plan.drill}.svg"


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
    if not given.words:
        raise refuse("words", "an athlete file and a drill, or a saved plan, needed")
    sheet = Sheet(given.paper, given.upright, parse_scale(given.scale) if given.scale else None)
    plan = plan_from(given)
    to = given.to or default_name(plan)
    kind = Path(to).suffix.lower()
    if kind not in DRAWINGS:
        raise refuse("--to", f"must be a file ending in {', '.join(DRAWINGS)}", to)
    keep_existing(to, given.overwrite)
    plan = checked(plan, given)
    page = draw(plan, card_from(given, plan), sheet, _figures(plan))
    data = rendered(page, kind, theme("print-grey" if given.grey else "light"))
    lines = [f"{to}: {page.title}, {given.paper} {'upright' if given.upright else 'across'}"]
    lines += [f"  ! {note.text} [{said(note.source)}]" for note in plan.warnings]
    if kind != ".svg":
        from layout.page.letters import fonts_of, missing_line

        lost = missing_line(fonts_of([page]), kind[1:].upper())
        lines += [f"  ! {lost}"] if lost else []
    save(to, data, given.overwrite)
    say([*lines, "next: print it at 100 % and check the bar with a ruler"])
    return 0
