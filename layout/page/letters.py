"""Letters for print: which font shows which letter, cut down to those used and ready to embed.

The faces that come with Phasemark are asked first, then the fuller ones of matplotlib, then the
fonts found on the machine. A letter that none of them has becomes a box and is reported.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

from layout.page.arabic import joined
from layout.words.faults import JOINERS, printable

Key = tuple[str, bool]
"""A letter, and whether it is bold."""
Curve = tuple[str, tuple[tuple[float, float], ...]]
"""moveTo, lineTo, qCurveTo or closePath, and its points [em]."""

_OWN: Final = Path(__file__).parents[2] / "animate" / "fonts"
_RESTRICTED: Final = 0x0002
"""A font's own word that it may not be embedded (OpenType, OS/2 fsType)."""
MADE: Final = 3_849_984_000
"""The day written into fonts, always the same one [s since 1904]."""
_LIKED: Final = ("noto sans", "dejavu sans", "liberation sans", "arial", "sans")


@dataclass(frozen=True, eq=False)
class Face:
    """One font file cut down to the letters used.

    Attributes
    ----------
    bold : bool
    letters : str
        Glyph 0 is the box, glyph 1 the first letter.
    advances : tuple of float
        Of each glyph [em].
    outlines : tuple of tuple of Curve
        Of each glyph.
    ascent, descent : float
        [em]
    data : bytes
        A TrueType font of these glyphs.
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

    Attributes
    ----------
    faces : tuple of Face
    home : mapping of Key to int
        The face of every letter used.
    missing : str
        Letters that no font has, each once.
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
        return sum(
            self.faces[face].advances[self.faces[face].glyph(letter)]
            for face, piece in self.runs(text, bold)
            for letter in piece
        )


def as_set(text: str) -> str:
    """A text as it is set from the left: composed, printable, right-to-left letters turned round.

    >>> as_set("e\\u0301")
    'é'
    """
    line = joined(printable(unicodedata.normalize("NFC", text)))
    return line if line.isprintable() else "".join(c for c in line if c not in JOINERS)


def _shipped(bold: bool) -> tuple[str, ...]:
    """Files that are there wherever Phasemark is."""
    paths = [_OWN / ("sans-bold.ttf" if bold else "sans.ttf")]
    spec = find_spec("matplotlib")
    if spec is not None and spec.origin:
        folder = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"
        names = ("DejaVuSans-Bold.ttf", "DejaVuSans.ttf") if bold else ("DejaVuSans.ttf",)
        paths += [folder / name for name in names]
    return tuple(str(p) for p in paths if p.is_file())


@lru_cache(maxsize=1)
def _found() -> tuple[tuple[str, str], ...]:
    """Upright fonts of this machine, file and family, the likeliest first."""
    from matplotlib.font_manager import fontManager

    def order(entry: Any) -> tuple[int, int, str]:
        name = entry.name.lower()
        liked = next((i for i, word in enumerate(_LIKED) if word in name), len(_LIKED))
        weight = int(entry.weight) if str(entry.weight).isdigit() else 400
        return liked, abs(weight - 400), entry.fname

    # A font of last resort shows a box with a code for every letter: that is no letter.
    upright = [
        e
        for e in fontManager.ttflist
        if e.style == "normal" and "last resort" not in e.name.lower()
    ]
    return tuple((e.fname, e.name) for e in sorted(upright, key=order))


@lru_cache(maxsize=1024)
def on_machine(letter: str) -> tuple[str, str] | None:
    """File and family of a font of this machine that has a letter, its outline, and may be embedded.

    Returns
    -------
    (str, str) or None
    """
    from matplotlib.ft2font import FT2Font

    for path, family in _found():
        try:
            if FT2Font(path).get_char_index(ord(letter)) and _usable(path):
                return path, family
        except (OSError, RuntimeError):
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

    Parameters
    ----------
    texts : iterable of (str, bool)
        Each with whether it is bold.
    """
    keys = sorted({(letter, bold) for text, bold in texts for letter in as_set(text)})
    wanted: dict[tuple[str, bool], list[str]] = {}
    missing = []
    for letter, bold in keys:
        path = next((p for p in _shipped(bold) if ord(letter) in _names(p)), None)
        if path is None:
            found = on_machine(letter)
            path = found[0] if found else _shipped(bold)[0]
            if found is None:
                missing.append(letter)
        wanted.setdefault((path, bold), []).append(letter)
    faces = tuple(_face(path, bold, "".join(letters)) for (path, bold), letters in wanted.items())
    home = {(c, bold): i for i, ((_, bold), cs) in enumerate(wanted.items()) for c in cs}
    return Fonts(faces, home, "".join(sorted(set(missing))))


def _curves(glyphs: Any, name: str, units: float) -> tuple[tuple[Curve, ...], Any]:
    """A glyph's outline in ems, and as a glyph of a TrueType font."""
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.recordingPen import DecomposingRecordingPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

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
        curves.append((kind, tuple((x / units, y / units) for x, y in points)))
    return tuple(curves), made.glyph()


def _face(path: str, bold: bool, letters: str) -> Face:
    from fontTools.fontBuilder import FontBuilder

    font, names = _open(path), _names(path)
    units = float(font["head"].unitsPerEm)
    glyphs = font.getGlyphSet()
    order = [".notdef", *(f"g{i}" for i in range(len(letters)))]
    sources = [".notdef", *(names.get(ord(c), ".notdef") for c in letters)]
    drawn = [_curves(glyphs, s, units) for s in sources]
    made = dict(zip(order, (glyph for _, glyph in drawn), strict=True))
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

    Parameters
    ----------
    fonts : Fonts
    kind : str
        What it is, as "PDF".
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
    shown = " ".join(f"{c} (U+{ord(c):04X})" for c in missing[:8])
    return f"{shown} and {len(missing) - 8} more" if len(missing) > 8 else shown
