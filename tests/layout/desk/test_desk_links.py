"""Every link of the desk leads somewhere."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.layout.desk.desks import Asked, asked

LINK = re.compile(r'<a\b(?![^>]*\bhidden\b)[^>]* href="([^"#]+)[^"]*"')
"""Links that are shown."""


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    """A desk on the demo club."""
    with asked(tmp_path) as made:
        yield made


def test_no_link_of_a_screen_is_refused(desk: Asked) -> None:
    one, two = desk.numbers["Imka"], desk.numbers["Runa"]
    chosen = f"a={one}&d=hop-step-sand"
    asked_of = {
        "/", f"/?a={one}", f"/?a={two}", f"/set-out?{chosen}", f"/jumped?{chosen}", f"/season?a={one}",
        "/squad", f"/squad?who={one},{two}&d=hop-step-hold,hop-step-sand", "/season", "/picture",
        "/club", f"/club/athlete?a={one}", "/club/venue", "/club/in", "/from-phone",
    }  # fmt: skip
    told = {}
    for address in sorted(asked_of):
        page = desk.get(address)
        assert page.status_code == 200, address
        told |= dict.fromkeys(html.unescape(link) for link in LINK.findall(page.text))
    # One of each kind is asked: a page with the same parts in its address is the same page.
    kinds = {(link.partition("?")[0], *re.findall(r"(\w+)=", link)): link for link in told}
    # Everybody, Nobody, Every drill and None have the same parts: each is asked.
    kinds |= {(link,): link for link in told if link.startswith("/squad?")}
    bad = [a for a in kinds.values() if desk.get(a).status_code not in (200, 303)]
    assert not bad
    assert len(kinds) > 30
