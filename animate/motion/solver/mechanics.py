"""The mechanics of one instant as symbolic expressions, and their exact derivatives.

Everything is per kilogram of the athlete; forces in body weights. One instant is a small vector y
of angles and their first and second derivatives in phase fraction, and the phase's duration; a
`Kernel` evaluates constraints and derivatives for many instants at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import casadi as ca
import numpy as np

from animate.body.body import SEGMENTS, Array, Body
from animate.body.stances import GRAVITY
from animate.motion.limits import CEILING
from animate.motion.solver.form import EXPAND, FREE, HEAD_FOLLOWS
from animate.motion.solver.wide import widened

BODY_SIZE: Final = 8 * 4 + 2
_KINDS: Final = ("head", "trunk", "upper_arm", "forearm", "hand", "thigh", "shank", "foot")
_FIRST_OF: Final = {k: next(i for i, s in enumerate(SEGMENTS) if s.endswith(k)) for k in _KINDS}


def body_vector(body: Body) -> Array:
    """Body figures as the kernels take them: lengths, centres, masses / m, inertias / m, ankle."""
    pick = [_FIRST_OF[k] for k in _KINDS]
    return np.concatenate(
        [
            body.lengths[pick],
            body.com[pick],
            body.masses[pick] / body.mass,
            body.inertias[pick] / body.mass,
            body.ankle,
        ]
    )


def _plus(a: tuple[Any, Any, Any], b: tuple[Any, Any, Any]) -> tuple[Any, Any, Any]:
    """Place, rate and second derivative of two vectors together."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


