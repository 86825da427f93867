"""Letters for print: which font shows which letter, cut down to those used and ready to embed.

The faces that come with Phasemark are asked first, the small ones and then the full ones, then the
fonts found on the machine. A letter that none of them has becomes a box and is reported.
"""

from __future__ import annotations

import io
import os
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from layout.page.arabic import joined
from layout.page.page import Page, Text
from layout.words.faults import JOINERS, printable
from layout.words.names import some_of

Key = tuple[str, bool]
"""A letter, and whether it is bold."""
Curve = tuple[str, tuple[tuple[float, float], ...]]
"""moveTo, lineTo, qCurveTo (one bend and the end) or closePath, and its points [em]."""

_OWN: Final = Path(__file__).parents[2] / "animate" / "fonts"
_RESTRICTED: Final = 0x0002
"""A font's own word that it may not be embedded (OpenType, OS/2 fsType)."""
MADE: Final = 3_849_984_000
"""The day written into fonts, always the same one [s since 1904]."""
_FOLDERS: Final = (
    "/usr/share/fonts", "/usr/local/share/fonts", "~/.fonts", "~/.local/share/fonts",
    "/System/Library/Fonts", "/Library/Fonts", "~/Library/Fonts",
    "C:/Windows/Fonts", "~/AppData/Local/Microsoft/Windows/Fonts",
)  # fmt: skip
_LIKED: Final = ("notosans", "dejavusans", "liberationsans", "arial", "sans")
_ODD: Final = ("bold", "black", "heavy", "light", "thin", "medium", "condensed", "mono", "serif")
_NEVER: Final = ("italic", "oblique", "lastresort")
"""A font of last resort shows a box with a code for every letter: that is no letter."""


@dataclass(frozen=True, eq=False)
class Face:
    """One font file cut down to the letters used.

    letters: glyph 0 is the box, glyph 1 the first letter.
    advances: of each glyph [em].
    outlines: of each glyph.
    ascent, descent: [em].
    data: a TrueType font of these glyphs.
    """

    bold: bool
    letters: str
    advances: tuple[float, ...]
    outlines: tuple[tuple[Curve, ...], ...]
    ascent: float
    descent: float
    data: bytes

    def glyph(self, letter: str) -> int:
        """Number of a letter's glyph; 0, the box, where there is none."""
        return self.letters.find(letter) + 1


@dataclass(frozen=True, eq=False)
class Fonts:
    """The faces of one document.

    home: the face of every letter used.
    missing: letters that no font has, each once.
    """

    faces: tuple[Face, ...]
    home: Mapping[Key, int]
    missing: str

    def runs(self, text: str, bold: bool) -> Iterator[tuple[int, str]]:
        """A line of text as pieces of one face each, in the order they are set from the left."""
        face, piece = -1, ""
        for letter in as_set(text):
            here = self.home[letter, bold]
            if here != face and piece:
                yield face, piece
                piece = ""
            face, piece = here, piece + letter
        if piece:
            yield face, piece

    def width(self, text: str, bold: bool) -> float:
        """Width of a line of text [em]."""
        return sum(face.advances[glyph] for face, glyph, _ in self.placed(text, bold))

    def placed(self, text: str, bold: bool) -> Iterator[tuple[Face, int, float]]:
        """The glyphs of a line of text: face, number, and how far in each stands [em]."""
        x = 0.0
        for number, piece in self.runs(text, bold):
            face = self.faces[number]
            for glyph in map(face.glyph, piece):
                yield face, glyph, x
                x += face.advances[glyph]


def as_set(text: str) -> str:
    """A text as it is set from the left: composed, printable, right-to-left letters turned round.

    >>> as_set("e\\u0301")
    'é'
    """
    line = joined(printable(unicodedata.normalize("NFC", text)))
    return line if line.isprintable() else "".join(c for c in line if c not in JOINERS)


