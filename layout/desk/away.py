"""What leaves the desk: the sheet, the page for a telephone, clips."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Final

from starlette.responses import Response

from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.page_setout import whole
from layout.words.faults import refuse
from layout.words.names import safe_name

if TYPE_CHECKING:
    from layout.desk.setout import SetOut

KINDS: Final = {".svg": "image/svg+xml", ".gif": "image/gif", ".mp4": "video/mp4"}
"""Clips that can be taken away."""


def sheet(desk: Desk, given: Given) -> Response:
    """The handout as PDF, of exact scale."""
    from layout.desk.setout import sheet
    from layout.page.pdf import to_pdf

    out = whole(desk, given)
    assert out.plan is not None
    made = sheet(out)
    title = f"{out.plan.who.name}: {out.plan.title}, 1:{made[0].scale}"
    return _file(out, to_pdf(made, title=title), ".pdf", "application/pdf", "inline")


def phone(desk: Desk, given: Given) -> Response:
    """The page for a telephone, one file to send."""
    from layout.book.inbox import hand_out
    from layout.desk.jumped import keep_planned
    from layout.desk.setout import for_phone

    out = whole(desk, given)
    with desk.writing, desk.opened() as book:
        key = hand_out(book, keep_planned(book, out))
    return _file(out, for_phone(out, key).encode(), ".html", "text/html; charset=utf-8")


def clip(desk: Desk, given: Given) -> Response:
    """The clip as a file."""
    from animate.film.film import save
    from layout.moving.clip import clip_of

    out = whole(desk, {k: v for k, v in given.items() if k != "kind"})
    kind = f".{given['kind']}"
    if kind not in KINDS:
        raise refuse("clip", f"must be one of {', '.join(KINDS)}", kind)
    if out.plan is None or out.motion is None:
        raise refuse("clip", "the figure is not worked out for this spacing yet")
    fps = 12.5 if kind == ".gif" else 25.0
    folder = Path(tempfile.mkdtemp(prefix="phasemark-"))
    try:
        save(clip_of(out.plan, out.motion, fps=fps), folder / f"clip{kind}")
        data = (folder / f"clip{kind}").read_bytes()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return _file(out, data, kind, KINDS[kind])


def _file(out: SetOut, data: bytes, ending: str, kind: str, how: str = "attachment") -> Response:
    assert out.plan is not None
    name = f"{safe_name(out.plan.who.name)}-{out.plan.drill}{ending}"
    return pages.file(name, data, kind, how)
