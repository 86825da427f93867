"""Which font shows which letter, and what is said of the letters that none shows."""

from __future__ import annotations

import io
import unicodedata
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.page import letters
from layout.page.arabic import is_rtl, joined
from layout.page.letters import as_set, fonts_for, fonts_of, missing_line, woff
from layout.page.page import MARGIN, Page, Text
from layout.page.pdf import to_pdf
from layout.page.svg import to_svg
from layout.page.widths import text_width
from tests.paper import bare, reader

LATIN = "".join(chr(p) for p in [*range(0x21, 0x7F), *range(0xA1, 0x180)] if p != 0xAD)
"""Letters whose widths the layout knows; without the soft hyphen, which does not print."""


@pytest.mark.parametrize("bold", [False, True])
def test_the_layouts_widths_are_the_fonts_own(bold: bool) -> None:
    fonts = fonts_for([(LATIN, bold)])
    for letter in LATIN:
        if as_set(letter) == letter:
            assert fonts.width(letter, bold) == pytest.approx(
                text_width(letter, 1.0, bold), abs=6e-4
            ), letter
    assert fonts.missing == ""
    assert len(fonts.faces) == 1


def test_a_face_holds_the_letters_used_and_no_others() -> None:
    (face,) = fonts_for([("Imka: step", False)]).faces
    font = TTFont(io.BytesIO(face.data))
    assert {chr(c) for c in font.getBestCmap()} == set("Imka: step")
    assert font["maxp"].numGlyphs == len(set("Imka: step")) + 1
    assert TTFont(io.BytesIO(woff(face))).getBestCmap() == font.getBestCmap()
    assert len(woff(face)) < len(face.data)


def test_each_letter_goes_to_the_first_font_that_has_it() -> None:
    fonts = fonts_for([("Ada Юлия", False), ("Ada", True)])
    assert len(fonts.faces) == 3
    assert [piece for _, piece in fonts.runs("Ada Юлия", False)] == ["Ada ", "Юлия"]
    assert len({fonts.home["A", False], fonts.home["A", True], fonts.home["Ю", False]}) == 3


def test_letters_no_font_has_are_named_in_one_line() -> None:
    """Private letters, which by their nature no font found can show rightly, are named too."""
    fonts = fonts_for([("Ada \U0001fffd", False)])
    assert fonts.missing == "" or missing_line(fonts, "PDF")
    odd = "".join(chr(0x13000 + i) for i in range(10))  # hieroglyphs
    fonts = fonts_for([(f"Ada {odd}", True)])
    if fonts.missing:
        line = missing_line(fonts, "PDF")
        assert "\n" not in line
        assert "U+13000" in line
        assert "and 2 more" in line
    assert missing_line(fonts_for([("Ada", True)]), "PDF") == ""


