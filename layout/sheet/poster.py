"""The teaching poster: three pairs, each drawn to one exact scale, for the wall.

Letters grow with the paper; the scale is chosen from a few and said, and nothing shrinks in silence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from animate.body.shapes import Role
from layout.page.page import MARGIN, Ink, Line, Page, View, extent, moved, paper_size
from layout.page.thin import thinned
from layout.page.widths import text_width, wrapped
from layout.sheet.poster_pairs import COMPUTED, Pair, Shown, caution_of
from layout.sheet.texts import text_at
from layout.words.faults import refuse
from layout.words.reading import nearest

SCALES: Final = (10, 15, 20, 25, 30, 40, 50)
"""Scales a poster may have (ours); the largest that fits is taken."""
PAPERS: Final = ("A3", "A4")
WIDE: Final = 297.0
"""Width of the paper that the sizes below are meant for [mm]."""
TITLE, NAME, VALUE, CAPTION, SMALL = 13.0, 11.0, 16.0, 5.0, 4.0
"""Em of the poster's texts on A3 [mm]: names and values to be read across a room (ours)."""
LEAD: Final = 1.32
"""From one line to the next [em]."""
HONEST: Final = (
    "Computed: worked out from the plan, not measured on people. "
    "Common practice: what coaches say; no source."
)
LEAST: Final = 2.7
"""No letter is smaller on any paper [mm]."""


@dataclass(frozen=True)
class Sizes:
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
    ems = [max(LEAST, round(k * em, 2)) for em in (TITLE, NAME, VALUE, CAPTION, SMALL)]
    title, name, value, caption, small = ems
    return Sizes(title, name, value, caption, small, 4.0 * k)


@dataclass(frozen=True)
class _Row:
    """A pair as it is laid out: ink from its top left at 0, 0."""

    ink: tuple[Ink, ...]
    height: float


def _drawn(shown: Shown, scale: int, name: str) -> tuple[list[Ink], float, float]:
    """A figure over the ground at y = 0, its left end at x = 0; its width and height [mm]."""
    ink = View(scale, 0.0, 0.0).ink(shown.pose.shapes, name)
    left, top, right, low = extent(ink)
    return moved(thinned(ink), -left, -low), right - left, low - top


def _beside(shown: Shown, width: float, size: Sizes) -> tuple[list[Ink], float] | None:
    """Value and what it is as letters beside a figure; None where a word is wider than the room."""
    lines = [line for text in shown.what for line in wrapped(text, size.caption, width)]
    words = " ".join(shown.what).split()
    if [word for line in lines for word in line.split()] != words or text_width(
        shown.value, size.value, True
    ) > width:
        return None
    y = 0.8 * size.value
    ink: list[Ink] = [text_at((0.0, y), shown.value, size.value, role="measure", bold=True)]
    y += 0.3 * size.value
    for line in lines:
        y += 0.8 * size.caption
        ink.append(text_at((0.0, y), line, size.caption))
        y += (LEAD - 0.8) * size.caption
    return ink, y


def _said(pair: Pair, width: float, size: Sizes) -> tuple[list[Ink], float]:
    """The caption under a pair: instant and difference, then what is known and how."""
    ink: list[Ink] = []
    y = 0.8 * size.caption
    head = f"{pair.moment}. Difference: {pair.difference}"
    for line in wrapped(head, size.caption, width, True):
        ink.append(text_at((MARGIN, y), line, size.caption, bold=True))
        y += LEAD * size.caption
    for who, text in ((COMPUTED, pair.computed), (pair.said_by, pair.practice)):
        # The first line starts with who says it, in bold: the rest is folded round it.
        first = text_width(f"{who} ", size.small, True) + 0.25 * size.small
        lines = _hung(text, size.small, width, first)
        ink.append(text_at((MARGIN, y), who, size.small, bold=True))
        ink.append(text_at((MARGIN + first, y), lines[0], size.small))
        for line in lines[1:]:
            y += LEAD * size.small
            ink.append(text_at((MARGIN, y), line, size.small))
        y += LEAD * size.small
    return ink, y - LEAD * size.small + 0.3 * size.small


def _hung(text: str, em: float, width: float, first: float) -> list[str]:
    """A text folded into lines, the first of which is shorter by some room [mm]."""
    words = text.split()
    count = len(words)
    while count > 1 and text_width(" ".join(words[:count]), em) > width - first:
        count -= 1
    rest = wrapped(" ".join(words[count:]), em, width) if count < len(words) else []
    return [" ".join(words[:count]), *rest]


