"""`phasemark compare`: two ways of doing a drill side by side."""

from __future__ import annotations

import argparse
import math
from dataclasses import replace
from pathlib import Path
from typing import Final

from animate.body.body import LEG, body
from animate.film.film import rows_of
from animate.motion.chain import Settings
from animate.motion.compare import compare
from animate.whole_file import fill_with
from layout.commands.checked import solving
from layout.commands.film_ import (
    Also,
    at_contact,
    check_ending,
    lost_letters,
    moved_along,
    refuse_positions,
    settings_from,
    write,
)
from layout.commands.given import plan_from
from layout.commands.plan_ import keep_existing, say
from layout.commands.text import figure_cautions
from layout.moving.clip import has_step_contact, side_by_side_of, step_contact, title_of
from layout.moving.lever import lever_lines
from layout.plan.value import Plan
from layout.words.faults import refuse
from layout.words.names import safe_name
from layout.words.reading import one_of

PLOTS: Final = ("svg", "png", "pdf")
OF: Final = ("knees", "lever", "hops", "arms")
KNEES: Final = (0.28, 0.50)
LEVER: Final = (math.radians(55.0), math.radians(115.0))
"""Knees closer and further apart, in leg lengths, to the whole centimetre; long and short lever [rad]
(ours)."""


def gap_of(plan: Plan, share: float) -> float:
    """A knee gap that grows with the leg, to the whole centimetre [m].

    Parameters
    ----------
    plan : Plan
    share : float
        In leg lengths.
    """
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
    refuse_positions(given, plan)
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
    if not given.words:
        raise refuse("words", "an athlete file and a drill needed")
    of = one_of("--of", given.of, OF)
    base = settings_from(given)
    plans = _plans(given, of)
    first = plans[0]
    to = given.to or f"{safe_name(first.who.name)}-{first.drill}-{of}.gif"
    check_ending(to)
    keep_existing(to, given.overwrite)
    if given.plot is not None:
        _kind_of_plot(given.plot)
        keep_existing(given.plot, given.overwrite)
    named = ways(of, base, first)
    motions = [solving(p, s) for p, (_, s) in zip(plans, named, strict=True)]
    names = (named[0][0], named[1][0])
    title = title_of(first)
    look = "print-grey" if given.grey else "light"
    scene = side_by_side_of(plans, motions[0], motions[1], names, look)
    readings = [step_contact(m).reading for m in motions]
    differences = compare(*readings)
    rows = rows_of(differences, [d.measure.name for d in differences])
    lines = [f"{to}: {title}", f"Computed, at {at_contact(first, motions[0])}:"]
    lines += [f"  {'':<28}{names[0]:>20}{names[1]:>20}{'difference':>12}"]
    for row, difference in zip(rows, differences, strict=True):
        one, two, change = row.texts()
        label = f"{row.name}, {difference.measure.at}"
        lines.append(f"  {label:<28}{one:>20}{two:>20}{change:>12}")
    who = body(first.who.stature, first.who.mass, first.who.build)
    also: list[Also] = []
    if of != "knees":
        lines += moved_along(given, first, motions[0])
    if of == "lever":
        lines += ["", *lever_lines(who)]
    if given.plot is not None:
        from layout.sheet.plots import lever_page, plot_file

        data = plot_file(lever_page(who, title), _kind_of_plot(given.plot), given.grey)
        also = [(given.plot, fill_with(data))]
    lines += lost_letters(scene, to)
    write(scene, to, given.overwrite, also)
    say([*lines, "", *figure_cautions(first)])
    return 0


def _kind_of_plot(name: str) -> str:
    kind = Path(name).suffix.lower().removeprefix(".")
    if kind not in PLOTS:
        raise refuse("--plot", f"must be a file ending in .{', .'.join(PLOTS)}", name)
    return kind
