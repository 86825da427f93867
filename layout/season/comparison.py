"""What was jumped less what the planner's march says, as a function of an athlete's parameters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body.body import Array
from layout.athlete.ability import Ability, ability
from layout.athlete.approach import TAU
from layout.athlete.athlete import CALIBRATED, Athlete
from layout.athlete.march import STAND_SPEED
from layout.book.record import Record
from layout.season.chains import INDEX, NAMES, predicted, speeds_of
from layout.season.gather import Cell, Gathered, SpeedCell, gather

LOSS_NAMES: Final = ("loss_hop", "loss_step", "loss_jump")
SIGMA: Final = {
    "slope": 0.20, "pull": 0.06, "loss_hop": 0.02, "loss_step": 0.02, "loss_jump": 0.03, "tau": 0.30,
}  # fmt: skip
"""Prior standard deviations (ours): the slope's a quarter of its remembered range, as in a forecast."""
TIMED, UNTIMED, UPWARD, STANDING = 0.025, 0.06, 0.10, 0.12
"""Prior standard deviations as shares (ours): of a speed that the athlete file has, of one it has
not, of upward speeds (what the athlete has shown), of the take-off speed from standing."""
FITTED: Final = {
    "speed": (2.5, 12.9), "up_hop": (0.0, 4.5), "up_step": (0.0, 4.5), "up_jump": (0.0, 4.5),
    **{name: CALIBRATED[name] for name in ("slope", "pull", "tau")},
    **dict.fromkeys(LOSS_NAMES, CALIBRATED["losses"]), "stand": CALIBRATED["stand_speed"],
}  # fmt: skip
"""What a fitted figure may be: own figures as an athlete file accepts them, and speeds (ours)."""


def prior_of(athlete: Athlete, able: Ability) -> tuple[Array, Array]:
    """Defaults and their standard deviations, ndarray (11,) each; what a coach gave is a default."""
    form, known = able.shown, athlete.calibration
    sure = TIMED if athlete.speed is not None else UNTIMED
    stand = STAND_SPEED * form.entry if known.stand_speed is None else known.stand_speed
    tau = TAU if known.tau is None else known.tau
    mean = np.array([form.entry, *form.vy, form.slope, form.pull, *form.losses, tau, stand])
    sigma = np.array([
        sure * form.entry, *(max(UPWARD * v, 0.05) for v in form.vy), SIGMA["slope"], SIGMA["pull"],
        *(SIGMA[name] for name in LOSS_NAMES), SIGMA["tau"], STANDING * stand,
    ])  # fmt: skip
    return mean, sigma


@dataclass(frozen=True, eq=False)
class Problem:
    """The comparison as a function of parameters in prior standard deviations."""

    athlete: Athlete
    able: Ability
    cells: tuple[Cell, ...]
    speeds: tuple[SpeedCell, ...]
    # mean, sigma: (11,) of the priors
    mean: Array
    sigma: Array
    # widens what the cells' middles are sure to, where they scatter more than supposed
    stretch: float = 1.0

    def theta(self, u: Array) -> Array:
        """Parameters (11, k) inside their ranges."""
        low, high = np.array([FITTED[n] for n in NAMES]).T
        values = self.mean[:, None] + self.sigma[:, None] * u
        return np.clip(values, low[:, None], high[:, None])

    def differences(self, u: Array) -> list[Array]:
        """Jumped less computed of each gathering [m]."""
        theta, who = self.theta(u), self.able.who
        speed = speeds_of(theta, self.athlete.strides, self.athlete.stature,
                          self.athlete.calibration.run_up)  # fmt: skip
        out = []
        for cell in self.cells:
            entry = theta[INDEX["stand"]] if cell.chain.stand else speed[cell.strides]
            made = predicted(who, theta, cell.chain, entry)
            made = made.sum(axis=0, keepdims=True) if cell.total else made[cell.seen]
            out.append(cell.middle[:, None] - made)
        out += [s.middle - speed[s.strides][None, :] for s in self.speeds]
        return out

    def residuals(self, u: Array) -> Array:
        """Standardised, (r, k)."""
        roots = [self.stretch * c.root for c in self.cells]
        roots += [np.array([[s.sure]]) for s in self.speeds]
        parts = [
            np.linalg.solve(root, d) for root, d in zip(roots, self.differences(u), strict=True)
        ]
        return np.concatenate(parts) if parts else np.zeros((0, u.shape[1]))

    def bounds(self) -> tuple[Array, Array]:
        """Of u."""
        low, high = np.array([FITTED[n] for n in NAMES]).T
        return (np.minimum((low - self.mean) / self.sigma, 0.0),
                np.maximum((high - self.mean) / self.sigma, 0.0))  # fmt: skip


def problem_of(athlete: Athlete, record: Record) -> tuple[Problem, Gathered]:
    """The comparison for an athlete, and what was gathered.

    Refused: the athlete's own totals cannot be made.
    """
    able = ability(athlete)
    mean, sigma = prior_of(athlete, able)
    gathered = gather(record, athlete.strides)
    return Problem(athlete, able, gathered.cells, gathered.speeds, mean, sigma), gathered
