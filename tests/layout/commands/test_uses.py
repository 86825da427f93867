"""An option that a command cannot use is refused: each way of using each command, option by option."""

from __future__ import annotations

import argparse
import shutil
from functools import cache
from importlib.resources import files
from pathlib import Path

import pytest

from layout.cli import main, parser
from layout.commands.demo_ import COMPARED, plans
from layout.commands.parsing import OneLine
from layout.commands.uses import (
    ALWAYS,
    ATHLETE,
    PAPER,
    PLACE,
    POSITIONS,
    SEEN,
    TAPE,
    completed,
    unused,
)
from layout.plan.stored import to_json

CLUB = files("layout.catalogue.club")


def names(text: str) -> frozenset[str]:
    return frozenset(text.split())


FILE = names("words to overwrite")
FIGURE = FILE | PLACE | ATHLETE | POSITIONS | {"grey"}
SHEET = FILE | PLACE | ATHLETE | TAPE | PAPER
BLOCK = ATHLETE | SEEN | names("words json ladder venue weeks from_ days")
SQUAD = (PLACE | TAPE) - names("length lead zero drills") | names(
    "words drill_file sets tolerance weigh"
)
WAYS: dict[str, frozenset[str]] = {
    "plan --list": names("list drill_file"),
    "plan --read single-leg-hops": names("read drill_file"),
    "plan imka.toml hop-step-sand": PLACE | ATHLETE | TAPE
    | names("words more json save list read"),
    "plan imka.toml hop-step-sand --save x.json": PLACE | ATHLETE | TAPE | names(
        "words more json save overwrite list read"
    ),
    "plan imka.toml hop-step-sand --json": PLACE | ATHLETE | names("words json save list read"),
    "plan p.json": TAPE | names("words more json save list read"),
    "draw imka.toml hop-step-sand": SHEET,
    "draw p.json": FILE | TAPE | PAPER,
    "film imka.toml hop-step-sand": FIGURE | names("slow camera still"),
    "film imka.toml hop-step-sand --still strip": FIGURE | {"still"},
    "film imka.toml hop-step-sand --still trail": FIGURE | {"still"},
    "film p.json": FILE | POSITIONS | names("grey slow camera still"),
    "compare imka.toml hop-step-sand": FIGURE - names("hurdle knee_gap") | names("of measured worth json"),
    "compare imka.toml hop-step-sand --of lever": FIGURE - names("hurdle free_knee")
    | names("of measured plot worth json"),
    "compare imka.toml hop-step-sand --of hops": FIGURE - names("hurdle hops")
    | names("of measured worth json"),
    "compare imka.toml hop-step-sand --of arms": FIGURE - names("hurdle arms")
    | names("of measured worth json"),
    "compare imka.toml hop-step-sand --measured x.csv": FIGURE - {"hurdle"} | names("measured json"),
    "compare imka.toml hop-step-sand --of trunk --worth x.pdf": PLACE - {"hurdle"} | ATHLETE
    | names("words overwrite grey of measured worth aim json"),
    "compare p.json": FILE | POSITIONS - {"knee_gap"} | names("grey of measured worth json"),
    "handout imka.toml hop-step-sand": SHEET | names("across book no_figure plots poster"),
    "handout p.json": FILE | TAPE | PAPER | names("across book no_figure plots poster"),
    "handout imka.toml hop-step-sand --poster still": FILE | PLACE - names("hurdle hops") | ATHLETE
    | PAPER | {"poster"},
    "handout imka.toml hop-step-sand --poster clip": FILE | PLACE - names("hurdle hops") | ATHLETE
    | names("grey poster"),
    "handout club.csv hop-step-sand": FILE | PLACE | TAPE | PAPER
    | names("split across no_figure cores poster"),
    "squad club.csv hop-step-sand": SQUAD | names("json to drills"),
    "squad club.csv hop-step-sand --to x.svg": SQUAD | FILE | PAPER | names("json drills"),
    "squad club.csv --drills hop-step-sand --to x": SQUAD | FILE | PAPER | names("cores drills"),
    "ladder --list": names("list ladder drill_file"),
    "ladder imka.toml": BLOCK | names("list session"),
    "ladder imka.toml --ladder x.toml": BLOCK | names("list session drill_file"),
    "ladder imka.toml --session x:1x1": BLOCK - SEEN - names("weeks days")
    | names("list session despite drill_file pain"),
    "demo": names("folder overwrite"),
    "desk": names("book no_browser share"),
    "desk x.book": names("book no_browser share"),
}  # fmt: skip


def rooms() -> dict[str, OneLine]:
    chosen = next(a for a in parser()._actions if isinstance(a, argparse._SubParsersAction))
    for room in chosen.choices.values():
        room.known()
    return dict(chosen.choices)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "0.5")
    for name in ("imka.toml", "club.csv"):
        shutil.copy(str(CLUB / name), name)
    Path("p.json").write_text(saved(), encoding="utf-8")


@cache
def saved() -> str:
    return to_json(next(plan for stem, plan, _, _ in plans() if stem == COMPARED))


@pytest.mark.parametrize("way", WAYS)
def test_every_option_is_used_or_refused(way: str) -> None:
    """A new option must be put into the table or among the used ones here."""
    words, top = way.split(), parser()
    room = rooms()[words[0]]
    known = {a.dest for a in room._actions} - {"help"}
    assert WAYS[way] <= known | {"words"}
    for action in room._actions:
        if action.dest == "help":
            continue
        given = completed(top.parse_args(words))
        if action.dest in (
            "list",
            "read",
            "poster",
            "measured",
            "still",
            "session",
            "ladder",
            "drills",
            "drill_file",
        ):
            if action.dest not in WAYS[way]:
                given.asked |= {action.dest}
        else:
            given.asked |= {action.dest}
        used = action.dest in WAYS[way] or action.dest in ALWAYS
        assert (action.dest not in unused(given)) == used, action.dest


