"""The solver's program against an independent judge: its rows written anew as symbolic expressions, with
places from chained joints instead of phasors, and derivatives by casadi."""

from __future__ import annotations

import itertools
from functools import cache
from typing import Any

import casadi as ca
import numpy as np
import pytest
from scipy.interpolate import BSpline

from animate.body.body import SEGMENTS, Array, Body, body
from animate.body.stances import GRAVITY
from animate.motion.chain import Chain, Settings
from animate.motion.check import FRICTION
from animate.motion.motion import Motion
from animate.motion.shipping import chain_for, sketches
from animate.motion.solver.approach import approach
from animate.motion.solver.assemble import Build
from animate.motion.solver.blocks import Factor, Layout
from animate.motion.solver.form import FREE, FREE_MIRROR, HEAD_FOLLOWS
from animate.motion.solver.instants import Instant
from animate.motion.solver.library import motions
from animate.motion.solver.run import start_from, unpack

RANDOM = np.random.default_rng(5)
WHO = body(1.71, 63.0, "female")
CLOSE = 1e-11
"""Of the greatest figure."""


class Figure:
    """Joints, momentum and moments of one instant, from the hip."""

    def __init__(self, who: Body, y: Any) -> None:
        at = {n: i for i, n in enumerate(FREE)}
        q, w, dw = (ca.vertsplit(part) for part in (y[:11], y[11:22], y[22:33]))
        self.who, self.place, self.com, self.turn = who, {}, {}, {}

        def put(name: str, *terms: tuple[str, float]) -> None:
            self.turn[name] = tuple(sum(c * of[at[t]] for t, c in terms) for of in (q, w, dw))

        put("trunk", ("trunk", 1.0))
        put("head", ("trunk", HEAD_FOLLOWS))
        for s in ("r_", "l_"):
            put(s + "upper_arm", (s + "upper_arm", 1.0))
            for part in ("forearm", "hand"):
                put(s + part, (s + "upper_arm", 1.0), (s + "elbow", 1.0))
            put(s + "thigh", (s + "thigh", 1.0))
            put(s + "shank", (s + "thigh", 1.0), (s + "knee", -1.0))
            put(s + "foot", (s + "foot", 1.0))
        self.place["hip"] = tuple(ca.SX.zeros(2) for _ in range(3))
        self._chain("hip", "trunk", "shoulder", up=True)
        self._chain("shoulder", "head", "vertex", up=True)
        for s in ("r_", "l_"):
            self._chain("shoulder", s + "upper_arm", s + "elbow")
            self._chain(s + "elbow", s + "forearm", s + "wrist")
            self._chain(s + "wrist", s + "hand", s + "tip")
            self._chain("hip", s + "thigh", s + "knee")
            self._chain(s + "knee", s + "shank", s + "ankle")
            along, square = who.ankle
            length, share = self._of(s + "foot", who.lengths), self._of(s + "foot", who.com)
            for end, u in (("heel", 0.0), ("toe", length), ("sole", share * length)):
                self.place[s + end] = self._from(s + "ankle", s + "foot", u - along, -square)
            self.com[s + "foot"] = self.place[s + "sole"]
        shares = {n: self._of(n, who.masses) / who.mass for n in SEGMENTS}
        self.share = shares
        self.whole = tuple(sum(shares[n] * self.com[n][k] for n in SEGMENTS) for k in range(3))

    def _of(self, name: str, values: Array) -> float:
        return float(values[SEGMENTS.index(name)])

    def _from(self, joint: str, segment: str, u: Any, v: Any) -> tuple[Any, ...]:
        a, w, dw = self.turn[segment]
        x, z = u * ca.cos(a) - v * ca.sin(a), u * ca.sin(a) + v * ca.cos(a)
        moved = (x, z), (-w * z, w * x), (-dw * z - w * w * x, dw * x - w * w * z)
        return tuple(p + ca.vertcat(*m) for p, m in zip(self.place[joint], moved, strict=True))

    def _chain(self, joint: str, segment: str, end: str, up: bool = False) -> None:
        length, share = self._of(segment, self.who.lengths), self._of(segment, self.who.com)
        self.place[end] = self._from(joint, segment, 0.0, length if up else -length)
        # A share counts from the vertex and from the shoulder downward.
        self.com[segment] = self._from(
            joint, segment, 0.0, (1 - share) * length if up else -share * length
        )

    def momentum(self, order: int) -> Any:
        """Angular momentum about the centre of mass (1), its rate (2)."""
        total = 0
        for n in SEGMENTS:
            r, v = self.com[n][0] - self.whole[0], self.com[n][order] - self.whole[order]
            total += self.share[n] * (r[0] * v[1] - r[1] * v[0])
            total += self._of(n, self.who.inertias) / self.who.mass * self.turn[n][order]
        return total

    def needed(self, side: str, joint: str, lift: Any) -> Any:
        """Moment about a joint that its leg beyond it takes while the hip goes with `lift`."""
        beyond = ("foot", "shank", "thigh")[: ("ankle", "knee", "hip").index(joint) + 1]
        centre = self.place["hip" if joint == "hip" else side + joint][0]
        total = 0
        for n in (side + b for b in beyond):
            d, a = self.com[n][0] - centre, self.com[n][2] + lift
            total += self.share[n] * (d[0] * a[1] - d[1] * a[0])
            total += self._of(n, self.who.inertias) / self.who.mass * self.turn[n][2]
        return total


