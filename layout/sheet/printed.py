"""The same page as PDF, or as PNG through matplotlib."""

from __future__ import annotations

import io
import unicodedata
import warnings
from typing import Any, Final

from animate.film.themes import Theme, theme
from animate.refused import Refused
from layout.page.letters import on_machine
from layout.page.page import Line, Page, Text
from layout.page.pdf import to_pdf
from layout.words.faults import printable

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


def families(text: str) -> list[str]:
    """Fonts to ask in turn: DejaVu Sans, then those of this machine that have what it lacks."""
    from matplotlib.font_manager import findfont
    from matplotlib.ft2font import FT2Font

    out = ["DejaVu Sans"]
    if text.isascii():
        return out
    first = FT2Font(findfont(out[0]))
    found = [on_machine(c) for c in text if not first.get_char_index(ord(c))]
    return [*out, *dict.fromkeys(f[1] for f in found if f)]


def _draw_text(axes: Any, text: Text, look: Theme, order: int) -> None:
    from matplotlib import patheffects

    said = printable(unicodedata.normalize("NFC", text.text))
    common = {
        "fontsize": text.size * POINT,
        "ha": _ALIGN[text.align],
        "va": "baseline",
        "fontweight": "bold" if text.bold else "normal",
        "fontfamily": families(said),
        "zorder": order,
        "clip_on": False,
        # A name may hold $ or \\: nothing here is mathematics.
        "parse_math": False,
    }
    if text.halo:
        rim = patheffects.Stroke(
            linewidth=text.size * 0.28 * POINT, foreground=_rgb(look.colours["paper"])
        )
        axes.text(*text.at, said, path_effects=[rim], **common)
    axes.text(*text.at, said, color=_rgb(look.colours[text.role]), **common)


def to_print(page: Page, kind: str, look: Theme | None = None, dots: float = 200.0) -> bytes:
    """A page as PDF (vector, fonts embedded) or PNG.

    Parameters
    ----------
    page : Page
    kind : {"pdf", "png"}
    look : Theme, optional
    dots : float
        Of the PNG, per inch.

    Raises
    ------
    ValueError
        Another kind.
    """
    if kind not in ("pdf", "png"):
        raise Refused("kind", "pdf or png", f"{kind!r}")
    look = look or theme("light")
    return to_pdf([page], look) if kind == "pdf" else _png(page, look, dots)


def _png(page: Page, look: Theme, dots: float) -> bytes:
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    out = io.BytesIO()
    with matplotlib.rc_context({"path.simplify": False}):
        made = Figure(figsize=(page.width / INCH, page.height / INCH), dpi=dots)
        canvas = FigureCanvasAgg(made)
        axes = made.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_xlim(0.0, page.width)
        axes.set_ylim(page.height, 0.0)
        axes.axis("off")
        for order, item in enumerate(page.ink):
            if isinstance(item, Line):
                _draw_line(axes, item, look, order)
            else:
                _draw_text(axes, item, look, order)
        paper = _rgb(look.colours["paper"])
        with warnings.catch_warnings():
            # A letter that no font has is drawn as a box; the SVG and the tape card still have it.
            warnings.filterwarnings("ignore", message=r"Glyph .* missing from font")
            canvas.print_figure(
                out, format="png", dpi=dots, facecolor=paper, metadata={"Title": page.title}
            )
    return out.getvalue()
