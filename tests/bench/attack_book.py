"""Attacks on a book, by hand: what was tried, what failed, the worst time and memory of each kind.

``python -m tests.bench.attack_book [flips links kills full output formulas] [--seed 1] [--scale 1]``

Every kind runs in a process of its own, so that its peak of memory is its own. Nothing here leans on
the unit tests: a book is made with the commands that a coach has. A failure is an exit code other
than 0 and 2, a traceback, more than one line for one fault, an entry that was confirmed and is gone,
or a book that is not sound afterwards. `full` mounts small disks and wants a superuser.
"""

from __future__ import annotations

import argparse
import contextlib
import csv
import io
import json
import os
import random
import re
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CLUB = ROOT / "layout" / "catalogue" / "club"
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}
RUN = [sys.executable, "-m", "layout", "book"]


@dataclass
class Tally:
    """What one kind of attack came to."""

    kind: str
    tried: int = 0
    failed: list[str] = field(default_factory=list)
    worst: float = 0.0
    worst_what: str = ""

    def fail(self, text: str) -> None:
        self.failed.append(text)
        print(f"FAILED {self.kind}: {text}", file=sys.stderr, flush=True)

    def note(self, seconds: float, what: str) -> None:
        self.tried += 1
        if seconds > self.worst:
            self.worst, self.worst_what = seconds, what


def call(words: list[str]) -> tuple[int, str, str]:
    """One command in this process: exit code, what it printed, what it complained of."""
    from layout.cli import main

    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code = main(["book", *words])
        except SystemExit as leaving:
            code = int(leaving.code or 0)
        except BaseException:
            code = 99
            err.write(traceback.format_exc())
    return code, out.getvalue(), err.getvalue()


def tell(tally: Tally, what: str, words: list[str], codes: tuple[int, ...] = (0, 2)) -> str:
    """Run a command and hold it to what every command keeps to."""
    start = time.monotonic()
    code, out, err = call(words)
    tally.note(time.monotonic() - start, f"{what}: {' '.join(words)[:80]}")
    if code not in codes or "Traceback" in err or "a fault of the program" in err:
        tally.fail(f"{what}: {words}: exit {code}: {err[-1500:]}")
    elif code == 2 and not (err or "check" in words):
        tally.fail(f"{what}: {words}: exit 2 without a word")
    return out + err


def made(folder: Path, attempts: int = 30) -> Path:
    """A book of three athletes with plans, attempts, corrections and notes."""
    path = folder / "attack.book"
    table = ["athlete,drill,date,hop,step,total,strides,speed,wind,note"]
    for i in range(attempts):
        day = f"2026-0{3 + i // 20}-{1 + i % 20:02}"
        who = ("runa", "imka", "tevin")[i % 3]
        hop, step = 2.4 + i % 7 / 20, 2.1 + i % 5 / 20
        table.append(
            f"{who},hop-step-sand,{day},{hop:.2f},{step:.2f},{hop + step:.2f},6,5.{i % 9},0.{i % 9},"
            f"note {i} of Runa's day"
        )
    (folder / "filled.csv").write_text("\n".join(table) + "\n")
    plan = ["plan", str(CLUB / "runa.toml"), "hop-step-sand", "--save", str(folder / "plan.json")]
    from layout.cli import main

    with contextlib.redirect_stdout(io.StringIO()):
        assert main(plan) == 0
    for words in (
        ["new", str(path)],
        ["keep", str(path), *(str(CLUB / f"{n}.toml") for n in ("runa", "imka", "tevin"))],
        ["keep", str(path), str(folder / "plan.json")],
        ["in", str(path), str(folder / "filled.csv")],
        ["correct", str(path), "1", "--wind", "1.1", "--note", "Runa slipped"],
    ):
        code, out, err = call(words)
        assert code == 0, (words, out, err)
    return path


def commands(path: Path, folder: Path) -> list[list[str]]:
    """Every word of `phasemark book`, as used on one book."""
    book = str(path)
    views = ("--sums", "--weeks", "--sessions", "--plans", "--corrections", "--athletes", "--json")
    return [
        ["check", book],
        ["check", book, "--json"],
        ["list", book],
        *(["list", book, view] for view in views),
        ["list", book, "runa", "--last", "5", "--struck"],
        ["season", book, "imka"],
        ["season", book, "runa", "--json"],
        ["fit", book, "imka"],
        ["add", book, "runa", "hop-step-sand", "2.61", "4.80", "--on", "2026-05-02"],
        ["correct", book, "2", "--note", "other"],
        ["keep", book, str(CLUB / "odalys.toml")],
        ["keep", book, str(folder / "plan.json")],
        ["in", book, str(folder / "filled.csv"), "--again"],
        ["out", book, str(folder / f"out-{os.urandom(4).hex()}")],
        ["out", book, str(folder / f"{os.urandom(4).hex()}.json"), "--athlete", "runa"],
        ["erase", book, "Runa", "--yes"],
    ]


