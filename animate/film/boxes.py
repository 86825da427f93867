"""Boxes of pixels: how far a text reaches, and which boxes meet."""

from __future__ import annotations

import math
from functools import lru_cache
from pathlib import Path
from typing import Final

from PIL import ImageFont

from animate.film.scene import Caption

_FONTS: Final = Path(__file__).parents[1] / "fonts"

Box = tuple[int, int, int, int]
"""Left, top, right, bottom [px]."""


@lru_cache(maxsize=64)
def font(size: float, bold: bool) -> ImageFont.FreeTypeFont:
    """The shipped font at a size [px]."""
    name = "sans-bold.ttf" if bold else "sans.ttf"
    return ImageFont.truetype(_FONTS / name, size, layout_engine=ImageFont.Layout.BASIC)


@lru_cache(maxsize=4096)
def _letter(letter: str, size: float, bold: bool) -> tuple[float, float, float, float]:
    left, top, right, bottom = font(size, bold).getbbox(letter, anchor="ls")
    return left, top, max(right, font(size, bold).getlength(letter)), bottom


def extent(text: str, size: float, bold: bool) -> tuple[float, float, float, float]:
    """A box that holds a text on its base line, from its letters' own, kerning aside."""
    if not text:
        return 0.0, 0.0, 0.0, 0.0
    boxes = [_letter(letter, size, bold) for letter in text]
    return (
        min(0.0, boxes[0][0]),
        min(box[1] for box in boxes),
        1.02 * sum(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


def caption_box(caption: Caption) -> Box:
    """What a caption may touch of the picture."""
    left, top, right, bottom = extent(caption.text, caption.size, caption.bold)
    share = {"left": 0.0, "middle": 0.5, "right": 1.0}[caption.align]
    x = caption.at[0] - share * (right if caption.align != "left" else 0.0)
    y = caption.at[1]
    return (
        math.floor(x + left) - 2,
        math.floor(y + top) - 2,
        math.ceil(x + right) + 2,
        math.ceil(y + bottom) + 2,
    )


def common(one: Box, other: Box) -> Box | None:
    """What two boxes share; None where they do not meet."""
    box = (
        max(one[0], other[0]),
        max(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
    )
    return box if box[0] < box[2] and box[1] < box[3] else None


def merged(boxes: list[Box]) -> list[Box]:
    """Boxes that overlap, put together until none do."""
    out: list[Box] = []
    for box in boxes:
        again = True
        while again:
            again = False
            for had in out:
                if common(box, had):
                    out.remove(had)
                    box = (
                        min(box[0], had[0]),
                        min(box[1], had[1]),
                        max(box[2], had[2]),
                        max(box[3], had[3]),
                    )
                    again = True
                    break
        out.append(box)
    return out
