"""The teaching poster: three pairs, each to one exact scale for the wall, or one after the other in motion.

Letters grow with the paper; the scale is chosen from a few and said, and nothing shrinks in silence.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final, NamedTuple

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
from layout.page.page import MARGIN, Ink, Line, Page, Text, View, extent, moved, paper_size, thinned
from layout.page.widths import text_width, wrapped
from layout.sheet.poster_pairs import COMPUTED, WORTH, Pair, Shown, caution_of
from layout.sheet.texts import TURN, bar, flowed
from layout.words.faults import refuse
from layout.words.reading import nearest

SCALES: Final = (10, 15, 20, 25, 30, 40, 50)
"""Scales a poster may have (ours); the largest that fits is taken."""
PAPERS: Final = ("A3", "A4")
WIDE: Final = 297.0  # Width of the paper that the sizes below are meant for [mm]
TITLE, NAME, VALUE, CAPTION, SMALL = 13.0, 11.0, 16.0, 5.0, 4.0
"""Em of the poster's texts on A3 [mm]: names and values to be read across a room (ours)."""
LEAD: Final = 1.32  # From one line to the next [em]
HONEST: Final = (
    "Computed: worked out from the plan, not measured on people. "
    "Common practice: what coaches say; no source."
)
LEAST: Final = 2.7  # No letter is smaller on any paper [mm]


class Sizes(NamedTuple):
    """Em of each kind of text on a paper [mm], and the unit of its gaps."""

    title: float
    name: float
    value: float
    caption: float
    small: float
    gap: float


def sizes_of(width: float) -> Sizes:
    """The sizes for a paper's width [mm]."""
    k = width / WIDE
    ems = (max(LEAST, round(k * em, 2)) for em in (TITLE, NAME, VALUE, CAPTION, SMALL))
    return Sizes._make((*ems, 4.0 * k))


def _folded(
    lines: Sequence[str], left: float, top: float, em: float, lead: float = LEAD, **more: Any
) -> tuple[list[Ink], float]:
    """Lines of text from a top on, and where they end [mm]."""
    ink = flowed(lines, (left, top + 0.8 * em), em, lead * em, **more)
    return ink, top + lead * em * len(lines)


def _beside(shown: Shown, width: float, size: Sizes) -> tuple[list[Ink], float] | None:
    """Value and what it is as letters beside a figure; None where a word is wider than the room."""
    lines = [line for text in shown.what for line in wrapped(text, size.caption, width)]
    words = " ".join(shown.what).split()
    if [word for line in lines for word in line.split()] != words or text_width(
        shown.value, size.value, True
    ) > width:
        return None
    value = Text((0.0, 0.8 * size.value), shown.value, size.value, "measure", bold=True)
    told, y = _folded(lines, 0.0, 1.1 * size.value, size.caption)
    return [value, *told], y


def _said(pair: Pair, width: float, size: Sizes) -> tuple[list[Ink], float]:
    """The caption under a pair: instant and difference, then what is known and how."""
    head = wrapped(f"{pair.moment}. Difference: {pair.difference}", size.caption, width, True)
    ink, y = _folded(head, MARGIN, 0.0, size.caption, bold=True)
    y += 0.8 * (size.caption - size.small)
    rows = ((COMPUTED, pair.computed), (pair.said_by, pair.practice), (WORTH, pair.worth))
    for who, text in (row for row in rows if row[1]):
        # The first line starts with who says it, in bold: the rest is folded round it.
        first = text_width(f"{who} ", size.small, True) + 0.25 * size.small
        start, *lines = _hung(text, size.small, width, first)
        at = y + 0.8 * size.small
        ink.append(Text((MARGIN, at), who, size.small, bold=True))
        ink.append(Text((MARGIN + first, at), start, size.small))
        more, y = _folded(lines, MARGIN, y + LEAD * size.small, size.small)
        ink += more
    return ink, y + (1.1 - LEAD) * size.small


def _hung(text: str, em: float, width: float, first: float) -> list[str]:
    """A text folded into lines, the first of which is shorter by some room [mm]."""
    words = text.split()
    count = len(words)
    while count > 1 and text_width(" ".join(words[:count]), em) > width - first:
        count -= 1
    rest = wrapped(" ".join(words[count:]), em, width) if count < len(words) else []
    return [" ".join(words[:count]), *rest]


