"""An athlete's own carry and approach parameters from what was jumped, and how far to trust them.

Attempts are gathered by drill, arc and run-up; each gathering's middle is compared with what the
planner's own march says, and the parameters that come nearest are sought, held to their defaults as
priors. What the attempts do not tell stays at its default.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array
from layout.athlete.athlete import CALIBRATED, Athlete, Calibration
from layout.athlete.carry import Form
from layout.athlete.march import march
from layout.book.record import Record
from layout.plan.drill import Choices, catalogue
from layout.plan.made import chain_of, wider
from layout.season.comparison import (
    INDEX,
    LOSS_NAMES,
    NAMES,
    Problem,
    form_of,
    problem_of,
    speeds_of,
)
from layout.season.robust import HUBER, least

NEEDED: Final = 12
"""Measured attempts, not fouls, before anything is refitted (ours)."""
NEEDED_EACH: Final = 4
"""Of them from each of two run-ups (ours)."""
APART: Final = 2
"""Strides between the two (ours)."""
TOLD, LITTLE = 0.30, 0.10
"""The attempts tell a parameter when they make its margin smaller by the first share, and tell a
little of it from the second on; below that it stays at its default (ours)."""
LEFT, CLEARLY = 5.0, 1.2
"""The drills' own scatter is asked when so many figures more than parameters are there, and widens
the margins from this ratio on (ours)."""
LINKED: Final = 0.70
"""Two parameters correlated more than this are told only together (ours)."""
FIT_MODEL: Final = 0.035
"""How far off a drill lies from the athlete's own line, as a share of a phase (ours: seasons of another
model than the planner's are covered by it)."""
ODD: Final = 3.0
"""A drill this many margins off the fitted march is named (ours)."""


@dataclass(frozen=True)
class Parameter:
    """One parameter before and after."""

    name: str  # of `NAMES`
    # prior, prior_sure: default, and its standard deviation
    prior: float
    prior_sure: float
    # value, sure: after the attempts
    value: float
    sure: float
    moved: bool  # whether it was fitted; else `value` is the prior's

    @property
    def share(self) -> float:
        """By how much the margin became smaller [-]; below 0 where it grew."""
        return 1.0 - self.sure / self.prior_sure

    @property
    def evidence(self) -> str:
        """How much the attempts say of it: good, weak or none."""
        if not self.moved:
            return "none"
        return "good" if self.share >= TOLD else "weak"


@dataclass(frozen=True)
class Misfit:
    """A gathering that the fitted march does not meet."""

    title: str
    strides: int
    phase: int  # which of its phases, from 0; -1 for the total
    name: str
    off: float  # jumped less computed [m]


@dataclass(frozen=True, eq=False)
class Refit:
    """What the attempts say of an athlete's parameters."""

    enough: bool  # whether there were enough attempts; if not, all stays at its default
    have: tuple[tuple[int, int], ...]  # measured attempts by strides of approach, shortest first
    timed: int  # timed run-ups
    lacking: tuple[str, ...]  # what is still needed, in words
    parameters: tuple[Parameter, ...]
    linked: tuple[tuple[str, str], ...]  # pairs of which only a mixture is told
    form: Form  # what the athlete does in a usual full jump
    # (11, 200) parameter sets as likely as the fitted one; the first is the fitted one
    draws: Array
    blunders: float  # share of attempts set aside as misread or broken off [-]
    spread: float  # from one attempt to the next, as a share of a phase [-]
    # how much wider than supposed the drills lie round the athlete's line; 1 where they do not
    stretch: float
    misfits: tuple[Misfit, ...]
    margin: (
        float  # one sigma of a drill's forecast on the fitted figures, as a share of a phase [-]
    )

    @property
    def attempts(self) -> int:
        """Measured attempts."""
        return sum(n for _, n in self.have)

    def find(self, name: str) -> Parameter:
        """A parameter by its name."""
        return self.parameters[INDEX[name]]


def lacking_of(have: Sequence[tuple[int, int]]) -> tuple[str, ...]:
    """What is still needed before a refit, in words; nothing when there is enough.

    >>> lacking_of(((4, 9),))[0]
    '12 measured attempts (9 so far)'
    """
    count = sum(n for _, n in have)
    out = []
    if count < NEEDED:
        out.append(f"{NEEDED} measured attempts ({count} so far)")
    often = [s for s, n in have if n >= NEEDED_EACH]
    if not often or often[-1] - often[0] < APART:
        out.append(f"{NEEDED_EACH} from each of two run-ups at least {APART} strides apart")
    return tuple(out)


