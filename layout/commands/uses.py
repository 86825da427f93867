"""What each way of using a command has no use for: such an option is refused, never passed over.

One table for all commands. An option that only some drills can use is refused where the drill is
known: `layout.plan.drill.refuse_unfit` and `layout.commands.film_.refuse_positions`.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from layout.athlete.athlete import Athlete
from layout.athlete.fields import fields_of
from layout.commands import options
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import is_file, is_folder

TABLES: Final = (".csv", ".tsv", ".txt")
"""Endings of a squad's table."""
Given = argparse.Namespace


def is_squad(word: str) -> bool:
    """Whether a word is a squad: a table or a folder."""
    return word.lower().endswith(TABLES) or is_folder(word)


def is_saved(given: Given) -> bool:
    """Whether the words are a saved plan."""
    words = given.words or []
    return len(words) == 1 and words[0].lower().endswith(".json")


@dataclass(frozen=True)
class Rule:
    """Options that one way of using a command cannot use, as the parser names them; with `others`, all but
    those."""

    commands: tuple[str, ...]
    when: Callable[[Given], bool]
    options: frozenset[str]
    why: str
    others: bool = False


def _names(text: str) -> frozenset[str]:
    return frozenset(text.replace("-", "_").split())


PLACE: Final = _names(options.DRILL[1])
ATHLETE: Final = frozenset(f.dest for f in fields_of(Athlete) if f.help)
TAPE: Final = _names(options.TAPE[1])
PAPER: Final = _names("paper upright scale grey")
POSITIONS: Final = _names(options.POSITIONS[1])
ALWAYS: Final = _names("command version asked")
SEEN: Final = _names("at hit sound contact step_share knee_gap sessions seen pain")
STILLS: Final = ("strip", "trail")


def _of(word: str) -> Callable[[Given], bool]:
    return lambda g: g.measured is None and g.of == word


def _squad(g: Given) -> bool:
    return g.poster is None and bool(g.words) and is_squad(g.words[0])


def _always(_: Given) -> bool:
    return True


def _clip(g: Given) -> bool:
    return bool(g.poster == "clip")


RULES: Final = (
    Rule(("plan",), lambda g: g.list, _names("list drill_file"), "does not go with --list", True),
    Rule(("plan",), lambda g: g.read and not g.list, _names("read drill_file"),
         "does not go with --read", True),
    Rule(("plan",), lambda g: g.json, _names("more") | TAPE,
         "not with --json, which is the plan alone"),
    Rule(("plan",), lambda g: g.save is None, _names("overwrite"), "goes with --save"),
    Rule(("plan", "draw", "film", "handout"), is_saved, PLACE | ATHLETE,
         "a saved plan has its own; plan anew to change it"),
    Rule(("compare",), is_saved, PLACE | ATHLETE, "a saved plan has its own; plan anew to change it"),
    Rule(("film", "compare"), _always, TAPE, "a figure in motion has no tape"),
    Rule(("film",), lambda g: g.still in STILLS, _names("slow camera"), "not with --still"),
    Rule(("compare",), _always, _names("hurdle"), "a comparison shows no hurdles"),
    Rule(("compare",), lambda g: g.measured is not None, _names("of plot worth aim"),
         "not with --measured"),
    Rule(("compare",), lambda g: g.worth is None, _names("aim"), "goes with --worth"),
    Rule(("compare",), lambda g: g.worth is not None, _names("to plot") | POSITIONS,
         "not with --worth, which leaves positions open and writes a sheet alone"),
    Rule(("compare",), _of("thigh"), _names("free_thigh"), "--of thigh shows two of its own"),
    Rule(("compare",), _of("trunk"), _names("trunk"), "--of trunk shows two of its own"),
    Rule(("compare",), lambda g: g.measured is None and g.of != "lever", _names("plot"),
         "goes with --of lever"),
    Rule(("compare",), _of("knees"), _names("knee_gap"), "--of knees shows two of its own"),
    Rule(("compare",), _of("lever"), _names("free_knee"), "--of lever shows two of its own"),
    Rule(("compare",), lambda g: _of("hops")(g) and is_saved(g), _names("of"),
         "a saved plan has one kind of hop; give an athlete file and a drill"),
    Rule(("compare",), _of("hops"), _names("hops"), "--of hops shows low and natural ones"),
    Rule(("compare",), _of("arms"), _names("arms"), "--of arms shows both ways"),
    Rule(("handout",), lambda g: g.poster is not None,
         TAPE | _names("across plots book no_figure cores hurdle"), "not with --poster"),
    Rule(("handout",), lambda g: g.poster is not None, _names("hops"),
         "not with --poster, which shows low and high ones"),
    Rule(("handout",), _clip, _names("paper upright scale"), "goes with --poster still"),
    Rule(("handout",), _squad, ATHLETE - _names("split"),
         "is for one athlete; a squad's file says it for each"),
    Rule(("handout",), _squad, _names("plots book"), "is for one athlete and one drill"),
    Rule(("handout",), lambda g: g.poster is None and not _squad(g), _names("cores"),
         "goes with a squad"),
    Rule(("squad",), lambda g: not g.drills, _names("cores"), "goes with --drills"),
    Rule(("squad",), lambda g: not g.to, PAPER | _names("overwrite"), "goes with --to"),
    Rule(("squad",), lambda g: g.drills, _names("json"),
         "is for one drill; the folder has a .json of each"),
    Rule(("ladder",), lambda g: g.list, _names("list ladder drill_file"),
         "does not go with --list", True),
    Rule(("ladder",), lambda g: g.session is not None and not g.list, SEEN - _names("pain"),
         "goes with where the athlete stands, not with --session"),
    Rule(("ladder",), lambda g: g.session is not None and not g.list, _names("weeks days"),
         "is for a block of weeks, not for --session"),
    Rule(("ladder",), lambda g: g.session is None, _names("despite"), "goes with --session"),
    Rule(("ladder",), lambda g: not g.ladder and g.session is None, _names("drill_file"),
         "goes with --ladder or --session"),
)  # fmt: skip


