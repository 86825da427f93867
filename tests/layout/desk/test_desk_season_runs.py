"""Runs of the season: behind every figure, put right with what was before; own figures into the file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest

from layout.book.correct import changes
from layout.book.people import find_member
from layout.book.rows import attempt
from layout.book.store import open_book
from layout.cli import main
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.season_desks import UNTIL, Tables, page, season_of_club
from tests.layout.desk.test_desk_pages import Words, said


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    """A desk that is only read."""
    folder = tmp_path_factory.mktemp("season")
    with asked(folder, book=season_of_club(folder)) as made:
        yield made


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Asked]:
    """A desk to write in."""
    with asked(tmp_path, book=season_of_club(tmp_path)) as made:
        yield made


# --- from a figure to its runs --------------------------------------------------------------------


def test_every_row_leads_to_runs(desk: Asked) -> None:
    found = Tables(page(desk).text)
    links = {link for link in found.links if link}
    assert len(links) > 10
    for link in links:
        answer = desk.get(link)
        assert answer.status_code == 200, link
        week = dict(parse_qsl(urlsplit(link).query)).get("week")
        text = said(answer.text)
        assert not text.startswith("0 runs")
        assert week is None or f"the week of {week}" in text


def test_a_list_of_runs_has_parts(desk: Asked) -> None:
    first = page(desk, "/season/runs").text
    assert "216 runs" in said(first)
    seen: set[str] = set()
    for part in range(1, 7):
        links = [dict(a).get("href") or "" for t, a in Words(page(desk, "/season/runs", part=part).text).tags
                 if t == "a" and dict(a).get("class", "").startswith("tile")]  # fmt: skip
        seen |= {str(dict(parse_qsl(urlsplit(link).query))["n"]) for link in links}
    assert len(seen) == 216
    assert page(desk, "/season/runs", part=7).status_code == 400


def test_a_drill_and_days_narrow_the_page(desk: Asked) -> None:
    markup = page(desk, d="hop-step-sand", since="2026-04-01").text
    text = said(markup)
    titles = [a.get("aria-label") or "" for t, a in Words(markup).tags if t == "section"]
    assert {t.partition(",")[0] for t in titles if t} == {"Hop and step to the sand"}
    assert "Only a part is shown" in text
    runs = said(page(desk, "/season/runs", d="hop-step-sand", since="2026-04-01").text)
    assert "2026-03" not in runs
    assert "Mar 2026" not in runs
    assert "Apr 2026" in runs


# --- putting right --------------------------------------------------------------------------------


def form(markup: str) -> dict[str, str]:
    """The fields of the first form that is sent, as they stand."""
    out: dict[str, str] = {}
    choosing, inside = "", False
    for tag, attrs in Words(markup).tags:
        if tag == "form":
            if inside:
                break
            inside = attrs.get("method") == "post"
        elif inside and tag == "input":
            out[attrs["name"] or ""] = attrs.get("value") or ""
        elif inside and tag == "select":
            choosing = attrs["name"] or ""
            out[choosing] = ""
        elif inside and tag == "option" and "selected" in attrs:
            out[choosing] = attrs.get("value") or ""
    return out


def right(desk: Asked, number: int, **more: str) -> Any:
    fields = form(page(desk, "/season/run", n=number).text)
    assert fields["was"]
    return desk.post("/season/run", {**fields, **more})


def test_a_run_is_put_right_and_what_was_is_shown(own: Asked) -> None:
    with open_book(own.desk.book) as book:
        before = attempt(book, 5)
    assert before is not None
    answer = right(own, 5, r0="3.33", wind="-0.2", note="slipped")
    assert answer.status_code == 303
    with open_book(own.desk.book) as book:
        kept = attempt(book, 5)
        assert kept is not None
        assert (kept.lengths[0], kept.wind, kept.note) == (3.33, -0.2, "slipped")
        assert kept.lengths[1:] == before.lengths[1:]
        assert (kept.strides, kept.speed, kept.day) == (before.strides, before.speed, before.day)
        assert {c.field for c in changes(book, "attempt", 5)} >= {
            "lengths",
            "total",
            "wind",
            "note",
        }
    text = said(own.get(answer.headers["location"]).text)
    assert "wind [m/s] nothing, then -0.2" in text
    was = " / ".join(f"{v:.2f} m" for v in before.lengths if v is not None)
    assert f"before: {was}" in said(page(own, "/season/runs", week=before.day).text)


def test_nothing_changed_changes_nothing_and_a_double_send_counts_once(own: Asked) -> None:
    assert right(own, 5).status_code == 303
    fields = {**form(page(own, "/season/run", n=5).text), "wind": "0.3"}
    assert [own.post("/season/run", fields).status_code for _ in range(3)] == [303] * 3
    with open_book(own.desk.book) as book:
        assert [c.field for c in changes(book, "attempt", 5)] == ["wind"]


def test_a_run_changed_in_another_tab_is_not_overwritten(own: Asked) -> None:
    old = form(page(own, "/season/run", n=5).text)
    assert right(own, 5, wind="0.3").status_code == 303
    answer = own.post("/season/run", {**old, "wind": "0.9"})
    assert answer.status_code == 400
    assert "changed meanwhile" in said(answer.text)
    with open_book(own.desk.book) as book:
        kept = attempt(book, 5)
    assert kept is not None
    assert kept.wind == 0.3


def test_a_value_is_taken_away_and_a_run_struck_out_and_put_back(own: Asked) -> None:
    right(own, 5, wind="0.3")
    assert right(own, 5, wind="").status_code == 303
    for word, struck in (("yes", True), ("yes", True), ("no", False)):
        fields = form(page(own, "/season/run", n=5).text)
        kept_only = {n: v for n, v in fields.items() if n in ("a", "n", "was", "until")}
        assert own.post("/season/run", {**kept_only, "struck": word}).status_code == 303
        with open_book(own.desk.book) as book:
            kept = attempt(book, 5)
        assert kept is not None
        assert (kept.wind, kept.struck) == (None, struck)


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"r0": "99"}, "r0"), ({"r1": "far"}, "r1"), ({"wind": "strong"}, "wind"), ({"speed": "99"}, "speed"),
        ({"day": "2999-01-01"}, "day"), ({"total": "-3"}, "total"), ({"strides": "40"}, "strides"),
        ({"kind": "game"}, "kind"), ({"zero": "moon"}, "zero"), ({"drill": "no-such-drill"}, "drill"),
    ],
)  # fmt: skip
def test_what_cannot_be_stands_beside_its_field_and_nothing_is_changed(
    desk: Asked, more: dict[str, str], field: str
) -> None:
    answer = right(desk, 9, **more)
    assert answer.status_code == 400
    assert f'id="e-{field}"' in answer.text, said(answer.text)[:400]
    assert "fault of the program" not in answer.text
    with open_book(desk.desk.book) as book:
        assert changes(book, "attempt", 9) == []


def test_a_run_goes_to_another_athlete(own: Asked) -> None:
    answer = right(own, 5, athlete="Runa")
    assert answer.status_code == 303
    with open_book(own.desk.book) as book:
        kept = attempt(book, 5)
    assert kept is not None
    assert kept.athlete == "Runa"
    assert f"a={own.numbers['Runa']}" in answer.headers["location"]
    assert own.get(answer.headers["location"]).status_code == 200
    assert page(own, "/season/run", n=5).status_code == 400


# --- own figures into the file --------------------------------------------------------------------


def test_own_figures_go_in_on_a_tap_and_what_stood_before_is_kept(
    own: Asked, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    saved = tmp_path / "own.toml"
    words_ = ["book", "fit", str(own.desk.book), "imka", "--on", UNTIL, "--save", str(saved)]
    assert main(words_) == 0
    capsys.readouterr()
    with open_book(own.desk.book) as book:
        before = find_member(book, "imka").file
    shown = page(own, "/season/own")
    with open_book(own.desk.book) as book:
        assert find_member(book, "imka").file == before  # looking changes nothing
    fields = form(shown.text)
    assert own.post("/season/own", {**fields, "was": "0" * 16}).status_code == 400
    assert [own.post("/season/own", fields).status_code for _ in range(2)] == [303, 303]
    with open_book(own.desk.book) as book:
        assert find_member(book, "imka").file == saved.read_text("utf-8")
        (kept,) = [c for c in changes(book, "athlete", own.numbers["Imka"]) if c.field == "file"]
    again = said(page(own, "/season/own").text)
    assert "the same runs would count twice" in again
    assert "[calibration]" in again
    assert before is not None
    assert kept.before[1:-1].replace("''", "'") == before


def test_a_file_is_put_back_as_it_stood(own: Asked) -> None:
    with open_book(own.desk.book) as book:
        before = find_member(book, "imka").file
    own.post("/season/own", form(page(own, "/season/own").text))
    fields = form(page(own, "/season/own").text)
    assert fields["at"]
    assert own.post("/season/own/back", {**fields, "was": "0" * 16}).status_code == 400
    assert own.post("/season/own/back", {**fields, "at": "2020"}).status_code == 400
    assert [own.post("/season/own/back", fields).status_code for _ in range(2)] == [303, 303]
    with open_book(own.desk.book) as book:
        assert find_member(book, "imka").file == before
        kept = [c for c in changes(book, "athlete", own.numbers["Imka"]) if c.field == "file"]
    assert len(kept) == 2
    assert "Take in" in page(own, "/season/own").text


def test_figures_that_changed_meanwhile_are_not_taken_in(own: Asked) -> None:
    fields = form(page(own, "/season/own").text)
    right(own, 5, r0="3.33")
    answer = own.post("/season/own", fields)
    assert answer.status_code == 400
    assert "changed meanwhile" in said(answer.text)


def test_too_few_runs_say_what_is_needed(own: Asked) -> None:
    answer = own.get("/season/own", params={"a": own.numbers["Runa"]})
    assert "12 measured attempts (0 so far)" in said(answer.text)
    assert own.post("/season/own", {"a": str(own.numbers["Runa"]), "was": "x"}).status_code == 400
