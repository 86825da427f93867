"""PDFs: the size, the scale, the letters and the facts, out of the file itself."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf.generic import Destination

from animate.body.shapes import Stroke
from animate.film.themes import theme
from layout.page.letters import fonts_of
from layout.page.page import MARGIN, PAPERS, SCALES, Line, Page, Text, View, paper_size
from layout.page.pdf import to_pdf
from layout.page.svg import to_svg
from layout.plan.tape import tape_card
from layout.sheet.drawing import Sheet, draw
from tests.paper import bar_length, bare, has_span, pdf_paths, reader, svg_paths
from tests.strategies import person_names, plan

TEN = 10.0


@lru_cache(maxsize=4)
def sheet(paper: str = "A4", upright: bool = False) -> Page:
    made = plan("imka", "hop-step-sand")
    return draw(made, tape_card(made), Sheet(paper, upright, 100))


@pytest.mark.parametrize("upright", [False, True])
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("scale", SCALES)
def test_ten_metres_are_as_long_as_the_scale_says(scale: int, paper: str, upright: bool) -> None:
    """On every paper, in PDF and SVG: 100.0 mm at 1:100, to a tenth."""
    width, height = paper_size(paper, upright)
    metres = TEN if 1000.0 * TEN / scale < width - 2 * MARGIN else 3.0
    line = View(scale, MARGIN, 50.0).ink([Stroke(((0.0, 0.0), (metres, 0.0)), "line")])
    page = Page(width, height, scale, "ten", tuple(line))
    wanted = 1000.0 * metres / scale
    (leaf,) = reader(to_pdf([page])).pages
    for paths in (pdf_paths(leaf), svg_paths(to_svg(page))):
        ((start, end),) = paths
        assert end[0] - start[0] == pytest.approx(wanted, abs=0.1)
        assert has_span(paths, wanted)
        assert not has_span(paths, wanted + 0.3)
    assert float(leaf.mediabox.width) == pytest.approx(width * 72.0 / 25.4, abs=0.01)
    assert float(leaf.mediabox.height) == pytest.approx(height * 72.0 / 25.4, abs=0.01)


def test_bar_of_a_drawing_is_true_both_ways() -> None:
    page = sheet()
    for paths in (pdf_paths(reader(to_pdf([page])).pages[0]), svg_paths(to_svg(page))):
        assert bar_length(paths) == pytest.approx(50.0, abs=0.1)


def test_all_text_is_there_as_text_once() -> None:
    page = sheet()
    said = bare(reader(to_pdf([page])).pages[0].extract_text())
    texts = [bare(i.text) for i in page.ink if isinstance(i, Text)]
    assert len(said) == sum(map(len, texts))
    assert all(text in said for text in texts)


def test_same_pages_same_bytes_and_no_date() -> None:
    made = to_pdf([sheet()])
    assert made == to_pdf([sheet()])
    facts = reader(made).metadata
    assert facts is not None
    assert facts.title == sheet().title
    assert "/CreationDate" not in facts


def test_asks_to_be_printed_at_its_own_size() -> None:
    root = reader(to_pdf([sheet()])).trailer["/Root"].get_object()
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]


def test_pages_keep_their_order_sizes_and_bookmarks() -> None:
    one, two = sheet(), sheet("Letter", True)
    made = reader(to_pdf([one, two], marks=[("Imka", 0), ("Łucja <b>", 1)]))
    widths = [float(leaf.mediabox.width) * 25.4 / 72.0 for leaf in made.pages]
    assert widths == pytest.approx([one.width, two.width], abs=0.01)
    marks = [m for m in made.outline if isinstance(m, Destination)]
    assert [mark.title for mark in marks] == ["Imka", "Łucja <b>"]
    assert [made.get_destination_page_number(mark) for mark in marks] == [0, 1]


def test_every_font_is_inside() -> None:
    fonts = reader(to_pdf([sheet()])).pages[0]["/Resources"]["/Font"]  # type: ignore[index]
    assert len(fonts) >= 2
    for font in fonts.values():
        (inner,) = (f.get_object() for f in font.get_object()["/DescendantFonts"])
        assert "/FontFile2" in inner["/FontDescriptor"].get_object()
        assert "/ToUnicode" in font.get_object()


@settings(max_examples=25)
@given(
    person_names | st.text(st.characters(codec="utf-8"), min_size=1, max_size=40), st.booleans(),
    st.booleans(),
)  # fmt: skip
def test_any_name_is_written_and_never_breaks_the_file(name: str, bold: bool, halo: bool) -> None:
    text = Text((MARGIN, 20.0), name, bold=bold, halo=halo, align="right")
    made = to_pdf([Page(100.0, 50.0, 50, name, (text,))])
    assert len(reader(made).pages) == 1
    reader(made).pages[0].extract_text()


@pytest.mark.parametrize("name", ["Łucja O'Brien-Ðặng", "<script>alert(1)</script>", "$x^2$ %\\n", "(((",
                                  "Ελένη Ωraíos", "Юлия Ёж"])  # fmt: skip
def test_names_come_out_as_they_went_in(name: str) -> None:
    page = Page(100.0, 50.0, 50, name, (Text((MARGIN, 20.0), name),))
    made = reader(to_pdf([page]))
    assert bare(made.pages[0].extract_text()) == bare(name)
    assert made.metadata is not None
    assert made.metadata.title == name
    assert fonts_of([page]).missing == ""


def test_text_stands_where_the_page_says() -> None:
    """Left end, middle and right end, by the letters' own widths."""
    from layout.page.widths import text_width

    found = {}
    for align in ("left", "middle", "right"):
        text = Text((50.0, 20.0), "step 4.61", 4.0, align=align, bold=True)
        page = Page(100.0, 50.0, 50, "", (text,))

        def note(said: str, cm: list[float], tm: list[float], *_: object, to: str = align) -> None:
            if said.strip():
                found[to] = (tm[4] * cm[0] * 25.4 / 72.0, 50.0 - tm[5] * cm[3] * 25.4 / 72.0)

        reader(to_pdf([page])).pages[0].extract_text(visitor_text=note)
    wide = text_width("step 4.61", 4.0, True)
    assert found["left"] == pytest.approx((50.0, 20.0), abs=0.01)
    assert found["middle"] == pytest.approx((50.0 - wide / 2, 20.0), abs=0.05)
    assert found["right"] == pytest.approx((50.0 - wide, 20.0), abs=0.05)