def unused(given: Given) -> dict[str, str]:
    """The options that were asked for and cannot be used, with why."""
    out: dict[str, str] = {}
    for rule in RULES:
        if given.command in rule.commands and rule.when(given):
            asked = (
                given.asked - rule.options - ALWAYS if rule.others else given.asked & rule.options
            )
            for name in sorted(asked):
                out.setdefault(name, rule.why)
    return out


def refuse_unused(given: Given) -> None:
    """Refuse what was asked for and cannot be used."""
    faults = [refused(given, name, why) for name, why in unused(given).items()]
    if faults:
        raise BadInput(faults)


def refused(given: Given, name: str, why: str) -> Fault:
    """An option, what was given for it, and why it is refused."""
    value = getattr(given, name)
    if name == "words":
        return Fault("words", why, " ".join(value))
    option = {"from_": "from"}.get(name, name).replace("_", "-")
    return Fault(f"--{option}", why, None if value is True else value)


OUTPUTS: Final = ("to", "save", "plot", "target")
INPUTS: Final = (
    "words", "drill_file", "venue", "ladder", "seen", "measured", "book", "source", "files",
)  # fmt: skip
"""What a command may write to, and what it may read."""


def refuse_own_input(given: Given) -> None:
    """Refuse to write over a file that the same command reads."""
    read: list[str] = []
    for name in INPUTS:
        value = getattr(given, name, None)
        read += [str(v) for v in (value if isinstance(value, list) else [value]) if v]
    for name in OUTPUTS:
        value = getattr(given, name, None)
        if value and any(is_file(r) and is_file(str(value)) and _same(r, value) for r in read):
            option = name if name == "target" else f"--{name}"
            raise refuse(option, "would be written over a file that is read here", str(value))


def _same(one: str, two: str) -> bool:
    try:
        return os.path.samefile(one, two)
    except (OSError, ValueError):
        return False


def set_apart(room: argparse.ArgumentParser, command: str) -> None:
    """Keep what options stand for when they are left out apart from what was typed, and out of the
    help what the command never uses: it is known only to be refused with a reason."""
    never: set[str] = set()
    for rule in RULES:
        if command in rule.commands and rule.when is _always:
            never |= rule.options
    left_out = {}
    for action in room._actions:
        if action.dest in never:
            action.help = argparse.SUPPRESS
        if action.option_strings and action.default not in (None, False, argparse.SUPPRESS):
            left_out[action.dest] = action.default
            action.default = None
    room.set_defaults(left_out=left_out)


def completed(given: Given) -> Given:
    """What was typed, with `asked` its names, and the usual values where nothing was typed."""
    values = vars(given)
    left_out: dict[str, str] = values.pop("left_out", {})
    asked = frozenset(k for k, v in values.items() if v not in (None, False, []))
    return argparse.Namespace(**{
        **values, **{k: v for k, v in left_out.items() if values[k] is None}, "asked": asked,
    })  # fmt: skip


def asked(given: Given, names: Iterable[str]) -> list[str]:
    """Those of some options that were typed, in the order of the names."""
    return [n for n in names if n in given.asked]
