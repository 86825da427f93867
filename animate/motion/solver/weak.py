"""Where a motion breaks a promise between the solver's own points."""

from __future__ import annotations

import numpy as np

from animate.body.body import Array
from animate.body.pose import JOINT
from animate.body.stances import GRAVITY
from animate.motion.dynamics import ground_force, sole
from animate.motion.motion import Frames, Motion


def weak_points(motion: Motion, dt: float = 0.001) -> dict[int, list[float]]:
    """Fractions of each phase where a promise is broken between the solver's own points.

    dt: [s].
    Returns phase number to the fractions of the worst instants, at most four a phase.
    """
    out: dict[int, list[float]] = {}
    for k, phase in enumerate(motion.phases):
        start, end = motion.starts[k], motion.starts[k + 1]
        times = np.append(np.arange(start, end - 1e-9, dt), end)
        f = motion.frames(times, k)
        if phase.slot.kind == "contact":
            excess = _contact_excess(motion, k, f)
        else:
            mean = float(f.momentum.mean())
            bound = 0.8 * max(0.01 * abs(mean), 0.02)
            excess = np.abs(f.momentum - mean) / bound - 1
            feet = [JOINT[f"{s}_{e}"] for s in "rl" for e in ("heel", "toe")]
            excess = np.maximum(excess, -f.positions[:, feet, 1].min(axis=1) / 1e-3 - 1)
        inside = np.r_[-np.inf, excess, -np.inf]
        peaks = np.flatnonzero((excess > 0) & (excess >= inside[:-2]) & (excess >= inside[2:]))
        worst = peaks[np.argsort(-excess[peaks])][:4]
        taus = (times[worst] - start) / (end - start)
        if len(taus):
            out[k] = sorted(float(t) for t in taus)
    return out


def _contact_excess(motion: Motion, k: int, f: Frames) -> Array:
    """How far force, friction and centre of pressure are beyond bounds, in rough units of them."""
    weight = motion.body.mass * GRAVITY
    foot = motion.body.lengths[-1]
    force, about = ground_force(motion, f)
    fx, fz = force[:, 0] / weight, force[:, 1] / weight
    origin, ground = sole(motion, k, f)
    share = ((about + ground * force[:, 0]) / weight - origin * fz) / foot
    strong = fz > 0.15
    excess = np.where(strong, np.maximum(-share, share - fz) / np.maximum(fz, 0.15), -1.0) * 50
    if motion.phases[k].slot.support.surface == "track":
        grip = np.where(strong, np.abs(fx) - 0.797 * fz, -1.0) * 50
        excess = np.maximum(excess, grip)
    return np.asarray(np.maximum(excess, -fz * 1000 - 0.5))