def _shipped(bold: bool) -> tuple[str, ...]:
    """Files that are there wherever Phasemark is."""
    names = ("sans-bold", "full-bold", "full") if bold else ("sans", "full")
    return tuple(str(_OWN / f"{name}.ttf") for name in names)


@lru_cache(maxsize=1)
def _found() -> tuple[str, ...]:
    """Upright fonts of this machine, the likeliest first."""

    def order(path: str) -> tuple[int, int, str]:
        name = _plain(path)
        liked = next((i for i, word in enumerate(_LIKED) if word in name), len(_LIKED))
        return liked, sum(word in name for word in _ODD), path

    files = [
        os.path.join(folder, name)
        for top in _FOLDERS
        for folder, _, names in os.walk(os.path.expanduser(top))
        for name in names
        if name.lower().endswith((".ttf", ".otf", ".ttc"))
    ]
    return tuple(sorted((f for f in files if not any(w in _plain(f) for w in _NEVER)), key=order))


def _plain(path: str) -> str:
    """A font file's name in small letters only."""
    return "".join(filter(str.isalpha, os.path.basename(path).lower()))


@lru_cache(maxsize=1024)
def on_machine(letter: str) -> str | None:
    """A font file of this machine that has a letter, its outline, and may be embedded."""
    from fontTools.ttLib import TTLibError

    for path in _found():
        try:
            if ord(letter) in _names(path) and _usable(path):
                return path
        except (OSError, TTLibError, AssertionError):
            continue  # a broken font is no reason to stop
    return None


@lru_cache(maxsize=64)
def _usable(path: str) -> bool:
    font = _open(path)
    drawn = "glyf" in font or "CFF " in font
    return drawn and not ("OS/2" in font and font["OS/2"].fsType & 0x000F == _RESTRICTED)


@lru_cache(maxsize=64)
def _open(path: str) -> Any:
    from fontTools.ttLib import TTFont

    return TTFont(io.BytesIO(Path(path).read_bytes()), lazy=True, fontNumber=0)


@lru_cache(maxsize=64)
def _names(path: str) -> dict[int, str]:
    """Glyph names by letter."""
    return dict(_open(path).getBestCmap() or {})


def fonts_for(texts: Iterable[tuple[str, bool]]) -> Fonts:
    """The faces that show some texts, cut down to their letters.

    texts: each with whether it is bold.
    """
    keys = sorted({(letter, bold) for text, bold in texts for letter in as_set(text)})
    wanted: dict[tuple[str, bool], list[str]] = {}
    missing = []
    for letter, bold in keys:
        path = next((p for p in _shipped(bold) if ord(letter) in _names(p)), None)
        if path is None:
            path = on_machine(letter)
        if path is None:
            path = _shipped(bold)[0]
            missing.append(letter)
        wanted.setdefault((path, bold), []).append(letter)
    faces = tuple(_face(path, bold, "".join(letters)) for (path, bold), letters in wanted.items())
    home = {(c, bold): i for i, ((_, bold), cs) in enumerate(wanted.items()) for c in cs}
    return Fonts(faces, home, "".join(sorted(set(missing))))


def fonts_of(pages: Iterable[Page]) -> Fonts:
    """The faces that pages need."""
    return fonts_for((i.text, i.bold) for page in pages for i in page.ink if isinstance(i, Text))


@lru_cache(maxsize=4096)
def _curves(path: str, name: str) -> tuple[tuple[Curve, ...], Any]:
    """A glyph's outline in ems, and as a glyph of a TrueType font: to be copied, not changed."""
    from fontTools.pens.basePen import decomposeQuadraticSegment
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.recordingPen import DecomposingRecordingPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    glyphs, units = _open(path).getGlyphSet(), float(_open(path)["head"].unitsPerEm)
    recording = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(recording)
    made = TTGlyphPen(None)
    quadratic = DecomposingRecordingPen(glyphs)
    recording.replay(Cu2QuPen(quadratic, units / 1000.0, all_quadratic=True))
    quadratic.replay(made)
    curves: list[Curve] = []
    for kind, points in quadratic.value:
        # A closed curve may be all control points: TrueType then starts between the last and first.
        if kind == "qCurveTo" and points and points[-1] is None:
            (ax, ay), (bx, by) = points[-2], points[0]
            start = ((ax + bx) / 2.0, (ay + by) / 2.0)
            curves.append(("moveTo", ((start[0] / units, start[1] / units),)))
            points = (*points[:-1], start)
        parts = decomposeQuadraticSegment(points) if kind == "qCurveTo" else [points]
        curves += [(kind, tuple((x / units, y / units) for x, y in part)) for part in parts]
    return tuple(curves), made.glyph()


