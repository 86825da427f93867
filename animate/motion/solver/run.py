"""Run the optimiser on a filled-in program."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import casadi as ca
import numpy as np

from animate.body.body import Array, Body
from animate.motion.chain import Chain, Settings
from animate.motion.solver.approach import approach
from animate.motion.solver.assemble import Filled, fill
from animate.motion.solver.form import Phase

if TYPE_CHECKING:
    from animate.motion.motion import Motion
    from animate.motion.outcome import Progress


def _options(limit: float, warm: bool) -> dict[str, Any]:
    """Settings of the interior-point method, found by trying."""
    out: dict[str, Any] = {
        "ipopt.print_level": 0,
        "ipopt.sb": "yes",
        "print_time": False,
        "show_eval_warnings": False,
        "ipopt.max_iter": STEPS,
        "ipopt.max_cpu_time": limit,
        "ipopt.tol": 1e-3,
        "ipopt.constr_viol_tol": 1e-7,
        "ipopt.dual_inf_tol": 1.0,
        "ipopt.compl_inf_tol": 1e-3,
        "ipopt.acceptable_tol": 1e-2,
        "ipopt.acceptable_constr_viol_tol": 1e-6,
        "ipopt.acceptable_dual_inf_tol": 1.0,
        "ipopt.acceptable_obj_change_tol": 1e-4,
        "ipopt.acceptable_iter": 5,
        "ipopt.mu_strategy": "adaptive",
        "ipopt.bound_push": 1e-3,
        "ipopt.bound_frac": 1e-3,
        "calc_lam_p": False,
        "calc_lam_x": False,
        "no_nlp_grad": True,
    }
    if warm:
        out |= {"ipopt.mu_strategy": "monotone", "ipopt.mu_init": 1e-4} | _pushed(1e-4)
    return out


FAR: Final = 4.0
"""A start that breaks a row by more than this is far: it is moved well inside its bounds first
(tried on 24 random plans; in the rows' own units)."""


NEAR: Final = 1.5
"""A start that breaks no row by more than this is left to the optimiser (tried likewise)."""


def _again() -> dict[str, Any]:
    """A solve from the last one's answer and multipliers, a few rows added: on where it ended."""
    names = ("bound_push", "bound_frac", "slack_bound_push", "slack_bound_frac", "mult_bound_push")
    return {
        "ipopt.mu_init": 1e-4,
        "ipopt.warm_start_init_point": "yes",
        **{f"ipopt.warm_start_{name}": 1e-4 for name in names},
    }


def _far() -> dict[str, Any]:
    return {"ipopt.mu_init": 1e-1} | _pushed(1e-2)


def _pushed(by: float) -> dict[str, Any]:
    """How far the start is moved off its bounds."""
    names = ("bound_push", "bound_frac", "slack_bound_push", "slack_bound_frac")
    return {f"ipopt.{name}": by for name in names}


class _Watch(ca.Callback):
    """Passes the optimiser's iterations on."""

    def __init__(self, nx: int, ng: int, np_: int, tell: Callable[[], None]) -> None:
        ca.Callback.__init__(self)
        self.sizes = {"x": nx, "g": ng, "lam_x": nx, "lam_g": ng, "lam_p": np_, "f": 1}
        self.tell = tell
        self.construct("watch", {})

    def get_n_in(self) -> int:
        return int(ca.nlpsol_n_out())

    def get_n_out(self) -> int:
        return 1

    def get_name_in(self, i: int) -> str:
        return str(ca.nlpsol_out(i))

    def get_sparsity_in(self, i: int) -> Any:
        return ca.Sparsity.dense(self.sizes.get(ca.nlpsol_out(i), 0), 1)

    def eval(self, arg: Any) -> list[int]:
        self.tell()
        return [0]


def start_from(filled: Filled, neighbour: Motion) -> Array | None:
    """The neighbour's unknowns on this program's places, or None if it is of another kind."""
    x = filled.start.copy()
    size = filled.stature / neighbour.body.stature
    if len(neighbour.phases) != len(filled.phases):
        return None
    for i, (slot, phase) in enumerate(zip(filled.phases, neighbour.phases, strict=True)):
        if slot.breaks != phase.slot.breaks or slot.kind != phase.slot.kind:
            return None
        index = filled.coefficients[i]
        real = index >= 0
        x[index[real]] = phase.angles[real]
        x[filled.time[i]] = slot.nominal * phase.duration / phase.slot.nominal
        base = filled.base[i]
        if base is not None and phase.base is not None:
            x[base[base >= 0]] = phase.base[base >= 0] * size
        fall = filled.fall[i]
        if fall is not None:
            # Height and the way past the toe grow with the athlete.
            past = phase.com - np.array([phase.slot.support.toe, 0.0])
            x[fall[:2]] = past * size + np.array([slot.support.toe, 0.0])
            x[fall[2:4]] = slot.support.vx, slot.support.vy
    return x


def run(
    chain: Chain,
    body: Body,
    settings: Settings,
    neighbour: Motion | None,
    progress: Progress | None,
    limit: float,
) -> Motion:
    """Solve, measure off the solver's points, and solve again with those that fail added.

    Raises `animate.motion.outcome.NotFound`.
    """
    from animate.motion.check import check
    from animate.motion.outcome import NotFound
    from animate.motion.solver.weak import weak_points

    began, clock = time.perf_counter(), time.process_time()
    told = _Told(progress, began)
    extra: list[dict[int, list[float]]] = []
    found: _Found | None = None
    steps = 0
    motion: Motion | None = None
    for attempt in range(ROUNDS):
        filled = fill(chain, body, settings, extra)
        left = limit - (time.process_time() - clock)
        found = _once(filled, neighbour, found, told, max(left, AGAIN if attempt else 0.1))
        steps += found.steps
        if found.over > 1e-5 or not np.isfinite(found.x).all():
            if motion is not None:
                break  # keep the motion whose faults the check will name
            raise NotFound(
                "motion",
                f"none found ({found.status.replace('_', ' ').lower()} after {steps} "
                f"steps, {time.perf_counter() - began:.0f} s; hardest: {found.label}, "
                f"off by {found.over:.2g})",
            )
        motion = unpack(chain, body, settings, filled, found.x)
        weak = {k: [t for t in at if 0.0 < t < 1.0] for k, at in weak_points(motion).items()}
        # Weak points are looked for inside the promise; a motion that keeps it is good enough.
        if not any(weak.values()) or not check(motion).faults:
            break
        extra.append(weak)
    assert motion is not None
    return motion


STEPS = 500
"""Iterations of one solve at most."""
ROUNDS = 4
"""Solves at most: one, and three with instants added."""
AGAIN = 3.0
"""What a further solve may take though the limit is passed: a motion is there, near its checks [s]."""


class _Told:
    """Counts iterations over the rounds for the caller's progress line."""

    def __init__(self, progress: Progress | None, began: float) -> None:
        self.progress, self.began, self.count = progress, began, 0

    def __call__(self) -> None:
        self.count += 1
        if self.progress is not None:
            self.progress(self.count, time.perf_counter() - self.began)


@dataclass(frozen=True, eq=False)
class _Found:
    """What one solve ended with."""

    x: Array
    lam_x: Array
    lam_g: Array
    status: str
    steps: int
    over: float
    label: str


def _once(
    filled: Filled, neighbour: Motion | None, before: _Found | None, told: _Told, limit: float
) -> _Found:
    built = filled.program.build(filled.quadratic).functions()
    p = filled.program.parameters(filled.lean)
    low, high = np.array(filled.program.low), np.array(filled.program.high)
    given: dict[str, Array] = {}
    warm = start_from(filled, neighbour) if neighbour is not None and before is None else None
    set_up = _options(limit, before is not None or warm is not None)
    if before is not None:
        given["x0"], given["lam_x0"] = before.x, before.lam_x
        given["lam_g0"] = np.append(before.lam_g, np.zeros(len(low) - len(before.lam_g)))
        set_up |= _again()
    elif warm is not None:
        filled.start = warm
        given["x0"] = approach(filled, built["jac_g"], p, 16, told, NEAR, limit)
        g = np.array(built["nlp_g"](given["x0"], p)).ravel()
        if float(np.maximum(low - g, g - high).max()) > FAR:
            set_up |= _far()
    else:
        given["x0"] = approach(filled, built["jac_g"], p, tell=told, limit=limit)
    set_up |= {k: built[k] for k in ("jac_g", "hess_lag", "grad_f")}
    watch = None
    if told.progress is not None:
        watch = _Watch(filled.program.size, len(low), len(p), told)
        set_up["iteration_callback"] = watch
    solver = ca.nlpsol("motion", "ipopt", built["nlp"], set_up)
    found = solver(**given, p=p, lbx=filled.low, ubx=filled.high, lbg=low, ubg=high)
    stats = solver.stats()
    x, lam_x, lam_g, g = (np.array(found[k]).ravel() for k in ("x", "lam_x", "lam_g", "g"))
    over = np.maximum(low - g, g - high)
    worst = int(np.argmax(over))
    return _Found(
        x, lam_x, lam_g, str(stats["return_status"]), int(stats["iter_count"]),
        float(over[worst]), filled.program.labels[worst],
    )  # fmt: skip


def unpack(chain: Chain, body: Body, settings: Settings, filled: Filled, x: Array) -> Motion:
    """The motion a vector of unknowns stands for."""
    from animate.motion.motion import Motion

    padded = np.append(x, 0.0)
    phases: list[Phase] = []
    start = 0.0
    for i, slot in enumerate(filled.phases):
        duration = float(x[filled.time[i]])
        base, fall = filled.base[i], filled.fall[i]
        com = np.zeros(2) if fall is None else x[fall[:2]]
        velocity = np.zeros(2) if fall is None else x[fall[2:4]]
        angles = padded[filled.coefficients[i]]
        path = None if base is None else padded[base]
        phases.append(Phase(slot, start, duration, angles, path, com, velocity))
        start += duration
    return Motion(body, chain, settings, tuple(phases))
