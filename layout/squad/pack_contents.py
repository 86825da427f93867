"""The contents of a squad pack: its front pages, and the page that leads to an athlete's files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote

from layout.page.page import BODY, MARGIN, Ink, Line, Page, moved, paper_size
from layout.page.pdf import Link
from layout.page.svg import escaped
from layout.page.widths import wrapped
from layout.sheet.handout_text import ADVICE
from layout.sheet.texts import SMALL, TURN, text_at
from layout.words.faults import Fault

NUMBER: Final = 12.0
"""Width of the column of page numbers [mm]."""
LAST: Final = 40.0
"""Width of the column that says how a handout is drawn [mm]."""
BETWEEN: Final = 4.0
"""Between two columns [mm]."""
PAD: Final = 1.1
"""Over and under a row's text [mm]."""
CHECK: Final = "Print at 100 % and check the bar on each drawing with a ruler."


@dataclass(frozen=True)
class Chapter:
    """One athlete's handout of one drill."""

    # name, title: Of the athlete and of the drill
    name: str
    title: str
    pages: tuple[Page, ...]
    lacking: str  # Why there are no figures of the athlete; empty where there are


@dataclass(frozen=True)
class _Row:
    """Ink of one line, its top at 0, and the chapter it leads to; -1 for one that leads nowhere."""

    ink: tuple[Ink, ...]
    height: float
    chapter: int = -1


def _said(chapter: Chapter) -> str:
    """How a handout is drawn."""
    first = chapter.pages[0]
    way = "upright" if first.height > first.width else "across"
    count = f"{len(chapter.pages)} pages, " if len(chapter.pages) > 1 else ""
    return f"{count}1:{first.scale} {way}"


def _cells(width: float) -> tuple[tuple[float, float], ...]:
    """Left end and width of the columns: page, athlete, drill, drawing [mm]."""
    name = MARGIN + NUMBER + BETWEEN
    free = width - NUMBER - LAST - 3 * BETWEEN
    drill = name + 0.47 * free + BETWEEN
    last = drill + 0.53 * free + BETWEEN
    return (MARGIN, NUMBER), (name, 0.47 * free), (drill, 0.53 * free), (last, LAST)


def _row(texts: Sequence[str], width: float, bold: bool, chapter: int, starred: bool) -> _Row:
    ink: list[Ink] = []
    if starred:
        ink.append(text_at((MARGIN, PAD + BODY * 0.8), "*", BODY, bold=True))
    deep = 1
    for i, (text, (left, wide)) in enumerate(zip(texts, _cells(width), strict=True)):
        lines = wrapped(text, BODY, wide, bold)
        deep = max(deep, len(lines))
        for j, line in enumerate(lines):
            y = PAD + BODY * (0.8 + TURN * j)
            x, align = (left + wide, "right") if i == 0 else (left, "left")
            ink.append(text_at((x, y), line, BODY, align=align, bold=bold or i == 0))
    height = 2 * PAD + BODY * (1.0 + TURN * (deep - 1))
    ink.append(Line(((MARGIN, height), (MARGIN + width, height)), "quiet", None, 0.12))
    return _Row(tuple(ink), height, chapter)


def _message(text: str, width: float, size: float = SMALL, sign: str = "") -> list[_Row]:
    """A paragraph, a row a line."""
    indent = 3.0 if sign else 0.0
    role = "warn" if sign else "text"
    rows = []
    for i, line in enumerate(wrapped(text, size, width - indent, bool(sign))):
        y = size * 0.8
        ink: list[Ink] = []
        if sign and not i:
            ink.append(text_at((MARGIN, y), sign, size, role=role, bold=True))
        ink.append(text_at((MARGIN + indent, y), line, size, role=role, bold=bool(sign)))
        rows.append(_Row(tuple(ink), size * TURN))
    return rows


def _gap(height: float) -> _Row:
    return _Row((), height)


def _starts(chapters: Sequence[Chapter], before: int) -> list[int]:
    """Page that each chapter begins on, from 1, after some front pages."""
    out = []
    at = before + 1
    for chapter in chapters:
        out.append(at)
        at += len(chapter.pages)
    return out


def _rows(
    facts: Sequence[str],
    chapters: Sequence[Chapter],
    faults: Sequence[Fault],
    width: float,
    before: int,
) -> list[_Row]:
    rows: list[_Row] = []
    for text in (*facts, CHECK):
        rows += _message(text, width)
    rows.append(_gap(2.5))
    rows.append(_row(("page", "athlete", "drill", "drawing"), width, True, -1, False))
    for i, (chapter, start) in enumerate(zip(chapters, _starts(chapters, before), strict=True)):
        texts = (str(start), chapter.name, chapter.title, _said(chapter))
        rows.append(_row(texts, width, False, i, bool(chapter.lacking)))
    reasons = list(dict.fromkeys(c.lacking for c in chapters if c.lacking))
    if reasons:
        rows.append(_gap(2.5))
    for reason in reasons:
        some = [c.name for c in chapters if c.lacking == reason]
        many = len(reasons) > 1 and len(some) <= 6
        rows += _message(f"* {reason}{f' ({chr(44).join(some)})' if many else ''}", width)
    if faults:
        rows.append(_gap(2.5))
        rows += _message("Not in this pack:", width, BODY, "!")
        for fault in faults:
            rows += _message(str(fault), width, SMALL, "!")
    return rows


