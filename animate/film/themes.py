"""What a colour role looks like: one table per theme, checked for contrast.

The light theme keeps to a blue, an orange and greys, which the common kinds of colour blindness
leave apart; the grey theme is greys only. In both, what matters also differs in lightness by more
than three to one or in outline, so a grey print or photocopy says the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from animate.body.shapes import Role
from animate.refused import Refused

Colour = tuple[int, int, int]


class Theme(NamedTuple):
    """Colours by role, and the width of a line whose width nobody gave.

    colours: 0 to 255 each.
    hairline: [px] on a screen.
    """

    name: str
    colours: Mapping[Role, Colour]
    hairline: float = 1.4


_LIGHT: Final[dict[Role, Colour]] = {
    "paper": (255, 255, 255),
    "ground": (226, 211, 200),
    "sand": (243, 228, 178),
    "line": (70, 60, 52),
    "near": (22, 38, 66),
    "far": (196, 212, 232),
    "body": (74, 104, 148),
    "arc": (120, 128, 140),
    "mark": (176, 84, 0),
    "hurdle": (140, 66, 0),
    "measure": (168, 62, 0),
    "text": (24, 26, 30),
    "quiet": (92, 98, 108),
    "warn": (168, 20, 40),
    "left": (0, 92, 150),
    "right": (150, 74, 0),
}
_GREY: Final[dict[Role, Colour]] = {
    "paper": (255, 255, 255),
    "ground": (222, 222, 222),
    "sand": (238, 238, 238),
    "line": (60, 60, 60),
    "near": (24, 24, 24),
    "far": (214, 214, 214),
    "body": (112, 112, 112),
    "arc": (130, 130, 130),
    "mark": (50, 50, 50),
    "hurdle": (50, 50, 50),
    "measure": (0, 0, 0),
    "text": (0, 0, 0),
    "quiet": (84, 84, 84),
    "warn": (0, 0, 0),
    "left": (96, 96, 96),
    "right": (24, 24, 24),
}

THEMES: Final[Mapping[str, Theme]] = MappingProxyType(
    {
        "light": Theme("light", MappingProxyType(_LIGHT)),
        "print-grey": Theme("print-grey", MappingProxyType(_GREY)),
    }
)
"""Every theme by name."""


def theme(name: str) -> Theme:
    """The theme of that name.

    name: a key of `THEMES`.
    """
    if name not in THEMES:
        raise Refused("theme", f"must be one of {', '.join(THEMES)}", f"{name!r}")
    return THEMES[name]


def inks(look: Theme) -> dict[Role, str]:
    """Every role's colour as an attribute says it."""
    return {role: hexed(colour) for role, colour in look.colours.items()}


def hexed(colour: Colour) -> str:
    """A colour as #rrggbb, or #rgb where that says the same.

    >>> hexed((255, 255, 255)), hexed((22, 38, 66))
    ('#fff', '#162642')
    """
    text = "{:02x}{:02x}{:02x}".format(*colour)
    return f"#{text[::2]}" if text[::2] == text[1::2] else f"#{text}"