def _row(
    pair: Pair, number: int, scale: int, width: float, size: Sizes
) -> tuple[list[Ink], float] | None:
    """A pair laid out at a scale, its top left at 0, 0, and its height; None where it is too wide."""
    half = (width - 2 * size.gap) / 2.0
    names = 1.05 * size.name
    ink: list[Ink] = []
    sides = []
    for i, shown in enumerate(pair.sides):
        figure = View(scale, 0.0, 0.0).ink(shown.pose.shapes, f"figure-{number}-{i}")
        left, top, right, low = extent(figure)
        texts = _beside(shown, half - (right - left) - size.gap, size)
        if texts is None or text_width(shown.name, size.name, True) > half:
            return None
        sides.append((moved(thinned(figure), -left, -low), right - left, low - top, *texts))
    high = names + max(max(side[2], side[4]) for side in sides)
    for i, (shown, (figure, wide, _, texts_ink, tall)) in enumerate(
        zip(pair.sides, sides, strict=True)
    ):
        left = MARGIN + i * (half + 2 * size.gap)
        ink.append(Text((left, 0.8 * size.name), shown.name, size.name, bold=True))
        ink += moved(figure, left, high)
        right = left + wide + size.gap
        ink += moved(texts_ink, right, names + (high - names - tall) / 2.0)
    middle = MARGIN + half + size.gap
    ink.append(Line(((middle, 0.0), (middle, high)), "quiet", None, 0.25))
    said, deep = _said(pair, width, size)
    ink += moved(said, 0.0, high + size.gap)
    return ink, high + size.gap + deep


def _head(title: str, lead: str, width: float, scale: int, size: Sizes) -> tuple[list[Ink], float]:
    sign, at = f"1:{scale}", (MARGIN + width, MARGIN + 0.78 * size.title)
    room = width - text_width(sign, size.name, True) - size.gap
    lines = wrapped(title, size.title, room, True)
    head, y = _folded(lines, MARGIN, MARGIN, size.title, 1.2, bold=True)
    told, y = _folded(wrapped(lead, size.caption, width), MARGIN, y, size.caption)
    return [Text(at, sign, size.name, align="right", bold=True), *head, *told], y


def _foot(
    caution: str, paper: str, width: float, scale: int, size: Sizes
) -> tuple[list[Ink], float]:
    """Scale bar and what stands for the whole poster, its top at 0."""
    em, one = size.small, 1000.0 / scale
    said = (
        f"1 m. Figures 1:{scale} when printed at 100 % on {paper}: this bar is "
        f"{one:.{0 if one == round(one) else 1}f} mm long."
    )
    ink = bar((MARGIN, 0.0), one / 4.0, 4, 0.6 * em, 0.2)
    y = -0.2 * em
    # What a person must heed stands out from what the words mean.
    told: tuple[tuple[str, float, Role], ...] = (
        (said, one + 3.0, "text"), (HONEST, 0.0, "quiet"), (caution, 0.0, "warn"),
    )  # fmt: skip
    for text, aside, role in told:
        lines = wrapped(text, em, width - aside, role == "warn")
        more, y = _folded(lines, MARGIN + aside, y, em, role=role, bold=role == "warn")
        ink += more
    return ink, y + (1.05 - LEAD) * em


def _composed(pairs: Sequence[Pair], title: str, lead: str, paper: str, scale: int) -> Page | None:
    """A poster at a scale; None where it does not fit."""
    width, height = paper_size(paper, True)
    wide, size = width - 2 * MARGIN, sizes_of(width)
    ink, top = _head(title, lead, wide, scale, size)
    foot, deep = _foot(caution_of(pairs), paper, wide, scale, size)
    rows = []
    for i, pair in enumerate(pairs, start=1):
        row = _row(pair, i, scale, wide, size)
        if row is None:
            return None
        rows.append(row)
    least = 1.2 * size.gap
    taken = sum(tall for _, tall in rows) + 2 * least * (len(rows) + 1)
    free = height - MARGIN - deep - top - taken
    if free < 0.0:
        return None
    more = free / (2 * len(rows) + 1)
    y = top
    for block, tall in rows:
        y += least + more
        ink.append(Line(((MARGIN, y), (MARGIN + wide, y)), "quiet", None, 0.25))
        y += least
        ink += moved(block, 0.0, y)
        y += tall + more
    base = height - MARGIN - deep
    ink.append(Line(((MARGIN, base - least), (MARGIN + wide, base - least)), "quiet", None, 0.25))
    ink += moved(foot, 0.0, base)
    return Page(width, height, scale, f"{title}, 1:{scale}", tuple(ink))


def scale_from(text: str | None) -> int | None:
    """A poster's scale such as 1:20."""
    if text is None:
        return None
    bare = text.strip().removeprefix("1:")
    if bare not in map(str, SCALES):
        known = ", ".join(f"1:{s}" for s in SCALES)
        raise refuse("--scale", f"for a poster must be one of {known}", text)
    return int(bare)


