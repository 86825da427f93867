"""How long finding a motion takes: from the cache, from a library neighbour, without one.

``pytest tests/bench/test_motion_bench.py -s``: some fifteen minutes on one core; the fifty random
athletes print their figures, and each drill of theirs that missed ten seconds.
"""

from __future__ import annotations

import datetime
import math
import random
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from animate.body.body import Body, body
from animate.motion.chain import Chain, Settings
from animate.motion.check import check
from animate.motion.shipping import chain_for, sketches
from animate.motion.solve import find, solve
from animate.motion.solver.library import nearest
from layout.athlete.athlete import athlete_from
from layout.moving.chain import chain_of
from layout.plan.drill import catalogue
from layout.plan.spacing import Choices, make_plan
from layout.plan.venue import venues

ATHLETE = body(1.80, 72.0)
SEED, COUNT = 202611, 50
DAY = datetime.date(2026, 5, 1)


def _settings(rng: random.Random) -> Settings:
    gap = rng.uniform(0.24, 0.44)
    bend, high = (math.radians(rng.uniform(*ends)) for ends in ((58, 112), (72, 88)))
    hold, trunk = rng.uniform(0.06, 0.12), math.radians(rng.uniform(-8, 2))
    rng.choice(["alternate", "together"])
    r = rng.random()
    if r < 0.40:
        return Settings()
    if r < 0.55:
        return Settings(knee_gap=gap)
    if r < 0.70:
        return Settings(knee_bend=bend)
    if r < 0.82:
        return Settings(thigh_high=high, hold=hold)
    return Settings(arms="together") if r < 0.92 else Settings(trunk=trunk)


def requests(seed: int, count: int) -> list[tuple[str, Chain, Body, Settings]]:
    """Random athletes x the whole catalogue x settings, the same for the same seed."""
    rng, drills, ground = random.Random(seed), catalogue(), venues()
    out = []
    for _ in range(count):
        stature = rng.uniform(1.50, 1.95)
        mass, total = stature**2 * rng.uniform(17.5, 24), stature * rng.uniform(5.0, 8.6)
        hop, step = rng.randint(33, 38), rng.randint(28, 31)
        level = "beginner" if total < 9.5 else "intermediate" if total < 12.5 else "advanced"
        table = {
            "name": "Any", "stature": round(stature, 3), "mass": round(mass, 1),
            "leg": rng.choice(["right", "left"]), "level": level,
            "build": rng.choice(["male", "female", "average"]),
            "target": round(total, 2), "split": f"{hop}:{step}:{100 - hop - step}",
            "born": 2000,
        }  # fmt: skip
        if rng.random() < 0.5:
            table["best"] = round(total * rng.uniform(0.94, 1), 2)
        name = rng.choice(sorted(drills))
        drill = drills[name]
        arc = rng.choice(["natural", "natural", "low", "high"])
        settings = _settings(rng)
        who = athlete_from(table)
        venue = ground["club" if drill.ends == "sand" else "track"]
        choices = Choices(arc=arc if "hop" in drill.moves else None, despite="nobody jumps this")
        chain = chain_of(make_plan(who, drill, venue, DAY, choices))
        out.append((name, chain, body(who.stature, who.mass, who.build), settings))
    return out


def test_fifty_random_athletes(tmp_path: Path) -> None:
    """The command's own way, nothing kept before; every motion found must hold every check."""
    spent, lost = [], []
    for number, (drill, chain, who, settings) in enumerate(requests(SEED, COUNT)):
        began = time.process_time()
        try:
            motion = find(chain, who, settings, limit=120.0, cache=tmp_path)
        except ValueError as fault:
            lost.append(f"{number} {drill}: {fault}")
        else:
            assert check(motion).faults == (), f"{number} {drill}"
        spent.append(time.process_time() - began)
        if spent[-1] > 10.0:
            sys.stdout.write(
                f"\n{number} {drill}, {len(chain.supports)} contacts: {spent[-1]:.1f} s"
            )
    low, high = np.percentile(spent, (50, 90))
    within = sum(s <= 10.0 for s in spent)
    sys.stdout.write(
        f"\n{COUNT - len(lost)} of {COUNT} found; median {low:.1f}, 90 % {high:.1f}, "
        f"longest {max(spent):.1f} s; {within} within 10 s\n"
    )
    assert lost == []
    assert max(spent) <= 60.0


@pytest.mark.parametrize("sketch", sketches(), ids=lambda s: s.name)
def test_from_a_neighbour(sketch: object) -> None:
    chain = chain_for(sketch, ATHLETE)  # type: ignore[arg-type]
    near = nearest(chain, ATHLETE, Settings())
    assert near is not None
    began = time.process_time()
    motion = solve(chain, ATHLETE, Settings(), near)
    spent = time.process_time() - began
    assert check(motion).faults == ()
    assert spent <= 10.0, f"{spent:.1f} s"


@pytest.mark.parametrize("sketch", sketches(), ids=lambda s: s.name)
def test_without_a_neighbour(sketch: object) -> None:
    chain = chain_for(sketch, ATHLETE)  # type: ignore[arg-type]
    began = time.process_time()
    motion = solve(chain, ATHLETE)
    spent = time.process_time() - began
    assert check(motion).faults == ()
    assert spent <= 60.0, f"{spent:.1f} s"


def test_from_the_cache(tmp_path: Path) -> None:
    chain = chain_for(sketches()[0], body(1.75, 70.0))
    find(chain, body(1.75, 70.0), cache=tmp_path)
    spent = []
    for _ in range(20):
        began = time.perf_counter()
        find(chain, body(1.75, 70.0), cache=tmp_path)
        spent.append(time.perf_counter() - began)
    assert float(np.median(spent)) <= 0.010
