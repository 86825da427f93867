"""`phasemark compare`: two ways of doing a drill side by side."""

from __future__ import annotations

import argparse
import math
from dataclasses import replace
from typing import Final

from animate.body.body import LEG, body
from animate.film.film import KINDS, rows_of
from animate.motion.chain import Settings
from animate.motion.compare import compare
from animate.whole_file import fill_with
from layout.commands import film_, output
from layout.commands.checked import solving
from layout.commands.given import need_words, plan_from
from layout.commands.text import figure_cautions
from layout.moving.clip import has_step_contact, side_by_side_of, step_contact, title_of
from layout.moving.lever import lever_lines
from layout.plan.value import Plan
from layout.words.faults import refuse
from layout.words.reading import one_of

OF: Final = ("knees", "lever", "hops", "arms")
KNEES: Final = (0.28, 0.50)
LEVER: Final = (math.radians(55.0), math.radians(115.0))
"""Knees closer and further apart, in leg lengths, to the whole centimetre; long and short lever [rad]
(ours)."""


def gap_of(plan: Plan, share: float) -> float:
    """A knee gap, so many leg lengths, to the whole centimetre [m]."""
    return round(share * LEG * plan.who.stature, 2)


def ways(of: str, base: Settings, plan: Plan) -> tuple[tuple[str, Settings], tuple[str, Settings]]:
    """The two ways that a comparison shows, by name."""
    if of == "knees":
        one, two = (replace(base, knee_gap=gap_of(plan, share)) for share in KNEES)
        return ("Knees closer", one), ("Knees apart", two)
    if of == "lever":
        one, two = (replace(base, knee_bend=bend) for bend in LEVER)
        return ("Long lever", one), ("Short lever", two)
    if of == "arms":
        one, two = replace(base, arms="alternate"), replace(base, arms="together")
        return ("Arms alternate", one), ("Arms together", two)
    return ("Low hop", replace(base, arc="low")), ("Natural hop", replace(base, arc="natural"))


def _plans(given: argparse.Namespace, of: str) -> tuple[Plan, Plan]:
    """The plans of both ways: the same one, unless it is the hop's arc that differs."""
    plan = plan_from(given)
    film_.refuse_positions(given, plan)
    lacking = {
        "hops": "" if any(f.phase == "hop" for f in plan.flights) else "hops",
        "arms": "",
    }.get(of, "" if has_step_contact(plan) else "step contact")
    if lacking:
        raise refuse("--of", f"{plan.drill} has no {lacking}", of)
    if of != "hops":
        return plan, plan
    low, natural = (
        plan_from(argparse.Namespace(**{**vars(given), "hops": arc})) for arc in ("low", "natural")
    )
    return low, natural


def run(given: argparse.Namespace) -> int:
    """Make a side-by-side clip and print what differs."""
    if given.measured is not None:
        from layout.commands import compare_points

        return compare_points.run(given)
    need_words(given, "an athlete file and a drill needed")
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
    readings = [step_contact(m).reading for m in motions]
    differences = compare(*readings)
    rows = rows_of(differences, [d.measure.name for d in differences])
    lines = [f"{to}: {title}", f"Computed, at {film_.at_contact(first, motions[0])}:"]
    lines += [f"  {'':<28}{names[0]:>20}{names[1]:>20}{'difference':>12}"]
    for row, difference in zip(rows, differences, strict=True):
        one, two, change = row.texts()
        label = f"{row.name}, {difference.measure.at}"
        lines.append(f"  {label:<28}{one:>20}{two:>20}{change:>12}")
    who = body(first.who.stature, first.who.mass, first.who.build)
    also: list[film_.Also] = []
    if of != "knees":
        lines += film_.moved_along(given, first, motions[0])
    if of == "lever":
        lines += ["", *lever_lines(who)]
    if given.plot is not None:
        from layout.sheet.plots import lever_page, plot_file

        data = plot_file(lever_page(who, title), plot[1:], given.grey)
        also = [(given.plot, fill_with(data))]
    lines += film_.lost_letters(scene, to)
    film_.write(scene, to, given.overwrite, also)
    return output.end([*lines, "", *figure_cautions(first)])