def _row(pair: Pair, number: int, scale: int, width: float, size: Sizes) -> _Row | None:
    """A pair laid out at a scale; None where it is too wide for it."""
    half = (width - 2 * size.gap) / 2.0
    names = 1.05 * size.name
    ink: list[Ink] = []
    sides = []
    for i, shown in enumerate(pair.sides):
        figure, wide, high = _drawn(shown, scale, f"figure-{number}-{i}")
        texts = _beside(shown, half - wide - size.gap, size)
        if texts is None or text_width(shown.name, size.name, True) > half:
            return None
        sides.append((figure, wide, high, *texts))
    high = names + max(max(side[2], side[4]) for side in sides)
    for i, (shown, (figure, wide, _, texts_ink, tall)) in enumerate(
        zip(pair.sides, sides, strict=True)
    ):
        left = MARGIN + i * (half + 2 * size.gap)
        ink.append(text_at((left, 0.8 * size.name), shown.name, size.name, bold=True))
        ink += moved(figure, left, high)
        right = left + wide + size.gap
        ink += moved(texts_ink, right, names + (high - names - tall) / 2.0)
    middle = MARGIN + half + size.gap
    ink.append(Line(((middle, 0.0), (middle, high)), "quiet", None, 0.25))
    said, deep = _said(pair, width, size)
    ink += moved(said, 0.0, high + size.gap)
    return _Row(tuple(ink), high + size.gap + deep)


def _head(title: str, lead: str, width: float, scale: int, size: Sizes) -> tuple[list[Ink], float]:
    sign = f"1:{scale}"
    room = width - text_width(sign, size.name, True) - size.gap
    y = MARGIN
    ink: list[Ink] = [
        text_at(
            (MARGIN + width, MARGIN + 0.78 * size.title), sign, size.name, align="right", bold=True
        )
    ]
    for line in wrapped(title, size.title, room, True):
        y += 0.8 * size.title
        ink.append(text_at((MARGIN, y), line, size.title, bold=True))
        y += 0.4 * size.title
    for line in wrapped(lead, size.caption, width):
        y += 0.8 * size.caption
        ink.append(text_at((MARGIN, y), line, size.caption))
        y += (LEAD - 0.8) * size.caption
    return ink, y


def _foot(
    caution: str, paper: str, width: float, scale: int, size: Sizes
) -> tuple[list[Ink], float]:
    """Scale bar and what stands for the whole poster, its top at 0."""
    metres, high = 1, 0.6 * size.small
    one = 1000.0 / scale
    ink: list[Ink] = []
    for i in range(4):
        a, b = MARGIN + one * i / 4.0, MARGIN + one * (i + 1) / 4.0
        fill = "line" if i % 2 == 0 else "paper"
        box = ((a, 0.0), (b, 0.0), (b, high), (a, high))
        ink.append(Line(box, "line", fill, 0.2, True, name=f"bar-{i}"))  # type: ignore[arg-type]
    said = (
        f"{metres} m. Figures 1:{scale} when printed at 100 % on {paper}: this bar is "
        f"{one:.{0 if one == round(one) else 1}f} mm long."
    )
    x = MARGIN + one + 3.0
    y = high
    for line in wrapped(said, size.small, width - one - 3.0):
        ink.append(text_at((x, y), line, size.small))
        y += LEAD * size.small
    # What a person must heed stands out from what the words mean.
    for text, heed in ((HONEST, False), (caution, True)):
        for line in wrapped(text, size.small, width, heed):
            role: Role = "warn" if heed else "quiet"
            ink.append(text_at((MARGIN, y), line, size.small, role=role, bold=heed))
            y += LEAD * size.small
    return ink, y - (LEAD - 0.25) * size.small


def _composed(
    pairs: Sequence[Pair], title: str, lead: str, paper: str, scale: int
) -> tuple[Page, float] | None:
    """A poster at a scale and the room left over [mm]; None where it does not fit."""
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
    free = height - MARGIN - deep - top - sum(r.height for r in rows) - 2 * least * (len(rows) + 1)
    if free < 0.0:
        return None
    more = free / (2 * len(rows) + 1)
    y = top
    for row in rows:
        y += least + more
        ink.append(Line(((MARGIN, y), (MARGIN + wide, y)), "quiet", None, 0.25))
        y += least
        ink += moved(row.ink, 0.0, y)
        y += row.height + more
    base = height - MARGIN - deep
    ink.append(Line(((MARGIN, base - least), (MARGIN + wide, base - least)), "quiet", None, 0.25))
    ink += moved(foot, 0.0, base)
    return Page(width, height, scale, f"{title}, 1:{scale}", tuple(ink)), free


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
    pairs: Sequence[Pair],
    title: str,
    lead: str,
    paper: str = "A3",
    scale: int | None = None,
) -> Page:
    """A poster of three pairs, upright.

    title, lead: the lead says whose motion it is.
    scale: one of `SCALES`; the largest that fits when left out.
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
            return made[0]
    fits = [s for s in SCALES if _composed(pairs, title, lead, paper, s) is not None]
    hint = f"; would fit: 1:{fits[0]} on this paper" if fits else "; no scale here fits this paper"
    raise refuse("--scale", f"the poster does not fit{hint}", f"1:{scale or SCALES[-1]}")
