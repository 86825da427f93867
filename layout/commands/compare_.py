"""`phasemark compare`: two ways of doing a drill side by side."""

from __future__ import annotations

import argparse
from typing import Any, Final

from animate.body.body import body
from animate.film.film import KINDS
from animate.motion.measures import MEASURES
from animate.motion.motion import Motion
from animate.whole_file import fill_with
from layout.commands import compare_worth, film_, output
from layout.commands.as_json import json_text, rounded
from layout.commands.checked import solving
from layout.commands.given import need_words, plan_from
from layout.commands.streams import tell
from layout.commands.text import figure_cautions
from layout.moving.clip import GIVEN, side_by_side_of, step_contact, title_of
from layout.moving.lever import lever_lines
from layout.moving.ways import HOPS, OF, differences, lacking, ways
from layout.moving.worth_told import answer
from layout.plan.value import Plan
from layout.rules.cautions import COMPUTED, in_short
from layout.words.faults import refuse
from layout.words.reading import one_of

ALONE: Final = ("thigh", "trunk")
"""What is only told by what it is worth."""


def _plans(given: argparse.Namespace, of: str) -> tuple[Plan, Plan]:
    """The plans of both ways: the same one, unless it is the hop's arc that differs."""
    plan = plan_from(given)
    film_.refuse_positions(given, plan)
    if lacks := lacking(of, plan):
        raise refuse("--of", f"{plan.drill} has no {lacks}", of)
    if of != "hops":
        return plan, plan
    low, natural = (plan_from(argparse.Namespace(**{**vars(given), "hops": arc})) for arc in HOPS)
    return low, natural


def run(given: argparse.Namespace) -> int:
    """Make a side-by-side clip and print what differs."""
    if given.measured is not None:
        from layout.commands import compare_points

        return compare_points.run(given)
    need_words(given, "an athlete file and a drill needed")
    if given.worth is not None:
        return compare_worth.run(given)
    if given.of in ALONE:
        raise refuse("--of", "goes with --worth; a clip shows knees, lever, hops or arms", given.of)
    of = one_of("--of", given.of, OF)
    base = film_.settings_from(given)
    plans = _plans(given, of)
    first = plans[0]
    to, _ = output.new_file(given, f"{output.stem_of(first)}-{of}.gif", KINDS)
    if given.plot is not None:
        plot = output.ending_of(given.plot, output.DRAWINGS, "--plot")
        output.keep_existing(given.plot, given.overwrite)
    named = ways(of, base, first)
    motions = [solving(p, s) for p, (_, s) in zip(plans, named, strict=True)]
    names = (named[0][0], named[1][0])
    title = title_of(first)
    scene = side_by_side_of(plans, motions[0], motions[1], names, output.look_of(given))
    lines = [f"{to}: {title}", f"Computed, at {film_.at_contact(first, motions[0])}:"]
    lines += [f"  {'':<28}{names[0]:>20}{names[1]:>20}{'difference':>12}"]
    lines += [
        f"  {label:<28}{one:>20}{two:>20}{change:>12}"
        for label, one, two, change in differences(*motions)
    ]
    who = body(first.who.stature, first.who.mass, first.who.build)
    also: list[film_.Also] = []
    if of != "knees":
        lines += film_.moved_along(first, motions[0])
    if of == "lever":
        lines += ["", *lever_lines(who)]
    if given.plot is not None:
        from layout.sheet.plots import lever_page, plot_file

        data = plot_file(lever_page(who, title), plot[1:], given.grey)
        also = [(given.plot, fill_with(data))]
    lines += film_.lost_letters(scene, to)
    natural = plan_from(given) if of == "hops" else first
    worth = answer(natural, of, base)
    film_.write(scene, to, given.overwrite, also)
    if given.json:
        record = {
            "file": to,
            **_record(names, motions),
            "worth": compare_worth.record(given, natural, of, worth),
            "mind": f"{COMPUTED} {in_short(first.who.standing, first.despite)}",
        }
        tell(json_text(record))
        return 0
    told = compare_worth.beside(given, natural, of, worth)
    return output.end([*lines, "", *told, "", *figure_cautions(first)])


def _record(names: tuple[str, str], motions: list[Motion]) -> dict[str, Any]:
    """What differs as plain data: metres, radians, seconds and shares."""
    one, two = (step_contact(m).reading.values for m in motions)
    level = GIVEN if motions[0].chain == motions[1].chain else ()
    rows = {
        m.name: {"at": m.at, "unit": m.unit, "values": [one.get(m.name), two.get(m.name)],
                 "set_by_plan": m.name in level}
        for m in MEASURES
        if m.name in one or m.name in two
    }  # fmt: skip
    return {"ways": list(names), "measures": rounded(rows)}