def refit(athlete: Athlete, record: Record) -> Refit:
    """Fit an athlete's parameters to what was jumped.

    Least sum of huber(residuals(u)) + |u|^2 / 2, with u and residuals as in `comparison.Problem`; a
    parameter whose margin shrinks by less than `LITTLE` stays at its default, and the others' margins
    carry that.

    Units: speeds [m/s], tau [s], the rest [-]; in the order of `comparison.NAMES`.

    Validity: from `NEEDED` measured attempts on, `NEEDED_EACH` from each of two run-ups; with fewer all
    stays at its default. Refused: the athlete's own totals cannot be made.

    Source: form of the line Yu & Hay 1996, as in `layout.athlete.carry`; Huber's weights for 95 %
    efficiency; priors and thresholds ours.

    athlete: with the strides of the full approach as they are planned with.

    A coach timed 6.0 m/s after 6 strides and 8.2 after 14, so the athlete builds up more slowly:

    >>> from layout.athlete.ability import ability
    >>> from layout.athlete.athlete import athlete_from
    >>> from layout.season.comparison import prior_of
    >>> from layout.season.gather import SpeedCell
    >>> ada = {"name": "Ada", "stature": 1.7, "mass": 60, "leg": "right", "best": 12.0, "strides": 14}
    >>> who = athlete_from(ada)
    >>> able = ability(who)
    >>> timed = SpeedCell(6, 6.0, 0.1, 8), SpeedCell(14, 8.2, 0.1, 8)
    >>> at, _, told, _ = _fit(Problem(who, able, (), timed, *prior_of(who, able)))
    >>> [name for name, moved in zip(NAMES, told) if moved]
    ['speed', 'tau']
    >>> 2.0 + 0.3 * float(at[INDEX["tau"]].round(2))  # prior and its deviation [s]
    2.252
    """
    problem, gathered = problem_of(athlete, record)
    lacking = lacking_of(gathered.have)
    count = len(NAMES)
    at, cover, free, stretch = np.zeros(count), np.eye(count), np.zeros(count, bool), 1.0
    if not lacking:
        at, cover, free, stretch = _fit(problem)
    theta = problem.theta(at[:, None])[:, 0]
    draws = _drawn(problem, at, cover)
    return Refit(
        enough=not lacking,
        have=gathered.have,
        timed=gathered.timed,
        lacking=lacking,
        parameters=_parameters(problem, theta, cover, free),
        linked=_linked(cover, free),
        form=form_of(problem.able, theta[:, None], 0),
        draws=draws,
        blunders=gathered.blunders,
        spread=gathered.spread,
        stretch=stretch,
        misfits=_misfits(problem, at) if not lacking else (),
        margin=_margin(problem, draws, stretch),
    )


def _parameters(problem: Problem, theta: Array, cover: Array, free: Array) -> tuple[Parameter, ...]:
    sure = np.sqrt(np.diag(cover))
    return tuple(
        Parameter(name, float(problem.mean[i]), float(problem.sigma[i]), float(theta[i]),
                  float(sure[i] * problem.sigma[i]), bool(free[i]))
        for i, name in enumerate(NAMES)
    )  # fmt: skip


def _drawn(problem: Problem, at: Array, cover: Array) -> Array:
    """Parameters drawn round the fit, 200 times, the fit itself first."""
    normal = np.random.default_rng(0).standard_normal((len(NAMES), 200))
    scatter = np.linalg.cholesky(cover) @ normal
    scatter[:, 0] = 0.0
    return problem.theta(at[:, None] + scatter)


def _fit(problem: Problem) -> tuple[Array, Array, NDArray[np.bool_], float]:
    """The fit, its covariance, which parameters the attempts say anything of, and the stretch.

    With nothing timed the full speed stays at the planner's own estimate: marks alone trade it for
    height. What stays at its default is wrong by as much as its prior says, and pulls the others
    along: the covariance has that in it.
    """
    low, high = problem.bounds()
    every = np.ones(len(NAMES), bool)
    at, full = least(problem.residuals, every, low, high)
    problem = replace(problem, stretch=_stretch(problem, at, full))
    if problem.stretch > 1.0:
        at, full = least(problem.residuals, every, low, high)
    free = every.copy()
    free[INDEX["speed"]] = bool(problem.speeds) or problem.athlete.speed is not None
    cover = _with_fixed(full, free)
    still = free & (1.0 - np.sqrt(np.diag(cover)) >= LITTLE)
    if not still.all():
        at, _ = least(problem.residuals, still, low, high)
        cover = _with_fixed(full, still)
    return at, cover, still, problem.stretch