class Instant:
    """Positions, velocities and accelerations of every segment, from the hip."""

    def __init__(self, q: Any, dq: Any, ddq: Any, p: Any) -> None:
        kind = {k: i for i, k in enumerate(_KINDS)}
        self.length = {k: p[i] for k, i in kind.items()}
        self.share = {k: p[8 + i] for k, i in kind.items()}
        self.mass_of = {k: p[16 + i] for k, i in kind.items()}
        self.inertia_of = {k: p[24 + i] for k, i in kind.items()}
        self.ankle = (p[32], p[33])
        self.angle: dict[str, Any] = {}
        self.rate: dict[str, Any] = {}
        self.second: dict[str, Any] = {}
        self._turn: dict[str, tuple[Any, Any]] = {}
        at = {n: i for i, n in enumerate(FREE)}

        def put(name: str, terms: list[tuple[str, float]]) -> None:
            self.angle[name] = sum(c * q[at[t]] for t, c in terms)
            self.rate[name] = sum(c * dq[at[t]] for t, c in terms)
            self.second[name] = sum(c * ddq[at[t]] for t, c in terms)
            self._turn[name] = (ca.cos(self.angle[name]), ca.sin(self.angle[name]))

        put("head", [("trunk", HEAD_FOLLOWS)])
        put("trunk", [("trunk", 1)])
        for s in ("r_", "l_"):
            put(s + "upper_arm", [(s + "upper_arm", 1)])
            put(s + "forearm", [(s + "upper_arm", 1), (s + "elbow", 1)])
            put(s + "thigh", [(s + "thigh", 1)])
            put(s + "shank", [(s + "thigh", 1), (s + "knee", -1)])
            put(s + "foot", [(s + "foot", 1)])
        self._place()

    def fixed(self, group: str, u: Any, v: Any) -> tuple[Any, Any, Any]:
        """A vector fixed in a segment: itself, its rate and second derivative, each (x, z)."""
        c, s = self._turn[group]
        w, b = self.rate[group], self.second[group]
        x, z = u * c - v * s, u * s + v * c
        return (
            ca.vertcat(x, z),
            ca.vertcat(-w * z, w * x),
            ca.vertcat(-b * z - w * w * x, b * x - w * w * z),
        )

    def _place(self) -> None:
        zero = ca.SX.zeros(2)
        self.point: dict[str, tuple[Any, Any, Any]] = {"hip": (zero, zero, zero)}
        self.com_of: dict[str, tuple[Any, Any, Any]] = {}

        length, share = self.length, self.share
        shoulder = self.fixed("trunk", 0, length["trunk"])
        self.point["shoulder"] = shoulder
        self.com_of["trunk"] = self.fixed("trunk", 0, length["trunk"] * (1 - share["trunk"]))
        self.com_of["head"] = _plus(
            shoulder, self.fixed("head", 0, length["head"] * (1 - share["head"]))
        )
        for s in ("r_", "l_"):
            here = shoulder
            for part, group, end in (
                ("upper_arm", "upper_arm", "elbow"),
                ("forearm", "forearm", "wrist"),
                ("hand", "forearm", "fingertip"),
            ):
                self.com_of[s + part] = _plus(
                    here, self.fixed(s + group, 0, -share[part] * length[part])
                )
                here = _plus(here, self.fixed(s + group, 0, -length[part]))
                self.point[s + end] = here
            here = self.point["hip"]
            for part, end in (("thigh", "knee"), ("shank", "ankle")):
                self.com_of[s + part] = _plus(
                    here, self.fixed(s + part, 0, -share[part] * length[part])
                )
                here = _plus(here, self.fixed(s + part, 0, -length[part]))
                self.point[s + end] = here
            along, square = self.ankle
            for end, part_share in (("heel", 0.0), ("toe", 1.0), ("ball", 0.7)):
                self.point[s + end] = _plus(
                    here, self.fixed(s + "foot", part_share * length["foot"] - along, -square)
                )
            self.com_of[s + "foot"] = _plus(
                here, self.fixed(s + "foot", share["foot"] * length["foot"] - along, -square)
            )
        com = (zero, zero, zero)
        for name, three in self.com_of.items():
            m = self.mass(name)
            com = (com[0] + m * three[0], com[1] + m * three[1], com[2] + m * three[2])
        self.com = com

    def mass(self, segment: str) -> Any:
        """Mass of a segment as a share of the whole."""
        return self.mass_of[segment[2:] if segment[:2] in ("r_", "l_") else segment]

    def group(self, segment: str) -> str:
        """The segment whose angle it shares."""
        return segment.replace("hand", "forearm")

    def spin(self, segment: str) -> tuple[Any, Any]:
        """Inertia times rate and times second derivative."""
        kind = segment[2:] if segment[:2] in ("r_", "l_") else segment
        i, g = self.inertia_of[kind], self.group(segment)
        return i * self.rate[g], i * self.second[g]

    def momentum(self) -> tuple[Any, Any]:
        """Angular momentum about the centre of mass and its rate."""
        total, change = 0, 0
        for name, (r, v, a) in self.com_of.items():
            m = self.mass(name)
            spin, grow = self.spin(name)
            r, v, a = r - self.com[0], v - self.com[1], a - self.com[2]
            total += m * (r[0] * v[1] - r[1] * v[0]) + spin
            change += m * (r[0] * a[1] - r[1] * a[0]) + grow
        return total, change

    def needed(self, segments: tuple[str, ...], joint: str, hip_acc: Any) -> Any:
        """Moment about a joint that moving these segments takes, gravity included."""
        centre = self.point[joint][0]
        out = 0
        for name in segments:
            r, _, a = self.com_of[name]
            m = self.mass(name)
            ax, az = a[0] + hip_acc[0], a[1] + hip_acc[1] + GRAVITY
            d = r - centre
            out += m * (d[0] * az - d[1] * ax) + self.spin(name)[1]
        return out


def leg_moments(now: Instant, side: str, hip_acc: Any) -> tuple[Any, Any, Any]:
    """Ankle, knee and hip moment of a leg that carries no ground force; + turns the far end up."""
    foot, shank, thigh = side + "_foot", side + "_shank", side + "_thigh"
    return (
        now.needed((foot,), side + "_ankle", hip_acc),
        now.needed((foot, shank), side + "_knee", hip_acc),
        now.needed((foot, shank, thigh), "hip", hip_acc),
    )


@dataclass(frozen=True, eq=False)
class Kernel:
    """Constraints g(y, p) of one instant with the Jacobian and the Hessian of lam'g, all in y.

    Attributes
    ----------
    name : str
    ny, np, ng : int
        Sizes of y, p and g.
    value, jac, hess : casadi Function
        Of (y, p), (y, p), (y, p, lam), each for a block of instants (see `animate.motion.solver.wide`);
        the derivatives as columns of their entries.
    jac_at : ndarray (ng, ny) of int
        Column of each entry of the Jacobian, -1 where it is always zero.
    hes_at : ndarray (ny, ny) of int
        The same of the Hessian, both triangles.
    """

    name: str
    ny: int
    np: int
    ng: int
    value: Any
    jac: Any
    hess: Any
    jac_at: Any
    hes_at: Any


