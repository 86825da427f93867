"""The solver's own arithmetic: many instants at once, blocks of unknowns, exact derivatives."""

from __future__ import annotations

import casadi as ca
import numpy as np
import pytest

from animate.body.body import body
from animate.motion.chain import Chain, Settings
from animate.motion.check import FRICTION
from animate.motion.motion import Motion
from animate.motion.solver import mechanics as me
from animate.motion.solver.approach import _Blocks
from animate.motion.solver.assemble import fill
from animate.motion.solver.library import motions
from animate.motion.solver.run import start_from
from animate.motion.solver.wide import WIDTH, blocks, place, widened

RANDOM = np.random.default_rng(5)


def test_a_widened_function_gives_what_it_gives_one_by_one() -> None:
    x, p = ca.SX.sym("x", 3), ca.SX.sym("p", 2)
    out = ca.vertcat(ca.sin(x[0]) * p[1] - x[1] ** 2, ca.fmax(x[2], 0.25), x[0] / (2 + p[0]), 3.5)
    one = ca.Function("f", [x, p], [out])
    given = RANDOM.uniform(-1, 1, (WIDTH, 3)), RANDOM.uniform(-1, 1, (WIDTH, 2))
    got = np.array(widened(one)(*given))
    for row, a, b in zip(got, *given, strict=True):
        np.testing.assert_allclose(row, np.array(one(a, b)).ravel(), rtol=1e-14)


@pytest.mark.parametrize("count", [1, WIDTH - 1, WIDTH, WIDTH + 1, 3 * WIDTH])
def test_every_element_has_a_place_of_its_own(count: int) -> None:
    where = place(np.arange(count)[:, None], np.arange(5), 5)
    assert len(np.unique(where)) == 5 * count
    assert where.min() >= 0
    assert where.max() < blocks(count) * WIDTH * 5


@pytest.fixture(scope="module")
def short() -> Motion:
    return min(motions(), key=lambda m: len(m.chain.supports))


def test_derivatives_are_those_of_the_rows(short: Motion) -> None:
    """Jacobian and Hessian against central differences of the rows, along random ways."""
    chain: Chain = short.chain
    filled = fill(chain, short.body, Settings())
    built = filled.program.build(filled.quadratic).functions()
    p = filled.program.parameters(filled.lean)
    x = start_from(filled, short)
    assert x is not None
    x = np.clip(x, filled.low, filled.high)
    lam = RANDOM.normal(size=len(filled.program.low))
    h = 1e-6
    for _ in range(3):
        way = RANDOM.normal(size=len(x))
        way /= np.linalg.norm(way)
        near = [built["jac_g"](x + sign * h * way, p) for sign in (1, -1)]
        jac = built["jac_g"](x, p)[1]
        slope = np.array(near[0][0] - near[1][0]).ravel() / (2 * h)
        exact = np.array(jac @ way).ravel()
        np.testing.assert_allclose(slope, exact, atol=1e-5 * max(1, np.abs(exact).max()))
        upper = built["hess_lag"](x, p, 0.0, lam)
        bent = np.array(ca.triu2symm(upper) @ way).ravel()
        turned = np.array((near[0][1] - near[1][1]).T @ lam).ravel() / (2 * h)
        np.testing.assert_allclose(turned, bent, atol=1e-5 * max(1, np.abs(bent).max()))


def test_the_solver_asks_for_less_than_the_check_lets_through(short: Motion) -> None:
    """Friction of the track each way and feet never under the ground, at every instant they are held."""
    program = fill(short.chain, short.body, Settings()).program
    held = dict.fromkeys(("grip", "clear"), 0)
    for label, low, high in zip(program.labels, program.low, program.high, strict=True):
        if label in held:
            held[label] += 1
            assert low >= 0.0
            assert high == np.inf
    tracks = sum(s.surface == "track" for s in short.chain.supports)
    assert held["grip"] >= 2 * 20 * tracks
    assert held["clear"] >= 2 * 20 * tracks
    # The rows themselves: (mu F_z -+ F_x) over weight, at a random instant.
    kernel = me.contact_kernel()
    y, p = (
        RANDOM.uniform(0.2, 0.8, (WIDTH, kernel.ny)),
        RANDOM.uniform(0.2, 0.8, (WIDTH, kernel.np)),
    )
    rows = dict(zip(me.CONTACT_ROWS, np.array(kernel.value(y, p)).T, strict=True))
    forth = (rows["grip+"] + rows["fx"]) / rows["fz"]
    back = (rows["grip-"] - rows["fx"]) / rows["fz"]
    np.testing.assert_allclose(forth, back)
    assert 0.9 * FRICTION < forth.min() <= forth.max() <= FRICTION


def test_more_instants_leave_the_numbers_of_the_rows(short: Motion) -> None:
    plain = fill(short.chain, short.body, Settings()).program
    longer = fill(short.chain, short.body, Settings(), [{0: [0.31], 1: [0.47]}]).program
    count = len(plain.low)
    assert len(longer.low) > count
    assert longer.labels[:count] == plain.labels
    assert longer.low[:count] == plain.low


def test_blocks_solve_what_the_full_matrix_solves() -> None:
    ends = np.array([0, 3, 7, 9, 14])
    made = _Blocks(ends)
    full = np.zeros((14, 14))
    for i in range(4):
        a, b = ends[i], ends[min(i + 2, 4)]
        part = RANDOM.normal(size=(b - a, b - a))
        part = part @ part.T
        made.add(i, part)
        full[a:b, a:b] += part
    right, extra = RANDOM.normal(size=14), RANDOM.uniform(0.1, 1, 14)
    free = np.arange(14) % 5 != 2
    np.testing.assert_allclose(made.times(right), full @ right, rtol=1e-12)
    want = np.zeros(14)
    want[free] = np.linalg.solve((full + np.diag(extra))[np.ix_(free, free)], right[free])
    np.testing.assert_allclose(made.solved(right, extra, free), want, rtol=1e-9, atol=1e-12)


def test_a_start_grows_with_the_athlete(short: Motion) -> None:
    tall = body(short.body.stature * 1.1, short.body.mass * 1.3)
    filled = fill(short.chain, tall, Settings())
    x = start_from(filled, short)
    assert x is not None
    for i, phase in enumerate(short.phases):
        fall = filled.fall[i]
        if fall is not None:
            assert x[fall[1]] == pytest.approx(phase.com[1] * 1.1)
