"""What one position at the step is worth to one athlete: a curve of best motions, each within strength.

Everything before the step's landing stands as it was solved; from there the motion chooses what is left
open, and one thing is held at a row of values.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Final, Literal

from animate.motion.best import Best
from animate.motion.chain import Settings
from animate.motion.motion import Motion
from animate.motion.outcome import NotFound, Outcome, Progress
from animate.motion.solver.freed import Terms, from_contact
from animate.refused import Refused
from layout.moving.chain import body_of
from layout.moving.solved import at_hand
from layout.moving.worth_jobs import Job, inside, ready, solve
from layout.moving.worth_jobs import pool as pool_of
from layout.moving.worth_kept import Kept, NotKept, folder_of, match
from layout.moving.worth_topics import TOPICS, Topic, asked, middle_of, read
from layout.plan.value import Plan
from layout.words.faults import refuse

Aim = Literal["both", "step", "speed"]
AIMS: Final[dict[Aim, str]] = {"both": "step and jump", "step": "the step", "speed": "speed kept"}
"""What is made greatest: lengths from the landing on, the step alone, or the speed at which the step is
left at its planned length."""
STEPS: Final = 4
"""Points each side of the middle one; twice as many where the last is still the best."""
TELLS: Final = {"both": 0.03, "step": 0.03, "speed": 0.05}
"""Under this a difference is none, whatever its margin [m], [m/s] (ours: what solves of the same from other
starts were apart)."""


@dataclass(frozen=True, eq=False)
class At:
    """One point: the value held, what it gives beside the middle one [m] or [m/s], the motion."""

    value: float
    gain: float
    found: Best


@dataclass(frozen=True, eq=False)
class Worth:
    """A curve.

    points: in order of the value; all within strength.
    stops: why there is no point beyond either end: "", or what was asked too much.
    margins: of the gain at each point, the most that another strength, contact or weighting changes it,
        with `apart`; infinite where too few of them were found.
    terms: on which they were solved; `terms.strength` is the matching share of the column.
    presumed: share the athlete is taken to have.
    apart: how far solves of the same point from either neighbour were apart at most, or the deepest notch
        if more; it is in every margin.
    """

    topic: Topic
    aim: Aim
    points: tuple[At, ...]
    stops: tuple[str, str]
    margins: tuple[float, ...]
    terms: Terms
    presumed: float
    apart: float

    @property
    def top(self) -> int:
        """Number of the best point."""
        return max(range(len(self.points)), key=lambda i: self.points[i].gain)

    def loss(self, i: int) -> float:
        """How much less a point gives than the best."""
        return self.points[self.top].gain - self.points[i].gain

    def tells(self, i: int) -> bool:
        """Whether a point differs from the best by more than its margin."""
        margin = math.hypot(self.margins[i], self.margins[self.top] if i != self.top else 0.0)
        # As they are read: 7 cm with a margin of 7 tells nothing.
        least = math.inf if math.isinf(margin) else max(round(margin, 2), TELLS[self.aim])
        return round(self.loss(i), 2) > least


VARIED: Final[tuple[tuple[str, Callable[[Terms], Terms]], ...]] = (
    ("15 % less strength", lambda t: replace(t, strength=0.85 * t.strength)),
    ("15 % more strength", lambda t: replace(t, strength=1.15 * t.strength)),
    ("softer contact", lambda t: replace(t, impact=0.85 * t.impact)),
    ("harder contact", lambda t: replace(t, impact=1.2 * t.impact)),
    ("freer movement", lambda t: replace(t, shape=0.4 * t.shape)),
    ("usual movement", lambda t: replace(t, shape=2.5 * t.shape)),
)
"""What the margin is made of: strength, contact, and how much the pull to the usual positions weighs."""
LEAST: Final = 4
"""Of these, found at least for a margin."""


NEEDED: Final = "needs a drill with one step, and a hop or a run-up before it"


def step_contact_of(motion: Motion) -> int:
    """Number of the contact a step leaves from; refused where its landing cannot be held."""
    steps = [
        i for i, s in enumerate(motion.chain.supports) if s.leave == "step" and s.side != "both"
    ]
    if len(steps) != 1 or steps[0] == 0:
        raise refuse("--worth", NEEDED)
    return steps[0]


def one_step(leaves: tuple[str, ...]) -> bool:
    """Whether contacts that leave so have one step, with a hop or a run-up before it."""
    return leaves.count("step") == 1


def terms_of(aim: Aim) -> Terms:
    """The terms of an aim, its strength still to be matched."""
    if aim == "both":
        return Terms(1.0)
    if aim == "step":
        return Terms(1.0, reward=(10.0, 1.0), meets=True)
    return Terms(1.0, reward=(0.0, 1.0), speed=10.0, same=True, meets=True)


def given(found: Best, aim: Aim, back: float = 0.0) -> float:
    """What a motion gives: further than planned [m], or speed at take-off [m/s]."""
    if aim == "speed":
        return found.speed
    return back + (sum(found.further) if aim == "both" else found.further[0])


def curve(
    motion: Motion,
    of: str,
    aim: Aim,
    presumed: float,
    progress: Progress | None = None,
    workers: int = 2,
) -> Worth:
    """The curve of a topic from a solved motion.

    presumed: share of the column the athlete is taken to have.
    workers: processes that solve at once; with none, what is not kept raises `NotKept`.
    Raises `NotFound` where no strength makes the plan its best, or too few points are found.
    """
    number = step_contact_of(motion)
    part, topic = from_contact(motion, number), TOPICS[of]
    aim = "step" if aim == "both" and len(part.phases) <= 5 else aim
    count = [0]
    total = MATCHING + 2 * (2 * STEPS + 1) + 3 * len(VARIED)

    def tell() -> None:
        count[0] += 1
        if progress is not None:
            progress(min(count[0], total - 1), total)

    kept = Kept(part)
    planned = _planned(part, aim)
    terms, free = match((part, terms_of(aim)), planned, kept, tell if workers else None)
    count[0] = MATCHING - 1
    tell()
    middle = read(topic, free.outcome.motion) if topic.middle is None else topic.middle
    middle = middle_of(topic, middle)
    walk = _Walk(part, topic, terms, aim, middle, (kept, tell))
    with pool_of(workers) as pool:
        found, stops = walk.run(pool, free.outcome)
        if len(found) < 3:
            raise NotFound("worth", f"only {len(found)} positions found")
        apart = walk.swept(pool, found)
        margins = walk.margins(pool, found)
    order = sorted(found)
    gains = {k: walk.worth(k, found[k]) for k in order}
    points = tuple(At(walk.value(k), gains[k] - gains[0], found[k]) for k in order)
    apart = max(apart, _rough([gains[k] for k in order]))
    spread = tuple(math.hypot(margins[k], apart) for k in order)
    return Worth(topic, aim, points, stops, spread, terms, presumed, apart)


def kept_curve(plan: Plan, of: str, aim: Aim) -> Worth | None:
    """A plan's curve, where every point of it is kept; none is solved.

    Raises `NotFound` where it is kept that there is none.
    """
    try:
        return _kept(plan, of, aim, folder_of())
    except NotKept:
        return None


@lru_cache(maxsize=4)
def _kept(plan: Plan, of: str, aim: Aim, folder: Path) -> Worth:
    return curve(_motion(plan, folder), of, aim, body_of(plan).strength, workers=0)


@lru_cache(maxsize=4)
def _motion(plan: Plan, _: Path) -> Motion:
    """A plan's motion, read once for all its topics and aims."""
    motion = at_hand(plan, Settings())
    if motion is None:
        raise NotKept
    return motion


