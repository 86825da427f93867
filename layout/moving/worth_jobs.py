"""The solves of a curve: one job each, and who does them."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Any, Final

from animate.motion.best import Best, best
from animate.motion.chain import Settings
from animate.motion.motion import Motion
from animate.motion.outcome import NotFound, Outcome
from animate.motion.solver.freed import Terms
from layout.moving.worth_kept import NotKept

DROPS: Final = 1.2
"""A point this much under its inner neighbour, in the objective (12 cm), is tried once more by way of a
value half-way: neighbours so far apart may move in two different manners (ours)."""


@dataclass(frozen=True, eq=False)
class Job:
    """One solve: at a place of the curve, on terms, from an outcome.

    varied: number of what is changed for a margin, -1 for the curve itself.
    inner, half: of a point outward from another, that point's best, and what is asked half-way.
    way: "swept" for a point solved once more, from one of its neighbours.
    """

    at: int
    varied: int
    part: Motion
    settings: Settings
    terms: Terms
    start: Outcome | None
    inner: Best | None = None
    half: tuple[Settings, Terms] | None = None
    way: str = ""


def solve(job: Job) -> Best | str:
    """The best of a job, or why there is none."""
    first = _tried(job, job.start)
    if job.inner is None or job.half is None:
        return first
    found = inside(first)
    if found and _value(job.inner, job.terms) - _value(found, job.terms) < DROPS:
        return first
    try:
        between = best(job.part, *job.half, job.inner.outcome)
    except NotFound:
        return first
    again = inside(_tried(job, between.outcome))
    if again is None:
        return first
    return again if found is None else max(found, again, key=lambda b: _value(b, job.terms))


def inside(answer: Best | str) -> Best | None:
    """The best of an answer, where there is one and it is within strength and the search."""
    return None if isinstance(answer, str) or not answer.inside else answer


def _tried(job: Job, start: Outcome | None) -> Best | str:
    try:
        return best(job.part, job.settings, job.terms, start)
    except NotFound as fault:
        return fault.told


def _value(found: Best, terms: Terms) -> float:
    """What the objective counts of a best, without the pull to the usual positions."""
    last = len(terms.reward) - 1
    length = sum(terms.reward[min(k, last)] * f for k, f in enumerate(found.further))
    return length + terms.speed * found.speed


def ready(answer: Any) -> Future[Any]:
    """An answer that is there."""
    out: Future[Any] = Future()
    out.set_result(answer)
    return out


def pool(workers: int) -> Executor:
    if workers < 2:
        return _Here() if workers else _Kept()
    return ProcessPoolExecutor(workers, get_context("spawn"))


class _Kept(Executor):
    """Answers nothing: what is not kept is not at hand."""

    def submit(self, fn: Callable[..., Any], /, *given: Any, **more: Any) -> Future[Any]:
        raise NotKept


class _Here(Executor):
    """Answers at once, in this process."""

    def submit(self, fn: Callable[..., Any], /, *given: Any, **more: Any) -> Future[Any]:
        return ready(fn(*given, **more))
