"""What a position is worth on one sheet: a sentence, figures at the ends and the best, curve and table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from animate.film.themes import theme
from animate.motion.motion import Motion
from layout.moving.poses import KeyPose, pose_at
from layout.moving.worth import Worth
from layout.moving.worth_told import at, beside_best, headline, margin, rows, said, size
from layout.page.chart import SMALL, Chart, chart_page
from layout.page.files import page_file
from layout.page.letters import fonts_of
from layout.page.page import BODY, MARGIN, PAPERS, Ink, Line, Page, Text, View, thinned
from layout.page.widths import wrapped
from layout.plan.value import Plan
from layout.rules.cautions import in_short
from layout.sheet.texts import flowed
from layout.words.faults import refuse

SCALE: Final = 40
"""Figures on the sheet are drawn one to so many."""
NARROW: Final = 80.0
"""Width of the curve on a screen [mm]: letters of a phone's size."""
WIDE, HIGH = PAPERS["A4"]
ROW: Final = 4.3
"""From one row of the table to the next [mm]."""


def _moment(worth: Worth, motion: Motion) -> float:
    """The instant a topic is looked at: touchdown, take-off, or the height of what is held [s]."""
    start, off, end = (float(t) for t in motion.starts[2:5])
    if worth.topic.name == "arms":
        return off - 1e-6
    if worth.topic.name == "thigh":
        return off + 0.3 * (end - off)
    if worth.topic.name == "hops":
        return float(motion.starts[1]) + 0.5 * (start - float(motion.starts[1]))
    return start


def shown(worth: Worth) -> tuple[int, int, int]:
    """Points whose figures stand on the sheet: both ends, the best between, or the middle where that is
    an end."""
    last = len(worth.points) - 1
    return 0, worth.top if 0 < worth.top < last else len(worth.points) // 2, last


def _pose(worth: Worth, i: int) -> KeyPose:
    motion = worth.points[i].found.outcome.motion
    return pose_at(motion, at(worth, i), _moment(worth, motion), (), 1, None)


def figures(worth: Worth, top: float) -> tuple[list[Ink], float]:
    """Three figures side by side to scale, what each gives under it; and where the rest may begin [mm]."""
    poses = [(_pose(worth, i), i) for i in shown(worth)]
    high = max(p.top for p, _ in poses) * 1000.0 / SCALE
    base, wide = top + high, (WIDE - 2 * MARGIN) / 3
    out: list[Ink] = []
    for k, (pose, i) in enumerate(poses):
        middle = MARGIN + wide * (k + 0.5)
        left = middle - 500.0 * (pose.left + pose.right) / SCALE
        out += thinned(View(SCALE, left, base).ink(pose.shapes))
        if i == worth.top:
            loss = "best found"
        elif worth.tells(i):
            loss = f"{beside_best(worth, i)} ± {size(worth, margin(worth, i))}"
        else:
            loss = "can't be told"
        out.append(Text((middle, base + 6.0), at(worth, i), 4.6, align="middle", bold=True))
        out.append(Text((middle, base + 11.0), loss, BODY, align="middle"))
    return out, base + 15.0