def _kernel(name: str, y: Any, p: Any, g: Any) -> Kernel:
    lam = ca.SX.sym("lam", g.numel())
    jac = ca.jacobian(g, y)
    hess = ca.triu(ca.hessian(ca.dot(lam, g), y)[0])

    def wide(tag: str, given: list[Any], what: Any) -> Any:
        columns = ca.vertcat(*what.nonzeros())
        return widened(ca.Function(tag, given, [columns], {"cse": True}))

    hes_at = _numbered(hess)
    return Kernel(
        name,
        y.numel(),
        p.numel(),
        g.numel(),
        wide("v", [y, p], ca.densify(g)),
        wide("j", [y, p], jac),
        wide("h", [y, p, lam], hess),
        _numbered(jac),
        np.maximum(hes_at, hes_at.T),
    )


def _numbered(matrix: Any) -> Any:
    """Number of each entry among the entries, -1 where there is none."""
    out = np.full(matrix.shape, -1)
    rows, columns = matrix.sparsity().get_triplet()
    out[rows, columns] = np.arange(len(rows))
    return out


N: Final = len(FREE)
assert EXPAND.shape[1] == N


def _limited(moment: Any, way: str, back: str, slack: Any) -> Any:
    """A moment each way in units of its ceiling; slack lets it exceed at a cost."""
    return ca.vertcat(moment / CEILING[way] - slack, -moment / CEILING[back] - slack)


@cache
def contact_kernel() -> Kernel:
    """One instant of a contact on the r leg, or on both; for the l leg give mirrored angles.

    y: q, q', q'' (11 each), heel path b, b', b'' (2 each), T, slack (3).
    p: body, pivot (0 heel, 1 toe), legs on the ground (1 or 2), mark [m],
    back and front limit of the centre of pressure from the heel as shares of the foot.
    g: see CONTACT_ROWS.
    """
    y = ca.SX.sym("y", 3 * N + 6 + 1 + 3)
    p = ca.SX.sym("p", BODY_SIZE + 5)
    t = y[3 * N + 6]
    q, dq, ddq = y[:N], y[N : 2 * N] / t, y[2 * N : 3 * N] / t**2
    b, db, ddb = y[3 * N :][:2], y[3 * N :][2:4] / t, y[3 * N :][4:6] / t**2
    slack = y[3 * N + 7 :]
    pivot, legs, mark, back, front = ca.vertsplit(p[BODY_SIZE:])
    now = Instant(q, dq, ddq, p)
    foot_length = now.length["foot"]
    along = pivot * foot_length - now.ankle[0]
    held = _plus(now.point["r_ankle"], now.fixed("r_foot", along, -now.ankle[1]))
    hip = b + ca.vertcat(mark + pivot * foot_length, 0) - held[0]
    hip_v, hip_a = db - held[1], ddb - held[2]
    com, com_v, com_a = hip + now.com[0], hip_v + now.com[1], hip_a + now.com[2]
    momentum, change = now.momentum()
    fx, fz = com_a[0], com_a[1] + GRAVITY
    heel_x, ground = mark + b[0], b[1]
    # Moment of the ground force about the world origin's projection: x_p F_z, no division.
    xp_fz = change - (com[1] - ground) * fx + com[0] * fz
    unit = 1 / (GRAVITY * foot_length)
    m_ankle, m_knee, m_hip = leg_moments(now, "r", hip_a)

    def carried(inner: Any, joint: str) -> Any:
        at = hip + now.point[joint][0]
        return inner - (xp_fz - at[0] * fz + (at[1] - ground) * fx) / legs

    _, free_knee, free_hip = leg_moments(now, "l", hip_a)
    limited = [
        _limited(-carried(m_ankle, "r_ankle"), "plantar", "dorsi", slack[0]),
        _limited(carried(m_knee, "r_knee"), "knee_extend", "knee_bend", slack[1]),
        _limited(carried(m_hip, "hip"), "hip_bend", "hip_extend", slack[2]),
        _limited(free_hip, "hip_bend", "hip_extend", slack[2]),
        _limited(free_knee, "knee_extend", "knee_bend", slack[1]),
    ]
    g = ca.vertcat(
        fz / GRAVITY,
        (MU_TRACK * fz - fx) / GRAVITY,
        (MU_TRACK * fz + fx) / GRAVITY,
        (xp_fz - (heel_x + back * foot_length) * fz) * unit,
        ((heel_x + front * foot_length) * fz - xp_fz) * unit,
        *limited,
        (hip + now.point["l_heel"][0])[1],
        (hip + now.point["l_toe"][0])[1],
        com,
        com_v,
        fx / GRAVITY,
        momentum,
        now.point["r_knee"][0][0] - now.point["l_knee"][0][0],
        hip[1],
    )
    assert g.numel() == len(CONTACT_ROWS)
    return _kernel("contact", y, p, g)


