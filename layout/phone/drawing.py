"""The true-scale drawing fitted to a screen: as large as its letters need, in one piece or several."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.resources import files
from typing import Final

from animate.body.shapes import Role, Shape
from animate.film.themes import Colour, Theme, hexed, inks, theme
from layout.page.page import MARGIN, SCALES, Ink, Line, Page, Text, extent, moved
from layout.page.svg import Letters, Paint, SvgPen, box_of, escaped
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet.band import band

NARROW: Final = 92.0
WIDE: Final = 190.0
"""Width of a telephone's and of a desk's screen that a drawing is made for [mm] (ours)."""
SHARED: Final = 14.0
"""What two stretches have in common, so that every figure is whole in one of them [mm]."""
EDGE: Final = 1.0
_HERE: Final = files("layout.phone")
_PATH: Final = re.compile(r' d="[^"]*"')


DARK: Final[Mapping[Role, Colour]] = {
    "paper": (20, 23, 28),
    "ground": (84, 72, 63),
    "sand": (116, 100, 52),
    "line": (190, 182, 174),
    "near": (236, 241, 248),
    "far": (58, 78, 108),
    "body": (138, 172, 216),
    "arc": (146, 154, 166),
    "mark": (244, 164, 92),
    "hurdle": (232, 150, 96),
    "measure": (255, 166, 110),
    "text": (240, 242, 245),
    "quiet": (176, 184, 196),
    "warn": (255, 150, 160),
    "left": (126, 190, 248),
    "right": (244, 164, 92),
}
"""Colours of a screen in the dark (ours)."""
SCREEN: Final[Mapping[Role, str]] = {role: f"var(--{role})" for role in DARK}
"""Colours as the screen's own theme says them; `palette` makes that."""


def palette(colours: Mapping[Role, Colour]) -> str:
    """Colours by role as a style sheet's variables."""
    return "".join(f"--{role}:{hexed(colour)};" for role, colour in colours.items())


def style_of(own: str) -> str:
    """A screen's style sheet: colours by role, light and dark, what every screen has, and its own."""
    dark = palette(DARK)
    return (
        f":root{{{palette(theme('light').colours)}}}"
        f"@media(prefers-color-scheme:dark){{:root:not([data-look=light]){{{dark}}}}}"
        f":root[data-look=dark]{{{dark}}}{_HERE.joinpath('screen.css').read_text('utf-8')}{own}"
    )


def script_of(own: str) -> str:
    """A screen's script: what plays a clip, and its own."""
    return _HERE.joinpath("player.js").read_text("utf-8") + own


def sheet(page: Page, look: Theme, letters: Letters) -> str:
    """A page for the printer, of its true size."""
    return _svg(page, page.title, box_of(page, letters, "mm"), inks(look))


def drawing(page: Page, letters: Letters, said: str) -> str:
    """A page for the screen, in the colours of the screen's own theme.

    said: what it shows, for those who cannot see it.
    """
    return _svg(page, said, box_of(page, letters), SCREEN)


def _slim(path: re.Match[str]) -> str:
    """A path without the noughts and spaces that it can do without."""
    return re.sub(r"(?<=[0-9a-zA-Z]) (?=-)", "", re.sub(r"(?<![0-9.])0(?=[.])", "", path[0]))


def _svg(page: Page, said: str, box: str, paint: Paint) -> str:
    # Without names: several drawings of one page may show the same thing.
    inside = _PATH.sub(_slim, SvgPen(paint, named=False).done(page))
    return f'<svg {box} role="img" aria-label="{escaped(said)}">{inside}</svg>'


@dataclass(frozen=True)
class Fitted:
    """The drawing of a scale cut out of its sheet.

    page: just large enough.
    bar: the scale bar, under it.
    legend: what the sheet says under the bar.
    """

    page: Page
    bar: tuple[Ink, ...]
    legend: tuple[str, ...]


def _low(item: Ink) -> float:
    """Where a text stands, or the highest point of a line [mm]."""
    return item.at[1] if isinstance(item, Text) else min(y for _, y in item.points)


