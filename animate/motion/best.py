"""The best a body can make of a landing: longest, or with most speed kept, within its strength."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from animate.body.body import Array
from animate.motion.chain import Settings
from animate.motion.check import Missed, check
from animate.motion.dynamics import ground_force, moments
from animate.motion.motion import Motion
from animate.motion.outcome import NotFound, Outcome
from animate.motion.solver import interior
from animate.motion.solver.assemble import Weak
from animate.motion.solver.freed import IMPACT_UNTIL, Freed, Terms, moved
from animate.motion.solver.run import Watch, begun, threads
from animate.motion.solver.weak import weak_points
from animate.motion.strength import SLACK, asked

STEPS: Final = 250
ROUNDS: Final = 3
"""Solves with instants added, at most."""
WHOLE: Final = interior.Near(whole=True)
PRESSED: Final = 0.02
"""A row whose multiplier is more is held there: its room is under a twentieth of its bound."""
EDGE: Final = 0.01
"""Nearer than this share of a range to its end, an answer is the range's and not the body's."""
MATCHED: Final = 0.02
"""How near a matched length is to the planned one [m]."""
NEAR: Final = 0.5
"""Within this of the planned length a solve on the way to a matching strength is done in full [m]."""
STRENGTHS: Final = (0.05, 1.6)
IMPACTS: Final = (2.0, 2.6, 3.4)
"""Where a matching strength, and the share let through in an impact, are sought (ours)."""

GROUPS: Final = {
    "hip": "hip of the take-off leg", "knee": "knee of the take-off leg",
    "ankle": "ankle of the take-off leg", "free hip": "hip of the free leg",
    "free knee": "knee of the free leg", "shoulder": "arms on the ground",
    "elbow": "arms on the ground", "grip": "grip of the foot", "cop": "length of the foot",
    "fz": "force of the foot", "air hip": "hips in the hop's flight",
    "air knee": "knees in the hop's flight", "air shoulder": "arms in the hop's flight",
    "air elbow": "arms in the hop's flight",
}  # fmt: skip
"""What may limit a motion, by the rows of the program."""


@dataclass(frozen=True, eq=False)
class Best:
    """The best motion on some terms.

    outcome: its motion begins with the contact before the landing; `point` starts the next.
    further: by how much each phase from that landing on is longer than planned [m].
    speed: horizontal, at take-off of that contact [m/s].
    over: times over the column that legs are asked for; 1 is inside.
    edges: what lies at the end of a range of the search; none in an answer.
    loads: what a tenth more of something would give, in the objective, by `GROUPS`: a shadow price.
    """

    outcome: Outcome
    further: tuple[float, ...]
    speed: float
    over: float
    edges: tuple[str, ...]
    loads: dict[str, float]

    @property
    def inside(self) -> bool:
        """Whether it is an answer: within strength, at no bound of the search."""
        return self.over <= SLACK and not self.edges


def best(
    part: Motion,
    settings: Settings,
    terms: Terms,
    start: Outcome | None = None,
    tell: Callable[[], None] | None = None,
    rounds: int = ROUNDS,
) -> Best:
    """Solve on these terms, from another outcome of the same part or from the part as it was solved.

    rounds: solves with instants added, at most; with none it is a rough one, strained between instants.
    Raises `NotFound` where no motion is found.
    """
    with threads().limit(limits=1, user_api="blas"):
        if start is None or not rounds:
            build = Freed(part, settings, terms, close=False)
            start = outcome = _solved(build, start, tell)
        if rounds:
            build, outcome = _held(
                Freed(part, settings, terms, [_pressed(start)]), start, rounds, tell
            )
    x = outcome.point.x
    further = tuple(float(x[build.further[i]]) for i in sorted(build.further))
    fall = build.places[3].fall
    assert fall is not None
    figures = float(x[fall[2]]), _over(build, x), _edges(build, x)
    return Best(outcome, further, *figures, _loads(outcome))


def _held(
    build: Freed, start: Outcome, rounds: int, tell: Callable[[], None] | None
) -> tuple[Freed, Outcome]:
    """Solved with instants added where a promise is missed or a leg strained between them."""
    outcome = _solved(build, start, tell)
    extra: list[Weak] = [_pressed(start)]
    while len(extra) <= rounds:
        more = strained(outcome.motion, build.terms)
        if late(outcome.motion):
            for k, at in weak_points(outcome.motion).items():
                more[k] = sorted({*more.get(k, ()), *at})
        more = {k: at for k, at in more.items() if k > 1}
        if not more:
            break
        extra.append(more)
        build = Freed(build.part, build.settings, build.terms, extra)
        outcome = _solved(build, outcome, tell)
    return build, outcome


def _pressed(start: Outcome) -> dict[int, list[float]]:
    """Instants of contacts at which a start is held by some row: its own best needed them too."""
    found: dict[int, set[float]] = {}
    for label, price in zip(start.labels, start.point.y, strict=True):
        phase, _, rest = label.partition(":")
        tau = rest.partition(":")[0]
        if abs(price) > PRESSED and phase.isdigit() and tau.count(".") == 1 and int(phase) > 1:
            found.setdefault(int(phase), set()).add(float(tau))
    return {k: sorted(at) for k, at in found.items() if k % 2 == 0}


def _solved(build: Freed, start: Outcome | None, tell: Callable[[], None] | None) -> Outcome:
    program = build.program()
    ended = interior.solve(program, *begun(build, program, start or build.part), WHOLE, tell, STEPS)
    if not ended.ok:
        # Once more from where it got to, its search begun anew.
        ended = interior.solve(program, ended.point.x, ended.point, WHOLE, tell, STEPS)
    if not ended.ok:
        # Once more from where it got to, the multipliers forgotten.
        ended = interior.solve(program, ended.point.x, None, WHOLE, tell, STEPS)
    if not ended.ok and start is not None:
        # And from the motion as it was planned.
        ended = interior.solve(program, *begun(build, program, build.part), WHOLE, tell, STEPS)
    if not ended.ok:
        raise Watch().lost(f"hardest: {ended.label}, off by {ended.over:.2g}")
    return Outcome(moved(build, ended.point.x), ended.point, tuple(program.labels), ended.steps)


def late(motion: Motion) -> list[Missed]:
    """Promises of mechanics that a best motion misses from its landing on; what comes before is as it was
    solved, and does not lead into it without a jolt."""
    before = ("contact 1", "flight after contact 1", "")
    return [fault for fault in check(motion).faults if fault.where not in before]


def strained(motion: Motion, terms: Terms) -> dict[int, list[float]]:
    """Fractions of each contact from the landing on where a leg is asked for more than it may give after
    the impact, as solved only at instants."""
    out: dict[int, list[float]] = {}
    body = replace(motion.body, strength=terms.strength)
    for k, phase in enumerate(motion.phases):
        support = phase.slot.support
        if k < 2 or phase.slot.kind != "contact" or support.leave == "end":
            continue
        begins = motion.starts[k] + IMPACT_UNTIL * phase.duration
        f = motion.frames(np.arange(begins, motion.starts[k + 1] - 1e-9, 0.001), k)
        torque = moments(motion, f, *ground_force(motion, f), support.side)
        # Toes are raised under a ceiling of our own, which the column's is under.
        at = {round(float((a.at - motion.starts[k]) / phase.duration), 3)
              for a in asked("", torque, f, body) if not a.joint.endswith("ankle+")}  # fmt: skip
        if at:
            out[k] = sorted(at)
    return out


def _loads(outcome: Outcome) -> dict[str, float]:
    out = dict.fromkeys(GROUPS.values(), 0.0)
    for label, y in zip(outcome.labels, outcome.point.y, strict=True):
        phase, _, name = label.split(":", 2) if label.count(":") > 1 else ("", "", label)
        words = name.replace("free_", "free ").replace("r_", "").replace("l_", "").split(" ")
        joint = " ".join(words[:2] if words[0] == "free" else words[:1]).strip("+-")
        group = GROUPS.get(("air " if phase == "1" else "") + joint)
        if group is not None and phase in ("1", "2"):
            out[group] += abs(float(y)) / 10
    return {name: round(value, 4) for name, value in out.items()}


def _over(build: Freed, x: Array) -> float:
    worst = 1.0
    for slot, place in zip(build.phases[2:], build.places[2:], strict=True):
        if place.slack is not None and slot.support.leave != "end":
            worst = max(worst, float(x[place.slack].max()))
    return worst


def _edges(build: Freed, x: Array) -> tuple[str, ...]:
    """Names of what stands at an end of its range."""
    cols: list[tuple[str, int]] = []
    rewarded = len(build.terms.reward)
    for i, (slot, place) in enumerate(zip(build.phases, build.places, strict=True)):
        if i < 2 or (i > 3 and rewarded == 1):
            continue
        if slot.kind == "flight":
            assert place.fall is not None
            cols += [("speed", int(place.fall[2])), ("rise", int(place.fall[3]))]
            cols.append(("length", build.further[i]))
        if slot.kind == "flight" or slot.support.leave != "end":
            cols.append((f"{slot.kind} time", place.time))
    out = []
    for name, col in cols:
        low, high = build.low[col], build.high[col]
        if high > low and min(x[col] - low, high - x[col]) < EDGE * (high - low):
            out.append(name)
    return tuple(out)


def matched(
    part: Motion,
    terms: Terms,
    worth: Callable[[Best], float],
    tell: Callable[[Best], None] | None = None,
) -> tuple[Terms, Best]:
    """The share of the column with which the best on these terms is what was planned, and that best.

    worth: what is to be nought there [m].
    tell: told each best on the way.
    Raises `NotFound` where there is none within `STRENGTHS`.
    """
    for impact in IMPACTS:
        found = _matched(part, replace(terms, impact=impact), worth, tell)
        if found is not None:
            return found
    raise NotFound("strength", "none at which the best is the planned length")


def _matched(
    part: Motion,
    terms: Terms,
    worth: Callable[[Best], float],
    tell: Callable[[Best], None] | None,
) -> tuple[Terms, Best] | None:
    start: Outcome | None = None
    low: tuple[float, float] | None = None
    high: tuple[float, float] | None = None
    tried: list[tuple[float, float]] = []
    share, plain = 1.0, Settings(arms=part.settings.arms)
    for _ in range(10):
        try:
            near = bool(tried) and abs(tried[-1][1]) < NEAR
            on = replace(terms, strength=share)
            found = best(part, plain, on, start, rounds=ROUNDS if near else 0)
            if tell is not None:
                tell(found)
        except NotFound:
            if start is None:
                share *= 0.8
                continue
            low = (share, -0.5) if low is None else low
            share = (share + (high[0] if high else 1.0)) / 2
            continue
        start, gain = found.outcome, worth(found)
        if abs(gain) <= MATCHED and near:
            return (replace(terms, strength=share), found) if found.inside else None
        if gain > 0:
            high = share, gain
        else:
            low = share, gain
        tried.append((share, gain))
        if low and high:
            share = low[0] * (high[0] / low[0]) ** (low[1] / (low[1] - high[1]))
        else:
            share *= _onward(tried)
        if not STRENGTHS[0] <= share <= STRENGTHS[1]:
            return None
    return None


def _onward(tried: list[tuple[float, float]]) -> float:
    """By what to multiply the last share tried: lengths grow with its logarithm, nearly."""
    usual = 0.78 if tried[-1][1] > 0 else 1.25
    if len(tried) < 2:
        return usual
    (before, first), (here, then) = tried[-2:]
    grows = (then - first) / math.log(here / before)
    return usual if grows <= 0 else min(max(math.exp(-1.05 * then / grows), 0.55), 1.5)
