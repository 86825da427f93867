"""Pages as one PDF: vector, letters embedded as text, asking to be printed at 100 %."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import Final

from animate.body.shapes import Role
from animate.film.themes import Theme, theme
from layout.page.letters import Face, Fonts, fonts_of
from layout.page.page import HALO, Line, Page, Text
from layout.page.svg import INCH, figure

POINT: Final = 72.0 / INCH
"""Points in a millimetre."""
Link = tuple[int, tuple[float, float, float, float], int]
"""A page, a box on it (left, top, right, bottom) [mm], and the page it leads to; pages from 0."""
_PATH: Final = {"moveTo": "m", "lineTo": "l", "qCurveTo": "c", "closePath": "h"}


def _numbers(*values: float, digits: int = 4) -> str:
    return " ".join(figure(v, digits) for v in values)


class _Pen:
    """One page's drawing commands, y up; says a colour or width only when it changes."""

    def __init__(self, page: Page, look: Theme, fonts: Fonts) -> None:
        self.page, self.look, self.fonts = page, look, fonts
        self.out: list[str] = [f"{figure(POINT, 8)} 0 0 {figure(POINT, 8)} 0 0 cm", "1 J 1 j"]
        self.state: dict[str, str] = {}

    def set(self, key: str, value: str) -> None:
        if self.state.get(key) != value:
            self.state[key] = value
            self.out.append(value)

    def colour(self, role: Role, operator: str) -> None:
        red, green, blue = (c / 255.0 for c in self.look.colours[role])
        self.set(operator, f"{_numbers(red, green, blue)} {operator}")

    def line(self, item: Line) -> None:
        if item.fill:
            self.colour(item.fill, "rg")
        if item.stroke:
            self.colour(item.stroke, "RG")
            self.set("w", f"{figure(item.width, 4)} w")
            self.set("d", f"[{_numbers(*item.dash)}] 0 d")
        high = self.page.height
        for i, (x, y) in enumerate(item.points):
            self.out.append(f"{_numbers(x, high - y)} {'l' if i else 'm'}")
        ends = {
            (True, True): ("B", "b"),
            (True, False): ("f", "f"),
            (False, True): ("S", "s"),
            (False, False): ("n", "n"),
        }[bool(item.fill), bool(item.stroke)]
        self.out.append(ends[item.closed])

    def text(self, item: Text) -> None:
        x = item.left(item.size * self.fonts.width(item.text, item.bold))
        y = self.page.height - item.at[1]
        if item.halo:
            self.rim(item, x, y)
        self.colour(item.role, "rg")
        self.out.append(f"BT 1 0 0 1 {_numbers(x, y)} Tm")
        for face, piece in self.fonts.runs(item.text, item.bold):
            codes = "".join(f"{self.fonts.faces[face].glyph(c):04X}" for c in piece)
            self.out.append(f"/F{face} {figure(item.size, 4)} Tf <{codes}> Tj")
        self.out.append("ET")

    def rim(self, item: Text, x: float, y: float) -> None:
        """Letters' outlines in the colour of the paper: as text they would be read twice."""
        self.colour("paper", "RG")
        self.set("w", f"{figure(HALO * item.size, 4)} w")
        self.set("d", "[] 0 d")
        here = (0.0, 0.0)
        for face, glyph, along in self.fonts.placed(item.text, item.bold):
            for kind, points in face.outlines[glyph]:
                at = [(x + item.size * (along + px), y + item.size * py) for px, py in points]
                if kind == "qCurveTo":
                    bend, end = at
                    at = [(px + (bend[0] - px) * 2.0 / 3.0, py + (bend[1] - py) * 2.0 / 3.0)
                          for px, py in (here, end)] + [end]  # fmt: skip
                numbers = [v for point in at for v in point]
                self.out.append(f"{_numbers(*numbers, digits=3)} {_PATH[kind]}".lstrip())
                here = at[-1] if at else here
            if face.outlines[glyph]:
                self.out.append("S")

    def done(self) -> bytes:
        """The page's commands."""
        self.colour("paper", "rg")
        self.page.draw(self)
        return "\n".join(self.out).encode("ascii")


def _text(value: str) -> bytes:
    """A text outside the pages: of any letters."""
    return b"<FEFF" + value.encode("utf-16-be", "replace").hex().upper().encode() + b">"


def _stream(data: bytes, more: bytes = b"") -> bytes:
    packed = zlib.compress(data, 9)
    return b"<</Length %d/Filter/FlateDecode%s>>stream\n%s\nendstream" % (len(packed), more, packed)


def _to_unicode(face: Face) -> bytes:
    """Which letters the glyphs are, for search and copy; joined forms as their plain letters."""
    import unicodedata

    rows = []
    for i, letter in enumerate(face.letters, start=1):
        plain = unicodedata.normalize("NFKC", letter) if "\ufb50" <= letter <= "\ufeff" else letter
        rows.append(f"<{i:04X}> <{plain.encode('utf-16-be').hex().upper()}>")
    parts = [
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap "
        "/CMapName /Sheet def /CMapType 2 def "
        "1 begincodespacerange <0000> <FFFF> endcodespacerange"
    ]
    for start in range(0, len(rows), 100):
        some = rows[start : start + 100]
        parts.append(f"{len(some)} beginbfchar\n" + "\n".join(some) + "\nendbfchar")
    parts.append("endcmap CMapName currentdict /CMap defineresource pop end end")
    return "\n".join(parts).encode("ascii")