def test_every_command_has_its_ways() -> None:
    assert {way.split()[0] for way in WAYS} | {"book"} == set(rooms())


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("film imka.toml hop-step-sand --tape cm", "--tape: a figure in motion has no tape, got 'cm'"),
        ("film imka.toml hop-step-sand --tape ft", "--tape: "),
        ("film imka.toml hop-step-sand --zero pit", "--zero: "),
        ("film imka.toml hop-step-sand --zero board", "--zero: "),
        ("film imka.toml hop-step-sand --still strip --slow 4", "--slow: not with --still"),
        ("film imka.toml hop-step-sand --thigh-held 0.1", "--thigh-held: goes with --free-thigh"),
        ("film imka.toml single-leg-hops --knee-gap 30cm",
         "--knee-gap: single-leg-hops has no step contact"),
        ("film imka.toml single-leg-hops --trunk=-3", "--trunk: single-leg-hops has no step"),
        ("film imka.toml hop-step-sand --hurdle 15cm", "hurdle: hop-step-sand has no hurdles"),
        ("film imka.toml alternate-bounds --hops low", "hops: alternate-bounds has no hops"),
        ("film p.json --strides 6", "--strides: a saved plan has its own"),
        ("film p.json --on 2026-05-01", "--on: a saved plan has its own"),
        ("compare imka.toml hop-step-sand --knee-gap 30cm", "--knee-gap: --of knees shows"),
        ("compare imka.toml hop-step-sand --plot a.svg", "--plot: goes with --of lever"),
        ("compare imka.toml hop-step-sand --of arms --arms alternate", "--arms: --of arms"),
        ("compare imka.toml single-leg-hops --of knees", "--of: single-leg-hops has no step contact"),
        ("compare imka.toml single-leg-hops --of lever", "--of: single-leg-hops has no step contact"),
        ("compare imka.toml alternate-bounds --of hops", "--of: alternate-bounds has no hops"),
        ("compare p.json --of hops", "--of: a saved plan has one kind of hop"),
        ("compare imka.toml hop-step-sand --measured a.csv --of knees", "--of: not with --measured"),
        ("plan imka.toml hop-step-sand --hurdle 15cm", "hurdle: hop-step-sand has no hurdles"),
        ("plan imka.toml alternate-bounds --board-at 9", "board-at: alternate-bounds does not end"),
        ("plan imka.toml hop-step-sand --json --tape ft", "--tape: not with --json"),
        ("plan imka.toml hop-step-sand --overwrite", "--overwrite: goes with --save"),
        ("plan --list imka.toml hop-step-sand", "words: does not go with --list"),
        ("plan --list --strides 6", "--strides: does not go with --list"),
        ("plan p.json --best 12", "--best: a saved plan has its own"),
        ("draw imka.toml hop-step-sand --hurdle 15cm", "hurdle: "),
        ("draw p.json --venue track", "--venue: a saved plan"),
        ("handout imka.toml hop-step-sand --cores 2", "--cores: goes with a squad"),
        ("handout imka.toml hop-step-sand --hurdle 15cm", "hurdle: "),
        ("handout imka.toml short-triple-jump --poster still --tape ft", "--tape: not with --poster"),
        ("handout imka.toml short-triple-jump --poster clip --paper A3", "--paper: goes with --poster"),
        ("handout imka.toml short-triple-jump --poster still --no-figure", "--no-figure: "),
        ("handout club.csv hop-step-sand --hurdle 15cm", "hurdle: hop-step-sand has no hurdles"),
        ("handout club.csv hop-step-sand --name Ada", "--name: is for one athlete"),
        ("handout club.csv hop-step-sand --book x.book", "--book: is for one athlete"),
        ("handout imka.toml hop-step-sand --poster still --book x.book", "--book: not with --poster"),
        ("desk p.json --share 8.8.8.8", "p.json: "),
        ("squad club.csv hop-step-sand --hurdle 15cm", "hurdle: "),
        ("squad club.csv hop-step-sand --paper A3", "--paper: goes with --to"),
        ("squad club.csv hop-step-sand --cores 2", "--cores: goes with --drills"),
        ("ladder imka.toml --drill-file x.toml", "--drill-file: goes with --ladder or --session"),
        ("ladder --list --venue track", "--venue: does not go with --list"),
        ("ladder imka.toml --session hop-step-sand:1x1 --weeks 4", "--weeks: is for a block"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused_in_one_line(
    line: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = sorted(p.name for p in Path().iterdir())
    assert main(line.split()) == 2
    out, err = capsys.readouterr()
    assert not out
    assert len(err.splitlines()) == 1
    assert said in err
    assert sorted(p.name for p in Path().iterdir()) == before


def test_help_is_silent_on_what_a_command_never_uses() -> None:
    shown = {name: room.format_help() for name, room in rooms().items()}
    for option in ("--tape", "--zero", "--tape-step"):
        assert option in shown["plan"]
        assert option not in shown["film"]
        assert option not in shown["compare"]
    assert "--hurdle" in shown["film"]
    assert "--hurdle" not in shown["compare"]