@cache
def quantities(kind: tuple[Any, ...]) -> tuple[Any, Any, Any, tuple[str, ...]]:
    """Value, Jacobian and Hessian of an instant's quantities, and their names.

    y: q, q', q'' by fraction, T, heel path b, b', b'' (x, z each); in a flight height and rise at
    take-off and the fraction instead of the path.
    """
    y, lam = ca.SX.sym("y", 40), ca.SX.sym("lam", 30)
    t = y[33]
    f = Figure(WHO, ca.vertcat(y[:11], y[11:22] / t, y[22:33] / t**2))
    down = ca.vertcat(0, GRAVITY)
    if kind == ("flight",):
        s = y[36] * t
        hip = y[34] + y[35] * s - GRAVITY * s * s / 2 - f.whole[0][1]
        out = {"momentum": f.momentum(1)}
        for side in "rl":
            for end in ("heel", "toe"):
                out[f"{side}_{end}"] = hip + f.place[f"{side}_{end}"][0][1]
            for joint in ("hip", "knee"):
                out[f"{side}_{joint}"] = f.needed(side + "_", joint, -f.whole[2])
    else:
        _, heel, feet, _ = kind
        path = [y[34 + 2 * k : 36 + 2 * k] / t**k for k in range(3)]
        held = f.place["r_heel" if heel else "r_toe"]
        foot = 0.0 if heel else f._of("r_foot", WHO.lengths)
        hip = [b - h for b, h in zip(path, held, strict=True)]
        com, speed, force = (h + w for h, w in zip(hip, f.whole, strict=True))
        force = force + down
        # About the point that stands still (with the sand's path, about where it is).
        ground = f.momentum(2) + (com - path[0])[0] * force[1] - (com - path[0])[1] * force[0]
        out = {"ground": ground, "fx": force[0], "fz": force[1]}
        for joint in ("ankle", "knee", "hip"):
            r = hip[0] + f.place["hip" if joint == "hip" else "r_" + joint][0] - path[0]
            carried = ground - (r[0] * force[1] - r[1] * force[0])
            out[joint] = f.needed("r_", joint, hip[2] + down) - carried / feet
        for joint in ("knee", "hip"):
            out["free_" + joint] = f.needed("l_", joint, hip[2] + down)
        out |= {"com_x": com[0] + foot, "com_z": com[1], "com_vx": speed[0], "com_vz": speed[1]}
        out |= {f"free_{e}": hip[0][1] + f.place["l_" + e][0][1] for e in ("heel", "toe")}
        out |= {"hip_z": hip[0][1], "knee_gap": f.place["r_knee"][0][0] - f.place["l_knee"][0][0]}
    g = ca.vertcat(*out.values())
    total = ca.dot(lam[: g.numel()], g)
    value = ca.Function("v", [y], [g])
    bent = ca.Function("h", [y, lam], [ca.hessian(total, y)[0]])
    return value, ca.Function("j", [y], [ca.jacobian(g, y)]), bent, tuple(out)