class _File:
    """Numbered objects, laid end to end."""

    def __init__(self) -> None:
        self.bodies: list[bytes] = []

    def add(self, body: bytes = b"") -> int:
        self.bodies.append(body)
        return len(self.bodies)

    def put(self, number: int, body: bytes) -> None:
        self.bodies[number - 1] = body

    def done(self, root: int, info: int) -> bytes:
        out = bytearray(b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n")
        places = []
        for number, body in enumerate(self.bodies, start=1):
            places.append(len(out))
            out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
        start = len(out)
        out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
        out += b"".join(b"%010d 00000 n \n" % place for place in places)
        out += b"trailer\n<</Size %d/Root %d 0 R/Info %d 0 R>>\n" % (len(places) + 1, root, info)
        return bytes(out + b"startxref\n%d\n%%%%EOF\n" % start)


def _font(file: _File, face: Face, number: int) -> int:
    # Six letters before the name say that the font is cut down.
    name = f"/{'ABCDEFGHIJKLMNOPQRSTUVWXYZ'[number % 26] * 6}+Sheet{'-Bold' * face.bold}"
    data = file.add(_stream(face.data, b"/Length1 %d" % len(face.data)))
    box = (-1000.0, 1000.0 * face.descent, 3000.0, 1000.0 * face.ascent)
    descriptor = file.add(
        f"<</Type/FontDescriptor/FontName{name}/Flags 4/FontBBox[{_numbers(*box, digits=0)}]"
        f"/ItalicAngle 0/Ascent {box[3]:.0f}/Descent {box[1]:.0f}/CapHeight 729"
        f"/StemV {120 if face.bold else 80}/FontFile2 {data} 0 R>>".encode()
    )
    wide = _numbers(*(1000.0 * a for a in face.advances), digits=3)
    inner = file.add(
        f"<</Type/Font/Subtype/CIDFontType2/BaseFont{name}/FontDescriptor {descriptor} 0 R"
        "/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>"
        f"/CIDToGIDMap/Identity/DW 1000/W[0[{wide}]]>>".encode()
    )
    letters = file.add(_stream(_to_unicode(face)))
    return file.add(
        f"<</Type/Font/Subtype/Type0/BaseFont{name}/Encoding/Identity-H"
        f"/DescendantFonts[{inner} 0 R]/ToUnicode {letters} 0 R>>".encode()
    )


def _bookmarks(file: _File, marks: Sequence[tuple[str, int]], pages: Sequence[int]) -> int:
    root = file.add()
    items = [file.add() for _ in marks]
    for i, (title, page) in enumerate(marks):
        near = f"/Prev {items[i - 1]} 0 R" if i else ""
        near += f"/Next {items[i + 1]} 0 R" if i + 1 < len(items) else ""
        head, tail = f"<</Parent {root} 0 R{near}/Dest[{pages[page]} 0 R/Fit]/Title", b">>"
        file.put(items[i], head.encode() + _text(title) + tail)
    ends = f"<</Type/Outlines/First {items[0]} 0 R/Last {items[-1]} 0 R/Count {len(items)}>>"
    file.put(root, ends.encode())
    return root


def _link(file: _File, high: float, box: tuple[float, float, float, float], leaf: int) -> str:
    """A box on a page of some height [mm] that leads to another page; where it stands in the file."""
    left, top, right, low = (POINT * v for v in box)
    up = POINT * high
    place = _numbers(left, up - low, right, up - top, digits=2)
    number = file.add(
        f"<</Type/Annot/Subtype/Link/Rect[{place}]/Border[0 0 0]/Dest[{leaf} 0 R/Fit]>>".encode()
    )
    return f"{number} 0 R"


def to_pdf(
    pages: Sequence[Page],
    look: Theme | None = None,
    title: str = "",
    marks: Sequence[tuple[str, int]] = (),
    fonts: Fonts | None = None,
    links: Sequence[Link] = (),
) -> bytes:
    """Pages as a PDF; the same pages give the same bytes.

    pages: at least one.
    title: the first page's when left out.
    marks: bookmarks: a title, and the page it leads to, from 0.
    fonts: `fonts_of(pages)`, where the caller has it already.
    links: boxes that lead to another page.
    """
    look = look or theme("light")
    fonts = fonts or fonts_of(pages)
    file = _File()
    root, tree, info = file.add(), file.add(), file.add()
    faces = [_font(file, face, i) for i, face in enumerate(fonts.faces)]
    named = "".join(f"/F{i} {number} 0 R" for i, number in enumerate(faces))
    leaves = []
    for page in pages:
        drawn = file.add(_stream(_Pen(page, look, fonts).done()))
        box = _numbers(page.width * POINT, page.height * POINT)
        leaves.append(
            file.add(
                f"<</Type/Page/Parent {tree} 0 R/MediaBox[0 0 {box}]/Contents {drawn} 0 R"
                f"/Resources<</Font<<{named}>>>>>>".encode()
            )
        )
    for number in sorted({link[0] for link in links}):
        high = pages[number].height
        notes = [_link(file, high, box, leaves[to]) for n, box, to in links if n == number]
        leaf = file.bodies[leaves[number] - 1].removesuffix(b">>")
        file.put(leaves[number], leaf + f"/Annots[{' '.join(notes)}]>>".encode())
    kids = " ".join(f"{n} 0 R" for n in leaves)
    file.put(tree, f"<</Type/Pages/Kids[{kids}]/Count {len(leaves)}>>".encode())
    shown = f"/Outlines {_bookmarks(file, marks, leaves)} 0 R" if marks else ""
    # Print dialogs that obey it start at 100 %, not at "fit to page": the scale is a promise.
    file.put(
        root,
        f"<</Type/Catalog/Pages {tree} 0 R{shown}/Lang(en)"
        "/ViewerPreferences<</PrintScaling/None/DisplayDocTitle true>>>>".encode(),
    )
    file.put(info, b"<</Title" + _text(title or pages[0].title) + b">>")
    return file.done(root, info)