def _set(rows: Sequence[_Row], tops: Sequence[float], bottom: float) -> list[list[_Row]]:
    """Rows by page."""
    out: list[list[_Row]] = [[]]
    y = tops[0]
    for row in rows:
        if y + row.height > bottom and out[-1]:
            out.append([])
            y = tops[1]
        out[-1].append(row)
        y += row.height
    return out


def contents(
    title: str,
    facts: Sequence[str],
    chapters: Sequence[Chapter],
    faults: Sequence[Fault],
    paper: str,
) -> tuple[list[Page], list[Link]]:
    """The front pages of a pack.

    facts: place and day, under the title.
    chapters: in the order of the pages.
    faults: who is not in the pack, and why.
    Returns: each chapter's line leads to its first page.
    """
    width, height = paper_size(paper, True)
    wide = width - 2 * MARGIN
    bottom = height - MARGIN - 6.0
    heads = wrapped(title, 6.0, wide, True)
    tops = (MARGIN + 6.0 * TURN * len(heads) + 1.0, MARGIN + 4.0 * TURN + 2.0)
    # How many front pages there are does not hang on the numbers in them: these have a column.
    before = len(_set(_rows(facts, chapters, faults, wide, 0), tops, bottom))
    rows = _rows(facts, chapters, faults, wide, before)
    starts = _starts(chapters, before)
    pages: list[Page] = []
    links: list[Link] = []
    for number, some in enumerate(_set(rows, tops, bottom)):
        ink: list[Ink] = [
            Line(((MARGIN, bottom + 1.5), (MARGIN + wide, bottom + 1.5)), "quiet", None, 0.2),
            text_at((MARGIN, height - MARGIN - 0.7), ADVICE, SMALL, role="quiet"),
        ]
        if number:
            ink.append(text_at((MARGIN, MARGIN + 3.4), "Contents, continued", 4.0, bold=True))
        else:
            ink += [
                text_at((MARGIN, MARGIN + 5.0 + 6.0 * TURN * i), line, 6.0, bold=True)
                for i, line in enumerate(heads)
            ]
        y = tops[min(number, 1)]
        for row in some:
            ink += moved(row.ink, 0.0, y)
            if row.chapter >= 0:
                box = (MARGIN, y, MARGIN + wide, y + row.height)
                links.append((number, box, starts[row.chapter] - 1))
            y += row.height
        # A contents page is to no scale; one millimetre is one millimetre.
        pages.append(Page(width, height, 1, title, tuple(ink)))
    return pages, links


_STYLE: Final = (
    ":root{color-scheme:light dark}body{font:1.1rem/1.5 sans-serif;margin:1rem auto;max-width:44rem;"
    "padding:0 1rem;overflow-wrap:anywhere}li{margin:.6rem 0}a{display:inline-block;padding:.55rem "
    ".8rem;margin:.15rem .3rem .15rem 0;border:1px solid;border-radius:.4rem}h1{font-size:1.4rem}"
)


def index_html(
    title: str,
    facts: Sequence[str],
    files: Sequence[tuple[str, Sequence[tuple[str, str]]]],
    faults: Sequence[Fault],
) -> str:
    """A page that leads to the files of a folder; it needs no network.

    files: of each athlete the name, and of each file what is said of it and its name from the
        folder.
    Returns: UTF-8 text.
    """
    items = []
    for name, some in files:
        ways = " ".join(f'<a href="{escaped(quote(f))}">{escaped(said)}</a>' for said, f in some)
        items.append(f"<li><b><bdi>{escaped(name)}</bdi></b><br>{ways}</li>")
    told = "".join(f"<p>{escaped(fact)}</p>" for fact in facts)
    broken = "".join(f"<li>{escaped(str(fault))}</li>" for fault in faults)
    left = f"<h2>Not in this pack</h2><ul>{broken}</ul>" if broken else ""
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
        "style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'\">"
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f'<link rel="icon" href="data:,"><title>{escaped(title)}</title>'
        f"<style>{_STYLE}</style></head>\n<body><h1>{escaped(title)}</h1>{told}"
        f"<ul>{''.join(items)}</ul>{left}<p>{escaped(ADVICE)}</p></body></html>\n"
    )