def local(build: Build, at: Instant) -> Array:
    """y = S x of one instant, (40, n)."""
    slot, place = build.phases[at.phase], build.places[at.phase]
    out = np.zeros((41, len(build.low) + 1))
    index = place.angles
    if slot.kind == "contact" and slot.support.side == "l":
        index = index[:, FREE_MIRROR]
    knots = np.r_[[0.0] * 4, slot.breaks, [1.0] * 4]
    for c, k in itertools.product(range(slot.count), range(3)):
        one = BSpline(knots, np.eye(slot.count)[c], 4)
        value = float((one.derivative(k) if k else one)(min(at.tau, 1.0 - 1e-15)))
        for d in range(11):
            out[11 * k + d, index[c, d]] += value
        for d in (0, 1) if place.base is not None else ():
            out[34 + 2 * k + d, place.base[c, d]] += value  # type: ignore[index]
    out[33, place.time] = 1.0
    if place.fall is not None:
        out[34, place.fall[1]] = out[35, place.fall[3]] = 1.0
    return out[:40, :-1]


def judged(build: Build, x: Array, way: Array, lam: dict[str, float]) -> tuple[Array, ...]:
    """Rows by label, their change along a way, and the change along it of lam'rows' gradient."""
    rows: dict[str, tuple[float, float]] = {}
    bent = np.zeros(len(x))
    for at in build.instants:
        value, jac, hess, names = quantities(at.kind)
        s = local(build, at)
        y, dy = s @ x, s @ way
        if at.kind == ("flight",):
            y[36] = at.tau
        got, slope = np.array(value(y)).ravel(), np.array(jac(y)) @ dy
        weight = np.zeros(30)
        for row in at.rows:
            label = f"{at.phase}:{at.tau:.6f}:{row.name}"
            mix = np.array([row.terms.get(n, 0.0) for n in names])
            start = mix @ [at.quantities[n].start for n in names]
            others = [sum(v * of[c] for c, v in row.others) for of in (x, way)]
            rows[label] = mix @ got - start + others[0], mix @ slope + others[1]
            weight[: len(names)] += lam[label] * mix
        bent += s.T @ (np.array(hess(y, weight)) @ dy)
    for label, expression in phases_meet(build).items():
        sym, e = expression
        h, g = ca.hessian(e, sym[1])
        f = ca.Function("f", [sym[1]], [e, g, h])
        cols = sym[0]
        real = np.array([x[c] if c >= 0 else 0.0 for c in cols])
        moved = np.array([way[c] if c >= 0 else 0.0 for c in cols])
        value, grad, curve = (np.array(v) for v in f(real))
        rows[label] = float(value[0, 0]), float(grad.ravel() @ moved)
        for c, v in zip(cols, curve @ moved, strict=True):
            bent[c] += lam[label] * v if c >= 0 else 0.0
    return rows, bent  # type: ignore[return-value]


