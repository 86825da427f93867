"""`phasemark compare --worth`: what the thing compared is worth to this athlete, on one sheet."""

from __future__ import annotations

import argparse
import shlex
from typing import Any, cast

from animate.motion.chain import Settings
from animate.refused import Refused
from layout.commands import output
from layout.commands.as_json import json_text, rounded
from layout.commands.checked import solving
from layout.commands.given import plan_from
from layout.commands.streams import progress, tell
from layout.commands.text import figure_cautions, folded
from layout.commands.uses import ATHLETE, PLACE, asked
from layout.moving.chain import body_of
from layout.moving.worth import AIMS, Aim, Worth, curve
from layout.moving.worth_told import OURS, Answer, headline, margin, rows, said
from layout.moving.worth_topics import TOPICS
from layout.plan.value import Plan
from layout.rules.cautions import in_short
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


def command(given: argparse.Namespace, plan: Plan, of: str) -> str:
    """The command that works out what a topic is worth, with all that was said of athlete and drill."""
    out = ["phasemark", "compare", *given.words]
    for name in asked(given, sorted(PLACE | ATHLETE)):
        value = getattr(given, name)
        out += [f"--{name.replace('_', '-')}", *([] if value is True else [str(value)])]
    return shlex.join([*out, "--of", of, "--worth", f"{output.stem_of(plan)}-{of}.pdf"])


def beside(given: argparse.Namespace, plan: Plan, of: str, answer: Answer) -> list[str]:
    """What a topic is worth, under what compares or shows two ways of it."""
    if answer.text:
        text = f"{answer.text} {OURS}" if answer.worth else answer.text
        return folded(f"What it is worth: {text}", "", "  ")
    head = "What it is worth is not told here; this works it out, in a minute or so:"
    return [head, f"  {command(given, plan, of)}"]


def record(given: argparse.Namespace, plan: Plan, of: str, answer: Answer) -> dict[str, Any]:
    """The same as data, with the curve where it is known."""
    out = {"of": of, "state": answer.state, "text": answer.text, "a_model_answer": OURS}
    if answer.state == "not worked out":
        out["command"] = command(given, plan, of)
    return {**out, "curve": answer.worth and curve_record(answer.worth)}


def curve_record(worth: Worth) -> dict[str, Any]:
    """A curve as data: radians and metres, the last by metres a second where it is speed that is kept."""
    points = [
        {"value": p.value, "beside_best": -worth.loss(i), "margin": margin(worth, i), "told": worth.tells(i),
         "speed": p.found.speed}
        for i, p in enumerate(worth.points)
    ]  # fmt: skip
    return cast(
        dict[str, Any],
        rounded(
            {"aim": worth.aim, "best": worth.top, "points": points, "share": worth.terms.strength}
        ),
    )


def told(worth: Worth) -> list[str]:
    """The answer for a screen."""
    lines = [
        *folded(headline(worth), "", "  "),
        f"  {'':<6}{'beside the best':>28}{'margin':>12}{'speed':>12}",
    ]
    for value, loss, off, speed in rows(worth):
        lines.append(f"  {value:<6}{loss:>28}{off:>12}{speed:>12}")
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
    if given.json:
        record = {"file": given.worth, "of": of, "text": headline(worth), "said": said(worth)}
        mind = in_short(plan.who.standing, plan.despite)
        record |= {"curve": curve_record(worth), "mind": mind}
        tell(json_text(record))
        return 0
    head = f"{given.worth}: {plan.who.name}: {plan.title}"
    return output.end([head, *told(worth), "", *figure_cautions(plan)])
