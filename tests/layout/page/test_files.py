"""SVG, PDF and PNG are one page: the same marks in the same places, text that stays text."""

from __future__ import annotations

import io
import warnings
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
import resvg_py
from matplotlib.image import imread
from pypdf import PdfReader

from animate.film.themes import theme
from layout.page.files import page_file
from layout.page.page import MARGIN, PAPERS, Line, Page, Text
from layout.page.svg import INCH, to_svg
from layout.plan.tape import tape_card
from layout.sheet.drawing import Sheet, draw
from tests.paper import pdf_paths, reader
from tests.strategies import plan

DPI = 254.0
"""Ten dots to the millimetre."""
DOTS = DPI / INCH


@lru_cache(maxsize=4)
def sheet(who: str = "tevin", drill: str = "full-triple-jump") -> Page:
    made = plan(who, drill)
    return draw(made, tape_card(made))


def wordless(page: Page) -> Page:
    """Line work only: two programs never set letters alike to the pixel."""
    return replace(page, ink=tuple(i for i in page.ink if isinstance(i, Line)))


def grey(png: bytes) -> Any:
    """Rows of luma, 0 black to 1 white."""
    pixels = imread(io.BytesIO(png))
    rgb = pixels[..., :3] if pixels.ndim == 3 else np.repeat(pixels[..., None], 3, axis=2)
    return rgb @ np.array([0.299, 0.587, 0.114])


def by_svg(page: Page) -> Any:
    return grey(bytes(resvg_py.svg_to_bytes(svg_string=to_svg(page), dpi=DPI)))


def by_png(page: Page) -> Any:
    return grey(page_file(page, "png", dots=DPI))


