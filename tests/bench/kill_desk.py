"""A desk killed while it saves, again and again, by hand: python -m tests.bench.kill_desk [TIMES] [SEED]

Each time the book is opened anew: it must be sound, hold everything that the page had confirmed, and each
run once. Told: how often the kill fell between a run that was sent and its answer.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from pathlib import Path

from layout.book.rows import attempts
from layout.book.sound import check
from layout.book.store import open_book
from layout.desk.demo import FOLDER, NAME
from tests.layout.desk.desks import killed
from tests.layout.desk.saving import Told, saved_till_killed


def main(times: int, seed: int) -> int:
    """Kill, look, and tell."""
    dice = random.Random(seed)
    told, kept = Told(), set()
    failed, between, start = 0, 0, time.monotonic()
    with tempfile.TemporaryDirectory() as name:
        for turn in range(times):
            with killed(Path(name)) as (address, run):
                saved_till_killed(address, run, f"t{turn}", dice.uniform(0.0, 0.2), told)
            with open_book(Path(name, FOLDER, NAME)) as book:
                wrong, _ = check(book)
                notes = [a.note or "" for a in attempts(book)]
            kept = set(notes)
            if wrong or told.wrong_with(notes):
                failed += 1
                print(
                    f"FAILED at kill {turn + 1}: {wrong} {told.wrong_with(notes)}", file=sys.stderr
                )
            between += any(n.startswith(f"t{turn}-") for n in told.sent - told.confirmed)
    print(
        f"{times} kills, {between} between a run sent and its answer; {len(told.sent)} runs sent, "
        f"{len(told.confirmed)} confirmed, {len(kept)} in the book, {failed} failed; "
        f"{time.monotonic() - start:.0f} s"
    )
    return 1 if failed else 0


if __name__ == "__main__":
    words = [int(word) for word in sys.argv[1:]]
    sys.exit(main(*(words + [200, 14][len(words) :])))
