"""How long finding a motion takes: from the cache, from a library neighbour, without one.

``pytest tests/bench/test_motion_bench.py``: some six minutes on one core.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from animate.body import body
from animate.chain import Settings
from animate.motion import check
from animate.solve import find, solve
from animate.solver.library import chain_for, nearest, sketches

ATHLETE = body(1.80, 72.0)


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