def phases_meet(build: Build) -> dict[str, tuple[tuple[list[int], Any], Any]]:
    """Rates where phases meet and the fall of the centre of mass, symbolic."""
    out = {}
    for i in range(len(build.phases) - 1):
        a, b = build.places[i], build.places[i + 1]
        for k in (1, 2) if build.phases[i].kind == "contact" else (1,):
            for d in range(11):
                cols = [*a.angles[-3:, d], a.time, *b.angles[:3, d], b.time]
                v = ca.SX.sym("v", 8)
                sides = []
                for n, (slot, end) in enumerate(((build.phases[i], 1), (build.phases[i + 1], 0))):
                    knots = np.r_[[0.0] * 4, slot.breaks, [1.0] * 4]
                    c = ca.SX.zeros(slot.count)
                    c[slice(-3, None) if end else slice(0, 3)] = v[4 * n : 4 * n + 3]
                    row = [
                        float(BSpline(knots, np.eye(slot.count)[j], 4).derivative(k)(end))
                        for j in range(slot.count)
                    ]
                    sides.append(ca.dot(ca.DM(row), c) / v[4 * n + 3] ** k)
                scale = 1.0 if k == 1 else 0.01
                label = f"{i}: {('rate', 'second')[k - 1]} {d}"
                out[label] = (([int(c) for c in cols], v), scale * (sides[0] - sides[1]))
        if a.fall is not None:
            assert b.landing is not None
            for axis, g in enumerate((0.0, GRAVITY)):
                v = ca.SX.sym("v", 4)
                cols = [a.time, int(a.fall[axis]), int(a.fall[2 + axis]), int(b.landing[axis])]
                fall = v[1] + v[2] * v[0] - g * v[0] ** 2 / 2 - v[3]
                out[f"{i}: touchdown {axis}"] = ((cols, v), fall)
    return out


CHAINS = {s.name: s for s in sketches()}


@pytest.mark.parametrize("name", ["triple", "standing-triple", "hop-step-sand-run-on"])
def test_rows_and_derivatives_are_those_of_the_judge(name: str) -> None:
    """Track and sand, one foot and both, heel and toe, either leg, a run and a stand."""
    chain: Chain = chain_for(CHAINS[name], WHO)
    build = Build(chain, WHO, Settings(knee_gap=0.33, trunk=-0.05))
    program = build.program()
    x = np.clip(np.array(build.start), program.low, program.high)
    x = x + RANDOM.normal(scale=0.02, size=program.n)
    way, lam = RANDOM.normal(size=program.n), RANDOM.normal(size=program.m)
    linear = {label for *_, label in build.lines}
    lam = np.where([label in linear for label in program.labels], 0.0, lam)
    weights = dict(zip(program.labels, lam, strict=True))
    assert len(weights) == program.m  # every row has a name of its own
    rows, bent = judged(build, x, way, weights)
    got = program.linearise(x)
    slope = program.forth(way)
    mine = [k for k, label in enumerate(program.labels) if label not in linear]
    assert {program.labels[k] for k in mine} == set(rows)
    want = np.array([rows[program.labels[k]] for k in mine])  # type: ignore[call-overload]
    np.testing.assert_allclose(got[mine], want[:, 0], rtol=0, atol=CLOSE * np.abs(want[:, 0]).max())
    np.testing.assert_allclose(program.values(x), got, rtol=0, atol=CLOSE * np.abs(got).max())
    np.testing.assert_allclose(
        slope[mine], want[:, 1], rtol=0, atol=CLOSE * np.abs(want[:, 1]).max()
    )
    curve = program.layout.times(program.matrix(np.zeros(program.m), lam) - program.q, way)
    np.testing.assert_allclose(curve, bent, rtol=0, atol=CLOSE * np.abs(bent).max())
    # The products the solver makes of these go both ways.
    np.testing.assert_allclose(program.back(lam) @ way, lam @ slope, rtol=1e-10)
    weight = RANDOM.uniform(size=program.m)
    condensed = program.layout.times(program.matrix(weight) - program.q, way)
    both = program.back(weight * slope)
    np.testing.assert_allclose(condensed, both, rtol=0, atol=CLOSE * np.abs(both).max())


