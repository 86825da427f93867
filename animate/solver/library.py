"""Solved motions that come with the program: starts for new ones.

``python -m animate.solver.library`` solves them anew and writes them to animate/motions.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np

from animate.body import Array, Body
from animate.body import body as make_body
from animate.chain import SAND_TIME, Arrive, Chain, Foot, Leave, Settings, Support, Surface
from animate.motion import Motion
from animate.solver.form import FREE_MIRROR, Phase, Slot, slots
from animate.stances import GRAVITY

FOLDER: Final = Path(__file__).parent.parent / "motions"


def _kind(chain: Chain, settings: Settings) -> str:
    from animate.solve import structure

    return f"{structure(chain)}|{settings.arms}"


def features(chain: Chain, body: Body, settings: Settings) -> Array:
    """What makes two motions of one kind alike, each figure scaled to matter about the same."""
    leg = body.leg
    out = [body.stature / 0.15]
    for s, then in zip(chain.supports, chain.supports[1:], strict=False):
        out += [(then.toe - s.toe) / leg / 0.4, s.vx / 0.6, s.vy / 0.25, s.duration / 0.03]
    for value, usual, scale in (
        (settings.knee_gap, 0.32, 0.08),
        (settings.knee_bend, math.radians(82), 0.4),
        (settings.thigh_high, math.radians(76), 0.2),
        (settings.hold, 0.1, 0.1),
        (settings.trunk, -0.05, 0.1),
    ):
        out.append((usual if value is None else value) / scale)
    return np.array(out)


@lru_cache(maxsize=1)
def shipped() -> tuple[Path, ...]:
    """Files of the library."""
    return tuple(sorted(FOLDER.glob("*.json.gz")))


@lru_cache(maxsize=1)
def motions() -> tuple[Motion, ...]:
    """The library, read once."""
    return tuple(Motion.load(path) for path in shipped())


def nearest(chain: Chain, body: Body, settings: Settings) -> Motion | None:
    """The library's motion of the same kind that is most like what is asked, or None."""
    kind = _kind(chain, settings)
    loose = kind.rsplit("|", 1)[0]
    want = features(chain, body, settings)
    best: tuple[float, Motion] | None = None
    for m in motions():
        own = _kind(m.chain, m.settings)
        if own.rsplit("|", 1)[0] != loose:
            continue
        gap = float(np.linalg.norm(features(m.chain, m.body, m.settings) - want))
        gap += 3.0 if own != kind else 0.0
        if best is None or gap < best[0]:
            best = (gap, m)
    return None if best is None else best[1]


def patchwork(chain: Chain, body: Body, settings: Settings) -> Motion | None:
    """A start for a chain of a kind the library has not: phases taken from its motions.

    Each phase comes from the motion whose phase is of the same kind, between the same moves, and
    nearest in speed and stature; turned round where it is of the other leg. None when some phase
    has no like.
    """
    phases: list[Phase] = []
    wanted = slots(chain)
    pool = [(_place(p.slot), p, m) for m in motions() for p in m.phases]
    for slot in wanted:
        want = _place(slot)
        like = [(p, m) for place, p, m in pool if place == want]
        if not like:  # a landing from a hop will do for one from a step
            like = [(p, m) for place, p, m in pool if place[:5] == want[:5] and slot.then is None]
        if not like:
            return None

        def apart(pair: tuple[Phase, Motion], slot: Slot = slot) -> float:
            other = pair[0].slot.support
            return (
                abs(other.vx - slot.support.vx) / 0.6
                + abs(other.vy - slot.support.vy) / 0.25
                + abs(pair[1].body.stature - body.stature) / 0.15
                + (3.0 if pair[1].settings.arms != settings.arms else 0.0)
            )

        best = min(like, key=apart)[0]
        phases.append(best if _foot(best.slot) == _foot(slot) else _turned(best))
    return Motion(body, chain, settings, tuple(phases))


def _foot(slot: Slot) -> str:
    """The side that tells a phase from its mirror image."""
    if slot.support.side != "both":
        return slot.support.side
    if slot.then is not None and slot.then.side != "both":
        return "l" if slot.then.side == "r" else "r"
    return "r"


