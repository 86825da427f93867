"""The club's own venues and drills on the desk: by form and by file, chosen and closed like any other."""

from __future__ import annotations

import html
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.book.own import changes_of, own_of, put_own, text_of
from layout.book.store import create, open_book
from layout.desk.venue_form import FIELDS, keep, rows
from layout.plan.venue import Venue
from layout.words.faults import BadInput
from tests.layout.book.test_book_own import DUNES, RHYTHM
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.test_desk_club import form_of
from tests.layout.desk.test_desk_pages import Words, said

TRACK = {
    "title": "Dünen track", "runway_length": "126-4", "boards": "7/9,5/36-1", "pit_length": "8 m",
    "surface": "grass", "fall_along": "1:1000",
}  # fmt: skip


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        yield made


def test_every_field_of_a_venue_has_a_place() -> None:
    assert set(FIELDS) == set(Venue.__dataclass_fields__) - {"slug"}


def test_a_measured_venue_is_kept_and_can_be_chosen(desk: Asked) -> None:
    assert desk.post("/club/venue", TRACK).status_code == 303
    made = desk.own().venues["dunen-track"]
    assert made.runway_length == pytest.approx(38.5064)
    assert made.boards == pytest.approx((7.0, 9.5, 10.9982))
    assert (made.surface, made.fall_along) == ("grass", 0.001)
    assert "Dünen track" in said(desk.get("/club").text)
    page = desk.set_out("Tevin", "hop-step-sand", v="dunen-track")
    assert page.status_code == 200
    assert "9.5 m" in said(page.text)
    assert "Dünen track" in page.text
    assert "must be one of" in said(desk.set_out("Tevin", "hop-step-sand", v="dunes").text)


def test_faults_stand_beside_their_fields_and_nothing_is_kept(desk: Asked) -> None:
    wrong = {**TRACK, "runway_length": "long", "fall_along": "steep", "lanes": "0", "boards": "7/x"}
    found = desk.post("/club/venue", wrong)
    assert found.status_code == 400
    marked = {a["name"] for t, a in Words(found.text).tags if a.get("aria-invalid") == "true"}
    assert marked == {"runway_length", "fall_along", "lanes", "boards"}
    assert "4 fields to mend" in said(found.text)
    assert desk.own().venues == {}
    empty = desk.post("/club/venue", {})
    assert 'id="e-title"' in empty.text
    assert 'id="e-runway_length"' in empty.text
    taken = desk.post("/club/venue", {**TRACK, "title": "Hall"})
    assert "is the name of a venue already" in said(taken.text)


def test_a_change_leaves_the_rest_as_it_was_written_and_two_tabs_do_not_overwrite(
    desk: Asked,
) -> None:
    text = DUNES + '[venue.dunes.source]\nboards = "ours"\n'
    with open_book(desk.desk.book) as book:
        put_own(book, changes_of(book, text))
    form = form_of(desk.get("/club/venue?v=dunes").text)
    assert form["boards"] == "7 m/30-0"
    assert desk.post("/club/venue", form).status_code == 303
    with open_book(desk.desk.book) as book:
        assert text_of(book, "venue", "dunes") == text
    assert desk.post("/club/venue", {**form, "runway_length": "33"}).status_code == 303
    with open_book(desk.desk.book) as book:
        assert text_of(book, "venue", "dunes") == text.replace("31.5", "33")
    late = desk.post("/club/venue", {**form, "runway_length": "12"})
    assert "was changed meanwhile" in said(late.text)
    assert desk.own().venues["dunes"].runway_length == 33


def test_each_field_is_read_back_in_either_unit() -> None:
    for tape, shown in (("cm", "= 38.51 m"), ("ft", "= 126' 4\"")):
        row = {r.name: r for r in rows(TRACK, (), tape)[0]}["runway_length"]  # type: ignore[arg-type]
        assert f"= {row.read}" == shown


def test_what_is_taken_away_is_offered_no_more(desk: Asked) -> None:
    desk.post("/club/venue", TRACK)
    away = {"kind": "venue", "name": "dunen-track"}
    assert desk.post("/club/take-away", away).status_code == 303
    assert desk.own().venues == {}
    for odd in (away, {"kind": "drill", "name": "hop-step-sand"}, {"kind": "athlete", "name": "x"},
                {**away, "more": "1"}, {}):  # fmt: skip
        assert desk.post("/club/take-away", odd).status_code == 400


def test_an_own_drill_is_offered_first_and_closed_by_the_same_rules(desk: Asked) -> None:
    with open_book(desk.desk.book) as book:
        put_own(book, changes_of(book, RHYTHM))
    tevin = desk.get(f"/?a={desk.numbers['Tevin']}").text
    assert tevin.index("Rhythm for Runa") < tevin.index("Hop and step to the sand")
    assert "d=marram-rhythm" in tevin
    assert "the club's own" in html.unescape(tevin)
    runa = desk.get(f"/?a={desk.numbers['Runa']}").text  # 12 years, a beginner
    assert "Rhythm for Runa" in runa
    assert "Rhythm for Runa" not in runa.partition("Closed to")[0]
    assert desk.set_out("Tevin", "marram-rhythm").status_code == 200
    assert "is closed to Runa" in said(desk.set_out("Runa", "marram-rhythm").text)
    page = desk.set_out("Tevin", "marram-rhythm", "/jumped")
    fields = {**form_of(page.text), "r0": "4.5", "r1": "4", "r2": "4.4", "r3": "4"}
    assert desk.post("/jumped", {**fields, "from": "each"}).status_code in (200, 303)
    assert "4.50 m" in said(desk.set_out("Tevin", "marram-rhythm", "/jumped").text)


@settings(max_examples=40)
@given(st.dictionaries(st.sampled_from(list(FIELDS)), st.text(max_size=40)))
def test_no_form_is_too_odd(values: dict[str, str]) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        path = Path(name, "a.book")
        create(path)
        with open_book(path) as book:
            try:
                slug = keep(book, "", values)
            except BadInput as error:
                rows(values, error.faults)
                return
            assert slug in own_of(book).venues
