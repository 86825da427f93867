"""Club: an athlete by form comes into the book as their file would, or is refused field by field."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.athlete.athlete import Athlete
from layout.athlete.fields import fields_of
from layout.book.people import find_member, keep_text
from layout.book.store import open_book
from layout.catalogue.club import club_files
from layout.desk.club import rows, text_with, told_of
from layout.words.faults import BadInput
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.test_desk_pages import Words, said

ADA = {
    "name": "Ada",
    "born": "2008",
    "stature": "5-7",
    "mass": "58",
    "leg": "left",
    "target": "11.20",
}


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        yield made


def held(desk: Asked, name: str) -> str:
    """The athlete's file as the book holds it."""
    with open_book(desk.desk.book) as book:
        return find_member(book, name, exact=True).file or ""


def form_of(page: str) -> dict[str, str]:
    """What a browser would send back of a page's first form untouched."""
    out, name, forms = {}, "", 0
    for tag, attrs in Words(page).tags:
        forms += tag == "form"
        if forms > 1:
            break
        off = attrs.get("type") in ("radio", "checkbox") and "checked" not in attrs
        if tag == "input" and attrs.get("name") and not off:
            out[str(attrs["name"])] = attrs.get("value") or ""
        if tag == "select":
            name = str(attrs["name"])
        if tag == "option" and "selected" in attrs and name:
            out[name] = attrs.get("value") or ""
    return out


def test_every_field_of_an_athlete_has_a_place() -> None:
    shown, _ = rows({})
    assert sorted(r.name for r in shown) == sorted(f.name for f in fields_of(Athlete))
    # What is needed and what opens drills comes first, with what it costs not to know it.
    assert [r.name for r in shown][:4] == ["name", "stature", "born", "level"]
    assert "unknown counts as 8 years" in shown[2].hint
    assert {r.name for r in shown if r.needed} == {"name", "stature"}


def test_a_new_athlete_is_kept_and_their_drills_are_shown(desk: Asked) -> None:
    found = desk.post("/club/athlete", ADA)
    assert found.status_code == 303
    assert "Which drill for Ada ?" in said(
        desk.get(found.headers["location"].partition("#")[0]).text
    )
    assert tomllib.loads(held(desk, "Ada"))["stature"] == "5-7"
    assert "Ada" in said(desk.get("/club").text)
    again = desk.post("/club/athlete", ADA)
    assert again.status_code == 400
    assert "is in this book already" in said(again.text)


def test_every_fault_stands_beside_its_field_and_nothing_is_lost(desk: Asked) -> None:
    wrong = {**ADA, "mass": "five", "stature": "9 m", "leg": "middle", "born": "1066"}
    found = desk.post("/club/athlete", wrong)
    assert found.status_code == 400
    tags = Words(found.text).tags
    marked = {a["name"] for t, a in tags if a.get("aria-invalid") == "true"}
    assert marked == {"mass", "stature", "leg", "born"}
    told = {a["id"] for t, a in tags if a.get("class") == "fault"}
    assert told == {f"e-{n}" for n in marked}
    assert {a.get("value") for t, a in tags if t == "input"} >= {"five", "9 m", "1066", "Ada"}
    assert "4 fields to mend" in said(found.text)
    with pytest.raises(BadInput):
        held(desk, "Ada")


def test_a_change_leaves_the_rest_of_the_file_as_it_stands(desk: Asked) -> None:
    before = held(desk, "Imka")
    number = desk.numbers["Imka"]
    form = form_of(desk.get(f"/club/athlete?a={number}").text)
    assert "name" not in form
    assert desk.post("/club/athlete", {**form, "mass": "57.5", "note": ""}).status_code == 303
    after = held(desk, "Imka")
    was, now = before.splitlines(), after.splitlines()
    assert [r for r in was if r not in now] == ["mass = 56.0", was[-1]]
    assert [r for r in now if r not in was] == ["mass = 57.5"]
    # The same page, open in another tab, knows nothing of that.
    late = desk.post("/club/athlete", {**form, "mass": "60"})
    assert late.status_code == 400
    assert "was changed meanwhile" in said(late.text)
    assert held(desk, "Imka") == after


