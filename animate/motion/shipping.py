"""Chains sketched by simple mechanics, whose motions are shipped for a solver to start from."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from animate.body.body import Body
from animate.body.body import body as make_body
from animate.body.stances import GRAVITY
from animate.motion.chain import SAND_TIME, Arrive, Chain, Foot, Leave, Settings, Support, Surface


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

    effort: factor on the speeds; they also grow with the square root of the leg's length.
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


def shelf() -> Iterator[tuple[str, Chain, Body, Settings]]:
    """Every chain of the library that is only sketched, with its file's name."""
    for stature, mass, effort in ((1.75, 70.0, 1.0), (1.62, 54.0, 0.92), (1.88, 82.0, 1.0)):
        who = make_body(stature, mass)
        for sketch in sketches():
            name, chain = f"{sketch.name}-{int(stature * 100)}", chain_for(sketch, who, effort)
            yield f"{name}.json.gz", chain, who, Settings()
            if stature == 1.75 and sketch.name in ("triple", "two-hops-step"):
                for tag, settings in VARIANTS.items():
                    yield f"{name}-{tag}.json.gz", chain, who, settings


VARIANTS: Final = {
    "gap25": Settings(knee_gap=0.25),
    "gap45": Settings(knee_gap=0.45),
    "bend55": Settings(knee_bend=math.radians(55)),
    "bend115": Settings(knee_bend=math.radians(115)),
    "thigh86": Settings(thigh_high=math.radians(86), hold=0.12),
    "together": Settings(arms="together"),
}
"""Positions asked of two of the sketches."""
