"""From a chain to a motion that holds its checks: start near, solve, measure, mend."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Final

import numpy as np
from threadpoolctl import ThreadpoolController

from animate.body.body import Array, Body
from animate.body.body import body as make_body
from animate.motion.chain import Chain, Settings
from animate.motion.check import check
from animate.motion.motion import Motion
from animate.motion.outcome import NotFound, Outcome, Progress, Stopped
from animate.motion.solver import interior
from animate.motion.solver.approach import approach
from animate.motion.solver.assemble import Build, Weak
from animate.motion.solver.form import Phase
from animate.motion.solver.interior import Near, Point
from animate.motion.solver.program import Program
from animate.motion.solver.weak import weak_points

ROUNDS: Final = 4
"""Solves at most: one, and three with instants added."""
LONG: Final = 200
"""Steps from the key poses at most."""
CLOSE: Final = Near(0.03, 0.1)
"""From the same athlete's last motion the optimum is met more nearly, so that a slider does not drift."""
_USUAL: Final = 15
"""Steps of a solve from the library."""
_BRIDGE: Final = 14
_AGAIN: Final = 1500
"""Steps times phases after which the run-in's posture is not sought once more: it would take too long."""
_SHORTEST: Final = 0.03


@dataclass(eq=False)
class Watch:
    """Counts steps, passes them on, and ends a solve that takes too long or is not wanted."""

    progress: Progress | None = None
    stop: Callable[[], bool] | None = None
    limit: float = np.inf
    count: int = 0
    clock: float = field(default_factory=time.process_time)

    def __call__(self) -> None:
        self.count += 1
        if self.progress is not None:
            self.progress(self.count, max(_USUAL, self.count + 3))
        if self.stop is not None and self.stop():
            raise Stopped("motion", "stopped")
        if time.process_time() - self.clock > self.limit:
            raise self.lost(f"after {self.limit:g} s")

    def lost(self, why: str) -> NotFound:
        """What is said when there is no motion."""
        return NotFound("motion", f"none found ({why})")


def start_from(build: Build, neighbour: Motion) -> Array | None:
    """The neighbour's unknowns on this program's places, or None if it is of another kind."""
    x = build.guess()
    size = build.body.stature / neighbour.body.stature
    if len(neighbour.phases) != len(build.phases):
        return None
    for slot, place, phase in zip(build.phases, build.places, neighbour.phases, strict=True):
        if slot.breaks != phase.slot.breaks or slot.kind != phase.slot.kind:
            return None
        real = place.angles >= 0
        x[place.angles[real]] = phase.angles[real]
        x[place.time] = slot.nominal * phase.duration / phase.slot.nominal
        if place.base is not None and phase.base is not None:
            real = place.base >= 0
            x[place.base[real]] = phase.base[real] * size
        if place.fall is not None:
            # Height and the way past the toe grow with the athlete.
            past = phase.com - np.array([phase.slot.support.toe, 0.0])
            x[place.fall[:2]] = past * size + np.array([slot.support.toe, 0.0])
            x[place.fall[2:4]] = slot.support.vx, slot.support.vy
    return x


def unpack(build: Build, x: Array) -> Motion:
    """The motion a vector of unknowns stands for."""
    padded = np.append(x, 0.0)
    phases: list[Phase] = []
    start = 0.0
    for slot, place in zip(build.phases, build.places, strict=True):
        duration = float(x[place.time])
        com = velocity = np.zeros(2)
        if place.fall is not None:
            com, velocity = x[place.fall[:2]], x[place.fall[2:4]]
        base = None if place.base is None else padded[place.base]
        phases.append(Phase(slot, start, duration, padded[place.angles], base, com, velocity))
        start += duration
    return Motion(build.body, build.chain, build.settings, tuple(phases))


def run(
    asked: tuple[Chain, Body, Settings], neighbour: Motion | Outcome | None, watch: Watch
) -> Outcome:
    """The motion of a chain, from a neighbour's; where that fails from one found with the
    run-in's posture left to the mechanics, which will do where the posture can't be held.

    Raises `NotFound`, and `Stopped` when the caller's `stop` says so.
    """
    # The matrices are small: more threads than one wait for each other, ten times as long.
    with threads().limit(limits=1, user_api="blas"):
        with contextlib.suppress(NotFound):
            return _mended(asked, neighbour, watch)
        found = _unposed(asked, neighbour, watch)
        if watch.count * len(found.motion.phases) < _AGAIN:
            with contextlib.suppress(NotFound):
                return _mended(asked, found, watch)
        return found


