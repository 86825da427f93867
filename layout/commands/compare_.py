"""`phasemark compare`: two ways of doing a drill side by side."""

from __future__ import annotations

import argparse
from typing import Final

from animate.body.body import body
from animate.film.film import KINDS
from animate.whole_file import fill_with
from layout.commands import film_, output
from layout.commands.checked import solving
from layout.commands.given import need_words, plan_from
from layout.commands.text import figure_cautions, folded
from layout.moving.clip import side_by_side_of, title_of
from layout.moving.lever import lever_lines
from layout.moving.ways import HOPS, OF, differences, lacking, ways
from layout.plan.value import Plan
from layout.words.faults import refuse
from layout.words.reading import one_of

ALONE: Final = ("thigh", "trunk")
"""What is only told by what it is worth."""
NOT_HERE: Final = (
    "What it is worth: not worked out here; --worth sheet.pdf does, in a minute or so."
)


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
        from layout.commands import compare_worth

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
    film_.write(scene, to, given.overwrite, also)
    return output.end([*lines, "", *_worth(of), "", *figure_cautions(first)])


def _worth(of: str) -> list[str]:
    """What it is worth: that it can't be told, or what works it out."""
    from layout.moving.worth_topics import TOPICS

    against = TOPICS[of].against
    return folded(f"What it is worth: can't be told; {against}." if against else NOT_HERE, "", "  ")