def by_another(page: Page) -> Any:
    """The page's lines drawn by a program that knows nothing of ours."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    out = io.BytesIO()
    made = Figure(figsize=(page.width / INCH, page.height / INCH), dpi=DPI)
    axes = made.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set(xlim=(0.0, page.width), ylim=(page.height, 0.0))
    axes.axis("off")
    paint: Any = {r: tuple(c / 255.0 for c in v) for r, v in theme("light").colours.items()}
    for order, line in enumerate(page.ink):
        assert isinstance(line, Line)
        points = [*line.points, *line.points[: int(line.closed)]]
        codes = [Path.MOVETO] + [Path.LINETO] * (len(points) - 1)
        if line.closed:
            codes[-1] = Path.CLOSEPOLY
        patch = PathPatch(
            Path(points, codes), facecolor=paint[line.fill] if line.fill else "none",
            edgecolor=paint[line.stroke] if line.stroke else "none", capstyle="round",
            linewidth=line.width * 72.0 / INCH if line.stroke else 0.0, joinstyle="round",
            zorder=order, clip_on=False, snap=False,
        )  # fmt: skip
        if line.dash:
            patch.set_linestyle((0, tuple(d / line.width for d in line.dash)))
        axes.add_patch(patch)
    FigureCanvasAgg(made).print_figure(out, format="png", dpi=DPI, facecolor="white")
    return grey(out.getvalue())


@lru_cache(maxsize=2)
def another(who: str, drill: str) -> Any:
    return by_another(wordless(sheet(who, drill)))


def moved(page: Page, name: str, by: float) -> Page:
    def one(item: Any) -> Any:
        if not isinstance(item, Line) or item.name != name:
            return item
        return replace(item, points=tuple((x + by, y) for x, y in item.points))

    out = replace(page, ink=tuple(one(i) for i in page.ink))
    assert out != page
    return out


def worst(one: Any, other: Any, size: int = 5) -> float:
    """Largest difference of ink in any square of half a millimetre."""

    def ink(pixels: Any) -> Any:
        total = np.pad(pixels, ((1, 0), (1, 0))).cumsum(axis=0).cumsum(axis=1)
        upper = total[size:, size:] - total[:-size, size:]
        return (upper - total[size:, :-size] + total[:-size, :-size]) / size**2

    return float(np.abs(ink(one) - ink(other)).max())


SAME = 0.18
"""Most that two renderers may differ by in half a millimetre square. One of them puts level and
upright lines on whole dots, the other does not: half a dot of ten to the millimetre, measured .11 to
.15 on the sheets below. A thin mark moved by 1 mm measures .21 and more."""


@pytest.mark.parametrize(
    ("who", "drill"), [("tevin", "full-triple-jump"), ("bram", "two-hops-step-sand")]
)
@pytest.mark.parametrize("render", [by_svg, by_png])
def test_svg_and_png_are_the_page_drawn_by_another(who: str, drill: str, render: Any) -> None:
    page = wordless(sheet(who, drill))
    one, other = render(page), another(who, drill)
    one = one[: other.shape[0], : other.shape[1]]  # the other drops the last part of a dot
    assert one.shape == other.shape
    assert float(np.abs(one - other).mean()) < 0.01
    assert worst(one, other) < SAME


@pytest.mark.parametrize("name", ["toe-1", "pit-edge", "arc-1"])
def test_a_mark_moved_by_a_millimetre_is_seen(name: str) -> None:
    page = wordless(sheet())
    assert worst(svg_once(), by_png(moved(page, name, 1.0))) > SAME


@lru_cache(maxsize=1)
def svg_once() -> Any:
    return by_svg(wordless(sheet()))


@pytest.mark.parametrize("render", [by_svg, by_png])
def test_marks_are_where_the_page_says(render: Any) -> None:
    """Each line alone on the page: the middle of its ink is its place, to half a dot."""
    page = sheet()
    found = [i for i in page.ink if isinstance(i, Line) and i.name.startswith(("toe-", "pit-edge"))]
    assert len(found) >= 4
    for line in found[1:4]:
        dark = 1.0 - render(replace(page, ink=(replace(line, dash=()),)))
        columns, rows = dark.sum(axis=0), dark.sum(axis=1)
        x = float((columns * (np.arange(columns.size) + 0.5)).sum() / columns.sum()) / DOTS
        y = float((rows * (np.arange(rows.size) + 0.5)).sum() / rows.sum()) / DOTS
        ys = [p[1] for p in line.points]
        assert x == pytest.approx(line.points[0][0], abs=0.5 / DOTS)
        assert y == pytest.approx((min(ys) + max(ys)) / 2.0, abs=0.5 / DOTS)


@pytest.mark.parametrize("dots", [100.0, 200.0])
def test_png_has_the_papers_dots(dots: float) -> None:
    page = sheet()
    rows, columns = grey(page_file(page, "png", dots=dots)).shape
    assert columns == pytest.approx(page.width / INCH * dots, abs=1.0)
    assert rows == pytest.approx(page.height / INCH * dots, abs=1.0)


def opened(page: Page) -> PdfReader:
    return reader(page_file(page, "pdf"))


@pytest.mark.parametrize("upright", [False, True])
@pytest.mark.parametrize("paper", PAPERS)
def test_pdf_page_is_the_paper(paper: str, upright: bool) -> None:
    made = plan("runa", "hop-step-sand")
    page = draw(made, tape_card(made), Sheet(paper, upright))
    (leaf,) = opened(replace(page, ink=page.ink[:3])).pages
    assert float(leaf.mediabox.width) == pytest.approx(page.width * 72.0 / 25.4, abs=0.01)
    assert float(leaf.mediabox.height) == pytest.approx(page.height * 72.0 / 25.4, abs=0.01)


def test_pdf_carries_its_fonts() -> None:
    fonts = opened(sheet()).pages[0]["/Resources"]["/Font"]  # type: ignore[index]
    kinds = []
    for font in fonts.values():
        font = font.get_object()
        inner = [f.get_object() for f in font.get("/DescendantFonts", [font])]
        kinds += ["/FontFile2" in f["/FontDescriptor"].get_object() for f in inner]
    assert kinds
    assert all(kinds)


def test_pdf_is_the_same_file_each_time() -> None:
    page = replace(sheet(), ink=sheet().ink[::6])
    assert page_file(page, "pdf") == page_file(page, "pdf")
    assert opened(page).metadata.title == page.title  # type: ignore[union-attr]
    assert "/CreationDate" not in opened(page).metadata  # type: ignore[operator]


def test_pdf_text_can_be_searched() -> None:
    page = sheet()
    said = "".join(opened(page).pages[0].extract_text().split())
    for item in page.ink:
        if isinstance(item, Text):
            assert "".join(item.text.split()) in said, item.text


def test_pdf_lines_are_true_to_scale() -> None:
    """The page's own coordinates, out of the PDF's drawing commands."""
    page = sheet()
    line = next(i for i in page.ink if isinstance(i, Line) and i.name == "toe-3")
    only = replace(page, ink=(line,))
    paths = pdf_paths(opened(only).pages[0])
    points = [(x * 72 / 25.4, y * 72 / 25.4) for path in paths for x, y in path]
    wanted = [(x * 72 / 25.4, (page.height - y) * 72 / 25.4) for x, y in line.points]
    for want in wanted:
        assert min(np.hypot(want[0] - x, want[1] - y) for x, y in points) < 0.01


def test_another_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="kind: svg, png, pdf, got 'gif'"):
        page_file(sheet(), "gif")


def test_theme_is_obeyed() -> None:
    page = wordless(sheet())
    pixels = imread(io.BytesIO(page_file(page, "png", theme("print-grey"), dots=60.0)))[..., :3]
    assert float((pixels.max(axis=2) - pixels.min(axis=2)).max()) == 0.0
    pixels = imread(io.BytesIO(page_file(page, "png", dots=60.0)))[..., :3]
    assert float((pixels.max(axis=2) - pixels.min(axis=2)).max()) > 0.2


HOSTILE = [
    "$x$ $\\frac{1}{0}$",
    "\\alpha^{2}_3 %",
    "<b>&amp;</b>",
    "Łucja Hénin Ðóra",
    "a\\nb",
    "W" * 80,
]


@pytest.mark.parametrize("name", HOSTILE)
@pytest.mark.parametrize("kind", ["pdf", "png"])
def test_hostile_names_print_as_they_are(name: str, kind: str) -> None:
    made = plan("runa", "hop-step-sand")
    made = replace(made, who=replace(made.who, name=name))
    page = draw(made, tape_card(made))
    texts = tuple(i for i in page.ink if isinstance(i, Text))[:8]
    data = page_file(replace(page, ink=texts), kind, dots=60.0)
    if kind == "pdf":
        said = "".join(reader(data).pages[0].extract_text().split())
        for text in texts:
            assert "".join(text.text.split()) in said


@pytest.mark.parametrize("name", ["名前", "Emoji 🏃"])
@pytest.mark.parametrize("kind", ["pdf", "png"])
def test_letters_the_font_lacks_do_not_crash_or_chatter(name: str, kind: str) -> None:
    page = Page(100.0, 50.0, 50, name, (Text((MARGIN, MARGIN), name),))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert page_file(page, kind, dots=60.0)
