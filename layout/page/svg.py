"""A page as SVG, one user unit to the millimetre."""

from __future__ import annotations

import base64
import io
from functools import lru_cache
from itertools import groupby
from typing import Final, cast

import svgwrite
from svgwrite.base import BaseElement

from animate.film.themes import Theme, hexed, theme
from layout.page.letters import Fonts, woff
from layout.page.page import Ink, Line, Page, Text
from layout.words.faults import printable

FONTS = "'DejaVu Sans',Verdana,Arial,sans-serif"
_ANCHOR = {"left": "start", "middle": "middle", "right": "end"}


COARSE: Final = 2
FINE: Final = 3
"""Digits of a millimetre: bodies and lines without a name to a hundredth, all that has a name to be
found and measured by to a thousandth."""


@lru_cache(maxsize=65536)
def figure(value: float, digits: int = FINE) -> str:
    """A coordinate to a thousandth of a millimetre, without idle zeros."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


def _path(line: Line) -> str:
    digits = FINE if line.name and not line.name.startswith("figure") else COARSE
    out: list[str] = []
    last = (0.0, 0.0)
    for x, y in line.points:
        # Relative to the place as printed, so that rounding never adds up along the line.
        place = (round(x, digits), round(y, digits))
        dx, dy = (figure(a - b, digits) for a, b in zip(place, last, strict=True))
        out.append(f"{dx}{dy}" if dy.startswith("-") else f"{dx} {dy}")
        last = place
    rest = "l" + " ".join(out[1:]) if len(out) > 1 else ""
    return f"M{out[0]}{rest}" + ("z" if line.closed else "")


def _style(item: Ink, look: Theme) -> dict[str, object] | None:
    """What lines that follow each other may share; None for texts."""
    if isinstance(item, Text):
        return None
    style: dict[str, object] = {"fill": hexed(look.colours[item.fill]) if item.fill else "none"}
    if item.stroke is not None:
        style["stroke"] = hexed(look.colours[item.stroke])
        style["stroke_width"] = figure(item.width)
    if item.dash:
        style["stroke_dasharray"] = " ".join(figure(d) for d in item.dash)
    return style


def _named(item: Ink) -> bool:
    """Whether a line is a thing to be found and measured, so that it stands by itself."""
    return isinstance(item, Line) and bool(item.name)


def _text(drawing: svgwrite.Drawing, text: Text, look: Theme) -> BaseElement:
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
    return drawing.text(printable(text.text), fill=hexed(look.colours[text.role]), **plain)


def _embedded(fonts: Fonts) -> tuple[str, str]:
    """Style sheet that carries the faces, and the families to ask for."""
    rules = []
    families: list[str] = []
    count = {False: 0, True: 0}
    for face in fonts.faces:
        # The n-th faces of either weight are one family: each letter is looked for in one family
        # after the other, and none is made bold by smearing it.
        family = f"sheet{count[face.bold]}"
        count[face.bold] += 1
        data = base64.b64encode(woff(face)).decode("ascii")
        weight = "bold" if face.bold else "normal"
        rules.append(
            f"@font-face{{font-family:{family};font-weight:{weight};"
            f"src:url(data:font/woff;base64,{data})format('woff')}}"
        )
        families.append(family)
    return "".join(rules), ",".join([*dict.fromkeys(families), FONTS])


def to_svg(page: Page, look: Theme | None = None, fonts: Fonts | None = None) -> str:
    """A page as an SVG document of its true size.

    Parameters
    ----------
    page : Page
    look : Theme, optional
        Colours of the roles; the light theme when left out.
    fonts : Fonts, optional
        Faces to carry inside, so that it looks the same everywhere; about 20 kB. Without them the
        viewer's own fonts are named.

    Returns
    -------
    str
        UTF-8 text; prints at the page's scale when printed at 100 %.
    """
    look = look or theme("light")
    rules, families = _embedded(fonts) if fonts else ("", FONTS)
    drawing = svgwrite.Drawing(
        size=(f"{figure(page.width)}mm", f"{figure(page.height)}mm"),
        viewBox=f"0 0 {figure(page.width)} {figure(page.height)}",
        debug=False,
        font_family=families,
        stroke_linecap="round",
        stroke_linejoin="round",
    )
    drawing.set_desc(
        title=printable(page.title), desc=f"Scale 1:{page.scale}; one unit is one millimetre."
    )
    if rules:
        drawing.defs.add(drawing.style(rules))
    drawing.add(
        drawing.rect(
            (0, 0), (figure(page.width), figure(page.height)), fill=hexed(look.colours["paper"])
        )
    )
    for (style, named), run in groupby(page.ink, lambda item: (_style(item, look), _named(item))):
        if style is None:
            for text in run:
                drawing.add(_text(drawing, cast(Text, text), look))
            continue
        lines = [cast(Line, line) for line in run]
        alone = named or len(lines) == 1
        room = drawing if alone else drawing.add(drawing.g(**style))
        for line in lines:
            own = {"id": line.name} if line.name else {}
            room.add(drawing.path(d=_path(line), **own, **(style if alone else {})))
    out = io.StringIO()
    drawing.write(out)
    return out.getvalue() + "\n"
