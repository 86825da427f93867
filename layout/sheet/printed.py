"""The same page as PDF or PNG, through matplotlib."""

from __future__ import annotations

import io
import warnings
from typing import Any, Final

from animate.themes import Theme, theme
from layout.sheet.page import Line, Page, Text

INCH: Final = 25.4
POINT: Final = 72.0 / INCH
_ALIGN: Final = {"left": "left", "middle": "center", "right": "right"}


def _rgb(colour: tuple[int, int, int]) -> tuple[float, float, float]:
    red, green, blue = (c / 255.0 for c in colour)
    return red, green, blue


def _draw_line(axes: Any, line: Line, look: Theme, order: int) -> None:
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    points = list(line.points) + ([line.points[0]] if line.closed else [])
    codes = [Path.MOVETO] + [Path.LINETO] * (len(points) - 1)
    if line.closed:
        codes[-1] = Path.CLOSEPOLY
    edge = _rgb(look.colours[line.stroke]) if line.stroke else "none"
    fill = _rgb(look.colours[line.fill]) if line.fill else "none"
    patch = PathPatch(
        Path(points, codes),
        facecolor=fill,
        edgecolor=edge,
        linewidth=line.width * POINT if line.stroke else 0.0,
        capstyle="round",
        joinstyle="round",
        zorder=order,
        clip_on=False,
        # A line stays where it is, not on the nearest whole dot: the scale is a promise.
        snap=False,
    )
    if line.dash:
        patch.set_linestyle((0, tuple(d / line.width for d in line.dash)))
    axes.add_patch(patch)


def _draw_text(axes: Any, text: Text, look: Theme, order: int) -> None:
    from matplotlib import patheffects

    common = {
        "fontsize": text.size * POINT,
        "ha": _ALIGN[text.align],
        "va": "baseline",
        "fontweight": "bold" if text.bold else "normal",
        "fontfamily": "DejaVu Sans",
        "zorder": order,
        "clip_on": False,
        # A name may hold $ or \\: nothing here is mathematics.
        "parse_math": False,
    }
    if text.halo:
        # The rim is a text of its own: effects turn letters into outlines, and those of a PDF
        # could no longer be searched or copied.
        rim = patheffects.Stroke(
            linewidth=text.size * 0.28 * POINT, foreground=_rgb(look.colours["paper"])
        )
        axes.text(*text.at, text.text, path_effects=[rim], **common)
    axes.text(*text.at, text.text, color=_rgb(look.colours[text.role]), **common)


def to_print(page: Page, kind: str, look: Theme | None = None, dots: float = 200.0) -> bytes:
    """A page as PDF (vector, fonts embedded) or PNG.

    Parameters
    ----------
    page : Page
    kind : {"pdf", "png"}
    look : Theme, optional
    dots : float
        Of the PNG, per inch.

    Returns
    -------
    bytes

    Raises
    ------
    ValueError
        Another kind.
    """
    if kind not in ("pdf", "png"):
        raise ValueError(f"kind: pdf or png, got {kind!r}")
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.backends.backend_pdf import FigureCanvasPdf
    from matplotlib.figure import Figure

    look = look or theme("light")
    out = io.BytesIO()
    with matplotlib.rc_context({"pdf.fonttype": 42, "path.simplify": False}):
        made = Figure(figsize=(page.width / INCH, page.height / INCH), dpi=dots)
        canvas = FigureCanvasPdf(made) if kind == "pdf" else FigureCanvasAgg(made)
        axes = made.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_xlim(0.0, page.width)
        axes.set_ylim(page.height, 0.0)
        axes.axis("off")
        for order, item in enumerate(page.ink):
            if isinstance(item, Line):
                _draw_line(axes, item, look, order)
            else:
                _draw_text(axes, item, look, order)
        # No date inside, so that the same page is the same file.
        facts = (
            {"Title": page.title, "CreationDate": None} if kind == "pdf" else {"Title": page.title}
        )
        paper = _rgb(look.colours["paper"])
        with warnings.catch_warnings():
            # A letter the font lacks is drawn as a box; the SVG and the tape card still have it.
            warnings.filterwarnings("ignore", message=r"Glyph .* missing from font")
            canvas.print_figure(out, format=kind, dpi=dots, facecolor=paper, metadata=facts)
    return out.getvalue()
