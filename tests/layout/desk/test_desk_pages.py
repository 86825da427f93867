"""The desk's pages: what they say is what the commands say, for every athlete and drill, and in faults."""

from __future__ import annotations

import datetime
import html
import math
import time
from collections.abc import Iterator
from dataclasses import fields, replace
from html.parser import HTMLParser
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from animate.motion.chain import Settings
from layout.athlete.athlete import read_athlete
from layout.book.people import keep_text, members
from layout.book.store import create, open_book
from layout.catalogue.club import club_files
from layout.desk.demo import FOLDER, demo_book
from layout.desk.figure import moved
from layout.desk.setout import UNSEEN, settings_of
from layout.desk.wanted import Wanted, wanted
from layout.moving.clearing import cleared
from layout.moving.solved import at_hand
from layout.plan.drill import GO_ON, Choices, catalogue, find_drill
from layout.plan.spacing import make_plan
from layout.plan.stored import from_json
from layout.plan.tape import tape_card
from layout.plan.value import Plan
from layout.plan.venue import find_venue
from layout.rules.demand import reasons
from layout.words.faults import BadInput
from layout.words.units import System
from tests.browser import PATIENCE
from tests.layout.desk.desks import Asked, asked, halted
from tests.layout.phone.phone_pages import NAMES

TODAY = datetime.date.today()
CLUB = tuple(club_files())


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    with asked(tmp_path_factory.mktemp("desk")) as made:
        yield made


class Words(HTMLParser):
    """The words of a page, and every element's attributes."""

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(markup)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def said(markup: str) -> str:
    return " ".join(" ".join(Words(markup).texts).split())


def planned(who: str, drill: str, choices: Choices | None = None, venue: str = "club") -> Plan:
    """The plan that phasemark plan makes of the same."""
    path = Path(str(files("layout.catalogue.club") / f"{who}.toml"))
    return make_plan(read_athlete(path), find_drill(drill), find_venue(venue), TODAY, choices)


@pytest.mark.parametrize("who", CLUB)
def test_every_drill_of_every_athlete_reads_as_the_command_does(desk: Asked, who: str) -> None:
    name = who.capitalize()
    today = desk.get(f"/?a={desk.numbers[name]}").text
    for slug, drill in catalogue().items():
        found = desk.set_out(name, slug)
        assert found.status_code == 200
        shown = said(found.text)
        try:
            plan = planned(who, slug)
        except BadInput as error:
            for fault in error.faults:
                # A drill goes by its title there, and an easier one is a button.
                why = fault.rule.replace(GO_ON, "").replace(f"{slug} is", f"{drill.title}: is", 1)
                assert " ".join(why.partition(" Easier and open")[0].split()) in shown
            assert "<svg" not in found.text.partition('class="wishes"')[0]
            continue
        motion = at_hand(plan)
        if (
            motion is not None
        ):  # as the commands do, which move a hurdle to where it is cleared best
            plan = cleared(plan, motion)
        elif plan.hurdles:
            assert UNSEEN in shown
        for line in tape_card(plan).lines:
            assert f"{line.shown} {line.side} {line.what}".replace("  ", " ") in shown
        for note in plan.warnings:
            assert note.text in shown
        for text in plan.cautions:
            assert text in shown
        assert html.escape(drill.title) in today


@pytest.mark.parametrize("who", CLUB)
def test_closed_drills_say_why_and_lead_to_a_decision_only(desk: Asked, who: str) -> None:
    name = who.capitalize()
    page = desk.get(f"/?a={desk.numbers[name]}").text
    stands = read_athlete(Path(str(files("layout.catalogue.club") / f"{who}.toml"))).standing(TODAY)
    for slug, drill in catalogue().items():
        shut = reasons(stands, drill.demand(), name)
        for why in shut:
            assert why.text in said(page)
        ways = [a for t, a in Words(page).tags if t == "a" and f"d={slug}" in _parts(a)]
        assert len(ways) == 1
        assert ("quiet" in (ways[0].get("class") or "")) == bool(shut)
        if shut:
            behind = desk.get(ways[0]["href"] or "").text
            assert "Who goes on all the same, and why?" in said(behind)
            assert "Tape card" not in said(behind).partition("Who goes on")[0]


