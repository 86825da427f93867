"""Small print under a picture: what it is, and what to mind."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from animate.film.scene import Caption, Scene

LEAD: Final = 1.35
"""From one line to the next [em]."""
WIDE: Final = 0.6
"""Width of a letter of the shipped font [em], on the safe side."""


def small_print(texts: Sequence[str], width: int, em: float) -> list[str]:
    """Texts folded into the lines of a picture's width.

    texts: each starts on a new line.
    width: of the picture [px].
    em: letter height [px].
    """
    letters = max(12, int((width - 1.2 * em) / (WIDE * em)))
    return [line for text in texts for line in textwrap.wrap(text, letters)]


def foot_height(texts: Sequence[str], width: int, em: float) -> int:
    """How high the small print stands [px], an even number."""
    high = round((len(small_print(texts, width, em)) * LEAD + 0.5) * em)
    return high + high % 2


def with_foot(scene: Scene, texts: Sequence[str], em: float) -> Scene:
    """A scene with small print under every frame; the picture grows by it.

    em: letter height [px].
    """
    width, height = scene.size
    lines = tuple(
        Caption((0.6 * em, height + (LEAD * i + 1.0) * em), line, em, "quiet" if i else "text")
        for i, line in enumerate(small_print(texts, width, em))
    )
    size = (width, height + foot_height(texts, width, em))
    return replace(scene, size=size, still_captions=(*scene.still_captions, *lines))
