"""The SVG as a strict renderer without style sheets shows it, against our own pixels."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from animate.body.shapes import Area, Label
from animate.film import film
from animate.film.raster import Raster
from animate.film.scene import Camera, Caption, Panel, Scene
from tests.animate.film.film_scenes import (
    NOTES,
    beside,
    off,
    scene,
    strictly,
    take,
    without_texts,
    worst,
)

INSTANTS = film.Schedule((0.0, 0.15, 0.3, 0.6), (0.2,) * 4, 1.0, (2,))


def trail(theme: str) -> Scene:
    return film.ghost_trail(take(INSTANTS), INSTANTS, 960, theme, NOTES)


def strip(theme: str) -> Scene:
    return film.pose_strip(
        take(INSTANTS), INSTANTS, ("a", "b", "c", "é – °"), theme=theme, notes=NOTES
    )


MADE: dict[str, Callable[[str], Scene]] = {
    "trail": trail,
    "strip": strip,
    "fixed": lambda theme: scene("fixed", theme=theme),
    "both": lambda theme: scene("both", theme=theme),
    "beside": lambda _: beside(),
}


@pytest.mark.parametrize("theme", ["light", "print-grey"])
@pytest.mark.parametrize("kind", MADE)
def test_a_strict_renderer_shows_the_poster_as_we_do(kind: str, theme: str) -> None:
    made = MADE[kind](theme)
    for whole, side, most in ((without_texts(made), 8, 26.0), (made, 40, 26.0)):
        seen, ours = strictly(whole), Raster(whole).whole(whole.poster)
        assert seen.size == ours.size == whole.size
        assert worst(seen, ours, side) < most
        assert off(seen, ours) < 3.2


def test_the_comparison_sees_a_single_missing_limb_or_wrong_frame() -> None:
    plain = without_texts(scene("both"))
    seen = strictly(plain)
    assert worst(seen, Raster(plain).whole(plain.poster - 2)) > 52
    large = plain.panels[1]
    near = [s for s in large.moving[plain.poster] if isinstance(s, Area) and s.role == "near"]
    for part in sorted(near, key=lambda s: np.ptp(np.array(s.points), axis=0).max())[-2:]:
        rows = tuple(tuple(s for s in row if s != part) for row in large.moving)
        bare = replace(plain, panels=(plain.panels[0], replace(large, moving=rows)))
        assert worst(seen, Raster(bare).whole(bare.poster)) > 52


@pytest.mark.parametrize("name", ["a<b>&", "two  spaces", "é ø – × °"])
def test_texts_of_any_kind_are_read_by_both(name: str) -> None:
    panel = Panel((0, 0, 200, 80), (Camera(0, 0, 20),), (Label((5, 2.6), name, bold=True),))
    whole = Scene((200, 80), (1.0,), (panel,), (Caption((10, 70), name, 16),))
    seen, ours = strictly(whole), Raster(whole).whole(0)
    assert worst(seen, ours, 40) < 26
    assert np.asarray(seen.convert("L")).min() < 60