def test_halo_is_drawn_as_outlines_before_its_letters() -> None:
    text = Text((20.0, 20.0), "8", 4.0, halo=True)
    page = Page(100.0, 50.0, 50, "", (text,))
    with_halo = pdf_paths(reader(to_pdf([page])).pages[0])
    without = pdf_paths(reader(to_pdf([replace(page, ink=(replace(text, halo=False),))])).pages[0])
    assert without == []
    assert len(with_halo) == 3  # an eight and its two eyes
    # Their first points, inside the letter's own box.
    points = np.array([path[0] for path in with_halo])
    assert (points.min(axis=0) > [20.0, 30.0]).all()
    assert (points.max(axis=0) < [20.0 + 0.64 * 4.0, 30.0 + 0.76 * 4.0]).all()


def test_grey_is_grey() -> None:
    data = reader(to_pdf([sheet()], theme("print-grey"))).pages[0].get_contents()
    assert data is not None
    colours = {
        tuple(row.split()[:3]) for row in data.get_data().decode().split("\n")
        if row.endswith((" rg", " RG"))
    }  # fmt: skip
    assert len(colours) > 3
    assert all(len(set(colour)) == 1 for colour in colours)
    assert any(isinstance(i, Line) and i.fill == "sand" for i in sheet().ink)
