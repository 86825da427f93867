"""A page as a file's bytes, whichever way out."""

from __future__ import annotations

from typing import Final

from animate.film.themes import Theme
from animate.refused import Refused
from layout.page.letters import Fonts
from layout.page.page import Page

PAGE_KINDS: Final = ("svg", "png", "pdf")


def page_file(
    page: Page,
    kind: str,
    look: Theme | None = None,
    fonts: Fonts | None = None,
    dots: float = 200.0,
) -> bytes:
    """A page as SVG, PNG or PDF; the same page gives the same bytes.

    kind: {"svg", "png", "pdf"}.
    look: colours of the roles; the light theme when left out.
    fonts: `fonts_of([page])`, where the caller has it; an SVG carries them only where given.
    dots: of a PNG, per inch.
    """
    if kind == "svg":
        from layout.page.svg import to_svg

        return to_svg(page, look, fonts).encode()
    if kind == "png":
        from layout.page.svg import to_png

        return to_png(page, look, dots, fonts)
    if kind == "pdf":
        from layout.page.pdf import to_pdf

        return to_pdf([page], look, fonts=fonts)
    raise Refused("kind", ", ".join(PAGE_KINDS), f"{kind!r}")