def _unposed(
    asked: tuple[Chain, Body, Settings], neighbour: Motion | Outcome | None, watch: Watch
) -> Outcome:
    """As `run`, the run-in's posture left to the mechanics."""
    motion = neighbour.motion if isinstance(neighbour, Outcome) else neighbour
    try:
        return _mended(asked, motion, watch, posed=False)
    except NotFound:
        if motion is None:
            raise
        return _mended(asked, _bridge(asked, motion, watch), watch, posed=False)


@cache
def threads() -> ThreadpoolController:
    """Who says how many threads numpy takes."""
    return ThreadpoolController()


def _mended(
    asked: tuple[Chain, Body, Settings],
    start: Motion | Outcome | None,
    watch: Watch,
    posed: bool = True,
) -> Outcome:
    """Solve, measure off the solver's points, and solve again with those that fail added."""
    build = Build(*asked, posed=posed)
    program = build.program()
    x, warm = begun(build, program, start)
    if start is None:
        x = approach(program, x, watch)
    steps = LONG if start is None else interior.STEPS
    ended = interior.solve(program, x, warm, CLOSE if warm else None, watch, steps)
    extra: list[Weak] = []
    for _ in range(ROUNDS):
        if not ended.ok:
            raise watch.lost(f"hardest: {ended.label}, off by {ended.over:.2g}")
        found = _outcome(build, program, ended.point, watch)
        faults = check(found.motion).faults
        if not faults:
            return found
        points = weak_points(found.motion).items()
        weak = {k: [t for t in at if 0.0 < t < 1.0] for k, at in points}
        if not any(weak.values()):
            break
        extra.append(weak)
        build = Build(*asked, extra, posed)
        program = build.program()
        ended = interior.solve(program, *begun(build, program, found), None, watch)
    raise watch.lost(faults[0].text)


def _outcome(build: Build, program: Program, point: Point, watch: Watch) -> Outcome:
    """What a solve that got there ended with."""
    return Outcome(unpack(build, point.x), point, tuple(program.labels), watch.count)


def begun(
    build: Build, program: Program, start: Motion | Outcome | None
) -> tuple[Array, Point | None]:
    """Unknowns to start from, and multipliers where there are some."""
    if isinstance(start, Outcome):
        if len(start.point.x) == program.n:
            return start.point.x, _carried(start, program)
        start = start.motion
    x = None if start is None else start_from(build, start)
    return build.guess() if x is None else x, None


def _carried(start: Outcome, program: Program) -> Point:
    """An outcome's point on a program of the same unknowns: rows that are new start without a load."""
    old, n = start.point, program.n
    at = {label: k for k, label in enumerate(start.labels)}
    take = np.array([at.get(label, -1) for label in program.labels])
    new = take < 0

    def rows(values: Array, fresh: Array | float) -> Array:
        return np.where(new, fresh, values[take])

    bounds = (np.append(z[:n], rows(z[n:], 1.0)) for z in (old.low, old.high))
    slack = rows(old.s, program.values(old.x))
    return Point(old.x, slack, rows(old.y, 0.0), *bounds)


def _bridge(asked: tuple[Chain, Body, Settings], near: Motion, watch: Watch) -> Outcome:
    """Through plans between the neighbour's and the one asked for; steps grow and shrink."""
    chain, body, settings = asked
    at, step = 0.0, 0.25
    start: Motion | Outcome = near
    for _ in range(_BRIDGE):
        share = min(1.0, at + step)
        there = _between(near.chain, chain, share)
        stature, mass = (
            (1 - share) * getattr(near.body, k) + share * getattr(body, k)
            for k in ("stature", "mass")
        )
        who = make_body(stature, mass, body.build) if share < 1 else body
        build = Build(there, who, settings, posed=False)
        program = build.program()
        ended = interior.solve(program, *begun(build, program, start), None, watch, 25)
        if ended.ok:
            start = _outcome(build, program, ended.point, watch)
            at, step = share, step * (1.5 if ended.steps < 12 else 1.0)
            if at == 1.0:
                return start
        else:
            step /= 2
        if step < _SHORTEST:
            break
    raise watch.lost("no way there from the nearest motion")


def _between(a: Chain, b: Chain, share: float) -> Chain:
    """A chain part of the way from one to another of its kind."""
    if share == 1.0:
        return b

    def mixed(x: float, y: float) -> float:
        return (1 - share) * x + share * y

    supports = tuple(
        replace(
            t,
            toe=mixed(s.toe, t.toe),
            vx_in=mixed(s.vx_in, t.vx_in),
            vx=mixed(s.vx, t.vx),
            vy=mixed(s.vy, t.vy),
            duration=mixed(s.duration, t.duration),
        )
        for s, t in zip(a.supports, b.supports, strict=True)
    )
    return Chain(supports, tuple(map(mixed, a.flights, b.flights)))