# --- bytes turned over ----------------------------------------------------------------------------


def spoil(data: bytearray, dice: random.Random) -> str:
    """Damage as a bad disk or a bad copy makes it."""
    kind = dice.choice(("byte", "bytes", "bit", "zeros", "junk", "page", "cut", "text", "cell"))
    at = dice.randrange(len(data))
    if kind == "byte":
        data[at] = dice.randrange(256)
    elif kind == "bytes":
        for _ in range(dice.randrange(2, 60)):
            data[dice.randrange(len(data))] = dice.randrange(256)
    elif kind == "bit":
        data[at] ^= 1 << dice.randrange(8)
    elif kind == "zeros":
        data[at : at + 512] = bytes(len(data[at : at + 512]))
    elif kind == "junk":
        size = len(data[at : at + dice.randrange(1, 400)])
        data[at : at + size] = dice.randbytes(size)
    elif kind == "page":
        pages = len(data) // 4096
        one, two = dice.randrange(1, pages) * 4096, dice.randrange(1, pages) * 4096
        data[one : one + 4096] = data[two : two + 4096]
    elif kind == "cut":
        del data[at:]
    else:  # where a row lies: letters and figures of texts are turned into others
        found = list(re.finditer(rb"[ -~]{6,}", bytes(data)))
        run = dice.choice(found)
        for _ in range(1 if kind == "text" else 8):
            spot = dice.randrange(run.start(), run.end())
            data[spot] = dice.choice(b'0123456789.-[]{}",:eE\\\0\xff abcN')
    return f"{kind}@{at}"


