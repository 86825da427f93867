"""Every link of the desk leads somewhere, and takes along what is the same athlete's only."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from layout.book.own import changes_of, own_of, put_own
from layout.book.store import open_book
from layout.rules.cautions import PAIN
from tests.layout.book.test_book_own import DUNES, RHYTHM
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


def test_who_decided_for_one_athlete_decided_for_no_other(desk: Asked) -> None:
    runa, closed = desk.numbers["Runa"], "full-triple-jump"
    decided = {"a": str(runa), "d": closed, "despite": "Coach Bo, for Runa"}
    assert desk.post("/share/open", {"address": "127.0.0.1"}).status_code == 303
    for page in ("/share", "/picture", "/set-out"):
        shown = desk.get(page, params=decided)
        assert shown.status_code == 200, page
        links = [html.unescape(link) for link in LINK.findall(shown.text)]
        others = [link for link in links if f"a={runa}&" not in link or f"d={closed}" not in link]
        assert not [link for link in others if "despite" in link], page
        shared = [link for link in others if link.startswith("/share?")]
        assert bool(shared) == (page == "/share")
        assert {desk.get(link).status_code for link in shared} <= {200, 400}
    assert desk.post("/share/close").status_code == 303
    # Picture's form changes athlete and drill: the decision is not among its fields.
    about = desk.get("/picture", params=decided).text.partition('id="about"')[2]
    assert "Coach Bo" not in about.partition("</form>")[0]


def test_who_is_not_known_is_led_to_what_is_missing_before_a_decision(desk: Asked) -> None:
    found = desk.post("/club/athlete", {"name": "Nim", "stature": "1.60", "best": "9.00"})
    number = re.findall(r"a=(\d+)", found.headers["location"])[0]
    missing = f'href="/club/athlete?a={number}">Put in what is missing'
    shut = desk.get(f"/set-out?a={number}&d=hop-step-sand").text
    assert missing in shut.partition("Who goes on")[0]
    for page in (f"/?a={number}", f"/season?a={number}"):
        assert "Put in what is missing" in desk.get(page).text
    known = desk.set_out("Runa", "full-triple-jump").text
    assert "Who goes on" in known
    assert "Put in what is missing" not in known


def test_a_phase_that_is_none_is_told_beside_its_field(desk: Asked) -> None:
    drill = {"a": str(desk.numbers["Imka"]), "d": "hop-step-sand", "from": "each"}
    wrong = desk.post("/jumped", {**drill, "r0": "2.75", "r1": "12.40"})
    assert wrong.status_code == 400
    assert "Not put down yet: 1 field to mend below" in wrong.text
    assert re.search(r'id="r1"[^>]*aria-invalid="true"', wrong.text)
    assert "a phase is 0.2 to 10 m" in wrong.text


def test_pain_is_told_wherever_a_drill_is_looked_at(desk: Asked) -> None:
    drill = {"a": str(desk.numbers["Imka"]), "d": "hop-step-sand"}
    pages = ("/", "/set-out", "/jumped", "/ways", "/worth", "/share")
    told = [desk.get(p, params=drill if p != "/" else {"a": drill["a"]}).text for p in pages]
    assert not [p for p, text in zip(pages, told, strict=True) if PAIN in html.unescape(text)]
    assert desk.post("/jumped", {**drill, "from": "each", "went": "pain"}).status_code in (200, 303)
    told = [desk.get(p, params=drill if p != "/" else {"a": drill["a"]}).text for p in pages]
    assert not [p for p, text in zip(pages, told, strict=True) if PAIN not in html.unescape(text)]


def test_a_picture_of_an_own_drill_at_an_own_venue_has_its_target(desk: Asked) -> None:
    with open_book(desk.desk.book) as book:
        put_own(book, changes_of(book, RHYTHM))
        put_own(book, changes_of(book, DUNES))
        (venue,) = own_of(book).venues
    shown = desk.set_out("Tevin", "marram-rhythm", "/picture", v=venue)
    assert shown.status_code == 200
    assert "not known" not in shown.text
    assert re.search(r'value="marram-rhythm" selected', shown.text)
    assert f"v={venue}" in html.unescape(shown.text).partition("Set out</a>")[0]
