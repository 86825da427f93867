"""`phasemark plan`."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path

from layout.commands import text
from layout.commands.checked import checked
from layout.commands.output import end, keep_what_is_no_plan, save
from layout.commands.uses import asked, is_saved
from layout.plan.drill import catalogue, find_drill, read_drills
from layout.plan.stored import to_json
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.words.dates import day_or_today
from layout.words.faults import refuse
from layout.words.feet import as_read
from layout.words.units import System


def run(given: argparse.Namespace) -> int:
    """Print drills, or a plan as text or JSON, and keep it where asked."""
    own = read_drills(Path(given.drill_file)) if given.drill_file else {}
    if given.list:
        return end(text.drill_list({**catalogue(), **own}))
    if given.read:
        return end(text.drill_text(find_drill(given.read, own)))
    if not given.words:
        raise refuse("words", "an athlete file and a drill needed, or --list, or --read DRILL")
    from layout.commands.given import card_from, plan_from

    if given.save is not None:
        keep_what_is_no_plan(given.save, given.overwrite)
    plan = checked(plan_from(given))
    card = card_from(given, plan)
    told = [to_json(plan).rstrip()] if given.json else _lines(given, plan, card)
    if given.save is not None:
        save(given.save, to_json(plan), given.overwrite)
    return end(told)


def _lines(given: argparse.Namespace, plan: Plan, card: TapeCard) -> list[str]:
    """A plan as lines, with what to run next."""
    lines = text.plan_text(plan, card)
    if given.more:
        lines += text.more_text(plan, card.system) + _best_split(given, card.system)
    words = shlex.quote(given.save) if given.save else _same_words(given)
    lines += ["", f"next: phasemark draw {words} --to {plan.drill}.svg"]
    if not given.more:
        lines += ["      add --more for speeds, forces, sources and the best split"]
    return lines


def _same_words(given: argparse.Namespace) -> str:
    """The words and options of this plan, for the next command."""
    out = [shlex.quote(w) for w in given.words]
    here = ("command", "words", "list", "read", "json", "save", "more", "overwrite", "version")
    for name in asked(given, vars(given)):
        if name in here:
            continue
        out.append(f"--{name.replace('_', '-')} {shlex.quote(str(getattr(given, name)))}")
    return " ".join(out)


def _best_split(given: argparse.Namespace, system: System) -> list[str]:
    if is_saved(given):
        return []
    from layout.athlete.ability import ability
    from layout.athlete.optimum import best_split, optimum_text
    from layout.commands.given import athlete_and_drill

    athlete, _ = athlete_and_drill(given)
    day = day_or_today("--on", given.on)
    if athlete.guess is not None:
        return ["", "BEST SPLIT", *text.folded("It needs a best or target.")]
    told = optimum_text(best_split(ability(athlete.on_day(day))))
    return ["", "BEST SPLIT", *text.folded(as_read(told, system))]