def _parts(attributes: dict[str, str | None]) -> list[str]:
    return (attributes.get("href") or "").partition("#")[0].partition("?")[2].split("&")


def test_a_closed_drill_says_why_and_leads_to_an_open_one(desk: Asked) -> None:
    found = desk.set_out("Runa", "full-triple-jump").text
    assert "is closed to Runa" in said(found)
    assert "--" not in said(found)
    links = [a["href"] or "" for t, a in Words(found).tags if t == "a"]
    (link,) = (k for k in links if k.startswith("/set-out"))
    assert "is closed" not in said(desk.get(link).text)


DECIDED = "Coach Bo: seen by the doctor <b>today</b>"


def test_going_on_with_a_closed_drill_is_what_the_command_does(desk: Asked) -> None:
    plan = planned("runa", "full-triple-jump", Choices(despite=DECIDED))
    assert plan.despite
    found = desk.set_out("Runa", "full-triple-jump", despite=DECIDED)
    shown = said(found.text)
    assert plan.despite in said(found.text.partition('id="desk"')[0])
    assert "<b>today" not in found.text
    for line in tape_card(plan).lines:
        assert line.shown in shown
    for note in plan.warnings:
        assert note.text in shown
    sheet = desk.set_out("Runa", "full-triple-jump", "/sheet.pdf", despite=DECIDED)
    text = " ".join(PdfReader(BytesIO(sheet.content)).pages[0].extract_text().split())
    assert "Done despite this: Coach Bo" in text
    fields_ = {"a": str(desk.numbers["Runa"]), "d": "full-triple-jump", "despite": DECIDED}
    assert desk.post("/jumped", {**fields_, "went": "foul"}).status_code in (200, 303)
    with open_book(desk.desk.book) as book:
        kept = book.rows("SELECT p.json FROM attempt a JOIN plan p ON p.id = a.plan")
    assert [from_json(row[0]).despite for row in kept] == [plan.despite]


def test_a_decision_where_nothing_is_closed_changes_nothing(desk: Asked) -> None:
    with_, without = (
        desk.set_out("Tevin", "hop-step-sand", "/live", w="wide", **more).json()["parts"]
        for more in ({"despite": DECIDED}, {})
    )
    assert "Nothing is closed as it is now" in said(with_.pop("decided"))
    assert with_ == without


def test_a_decision_is_asked_for_again_when_the_run_asks_for_more(desk: Asked) -> None:
    grows = {"name": "Kim Lo", "stature": "1.62", "mass": "50", "leg": "left", "target": "9.50",
             "strides": "12"}  # fmt: skip
    desk.post("/club/athlete", grows)  # of unknown age: closed from the first stride on
    with open_book(desk.desk.book) as book:
        (number,) = (m.id for m in members(book) if m.name == "Kim Lo")

    def sent(strides: str, page: str = "/set-out", **more: str) -> Any:
        asked = {"a": number, "d": "hop-step-sand", "strides": strides, "despite": DECIDED}
        return desk.get(page, params={**asked, **more})

    grown = sent("9", decided="7")  # over 8 strides: from 15 years, not 13
    assert "More is asked now than when it was decided: decide again." in said(grown.text)
    assert "Decided when less was asked; not for what it is now" in said(grown.text)
    assert 'name="decided" value="9"' in grown.text.partition('class="decide"')[2]
    assert sent("9", "/jumped", decided="7").status_code == 400
    live = sent("9", "/live", w="wide", decided="7").json()
    assert (live["figure"], set(live["parts"])) == ("none", {"faults", "decided"})
    for strides, decided in (("7", "7"), ("8", "7"), ("7", "9"), ("9", "9")):
        assert "Closed, and gone on with" in said(sent(strides, decided=decided).text)
    assert "decide again" in said(sent("7").text)  # of the drill's own run-up where nothing is said


