"""A page as SVG, one user unit to the millimetre; and as pixels, drawn from that."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from functools import lru_cache
from html import escape
from typing import Final, NamedTuple

from animate.body.shapes import Role
from animate.film.themes import Theme, inks, theme
from layout.page.letters import Fonts, fonts_of, woff
from layout.page.page import HALO, Line, Page, Text
from layout.words.faults import printable

FONTS: Final = "'DejaVu Sans',Verdana,Arial,sans-serif"
INCH: Final = 25.4
_ANCHOR: Final = {"left": "start", "middle": "middle", "right": "end"}
_PATH: Final = {"moveTo": "M", "lineTo": "L", "qCurveTo": "Q", "closePath": "Z"}

COARSE: Final = 2
FINE: Final = 3
"""Digits of a millimetre: bodies and lines without a name to a hundredth, all that has a name to be
found and measured by to a thousandth."""

Paint = Mapping[Role, str]
"""Each role's colour as an attribute says it."""


@lru_cache(maxsize=4096)
def figure(value: float, digits: int = FINE) -> str:
    """A number, as of millimetres to a thousandth, without idle zeros."""
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if digits else text
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


def _outlines(text: Text, fonts: Fonts) -> str:
    size, y = text.size, text.at[1]
    x = text.left(size * fonts.width(text.text, text.bold))
    return "".join(
        _PATH[kind]
        + " ".join(f"{x + size * (along + px):.4f} {y - size * py:.4f}" for px, py in at)
        for face, glyph, along in fonts.placed(text.text, text.bold)
        for kind, at in face.outlines[glyph]
    )


def escaped(text: str) -> str:
    """Text that is safe in markup and in a quoted attribute, on one line.

    >>> escaped('<b>"\\'&')
    '&lt;b&gt;&quot;&#x27;&amp;'
    """
    return escape(printable(text), quote=True)


class SvgPen:
    """Ink as elements; lines of one look that follow each other share a group.

    named: whether a line's name is its identifier.
    fonts: draw letters as these faces' outlines, for a renderer that knows no fonts.
    """

    def __init__(self, paint: Paint, named: bool = True, fonts: Fonts | None = None) -> None:
        self.paint, self.named, self.fonts = paint, named, fonts
        self.out: list[str] = []
        self._look, self._run = "", list[str]()

    def line(self, line: Line) -> None:
        look = f'fill="{self.paint[line.fill] if line.fill else "none"}"'
        if line.stroke is not None:
            look += f' stroke="{self.paint[line.stroke]}" stroke-width="{figure(line.width)}"'
        if line.dash:
            look += f' stroke-dasharray="{" ".join(figure(d) for d in line.dash)}"'
        if line.name and self.named:  # a thing to be found and measured stands by itself
            self.put(f'<path id="{escaped(line.name)}" {look} d="{_path(line)}"/>')
            return
        if look != self._look:
            self._close()
            self._look = look
        self._run.append(f'd="{_path(line)}"/>')

    def text(self, text: Text) -> None:
        look = f'fill="{self.paint[text.role]}"'
        if text.halo:
            wide = figure(text.size * HALO)
            look += f' stroke="{self.paint["paper"]}" stroke-width="{wide}" paint-order="stroke"'
        if self.fonts:
            self.put(f'<path {look} d="{_outlines(text, self.fonts)}"/>')
            return
        if text.align != "left":
            look += f' text-anchor="{_ANCHOR[text.align]}"'
        if text.bold:
            look += ' font-weight="bold"'
        look += ' x="{}" y="{}" font-size="{}"'.format(*map(figure, (*text.at, text.size)))
        self.put(f"<text {look}>{escaped(text.text)}</text>")

    def put(self, element: str) -> None:
        """Add an element."""
        self._close()
        self.out.append(element)

    def _close(self) -> None:
        if len(self._run) == 1:
            self.out.append(f"<path {self._look} {self._run[0]}")
        elif self._run:
            self.out.append(f"<g {self._look}><path " + "<path ".join(self._run) + "</g>")
        self._look, self._run = "", []

    def done(self, page: Page) -> str:
        """All elements of a page, its paper first."""
        wide, high = figure(page.width), figure(page.height)
        self.put(f'<rect fill="{self.paint["paper"]}" width="{wide}" height="{high}"/>')
        page.draw(self)
        self._close()
        return "".join(self.out)


class Letters(NamedTuple):
    """The faces a document carries: as a style sheet, and the families to ask in this order."""

    rules: str
    families: str


def letters_of(fonts: Fonts | None) -> Letters:
    """Faces to be carried once for all drawings of a document; none where the viewer's are asked."""
    rules = []
    families: list[str] = []
    count = {False: 0, True: 0}
    for face in fonts.faces if fonts else ():
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
    return Letters("".join(rules), ",".join([*dict.fromkeys(families), FONTS]))


def box_of(page: Page, letters: Letters, unit: str = "") -> str:
    """Attributes of a page's outermost element, a unit in it one millimetre; of true size with "mm"."""
    wide, high = figure(page.width), figure(page.height)
    size = f'width="{wide}{unit}" height="{high}{unit}" ' if unit else ""
    return (
        f'{size}viewBox="0 0 {wide} {high}" font-family="{letters.families}" '
        'stroke-linecap="round" stroke-linejoin="round"'
    )


def _document(page: Page, letters: Letters, inside: str) -> str:
    scale = f"Scale 1:{page.scale}; one unit" if page.scale else "One unit"
    style = f"<defs><style>{letters.rules}</style></defs>" if letters.rules else ""
    return (
        '<?xml version="1.0" encoding="utf-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" {box_of(page, letters, "mm")}>'
        f"<title>{escaped(page.title)}</title>"
        f"<desc>{scale} is one millimetre.</desc>{style}{inside}</svg>\n"
    )


def to_svg(page: Page, look: Theme | None = None, fonts: Fonts | None = None) -> str:
    """A page as an SVG document of its true size, to be printed at 100 %.

    look: colours of the roles; the light theme when left out.
    fonts: faces to carry inside, so that it looks the same everywhere; about 20 kB. Without them the
        viewer's own fonts are named.
    """
    return _document(page, letters_of(fonts), SvgPen(inks(look or theme("light"))).done(page))


def to_png(
    page: Page, look: Theme | None = None, dots: float = 200.0, fonts: Fonts | None = None
) -> bytes:
    """A page as PNG, so many dots to the inch; the same page gives the same bytes."""
    import resvg_py

    drawn = SvgPen(inks(look or theme("light")), fonts=fonts or fonts_of([page])).done(page)
    text = _document(page, letters_of(None), drawn)
    # Where a line lies between two dots it is drawn between them: the scale is a promise.
    made = resvg_py.svg_to_bytes(
        svg_string=text, dpi=dots, skip_system_fonts=True, shape_rendering="geometric_precision"
    )
    return bytes(made)
