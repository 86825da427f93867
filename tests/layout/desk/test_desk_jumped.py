"""Jumped: what is put down stands in the book as the command puts it down, once, and can be struck out."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from layout.book.correct import changes
from layout.book.people import planned
from layout.book.rows import Attempt, attempts
from layout.book.store import open_book
from layout.rules.cautions import PAIN
from layout.words.units import show_length
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.test_desk_club import form_of
from tests.layout.desk.test_desk_pages import planned as plan_of
from tests.layout.desk.test_desk_pages import said

DRILL = "hop-step-sand"


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        yield made


def kept(desk: Asked) -> list[Attempt]:
    with open_book(desk.desk.book) as book:
        return attempts(book)


def wish(desk: Asked, **more: str) -> dict[str, str]:
    return {"a": str(desk.numbers["Tevin"]), "d": DRILL, **more}


def put(desk: Asked, **more: str) -> Any:
    return desk.post("/jumped", wish(desk, **more))


def test_a_run_is_put_down_with_the_plan_it_was_jumped_on(desk: Asked) -> None:
    found = put(desk, r0="3.40", r1="2,98", note="quiet", wind="+0.4", strides="8")
    assert found.status_code in (200, 303)
    (one,) = kept(desk)
    assert one.lengths == (3.4, 2.98)
    assert (one.total, one.note, one.wind, one.strides) == (6.38, "quiet", 0.4, 8)
    with open_book(desk.desk.book) as book:
        assert one.plan is not None
        assert planned(book, one.plan).strides == 8
    page = said(desk.get("/jumped", params=wish(desk, strides="8")).text)
    assert "3.40 m / 2.98 m total 6.38 m, quiet" in page
    assert "Run 2" in page


@pytest.mark.parametrize("zero", ["board", "pit"])
def test_any_zero_tells_the_same_run(desk: Asked, zero: str) -> None:
    pit = plan_of("tevin", DRILL).place.pit_x or 0.0
    read = {"board": (3.2, 6.18), "pit": (pit - 3.2, 6.18 - pit)}[zero]
    put(desk, **{"from": zero}, r0=f"{read[0]:.2f}", r1=f"{read[1]:.2f}")
    (one,) = kept(desk)
    assert one.lengths == pytest.approx((3.2, 2.98), abs=0.011)


def test_a_run_belongs_to_the_plan_set_out_now(desk: Asked) -> None:
    for strides in ("6", "8", "6"):
        put(desk, r0="3.20", r1="3.00", strides=strides)
    with open_book(desk.desk.book) as book:
        assert [planned(book, a.plan or 0).strides for a in attempts(book)] == [6, 8, 6]


def test_the_same_page_sent_twice_counts_once(desk: Asked) -> None:
    form = form_of(desk.get("/jumped", params=wish(desk)).text)
    assert form["once"]
    for _ in range(3):
        found = put(desk, once=form["once"], r0="3.20", r1="3.00")
        assert found.status_code in (200, 303)
    assert len(kept(desk)) == 1


@pytest.mark.parametrize(
    ("more", "word"),
    [
        ({}, "readings"),
        ({"r0": "far", "r1": "3"}, "far"),
        ({"r0": "3.2", "r1": "3", "from": "moon"}, "from"),
        ({"r0": "3.2", "r1": "3", "wind": "strong"}, "wind"),
        ({"r0": "99", "r1": "3"}, "99"),
        ({"r0": "3.2", "r1": "3", "went": "well"}, "went"),
        ({"r0": "3.2", "r7": "1", "odd": "1"}, "address"),
    ],
)
def test_what_cannot_be_is_refused_and_stays_in_the_form(
    desk: Asked, more: dict[str, str], word: str
) -> None:
    found = put(desk, **more)
    assert found.status_code == 400
    assert word in found.text
    assert "fault of the program" not in found.text
    assert kept(desk) == []


def test_a_foul_and_what_was_not_measured(desk: Asked) -> None:
    assert put(desk, r0="3.20", went="foul").status_code in (200, 303)
    (one,) = kept(desk)
    assert one.foul
    assert one.lengths == (3.2, None)


@pytest.mark.parametrize("went", ["foul", "stopped", "pain"])
def test_a_run_that_did_not_go_to_its_end_counts_for_the_load(desk: Asked, went: str) -> None:
    other = (
        f"/jumped?a={desk.numbers['Tevin']}&d=short-triple-jump"  # pain ends every drill of the day
    )
    found = put(desk, went=went, note="landed flat")
    assert found.status_code in (200, 303), said(found.text)[:300]
    (one,) = kept(desk)
    assert one.contacts == 3
    assert one.foul == (went == "foul")
    assert (one.note or "").startswith("landed flat" if went == "foul" else went)
    pages = [
        desk.get(at).text
        for at in (
            other,
            other.replace("jumped", "set-out"),
            other.replace("jumped", "picture"),
            "/?a=" + wish(desk)["a"],
        )
    ]
    for page in (found.text or desk.get(found.headers["location"]).text, *pages):
        assert (PAIN in said(page)) == (went == "pain")


def test_what_was_put_down_last_is_said_where_the_next_is_typed(desk: Asked) -> None:
    put(desk, went="foul")
    page = desk.get(put(desk, r0="3.20", r1="3.00").headers["location"]).text
    form = said(page.partition('id="jumped"')[2].partition("</form>")[0])
    assert "Run 2 is in the book: 3.20 m / 3.00 m." in form
    first = desk.get("/jumped", params=wish(desk)).text
    assert first.index("is in the book") < first.index('id="keys"')


def test_a_run_is_struck_out_and_kept_among_the_corrections(desk: Asked) -> None:
    put(desk, r0="3.20", r1="3.00")
    number = str(kept(desk)[0].id)
    assert desk.post("/jumped/strike", wish(desk, run=number)).status_code == 303
    shown = said(desk.get("/jumped", params=wish(desk)).text)
    assert "total 6.20 m, struck out" in shown
    assert kept(desk) == []
    assert desk.post("/jumped/strike", wish(desk, run=number)).status_code == 400
    assert desk.post("/jumped/strike", wish(desk, run=number, back="1")).status_code == 303
    assert [a.total for a in kept(desk)] == [6.2]
    assert desk.post("/jumped/strike", wish(desk, run=number, back="1")).status_code == 400


def test_a_run_is_put_right_and_what_was_before_is_shown(desk: Asked) -> None:
    put(desk, r0="3.20", r1="3.00", note="loud", wind="+0.4")
    (one,) = kept(desk)
    form = form_of(desk.get("/jumped", params=wish(desk, run=str(one.id))).text)
    assert {n: form[n] for n in ("r0", "r1", "note", "wind", "run")} == {
        "r0": "3.20", "r1": "3.00", "note": "loud", "wind": "+0.4", "run": str(one.id),
    }  # fmt: skip
    again = {**form, "r1": "3.10", "note": "", "wind": "", "went": "stopped"}
    assert desk.post("/jumped", again).status_code == 303
    (now,) = kept(desk)
    assert (now.id, now.lengths, now.note, now.wind) == (one.id, (3.2, 3.1), "stopped", None)
    shown = said(desk.get("/jumped", params=wish(desk)).text)
    assert "before: " in shown
    before = shown.partition("before: ")[2].partition("Load and care")[0]
    assert all(text in before for text in ("3.20 m / 3.00 m", "note: loud", "wind +0.4"))
    # The same page again counts once; one that changes nothing says so.
    assert desk.post("/jumped", again).status_code == 303
    with open_book(desk.desk.book) as book:
        assert len([c for c in changes(book, "attempt", one.id) if c.field == "lengths"]) == 1
    same = desk.post("/jumped", {**again, "once": "other"})
    assert same.status_code == 400
    assert "these values stand already" in said(same.text)


def test_a_foul_is_put_right_and_readings_are_not_taken_away(desk: Asked) -> None:
    put(desk, r0="3.20", r1="3.00", went="foul")
    (one,) = kept(desk)
    form = form_of(desk.get("/jumped", params=wish(desk, run=str(one.id))).text)
    assert desk.post("/jumped", {**form, "went": "to the end"}).status_code == 303
    assert not kept(desk)[0].foul
    none = {**form, "r0": "", "r1": "", "once": "2", "went": "foul"}
    assert "strike the run out" in said(desk.post("/jumped", none).text)
    assert kept(desk)[0].lengths == (3.2, 3.0)
    assert desk.post("/jumped", {**form, "run": "999", "once": "3"}).status_code == 400


@pytest.mark.parametrize("tape", ["cm", "ft"])
@pytest.mark.parametrize("zero", ["each", "board", "start", "pit"])
def test_the_planned_readings_put_down_are_the_plans_lengths(
    desk: Asked, zero: str, tape: str
) -> None:
    """What stands in small beside the fields, typed as it stands, is the plan jumped to the mark."""
    page = desk.get("/jumped", params=wish(desk, tape=tape, **{"from": zero})).text
    planned_ = re.findall(r"planned</span> ([^<]+)<", page)
    read = [html.unescape(text).replace("' ", "-").rstrip('"') for text in planned_]
    assert put(desk, tape=tape, r0=read[0], r1=read[1], **{"from": zero}).status_code in (200, 303)
    lengths = kept(desk)[0].lengths
    assert lengths == pytest.approx([f.length for f in plan_of("tevin", DRILL).flights], abs=0.012)


def test_a_bare_number_where_feet_are_read_is_asked_about(desk: Asked) -> None:
    found = put(desk, tape="ft", r0="10-7", r1="9.2")
    assert found.status_code == 400
    assert "must be feet and inches such as 8-7" in said(found.text)
    assert 'id="e-r1"' in found.text
    assert 'id="e-r0"' not in found.text
    assert kept(desk) == []
    assert put(desk, tape="ft", r0="10-7", r1="9.2 m").status_code in (200, 303)


def test_the_planned_figures_are_the_plans(desk: Asked) -> None:
    page = said(desk.get("/jumped", params=wish(desk)).text)
    plan = plan_of("tevin", DRILL)
    for flight in plan.flights:
        assert f"planned {show_length(flight.length)}" in page
    far = said(desk.get("/jumped", params=wish(desk, **{"from": "board"})).text)
    assert f"planned {show_length(plan.contacts[-1].x)}" in far
