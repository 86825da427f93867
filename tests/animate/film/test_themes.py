"""Every theme is legible, in colour and in grey."""

from __future__ import annotations

from itertools import combinations
from typing import get_args

import pytest

from animate.body.shapes import Role
from animate.film.themes import THEMES, Theme, theme
from tests.paper import contrast, luminance

EVERY = pytest.mark.parametrize("look", THEMES.values(), ids=list(THEMES))


@EVERY
def test_every_role_has_a_colour(look: Theme) -> None:
    assert set(look.colours) == set(get_args(Role))
    assert all(0 <= c <= 255 for colour in look.colours.values() for c in colour)


@EVERY
@pytest.mark.parametrize("role", ["text", "quiet", "measure", "warn", "mark", "hurdle"])
def test_what_is_read_contrasts_with_the_paper(look: Theme, role: Role) -> None:
    assert contrast(look.colours[role], look.colours["paper"]) >= 4.5  # WCAG 2.1, 1.4.3


@EVERY
@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("near", "far"),
        ("near", "paper"),
        ("near", "ground"),
        ("near", "sand"),
        ("body", "paper"),
        ("body", "far"),
        ("mark", "ground"),
        ("hurdle", "ground"),
        ("line", "ground"),
        ("arc", "paper"),
    ],
)
def test_what_is_told_apart_differs_in_lightness(look: Theme, one: Role, other: Role) -> None:
    assert contrast(look.colours[one], look.colours[other]) >= 3.0  # WCAG 2.1, 1.4.11


@EVERY
def test_limbs_and_trunk_are_three_tones_in_grey(look: Theme) -> None:
    tones = [luminance(look.colours[role]) for role in ("near", "body", "far")]
    assert tones == sorted(tones)
    assert all(contrast_of(a, b) >= 2.0 for a, b in combinations(tones, 2))


def contrast_of(dark: float, light: float) -> float:
    return (light + 0.05) / (dark + 0.05)


def test_the_grey_theme_is_grey() -> None:
    assert all(len(set(colour)) == 1 for colour in theme("print-grey").colours.values())


def test_an_unknown_theme_is_refused_in_one_line() -> None:
    with pytest.raises(ValueError, match=r"^theme: must be one of light, print-grey, got 'neon'$"):
        theme("neon")