@pytest.mark.parametrize(
    ("more", "settings"),
    [
        ({"gap": "0.3", "lever": "125"}, Settings(knee_gap=0.3, knee_bend=math.radians(55))),
        ({"thigh": "-10", "held": "0.1"}, Settings(thigh_high=math.radians(80), hold=0.1)),
        ({"trunk": "5", "arms": "together"}, Settings(trunk=-math.radians(5), arms="together")),
    ],
)
def test_positions_are_asked_of_the_figure_as_film_does(
    desk: Asked, more: dict[str, str], settings: Settings
) -> None:
    import argparse

    from layout.commands.film_ import settings_from

    words = {"gap": "knee_gap", "lever": "free_knee", "thigh": "free_thigh", "held": "thigh_held"}
    names = (*words.values(), "trunk", "arms")
    options = dict.fromkeys(names) | {"arms": "alternate"}
    options |= {words.get(k, k): v for k, v in more.items()}
    if "gap" in more:
        options["knee_gap"] = f"{more['gap']} m"
    assert settings_from(argparse.Namespace(**options)) == settings
    assert settings_of(wanted({"a": "1", "d": "x", **more})) == settings
    page = desk.set_out("Tevin", "hop-step-sand", **more).text
    checked = {
        (a["name"], a["value"]) for t, a in Words(page).tags if t == "input" and "checked" in a
    }
    assert set(more.items()) <= checked


@pytest.mark.parametrize(("tape", "unit"), [("cm", " cm"), ("ft", " in")])
def test_a_trunk_that_moves_the_knees_says_so_on_the_desk(tape: System, unit: str) -> None:
    """A motion of the plan stands in for the one that leans, which would have to be solved."""
    plan = planned("tevin", "full-triple-jump", venue="marram-point")
    motion = at_hand(plan)
    assert motion is not None
    leans, both = Settings(trunk=-0.1), Settings(trunk=-0.1, knee_gap=0.3)
    said_ = moved(plan, replace(motion, settings=leans), tape)
    assert "The trunk moves the knees too" in said_
    assert unit in said_
    assert "--" not in said_
    assert moved(plan, replace(motion, settings=both), tape) == moved(plan, motion, tape) == ""


def test_a_position_not_offered_stays_chosen(desk: Asked) -> None:
    page = desk.set_out("Tevin", "hop-step-sand", lever="101", gap="0.37").text
    checked = {
        (a["name"], a["value"]) for t, a in Words(page).tags if t == "input" and "checked" in a
    }
    assert {("lever", "101"), ("gap", "0.37")} <= checked


def test_what_the_coach_changes_is_what_the_planner_is_asked(desk: Asked) -> None:
    wish = {"strides": "8", "hops": "low", "zero": "pit", "tape": "ft", "v": "marram-point"}
    shown = said(desk.set_out("Tevin", "hop-step-sand", **wish).text)
    plan = planned("tevin", "hop-step-sand", Choices(strides=8, arc="low"), "marram-point")
    for line in tape_card(plan, "pit", "ft").lines:
        assert line.shown in shown
    live = desk.set_out("Tevin", "hop-step-sand", "/live", w="wide", **wish).json()
    assert said(live["parts"]["card"]) in shown
    assert 'class="wide"' in live["parts"]["runway"]
    assert 'class="narrow"' not in live["parts"]["runway"]
    assert live["away"]["/sheet.pdf"].startswith("/sheet.pdf?a=")


@pytest.mark.parametrize(
    ("more", "word"),
    [
        ({"strides": "40"}, "strides"),
        ({"strides": "seven"}, "strides"),
        ({"hops": "sideways"}, "hops"),
        ({"gap": "3 m"}, "knee-gap"),
        ({"zero": "moon"}, "zero"),
        ({"tape": "ell"}, "tape"),
        ({"board": "50"}, "board-at"),
        ({"hurdle": "15 cm"}, "hurdle"),
        ({"lever": "20"}, "free-knee"),
        ({"thigh": "high"}, "free-thigh"),
        ({"held": "0.1"}, "thigh-held"),
        ({"held": "9", "thigh": "0"}, "thigh-held"),
        ({"trunk": "60"}, "trunk"),
        ({"arms": "none"}, "arms"),
        ({"despite": "x" * 200}, "despite"),
        ({"despite": "one\ntwo"}, "despite"),
        ({"v": "nowhere"}, "venue"),
        ({"v": "/etc/passwd"}, "venue"),
        ({"v": "x.toml"}, "venue"),
        ({"a": "999"}, "athlete"),
        ({"d": "nothing"}, "drill"),
        ({"d": ""}, "address"),
        ({"odd": "1"}, "address"),
    ],
)
def test_every_fault_is_told_with_its_field(desk: Asked, more: dict[str, str], word: str) -> None:
    found = desk.get("/set-out", params={"a": desk.numbers["Tevin"], "d": "hop-step-sand", **more})
    assert found.status_code in (200, 400)
    assert f"{word}: " in said(found.text)
    assert "Traceback" not in found.text
    assert "fault of the program" not in found.text


