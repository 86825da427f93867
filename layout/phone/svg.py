"""Drawings of a page in millimetres as parts of an HTML page: for its screen, and for its printer."""

from __future__ import annotations

import html
import re
from collections.abc import Mapping
from typing import Final, NamedTuple

from animate.body.shapes import Role
from animate.film.themes import Colour, Theme, hexed, theme
from layout.page.letters import Fonts
from layout.page.page import Page
from layout.page.svg import figure, to_svg
from layout.words.faults import printable

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
_LIGHT: Final = theme("light").colours
_ROLES: Final[Mapping[str, Role]] = {hexed(colour): role for role, colour in _LIGHT.items()}
_COLOUR: Final = re.compile(r'(fill|stroke)="(#[0-9a-f]{3,6})"')
_SAID: Final = re.compile(r"<title>.*?</title><desc>.*?</desc>", re.DOTALL)
_STYLE: Final = re.compile(r'<style type="text/css"><!\[CDATA\[(.*?)\]\]></style>', re.DOTALL)
_DEFS: Final = re.compile(r"<defs ?/>|<defs>.*?</defs>", re.DOTALL)
_FAMILY: Final = re.compile(r'font-family="([^"]*)"')
_NAME: Final = re.compile(r' id="[^"]*"')


def escaped(text: str) -> str:
    """Text that is safe in HTML and in a quoted attribute, on one line.

    >>> escaped('<b>"\\'&')
    '&lt;b&gt;&quot;&#x27;&amp;'
    """
    return html.escape(printable(text), quote=True)


def on_screen(svg: str) -> str:
    """A drawing in the light theme's colours with the colours of the screen's own theme instead."""

    def named(found: re.Match[str]) -> str:
        role = _ROLES.get(found[2])
        return f'{found[1]}="var(--{role})"' if role else found[0]

    return _COLOUR.sub(named, svg)


def palette(colours: Mapping[Role, Colour]) -> str:
    """Colours by role as a style sheet's variables."""
    return "".join(f"--{role}:{hexed(colour)};" for role, colour in colours.items())


class Letters(NamedTuple):
    """The faces an HTML page carries for its drawings.

    Attributes
    ----------
    rules : str
        As a style sheet.
    families : str
        To be asked for in this order.
    """

    rules: str
    families: str


def letters_of(fonts: Fonts) -> Letters:
    """The faces of some pages, once for all of their drawings."""
    text = to_svg(Page(1.0, 1.0, 1, "", ()), None, fonts)
    style, families = _STYLE.search(text), _FAMILY.search(text)
    assert families is not None
    return Letters(style[1] if style else "", families[1])


def _inside(page: Page, look: Theme) -> str:
    """A drawing without what stands in the HTML page itself."""
    text = to_svg(page, look)
    text = _NAME.sub("", _DEFS.sub("", _SAID.sub("", text)))
    return text[text.index("<svg") :].partition(">")[2].rstrip()


def sheet(page: Page, look: Theme, letters: Letters) -> str:
    """A page for the printer, of its true size."""
    wide, high = figure(page.width), figure(page.height)
    return (
        f'<svg width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}" role="img" '
        f'aria-label="{escaped(page.title)}" font-family="{letters.families}" stroke-linecap="round" '
        f'stroke-linejoin="round">{_inside(page, look)}'
    )


def drawing(page: Page, letters: Letters, said: str) -> str:
    """A page for the screen.

    Parameters
    ----------
    page : Page
    letters : Letters
    said : str
        What it shows, for those who cannot see it.
    """
    return (
        f'<svg viewBox="0 0 {figure(page.width)} {figure(page.height)}" role="img" '
        f'aria-label="{escaped(said)}" font-family="{letters.families}" stroke-linecap="round" '
        f'stroke-linejoin="round">{on_screen(_inside(page, theme("light")))}'
    )