@pytest.mark.parametrize("who", list(club_files()))
def test_a_form_sent_back_untouched_changes_nothing(desk: Asked, who: str) -> None:
    before = held(desk, who)
    form = form_of(desk.get(f"/club/athlete?a={desk.numbers[who.capitalize()]}").text)
    assert desk.post("/club/athlete", form).status_code == 303
    assert held(desk, who).rstrip("\n") == before.rstrip("\n")


def test_an_odd_form_is_refused(desk: Asked) -> None:
    for more in ({"admin": "1"}, {"a": "999"}, {"a": "x"}, {"note": "x" * 5000}):
        found = desk.post("/club/athlete", {**ADA, **more})
        assert found.status_code == 400
        assert "fault of the program" not in found.text


@given(st.dictionaries(st.sampled_from([f.name for f in fields_of(Athlete)]), st.text(max_size=60)))
def test_no_form_is_too_odd(values: dict[str, str]) -> None:
    try:
        made = text_with(club_files()["imka"], values)
    except BadInput:
        return
    table = tomllib.loads(made)
    told = {n: t.strip() for n, t in values.items() if t.strip()}
    assert set(told) <= set(table)
    for name, text in told.items():
        if isinstance(table[name], str):
            assert table[name] == text


def test_what_was_only_a_name_begins_with_the_name() -> None:
    assert told_of(None) == {}


CALIBRATED = """
[calibration]
slope = 0.710  # +- 0.062
tau = 1.900  # no evidence in the attempts
losses = [0.070, 0.081, 0.149]  # +- 0.004, 0.005, 0.011, weak evidence
margin = 0.041
"""


def test_own_figures_stand_on_the_page_with_the_margins_of_their_file(desk: Asked) -> None:
    number = desk.numbers["Imka"]
    assert "None yet: Imka is planned with the usual figures" in said(
        desk.get(f"/club/athlete?a={number}").text
    )
    with open_book(desk.desk.book) as book:
        keep_text(book, club_files()["imka"] + CALIBRATED)
    shown = said(desk.get(f"/club/athlete?a={number}").text).partition("Own figures")[2]
    for row in (
        "Speed lost for height gained 0.71 ± 0.062",
        "Build-up of the run-up [s] 1.9 no evidence in the attempts",
        "Speed lost at hop, step, jump 0.07/0.081/0.149 ± 0.004, 0.005, 0.011, weak evidence",
        "Margin of a forecast 0.041 not told",
    ):
        assert row in shown
    form = form_of(desk.get(f"/club/athlete?a={number}").text)
    assert desk.post("/club/athlete", {**form, "mass": "57"}).status_code == 303
    assert held(desk, "Imka").endswith(CALIBRATED)


def test_every_figure_may_be_typed_and_is_read_back_in_either_system(desk: Asked) -> None:
    typed = {"name": "Bo", "stature": "5-7", "mass": "128 lb", "leg": "left", "best": "36-9",
             "speed": "18.6 mph", "standing_jump": "6-1", "tape": "ft"}  # fmt: skip
    found = desk.post("/club/athlete", typed)
    assert found.status_code == 303
    with open_book(desk.desk.book) as book:
        bo = find_member(book, "Bo")
    assert (bo.stature, bo.mass) == (pytest.approx(1.7018), pytest.approx(58.0598, abs=1e-4))
    metric = said(desk.get(f"/club/athlete?a={bo.id}").text)
    for text in ("= 1.70 m", "= 58.1 kg", "= 11.20 m", "= 8.31 m/s", "= 1.85 m"):
        assert text in metric
    feet = said(desk.get(f"/club/athlete?a={bo.id}&tape=ft").text)
    for text in ("= 5' 7\"", "= 36' 9\"", "= 6' 1\"", "such as 32-2"):
        assert text in feet
    wrong = desk.post("/club/athlete", {**typed, "name": "Cy", "mass": "900 lb"})
    assert "must be a mass from 18 to 180 kg" in said(wrong.text)
