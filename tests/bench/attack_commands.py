"""Random command lines, by hand: ``python -m tests.bench.attack_commands [--number N] [--seed S]``.

Every command with its own options (read off the parser), words and odd values, run in this process.
Wanted of each: exit code 0 or 2, no traceback, nothing called a fault of the program, and one line
on standard error for each fault. Motions are never solved: a solve is cut off at once, which is a
refusal too. Prints a table; exit code 1 where anything failed.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from pathlib import Path

from tests.bench.attack_files import CLUB, changed, outcome, places, wrong_with

ODD = (
    "", " ", "-", "--", "-1", "0", "1", "2", "3", "7", "99", "1e400", "nan", "inf", "-inf", "1_000", "٣",
    "x", "x" * 300, "a\nb", "a\0b", "\udcff", "\u202ename", "é", "1:50", "1:0", "1:50:50", "35:30:35",
    "4.30/3.50/4.10 m", "13-9/11-0/13-7 1/2", "5-9", "5'9\"", "1,75", "1.75 m", "175", "12.50", "41-0 1/4",
    "2026-11-25", "2026-02-30", "0000-00-00", "9999-12-31", "hop", "step=2", "step=2,step=3", "=",
    "mon,thu", "mon,mon", "4/5", "0/0", "6/5", "quiet", "loud", "full-triple-jump", "short-triple-jump",
    "hop-step-sand", "two-hops-step-track", "three-hops-step-over", "single-leg-hops", "all", ",",
    "hop-step-sand,hop-step-hold", "sand-six", "marram-point", "track", "club", "cm", "ft", "in", "A4",
    "A3", "Letter", "board", "start", "pit", "each", "left", "right", "male", "beginner", "advanced",
    "low", "natural", "high", "knees", "lever", "hops", "arms", "strip", "trail", "still", "clip",
    "15%", "12cm", "-5", "-0", "90", "400", "0.1", "30%", "hop-step-sand:3x4", "hop-step-sand:0x0",
    "imka.toml", "runa.toml", "club.csv", "imka-step.csv", "p.json", "old.json", "b.book", ".", "..",
    "/", "/dev/null", "/dev/zero", "/proc/self/mem", "gone.toml", "gone/x.svg", "broken.toml", "folder",
    "pipe", "out.svg", "out.pdf", "out.png", "out.html", "out.json", "out.txt", "outfolder", "?", "*",
    "Runa", "runa", "imka", "zoe", "@x", "%s", "{}", "$HOME", "~", "C:\\x", "con", "nul.toml",
)  # fmt: skip
PLAIN = {
    "to": ("out.svg", "out.pdf", "out.png", "out.html", "outfolder", "out.gif"),
    "save": ("out.json", "imka.toml", "p.json"),
    "on": ("2026-11-25", "2027-01-01"), "from_": ("2026-11-25",), "scale": ("1:50", "1:100", "1:200"),
    "venue": ("marram-point", "track", "club"), "paper": ("A4", "A3", "Letter"),
}  # fmt: skip
"""Values that an option takes, tried as often as odd ones."""
BOOK = ("new", "keep", "add", "correct", "list", "season", "fit", "in", "out", "check", "erase")
WORDS = {
    "plan": (("imka.toml", "hop-step-sand"), ("p.json",), ("runa.toml", "full-triple-jump"), ()),
    "squad": (("club.csv", "hop-step-sand"), (".", "hop-step-hold"), ("club.csv",)),
    "ladder": (("imka.toml",), ("runa.toml",), ()),
    "demo": (("demo",),),
}
SLOW = ("film", "compare")
"""Commands that draw many frames: what they refuse is tried, not what they draw."""


@lru_cache
def options_of(command: str, word: str = "") -> list[argparse.Action]:
    """The options of a command, read off its parser."""
    if command == "book":
        from layout.commands.book_ import parser as inner

        return [a for a in inner(word)._actions if a.option_strings and a.dest != "help"]
    from layout.cli import parser

    rooms = next(a for a in parser()._actions if isinstance(a, argparse._SubParsersAction)).choices
    return [a for a in rooms[command].known() if a.option_strings and a.dest != "help"]


def value_for(action: argparse.Action, draw: random.Random) -> str:
    """A value of an option: often one that it takes."""
    if action.dest in PLAIN and draw.random() < 0.7:
        return draw.choice(PLAIN[action.dest])
    return draw.choice(ODD)


def line(draw: random.Random) -> list[str]:
    """One command line."""
    command = draw.choice(("plan", "draw", "handout", "squad", "ladder", "film", "compare", "book"))
    word = draw.choice(BOOK) if command == "book" else ""
    known = options_of(command, word)
    out: list[str] = []
    if command == "book":
        out += ["b.book"] if draw.random() < 0.85 else [draw.choice(ODD)]
        out += draw.choices(("runa", "imka", "hop-step-sand", "2.61", "4.80", "1", "?", "club.csv",
                             "filled.csv", "out.json", "-", *draw.choices(ODD, k=3)),
                            k=draw.randint(0, 5))  # fmt: skip
    elif draw.random() < 0.8:
        out += draw.choice(WORDS.get(command, WORDS["plan"]))
    else:
        out += draw.choices(ODD, k=draw.randint(0, 3))
    for action in draw.choices(known, k=draw.choice((0, 0, 1, 1, 1, 2, 3, 5))) if known else ():
        option = draw.choice(action.option_strings)
        if action.nargs == 0:
            out.append(option)
        elif draw.random() < 0.97:
            value = value_for(action, draw)
            out += [f"{option}={value}"] if draw.random() < 0.4 else [option, value]
        else:
            out.append(option)
    if draw.random() < 0.1:
        draw.shuffle(out)
    if draw.random() < 0.05:
        out.insert(draw.randint(0, len(out)), draw.choice(("--nosuch", "-x", "--to", "--help")))
    return [command, *([word] if word else []), *out]


def ready(draw: random.Random) -> None:
    """Put what the commands may find into the present folder."""
    import json

    from layout.cli import main as run

    for path in CLUB.iterdir():
        if path.suffix in (".toml", ".csv"):
            shutil.copy(path, ".")
    outcome(run, ["book", "new", "b.book"])
    outcome(run, ["book", "keep", "b.book", "imka.toml", "runa.toml"])
    outcome(run, ["book", "add", "b.book", "runa", "hop-step-sand", "2.61", "4.80"])
    outcome(run, ["plan", "imka.toml", "hop-step-sand", "--save", "p.json"])
    plan = json.loads(Path("p.json").read_text())
    Path("old.json").write_text(json.dumps(changed(plan, draw.choice([*places(plan)]), draw)))
    Path("broken.toml").write_text("name = ")
    Path("filled.csv").write_text("athlete,drill,hop,step\nruna,hop-step-sand,2.6,2.2\n")
    Path("folder").mkdir()
    os.mkfifo("pipe")


def main() -> int:
    """Run so many lines."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--number", type=int, default=12_000)
    words.add_argument("--seed", type=int, default=1)
    given = words.parse_args()
    os.environ["PHASEMARK_SOLVE_SECONDS"] = "0.01"
    os.environ["PHASEMARK_CACHE"] = tempfile.mkdtemp(prefix="attack-")
    draw = random.Random(given.seed)
    tried: dict[str, list[float]] = {}
    failures: list[str] = []
    home = os.getcwd()
    usual = sys.stdin
    with tempfile.TemporaryDirectory() as name:
        os.chdir(name)
        from layout.cli import main as run
        from layout.commands import handout_pack, squad_

        # Processes of their own would take a second each time and show nothing more.
        for room in (squad_, handout_pack):
            room.pool = lambda _cores=None: ThreadPoolExecutor(1)  # type: ignore[attr-defined]
        ready(draw)
        kept = {p.name: p.read_bytes() for p in Path().iterdir() if p.suffix in (".toml", ".csv")}
        for count in range(given.number):
            if count % 500 == 0:
                print(
                    f"{count} lines, {len(failures)} failed",
                    *failures[-20:],
                    sep="\n",
                    file=sys.stderr,
                )
            one = line(draw)
            if one[0] in SLOW and not any(w.startswith("--measured") for w in one):
                one.append("--to=out.nosuch")
            sys.stdin = open(os.devnull, encoding="utf-8")  # noqa: SIM115
            began = time.monotonic()
            code, said = outcome(run, one)
            took = time.monotonic() - began
            sys.stdin.close()
            row = tried.setdefault(one[0], [0, 0, 0, 0.0])
            row[0] += 1
            row[1] += code == 0
            wrong = wrong_with(code, said)
            changes = [
                n
                for n, data in kept.items()
                if not Path(n).is_file() or Path(n).read_bytes() != data
            ]
            if changes:
                wrong = wrong or f"{changes[0]} was changed"
                for n in changes:
                    Path(n).write_bytes(kept[n])
            if wrong:
                row[2] += 1
                failures.append(f"    {one!r}: {wrong}; {said[-300:]!r}")
            row[3] = max(row[3], took)
            if not Path("b.book").exists():
                outcome(run, ["book", "new", "b.book"])
                outcome(run, ["book", "keep", "b.book", "imka.toml", "runa.toml"])
        os.chdir(home)
    sys.stdin = usual
    print(f"{'command':<10}{'tried':>7}{'done':>7}{'failed':>8}{'worst s':>9}")
    for command, (count, done, failed, worst) in sorted(tried.items()):
        print(f"{command:<10}{count:>7.0f}{done:>7.0f}{failed:>8.0f}{worst:>9.2f}")
    print(f"in all {sum(r[0] for r in tried.values()):.0f} lines, {len(failures)} failed", *failures[:60],
          sep="\n")  # fmt: skip
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
