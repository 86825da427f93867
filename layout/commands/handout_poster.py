"""`phasemark handout --poster`: knees, lever and hop two ways each, for the wall or as a clip."""

from __future__ import annotations

import argparse
import copy
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from animate.film.themes import theme
from animate.motion.chain import Settings
from layout.commands.given import need_words, plan_from
from layout.commands.output import PRINT, end, keep_existing, look_of, marked, save, stem_of
from layout.commands.text import figure_cautions
from layout.commands.uses import is_saved
from layout.moving.ways import KNEES, gap_of, ways
from layout.plan.value import Plan
from layout.words.faults import refuse
from layout.words.reading import one_of

if TYPE_CHECKING:
    from layout.sheet.poster_pairs import Way

POSTERS: Final = {"still": (".pdf", ".svg", ".png"), "clip": (".gif", ".svg", ".mp4", ".webm")}
CLOSED: Final = 0.11
"""Knee gap of the knees that are closed, in leg lengths (ours); that of the knees apart is
`compare`'s."""
ARCS: Final = ("low", "high")
TITLE: Final = "Three choices at the step"
Asked = tuple[str, Plan, Settings]
"""A way's name, its plan, and what its motion is asked for."""


def asked(plan: Plan, low: Plan, high: Plan) -> tuple[tuple[Asked, Asked], ...]:
    """The six motions of a poster: knees, lever, hops; of a plan as it is, with low and with high hops."""
    base = Settings()
    (_, long), (_, short) = ways("lever", base, plan)
    return (
        (
            ("Knees together", plan, replace(base, knee_gap=gap_of(plan, CLOSED))),
            ("Knees apart", plan, replace(base, knee_gap=gap_of(plan, KNEES[1]))),
        ),
        (("Long lever", plan, long), ("Short lever", plan, short)),
        (("Low hop", low, base), ("High hop", high, base)),
    )


def plans_of(given: argparse.Namespace) -> tuple[Plan, Plan, Plan]:
    """The plan as it is, with low hops and with high ones."""
    if is_saved(given):
        rule = "an athlete file and a drill needed for a poster: a saved plan has one kind of hop"
        raise refuse("words", rule, given.words[0])
    changed = copy.copy(given)
    made = [plan_from(given)]
    for arc in ARCS:
        changed.hops = arc
        made.append(plan_from(changed))
    return made[0], made[1], made[2]


def lead_of(plan: Plan) -> str:
    """Whose motion it is, and which limbs are which."""
    return f"{plan.who.name}: {plan.title}. One athlete, one approach; light limbs: left."


def run(given: argparse.Namespace) -> int:
    """Write a poster."""
    from layout.commands.checked import solving
    from layout.commands.compare_worth import beside
    from layout.commands.film_ import lost_letters, write
    from layout.moving.worth_told import answer
    from layout.page.files import page_file
    from layout.page.letters import fonts_of, missing_line
    from layout.sheet.poster import PAPERS, poster, poster_clip, scale_from
    from layout.sheet.poster_pairs import Way, pairs_of

    what = one_of("--poster", given.poster, tuple(POSTERS))
    need_words(given, "an athlete file and a drill needed")
    one_of("--paper", given.paper, PAPERS)
    scale = scale_from(given.scale)
    plans = plans_of(given)
    plan = plans[0]
    to = given.to or f"{stem_of(plan)}-poster{POSTERS[what][0]}"
    kind = Path(to).suffix.lower()
    if kind not in POSTERS[what]:
        other = next((f"; --poster {k} makes one" for k, v in POSTERS.items() if kind in v), "")
        rule = f"for a {what} must be a file ending in {', '.join(POSTERS[what])}{other}"
        raise refuse("--to", rule, to)
    keep_existing(to, given.overwrite)

    def made(one: Asked) -> Way:
        name, planned, settings = one
        return Way(name, planned, solving(planned, settings), settings)

    knees, lever, hops = ((made(one), made(two)) for one, two in asked(*plans))
    pairs = pairs_of(knees, lever, hops)
    look = look_of(given)
    title = f"{plan.who.name}: {TITLE}"
    lines = []
    if what == "clip":
        fps = 12.5 if kind == ".gif" else 25.0
        scene = poster_clip(pairs, title, lead_of(plan), look, fps)
        after = "next: --poster still makes the poster for the wall"
    else:
        page = poster(pairs, TITLE, lead_of(plan), given.paper, scale)
        fonts = fonts_of([page])
        data = page_file(page, kind[1:], theme(look), fonts)
        lines += marked(missing_line(fonts, "poster"))
        after = PRINT
    size = "" if what == "clip" else f", {given.paper}, 1:{page.scale}"
    head = [f"{to}: {title}{size}"]
    for pair, of in zip(pairs, ("knees", "lever", "hops"), strict=True):
        one, two = pair.sides
        head.append(f"  {one.name} {one.value}, {two.name.lower()} {two.value}: {pair.difference}")
        head += [f"  {line}" for line in beside(given, plan, of, answer(plan, of, Settings()))]
    if what == "clip":
        lines += lost_letters(scene, to)
        write(scene, to, given.overwrite)
    else:
        save(to, data, given.overwrite)
    return end([*head, *lines, *figure_cautions(plan), after])
