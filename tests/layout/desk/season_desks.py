"""A desk on a season's book, and its pages read: for the tests of Season."""

from __future__ import annotations

import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from layout.book.people import keep_text
from layout.book.store import open_book
from layout.catalogue.club import club_files
from tests.layout.desk.desks import Asked
from tests.layout.season.season_cases import season_book

UNTIL = "2026-05-20"


def season_of_club(folder: Path) -> Path:
    """A book with one athlete's season, and the demo's other athletes."""
    path = season_book(folder)
    with open_book(path) as book:
        for name, text in club_files().items():
            keep_text(book, text, name)
    return path


def named(who: str, name: str) -> str:
    """The file of one of the demo's athletes under another name."""
    rest = [row for row in club_files()[who].splitlines() if not row.startswith("name")]
    return "\n".join([f"name = {json.dumps(name, ensure_ascii=False)}", *rest])


class Tables(HTMLParser):
    """Rows of a page's tables as the texts of their cells, and the links in each."""

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.links: list[str] = []
        self._inside = False
        self.feed(markup)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "tr":
            self.rows.append([])
            self.links.append("")
        elif tag in ("td", "th"):
            self.rows[-1].append("")
            self._inside = True
        elif tag == "a" and self._inside:
            self.links[-1] = dict(attrs)["href"] or ""

    def handle_endtag(self, tag: str) -> None:
        self._inside &= tag not in ("td", "th")

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.rows[-1][-1] = " ".join(f"{self.rows[-1][-1]} {data}".split())


def page(desk: Asked, path: str = "/season", **more: Any) -> Any:
    """A page of Season about the athlete with a season."""
    return desk.get(path, params={"a": desk.numbers["Imka"], "until": UNTIL, **more})
