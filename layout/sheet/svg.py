"""A page as SVG, one user unit to the millimetre."""

from __future__ import annotations

import io
from functools import lru_cache

import svgwrite
from svgwrite.base import BaseElement

from animate.themes import Theme, hexed, theme
from layout.sheet.page import Ink, Line, Page, Text

FONTS = "'DejaVu Sans',Verdana,Arial,sans-serif"
_ANCHOR = {"left": "start", "middle": "middle", "right": "end"}


@lru_cache(maxsize=65536)
def figure(value: float) -> str:
    """A coordinate to a thousandth of a millimetre, without idle zeros."""
    return f"{value:.3f}".rstrip("0").rstrip(".") or "0"


def _path(line: Line) -> str:
    out, last = [], (0.0, 0.0)
    for i, (x, y) in enumerate(line.points):
        # Relative to the place as printed, so that rounding never adds up along the line.
        dx, dy = figure(round(x, 3) - last[0]), figure(round(y, 3) - last[1])
        if i == 0:
            out.append(
                f"M{figure(round(x, 3))} {figure(round(y, 3))}l" if len(line.points) > 1 else ""
            )
        else:
            out.append(f"{dx} {dy}" if dy.startswith("-") else f"{dx},{dy}")
        last = (round(x, 3), round(y, 3))
    text = out[0] + " ".join(out[1:])
    return text + ("z" if line.closed else "")


def _line(drawing: svgwrite.Drawing, line: Line, look: Theme) -> BaseElement:
    extra: dict[str, object] = {"fill": hexed(look.colours[line.fill]) if line.fill else "none"}
    if line.stroke is not None:
        extra["stroke"] = hexed(look.colours[line.stroke])
        extra["stroke_width"] = figure(line.width)
    if line.dash:
        extra["stroke_dasharray"] = " ".join(figure(d) for d in line.dash)
    if line.name:
        extra["id"] = line.name
    return drawing.path(d=_path(line), **extra)


def _text(drawing: svgwrite.Drawing, text: Text, look: Theme) -> list[BaseElement]:
    place = tuple(figure(v) for v in text.at)
    plain: dict[str, object] = {"insert": place, "font_size": figure(text.size)}
    if text.align != "left":
        plain["text_anchor"] = _ANCHOR[text.align]
    if text.bold:
        plain["font_weight"] = "bold"
    if text.halo:
        plain["stroke"] = hexed(look.colours["paper"])
        plain["stroke_width"] = figure(text.size * 0.28)
        plain["paint_order"] = "stroke"
        plain["stroke_linejoin"] = "round"
    # svgwrite drops nothing but XML will not hold control characters.
    clean = "".join(c for c in text.text if c.isprintable())
    return [drawing.text(clean, fill=hexed(look.colours[text.role]), **plain)]


def to_svg(page: Page, look: Theme | None = None) -> str:
    """A page as an SVG document of its true size.

    Parameters
    ----------
    page : Page
    look : Theme, optional
        Colours of the roles; the light theme when left out.

    Returns
    -------
    str
        UTF-8 text; prints at the page's scale when printed at 100 %.
    """
    look = look or theme("light")
    drawing = svgwrite.Drawing(
        size=(f"{figure(page.width)}mm", f"{figure(page.height)}mm"),
        viewBox=f"0 0 {figure(page.width)} {figure(page.height)}",
        debug=False,
        font_family=FONTS,
        stroke_linecap="round",
        stroke_linejoin="round",
    )
    drawing.set_desc(title=page.title, desc=f"Scale 1:{page.scale}; one unit is one millimetre.")
    drawing.add(
        drawing.rect(
            (0, 0), (figure(page.width), figure(page.height)), fill=hexed(look.colours["paper"])
        )
    )
    for item in page.ink:
        _add(drawing, item, look)
    out = io.StringIO()
    drawing.write(out)
    return out.getvalue() + "\n"


def _add(drawing: svgwrite.Drawing, item: Ink, look: Theme) -> None:
    if isinstance(item, Line):
        drawing.add(_line(drawing, item, look))
    else:
        for element in _text(drawing, item, look):
            drawing.add(element)
