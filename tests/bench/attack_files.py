"""Files made to hurt, by hand: ``python -m tests.bench.attack_files [sizes|plans] [--number N] [--seed S]``.

sizes  files of up to 1 MB and things that are no files, given to every reader, each in a process of
       its own; wanted: read or refused in 2 s of processor time over an empty start, and 300 MB.
plans  a saved plan of the demo with fields changed at random: read and drawn, or refused in one line.

Prints a table: tried, failures, worst time, worst memory. Exit code 1 where anything failed.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import random
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
CLUB = ROOT / "layout" / "catalogue" / "club"
MOST_SECONDS, MOST_MEMORY = 2.0, 300.0
"""Wanted of any file up to 1 MB [s of processor time, MB]."""
MB = 1_000_000


def toml_bombs() -> dict[str, str]:
    """Files by what is too much in them."""
    entry = (ROOT / "layout/catalogue/drills.toml").read_text(encoding="utf-8")
    return {
        "dotted key 60 kB": ".".join(["a"] * 30_000) + " = 1\n",
        "dotted keys, many lines": "".join(f"a{i}." + "b." * 7 + "c = 1\n" for i in range(15_000)),
        "dotted key in a heading": "[" + ".".join(["a"] * 2400) + "]\n",
        "dotted keys in inline tables": "a = {" + "b.c.d.e.f.g = 1, " * 250 + "}\n",
        "8,000 unknown keys": "".join(f"nmae{i} = 1\n" for i in range(8000)),
        "80,000 unknown keys": "".join(f"k{i}=1\n" for i in range(80_000)),
        "40,000 headings": "".join(f"[a{i}]\n" for i in range(40_000)),
        "4,000 empty drills": "".join(f"[drill.d{i}]\n" for i in range(4000)),
        "400 empty drills": "".join(f"[drill.d{i}]\n" for i in range(400)),
        "400 empty rungs": "".join(f"[rung.d{i}]\n" for i in range(400)),
        "400 empty venues": "".join(f"[venue.d{i}]\n" for i in range(400)),
        "drills twenty times": "".join(entry.replace("[drill.", f"[drill.n{i}-") for i in range(20)),
        "one key 1 MB": "x" * MB + " = 1\n",
        "one text 1 MB": 'name = "' + "x" * MB + '"\n',
        "text of many lines": 'name = """' + "x\n" * 190_000 + '"""\n',
        "deep list": "a = " + "[" * 2400 + "\n",
        "deep list over lines": "a = [\n" * 1 + "[\n" * 190_000,
        "wide list": "name = [\n" + "1,\n" * 120_000 + "]\n",
        "wide list of lists": "name = [\n" + "[],\n" * 90_000 + "]\n",
        "many tables of a list": "[[drill]]\n" * 39_000,
        "long number": "mass = " + "1" * 4900 + "\n",
        "remarks": "#\n" * 190_000,
        "nothing but line ends": "\n" * 390_000,
        "zeros": "\0" * 390_000,
    }  # fmt: skip


def table_bombs() -> dict[str, str]:
    """The same for tables of a squad, points and a filled one."""
    squad = "name;stature;mass;leg;best\n"
    grown = "name;stature;mass;leg;best;born;level\n"
    points = "point,x,y,value\n"
    return {
        "one title 100,000 times": ";".join(["name"] * 100_000) + "\nA\n",
        "100,000 titles": ";".join(f"t{i}" for i in range(100_000)) + "\nA\n",
        "one word 1 MB": "x" * MB,
        "one cell 1 MB": squad + "x" * MB,
        "one quoted cell 1 MB": squad + '"' + "x" * MB + '"',
        "quote left open": squad + '"' + "x;1\n" * 240_000,
        "16,000 athletes": squad + "".join(f"A{i};1,70;60;left;10,50\n" for i in range(40_000)),
        "400 athletes": grown + "".join(f"A{i};1,70;60;left;10,5;2000;advanced\n" for i in range(400)),
        "5,000 wrong athletes": squad + "".join(f"A{i};x;y;lefft;z\n" for i in range(4900)),
        "5,000 of one name": squad + "A;1,70;60;left;10,50\n" * 4900,
        "4,000 marks": points + "".join(f"mark,{i},9,{i}cm\n" for i in range(4000)),
        "39 marks on 60 pictures": "frame,point,x,y,value\n" + "".join(
            f"f{f},hip,5,5,\nf{f},near knee,5,9,\nf{f},far knee,7,9,\nf{f},near toe,5,12,\n"
            f"f{f},far toe,9,12,\n" + "".join(f"f{f},mark,{m * 30},20,{m}m\n" for m in range(39))
            for f in range(60)
        ),
        "20,000 wrong points": points + "".join(f"nera knee{i},1,2,\n" for i in range(19_900)),
        "semicolons": ";" * MB,
        "quotes": '"' * MB,
        "line ends": "\n" * MB,
        "remarks": "# x\n" * 250_000,
        "zeros": "\0" * MB,
    }  # fmt: skip


def plan_bombs(plan: dict[str, Any]) -> dict[str, str]:
    """The same for a saved plan."""
    word = "W" * 500
    many = {
        "12 points of 500 W": {"points": [word] * 12},
        "6 points of 140 W": {"points": ["W" * 140] * 6, "faults": ["W" * 180] * 6},
        "cautions and notes full": {
            "cautions": ["W" * 300] * 20,
            "notes": [{"code": "x", "text": word, "source": "ours", "grave": True}] * 60,
        },
        "2,000 notes": {"notes": [{"code": "x", "text": "x", "source": "x", "grave": True}] * 9000},
        "5,000 contacts": {"contacts": plan["contacts"] * 800},
        "name of 80 W": {"who": {**plan["who"], "name": "W" * 80}, "title": "W" * 120},
        "title 1 MB": {"title": "x" * (MB - 20_000)},
        "unknown keys": {f"k{i}": 1 for i in range(60_000)},
    }
    out = {name: json.dumps({**plan, **change})[:MB] for name, change in many.items()}
    return out | {
        "deep": "[" * MB, "deep tables": '{"a":' * 160_000, "wide": "[" + "[]," * 300_000 + "[]]",
        "long number": '{"version": ' + "1" * MB + "}", "one text": '"' + "x" * (MB - 2) + '"',
    }  # fmt: skip


def no_files(folder: Path, ending: str) -> Iterator[tuple[str, Path]]:
    """Things that stand where a file is wanted."""
    pipe, there, link = folder / f"pipe{ending}", folder / f"folder{ending}", folder / f"l{ending}"
    zero, loop, shut = folder / f"zero{ending}", folder / f"loop{ending}", folder / f"shut{ending}"
    os.mkfifo(pipe)
    there.mkdir()
    link.symlink_to("nowhere")
    zero.symlink_to("/dev/zero")
    loop.symlink_to(loop.name)
    shut.write_text("x")
    shut.chmod(0)
    closed = folder / f"closed{ending[1:]}"
    closed.mkdir()
    (closed / f"a{ending}").write_text("x")
    closed.chmod(0)
    yield from (("a pipe", pipe), ("a folder", there), ("a dangling link", link))
    yield from (("/dev/zero", zero), ("a link to itself", loop), ("unreadable", shut))
    yield from (
        ("in an unreadable folder", closed / f"a{ending}"),
        ("an unreadable folder", closed),
    )
    yield from (
        ("a name of 300 letters", folder / ("x" * 300 + ending)),
        ("gone", folder / f"g{ending}"),
    )


TOML_READERS: dict[str, list[str]] = {
    "athlete": ["plan", "FILE", "hop-step-sand"],
    "drills": ["plan", "imka.toml", "hop-step-sand", "--drill-file", "FILE"],
    "venue": ["plan", "imka.toml", "hop-step-sand", "--venue", "FILE"],
    "ladder": ["ladder", "imka.toml", "--ladder", "FILE"],
    "seen": ["ladder", "imka.toml", "--seen", "FILE"],
    "book keep": ["book", "keep", "b.book", "FILE"],
    "squad of one": ["squad", "FILE", "hop-step-sand"],
}
TABLE_READERS: dict[str, list[str]] = {
    "squad": ["squad", "FILE", "hop-step-sand", "--sets", "3"],
    "pack": ["handout", "FILE", "hop-step-sand", "--no-figure", "--cores", "1", "--to", "o.pdf"],
    "points": ["compare", "imka.toml", "short-triple-jump", "--measured", "FILE", "--to", "o.svg"],
    "book in": ["book", "in", "b.book", "FILE"],
}
PLAN_READERS: dict[str, list[str]] = {
    "plan": ["plan", "FILE"],
    "draw": ["draw", "FILE", "--to", "o.svg"],
    "handout": ["handout", "FILE", "--no-figure", "--to", "o.pdf"],
    "book keep": ["book", "keep", "b.book", "FILE"],
}


def child(words: list[str], folder: Path, limit: float = 120.0) -> tuple[int, float, float, str]:
    """Run one command; returns exit code, processor seconds, peak memory [MB] and what it complained."""
    errors = folder / "errors"
    with errors.open("wb") as to, open(os.devnull, "r+b") as nothing:
        pid = os.posix_spawn(
            sys.executable, [sys.executable, "-m", "layout", *words],
            {**os.environ, "PYTHONPATH": str(ROOT)},
            file_actions=[
                (os.POSIX_SPAWN_DUP2, nothing.fileno(), 0),
                (os.POSIX_SPAWN_DUP2, nothing.fileno(), 1),
                (os.POSIX_SPAWN_DUP2, to.fileno(), 2),
            ],
        )  # fmt: skip
    end = time.monotonic() + limit
    while True:
        done, status, used = os.wait4(pid, os.WNOHANG)
        if done:
            break
        if time.monotonic() > end:
            os.kill(pid, 9)
        time.sleep(0.01)
    code = os.waitstatus_to_exitcode(status)
    said = errors.read_text(encoding="utf-8", errors="replace")
    return code, used.ru_utime + used.ru_stime, used.ru_maxrss / 1000.0, said


def ready(folder: Path) -> dict[str, Any]:
    """Put what the commands need into a folder; returns a plan of the demo."""
    shutil.copy(CLUB / "imka.toml", folder)
    os.chdir(folder)
    child(["book", "new", "b.book"], folder)
    child(["plan", "imka.toml", "hop-step-sand", "--save", "p.json"], folder)
    plan: dict[str, Any] = json.loads((folder / "p.json").read_text())
    return plan


def wrong_with(code: int, said: str) -> str:
    """What is wrong with an outcome, whatever the input; empty where nothing is."""
    lines = said.splitlines()
    if code not in (0, 2):
        return f"exit {code}"
    if "Traceback" in said or "fault of the program" in said:
        return "a fault of the program"
    if code == 2 and not 1 <= len(lines) <= 60:
        return f"{len(lines)} lines"
    if any(len(line) > 1500 for line in lines):
        return "a line without end"
    return ""


def sizes(only: str = "") -> int:
    """Every bomb to every reader; returns how many failed."""
    failures = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plan = ready(folder)
        empty = min(child(["plan", "imka.toml", "hop-step-sand"], folder)[1] for _ in range(3))
        print(f"an ordinary plan: {empty:.2f} s of processor time, taken off below")
        print(f"{'reader':<14}{'tried':>6}{'failed':>7}{'worst s':>9}{'of':>32}{'MB':>6}{'of':>32}")
        kinds = (
            (".toml", TOML_READERS, toml_bombs()),
            (".csv", TABLE_READERS, table_bombs()),
            (".json", PLAN_READERS, plan_bombs(plan)),
        )
        for ending, readers, bombs in kinds:
            odd = folder / ("odd" + ending[1:])
            odd.mkdir()
            files = [*no_files(odd, ending)]
            for i, (what, text) in enumerate(bombs.items()):
                path = folder / f"bomb{i}{ending}"
                path.write_text(text[:MB])
                files.append((what, path))
            for reader, words in readers.items():
                if only and only not in reader:
                    continue
                # Four hundred sheets are work asked for, not a file that is slow to read.
                some = [f for f in files if (reader, f[0]) != ("pack", "400 athletes")]
                failures += _reader(reader, words, some, folder, empty)
            for path in odd.iterdir():
                with contextlib.suppress(OSError):
                    path.chmod(0o700)
    return failures


def _reader(
    reader: str, words: list[str], files: list[tuple[str, Path]], folder: Path, empty: float
) -> int:
    slow, large, told = (0.0, ""), (0.0, ""), []
    for what, path in files:
        for old in folder.glob("o.*"):
            old.unlink()
        code, used, memory, said = child([str(path) if w == "FILE" else w for w in words], folder)
        slow, large = max(slow, (used - empty, what)), max(large, (memory, what))
        wrong = wrong_with(code, said)
        if used - empty > MOST_SECONDS:
            wrong = wrong or f"{used - empty:.1f} s"
        if memory > MOST_MEMORY:
            wrong = wrong or f"{memory:.0f} MB"
        if wrong:
            told.append(f"    {what}: {wrong}; {said[:150]!r}")
    print(f"{reader:<14}{len(files):>6}{len(told):>7}{slow[0]:>9.2f}{slow[1]:>32}"
          f"{large[0]:>6.0f}{large[1]:>32}", *told, sep="\n", flush=True)  # fmt: skip
    return len(told)


# --- saved plans ----------------------------------------------------------------------------------

ODD: tuple[Any, ...] = (
    None, True, 0, 1, -1, 2, 6, 1e8, -1e8, 0.001, 1e-300, 10**400, "", " ", "x", "W" * 500, "a\nb",
    "\u202e", "left", "right", "both", "run", "stand", "hop", "step", "jump", "end", "sand", "track",
    [], {}, [1], [[1, 2]], "a b " * 60, "\U0001f600", "=1+1", "../../x",
)  # fmt: skip


def places(value: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to everything inside a table."""
    if at:
        yield at
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in pairs:
        if isinstance(inner, dict | list):
            yield from places(inner, (*at, key))
        else:
            yield (*at, key)