def flips(tally: Tally, dice: random.Random, scale: float) -> None:
    """Damaged books, and every command on each."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = made(folder)
        whole = path.read_bytes()
        for _ in range(int(500 * scale)):
            data = bytearray(whole)
            what = spoil(data, dice)
            for words in commands(path, folder):
                path.write_bytes(data)
                for end in ("-wal", "-shm"):
                    path.with_name(path.name + end).unlink(missing_ok=True)
                tell(tally, what, words)
            for left in folder.glob("out-*"):
                shutil.rmtree(left)
            for file in folder.glob("????????.json"):
                file.unlink()


def logs(tally: Tally, dice: random.Random, scale: float) -> None:
    """A damaged log (-wal) beside a whole book."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = made(folder)
        log = path.with_name(path.name + "-wal")
        writer = subprocess.Popen(
            [sys.executable, "-c", LINES, str(path)], env=ENVIRONMENT, stdin=subprocess.PIPE,
            stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert writer.stdin is not None
        assert writer.stdout is not None
        writer.stdin.write("imka hop-step-sand 2.61 4.80 --on 2026-05-02\n" * 20)
        writer.stdin.flush()
        for _ in range(20):
            writer.stdout.readline()
        writer.kill()
        writer.communicate()
        whole, written = path.read_bytes(), log.read_bytes()
        for _ in range(int(150 * scale)):
            data = bytearray(written)
            what = spoil(data, dice)
            for words in (commands(path, folder)[i] for i in (0, 2, 10, 13, 20)):
                path.write_bytes(whole)
                log.write_bytes(data)
                path.with_name(path.name + "-shm").unlink(missing_ok=True)
                tell(tally, f"log {what}", words)


# --- many names, many hands -----------------------------------------------------------------------


def links(tally: Tally, dice: random.Random, scale: float) -> None:
    """Entries through two names at once: hard links are refused, symbolic links lose nothing."""
    for _ in range(max(1, int(3 * scale))):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            path = made(folder, 6)
            hard, soft = folder / "hard.book", folder / "deep" / "soft.book"
            soft.parent.mkdir()
            soft.symlink_to(path)
            os.link(path, hard)
            for one in (path, hard, soft):
                text = tell(tally, "hard link", ["list", str(one)], (2,))
                if "hard links" not in text:
                    tally.fail(f"two names not refused: {text}")
            hard.unlink()
            words = ["runa", "hop-step-sand", "2.61", "4.80", "--on", "2026-05-02"]
            start = time.monotonic()
            both = [
                subprocess.Popen(
                    [*RUN, "add", str(one), *words, "--note", f"{i}"], env=ENVIRONMENT,
                    stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                )
                for i, one in enumerate([path, soft] * 10)
            ]  # fmt: skip
            kept = [p.communicate()[0].split()[0] for p in both if p.wait() == 0]
            tally.note(time.monotonic() - start, "20 entries through two names at once")
            rows = json.loads(call(["list", str(path), "--json", "--last", "999"])[1])
            gone = set(kept) - {str(row["id"]) for row in rows}
            if gone or len(kept) != 20:
                tally.fail(f"{len(gone)} confirmed entries gone, {len(kept)} confirmed")


LINES = """
import sys
from layout.cli import main
sys.exit(main(["book", "add", sys.argv[1], "-"]))
"""


def kills(tally: Tally, dice: random.Random, scale: float) -> None:
    """Killed in the middle of add, in, keep, out, new and erase; nothing confirmed may be gone."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        base = made(folder).read_bytes()
        start = time.monotonic()
        subprocess.run([*RUN, "check", str(folder / "attack.book")], env=ENVIRONMENT, check=True,
                       stdout=subprocess.DEVNULL)  # fmt: skip
        usual, ended = time.monotonic() - start, 0
        for round_ in range(int(120 * scale)):
            room = folder / f"{round_}"
            room.mkdir()
            path = room / "a.book"
            path.touch(0o600)
            path.write_bytes(base)
            word = ("add", "in", "erase", "out", "keep")[round_ % 5]
            start = time.monotonic()
            wait = usual * dice.uniform(0.6, 1.6)  # most of a command is starting up
            code, confirmed = _killed(word, path, folder, room, wait)
            ended += code != -signal.SIGKILL
            tally.note(time.monotonic() - start, f"killed while {word}")
            _sound(tally, word, path, confirmed)
            shutil.rmtree(room)
        tally.worst_what += f"; {ended} of {tally.tried} had ended before"


def _killed(word: str, path: Path, folder: Path, room: Path, wait: float) -> tuple[int, set[str]]:
    """Run a command and kill it after a while; how it ended and the attempts it confirmed."""
    if word == "add":
        words = [sys.executable, "-c", LINES, str(path)]
    else:
        more = {"in": [str(folder / "filled.csv"), "--again"], "erase": ["Runa", "--yes"],
                "out": [str(room / "out")], "keep": [str(folder / "plan.json")]}[word]  # fmt: skip
        words = [*RUN, word, str(path), *more]
    process = subprocess.Popen(
        words, env=ENVIRONMENT, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    if word == "add":
        process.stdin.write("imka hop-step-sand 2.61 4.80 --on 2026-05-02\n" * 400)
        process.stdin.flush()
    time.sleep(wait)
    process.send_signal(signal.SIGKILL)
    out, _ = process.communicate()
    lines = [line for line in out.splitlines(keepends=True) if line.endswith("\n")]
    numbers = (re.match(r" *(\d+)  Imka", line) for line in lines)
    return process.returncode, {found[1] for found in numbers if found}


def _sound(tally: Tally, word: str, path: Path, confirmed: set[str]) -> None:
    code, out, err = call(["check", str(path)])
    if code:
        tally.fail(f"killed in {word}: not sound: {out}{err}")
        return
    rows = json.loads(call(["list", str(path), "--json", "--last", "9999"])[1])
    if gone := confirmed - {str(r["id"]) for r in rows}:
        tally.fail(f"killed in {word}: {len(gone)} confirmed entries gone")
    there = sum(r["athlete"] == "Runa" for r in rows)
    if there not in ((0, 10) if word == "erase" else (10, 20)):
        tally.fail(f"killed in {word}: {there} of 10 rows of one athlete")
    if not there and b"Runa" in b"".join(p.read_bytes() for p in path.parent.glob("a.book*")):
        tally.fail(f"killed in {word}: the name is still in the file")


# --- disks ----------------------------------------------------------------------------------------


@contextlib.contextmanager
def disk(kilobytes: int) -> Iterator[Path]:
    """A disk of its own, as small as wanted."""
    with tempfile.TemporaryDirectory() as name:
        subprocess.run(
            ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", name], check=True
        )
        try:
            yield Path(name)
        finally:
            subprocess.run(["umount", name], check=True)


def full(tally: Tally, dice: random.Random, scale: float) -> None:
    """Every command on a disk with less and less room: nothing kept is lost, reading goes on."""
    with tempfile.TemporaryDirectory() as name:
        elsewhere = Path(name)
        base = made(elsewhere).read_bytes()
        for round_ in range(int(40 * scale)):
            room = 0 if round_ < 3 else dice.randrange(0, 600_000)
            with disk(len(base) // 1024 + 700) as folder:
                path = folder / "attack.book"
                path.write_bytes(base)
                path.chmod(0o600)
                shutil.copy(elsewhere / "filled.csv", folder)
                shutil.copy(elsewhere / "plan.json", folder)
                free = shutil.disk_usage(folder).free
                with open(folder / "rest", "wb") as rest:
                    rest.write(bytes(max(0, free - room)))
                for words in commands(path, folder):
                    text = tell(tally, f"{room} bytes free", words)
                    if "damaged" in text or (words[0] == "list" and "phasemark:" in text):
                        tally.fail(f"{room} bytes free: {words}: {text[-300:]}")
                (folder / "rest").unlink()
                left = "Runa" in call(["list", str(path), "--athletes"])[1]
                code, out, err = call(["check", str(path)])
                names = b"Runa" in path.read_bytes()
                if code or (not left and names):
                    tally.fail(f"{room} bytes free: afterwards: {out}{err}, name left: {names}")


# --- what is printed ------------------------------------------------------------------------------


def output(tally: Tally, dice: random.Random, scale: float) -> None:
    """Standard output closed, full or gone: what was kept is kept, and it is said."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = made(folder)
        base = path.read_bytes()
        for where in (">&-", "> /dev/full", "| true", ">&- 2>&-", "> /dev/full 2> /dev/full"):
            for words in commands(path, folder):
                path.write_bytes(base)
                line = " ".join(f"'{w}'" for w in [*RUN, *words])
                start = time.monotonic()
                done = subprocess.run(
                    ["bash", "-o", "pipefail", "-c", f"{line} {where}"], env=ENVIRONMENT,
                    capture_output=True, text=True,
                )  # fmt: skip
                tally.note(time.monotonic() - start, f"{where}: {words[0]}")
                if "Traceback" in done.stderr or "fault of the program" in done.stderr:
                    tally.fail(f"{where} {words[:1]}: {done.returncode} {done.stderr[-400:]}")
                if done.returncode not in (0, 2):
                    tally.fail(f"{where} {words[:1]}: exit {done.returncode}")
                if call(["check", str(path)])[0]:
                    tally.fail(f"{where} {words[:1]}: not sound afterwards")


# --- tables ---------------------------------------------------------------------------------------


def formulas(tally: Tally, dice: random.Random, scale: float) -> None:
    """Notes and names that a spreadsheet would run: out guarded, in again letter for letter."""
    signs = "=+-@'\"; ,x1(\uff1d\u00e9"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = made(folder, 6)
        for round_ in range(int(60 * scale)):
            notes = ["".join(dice.choices(signs, k=dice.randrange(1, 12))) for _ in range(6)]
            with contextlib.closing(sqlite3.connect(path)) as db, db:
                for i, note in enumerate(notes, 1):
                    db.execute("UPDATE attempt SET note = ? WHERE id = ?", (note or "x", i))
            if "cannot be read" in call(["check", str(path)])[1]:
                continue  # only blanks: no note
            away, again = folder / f"t{round_}", folder / f"b{round_}.book"
            tell(tally, "out", ["out", str(path), str(away)], (0,))
            tell(tally, "new", ["new", str(again)], (0,))
            tell(tally, "in", ["in", str(again), str(away)], (0,))
            for table in away.iterdir():
                rows = list(csv.reader(io.StringIO(table.read_bytes().decode(), newline="")))
                for cell in (c for row in rows for c in row):
                    number = re.fullmatch(r"-?[0-9.e+-]+", cell)
                    if cell[:1] and cell[0] in "=+-@\t\r\uff1d" and not number:
                        tally.fail(f"{table.name}: {cell!r} begins a formula")
            if _dump(path) != _dump(again):
                tally.fail(f"not the same again: {notes}")


def _dump(path: Path) -> list[str]:
    with contextlib.closing(sqlite3.connect(path)) as db:
        return list(db.iterdump())


KINDS: dict[str, Callable[[Tally, random.Random, float], None]] = {
    "flips": flips, "logs": logs, "links": links, "kills": kills, "full": full, "output": output,
    "formulas": formulas,
}  # fmt: skip


def one(kind: str, seed: int, scale: float) -> None:
    """One kind of attack, told as one line of the table."""
    tally = Tally(kind)
    KINDS[kind](tally, random.Random(f"{kind} {seed}"), scale)
    peak = max(resource.getrusage(w).ru_maxrss for w in
               (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)) // 1024  # fmt: skip
    print(f"{kind:10} {tally.tried:7} {len(tally.failed):7} {tally.worst:8.2f} s {peak:6} MB  "
          f"{tally.worst_what}", flush=True)  # fmt: skip


def main() -> int:
    """Run the kinds asked for, each in its own process."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("kinds", nargs="*", metavar="KIND", help=", ".join(KINDS))
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--scale", type=float, default=1.0)
    given = reader.parse_args()
    wanted = given.kinds or list(KINDS)
    if len(wanted) == 1:
        one(wanted[0], given.seed, given.scale)
        return 0
    print(f"{'attack':10} {'tried':>7} {'failed':>7} {'worst':>10} {'peak':>9}  worst case")
    for kind in wanted:
        words = [kind, "--seed", f"{given.seed}", "--scale", f"{given.scale}"]
        subprocess.run([sys.executable, "-m", "tests.bench.attack_book", *words], env=ENVIRONMENT,
                       check=False)  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