def _place(slot: Slot) -> tuple[object, ...]:
    """What a phase stands between."""
    s = slot.support
    out: tuple[object, ...] = (slot.kind, s.leave, s.surface, s.side == "both", slot.breaks)
    if slot.kind == "contact":
        return (*out, s.arrive)
    assert slot.then is not None
    return (*out, slot.then.side == "both", slot.then.surface)


def _turned(phase: Phase) -> Phase:
    return replace(phase, angles=phase.angles[:, FREE_MIRROR])


@dataclass(frozen=True)
class Sketch:
    """A chain by simple mechanics, for the library: moves, sides, speeds."""

    name: str
    moves: tuple[Leave, ...]
    sides: tuple[Foot, ...]
    speed: float
    rises: tuple[float, ...]
    arrive: Arrive = "run"
    surface: Surface = "sand"
    loss: float = 0.08


# Distances of the toe from the centre of mass in leg lengths (ours, near the planner's).
_BEHIND: Final = 0.58
_BEHIND_RUN: Final = 0.60
_BEFORE: Final = 0.50
_BEFORE_RUN: Final = 0.30
_BEFORE_SAND: Final = 0.46


def chain_for(sketch: Sketch, body: Body, effort: float = 1.0) -> Chain:
    """Contacts of a sketch for one athlete.

    Each phase is take-off distance + vx t + landing distance; a contact lasts as long as the
    centre of mass takes over the foot.

    Parameters
    ----------
    sketch : Sketch
    body : Body
    effort : float
        Factor on the speeds; they also grow with the square root of the leg's length.

    Returns
    -------
    Chain
    """
    leg = body.leg
    scale = effort * math.sqrt(leg / 0.9275)
    x, before, speed, arrive = 0.0, _BEFORE_RUN * leg, sketch.speed * scale, sketch.arrive
    supports: list[Support] = []
    flights: list[float] = []
    for i, (move, rise) in enumerate(zip(sketch.moves, sketch.rises, strict=True)):
        up = rise * scale
        stand = arrive == "stand"
        after = speed * (1 - (sketch.loss if move != "run" and not stand else 0.0))
        behind = (0.50 if stand else _BEHIND if move != "run" else _BEHIND_RUN) * leg
        time = 0.62 if stand else (before + behind) / ((speed + after) / 2)
        supports.append(
            Support(
                sketch.sides[i], x, arrive, move, 0.0 if stand else speed, after, up, time, "track"
            )
        )
        if i + 1 == len(sketch.moves) and sketch.surface == "sand":
            before, drop = _BEFORE_SAND * leg, 0.45 * leg
        elif move == "run":
            before, drop = _BEFORE_RUN * leg, 0.01 * leg
        else:
            before, drop = _BEFORE * leg, 0.06 * leg
        flight = (up + math.sqrt(up * up + 2 * GRAVITY * drop)) / GRAVITY
        x += behind + after * flight + before
        flights.append(flight)
        speed = after
        arrive = move if move in ("run", "hop", "step", "jump") else "run"
    last = min(leg / max(speed, 1.0), 0.35)
    if sketch.surface == "sand":
        last = SAND_TIME[sketch.sides[-1]]
    supports.append(
        Support(sketch.sides[-1], x, arrive, "end", speed, 0.6 * speed, 0.0, last, sketch.surface)
    )
    return Chain(tuple(supports), tuple(flights))