def test_a_font_of_the_machine_is_used_when_it_has_the_letter(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With a font that stands for one installed: the letter is no longer missing."""
    path = letters._shipped(False)[1]
    letters.on_machine.cache_clear()
    monkeypatch.setattr(letters, "_found", lambda: ())
    monkeypatch.setattr(letters, "_shipped", lambda bold: (str(letters._OWN / "sans.ttf"),))
    assert fonts_for([("Ю", False)]).missing == "Ю"
    letters.on_machine.cache_clear()
    monkeypatch.setattr(letters, "_found", lambda: ("/nowhere.ttf", path))
    fonts = fonts_for([("Ю", False)])
    assert fonts.missing == ""
    assert fonts.faces[0].outlines[1]
    letters.on_machine.cache_clear()


def test_cubic_outlines_become_quadratic_ones(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Many fonts of other scripts hold PostScript outlines: a disc of one, area and advance kept."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.t2CharStringPen import T2CharStringPen

    pen, k = T2CharStringPen(1000, None), 0.5523 * 400
    pen.moveTo((900, 400))
    for a, b, c in (
        ((900, 400 + k), (500 + k, 800), (500, 800)), ((500 - k, 800), (100, 400 + k), (100, 400)),
        ((100, 400 - k), (500 - k, 0), (500, 0)), ((500 + k, 0), (900, 400 - k), (900, 400)),
    ):  # fmt: skip
        pen.curveTo(a, b, c)
    pen.closePath()
    build = FontBuilder(1000, isTTF=False)
    build.setupGlyphOrder([".notdef", "disc"])
    build.setupCharacterMap({ord("名"): "disc"})
    shape = pen.getCharString()
    build.setupCFF("Disc", {}, {".notdef": shape, "disc": shape}, {})
    build.setupHorizontalMetrics({".notdef": (500, 0), "disc": (1000, 100)})
    build.setupHorizontalHeader(ascent=800, descent=-200)
    build.setupNameTable({"familyName": "Disc", "styleName": "Regular"})
    build.setupOS2(fsType=0)
    build.setupPost()
    path = str(tmp_path / "disc.otf")
    build.save(path)
    monkeypatch.setattr(letters, "_found", lambda: (path,))
    letters.on_machine.cache_clear()
    fonts = fonts_for([("名", False)])
    letters.on_machine.cache_clear()
    assert fonts.missing == ""
    (face,) = fonts.faces
    assert face.advances[1] == 1.0
    made = TTFont(io.BytesIO(face.data))
    glyf = made["glyf"][made.getBestCmap()[ord("名")]]
    assert (glyf.xMin, glyf.yMin, glyf.xMax, glyf.yMax) == pytest.approx((100, 0, 900, 800), abs=2)
    page = Page(100.0, 50.0, 50, "名", (Text((MARGIN, 20.0), "名", halo=True),))
    assert bare(reader(to_pdf([page], fonts=fonts)).pages[0].extract_text()) == "名"


def test_a_font_that_may_not_be_embedded_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    font = TTFont(letters._shipped(False)[1])
    font["OS/2"].fsType = 0x0002
    path = str(tmp_path / "kept.ttf")
    font.save(path)
    monkeypatch.setattr(letters, "_found", lambda: (path,))
    monkeypatch.setattr(letters, "_shipped", lambda bold: (str(letters._OWN / "sans.ttf"),))
    letters.on_machine.cache_clear()
    assert fonts_for([("Ю", False)]).missing == "Ю"
    letters.on_machine.cache_clear()


def test_upright_fonts_are_asked_first_and_the_font_of_last_resort_never(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("LastResort.otf", "NotoSans-Italic.ttf", "DejaVuSans-Bold.ttf", "DejaVuSans.ttf"):
        (tmp_path / name).touch()
    monkeypatch.setattr(letters, "_FOLDERS", (str(tmp_path),))
    letters._found.cache_clear()
    found = letters._found()
    letters._found.cache_clear()
    assert [Path(p).name for p in found] == ["DejaVuSans.ttf", "DejaVuSans-Bold.ttf"]


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("Imka", "Imka"),
        ("e\u0301", "\u00e9"),
        ("a\nb", "a\\nb"),
        ("\u05e9\u05dc\u05d5\u05dd", "\u05dd\u05d5\u05dc\u05e9"),
        ("Ada \u05d0\u05d1 12", "Ada \u05d1\u05d0 12"),
        ("\u05d0 (\u05d1)", "(\u05d1) \u05d0"),
        ("\u05d0 12 \u05d1", "\u05d1 12 \u05d0"),
        ("\u0628\u0628\u0628", "\ufe90\ufe92\ufe91"),  # final, medial, initial, from the left
        ("\u062f\u0628", "\ufe8f\u062f".replace("\u062f", "\ufea9")),  # a dal never joins onward
        ("\u0644\u0627", "\ufefb"),
    ],
)
def test_lines_are_set_from_the_left(text: str, seen: str) -> None:
    assert as_set(text) == seen


@given(
    st.text(max_size=40) | st.text("\u0627\u0628\u062f\u0644\u0622\u05d0\u0651 ab1()", max_size=12)
)
def test_setting_loses_no_letter_and_leaves_latin_alone(text: str) -> None:
    out = joined(text)
    if not any(map(is_rtl, text)):
        assert out == text

    def plain(line: str) -> list[str]:
        alike = str.maketrans("()[]{}<>«»", "((((((((((")
        return sorted(unicodedata.normalize("NFKD", line).translate(alike))

    assert plain(out) == plain(text)


@settings(max_examples=20)
@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=30))
def test_any_text_has_a_face_for_every_letter(text: str) -> None:
    fonts = fonts_for([(text, False)])
    assert "".join(piece for _, piece in fonts.runs(text, False)) == as_set(text)
    assert fonts.width(text, False) >= 0.0


def test_arabic_and_hebrew_are_read_back_as_plain_letters() -> None:
    name = "\u0627\u0644\u0643\u062a\u0627\u0628"
    page = Page(100.0, 50.0, 50, name, (Text((MARGIN, 20.0), name),))
    said = bare(reader(to_pdf([page])).pages[0].extract_text())
    assert sorted(said) == sorted(name)


def test_svg_carries_its_faces_and_stays_wellformed() -> None:
    import base64
    import re
    import xml.etree.ElementTree as ET

    name = "Łucja <b>&Ю"
    page = Page(
        100.0, 50.0, 50, name, (Text((MARGIN, 20.0), name), Text((MARGIN, 30.0), "8", bold=True))
    )
    svg = to_svg(page, fonts=fonts_of([page]))
    assert [e.text for e in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")] == [
        name,
        "8",
    ]
    rules = re.findall(
        r"font-family:(\w+);font-weight:(\w+);src:url\(data:font/woff;base64,([^)]*)\)", svg
    )
    assert sorted(r[:2] for r in rules) == [
        ("sheet0", "bold"),
        ("sheet0", "normal"),
        ("sheet1", "normal"),
    ]
    shown = {
        chr(c) for r in rules for c in TTFont(io.BytesIO(base64.b64decode(r[2]))).getBestCmap()
    }
    assert shown == set(name) | {"8"}
    assert "http" not in re.sub(r'xmlns(:\w+)?="[^"]*"', "", svg)
    assert "@font-face" not in to_svg(page)


def test_pixels_and_plots_say_the_letters_they_cannot_show(monkeypatch: pytest.MonkeyPatch) -> None:
    """A box stood for them in a PNG, a GIF and a plot, and only the PDF said so."""
    from layout.page import letters
    from layout.sheet.plots import lost_letters

    monkeypatch.setattr(letters, "on_machine", lambda _: None)
    assert letters.clip_line(["Łucja – 41 cm"], "GIF") == ""
    assert lost_letters("Łucja") == []
    assert "U+1200A" in letters.clip_line(["Ada \U0001200a"], "GIF")
    (line,) = lost_letters("Ada \U0001200a")
    assert "U+1200A" in line
    assert "plots" in line
