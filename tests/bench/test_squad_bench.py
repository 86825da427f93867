"""The squad's targets of time, and what neighbours cost.

By hand: python -m pytest tests/bench/test_squad_bench.py -s.
"""

from __future__ import annotations

import datetime
import statistics
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from resource import RUSAGE_CHILDREN, RUSAGE_SELF, getrusage

import numpy as np
import pytest

from layout.commands.squad_text import card_bytes
from layout.commands.working import pool
from layout.plan.drill import catalogue
from layout.plan.venue import venues
from layout.squad.batch import Settings, run_batch
from layout.squad.grouping import all_neighbours, every_sharing, improved
from layout.squad.roster import Member, squad_from
from layout.squad.sets import share
from layout.squad.work import Work
from tests.bench.test_plan_bench import loaded, squad
from tests.strategies import plan

DRILLS = ("hop-step-hold", "hop-step-sand", "two-hops-step-track", "two-hops-step-sand",
          "short-triple-jump", "full-triple-jump")  # fmt: skip


def lengths(
    count: int, seed: int = 1, totals: tuple[float, float] = (8.0, 15.0), sd: float = 0.012
) -> np.ndarray:
    """Whole jumps of some totals [m], whose shares scatter by `sd`."""
    random = np.random.default_rng(seed)
    shares = np.array([0.36, 0.29, 0.35]) + random.normal(0.0, sd, (count, 3))
    return random.uniform(*totals, count)[:, None] * shares


def processor() -> float:
    own, others = getrusage(RUSAGE_SELF), getrusage(RUSAGE_CHILDREN)
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


@pytest.mark.parametrize("k", [None, 3, 6, 12])
def test_five_thousand_athletes_are_shared_out_within_a_second(k: int | None) -> None:
    x = lengths(5000)
    share(x[:100], k)
    start, used = time.perf_counter(), time.process_time()
    made = share(x, k)
    took, used = time.perf_counter() - start, time.process_time() - used
    print(
        f"\n5000 athletes, k {k}: {took:.2f} s, CPU {used:.2f} s, {len(made.sets)} sets ({loaded()})"
    )
    assert used < 1.0


def test_small_squads_are_exact_at_once() -> None:
    x = lengths(12)
    times = []
    for _ in range(5):
        start = time.process_time()
        share(x, 4)
        times.append(time.process_time() - start)
    print(f"\n12 athletes, every sharing: {statistics.median(times):.3f} s ({loaded()})")
    assert statistics.median(times) < 0.25


@pytest.mark.parametrize(
    ("kind", "totals", "sd"),
    [("all sizes", (8.0, 15.0), 0.012), ("alike", (11.5, 12.5), 0.02)],
)
def test_how_far_neighbours_are_from_the_best_of_all(
    kind: str, totals: tuple[float, float], sd: float
) -> None:
    """Random squads of 10: neighbours exactly, then athletes moved, against every sharing."""
    ratios: dict[int, list[tuple[float, float]]] = {2: [], 3: [], 4: []}
    more: list[tuple[int, int]] = []
    for seed in range(60):
        x = lengths(10, seed, totals, sd)
        y, u = x - x.mean(axis=0), np.ones(10)
        wide = np.full_like(x, np.inf)
        for k, rows in ratios.items():
            best, _ = every_sharing(y, u, k, -wide, wide)
            found = all_neighbours(y, u, k, -wide, wide)
            near = found[0][0]
            moved, _ = improved(y, u, [g for _, g, _ in found], k, -wide, wide)
            assert best - 1e-9 <= moved <= near + 1e-9
            rows.append((near / best - 1.0, moved / best - 1.0))
        low, high = y - 0.15, y + 0.15
        _, exact = every_sharing(y, u, None, low, high)
        found = all_neighbours(y, u, None, low, high)
        groups = found[0][1]
        _, better = improved(y, u, [g for _, g, _ in found], None, low, high)
        more.append((len(groups) - len(exact), len(better) - len(exact)))
    for k, rows in ratios.items():
        near, moved = np.array(rows).T
        print(
            f"\n{kind}, k {k}: neighbours over the best by {100 * near.mean():.1f} % mean, "
            f"{100 * near.max():.1f} % most, best found {(near < 1e-9).mean():.0%}; with moves "
            f"{100 * moved.mean():.1f} % mean, {100 * moved.max():.1f} % most, "
            f"best found {(moved < 1e-9).mean():.0%}"
        )
    near_, moved_ = np.array(more).T
    print(
        f"{kind}, tolerance 15 cm: sets more than the fewest: neighbours {near_.mean():.2f} mean, "
        f"{near_.max()} most; with moves {moved_.mean():.2f} mean, {moved_.max()} most"
    )


def test_how_far_from_what_no_sharing_can_beat() -> None:
    """Plans of random athletes, where the exact search does not reach."""
    for drill in ("hop-step-sand", "two-hops-step-sand", "full-triple-jump"):
        plans = [plan(who, drill) for who in squad(200)]
        x = np.array([[f.length for f in p.flights] for p in plans])
        made, four = share(x), share(x, 4)
        assert made.bound is not None
        assert four.bound is not None
        print(
            f"\n{drill}, 200 athletes: {len(made.sets)} sets, at least {made.bound:.0f} needed; "
            f"4 sets: misfit {four.misfit:.2f}, at least {four.bound:.2f}"
        )


def test_five_thousand_lines_are_read() -> None:
    rows = [f"A{i};1,{60 + i % 40};{50 + i % 40};left;{9 + i % 6},50" for i in range(5000)]
    text = "\n".join(["name;stature;mass;leg;target", *rows])
    start = time.process_time()
    made = squad_from(text)
    print(f"\n5000 lines read: {time.process_time() - start:.2f} s CPU ({loaded()})")
    assert len(made.members) == 5000


def test_two_hundred_athletes_and_six_drills(tmp_path: Path) -> None:
    """Planned, shared out and drawn, as `phasemark squad --drills` does it."""
    members = [Member(who) for who in squad(200)]
    drills = [catalogue()[d] for d in DRILLS]
    settings = Settings(venues()["marram-point"], datetime.date(2026, 5, 1))
    start, used = time.perf_counter(), processor()
    with pool(2) as executor:
        report = run_batch(members, drills, settings, Work(tmp_path), executor, card_bytes)
    took, used = time.perf_counter() - start, processor() - used
    print(f"\n200 x 6, two processes: {took:.1f} s, CPU {used:.1f} s ({loaded()})")
    assert not report.faults
    assert len(report.made) == 200 * 6 * 2 + 6 * 3
    assert used < 2 * 60.0
    start = time.perf_counter()
    with ThreadPoolExecutor(1) as executor:
        again = run_batch(members, drills, settings, Work(tmp_path), executor, card_bytes)
    print(f"again, nothing to do: {time.perf_counter() - start:.2f} s")
    assert again.made == []
