"""What a ruler and a reader would find on a printed page: for the tests of sheets."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from itertools import combinations
from typing import Any, Final

from pypdf import PdfReader

from animate.film.themes import Colour
from layout.page.page import MARGIN, Page, Text
from layout.page.widths import text_width

CAP, DROP = 0.73, 0.21
"""Height of capitals and depth of descenders of the font [em]."""
HAIR: Final = 0.1
"""Boxes may touch by this [mm]."""
INCH: Final = 25.4
Box = tuple[float, float, float, float]
Points = list[tuple[float, float]]


def box(text: Text) -> Box:
    """Left, top, right and bottom of a text [mm]."""
    wide = text_width(text.text, text.size, text.bold)
    left = text.at[0] - {"left": 0.0, "middle": wide / 2.0, "right": wide}[text.align]
    drop = DROP if set(text.text) & set("gjpqyQ,;()") else 0.0
    return left, text.at[1] - CAP * text.size, left + wide, text.at[1] + drop * text.size


def collisions(page: Page, edge: float = MARGIN) -> list[str]:
    """Texts that overlap one another or leave the margins, which are so wide [mm]."""
    boxes = [(box(i), i.text) for i in page.ink if isinstance(i, Text)]
    out = []
    for (left, top, right, low), text in boxes:
        out_x = left < edge - HAIR or right > page.width - edge + HAIR
        if out_x or top < edge - HAIR or low > page.height - edge + HAIR:
            out.append(f"outside: {text}")
    for (a, one), (b, other) in combinations(boxes, 2):
        across = min(a[2], b[2]) - max(a[0], b[0])
        along = min(a[3], b[3]) - max(a[1], b[1])
        if across > HAIR and along > HAIR:
            out.append(f"{one!r} over {other!r} by {across:.1f} x {along:.1f} mm")
    return out


def reader(pdf: bytes) -> PdfReader:
    """A PDF, opened."""
    return PdfReader(io.BytesIO(pdf))


def pdf_paths(leaf: Any) -> list[Points]:
    """Every path of straight lines on a PDF's page, out of its drawing commands [mm]."""
    out: list[Points] = []

    def note(operator: bytes, operands: Any, matrix: Any, _: Any) -> None:
        if operator in (b"m", b"l"):
            x, y = (float(v) for v in operands)
            at = (
                (matrix[0] * x + matrix[2] * y + matrix[4]) * INCH / 72.0,
                (matrix[1] * x + matrix[3] * y + matrix[5]) * INCH / 72.0,
            )
            if operator == b"m":
                out.append([])
            out[-1].append(at)

    leaf.extract_text(visitor_operand_before=note)
    return out


def svg_paths(svg: str) -> list[Points]:
    """Every path of an SVG [mm], which its size and view box must bear out."""
    root = ET.fromstring(svg)
    view = [float(v) for v in root.get("viewBox", "").replace(",", " ").split()]
    one = float(root.get("width", "").removesuffix("mm")) / view[2]
    out = []
    for element in root.iter("{http://www.w3.org/2000/svg}path"):
        head, _, tail = element.get("d", "").removesuffix("z").partition("l")
        numbers = [float(n) for n in re.findall(r"-?\d*\.?\d+", tail)]
        x, y = (float(n) for n in re.findall(r"-?\d*\.?\d+", head))
        points = [(one * x, one * y)]
        for dx, dy in zip(numbers[::2], numbers[1::2], strict=True):
            x, y = x + dx, y + dy
            points.append((one * x, one * y))
        out.append(points)
    return out


def bar_length(paths: list[Points]) -> float:
    """Length of the scale bar: its boxes, 1.8 mm high, are found by their shape [mm]."""
    ends = []
    for points in paths:
        xs, ys = zip(*points, strict=True)
        if len(points) == 4 and abs(max(ys) - min(ys) - 1.8) < 0.01:
            ends += [min(xs), max(xs)]
    return max(ends) - min(ends) if ends else 0.0


def has_span(paths: list[Points], length: float, within: float = 0.1) -> bool:
    """Whether some level line is that long [mm]."""
    level = [p for p in paths if len(p) == 2 and abs(p[0][1] - p[1][1]) < 0.01]
    return any(abs(abs(p[1][0] - p[0][0]) - length) <= within for p in level)


def bare(text: str) -> str:
    """A text without its spaces: where lines break is no matter."""
    return "".join(text.split())


def luminance(colour: Colour) -> float:
    """Relative luminance of a colour, 0 black to 1 white, from its channels of 0 to 255.

    L = .2126 R + .7152 G + .0722 B of the linear channels

    Source: W3C, Web Content Accessibility Guidelines 2.1.

    >>> luminance((255, 255, 255))
    1.0
    """
    part = [c / 255 for c in colour]
    red, green, blue = (c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in part)
    return round(0.2126 * red + 0.7152 * green + 0.0722 * blue, 12)


def contrast(one: Colour, other: Colour) -> float:
    """Contrast ratio of two colours, 1 to 21: (L1 + .05) / (L2 + .05) with the lighter above.

    Source: W3C, Web Content Accessibility Guidelines 2.1.

    >>> contrast((0, 0, 0), (255, 255, 255))
    21.0
    """
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)