@given(
    st.dictionaries(
        st.sampled_from([*(f.name for f in fields(Wanted)), "w", "x"]),
        st.text(max_size=30) | st.integers(-5, 30).map(str) | st.sampled_from(["low", "pit", "ft"]),
        max_size=6,
    ),
    st.sampled_from(["/", "/set-out", "/live", "/figure", "/sheet.pdf", "/clip.svg", "/phone.html"]),
)  # fmt: skip
def test_no_question_is_too_odd(desk: Asked, query: dict[str, str], page: str) -> None:
    found = desk.get(page, params={"a": "1", "d": "hop-step-sand", **query})
    assert found.status_code in (200, 400)
    assert "fault of the program" not in found.text


@given(st.builds(
    Wanted, a=st.integers(1, 99), d=st.sampled_from(["x", "hop-step-sand"]),
    strides=st.none() | st.integers(1, 24),
    hops=st.sampled_from([None, "low", "high"]), gap=st.sampled_from([None, 0.2, 0.5]),
    zero=st.sampled_from(["board", "pit"]), tape=st.sampled_from(["cm", "ft"]),
    board=st.none() | st.floats(1, 20), hurdle=st.none() | st.floats(0.05, 0.6),
    lever=st.sampled_from([None, 65.0, 120.5]), thigh=st.sampled_from([None, -20.0, 0.0]),
    held=st.sampled_from([None, 0.1]), trunk=st.sampled_from([None, -5.0, 0.0]),
    arms=st.sampled_from([None, "together"]), despite=st.sampled_from([None, "A. B.: fit & well"]),
))  # fmt: skip
def test_an_address_says_what_was_wanted(asked_for: Wanted) -> None:
    from urllib.parse import parse_qsl

    page, _, query = asked_for.address().partition("?")
    assert page == "/set-out"
    assert wanted(dict(parse_qsl(query))) == asked_for


@pytest.mark.parametrize("name", [n[:80] for n in NAMES])
def test_a_name_is_a_name_whatever_it_holds(tmp_path: Path, name: str) -> None:
    import json

    with asked(tmp_path) as desk:
        text = club_files()["imka"].replace('"Imka"', json.dumps(name, ensure_ascii=False))
        with open_book(desk.desk.book) as book:
            keep_text(book, text)
            number = next(m.id for m in members(book) if m.name not in desk.numbers)
        for page in (f"/?a={number}", f"/set-out?a={number}&d=short-triple-jump"):
            found = desk.get(page)
            assert found.status_code == 200
            tags = Words(found.text).tags
            assert not [a for t, a in tags if t == "img"]
            assert next(a.get("src") for t, a in tags if t == "script") == "/desk.js"
            assert not [
                a for t, a in tags if t == "script" and "src" not in a and not a.get("type")
            ]
            assert " ".join(name.split()) in said(found.text)


def test_the_sheet_is_a_page_of_true_size(desk: Asked) -> None:
    found = desk.set_out("Tevin", "hop-step-sand", "/sheet.pdf")
    assert found.headers["content-type"] == "application/pdf"
    assert found.headers["content-disposition"].startswith(
        "inline; filename*=UTF-8''Tevin-hop-step"
    )
    box = PdfReader(BytesIO(found.content)).pages[0].mediabox
    assert sorted((round(float(box.width)), round(float(box.height)))) == [595, 842]
    phone = desk.set_out("Tevin", "hop-step-sand", "/phone.html")
    assert phone.headers["content-disposition"].startswith("attachment")
    assert phone.text.startswith("<!DOCTYPE html>")


