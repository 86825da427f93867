"""`phasemark compare --worth`: what the thing compared is worth to this athlete, on one sheet."""

from __future__ import annotations

import argparse
from typing import cast

from animate.motion.chain import Settings
from animate.refused import Refused
from layout.commands import output
from layout.commands.checked import solving
from layout.commands.given import plan_from
from layout.commands.streams import progress
from layout.commands.text import figure_cautions, folded
from layout.moving.chain import body_of
from layout.moving.worth import AIMS, Aim, Worth, curve
from layout.moving.worth_told import headline, rows, said
from layout.moving.worth_topics import TOPICS
from layout.plan.value import Plan
from layout.words.faults import refuse
from layout.words.reading import one_of


def worth_of(plan: Plan, given: argparse.Namespace, of: str) -> Worth:
    """The curve, with a line on the screen while it is worked out."""
    aim = cast(Aim, one_of("--aim", given.aim, tuple(AIMS)))
    motion = solving(plan, Settings())
    with progress("motion", f"{plan.who.name}, what it is worth: ") as tell:
        try:
            return curve(motion, of, aim, body_of(plan).strength, tell)
        except Refused as fault:
            rule = f"can't be told for this plan: {fault.told}"
            raise refuse("--worth", rule) from None


def told(worth: Worth) -> list[str]:
    """The answer for a screen."""
    lines = [
        *folded(headline(worth), "", "  "),
        f"  {'':<6}{'beside the best':>28}{'margin':>12}{'speed':>12}",
    ]
    for value, loss, margin, speed in rows(worth):
        lines.append(f"  {value:<6}{loss:>28}{margin:>12}{speed:>12}")
    for text in said(worth):
        lines += folded(text, "  - ")
    return lines


def run(given: argparse.Namespace) -> int:
    """Work out a curve, write its sheet, and tell it."""
    of = one_of("--of", given.of, tuple(TOPICS))
    if TOPICS[of].against:
        raise refuse("--worth", f"can't be told for {of}: {TOPICS[of].against}")
    kind = output.ending_of(given.worth, output.DRAWINGS, "--worth")
    output.keep_existing(given.worth, given.overwrite)
    plan = plan_from(given)
    worth = worth_of(plan, given, of)
    from layout.sheet.worth_page import worth_file, worth_page

    data = worth_file(worth_page(plan, worth), kind[1:], output.look_of(given))
    output.save(given.worth, data, given.overwrite)
    head = f"{given.worth}: {plan.who.name}: {plan.title}"
    return output.end([head, *told(worth), "", *figure_cautions(plan)])