@pytest.fixture(scope="module")
def short() -> Motion:
    return min(motions(), key=lambda m: len(m.chain.supports))


def test_the_solver_asks_for_less_than_the_check_lets_through(short: Motion) -> None:
    """Friction of the track each way and feet never under the ground, at every instant they are held."""
    held = {"grip": 0, "clear": 0}
    for at in Build(short.chain, short.body, Settings()).instants:
        for row in at.rows:
            kind = row.name.split()[0]
            if kind not in held:
                continue
            held[kind] += 1
            start = sum(v * at.quantities[k].start for k, v in row.terms.items())
            assert row.low + start >= -1e-12
            assert row.high == np.inf
            if kind == "grip":
                share = row.terms["fz"] / abs(row.terms["fx"])
                assert 0.9 * FRICTION < share <= FRICTION
    tracks = sum(s.surface == "track" for s in short.chain.supports)
    assert held["grip"] >= 2 * 20 * tracks
    assert held["clear"] >= 2 * 20 * tracks


def test_more_instants_leave_the_rows_their_labels(short: Motion) -> None:
    plain = Build(short.chain, short.body, Settings()).program()
    longer = Build(short.chain, short.body, Settings(), [{0: [0.31], 1: [0.47]}]).program()
    found = dict(zip(longer.labels, longer.row_low, strict=True))
    assert longer.m > plain.m
    assert all(found[k] == low for k, low in zip(plain.labels, plain.row_low, strict=True))


def test_blocks_solve_what_the_full_matrix_solves() -> None:
    ends = np.array([0, 30, 75, 90, 140])
    layout = Layout(ends)
    full, flat = np.zeros((140, 140)), np.zeros(layout.length + 1)
    for a, b in zip(ends[:-1], [*ends[2:], 140], strict=True):
        cells = RANDOM.choice(np.arange(a, b), 12, replace=False)[None]
        part = RANDOM.normal(size=(12, 12))
        np.add.at(flat, layout.places(cells)[0], part @ part.T)
        full[np.ix_(cells[0], cells[0])] += part @ part.T
    flat, extra = flat[:-1], RANDOM.uniform(0.1, 1, 140)
    x, right = RANDOM.normal(size=140), RANDOM.normal(size=140)
    np.testing.assert_allclose(layout.times(flat, x), full @ x, rtol=1e-12, atol=1e-12)
    want = np.linalg.solve(full + np.diag(extra), right)
    np.testing.assert_allclose(Factor(layout, flat, extra).solve(right), want, rtol=1e-9)
    with pytest.raises(np.linalg.LinAlgError):
        Factor(layout, flat, -np.ones(140))


def test_a_start_grows_with_the_athlete(short: Motion) -> None:
    tall = body(short.body.stature * 1.1, short.body.mass * 1.3)
    build = Build(short.chain, tall, Settings())
    x = start_from(build, short)
    assert x is not None
    for place, phase in zip(build.places, short.phases, strict=True):
        if place.fall is not None:
            assert x[place.fall[1]] == pytest.approx(phase.com[1] * 1.1)
    own = Build(short.chain, short.body, short.settings)
    again = start_from(own, short)
    assert again is not None
    for one, phase in zip(unpack(own, again).phases, short.phases, strict=True):
        np.testing.assert_allclose(one.angles, phase.angles, atol=1e-12)


def test_the_walk_from_key_poses_comes_near_the_rows() -> None:
    chain = chain_for(CHAINS["standing-hop-step"], WHO)
    build = Build(chain, WHO, Settings())
    program = build.program()

    def worst(x: Array) -> float:
        rows = program.values(x)
        return float(np.maximum(program.row_low - rows, rows - program.row_high).max())

    there = approach(program, np.array(build.start))
    assert worst(there) < 0.1 * worst(np.array(build.start))
    assert (there >= program.low).all()
    assert (there <= program.high).all()