def chart(
    worth: Worth, top: float, across: tuple[float, float] = (MARGIN + 14.0, WIDE - MARGIN)
) -> tuple[list[Ink], float]:
    """The curve, with its margin as strokes up and down.

    across: its box from left to right [mm]; on a narrow one what is varied is said beside it.
    """
    times, unit = (1.0, "m/s") if worth.aim == "speed" else (100.0, "cm")
    xs = [worth.topic.shown(p.value) for p in worth.points]
    ys = [-times * worth.loss(i) for i in range(len(xs))]
    off = [times * m if np.isfinite(m := margin(worth, i)) else 0.0 for i in range(len(xs))]
    low = min(y - o for y, o in zip(ys, off, strict=True))
    high = max(y + o for y, o in zip(ys, off, strict=True))
    room, step = 0.12 * (high - low) or 1.0, abs(xs[1] - xs[0])
    order = np.argsort(xs)
    span = min(xs) - step / 2, max(xs) + step / 2
    box = Chart(across[0], top + 6.0, across[1], top + 50.0, span, (low - room, high + room))
    wide = across[1] - across[0] > WIDE / 2
    under = f"{worth.topic.told} [{worth.topic.unit}]" if wide else ""
    marks = [(xs[i], f"{xs[i]:.0f}") for i in order]
    out = box.frame(f"beside the best [{unit}]; strokes: margin", marks, under)
    out += box.curve([xs[i] for i in order], [ys[i] for i in order], "near")
    for x, y, o in zip(xs, ys, off, strict=True):
        out.append(box.spot(x, y, 4))
        if o:
            out += box.curve((x, x), (y - o, y + o), "measure", 0.4)
    return out, box.low + (14.0 if wide else 7.0)


def chart_alone(worth: Worth) -> Page:
    """The curve for a screen."""
    ink, low = chart(worth, 2.0, (13.0, NARROW - 2.0))
    return chart_page(worth.topic.told, low, ink, NARROW)


def figure_alone(worth: Worth, i: int) -> Page:
    """The body at a point, for a screen."""
    pose = _pose(worth, i)
    view = View(SCALE, -1000.0 * pose.left / SCALE + 4.0, 1000.0 * pose.top / SCALE + 4.0)
    ink = thinned(view.ink(pose.shapes))
    wide = 1000.0 * (pose.right - pose.left) / SCALE + 8.0
    return chart_page(pose.label, 1000.0 * pose.top / SCALE + 6.0, ink, wide)


def table(worth: Worth, top: float) -> tuple[list[Ink], float]:
    """A row a point."""
    lines = [
        (worth.topic.name, "beside the best", "margin", "speed as the foot leaves"),
        *rows(worth),
    ]
    at_x = (MARGIN, MARGIN + 36.0, MARGIN + 96.0, MARGIN + 130.0)
    out: list[Ink] = []
    for k, row in enumerate(lines):
        y = top + ROW * k
        for x, text in zip(at_x, row, strict=True):
            out.append(Text((x, y), text, SMALL, bold=k == 0))
        out.append(Line(((MARGIN, y + 1.2), (WIDE - MARGIN, y + 1.2)), "far"))
    return out, top + ROW * len(lines) + 2.0


def _flowed(
    texts: Sequence[str], top: float, em: float, bold: bool = False
) -> tuple[list[Ink], float]:
    lines = [line for text in texts for line in wrapped(text, em, WIDE - 2 * MARGIN, bold)]
    return flowed(lines, (MARGIN, top), em, 1.35 * em, bold=bold), top + 1.35 * em * len(lines)


def worth_page(plan: Plan, worth: Worth) -> Page:
    """The sheet, A4 upright.

    Raises BadInput where it does not fit on one.
    """
    title = f"{plan.who.name}: {plan.title}"
    ink, top = _flowed([f"What it is worth. {title}"], MARGIN + 4.0, 4.2)
    more, top = _flowed([headline(worth)], top + 2.5, 5.0, True)
    ink += more
    for made in (figures, chart, table):
        more, top = made(worth, top + 1.0)
        ink += more
    more, top = _flowed([*said(worth), in_short(plan.who.standing, plan.despite)], top + 3.0, SMALL)
    ink += more
    if top > HIGH - MARGIN:
        raise refuse("--worth", f"does not fit on one sheet by {top - HIGH + MARGIN:.0f} mm")
    sign = Text((WIDE - MARGIN, MARGIN + 4.0), f"figures 1:{SCALE}", SMALL, align="right")
    return Page(WIDE, HIGH, SCALE, title, (*ink, sign))


def worth_file(page: Page, kind: str, look: str) -> bytes:
    """The sheet as SVG, PNG or PDF with its letters inside, in the colours of a theme."""
    return page_file(page, kind, theme(look), fonts_of([page]), 150.0)