def changed(plan: Any, at: tuple[Any, ...], draw: random.Random) -> Any:
    """A plan with one thing in it changed."""
    out = json.loads(json.dumps(plan))
    inside = out
    for key in at[:-1]:
        inside = inside[key]
    was = inside[at[-1]]
    if isinstance(was, int | float) and not isinstance(was, bool) and draw.random() < 0.6:
        inside[at[-1]] = draw.choice(
            [was * draw.uniform(0.5, 2.0), was + draw.gauss(0, 1), -was, was + 0.001, int(was) + 1]
        )
    elif isinstance(was, list) and draw.random() < 0.5:
        inside[at[-1]] = draw.choice([was * 2, was[:-1], was[1:], was[::-1], was * 50])
    elif draw.random() < 0.1:
        del inside[at[-1]]
    else:
        inside[at[-1]] = draw.choice(ODD)
    return out


def plans(number: int, seed: int) -> int:
    """Changed plans through every command that reads one; returns how many failed."""
    from layout.cli import main as run
    from layout.commands.demo_ import plans as demo
    from layout.plan.stored import to_json

    draw = random.Random(seed)
    made = [json.loads(to_json(plan)) for _, plan, _, _ in demo()]
    count, read, failures, slowest = 0, 0, [], (0.0, "")
    with tempfile.TemporaryDirectory() as name:
        os.chdir(name)
        while count < number:
            plan = draw.choice(made)
            at = draw.choice([*places(plan)])
            one = changed(plan, at, draw)
            if draw.random() < 0.3:
                rest = [*places(one)]
                at = draw.choice(rest)
                one = changed(one, at, draw)
            try:
                Path("x.json").write_text(json.dumps(one), encoding="utf-8")
            except ValueError:
                continue
            for words in (
                ["plan", "x.json"], ["draw", "x.json", "--to", "o.svg"],
                ["handout", "x.json", "--no-figure", "--to", "o.pdf"],
                ["handout", "x.json", "--no-figure", "--to", "o.html"],
            ):  # fmt: skip
                count += 1
                began = time.process_time()
                code, said = outcome(run, [*words, *(["--overwrite"] if "--to" in words else [])])
                slowest = max(slowest, (time.process_time() - began, f"{words[0]} {at}"))
                if wrong := wrong_with(code, said):
                    failures.append(f"    {' '.join(words)} {at}: {wrong}; {said[:300]!r}")
                    Path(tempfile.gettempdir(), f"attack-plan-{count}.json").write_text(
                        json.dumps(one)
                    )
                read += code == 0
                if code == 2 and words[0] == "plan":
                    break
    print(f"saved plans: tried {count}, read and drawn {read}, failed {len(failures)}, "
          f"worst {slowest[0]:.2f} s ({slowest[1]})", *failures[:40], sep="\n")  # fmt: skip
    return len(failures)


def outcome(run: Callable[[list[str]], int], words: list[str]) -> tuple[int, str]:
    """Exit code and complaints of a command run in this process."""
    out, errors = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(errors):
        try:
            code = run(words)
        except SystemExit as left:
            code = int(left.code or 0)
        except BaseException as error:  # nothing may come through
            return 1, f"Traceback: {type(error).__name__}: {error}"
    return code, errors.getvalue()


def main() -> int:
    """What the words ask for."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("what", nargs="?", default="sizes", choices=("sizes", "plans"))
    words.add_argument("--number", type=int, default=2000)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--only", default="", help="readers whose name holds this")
    given = words.parse_args()
    failed = sizes(given.only) if given.what == "sizes" else plans(given.number, given.seed)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
