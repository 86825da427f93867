"""What was jumped less what the planner's march says, as a function of an athlete's parameters.

Lengths of a chain for many sets of parameters at once: what the planner marches, to be fitted.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final, cast

import numpy as np

from animate.body.body import Array
from layout.athlete.ability import Ability, ability
from layout.athlete.approach import MOST_STRIDES, TAU, approach
from layout.athlete.athlete import CALIBRATED, Athlete
from layout.athlete.carry import Form, carried, form_of_march
from layout.athlete.march import STAND_SPEED, march
from layout.book.record import Record
from layout.rules.rule import rule
from layout.season.gather import Cell, Gathered, SpeedCell, gather
from layout.words.trade import MOVES

NAMES: Final = (
    "speed", "up_hop", "up_step", "up_jump", "slope", "pull", "loss_hop", "loss_step", "loss_jump",
    "tau", "stand",
)  # fmt: skip
"""Parameters in the order of every array of them: full approach speed, upward take-off speeds, the
line's slope and pull, shares of speed lost in the three contacts, time constant of the approach,
take-off speed from standing."""
INDEX: Final = {name: i for i, name in enumerate(NAMES)}


def form_of(able: Ability, theta: Array, column: int | None = None) -> Form:
    """The form of a full approach with these parameters.

    Contact by contact vx = (1 - loss) vx_in and vy = up: the line of the form passes through these. Drive
    and what a hop out of a hop is spared are the ability's.

    theta: (11, k), in the order of `NAMES`.
    column: the one parameter set to give in plain numbers; all, with fields (k,), where left out.
    """
    theta = theta if column is None else theta[:, column : column + 1]
    ups, losses = theta[1:4], theta[6:9]
    made = carried(
        able.who, MOVES, theta[0], lambda i, _, into, fall: (into * (1.0 - losses[i]), ups[i])
    )
    own = able.form
    like = replace(Form(*[cast(Any, 0.0)] * 5), drive=own.drive, below=own.below, again=own.again)
    found = form_of_march(made, like, None if column is None else 0)
    given: Any = (
        (tuple(losses), *theta[4:6])
        if column is None
        else (tuple(losses[:, 0].tolist()), *theta[4:6, 0].tolist())
    )
    return replace(found, losses=given[0], slope=given[1], pull=given[2])


def speeds_of(theta: Array, full_strides: int, stature: float, run_up: float | None) -> Array:
    """Speed after 0 to 24 strides for each parameter set [m/s], ndarray (25, k)."""
    pairs = np.stack([theta[INDEX["speed"]], theta[INDEX["tau"]]])
    different, which = np.unique(pairs, axis=1, return_inverse=True)
    curves = [
        approach(float(v), full_strides, stature, float(t), run_up).speed for v, t in different.T
    ]
    return np.array(curves).reshape(-1, MOST_STRIDES + 1).T[:, which.ravel()]


LOSS_NAMES: Final = ("loss_hop", "loss_step", "loss_jump")
_SPREAD: Final[dict[str, float]] = rule("forecast_spread")
SIGMA: Final = {
    "slope": 0.20, "pull": _SPREAD["pull"], "tau": 0.30,
    "loss_hop": 0.02, "loss_step": 0.02, "loss_jump": 0.03,
}  # fmt: skip
"""Prior standard deviations (ours): the slope's a quarter of its remembered range, as in a forecast; the
losses' less than the published groups differ by, half of which is the filming's."""
TIMED, UNTIMED = _SPREAD["timed"], _SPREAD["untimed"]
"""As shares: of a speed that the athlete file has, of one it has not."""
UPWARD, STANDING = 0.10, 0.12
"""As shares (ours): of upward speeds (what the athlete has shown), of the take-off speed from standing."""
FITTED: Final = {
    "speed": (2.5, 12.9), "up_hop": (0.0, 4.5), "up_step": (0.0, 4.5), "up_jump": (0.0, 4.5),
    **{name: CALIBRATED[name] for name in ("slope", "pull", "tau")},
    **dict.fromkeys(LOSS_NAMES, CALIBRATED["losses"]), "stand": CALIBRATED["stand_speed"],
}  # fmt: skip
"""What a fitted figure may be: own figures as an athlete file accepts them, and speeds (ours)."""


def prior_of(athlete: Athlete, able: Ability) -> tuple[Array, Array]:
    """Defaults and their standard deviations; what a coach gave is a default.

    Validity: from 2.5 to 12.9 m/s at the full approach; ranges in `FITTED`.

    Source: the planner's own defaults (form of the line Yu & Hay 1996); deviations ours.

    Returns in the order of `NAMES`: speeds [m/s], slope, pull and losses [-], tau [s].

    >>> from layout.athlete.athlete import athlete_from
    >>> ada = {"name": "Ada", "stature": 1.7, "mass": 60, "leg": "right", "best": 12.0, "strides": 14}
    >>> who = athlete_from(ada)
    >>> mean, sigma = prior_of(who, ability(who))
    >>> i = INDEX["slope"]
    >>> float(mean[i]), float(sigma[i])
    (0.7, 0.2)
    """
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
    """The comparison as a function of u, parameters in prior standard deviations from the prior.

    theta = clip(mean + sigma u), difference = jumped - march(theta), residual = L^-1 difference,
    with L the lower Cholesky factor of a gathering's covariance, times `stretch`.

    Shapes: u and theta (11, k) for k sets at once; residuals (r, k), the phases or totals of the cells
    first, then timed speeds. Validity: theta stays inside `FITTED`; drills as the planner marches them.

    Source: the comparison is ours, on the planner's march.

    >>> from layout.athlete.athlete import athlete_from
    >>> ada = {"name": "Ada", "stature": 1.7, "mass": 60, "leg": "right", "best": 12.0, "strides": 14}
    >>> who = athlete_from(ada)
    >>> able = ability(who)
    >>> timed = SpeedCell(strides=6, middle=6.0, sure=0.1, count=8)  # the prior has 6.36 m/s there
    >>> problem = Problem(who, able, (), (timed,), *prior_of(who, able))
    >>> problem.residuals(np.zeros((11, 1))).round(2).tolist()
    [[-3.58]]
    """

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
        theta = self.theta(u)
        speed = speeds_of(theta, self.athlete.strides, self.athlete.stature,
                          self.athlete.calibration.run_up)  # fmt: skip
        form, out = form_of(self.able, theta), []
        for cell in self.cells:
            entry = theta[INDEX["stand"]] if cell.chain.stand else speed[cell.strides]
            made = march(self.able.who, form, cell.chain, entry).length
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
