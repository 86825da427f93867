"""`phasemark plan`."""

from __future__ import annotations

import argparse
import json
import os
import shlex
from collections.abc import Iterable, Sequence
from pathlib import Path

from animate.refused import Refused
from animate.whole_file import fill_with, refuse_existing, write_all
from layout.commands import text
from layout.commands.checked import checked
from layout.commands.streams import tell
from layout.commands.uses import asked
from layout.plan.drill import catalogue, find_drill, read_drills
from layout.plan.stored import to_json
from layout.plan.tape import ZEROS, TapeCard, tape_card
from layout.plan.value import Plan
from layout.words.faults import BadInput, Fault, refuse
from layout.words.feet import as_read
from layout.words.reading import read_text
from layout.words.units import System


def say(lines: Iterable[str], done: str = "") -> None:
    """Print lines; where they cannot be, say what is `done` all the same."""
    tell("\n".join(lines) + "\n", done)


def save(path: str | os.PathLike[str], content: str | bytes, overwrite: bool) -> None:
    """Write a file whole or not at all, keeping one that exists unless told otherwise."""
    save_all([(path, content)], overwrite)


def save_all(files: Sequence[tuple[str | os.PathLike[str], str | bytes]], overwrite: bool) -> None:
    """Write the files of one command, all of them or none, keeping those that exist unless told."""
    filled = [(p, fill_with(c.encode() if isinstance(c, str) else c)) for p, c in files]
    try:
        write_all(filled, overwrite, sync=True)
    except Refused as error:
        raise not_written(error, str(error.given or (files[0][0] if files else ""))) from None


def keep_what_is_no_plan(path: str, overwrite: bool) -> None:
    """Refuse, before any work, to keep a plan over what is not a plan."""
    if not path.lower().endswith(".json"):
        raise refuse("--save", "must be a file ending in .json", path)
    keep_existing(path, overwrite)
    if os.path.lexists(path):
        try:
            is_plan = {"version", "contacts", "flights"} <= set(json.loads(read_text(Path(path))))
        except (ValueError, RecursionError, TypeError):
            is_plan = False
        if not is_plan:
            raise refuse("--save", "is there and is no plan: it is kept, use another name", path)


def not_written(error: Refused, path: str | os.PathLike[str]) -> BadInput:
    """Why a file was not written, in the words of the command line."""
    rule = error.rule.replace("(overwrite it?)", "(--overwrite replaces it)")
    return BadInput([Fault("output", rule, None, os.fspath(path))])


def keep_existing(to: str, overwrite: bool) -> None:
    """Refuse before any work a file that is there and may not be replaced."""
    try:
        refuse_existing(to, overwrite)
    except Refused as error:
        raise not_written(error, to) from None


def card_from(given: argparse.Namespace, plan: Plan) -> TapeCard:
    """The tape card that the options ask for."""
    from layout.commands.given import tape_from
    from layout.words.reading import one_of

    return tape_card(plan, one_of("--zero", given.zero, ZEROS), *tape_from(given))


def run(given: argparse.Namespace) -> int:
    """Print drills, or a plan as text or JSON, and keep it where asked."""
    own = read_drills(Path(given.drill_file)) if given.drill_file else {}
    if given.list:
        say(text.drill_list({**catalogue(), **own}))
        return 0
    if given.read:
        say(text.drill_text(find_drill(given.read, own)))
        return 0
    if not given.words:
        raise refuse("words", "an athlete file and a drill needed, or --list, or --read DRILL")
    from layout.commands.given import plan_from

    if given.save is not None:
        keep_what_is_no_plan(given.save, given.overwrite)
    plan = checked(plan_from(given), given)
    card = card_from(given, plan)
    told = [to_json(plan).rstrip()] if given.json else _lines(given, plan, card)
    if given.save is not None:
        save(given.save, to_json(plan), given.overwrite)
    say(told)
    return 0


def _lines(given: argparse.Namespace, plan: Plan, card: TapeCard) -> list[str]:
    """A plan as lines, with what to run next."""
    lines = text.plan_text(plan, card)
    if given.more:
        lines += text.more_text(plan, card.system) + _best_split(given, card.system)
    words = shlex.quote(given.save) if given.save else _same_words(given)
    if given.save and given.unchecked:
        words += " --unchecked"
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
        value = getattr(given, name)
        option = f"--{name.replace('_', '-')}"
        out.append(option if value is True else f"{option} {shlex.quote(str(value))}")
    return " ".join(out)


def _best_split(given: argparse.Namespace, system: System) -> list[str]:
    if len(given.words) == 1 and given.words[0].lower().endswith(".json"):
        return []
    from layout.athlete.ability import ability
    from layout.athlete.optimum import best_split, optimum_text
    from layout.commands.given import athlete_and_drill

    athlete, _ = athlete_and_drill(given)
    told = optimum_text(best_split(ability(athlete)))
    return ["", "BEST SPLIT", *text.folded(as_read(told, system))]
