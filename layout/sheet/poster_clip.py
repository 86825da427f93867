"""The teaching poster in motion: its pairs one after the other, held at the instant they are about."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from animate.body.figure import path
from animate.body.shapes import Role, Shape
from animate.body.wording import TIMES, typeset
from animate.film.scene import Caption, Panel, Scene
from animate.film.staging import (
    bodies_of,
    coms_of,
    figures_of,
    following_cameras,
    noted,
    text_height,
)
from animate.film.take import Note, Schedule, Take, schedule
from animate.film.themes import theme as theme_named
from layout.moving.clip import AFTER, BEFORE, ground_at
from layout.page.widths import wrapped
from layout.sheet.poster_pairs import COMPUTED, Pair, Shown, caution_of
from layout.sheet.texts import TURN

HELD: Final = 3.0
"""How long each pair rests at its instant [s] (ours)."""
SLOW: Final = 4.0
WIDTH: Final = 960
HIGH: Final = 440
"""Size of the picture, and of its panels in height [px]; its whole height is what the texts need."""
SMALL: Final = 0.8
"""Em of the small text, and the room for the values over it, in units of normal text."""
VALUES: Final = 5.0


def _schedule(pair: Pair, fps: float) -> Schedule:
    """Instants counted from the one the pair is about."""
    start = -min(BEFORE, *(s.pose.time for s in pair.sides))
    end = min(AFTER, *(s.way.motion.duration - s.pose.time for s in pair.sides))
    return schedule(start, end, fps, SLOW, ((0.0, HELD),))


def _take(shown: Shown, plan: Schedule) -> Take:
    """A way's bodies at the schedule's instants, from the step contact's mark."""
    motion = shown.way.motion
    at = np.clip(np.array(plan.instants) + shown.pose.time, 0.0, motion.duration)
    frames = motion.frames(at)
    toe = motion.chain.supports[shown.step.index].toe
    off = np.array([toe, 0.0])
    ground = ground_at(shown.way.plan, toe)
    return Take(frames.positions - off, frames.com - off, shown.name, "r", ground)


def _moving(take: Take, plan: Schedule, shown: Shown) -> tuple[tuple[Shape, ...], ...]:
    """Each frame's path, body and what is measured on it."""
    bodies, coms = bodies_of(take, plan, shown.name), coms_of(take, plan, shown.name)
    notes = (Note(0.0, 0.0, shown.draw, ""),) if shown.draw else ()
    way = path(coms)
    return tuple(
        (*way, *frame) for frame in noted(figures_of(take, bodies, coms), bodies, plan, notes)
    )


def _told(pair: Pair, lead: str, caution: str, unit: float) -> list[tuple[str, Role, bool]]:
    """Lines of small text under a pair: what they say, their colour, and whether they are bold."""
    room = WIDTH - 1.2 * unit
    out: list[tuple[str, Role, bool]] = []
    for text, role, bold in (
        (f"{pair.moment}. Difference: {pair.difference}", "text", True),
        (f"{COMPUTED} {pair.computed}", "text", False),
        (f"{pair.said_by} {pair.practice}", "text", False),
        (lead, "quiet", False),
        (caution, "warn", True),
    ):
        out += [(line, role, bold) for line in wrapped(text, SMALL * unit, room, bold)]  # type: ignore[misc]
    return out


def _texts(pair: Pair, lead: str, caution: str, unit: float, top: float) -> tuple[Caption, ...]:
    """Names over the panels, values and what is known under them."""
    out: list[Caption] = []
    edge = 0.6 * unit
    for shown, x in zip(pair.sides, (0.25 * WIDTH, 0.75 * WIDTH), strict=True):
        out.append(Caption((x, 1.75 * unit), shown.name, 1.5 * unit, "text", "middle", True))
        y = top + 2.1 * unit
        out.append(Caption((x, y), shown.value, 2.2 * unit, "measure", "middle", True))
        y += 1.3 * unit
        out.append(Caption((x, y), ", ".join(shown.what), 0.85 * unit, "text", "middle"))
    y = top + VALUES * unit
    for line, role, bold in _told(pair, lead, caution, unit):
        out.append(Caption((edge, y), line, SMALL * unit, role, "left", bold))
        y += TURN * SMALL * unit
    return tuple(out)


def _clock(plan: Schedule, frame: int, unit: float) -> Caption:
    instant = plan.instants[frame]
    pace = "held" if frame in plan.held else f"{plan.slow:g}{TIMES} slower"
    said = typeset(f"{instant:+.2f}" if abs(instant) > 5e-3 else "0.00") + f" s · {pace}"
    return Caption((WIDTH / 2, 1.6 * unit), said, 0.7 * unit, "quiet", "middle")


def poster_clip(
    pairs: Sequence[Pair],
    title: str,
    lead: str,
    theme: str = "light",
    fps: float = 25.0,
) -> Scene:
    """The pairs one after the other, both ways side by side at one scale; still, the first is held.

    The lead says whose motion it is; fps [1/s].
    """
    caution = caution_of(pairs)
    unit = text_height((WIDTH, 540))
    head = round(2.6 * unit)
    lines = max(len(_told(pair, lead, caution, unit)) for pair in pairs)
    foot = math.ceil((VALUES + TURN * SMALL * lines) * unit)
    height = head + HIGH + foot + (head + HIGH + foot) % 2
    wide = (WIDTH - 8) // 2
    boxes = [(0, head, wide, HIGH), (WIDTH - wide, head, wide, HIGH)]
    plans = [_schedule(pair, fps) for pair in pairs]
    takes = [_take(s, plan) for pair, plan in zip(pairs, plans, strict=True) for s in pair.sides]
    many = [bodies_of(take, plans[i // 2], take.name) for i, take in enumerate(takes)]
    views = following_cameras(takes, many, boxes * len(pairs), 0.9 * unit)
    panels = []
    for side, box in enumerate(boxes):
        cameras = tuple(c for view in views[side::2] for c in view[0])
        # The sand lies elsewhere when the hop is another one: each pair has its own ground.
        moving = tuple(
            (*views[2 * i + side][1], *frame)
            for i, pair in enumerate(pairs)
            for frame in _moving(takes[2 * i + side], plans[i], pair.sides[side])
        )
        panels.append(Panel(box, cameras, (), moving, 0.9 * unit, framed=True))
    captions = [
        (*_texts(pair, lead, caution, unit, head + HIGH), _clock(plan, frame, unit))
        for pair, plan in zip(pairs, plans, strict=True)
        for frame in range(len(plan.instants))
    ]
    durations = tuple(d for plan in plans for d in plan.durations)
    look = theme_named(theme)
    return Scene(
        (WIDTH, height),
        durations,
        tuple(panels),
        (),
        tuple(captions),
        look,
        True,
        plans[0].held[0],
        title,
    )
