"""From words and options to a plan: what the commands share."""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from layout.athlete.athlete import Athlete, athlete_from, read_athlete
from layout.athlete.fields import fields_of
from layout.commands.uses import is_saved
from layout.plan.drill import LONGEST_DESPITE, Choices, Drill, find_drill, read_drills
from layout.plan.spacing import make_plan
from layout.plan.stored import from_json, still_open
from layout.plan.tape import ZEROS, TapeCard, tape_card
from layout.plan.value import Plan
from layout.plan.venue import find_venue
from layout.rules.standing import FARTHEST
from layout.rules.wind import RANGE
from layout.words.dates import day_or_today
from layout.words.faults import BadInput, refuse
from layout.words.reading import (
    is_file,
    line_text,
    one_of,
    read_count,
    read_number,
    read_text,
    spread,
)
from layout.words.split_text import parse_split
from layout.words.trade import ARC_WORDS, LEGS
from layout.words.units import System, parse_length

if TYPE_CHECKING:
    from layout.sheet.handout import Wish


def _changes(given: argparse.Namespace) -> dict[str, Any]:
    typed = {f: getattr(given, f.dest) for f in fields_of(Athlete) if f.help}
    return {f.name: f.kind.typed(text) for f, text in typed.items() if text is not None}


def _whole(option: str, text: str | None, low: int, high: int) -> int | None:
    return None if text is None else read_count(f"--{option}", text, low, high)


def _length(option: str, text: str | None, low: float, high: float) -> float | None:
    return None if text is None else parse_length(text, f"--{option}", lowest=low, highest=high)


def need_words(given: argparse.Namespace, rule: str) -> None:
    """Refuse a command without its words."""
    if not given.words:
        raise refuse("words", rule)


def own_drills(given: argparse.Namespace) -> dict[str, Drill]:
    """The coach's own drills."""
    return read_drills(Path(given.drill_file)) if given.drill_file is not None else {}


def card_from(given: argparse.Namespace, plan: Plan) -> TapeCard:
    """The tape card that the options ask for."""
    return tape_card(plan, one_of("--zero", given.zero, ZEROS), *tape_from(given))


def tape_from(given: argparse.Namespace) -> tuple[System, float | None]:
    """The tape's units and step that the options ask for."""
    step = _length("tape-step", given.tape_step, 0.005, 0.5)
    return ("cm" if one_of("--tape", given.tape, ("cm", "ft")) == "cm" else "ft"), step


def choices_from(given: argparse.Namespace, target: float | None) -> Choices:
    """What the options change of a drill."""
    length = _length("length", given.length, 1.0, 60.0)
    return Choices(
        strides=_whole("strides", given.strides, 1, 24),
        arc=None if given.hops is None else one_of("--hops", given.hops, ARC_WORDS),
        cycles=_whole("cycles", given.cycles, 1, 12),
        total=length,
        split=parse_split(given.split, length or target) if given.split else None,
        lead=None if given.lead is None else one_of("--lead", given.lead, LEGS),
        board=_length("board-at", given.board_at, 1.0, 20.0),
        hurdle=_length("hurdle", given.hurdle, 0.05, 0.60),
        despite=despite_from(given),
        wind=None if given.wind is None else read_number("--wind", given.wind, *RANGE, "m/s"),
    )


def despite_from(given: argparse.Namespace) -> str | None:
    """Who goes on with a drill that is closed, and why."""
    if given.despite is None:
        return None
    return line_text("--despite", given.despite, LONGEST_DESPITE)


def athlete_and_drill(given: argparse.Namespace) -> tuple[Athlete, str]:
    """Sort the words of a command into an athlete and a drill's name."""
    words = list(given.words)
    files = [w for w in words if w.lower().endswith(".toml") or is_file(w)]
    names = [w for w in words if w not in files]
    if len(files) > 1 or len(names) != 1:
        found = " ".join(words) or None
        rule = "an athlete file (.toml) and one drill's name needed; phasemark plan --list has the names"
        if len(words) == 2 and not files:
            raise refuse("athlete", "must be a file ending in .toml", words[0])
        raise refuse("words", rule + spread(words), found)
    return athlete_of(given, files), names[0]


def athlete_of(given: argparse.Namespace, files: Sequence[str]) -> Athlete:
    """The athlete of a file, of options, or of both."""
    changes = _changes(given)
    today = datetime.date.today()
    if files:
        return replace(read_athlete(Path(files[0]), changes), read_on=today)
    missing = [f"--{f.name}" for f in fields_of(Athlete) if f.needed and f.name not in changes]
    if missing:
        raise refuse("athlete", f"needs a file, or these options too: {', '.join(missing)}")
    who = athlete_from(changes, options=frozenset(changes))
    return replace(who, read_on=today)


def plan_from(given: argparse.Namespace) -> Plan:
    """The plan that words and options ask for, or one read from a saved file."""
    if is_saved(given):
        file = given.words[0]
        try:
            plan = from_json(read_text(Path(file)))
            still_open(plan)
        except BadInput as error:
            raise error.at(file) from None
        return plan
    own = own_drills(given)
    athlete, name = athlete_and_drill(given)
    drill = find_drill(name, own)
    venue = find_venue(given.venue)
    choices = choices_from(given, None if athlete.guess else athlete.target)
    plan = make_plan(athlete, drill, venue, day_or_today("--on", given.on), choices)
    if choices.despite and not plan.despite:
        raise nothing_closed(choices.despite)
    return plan


def wish_from(given: argparse.Namespace) -> Wish:
    """Paper, which way it is turned, and scale."""
    from layout.page.page import paper_size, parse_scale
    from layout.sheet.handout import Wish

    if given.upright and given.across:
        raise refuse("--across", "--upright and --across cannot go together")
    paper_size(given.paper, given.upright)
    upright = True if given.upright else False if given.across else None
    return Wish(given.paper, upright, parse_scale(given.scale) if given.scale else None)


def nothing_closed(despite: str) -> BadInput:
    """The refusal of `--despite` where there is nothing to go on with despite."""
    return refuse("--despite", "nothing here is closed to the athlete; leave it out", despite)


def far_ahead(on: datetime.date) -> datetime.date | None:
    """Today, where a day lies so far ahead that ages are counted to today; else None."""
    today = datetime.date.today()
    return today if (on - today).days > FARTHEST else None
