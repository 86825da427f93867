"""The contents of a squad pack: its front pages, and the page that leads to an athlete's files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Final
from urllib.parse import quote

from animate.body.shapes import Role
from layout.page.page import BODY, MARGIN, Ink, Line, Page, Text, moved, paper_size
from layout.page.pdf import Link
from layout.page.svg import escaped
from layout.page.widths import wrapped
from layout.sheet.texts import ADVICE, SMALL, TURN, flowed
from layout.words.faults import Fault

NUMBER: Final = 12.0  # Width of the column of page numbers [mm]
LAST: Final = 40.0  # Width of the column that says how a handout is drawn [mm]
BETWEEN: Final = 4.0  # Between two columns [mm]
PAD: Final = 1.1  # Over and under a row's text [mm]
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


def _cells(width: float) -> tuple[tuple[float, float], ...]:
    """Left end and width of the columns: page, athlete, drill, drawing [mm]."""
    name = MARGIN + NUMBER + BETWEEN
    free = width - NUMBER - LAST - 3 * BETWEEN
    drill = name + 0.47 * free + BETWEEN
    last = drill + 0.53 * free + BETWEEN
    return (MARGIN, NUMBER), (name, 0.47 * free), (drill, 0.53 * free), (last, LAST)


def _row(texts: Sequence[str], width: float, bold: bool, chapter: int, starred: bool) -> _Row:
    y, deep = PAD + BODY * 0.8, 1
    ink: list[Ink] = [Text((MARGIN, y), "*", BODY, bold=True)] if starred else []
    for i, (text, (left, wide)) in enumerate(zip(texts, _cells(width), strict=True)):
        lines = wrapped(text, BODY, wide, bold)
        deep = max(deep, len(lines))
        x, align = (left, "left") if i else (left + wide, "right")
        ink += flowed(lines, (x, y), BODY, BODY * TURN, align=align, bold=bold or i == 0)
    height = 2 * PAD + BODY * (1.0 + TURN * (deep - 1))
    ink.append(Line(((MARGIN, height), (MARGIN + width, height)), "quiet", None, 0.12))
    return _Row(tuple(ink), height, chapter)


def _message(text: str, width: float, size: float = SMALL, sign: str = "") -> list[_Row]:
    """A paragraph, a row a line."""
    indent, bold = (3.0, True) if sign else (0.0, False)
    role: Role = "warn" if sign else "text"
    rows = []
    for i, line in enumerate(wrapped(text, size, width - indent, bold)):
        first = Text((MARGIN, size * 0.8), sign, size, role, bold=True)
        told = Text((MARGIN + indent, size * 0.8), line, size, role, bold=bold)
        rows.append(_Row((told,) if i or not sign else (first, told), size * TURN))
    return rows


def starts(chapters: Sequence[Chapter], before: int) -> list[int]:
    """Page that each chapter begins on, from 1, after some front pages."""
    counts = (len(chapter.pages) for chapter in chapters)
    return list(accumulate(counts, initial=before + 1))[:-1]


def _rows(
    facts: Sequence[str],
    chapters: Sequence[Chapter],
    faults: Sequence[Fault],
    width: float,
    before: int,
) -> list[_Row]:
    gap = _Row((), 2.5)
    rows = [row for text in (*facts, CHECK) for row in _message(text, width)]
    rows.append(gap)
    rows.append(_row(("page", "athlete", "drill", "drawing"), width, True, -1, False))
    for i, (chapter, start) in enumerate(zip(chapters, starts(chapters, before), strict=True)):
        first, count = chapter.pages[0], len(chapter.pages)
        way = "upright" if first.height > first.width else "across"
        said = f"{f'{count} pages, ' if count > 1 else ''}1:{first.scale} {way}"
        texts = (str(start), chapter.name, chapter.title, said)
        rows.append(_row(texts, width, False, i, bool(chapter.lacking)))
    reasons = list(dict.fromkeys(c.lacking for c in chapters if c.lacking))
    if reasons:
        rows.append(gap)
    for reason in reasons:
        some = [c.name for c in chapters if c.lacking == reason]
        many = len(reasons) > 1 and len(some) <= 6
        rows += _message(f"* {reason}{f' ({chr(44).join(some)})' if many else ''}", width)
    if faults:
        rows.append(gap)
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
    """The front pages of a pack: facts under the title, each chapter's line a link, who is not in it."""
    width, height = paper_size(paper, True)
    wide = width - 2 * MARGIN
    bottom = height - MARGIN - 6.0
    heads = wrapped(title, 6.0, wide, True)
    tops = (MARGIN + 6.0 * TURN * len(heads) + 1.0, MARGIN + 4.0 * TURN + 2.0)
    # How many front pages there are does not hang on the numbers in them: these have a column.
    before = len(_set(_rows(facts, chapters, faults, wide, 0), tops, bottom))
    rows = _rows(facts, chapters, faults, wide, before)
    firsts = starts(chapters, before)
    pages: list[Page] = []
    links: list[Link] = []
    for number, some in enumerate(_set(rows, tops, bottom)):
        lines, big, down = (["Contents, continued"], 4.0, 3.4) if number else (heads, 6.0, 5.0)
        ink: list[Ink] = [
            Line(((MARGIN, bottom + 1.5), (MARGIN + wide, bottom + 1.5)), "quiet", None, 0.2),
            Text((MARGIN, height - MARGIN - 0.7), ADVICE, SMALL, role="quiet"),
            *flowed(lines, (MARGIN, MARGIN + down), big, 6.0 * TURN, bold=True),
        ]
        y = tops[min(number, 1)]
        for row in some:
            ink += moved(row.ink, 0.0, y)
            if row.chapter >= 0:
                box = (MARGIN, y, MARGIN + wide, y + row.height)
                links.append((number, box, firsts[row.chapter] - 1))
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
    """A page that leads to the files of a folder, as in `Pack.files`; it needs no network."""
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
