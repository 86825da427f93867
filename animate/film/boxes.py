"""Boxes of pixels: how far a text reaches, and which boxes meet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Final, NamedTuple

from PIL import Image, ImageDraw, ImageFont

from animate.body.shapes import Label
from animate.film.scene import Caption

_FONTS: Final = Path(__file__).parents[1] / "fonts"

Box = tuple[int, int, int, int]
"""Left, top, right, bottom [px]."""


@lru_cache(maxsize=64)
def font(size: float, bold: bool) -> ImageFont.FreeTypeFont:
    """The shipped font at a size [px]."""
    name = "sans-bold.ttf" if bold else "sans.ttf"
    return ImageFont.truetype(_FONTS / name, size, layout_engine=ImageFont.Layout.BASIC)


class Writing(NamedTuple):
    """A text in shades of grey, its box about the start of its base line, and how far that goes on
    [px]."""

    mask: Image.Image
    box: Box
    wide: int


@lru_cache(maxsize=4096)
def _letter(letter: str, size: float, bold: bool, rim: int) -> tuple[Image.Image, Box]:
    """A letter with a rim round it in shades of grey, and its box about its start."""
    face = font(size, bold)
    left, top, right, bottom = face.getbbox(letter, anchor="ls", stroke_width=rim)
    box = (math.floor(left), math.floor(top), math.ceil(right), math.ceil(bottom))
    mask = Image.new("L", (max(box[2] - box[0], 1), max(box[3] - box[1], 1)))
    pen = ImageDraw.Draw(mask)
    pen.text((-box[0], -box[1]), letter, 255, face, "ls", stroke_width=rim)
    return mask, box


@lru_cache(maxsize=4096)
def _step(letter: str, after: str, size: float, bold: bool) -> float:
    """From the start of a letter to the start of the one after it."""
    face = font(size, bold)
    return face.getlength(letter + after) - face.getlength(after)


@lru_cache(maxsize=1024)
def writing(text: str, size: float, bold: bool, rim: int = 0) -> Writing:
    """A text in the shipped font, every letter on a whole pixel, with a rim of that many pixels."""
    letters, x = [], 0.0
    for letter, after in zip(text, text[1:] + " ", strict=True):
        mask, (left, top, right, bottom) = _letter(letter, size, bold, rim)
        at = round(x)
        letters.append((mask, at + left, top, at + right, bottom))
        x += _step(letter, after, size, bold)
    box = around([(0, 0, 0, 0), *(one[1:] for one in letters)])
    whole = Image.new("L", (max(box[2] - box[0], 1), max(box[3] - box[1], 1)))
    for mask, left, top, *_ in letters:
        whole.paste(255, (left - box[0], top - box[1]), mask)
    return Writing(whole, box, round(x))


def start_of(said: Caption | Label, at: tuple[float, float], size: float) -> tuple[int, int]:
    """Where a text's base line starts, given its anchor."""
    share = {"left": 0.0, "middle": 0.5, "right": 1.0}[said.align]
    return round(at[0] - share * writing(said.text, size, said.bold).wide), round(at[1])


def text_box(said: Caption | Label, start: tuple[int, int], size: float, rim: int = 0) -> Box:
    """What a text that starts there may touch of the picture."""
    left, top, right, bottom = writing(said.text, size, said.bold, rim).box
    return start[0] + left, start[1] + top, start[0] + right, start[1] + bottom


def caption_box(caption: Caption) -> Box:
    """What a caption may touch of the picture."""
    return text_box(caption, start_of(caption, caption.at, caption.size), caption.size)


def common(one: Box, other: Box) -> Box | None:
    """What two boxes share; None where they do not meet."""
    box = (
        max(one[0], other[0]),
        max(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
    )
    return box if box[0] < box[2] and box[1] < box[3] else None


def around(boxes: Sequence[Box]) -> Box:
    """The least box round several."""
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def merged(boxes: Sequence[Box]) -> list[Box]:
    """Boxes that overlap, put together until none do."""
    out: list[Box] = []
    for box in boxes:
        while met := [had for had in out if common(box, had)]:
            out = [had for had in out if had not in met]
            box = around((box, *met))
        out.append(box)
    return out