MU_TRACK: Final = 0.76
"""Friction the solver uses at most; the check allows .8."""
CONTACT_ROWS: Final = (
    "fz", "grip+", "grip-", "cop-", "cop+",
    "plantar", "dorsi", "knee_extend", "knee_bend", "hip_bend", "hip_extend",
    "free_hip_bend", "free_hip_extend", "free_knee_extend", "free_knee_bend",
    "free_heel", "free_toe", "com_x", "com_z", "com_vx", "com_vz", "fx", "momentum", "knee_gap",
    "hip_z",
)  # fmt: skip
FLIGHT_ROWS: Final = (
    "momentum", "r_heel", "r_toe", "l_heel", "l_toe",
    "r_hip_bend", "r_hip_extend", "l_hip_bend", "l_hip_extend",
    "r_knee_extend", "r_knee_bend", "l_knee_extend", "l_knee_bend",
)  # fmt: skip


@cache
def flight_kernel() -> Kernel:
    """One instant of a flight.

    y: q, q', q'' (11 each), T, c0 (2), v0 (2), L0. p: body, fraction. g: FLIGHT_ROWS.
    """
    y = ca.SX.sym("y", 3 * N + 6)
    p = ca.SX.sym("p", BODY_SIZE + 1)
    t = y[3 * N]
    q, dq, ddq = y[:N], y[N : 2 * N] / t, y[2 * N : 3 * N] / t**2
    c0, v0, l0 = y[3 * N + 1 : 3 * N + 3], y[3 * N + 3 : 3 * N + 5], y[3 * N + 5]
    now = Instant(q, dq, ddq, p)
    s = p[BODY_SIZE] * t
    hip_z = c0[1] + v0[1] * s - GRAVITY * s * s / 2 - now.com[0][1]
    fall = ca.vertcat(0, -GRAVITY) - now.com[2]
    rows = [now.momentum()[0] - l0]
    rows += [hip_z + now.point[f"{side}_{end}"][0][1] for side in "rl" for end in ("heel", "toe")]
    moments = {side: leg_moments(now, side, fall) for side in "rl"}
    for side in "rl":
        hip = moments[side][2]
        rows += [hip / CEILING["hip_bend"], -hip / CEILING["hip_extend"]]
    for side in "rl":
        knee = moments[side][1]
        rows += [knee / CEILING["knee_extend"], -knee / CEILING["knee_bend"]]
    return _kernel("flight", y, p, ca.vertcat(*rows))


@cache
def join_kernel() -> Kernel:
    """Two phases meet: y: q', q'' and T of each; g: rates [rad/s], second derivatives [rad/s2]."""
    y = ca.SX.sym("y", 4 * N + 2)
    ta, tb = y[4 * N], y[4 * N + 1]
    g = ca.vertcat(
        y[:N] / ta - y[2 * N : 3 * N] / tb,
        (y[N : 2 * N] / ta**2 - y[3 * N : 4 * N] / tb**2) * 1e-2,
    )
    return _kernel("join", y, ca.SX.sym("p", 1), g)


@cache
def fall_kernel() -> Kernel:
    """Centre of mass at the end of a flight: y: T, c0, v0, c1, v1 (2 each); g: c, v agree."""
    y = ca.SX.sym("y", 9)
    t, c0, v0, c1, v1 = y[0], y[1:3], y[3:5], y[5:7], y[7:9]
    down = ca.vertcat(0, GRAVITY)
    g = ca.vertcat(c0 + v0 * t - down * t**2 / 2 - c1, v0 - down * t - v1)
    return _kernel("fall", y, ca.SX.sym("p", 1), g)
