"""The approach: strides to speed and run-up length, and back."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from animate.body.body import Array
from animate.refused import Refused
from layout.rules.rule import rule

TAU: Final = 2.0
"""Time constant of a jumper's run from standing [s] (ours, chosen with the remembered
short-approach bands; a sprinter's is remembered as about 1.4; overridable)."""
SPRINT_TAU: Final[float] = rule("sprint_tau")
STRIDE_BASE: Final = 0.40
"""Stride length at no speed as a fraction of stature (ours, no source)."""
STRIDE_PER_SPEED: Final = 0.085
"""Growth of the stride with speed, as a fraction of stature per m/s (ours, no source)."""
MOST_STRIDES: Final = 24
LONGEST: Final = 40.0
"""Of a run [s]: the slowest one accepted, with the most strides, is done by then."""


@dataclass(frozen=True, eq=False)
class Approach:
    """`distance` run [m] and `speed` [m/s] after 0, 1, ... 24 strides from standing, ndarray (25,).

    `top_speed` is what the run would tend to [m/s], `tau` its time constant [s].
    """

    top_speed: float
    tau: float
    distance: Array
    speed: Array

    def run_up(self, strides: int) -> tuple[float, float]:
        """Speed [m/s] and length [m] of an approach of so many strides, 0 to 24."""
        if not 0 <= strides <= MOST_STRIDES:
            raise Refused("strides", f"0 to {MOST_STRIDES}", strides)
        return float(self.speed[strides]), float(self.distance[strides])


_TIME: Final = np.linspace(0.0, LONGEST, 2001)


class _Run:
    """A run from standing with one time constant, whatever it would tend to.

    speed = top (1 - exp(-t / tau)), distance = top (t - tau (1 - exp(-t / tau)))
    """

    def __init__(self, stature: float, tau: float) -> None:
        self.stature = stature
        self.rise = 1.0 - np.exp(-_TIME / tau)
        self.way = _TIME - tau * self.rise

    def count(self, top: float, stride: float, samples: int = _TIME.size) -> Array:
        """Strides done at each of the first `samples` times."""
        speed = top * self.rise[:samples]
        per_metre = 1.0 / (stride * self.stature * (STRIDE_BASE + STRIDE_PER_SPEED * speed))
        rate = speed * per_metre
        done = np.cumsum((rate[1:] + rate[:-1]) / 2.0) * (_TIME[1] - _TIME[0])
        return np.concatenate([[0.0], done])

    def speed(self, strides: Array | int, count: Array, top: float) -> Array:
        """After so many strides [m/s]."""
        return np.asarray(np.interp(strides, count, top * self.rise[: count.size]))

    def distance(self, strides: Array | int, count: Array, top: float) -> Array:
        """After so many strides [m]."""
        return np.asarray(np.interp(strides, count, top * self.way[: count.size]))


@lru_cache(maxsize=8192)
def approach(
    full_speed: float,
    full_strides: int,
    stature: float,
    tau: float = TAU,
    run_up: float | None = None,
) -> Approach:
    """An athlete's approach curve through the speed of the full approach.

    v(t) = v_top (1 - exp(-t / tau)); stride length = stature (.40 + .085 v)

    Source: form di Prampero et al. 2005; the time constant and the stride line are ours.

    full_speed: speed at the end of the full approach [m/s], 2 to 13.
    full_strides: strides of the full approach, 2 to 24.
    stature: [m].
    tau: [s], .5 to 3.
    run_up: measured length of the full approach [m]; stretches the strides to fit.

    >>> run = approach(9.5, 16, 1.80)
    >>> [round(v, 2) for v in run.run_up(16)], [round(v, 2) for v in run.run_up(6)]
    ([9.5, 28.89], [6.95, 8.69])
    """
    if not 2.0 <= full_speed <= 13.0:
        raise Refused("speed", "2 to 13 m/s", f"{full_speed:g}")
    if not 2 <= full_strides <= MOST_STRIDES:
        raise Refused("strides", f"2 to {MOST_STRIDES}", full_strides)
    if not 0.5 <= tau <= 3.0:
        raise Refused("tau", ".5 to 3 s", f"{tau:g}")
    run, stride, top = _Run(stature, tau), 1.0, full_speed
    count = run.count(top, stride)
    for _ in range(12):
        was = top
        top *= full_speed / float(run.speed(full_strides, count, was))
        if run_up is not None:
            stride *= run_up / float(run.distance(full_strides, count, was))
        # The full approach is over early in the table; the rest of it is not needed to go on.
        samples = 2 * int(count.searchsorted(full_strides))
        count = run.count(top, stride, samples)
        if count[-1] < full_strides:
            count = run.count(top, stride)
    every, count = np.arange(MOST_STRIDES + 1.0), run.count(top, stride)
    return Approach(float(top), tau, run.distance(every, count, top), run.speed(every, count, top))


def board_speed(flying: float, strides: int, stature: float) -> float:
    """Speed at the board of somebody whose speed over a flying 30 m is known [m/s].

    v(t) = flying (1 - exp(-t / `SPRINT_TAU`)) after so many strides

    Source: ours; a sprinter's time constant is remembered. Its margin is that of an untimed speed.

    >>> round(board_speed(9.5, 16, 1.80), 2), round(board_speed(7.8, 8, 1.60), 2)
    (9.09, 6.47)
    """
    run = _Run(stature, SPRINT_TAU)
    return float(run.speed(strides, run.count(flying, 1.0), flying))


def check_marks(run: Approach, strides: int) -> tuple[tuple[int, float], ...]:
    """Where to check the run: strides still to go, and metres before the take-off.

    The start first; a mark six strides out from ten strides up, four out from seven up
    (`common practice, no source`).

    >>> [(to_go, round(back, 1)) for to_go, back in check_marks(approach(9.5, 16, 1.80), 16)]
    [(16, 28.9), (6, 12.6)]
    """
    if strides == 0:
        return ()
    marks = [(strides, float(run.distance[strides]))]
    to_go = 6 if strides >= 10 else 4 if strides >= 7 else 0
    if to_go:
        marks.append((to_go, float(run.distance[strides] - run.distance[strides - to_go])))
    return tuple(marks)