def poster(
    pairs: Sequence[Pair], title: str, lead: str, paper: str = "A3", scale: int | None = None
) -> Page:
    """A poster of three pairs, upright.

    The lead says whose motion it is. scale: one of `SCALES`; the largest that fits when left out.
    Raises BadInput: another paper, or a scale at which it does not fit.
    """
    known = {p.lower(): p for p in PAPERS}
    if paper.lower() not in known:
        hint = nearest(paper, PAPERS)
        raise refuse("--paper", f"for a poster must be one of {', '.join(PAPERS)}{hint}", paper)
    paper = known[paper.lower()]
    for one in (scale,) if scale else SCALES:
        made = _composed(pairs, title, lead, paper, one)
        if made is not None:
            return made
    fits = [s for s in SCALES if _composed(pairs, title, lead, paper, s) is not None]
    hint = f"; would fit: 1:{fits[0]} on this paper" if fits else "; no scale here fits this paper"
    raise refuse("--scale", f"the poster does not fit{hint}", f"1:{scale or SCALES[-1]}")


HELD: Final = 3.0  # How long each pair rests at its instant [s] (ours)
SLOW: Final = 4.0
WIDTH: Final = 960
HIGH: Final = 440
"""Size of the picture, and of its panels in height [px]; its whole height is what the texts need."""
TINY: Final = 0.8
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
    frames = noted(figures_of(take, bodies, coms), bodies, plan, notes)
    return tuple((*way, *frame) for frame in frames)


def _told(pair: Pair, lead: str, caution: str, unit: float) -> list[tuple[str, Role, bool]]:
    """Lines of small text under a pair: what they say, their colour, and whether they are bold."""
    texts: tuple[tuple[str, Role, bool], ...] = (
        (f"{pair.moment}. Difference: {pair.difference}", "text", True),
        (f"{COMPUTED} {pair.computed}", "text", False),
        (f"{pair.said_by} {pair.practice}", "text", False),
        (f"{WORTH} {pair.worth}" if pair.worth else "", "text", False),
        (lead, "quiet", False),
        (caution, "warn", True),
    )
    return [
        (line, role, bold)
        for text, role, bold in texts
        for line in (wrapped(text, TINY * unit, WIDTH - 1.2 * unit, bold) if text else ())
    ]


def _texts(pair: Pair, lead: str, caution: str, unit: float, top: float) -> tuple[Caption, ...]:
    """Names over the panels, values and what is known under them."""
    out: list[Caption] = []
    edge = 0.6 * unit
    for shown, x in zip(pair.sides, (0.25 * WIDTH, 0.75 * WIDTH), strict=True):
        out.append(Caption((x, 1.75 * unit), shown.name, 1.5 * unit, "text", "middle", True))
        value, what = (x, top + 2.1 * unit), (x, top + 3.4 * unit)
        out.append(Caption(value, shown.value, 2.2 * unit, "measure", "middle", True))
        out.append(Caption(what, ", ".join(shown.what), 0.85 * unit, "text", "middle"))
    y = top + VALUES * unit
    for line, role, bold in _told(pair, lead, caution, unit):
        out.append(Caption((edge, y), line, TINY * unit, role, "left", bold))
        y += TURN * TINY * unit
    return tuple(out)


def _clock(plan: Schedule, frame: int, unit: float) -> Caption:
    instant = plan.instants[frame]
    pace = "held" if frame in plan.held else f"{plan.slow:g}{TIMES} slower"
    said = typeset(f"{instant:+.2f}" if abs(instant) > 5e-3 else "0.00") + f" s · {pace}"
    return Caption((WIDTH / 2, 1.6 * unit), said, 0.7 * unit, "quiet", "middle")


def poster_clip(
    pairs: Sequence[Pair], title: str, lead: str, theme: str = "light", fps: float = 25.0
) -> Scene:
    """The pairs one after the other, both ways side by side at one scale; still, the first is held.

    The lead says whose motion it is; fps [1/s].
    """
    caution = caution_of(pairs)
    unit = text_height((WIDTH, 540))
    head = round(2.6 * unit)
    lines = max(len(_told(pair, lead, caution, unit)) for pair in pairs)
    foot = math.ceil((VALUES + TURN * TINY * lines) * unit)
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
    size, durations = (WIDTH, height), tuple(d for plan in plans for d in plan.durations)
    look, first = theme_named(theme), plans[0].held[0]
    return Scene(size, durations, tuple(panels), (), tuple(captions), look, True, first, title)
