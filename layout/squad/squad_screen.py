"""The drawing of a squad's set-out fitted to a screen, and the signs of its sets."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Final

from layout.page.page import MARGIN, SCALES, Ink, Page, Text, View, extent, moved
from layout.page.svg import Letters
from layout.phone.drawing import EDGE, NARROW, Fitted, drawing, in_stretches
from layout.sheet.texts import scale_bar
from layout.squad.laid import SetOut
from layout.squad.squad_drawing import BARS, LEGEND, Ground
from layout.squad.squad_words import MOST_ROWS, SIGNS, sign, sign_name

TALL: Final = 0.9
"""How high a wide screen's drawing may be, in its widths (ours): it is to be seen whole."""
BIG: Final = 2.2
"""Half the height of a sign in a line of text [mm]."""


def _fitted(laid: SetOut, scale: int, step: float | None) -> Fitted:
    """The lanes and rows of readings at a scale, without a sheet round them."""
    ground = Ground(laid, step, MOST_ROWS[0])
    view = View(scale, MARGIN + 6.0 - 1000.0 * ground.low / scale, 0.0)
    top = view.mm(ground.wide / 2.0)
    bottom = view.mm(ground.across) - top + 2.0
    rows, high = ground.rows(view, bottom, False)
    ink: list[Ink] = [*ground.lane_ink(view), *ground.marks(view), *rows]
    bar = scale_bar(view, (MARGIN, bottom + high + 4.0), laid.system, ())
    rule = bar.pop()
    assert isinstance(rule, Text)
    # On a screen the bar measures metres or feet and nothing else.
    unit = "ft" if laid.system == "ft" else "m"
    bar.append(replace(rule, text=unit, at=(extent(bar)[2] + 1.0, rule.at[1])))
    left, upper, right, lower = extent([*ink, *bar])
    dx, dy = EDGE - left, EDGE - upper
    page = Page(right + dx + EDGE, lower + dy + EDGE, scale, "", tuple(moved(ink, dx, dy)))
    legend = f"Readings from the {laid.zero}. {LEGEND}"
    legend += BARS if any(s.hurdles for s in laid.sets) else ""
    return Fitted(page, tuple(moved(bar, dx, dy)), (legend,))


def squad_screen(
    laid: SetOut, letters: Letters, room: float, step: float | None = None
) -> tuple[str, tuple[str, ...]]:
    """A set-out for a screen of one width [mm], as large as it holds it in one piece; and its legend."""
    for scale in SCALES:
        whole = _fitted(laid, scale, step)
        if whole.page.width <= room and (whole.page.height <= TALL * room or room <= NARROW):
            break
    if room > NARROW:  # small things are not blown up
        whole = replace(whole, page=replace(whole.page, width=max(whole.page.width, room)))
    said = f"The lanes from above, to scale, with the marks of every set: {laid.title}"
    return in_stretches(whole, room, letters, said), whole.legend


@lru_cache(maxsize=64)
def sign_drawn(number: int, letters: Letters) -> str:
    """The sign of a set by itself, to stand in a line of text."""
    wide = 2.0 * BIG + 0.8
    at = sign((wide / 2.0, wide / 2.0), BIG, number % (2 * len(SIGNS)))
    return drawing(Page(wide, wide, 0, "", (at,)), letters, sign_name(number))
