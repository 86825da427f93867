"""Where the desk starts from: the club's own venue, else where it was last, and why."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from layout.book.own import Own, changes_of, own_of, put_own
from layout.book.store import open_book
from layout.desk.kept import Kept, keep, kept_of
from layout.desk.where import usual
from layout.plan.venue import Venue
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.test_desk_pages import said
from tests.layout.desk.test_desk_venue import TRACK

TODAY = datetime.date(2026, 5, 7)
SHORT = {"title": "Short lane", "runway_length": "14", "boards": "5/7", "pit_length": "6"}


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        yield made


def own(*names: str) -> Own:
    return Own({}, {n: Venue(n, n, 30, 1.2, (), 0, 0, 1, 0, "grass") for n in names}, (), names[-1])


def test_one_own_venue_is_where_everything_starts_and_it_says_so(desk: Asked) -> None:
    before = said(desk.set_out("Tevin", "hop-step-sand").text)
    assert "Club has a form for a venue you measured" in before
    assert "Club runway with five boards . To scale" in before
    desk.set_out("Tevin", "hop-step-sand", v="hall")
    desk.post("/club/venue", TRACK)  # whoever measures one means to use it
    page = desk.set_out("Tevin", "hop-step-sand")
    assert "Dünen track . To scale" in said(page.text)
    assert "Your own venue." in said(page.text)
    assert "v=dunen-track" in page.text.partition('data-away="/sheet.pdf"')[2][:300]
    squad = desk.get(f"/squad?who={desk.numbers['Tevin']}&d=hop-step-sand").text
    assert '<option value="dunen-track" selected>' in squad
    assert "Your own venue." in said(squad)
    there = desk.set_out("Tevin", "hop-step-sand", v="club").text
    assert "Club runway with five boards . To scale" in said(there)


def test_where_somebody_was_set_out_today_the_next_one_is_too(desk: Asked) -> None:
    desk.post("/club/venue", TRACK)
    for page in ("/set-out", "/live"):
        assert desk.set_out("Tevin", "hop-step-sand", page, v="hall").status_code == 200
        assert "As set out last, today." in said(desk.set_out("Imka", "hop-step-sand").text)
        kept = kept_of(desk.desk.book)
        assert kept.place == "hall"
        keep(desk.desk.book, replace(kept, placed="2020-01-01"))  # another day
        assert "Your own venue." in said(desk.set_out("Imka", "hop-step-sand").text)
    desk.set_out("Imka", "hop-step-sand", v="dunen-track")
    assert "Your own venue." in said(desk.set_out("Imka", "hop-step-sand").text)
    who = desk.numbers["Tevin"]
    desk.get(f"/squad?who={who}&d=hop-step-sand&v=youth")
    assert "Youth runway with near boards . To scale" in said(
        desk.set_out("Imka", "hop-step-sand").text
    )
    desk.set_out("Imka", "hop-step-sand", v="dunen-track")
    again = desk.get("/squad")
    assert "v=" not in again.headers["location"]  # the place is the day's, whichever page said it
    assert '<option value="dunen-track" selected>' in desk.get(again.headers["location"]).text


def test_of_several_own_venues_the_one_used_last_or_put_in_last_is_taken() -> None:
    used = Kept(place="a", placed="2026-05-05")
    assert usual(Own(), Kept(), TODAY).slug == "club"
    assert usual(own("a"), Kept(), TODAY) == ("a", "Your own venue.")
    several = own("a", "b")
    assert usual(several, Kept(), TODAY) == (
        "b", "The one of your own venues that was put in last.",
    )  # fmt: skip
    told = usual(several, used, TODAY)
    assert told.slug == "a"
    assert told.why.endswith("set out last, on Tue 5 May.")
    assert usual(several, replace(used, placed="2026-05-07"), TODAY).why.endswith("last, today.")
    elsewhere = replace(used, place="hall")
    assert usual(several, elsewhere, TODAY).slug == "b"  # another day's visit does not hold
    assert usual(several, replace(elsewhere, placed="2026-05-07"), TODAY).slug == "hall"
    gone = Kept(place="taken-away", placed="2026-05-07")
    assert usual(own("a"), gone, TODAY).slug == "a"


def test_the_newest_is_by_when_it_was_put_in_and_not_by_name(desk: Asked) -> None:
    for form in (TRACK, {**SHORT, "title": "Zoo lane"}, {**SHORT, "title": "A lane"}):
        desk.post("/club/venue", form)
    with open_book(desk.desk.book) as book:
        assert own_of(book).newest == "a-lane"
    desk.post("/club/take-away", {"kind": "venue", "name": "a-lane"})
    with open_book(desk.desk.book) as book:
        assert own_of(book).newest == "zoo-lane"


def test_what_does_not_fit_the_own_venue_says_where_it_does(desk: Asked) -> None:
    desk.post("/club/venue", {"title": "Grass strip", "runway_length": "60"})
    page = desk.set_out("Tevin", "full-triple-jump")
    assert "Grass strip: this drill ends in sand and this venue has no pit Not at" in said(
        page.text
    )
    assert "Not at Grass strip, but possible at:" in said(page.text)
    offered = page.text.partition("but possible at")[2].partition("</div>")[0]
    assert "v=marram-point" in offered
    assert "v=grass-strip" not in offered
    assert "v=track" not in offered  # no sand there either
    assert "but possible at" not in said(desk.set_out("Runa", "full-triple-jump").text)  # closed


def test_new_marks_of_a_season_are_for_the_own_venue(desk: Asked) -> None:
    from layout.book.people import members, numbered
    from layout.desk.season import view_of
    from layout.desk.wanted import Look

    with open_book(desk.desk.book) as book:
        put_own(book, changes_of(book, '[venue.dunes]\ntitle = "Dunes"\nrunway_length = 9\n'))
        member = numbered(members(book), desk.numbers["Tevin"])
        look = Look(a=member.id)
        short = view_of(book, member, look, "dunes").season.spacings
        assert short != view_of(book, member, look, "club").season.spacings
    assert desk.get(f"/season?a={desk.numbers['Tevin']}").status_code == 200


@pytest.mark.parametrize(
    "odd", ['{"place": 3, "placed": "x"}', '{"place": ["a"]}', '{"placed": "x"}']
)
def test_a_spoilt_file_of_the_machine_is_as_none(desk: Asked, odd: str) -> None:
    from layout.desk.kept import place_of

    place_of(desk.desk.book).parent.mkdir(parents=True, exist_ok=True)
    place_of(desk.desk.book).write_text(odd)
    assert desk.set_out("Tevin", "hop-step-sand").status_code == 200
