"""Drawings of a page in millimetres as parts of an HTML page: for its screen, and for its printer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from animate.body.shapes import Role
from animate.film.themes import Colour, Theme, hexed, inks
from layout.page.page import Page
from layout.page.svg import Letters, Paint, SvgPen, box_of, escaped

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


def sheet(page: Page, look: Theme, letters: Letters) -> str:
    """A page for the printer, of its true size."""
    return _svg(page, page.title, box_of(page, letters, "mm"), inks(look))


def drawing(page: Page, letters: Letters, said: str) -> str:
    """A page for the screen, in the colours of the screen's own theme.

    Parameters
    ----------
    page : Page
    letters : Letters
    said : str
        What it shows, for those who cannot see it.
    """
    return _svg(page, said, box_of(page, letters), SCREEN)


def _svg(page: Page, said: str, box: str, paint: Paint) -> str:
    # Without names: several drawings of one page may show the same thing.
    inside = SvgPen(paint, named=False).done(page)
    return f'<svg {box} role="img" aria-label="{escaped(said)}">{inside}</svg>'