MATCHING: Final = 10
"""Solves that matching a strength takes, about."""


def _planned(part: Motion, aim: Aim) -> Callable[[Best], float]:
    if aim == "speed":
        speed = float(part.phases[3].velocity[0])
        return lambda b: 0.5 * (b.speed - speed)
    return lambda b: given(b, aim)


class _Walk:
    """Points outward from the middle, each from the one before, both ways at once."""

    def __init__(
        self,
        part: Motion,
        topic: Topic,
        terms: Terms,
        aim: Aim,
        middle: float,
        keep: tuple[Kept, Callable[[], None]],
    ) -> None:
        self.part, self.topic, self.terms, self.aim, self.middle = part, topic, terms, aim, middle
        self.kept, self.tell = keep
        self.known: set[Job] = set()

    def value(self, k: int) -> float:
        """The value of point k, 0 in the middle."""
        return self.middle + k * self.topic.step

    def worth(self, k: int, found: Best) -> float:
        """What a best at point k gives, with how much the hop before grows there."""
        back = asked(self.topic, self.value(k), self.part, self.terms)[2]
        return given(found, self.aim, back)

    def _job(self, k: int, varied: int, start: Outcome | None) -> Job:
        terms = VARIED[varied][1](self.terms) if varied >= 0 else self.terms
        settings, terms, _ = asked(self.topic, self.value(k), self.part, terms)
        return Job(k, varied, self.part, settings, terms, start)

    def _outward(self, k: int, way: int, inner: Best) -> Job | None:
        """The job next to a point; None where its value may not be asked."""
        try:
            job = self._job(k + way, -1, inner.outcome)
        except Refused:
            return None
        value = (self.value(k) + self.value(k + way)) / 2
        settings, terms, _ = asked(self.topic, value, self.part, self.terms)
        return replace(job, inner=inner, half=(settings, terms))

    def _ask(self, pool: Executor, job: Job) -> Future[Best | str]:
        """The answer to a job, kept or to come."""
        kept = self.kept.get(job.settings, job.terms, job.way)
        if kept is None:
            return pool.submit(solve, job)
        self.known.add(job)
        return ready(kept)

    def _answer(self, job: Job, future: Future[Best | str]) -> Best | str:
        """What came of a job, kept unless it was."""
        answer = future.result()
        if job not in self.known:
            self.kept.put(job.settings, job.terms, answer, job.way)
        self.tell()
        return answer

    def run(self, pool: Executor, start: Outcome) -> tuple[dict[int, Best], tuple[str, str]]:
        """Best motions by place, and why there are none beyond each end."""
        middle = self._job(0, -1, start)
        first = self._answer(middle, self._ask(pool, middle))
        if isinstance(first, str):
            raise NotFound("worth", "no motion within strength at the middle")
        found: dict[int, Best] = {0: first}
        stopped: set[int] = set()
        waiting: dict[Future[Best | str], Job] = {}
        for way in (-1, 1):
            if begin := self._outward(0, way, first):
                waiting[self._ask(pool, begin)] = begin
        while waiting:
            done, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in done:
                job = waiting.pop(future)
                k, way = job.at, 1 if job.at > 0 else -1
                answer = inside(self._answer(job, future))
                if answer is None:
                    stopped.add(way)
                    continue
                found[k] = answer
                on = abs(k) < STEPS or (abs(k) < 2 * STEPS and self._rises(found, k))
                if on and (then := self._outward(k, way, answer)):
                    waiting[self._ask(pool, then)] = then
        low = _limit(found, min(found)) if -1 in stopped else ""
        return found, (low, _limit(found, max(found)) if 1 in stopped else "")

    def _rises(self, found: dict[int, Best], k: int) -> bool:
        """Whether a point is the best so far."""
        return max(found, key=lambda i: self.worth(i, found[i])) == k

    def swept(self, pool: Executor, found: dict[int, Best]) -> float:
        """Every point once more from either neighbour, going up the row of values and down it, the best of
        all kept; returns how far answers to the same were apart at most."""
        usual, order = dict(found), sorted(found)
        rows = {1: order, -1: order[::-1]}
        waiting: dict[Future[Best | str], tuple[Job, int]] = {}

        def ask(way: int, i: int, carried: Best) -> None:
            row = rows[way]
            # Outward from what it was found from, it would be found again.
            while i < len(row) and way * row[i] > 0 and carried is usual[row[i - 1]]:
                carried, i = usual[row[i]], i + 1
            if i == len(row):
                return
            job = replace(self._job(rows[way][i], -1, carried.outcome), way=f"swept {way}")
            waiting[self._ask(pool, job)] = job, i

        off = [0.0]
        for way, row in rows.items():
            ask(way, 1, usual[row[0]])
        while waiting:
            done, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in done:
                job, i = waiting.pop(future)
                answer, k = inside(self._answer(job, future)), job.at
                carried, way = usual[k], 1 if job.way == "swept 1" else -1
                if answer is not None:
                    again = self.worth(k, answer)
                    off.append(abs(again - self.worth(k, usual[k])))
                    carried = answer if again > self.worth(k, usual[k]) else usual[k]
                    found[k] = answer if again > self.worth(k, found[k]) else found[k]
                ask(way, i + 1, carried)
        return max(off)

    def margins(self, pool: Executor, found: dict[int, Best]) -> dict[int, float]:
        """Margin of the gain of each point: solved at both ends and the middle, between them in
        proportion to how far it is from the middle."""
        places = sorted({min(found), 0, max(found)})
        jobs = [self._job(k, v, found[k].outcome) for k in places for v in range(len(VARIED))]
        futures = [self._ask(pool, job) for job in jobs]
        got: dict[tuple[int, int], float] = {}
        for job, future in zip(jobs, futures, strict=True):
            answer = inside(self._answer(job, future))
            if answer is not None:
                got[job.at, job.varied] = self.worth(job.at, answer)
        usual = {k: self.worth(k, found[k]) for k in found}
        ends: dict[int, float] = {0: 0.0}
        for k in places:
            off = [
                abs(got[k, v] - got[0, v] - usual[k] + usual[0])
                for v in range(len(VARIED))
                if (k, v) in got and (0, v) in got
            ]
            if k:
                ends[k] = max(off) if len(off) >= LEAST else math.inf
        return {k: _between(k, ends) for k in found}


def _rough(gains: list[float]) -> float:
    """Deepest notch of a curve that ought to bend one way only: how far solves are apart."""
    triples = zip(gains, gains[1:], gains[2:], strict=False)
    return max((max((a + c) / 2 - b, 0.0) for a, b, c in triples), default=0.0)


def _between(k: int, ends: dict[int, float]) -> float:
    if k == 0:
        return 0.0
    end = min(ends) if k < 0 else max(ends)
    return ends[end] * k / end


def _limit(found: dict[int, Best], end: int) -> str:
    """What is asked most more at an end than in the middle: the greatest growth of a shadow price."""
    here, middle = found[end].loads, found[0].loads
    grown = {name: here[name] - middle[name] for name in here}
    return max(grown, key=lambda name: grown[name])