def sketches() -> tuple[Sketch, ...]:
    """The chains of the library, before they are fitted to an athlete."""

    def run(
        name: str, moves: str, sides: str, speed: float, rises: list[float], **more: object
    ) -> Sketch:
        words: dict[str, Leave] = {"h": "hop", "s": "step", "j": "jump", "r": "run"}
        feet: dict[str, Foot] = {"r": "r", "l": "l", "b": "both"}
        return Sketch(
            name, tuple(words[m] for m in moves), tuple(feet[s] for s in sides), speed,
            tuple(rises), **more,  # type: ignore[arg-type]
        )  # fmt: skip

    return (
        run("triple", "rhsj", "lrrlb", 7.7, [0.4, 2.1, 1.6, 2.05]),
        run("hop-step-sand", "rhs", "lrrb", 6.8, [0.4, 1.9, 1.7], loss=0.06),
        run("hop-step-sand-run-on", "rhs", "lrrl", 6.8, [0.4, 1.9, 1.7], loss=0.06),
        run("two-hops-step-sand", "rhhs", "lrrrb", 6.6, [0.4, 1.8, 1.7, 1.6], loss=0.06),
        run("two-hops-step-sand-run-on", "rhhs", "lrrrl", 6.6, [0.4, 1.8, 1.7, 1.6], loss=0.06),
        run("two-hops-step", "rhhs", "lrrrl", 6.6, [0.4, 1.8, 1.7, 1.6], loss=0.05,
            surface="track"),
        run("three-hops-step", "rhhhs", "lrrrrl", 6.6, [0.4, 1.8, 1.7, 1.7, 1.6], loss=0.05,
            surface="track"),
        run("bounds", "rssss", "lrlrlr", 6.2, [0.4, 1.7, 1.7, 1.7, 1.7], loss=0.02,
            surface="track"),
        run("hops", "rhhhh", "lrrrrr", 5.6, [0.4, 1.8, 1.8, 1.8, 1.8], loss=0.03,
            surface="track"),
        run("step-jump", "rsj", "lrlb", 6.8, [0.4, 1.7, 2.1], loss=0.06),
        run("standing-triple", "hsj", "brlb", 3.0, [1.9, 1.6, 1.8], loss=-0.05, arrive="stand"),
        run("standing-hop-step", "hs", "brl", 2.6, [1.6, 1.5], loss=0.0, arrive="stand",
            surface="track"),
    )  # fmt: skip


def generate(folder: Path = FOLDER, say: bool = True) -> list[str]:
    """Solve the library anew; returns a line on each motion."""
    from animate.solve import NotFound, solve_timed
    from animate.solver.check import check

    lines: list[str] = []
    wanted: list[tuple[str, Chain, Body, Settings]] = []
    builds = ((1.75, 70.0, 1.0), (1.62, 54.0, 0.92), (1.88, 82.0, 1.0))
    plain = Settings()
    for k, (stature, mass, effort) in enumerate(builds):
        body = make_body(stature, mass)
        for sketch in sketches():
            name = f"{sketch.name}-{int(stature * 100)}"
            wanted.append((name, chain_for(sketch, body, effort), body, plain))
            if k == 0 and sketch.name in ("triple", "two-hops-step"):
                chain = chain_for(sketch, body, effort)
                for tag, settings in _variants():
                    wanted.append((f"{name}-{tag}", chain, body, settings))
    for name, chain, body, settings in wanted:
        path = folder / f"{name}.json.gz"
        if path.is_file():
            continue
        near = _first(folder, chain)
        try:
            motion, how = solve_timed(chain, body, settings, near)
        except NotFound as fault:
            lines.append(f"{name}: {fault}")
        else:
            report = check(motion)
            motion.save(path)
            lines.append(
                f"{name}: {how.iterations} steps, {how.seconds:.1f} s, {how.rounds} rounds; "
                f"{'; '.join(report.faults) or 'holds'}"
            )
        if say:
            sys.stderr.write(lines[-1] + "\n")
    return lines


def _first(folder: Path, chain: Chain) -> Motion | None:
    """A motion of the same kind already in the folder, to start from."""
    from animate.solve import structure

    for path in sorted(folder.glob("*-175.json.gz")):
        motion = Motion.load(path)
        if structure(motion.chain) == structure(chain):
            return motion
    return None


def _variants() -> list[tuple[str, Settings]]:
    plain = Settings()
    return [
        ("gap25", replace(plain, knee_gap=0.25)),
        ("gap45", replace(plain, knee_gap=0.45)),
        ("bend55", replace(plain, knee_bend=math.radians(55))),
        ("bend115", replace(plain, knee_bend=math.radians(115))),
        ("thigh86", replace(plain, thigh_high=math.radians(86), hold=0.12)),
        ("together", replace(plain, arms="together")),
    ]


if __name__ == "__main__":
    generate()