def fitted(
    plan: Plan, card: TapeCard, scale: int, figures: Sequence[Sequence[Shape]] = ()
) -> Fitted:
    """The drawing of a plan at a scale, without a sheet round it.

    figures: as for `band`.
    """
    drawn = band(plan, card, scale, figures)
    # Labels keep clear of a paper's margin: the drawing is made inside one and then moved.
    made = drawn.ink(MARGIN, MARGIN, 0.0)
    under = [item for item in made if _low(item) > drawn.clear]
    said, *lines = [i for i in under if isinstance(i, Text) and i.align == "left"]
    bar = [item for item in under if item is not said and item not in lines]
    # On a screen the bar measures metres or feet and nothing else.
    unit = "ft" if card.system == "ft" else "m"
    bar.append(replace(said, text=unit, at=(extent(bar)[2] + 1.0, said.at[1])))
    above = [item for item in made if item not in under]
    left, top, right, bottom = extent(above)
    left, right = min(left, extent(bar)[0]), max(right, extent(bar)[2])
    dx, dy = EDGE - left, EDGE - top
    page = Page(right + dx + EDGE, bottom + dy + EDGE, scale, "", tuple(moved(above, dx, dy)))
    return Fitted(page, tuple(moved(bar, dx, dy)), drawn.said)


def stretches(width: float, room: float) -> tuple[list[float], float]:
    """Where the stretches of a drawing begin and how long each is, so that all are alike [mm].

    width, room: of the drawing and of the screen [mm].
    """
    count = 1 if width <= 1.1 * room else math.ceil((width - SHARED) / (room - SHARED))
    wide = (width + (count - 1) * SHARED) / count
    return [i * (wide - SHARED) for i in range(count)], wide


def _cut(whole: Fitted, starts: Sequence[float], wide: float) -> list[Page]:
    """The stretches as pages of their own, the bar under the first; no text is cut in two."""
    out = []
    for i, left in enumerate(starts):
        kept = []
        for item in whole.page.ink:
            low, _, high, _ = extent([item])
            inside = left <= low and high <= left + wide
            if inside or (isinstance(item, Line) and low < left + wide and high > left):
                kept.append(item)
        bar = () if i else whole.bar
        high = extent(bar)[3] + EDGE if bar else whole.page.height
        ink = (*moved(kept, -left, 0.0), *bar)
        out.append(replace(whole.page, width=wide, height=high, ink=ink))
    return out


def screen_drawings(
    plan: Plan, card: TapeCard, letters: Letters, figures: Sequence[Sequence[Shape]] = ()
) -> tuple[str, str, tuple[str, ...]]:
    """The drawing for a narrow screen and for a wide one, and what is said under either.

    figures: as for `band`.
    """
    narrow, legend = screen_drawing(plan, card, letters, figures, NARROW)
    wide, _ = screen_drawing(plan, card, letters, figures, WIDE)
    return narrow, wide, legend


def screen_drawing(
    plan: Plan,
    card: TapeCard,
    letters: Letters,
    figures: Sequence[Sequence[Shape]],
    room: float,
) -> tuple[str, tuple[str, ...]]:
    """The drawing for a screen of one width [mm], and what is said under it: `screen_drawings` has two."""
    for scale in SCALES if room > NARROW else SCALES[-1:]:
        if scale != SCALES[-1] and band(plan, card, scale, figures).width > room:
            continue  # known before it is drawn
        whole = fitted(plan, card, scale, figures)
        if whole.page.width <= room:
            break
    said = f"The runway from the side and from above, to scale, for {plan.who.name}: {plan.title}"
    return in_stretches(whole, room, letters, said), whole.legend


def in_stretches(whole: Fitted, room: float, letters: Letters, said: str) -> str:
    """A drawing in as many pieces as a screen of one width [mm] needs, one under the other."""
    pages = _cut(whole, *stretches(whole.page.width, room))
    count = len(pages)
    parts = [f", part {i + 1} of {count}" if count > 1 else "" for i in range(count)]
    return "".join(drawing(p, letters, said + n) for p, n in zip(pages, parts, strict=True))
