"""Text widths against the font itself, and folding that loses nothing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib import get_data_path
from matplotlib.ft2font import FT2Font, LoadFlags

from layout.page.widths import text_width, wrapped

CHARACTERS = [chr(c) for c in (*range(0x20, 0x7F), *range(0xA0, 0x180))]


@pytest.mark.parametrize(
    ("bold", "file"), [(False, "DejaVuSans.ttf"), (True, "DejaVuSans-Bold.ttf")]
)
def test_every_width_is_the_fonts(bold: bool, file: str) -> None:
    """The font that matplotlib carries is the reference; a thousandth of an em is the rounding."""
    font = FT2Font(f"{get_data_path()}/fonts/ttf/{file}")
    for c in CHARACTERS:
        glyph = font.load_char(ord(c), flags=LoadFlags.NO_SCALE)
        exact = glyph.horiAdvance / font.units_per_EM
        assert text_width(c, 1.0, bold) == pytest.approx(exact, abs=0.000501), repr(c)


@given(st.text(max_size=40), st.text(max_size=40), st.floats(0.5, 10.0), st.booleans())
def test_width_adds_up_and_grows_with_the_em(a: str, b: str, size: float, bold: bool) -> None:
    parts = text_width(a, size, bold) + text_width(b, size, bold)
    assert text_width(a + b, size, bold) == pytest.approx(parts)
    assert text_width(a, 2 * size, bold) == pytest.approx(2 * text_width(a, size, bold))
    assert text_width("名", size) == size


@given(st.text(max_size=120), st.floats(3.0, 80.0), st.booleans())
def test_folding_fits_and_loses_nothing(text: str, width: float, bold: bool) -> None:
    lines = wrapped(text, 3.0, width, bold)
    assert "".join("".join(lines).split()) == "".join(text.split())
    for line in lines:
        assert text_width(line, 3.0, bold) <= width + 1e-9 or len(line) == 1
    if text_width(" ".join(text.split()), 3.0, bold) <= width:
        assert lines == ([" ".join(text.split())] if text.split() else [])


def test_words_stay_together_where_they_fit() -> None:
    assert wrapped("hop step jump", 3.0, text_width("hop step", 3.0) + 0.1) == ["hop step", "jump"]


def test_a_word_too_long_is_broken() -> None:
    lines = wrapped("W" * 30, 3.0, 20.0)
    assert len(lines) > 1
    assert "".join(lines) == "W" * 30


def test_a_figure_and_its_unit_stay_on_one_line() -> None:
    text = "marks within 15 cm, of 3.24 m; 5.3 m/s in 2 s and 4' 2½\", to 36 years."
    kept = ("15 cm,", "3.24 m;", "5.3 m/s", "2 s", "4' 2½\",", "36 years.")
    for width in range(18, 80):
        lines = wrapped(text, 3.0, float(width))
        assert " ".join(lines) == text
        assert all(any(figure in line for line in lines) for figure in kept), width
        assert all(text_width(line, 3.0) <= width for line in lines)