def test_a_figure_is_worked_out_told_of_and_shown(desk: Asked) -> None:
    wish = {"strides": "5", "gap": "0.5"}
    asked_for = ("Imka", "hop-step-sand")
    first = desk.set_out(*asked_for, **wish)
    assert "Not worked out for this spacing yet." in said(first.text)
    assert desk.set_out(*asked_for, "/clip.svg", **wish).status_code == 400
    fields = {"a": str(desk.numbers["Imka"]), "d": asked_for[1], **wish}
    told = desk.post("/solve", fields).json()
    assert told["state"] == "working"
    seen = [told]
    until = time.monotonic() + PATIENCE
    while seen[-1]["state"] == "working" and time.monotonic() < until:
        time.sleep(0.05)
        seen.append(desk.set_out(*asked_for, "/figure", **wish).json())
    assert seen[-1]["state"] == "solved"
    assert 'id="frames"' in seen[-1]["html"]
    page = desk.set_out(*asked_for, **wish).text
    assert "Worked out for this spacing." in said(page)
    assert "The motion drawn, in order" in said(page)
    clip = desk.set_out(*asked_for, "/clip.svg", **wish)
    assert clip.headers["content-type"] == "image/svg+xml"
    assert clip.text.startswith("<")


def test_a_newer_wish_ends_the_older_and_a_stop_both(desk: Asked) -> None:
    number = str(desk.numbers["Odalys"])
    desk.post("/solve", {"a": number, "d": "two-hops-step-sand", "strides": "7"})
    with halted(desk.desk):
        for strides in ("7", "8", "9"):
            desk.post("/solve", {"a": number, "d": "two-hops-step-sand", "strides": strides})
        assert desk.post("/stop").json() == {"state": "stopped"}
    for strides in ("7", "8", "9"):
        told = desk.set_out("Odalys", "two-hops-step-sand", "/figure", strides=strides).json()
        assert told["state"] == "stopped"
    # It goes on when it is asked again.
    again = desk.post("/solve", {"a": number, "d": "two-hops-step-sand", "strides": "8"}).json()
    assert again["state"] == "working"
    desk.post("/stop")


def test_a_worker_killed_from_outside_is_begun_again(desk: Asked) -> None:
    fields_ = {"a": str(desk.numbers["Sefa"]), "d": "two-hops-step-sand", "strides": "7"}
    assert desk.post("/solve", fields_).json()["state"] == "working"
    process = desk.desk.worker._process
    assert process is not None
    process.kill()
    process.join()
    until = time.monotonic() + PATIENCE
    told = {"state": "working"}
    while told["state"] == "working" and time.monotonic() < until:
        time.sleep(0.02)
        told = desk.get("/figure", params=fields_).json()
    assert told["state"] == "stopped"
    assert desk.post("/solve", fields_).json()["state"] == "working"
    assert desk.desk.worker._process is not process
    desk.post("/stop")


def test_what_is_not_possible_is_told(desk: Asked) -> None:
    found = desk.set_out("Runa", "full-triple-jump", "/figure").json()
    assert found["state"] == "failed"
    assert "closed" in found["why"]
    live = desk.set_out("Runa", "full-triple-jump", "/live").json()
    assert live["figure"] == "none"
    assert set(live["parts"]) == {"faults"}


def test_the_end_from_the_page(desk: Asked) -> None:
    ended = []
    desk.desk.end = lambda: ended.append(1)
    assert "The desk is closed" in said(desk.post("/end").text)
    assert ended == [1]
    assert desk.get("/end").status_code in (404, 405)


def test_the_demo_has_a_book_of_its_own_and_touches_nobody_elses(tmp_path: Path) -> None:
    own = tmp_path / FOLDER
    own.mkdir()
    create(own / "marram-point.book")  # a coach's own, of the very same name
    before = (own / "marram-point.book").read_bytes()
    made, new = demo_book(tmp_path)
    assert new
    assert made.parent != own
    assert (own / "marram-point.book").read_bytes() == before
    with open_book(made) as book:
        assert [m.name for m in members(book)] == [n.capitalize() for n in CLUB]
        book.rows("SELECT 1")
    again, new = demo_book(tmp_path)
    assert (again, new) == (made, False)


def test_an_empty_book_and_a_bare_name_say_what_to_do(tmp_path: Path) -> None:
    from layout.book.people import add_name

    with asked(tmp_path) as desk:
        empty = tmp_path / "own.book"
        create(empty)
        desk.desk.book = empty
        assert "Nobody is in this book yet" in said(desk.get("/").text)
        with open_book(empty) as book:
            add_name(book, "Ola")
        assert "only the name is known" in said(desk.get("/?a=1").text)
        assert "only the name is known" in said(desk.get("/set-out?a=1&d=hop-step-sand").text)
        assert desk.get("/?a=7").status_code == 400
