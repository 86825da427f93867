"""The book's targets with 100,000 attempts in it; by hand, with -s for the figures."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from layout.book.entry import add
from layout.book.exchange import back, out
from layout.book.people import add_name, find_member
from layout.book.rows import attempts
from layout.book.sound import check
from layout.book.store import open_book
from layout.book.typed import Typed
from layout.season.totals import sums, weeks
from tests.layout.book.book_cases import ROOT, club_book, empty_book

COUNT = 100_000


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve athletes, five years, 100,000 attempts, half of them Runa's worst case: one athlete."""
    made = club_book(tmp_path_factory.mktemp("bench"))
    rng = np.random.default_rng(7)
    with open_book(made) as book:
        for i in range(10):
            add_name(book, f"Fictive {i}")
        day = np.datetime64("2021-01-01")
        with book.writing() as db:
            for i in range(1000):
                db.execute("INSERT INTO session (day, place) VALUES (?, 'club')",
                           (str(day + i * 2),))  # fmt: skip
            rows = []
            for i in range(COUNT):
                hop, step = rng.normal((2.55, 2.15), 0.1).round(2).tolist()
                who = 1 if i % 2 else 1 + i // 2 % 12
                rows.append((1 + i // 100, who, 1 if who == 1 else None, json.dumps([hop, step]),
                             round(hop + step, 6), 5.4, i % 17 == 0))  # fmt: skip
            db.executemany(
                "INSERT INTO attempt (session, athlete, plan, drill, phases, lengths, total, strides,"
                " speed, foul, made, contacts) VALUES (?, ?, ?, 'hop-step-sand', 'hop step', ?, ?, 4,"
                " ?, ?, '2026-05-01T10:00:00.000+00:00', 3)",
                rows,
            )
    return made


def seconds(
    act: Callable[[], Any], rounds: int = 5, clock: Callable[[], float] = time.perf_counter
) -> float:
    """Median of a few."""
    times = []
    for _ in range(rounds):
        began = clock()
        act()
        times.append(clock() - began)
    return statistics.median(times)


def spent(act: Callable[[], Any], rounds: int = 5) -> float:
    """Processor time: what only reads and computes, on a machine that others use too."""
    return seconds(act, rounds, time.process_time)


def test_adding_takes_under_20_ms(path: Path) -> None:
    with open_book(path) as book:
        typed = Typed("runa", "hop-step-sand", ("2.61", "4.80"))
        one = seconds(lambda: add(book, typed), 60)
    print(f"\nadd, book open: {1000 * one:.1f} ms")

    def all_of_it() -> None:
        with open_book(path) as book:
            add(book, typed)

    opened = seconds(all_of_it, 20)
    print(f"open, add, close: {1000 * opened:.1f} ms; file {path.stat().st_size / 1e6:.1f} MB")
    assert one < 0.020
    assert opened < 0.100


def test_the_whole_command(path: Path) -> None:
    words = [sys.executable, "-m", "layout", "book", "add", str(path), "runa", "hop-step-sand",
             "2.61", "4.80"]  # fmt: skip
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}

    def go() -> None:
        subprocess.run(words, env=environment, check=True, capture_output=True)

    whole = seconds(go, 9)
    bare = seconds(lambda: subprocess.run([sys.executable, "-c", "0"], check=True), 9)
    print(f"\nwhole command: {1000 * whole:.0f} ms (python alone {1000 * bare:.0f} ms)")
    assert whole < 1.0


def test_asking_takes_under_a_second(path: Path) -> None:
    with open_book(path) as book:
        runa = find_member(book, "Runa").id
        figures = {
            "list, last 20": spent(lambda: attempts(book, last=20)),
            "list, last 20 of one": spent(lambda: attempts(book, runa, last=20)),
            "one athlete's 54,000 attempts": spent(lambda: attempts(book, runa)),
            "sums of all": spent(lambda: sums(book)),
            "weeks of all": spent(lambda: weeks(book)),
            "weeks of one": spent(lambda: weeks(book, runa)),
        }
        whole = spent(lambda: attempts(book), 3)
    print("\n" + "\n".join(f"{name}: {1000 * t:.0f} ms" for name, t in figures.items()))
    print(f"all 100,000: {1000 * whole:.0f} ms")
    assert max(figures.values()) < 1.0


def test_out_in_and_check(path: Path, tmp_path: Path) -> None:
    other = empty_book(tmp_path)
    with open_book(path) as one, open_book(other) as two:
        times = (
            seconds(lambda: out(one, tmp_path / "out"), 1),
            seconds(lambda: back(two, tmp_path / "out"), 1),
            seconds(lambda: check(one), 1),
        )
        assert attempts(one) == attempts(two)
    print("\nout {:.1f} s, in {:.1f} s, check {:.1f} s".format(*times))
    assert max(times) < 30.0