@lru_cache(maxsize=32)
def _face(path: str, bold: bool, letters: str) -> Face:
    from fontTools.fontBuilder import FontBuilder

    font, names = _open(path), _names(path)
    units = float(font["head"].unitsPerEm)
    glyphs = font.getGlyphSet()
    order = [".notdef", *(f"g{i}" for i in range(len(letters)))]
    sources = [".notdef", *(names.get(ord(c), ".notdef") for c in letters)]
    drawn = [_curves(path, s) for s in sources]
    made = dict(zip(order, (copy(glyph) for _, glyph in drawn), strict=True))
    wide = {o: round(glyphs[s].width) for o, s in zip(order, sources, strict=True)}
    up, down = font["hhea"].ascent, font["hhea"].descent
    build = FontBuilder(round(units), isTTF=True)
    build.setupGlyphOrder(order)
    build.setupCharacterMap({ord(c): o for c, o in zip(letters, order[1:], strict=True)})
    build.setupGlyf(made)
    build.setupHorizontalMetrics({o: (wide[o], getattr(made[o], "xMin", 0)) for o in order})
    build.setupHorizontalHeader(ascent=up, descent=down)
    build.setupNameTable({"familyName": "Sheet", "styleName": "Bold" if bold else "Regular"})
    build.setupOS2(
        sTypoAscender=up, sTypoDescender=down, usWinAscent=max(up, 0), usWinDescent=max(-down, 0),
        usWeightClass=700 if bold else 400,
    )  # fmt: skip
    build.setupPost(keepGlyphNames=False)
    # No date inside, so that the same page is the same file.
    build.updateHead(created=MADE, modified=MADE)
    out = io.BytesIO()
    build.font.save(out)
    return Face(
        bold,
        letters,
        tuple(wide[o] / units for o in order),
        tuple(curves for curves, _ in drawn),
        up / units,
        down / units,
        out.getvalue(),
    )


def woff(face: Face) -> bytes:
    """A face compressed for embedding in an SVG (Web Open Font Format 1)."""
    from fontTools.ttLib import TTFont

    font = TTFont(io.BytesIO(face.data), recalcTimestamp=False)
    font.flavor = "woff"
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()


def missing_line(fonts: Fonts, kind: str) -> str:
    """One line that names the letters a document cannot show; empty where it shows all.

    kind: what it is, as "PDF".
    """
    if not fonts.missing:
        return ""
    return (
        f"no font on this machine has {_named(fonts.missing)}: a box stands for it in the {kind}; "
        "a font with these letters, once installed, is found by itself"
    )


def clip_line(texts: Iterable[str], kind: str) -> str:
    """One line that names the letters a clip or a still in pixels cannot show; empty where it shows all.

    Those are drawn with the faces that come with Phasemark, and no others.

    >>> clip_line(["Łucja"], "GIF"), clip_line(["李"], "GIF")[:28]
    ('', 'the font of the GIF has no 李')
    """
    have = _names(str(_OWN / "sans.ttf"))
    lost = "".join(sorted({c for text in texts for c in as_set(text) if ord(c) not in have}))
    return lost and f"the font of the {kind} has no {_named(lost)}: a box stands for it"


def _named(missing: str) -> str:
    """Letters with their numbers, the first eight of them."""
    return some_of([f"{c} (U+{ord(c):04X})" for c in missing], 8, " ")
