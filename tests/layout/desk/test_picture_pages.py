"""Picture's answers without a browser: policy, refusals, what is kept, and that no video stays."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout.book.erase import erase
from layout.book.people import add_name, members, numbered
from layout.book.pictures import pictures
from layout.book.store import open_book
from layout.desk.guard import MOST_FILM, POLICY
from layout.picture import film as cutting
from layout.picture.points import read_points, written
from layout.words.faults import refuse
from tests.layout.book.book_cases import every_byte
from tests.layout.desk.desks import OWN, Asked, asked
from tests.layout.picture.shots import film
from tests.strategies import CLUB_FOLDER

POINTS = written(read_points(CLUB_FOLDER / "imka-step.csv").frames[0])
DRILL = {"d": "short-triple-jump", "at": "step-touchdown"}
FILM = {**OWN, "content-type": "application/octet-stream"}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    with asked(tmp_path_factory.mktemp("desk")) as made:
        yield made


def sent(desk: Asked, address: str = "/measure", **more: str) -> Any:
    fields = {"a": str(desk.numbers["Imka"]), **DRILL, "points": POINTS, "on": "2026-05-02", **more}
    return desk.post(address, fields)


def told(answer: Any) -> list[str]:
    """Why it was not done."""
    assert answer.status_code == 200
    found = answer.json()
    assert found["state"] == "failed"
    return list(found["why"])


def test_only_this_page_may_show_a_file_of_the_coachs(desk: Asked) -> None:
    found = desk.get("/picture").headers["content-security-policy"]
    assert found != POLICY
    assert found.replace(" blob:", "").replace("; media-src", "", 1) == POLICY
    assert "unsafe" not in found
    assert "http" not in found
    for address in ("/", "/club", "/picture/two?one=1&two=2", "/picture.js"):
        assert desk.get(address).headers["content-security-policy"] == POLICY


def test_the_figures_are_those_of_the_command(desk: Asked) -> None:
    found = sent(desk).json()
    assert found["state"] == "ok"
    text = found["html"].replace("\u00a0", " ")
    assert "34.7 cm ± 3.4" in text
    assert "camera tilted 1.4°" in text
    assert len(found["over"]) == 16
    assert "stop at once on any pain" in text


@pytest.mark.parametrize("zero", ["board", "start", "pit"])
def test_own_marks_are_as_the_card_reads_them_from_any_zero(desk: Asked, zero: str) -> None:
    asked_for = f"?a={desk.numbers['Imka']}&d=short-triple-jump&zero={zero}"
    page = desk.get(f"/picture{asked_for}").text
    found = re.search('data-marks="([^"]+)"', page)
    assert found is not None
    marks = [float(m) for m in found[1].split()]
    apart = [abs(b - a) for a, b in pairwise(marks)]
    board = desk.get(f"/picture?a={desk.numbers['Imka']}&d=short-triple-jump").text
    first = [float(m) for m in re.search('data-marks="([^"]+)"', board)[1].split()]  # type: ignore[index]
    # From the pit the card walks the other way.
    assert sorted(apart) == pytest.approx(sorted(b - a for a, b in pairwise(first)), abs=0.0101)
    if zero == "start":
        card = desk.get(f"/set-out{asked_for}").text
        assert all(f"{m:.2f}\u00a0m" in card or f"{m:.2f} m" in card for m in marks)


@pytest.mark.parametrize(("more", "rule"), [
    ({"points": ""}, "points: at least hip, both knees and a scale needed"),
    ({"points": "point;x;y\nhip;1;2\n"}, "near knee is missing"),
    ({"at": "somewhen"}, "at: must be one of hop touchdown"),
    ({"a": ""}, "athlete: is needed"),
    ({"a": "99"}, "athlete: is not in this book any more"),
    ({"events": "down 1 0.03;down 2 0.03", "slower": "1"}, "comes down twice running"),
    ({"events": "sideways 1 0.03", "slower": "1"}, "frames: cannot be read"),
    ({"events": "down 1 0.03;off 1.2 0.03", "slower": "0.1"}, "slower: must be"),
    ({"on": "2999-01-01"}, "day: must be a day from 1900 to today"),
    ({"more": "1"}, "address: has a part that is not known"),
])  # fmt: skip
def test_what_is_wrong_is_told_beside_the_points(
    desk: Asked, more: dict[str, str], rule: str
) -> None:
    said = told(sent(desk, **more))
    assert any(rule in line for line in said), said
    assert not any("line " in line or "Traceback" in line for line in said)


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(points=st.text(max_size=300) | st.binary(max_size=200).map(lambda b: POINTS + b.decode("latin-1")),
       events=st.text("down of;0123456789. -", max_size=40), at=st.text(max_size=20))  # fmt: skip
def test_nothing_that_is_sent_is_a_fault_of_the_program(
    desk: Asked, points: str, events: str, at: str
) -> None:
    found = sent(desk, points=points, events=events, at=at, slower="1")
    assert found.status_code == 200
    assert "fault of the program" not in found.text


def test_times_come_only_where_it_is_said_how_it_was_filmed(desk: Asked) -> None:
    events = "down 1.000000 0.033333;off 1.200000 0.033333"
    assert "contact time" not in sent(desk, events=events).json()["html"]
    text = sent(desk, events=events, slower="1").json()["html"]
    assert "0.200 s ±\u00a00.033" in text
    text = sent(desk, events=events, slower="8").json()["html"]
    assert "0.025 s ±\u00a00.004" in text


def test_kept_once_with_its_time_and_gone_with_its_athlete(tmp_path: Path) -> None:
    with asked(tmp_path) as desk:
        events = {"events": "down 1.0 0.02;off 1.2 0.02", "slower": "1"}
        keep = {"kind": "competition", "note": "zebrafish", **events}
        assert "is kept" in sent(desk, "/picture/keep", **keep).json()["told"]
        assert "in the book already" in sent(desk, "/picture/keep", **keep).json()["told"]
        said = told(sent(desk, "/picture/keep", d="", kind="training"))
        assert said == ["drill: is needed in training; in competition it may be left out"]
        assert told(sent(desk, "/picture/keep", kind="fun"))
        late = told(sent(desk, "/picture/keep", kind="training", on="2999-01-01"))
        assert late == ["on: must be a day from 1900 to today, got 2999-01-01"]
        with open_book(desk.desk.book) as book:
            (kept,) = pictures(book)
            assert kept.measures["contact_time"] == pytest.approx((0.2, 0.02))
            assert kept.measures["knee_gap"][0] == pytest.approx(0.347, abs=0.001)
            assert kept.points == POINTS
            assert b"zebrafish" in every_byte(tmp_path)
            assert erase(book, numbered(members(book), kept.athlete)).pictures == 1
        assert b"zebrafish" not in every_byte(tmp_path)


def test_two_pictures_and_what_cannot_be_compared(tmp_path: Path) -> None:
    with asked(tmp_path) as desk:
        for more in ({"on": "2026-05-02"}, {"on": "2026-05-03"}, {"at": "jump-touchdown"}):
            assert sent(desk, "/picture/keep", kind="competition", **more).json()["state"] == "ok"
        found = desk.get("/picture/two?one=1&two=2")
        assert found.status_code == 200
        assert found.text.count("within margin") >= 10
        for query, rule in (
            ("one=1&two=1", "another picture than the first"), ("one=1&two=3", "the same instant"),
            ("one=1&two=9", "no picture of this number"), ("one=1", "two: must be"), ("", "one: must be"),
        ):  # fmt: skip
            refused = desk.get(f"/picture/two?{query}")
            assert refused.status_code == 400
            assert rule in refused.text
        number = str(desk.numbers["Imka"])
        assert desk.post("/picture/strike", {"a": "1", "picture": "1"}).status_code == 400
        struck = desk.post("/picture/strike", {"a": number, "picture": "1"})
        assert (struck.status_code, struck.headers["location"]) == (
            303,
            f"/picture?a={number}#kept",
        )
        assert desk.post("/picture/strike", {"a": number, "picture": "1"}).status_code == 400
        assert desk.get("/picture/two?one=1&two=2").status_code == 400


def test_an_athlete_of_whom_only_the_name_is_known(tmp_path: Path) -> None:
    with asked(tmp_path) as desk:
        with open_book(desk.desk.book) as book:
            number, _ = add_name(book, "<b>Bo</b>")
        page = desk.get(f"/picture?a={number}&d=short-triple-jump")
        assert page.status_code == 200
        assert "<b>Bo" not in page.text
        assert "only the name is known" in page.text
        assert "only the name is known" in told(sent(desk, a=str(number)))[0]


# --- a video that is handed over ----------------------------------------------------------------------


def test_a_video_has_no_name_on_this_machine_and_is_gone(
    desk: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("av")
    film(tmp_path / "a.mp4", 30, 20)
    data = (tmp_path / "a.mp4").read_bytes()
    folder = tmp_path / "tmp"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    seen: list[list[str]] = []
    plain = cutting.cut

    def watched(file: Any, at: float, count: int) -> Any:
        seen.append([p.name for p in folder.iterdir()])
        assert file.read() == data
        file.seek(0)
        return plain(file, at, count)

    monkeypatch.setattr(cutting, "cut", watched)
    found = desk.client.post("/frame?from=0.1&count=3", content=data, headers=FILM)
    assert found.status_code == 200
    assert found.headers["content-type"] == "application/octet-stream"
    assert found.content.count(b"\xff\xd8\xff") == 3
    monkeypatch.setattr(cutting, "cut", lambda *_: (_ for _ in ()).throw(refuse("video", "no")))
    assert (
        desk.client.post("/frame?from=0&count=3", content=data, headers=FILM).json()["why"] == "no"
    )
    assert seen == [[]]
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize(("headers", "query", "code"), [
    ({**OWN, "content-type": "application/x-www-form-urlencoded"}, "from=0&count=1", 415),
    ({**FILM, "content-length": str(MOST_FILM + 1)}, "from=0&count=1", 413),
    ({**FILM, "content-length": "many"}, "from=0&count=1", 413),
    ({**FILM, "origin": "http://example.invalid"}, "from=0&count=1", 403),
    ({**FILM, "sec-fetch-site": "same-site"}, "from=0&count=1", 403),
])  # fmt: skip
def test_who_may_hand_a_video_over(
    desk: Asked, headers: dict[str, str], query: str, code: int
) -> None:
    found = desk.client.post(f"/frame?{query}", content=b"x", headers=headers)
    assert found.status_code == code


def test_a_video_without_a_length_and_one_that_is_none(desk: Asked) -> None:
    def endless() -> Iterator[bytes]:
        yield b"x"

    found = desk.client.post("/frame?from=0&count=1", content=endless(), headers=FILM)
    assert found.status_code == 413
    for query in ("from=0&count=1", "from=x&count=1", "from=0&count=99", ""):
        found = desk.client.post(f"/frame?{query}", content=b"x" * 100, headers=FILM)
        assert (found.status_code, found.json()["state"]) == (200, "failed")
