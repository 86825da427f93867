"""Mutated inputs, by hand: ``python -m tests.bench.attack_inputs [--number N] [--seed S]``.

Files that the demo club and the catalogue ship are cut, doubled, swapped and sprinkled with odd
values, then given to the reader they are for, in this process; typed values are mutated the same
way. What is read is planned too. Wanted: read, or refused as bad input; anything else is a failure
and is kept in a folder that is named. Prints a table: tried, read, failures, worst time; exit code
1 where anything failed.
"""

from __future__ import annotations

import argparse
import datetime
import random
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from layout.athlete.athlete import read_athlete
from layout.picture.points import read_points
from layout.plan.drill import catalogue, read_drills
from layout.plan.spacing import make_plan
from layout.plan.stored import from_json, to_json
from layout.plan.venue import find_venue, venues
from layout.squad.roster import read_squad
from layout.training.rungs import read_ladder
from layout.words.faults import BadInput
from layout.words.reading import read_text
from layout.words.split_text import parse_split
from layout.words.units import parse_length, parse_speed

CATALOGUE: Final = Path(__file__).resolve().parents[2] / "layout" / "catalogue"
DAY: Final = datetime.date(2026, 11, 25)
ODD: Final = (
    "", "0", "-1", "1e309", "nan", "inf", "1/0", "5-13", "-0.0", "1,70", "1.70 m", "٣", "½", "\u202e",
    "\ufeff", "\x00", "'", '"', "[", "]]", "{", "=", "#", ";", "\t", "\r", "true", "=1+1", "9" * 40,
    "x" * 300, "2026-13-40", "[drill.x]", "null", "e", "\ud7ff", "🦘",
)  # fmt: skip


def mutated(text: str, draw: random.Random) -> str:
    """One to four changes of a text: of letters, of words and of lines."""
    for _ in range(draw.randint(1, 4)):
        lines = text.split("\n")
        at, kind = draw.randrange(len(lines)), draw.randrange(8)
        line = lines[at]
        spot = draw.randrange(len(line) + 1)
        if kind == 0:
            lines[at] = line[:spot] + draw.choice(ODD) + line[spot:]
        elif kind == 1:
            lines[at] = line[:spot] + line[spot + draw.randint(1, 9) :]
        elif kind == 2:
            head, sign, _ = line.partition(draw.choice("=,;:"))
            lines[at] = head + sign + draw.choice(ODD)
        elif kind == 3:
            del lines[at]
        elif kind == 4:
            lines.insert(draw.randrange(len(lines) + 1), line)
        elif kind == 5:
            other = draw.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif kind == 6:
            lines[at] = "".join(chr(ord(c) ^ 1) if draw.random() < 0.1 else c for c in line)
        else:
            lines = lines[: at + 1]
        text = "\n".join(lines) or "x"
    return text


def _planned(path: Path) -> None:
    athlete = read_athlete(path)
    drill = random.Random(path.stat().st_size).choice(list(catalogue().values()))
    make_plan(athlete, drill, venues()["club"], DAY)


def _typed(path: Path) -> None:
    word = path.read_text(encoding="utf-8").strip()
    for read in (
        lambda w: parse_length(w, "best"),
        lambda w: parse_speed(w, "speed"),
        lambda w: parse_split(w, 12.0),
    ):
        try:
            read(word)
        except BadInput:
            continue


@dataclass
class Told:
    """One reader's row of the table."""

    reader: Callable[[Path], Any]
    seeds: tuple[str, ...]
    ending: str
    tried: int = 0
    taken: int = 0
    failed: int = 0
    worst: float = 0.0
    kept: list[str] = field(default_factory=list)


def readers() -> dict[str, Told]:
    """Every reader with the texts that its inputs are made from."""
    club = CATALOGUE / "club"
    text = lambda *paths: tuple(p.read_text(encoding="utf-8") for p in paths)  # noqa: E731
    toml = text(*sorted(club.glob("*.toml")))
    plans = []
    for path in sorted(club.glob("*.toml")):
        for drill in catalogue().values():
            try:
                plans.append(to_json(make_plan(read_athlete(path), drill, venues()["club"], DAY)))
            except BadInput:
                continue
    words = (
        "12-6 1/2",
        "11.90 m",
        "35:30:35",
        "4.30/3.45/4.15 m",
        "8.3 m/s",
        "1190 cm",
        "balanced",
    )
    return {
        "athlete, planned": Told(_planned, toml, "toml"),
        "drills": Told(read_drills, text(CATALOGUE / "drills.toml"), "toml"),
        "ladder": Told(read_ladder, text(CATALOGUE / "ladder.toml"), "toml"),
        "venue": Told(lambda p: find_venue(str(p)), text(CATALOGUE / "venues.toml"), "toml"),
        "squad": Told(read_squad, text(club / "club.csv"), "csv"),
        "points": Told(read_points, text(club / "imka-step.csv"), "csv"),
        "saved plan": Told(lambda p: from_json(read_text(p)), tuple(plans), "json"),
        "typed values": Told(_typed, words, "txt"),
    }


SHARES: Final = {
    "athlete, planned": 30, "drills": 6, "ladder": 6, "venue": 10, "squad": 12, "points": 12,
    "saved plan": 9, "typed values": 15,
}  # fmt: skip
"""Of a hundred inputs: slow readers get fewer."""


def attack(number: int, seed: int, keep: Path) -> dict[str, Told]:
    """Give every reader its share of mutated inputs."""
    draw, rows = random.Random(seed), readers()
    with tempfile.TemporaryDirectory() as folder:
        for name, row in rows.items():
            path = Path(folder) / f"a.{row.ending}"
            for i in range(number * SHARES[name] // 100):
                made = mutated(draw.choice(row.seeds), draw)
                path.write_bytes(made.encode("utf-8", "surrogatepass"))
                began = time.process_time()
                row.tried += 1
                try:
                    row.reader(path)
                    row.taken += 1
                except BadInput:
                    pass
                except Exception as error:
                    row.failed += 1
                    kept = keep / f"{name.split(',')[0].replace(' ', '-')}-{i}.{row.ending}"
                    kept.write_bytes(path.read_bytes())
                    row.kept.append(f"{kept.name}: {type(error).__name__}: {error}"[:160])
                row.worst = max(row.worst, time.process_time() - began)
            sys.stderr.write(f"{name}: {row.tried} tried, {row.failed} failed\n")
    return rows


def main() -> int:
    """Run, print the table, and say where failing inputs are kept."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--number", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    keep = Path(tempfile.mkdtemp(prefix="attack-inputs-"))
    rows = attack(given.number, given.seed, keep)
    print(f"{'reader':<18}{'tried':>8}{'read':>8}{'failed':>8}{'worst s':>9}")
    for name, row in rows.items():
        print(f"{name:<18}{row.tried:>8}{row.taken:>8}{row.failed:>8}{row.worst:>9.2f}")
        for line in row.kept[:5]:
            print("   ", line)
    failed = sum(row.failed for row in rows.values())
    print(f"{failed} failed" + (f"; kept in {keep}" if failed else ""))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