def _stretch(problem: Problem, at: Array, cover: Array) -> float:
    """How much more the gatherings scatter round the fit than supposed; 1 where not clearly more."""
    size = sum(c.middle.size for c in problem.cells)
    off = problem.residuals(at[:, None])[:size, 0]
    used = float((1.0 - np.diag(cover)).sum())
    left = size - used
    if left < LEFT:
        return 1.0
    weights = np.minimum(1.0, HUBER / np.maximum(np.abs(off), 1e-12))
    ratio = float(np.sqrt((weights * off**2).sum() / left))
    return ratio if ratio > CLEARLY else 1.0


def _with_fixed(full: Array, free: NDArray[np.bool_]) -> Array:
    """Covariance of the errors where some parameters stay at their default."""
    a, b = np.flatnonzero(free), np.flatnonzero(~free)
    out = np.eye(free.size)
    if not a.size or not b.size:
        return full if a.size else out
    carry = full[np.ix_(a, b)] @ np.linalg.inv(full[np.ix_(b, b)])
    out[np.ix_(a, a)] = full[np.ix_(a, a)] - carry @ full[np.ix_(b, a)] + carry @ carry.T
    out[np.ix_(a, b)] = carry
    out[np.ix_(b, a)] = carry.T
    return out


def _margin(problem: Problem, draws: Array, stretch: float) -> float:
    """How far off a drill's forecast is, one sigma as a share of a phase, jumped in the season or not.

        margin^2 = mean of (spread of a phase over the draws / its middle / wider)^2 + (stretch FIT_MODEL)^2

    over the phases of every drill of the catalogue from its own approach; `wider` is of repeated moves.
    """
    athlete, off = problem.athlete, []
    form = form_of(problem.able, draws)
    speed = speeds_of(draws, athlete.strides, athlete.stature, athlete.calibration.run_up)
    for drill in catalogue().values():
        chain = chain_of(drill, Choices())
        entry = draws[INDEX["stand"]] if chain.stand else speed[drill.strides_of(athlete.strides)]
        made = march(problem.able.who, form, chain, entry).length
        off += (made.std(axis=1) / made.mean(axis=1) / wider(chain.moves)).tolist()
    low, high = CALIBRATED["margin"]
    return float(
        np.clip(np.hypot(np.sqrt(np.mean(np.square(off))), stretch * FIT_MODEL), low, high)
    )


def _linked(cover: Array, free: Array) -> tuple[tuple[str, str], ...]:
    sure = np.sqrt(np.diag(cover))
    like = cover / np.outer(sure, sure)
    return tuple(
        (NAMES[i], NAMES[j])
        for i in range(len(NAMES))
        for j in range(i + 1, len(NAMES))
        if abs(like[i, j]) > LINKED and (free[i] or free[j])
    )


def _misfits(problem: Problem, at: Array) -> tuple[Misfit, ...]:
    found = []
    for cell, off in zip(problem.cells, problem.differences(at[:, None]), strict=False):
        for i, d in enumerate(off[:, 0]):
            if abs(d) > ODD * cell.sure[i]:
                phase = -1 if cell.total else int(np.flatnonzero(cell.seen)[i])
                name = "total" if phase < 0 else cell.chain.moves[phase]
                found.append(Misfit(cell.title, cell.strides, phase, name, float(d)))
    return tuple(sorted(found, key=lambda m: -abs(m.off)))


def calibrated(athlete: Athlete, found: Refit) -> Athlete:
    """The athlete with what the attempts told put in; what they did not tell stays as it was."""
    if not found.enough:
        return athlete
    value = {p.name: p.value for p in found.parameters if p.moved}
    known = athlete.calibration
    losses = known.losses
    if any(name in value for name in LOSS_NAMES):
        hop, step, jump = (found.find(name).value for name in LOSS_NAMES)
        losses = (hop, step, jump)
    calibration = Calibration(
        slope=value.get("slope", known.slope),
        pull=value.get("pull", known.pull),
        losses=losses,
        tau=value.get("tau", known.tau),
        run_up=known.run_up,
        stand_speed=value.get("stand", known.stand_speed),
        margin=found.margin,
    )
    # A speed is taken over only where enough were timed: marks alone trade it for height.
    speed = athlete.speed
    if found.timed >= NEEDED_EACH and "speed" in value:
        speed = min(max(value["speed"], 3.0), 13.0)
    return replace(athlete, calibration=calibration, speed=speed)
