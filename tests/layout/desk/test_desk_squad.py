"""Squad: what is shared out is what the command shares out; long work goes on, stops and is found again."""

from __future__ import annotations

import datetime
import json
import re
import shutil
import time
from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from layout.book.own import Own
from layout.book.people import add_name, keep_text, members
from layout.book.store import open_book
from layout.catalogue.club import club_files
from layout.cli import main
from layout.desk.kept import keep, kept_of, place_of
from layout.desk.page_squad import resume
from layout.desk.roll import MOST_HERE, Roll, rolled
from layout.desk.shared import crew_of, shared
from layout.plan.drill import Choices, catalogue
from layout.rules.cautions import PAIN
from layout.squad.batch import no_marks, setout_json
from layout.words.faults import BadInput
from tests.browser import PATIENCE
from tests.layout.desk.desks import Asked, asked, halted
from tests.layout.desk.test_desk_pages import Words, said
from tests.layout.phone.phone_pages import NAMES

TODAY = datetime.date.today()
VENUE = "marram-point"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    with asked(tmp_path_factory.mktemp("desk")) as made:
        yield made


@pytest.fixture
def fresh(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Asked]:
    """A desk of its own, with no motion at hand but those that are shipped."""
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "cache"))
    with asked(tmp_path) as made:
        yield made


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's athletes as the command takes them."""
    made = tmp_path_factory.mktemp("squad")
    for name, text in club_files().items():
        (made / f"{name}.toml").write_text(text, "utf-8")
    return made


def everybody(desk: Asked) -> dict[str, str]:
    return {"who": ",".join(map(str, desk.numbers.values()))}


def seen(desk: Asked, **more: str) -> Any:
    return desk.get("/squad", params={"v": "club", **everybody(desk), **more})


def words(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace("\u00a0", " "))


@pytest.mark.parametrize("slug", catalogue())
@pytest.mark.parametrize("more", [(), ("--tape", "ft", "--sets", "2")])
def test_the_marks_are_those_of_the_command(
    desk: Asked, folder: Path, slug: str, more: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    feet = "ft" in more
    venue = "track" if catalogue()[slug].ends != "sand" and not feet else VENUE
    code = main(["squad", str(folder), slug, "--venue", venue, *more, "--json"])
    told = json.loads(capsys.readouterr().out)
    assert code == 0
    wish = {"d": slug, "v": venue, **({"tape": "ft", "sets": "2"} if feet else {})}
    with open_book(desk.desk.book) as book:
        everyone = members(book)
    roll = rolled({**everybody(desk), **wish})
    out = shared(roll, crew_of(roll, everyone, TODAY), Own(), TODAY, feet=True)
    assert out.laid is not None
    assert json.loads(setout_json(out.laid)) == told
    page = words(said(seen(desk, feet="1", **wish).text))
    at = page.index("Tape card")
    for row in told["stations"]:
        at = page.index(words(f"{row['shown']} "), at) + 1
        assert words(row["what"]) in page[at:]
    for item in told["sets"]:
        for who in item["athletes"]:
            assert f"Jumped : {who['name']}" in page
    for one in told["no_marks"]:
        assert f"No marks for {one['name']}" in page or one["name"] in page


def test_who_must_not_jump_the_drill_is_named_with_the_one_reason(desk: Asked) -> None:
    with open_book(desk.desk.book) as book:
        everyone = members(book)
    roll = rolled({**everybody(desk), "d": "full-triple-jump"})
    crew = crew_of(roll, everyone, TODAY)
    drill = catalogue()["full-triple-jump"]
    page = words(said(seen(desk, d="full-triple-jump").text))
    shut = 0
    for member in crew.members:
        why = no_marks(member.athlete, drill, TODAY, Choices())
        row = f"Jumped : {member.athlete.name}"
        assert (row in page) == (why is None)
        if why is not None:
            shut += 1
            assert re.search(f"No marks for [^:]*{member.athlete.name}", page)
    assert shut
    assert f"open to {len(crew.members) - shut} of {len(crew.members)} here" in page


def test_a_drill_closed_to_all_says_so_and_lays_nothing(desk: Asked) -> None:
    page = desk.get("/squad", params={"who": desk.numbers["Runa"], "d": "full-triple-jump"})
    assert page.status_code == 200
    text = said(page.text)
    assert "No marks can be laid." in text
    assert "No marks for Runa : " in text or "No marks for Runa:" in text
    assert "closed to all here" in text
    paper = desk.get(
        "/squad/set-out.pdf", params={"who": desk.numbers["Runa"], "d": "full-triple-jump"}
    )
    assert paper.status_code == 400
    assert "no marks for Runa" in said(paper.text)


def test_a_form_without_script_leads_to_an_address_that_says_it(desk: Asked) -> None:
    one, two = sorted(desk.numbers.values())[:2]
    given = {f"who-{one}": "on", f"who-{two}": "on", "d-hop-step-sand": "on", "v": VENUE}
    found = desk.get("/squad", params={**given, "tape": "ft"})
    assert found.status_code == 303
    assert found.headers["location"] == (
        f"/squad?who={one},{two}&d=hop-step-sand&v={VENUE}&tape=ft"
    )


def test_who_is_here_is_kept_for_the_day_and_no_longer(fresh: Asked) -> None:
    assert fresh.get("/squad").status_code == 200
    address = f"/squad?who={fresh.numbers['Imka']},{fresh.numbers['Sefa']}&d=hop-step-sand"
    assert fresh.get(address).status_code == 200
    back = fresh.get("/squad")
    assert (back.status_code, back.headers["location"]) == (303, address)
    place = place_of(fresh.desk.book)
    assert "Imka" not in place.read_text()
    keep(fresh.desk.book, replace(kept_of(fresh.desk.book), day="2020-01-01"))
    assert fresh.get("/squad").status_code == 200
    for broken in ("", "[", "[]", '{"here": {"who": "x"}}', '{"here": 3}'):
        place.write_text(broken)
        assert fresh.get("/squad").status_code == 200


@pytest.mark.parametrize(
    ("asked_for", "told"),
    [
        ("who=x", "athlete: must be a whole number"),
        ("who=" + ",".join(map(str, range(1, MOST_HERE + 2))), f"who: at most {MOST_HERE}"),
        ("d=no-such-drill", "is not in the catalogue"),
        ("d=hop-step-sand&v=nowhere", "venue: must be one of"),
        ("sets=0", "sets: must be"),
        ("tape=yards", "tape: must be one of"),
        ("within=900", "tolerance: must be"),
        ("nonsense=1", "address: has a part that is not known"),
    ],
)
def test_what_cannot_be_used_is_refused_in_a_line(desk: Asked, asked_for: str, told: str) -> None:
    found = desk.get(f"/squad?{asked_for}")
    assert found.status_code == 400
    assert told in said(found.text)


def test_who_cannot_be_planned_is_told_and_the_others_are_laid(fresh: Asked) -> None:
    with open_book(fresh.desk.book) as book:
        number, _ = add_name(book, "Only <b>Name")
    here = f"{fresh.numbers['Imka']},{number},999"
    page = fresh.get("/squad", params={"who": here, "d": "hop-step-sand"})
    assert page.status_code == 200
    text = said(page.text)
    assert "Only <b>Name: athlete: only the name is known" in text
    assert "is not in this book any more, got 999" in text
    assert "Jumped : Imka" in text
    assert "<b>Name" not in page.text


def test_pain_of_today_is_said_of_whoever_is_here(fresh: Asked) -> None:
    wish = {"a": str(fresh.numbers["Tevin"]), "d": "hop-step-sand", "went": "pain", "once": "x"}
    assert fresh.post("/jumped", wish).status_code in (200, 303)
    text = said(seen(fresh, d="hop-step-sand").text)
    assert f"Tevin: {PAIN}" in text
    assert text.count("Pain today.") == 1
    others = {"who": str(fresh.numbers["Imka"]), "d": "hop-step-sand"}
    assert PAIN not in said(fresh.get("/squad", params=others).text)


@pytest.mark.parametrize("name", NAMES)
def test_any_name_is_shown_as_it_is_and_runs_nothing(fresh: Asked, name: str) -> None:
    text = club_files()["imka"].replace('name = "Imka"', f"name = {json.dumps(name)}")
    with open_book(fresh.desk.book) as book:
        try:
            keep_text(book, text)
        except BadInput:
            pytest.skip("no name of an athlete")
        number = next(m.id for m in members(book) if m.name not in fresh.numbers)
    page = fresh.get("/squad", params={"who": number, "d": "hop-step-sand"})
    assert page.status_code == 200
    tags = [tag for tag, _ in Words(page.text).tags]
    other = fresh.get("/squad", params={"who": fresh.numbers["Imka"], "d": "hop-step-sand"})
    assert sorted(tags) == sorted(tag for tag, _ in Words(other.text).tags)


def test_a_drill_with_no_place_here_is_told_once(desk: Asked) -> None:
    text = said(seen(desk, d="hop-step-sand", v="track").text)
    assert text.count("ends in sand and this venue has no pit") == 1


def test_strides_are_of_the_run_up_and_leave_a_drill_from_standing_alone(desk: Asked) -> None:
    assert "2 strides" in said(seen(desk, d="hop-step-sand", strides="2").text)
    text = said(seen(desk, d="standing-triple-jump", strides="2").text)
    assert "this drill starts from standing" not in text
    assert "Tape card" in text


def test_hurdles_and_hops_are_changed_for_all_and_go_along_to_set_out(desk: Asked) -> None:
    found = seen(desk, d="two-hops-step-beside", hurdle="0.15", hops="high", board="7")
    text = said(found.text)
    assert "15 cm hurdle" in text
    assert "23 cm hurdle" not in text
    assert "hops=high&amp;board=7.0&amp;hurdle=0.15" in found.text
    assert seen(desk, d="hop-step-sand", hurdle="0.15").status_code == 200
    assert "hurdle: must be" in said(seen(desk, d="hop-step-sand", hurdle="9").text)


def test_the_set_out_prints_at_an_exact_scale(desk: Asked) -> None:
    made = desk.get(
        "/squad/set-out.pdf", params={**everybody(desk), "d": "hop-step-sand", "v": VENUE}
    )
    assert made.status_code == 200
    text = PdfReader(BytesIO(made.content)).pages[0].extract_text()
    assert "1:50" in text or "1:100" in text
    assert "Squad of 6" in text


# --- long work


def told(desk: Asked, wanted: str) -> str:
    """What the page says of the round, once it is in a state."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        found = desk.get("/squad/progress").json()
        if found["state"] == wanted:
            return said(found["html"])
        time.sleep(0.1)
    raise AssertionError(found)


def begun(desk: Asked, kind: str, names: tuple[str, ...], drills: str) -> dict[str, str]:
    wish = {"who": ",".join(str(desk.numbers[n]) for n in names), "d": drills}
    found = desk.post("/squad/work", {**wish, "kind": kind})
    assert found.status_code == 303
    assert found.headers["location"].endswith("#work")
    return wish


def texts_of(data: bytes) -> list[str]:
    return [words(page.extract_text()) for page in PdfReader(BytesIO(data)).pages]


def test_the_sheets_are_those_of_the_command(fresh: Asked, folder: Path, tmp_path: Path) -> None:
    begun(fresh, "sheets", ("Tevin", "Runa"), "hop-step-sand,full-triple-jump")
    text = told(fresh, "done")
    assert "Sheets for 2 athletes" in text
    made = fresh.get("/squad/sheets.pdf")
    assert made.status_code == 200
    some = tmp_path / "some"
    some.mkdir()
    for name in ("tevin", "runa"):
        shutil.copy(folder / f"{name}.toml", some)
    words_ = [
        "handout",
        str(some),
        "hop-step-sand,full-triple-jump",
        "--to",
        str(tmp_path / "a.pdf"),
    ]
    assert main([*words_, "--cores", "1"]) == 0
    assert texts_of(made.content) == texts_of((tmp_path / "a.pdf").read_bytes())
    # Nothing is left to go on with.
    assert kept_of(fresh.desk.book).round is None


def test_sheets_of_before_a_change_are_not_handed_out(fresh: Asked) -> None:
    begun(fresh, "sheets", ("Tevin",), "hop-step-sand")
    told(fresh, "done")
    with open_book(fresh.desk.book) as book:
        keep_text(book, club_files()["tevin"].replace("mass = 79.0", "mass = 81.0"))
    text = told(fresh, "stale")
    assert "has changed since." in text
    assert "Do it again" in text
    found = fresh.get("/squad/sheets.pdf")
    assert found.status_code == 400
    assert "make them again" in said(found.text)
    begun(fresh, "sheets", ("Tevin",), "hop-step-sand")
    told(fresh, "done")
    assert fresh.get("/squad/sheets.pdf").status_code == 200


def test_a_round_stops_is_kept_and_goes_on_where_it_was(fresh: Asked, tmp_path: Path) -> None:
    names = ("Imka", "Sefa", "Tevin", "Odalys")
    wish = begun(fresh, "figures", names, "hop-step-sand")
    end = time.monotonic() + PATIENCE
    while fresh.desk.worker.round()[1].done < 1 and time.monotonic() < end:  # type: ignore[index]
        time.sleep(0.05)
    with halted(fresh.desk):
        assert fresh.post("/squad/stop", wish).status_code == 303
    text = told(fresh, "stopped")
    assert "what is worked out is kept" in text
    assert "Go on" in text
    before = {p.name: p.stat().st_mtime_ns for p in (tmp_path / "cache").glob("[!.]*.json")}
    assert before
    # A desk opened again says that it was stopped, and does not begin by itself.
    fresh.desk.worker.close()
    fresh.desk.worker = type(fresh.desk.worker)()
    resume(fresh.desk)
    assert fresh.desk.worker.round() is None
    assert "were stopped before they were done" in said(fresh.get("/squad", params=wish).text)
    begun(fresh, "figures", names, "hop-step-sand")
    told(fresh, "done")
    after = {p.name: p.stat().st_mtime_ns for p in (tmp_path / "cache").glob("[!.]*.json")}
    motions = {n: t for n, t in before.items() if not n.startswith("desk-")}
    assert {n: after[n] for n in motions} == motions
    assert len(after) > len(before)


def test_a_desk_opened_again_goes_on_by_itself(fresh: Asked) -> None:
    wish = begun(fresh, "figures", ("Imka", "Tevin"), "hop-step-sand")
    fresh.desk.worker.close()
    fresh.desk.worker = type(fresh.desk.worker)()
    assert fresh.desk.worker.round() is None
    assert fresh.get("/squad", params=wish).status_code == 200
    assert "worked out" in told(fresh, "done")


def test_the_figure_on_set_out_goes_first_and_the_round_says_that_it_waits(
    fresh: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard: list[str] = []
    worker = fresh.desk.worker
    put, hear = worker._put, worker._hear
    monkeypatch.setattr(
        worker, "_put", lambda key, work: heard.append(work.state) or put(key, work)
    )
    monkeypatch.setattr(
        worker, "_hear", lambda mark, told: heard.append("piece") or hear(mark, told)
    )
    begun(fresh, "figures", ("Imka", "Sefa", "Odalys", "Tevin"), "hop-step-sand")
    end = time.monotonic() + PATIENCE
    while not fresh.desk.worker.round()[1].done:  # type: ignore[index]
        assert time.monotonic() < end
        time.sleep(0.02)  # the next is being worked out now
    asked_for = {"a": str(fresh.numbers["Tevin"]), "d": "hop-step-sand", "strides": "3"}
    assert fresh.post("/solve", asked_for).json()["state"] == "working"
    assert "waits until the figure on Set out" in said(fresh.get("/squad/progress").json()["html"])
    end = time.monotonic() + PATIENCE
    while fresh.get("/figure", params=asked_for).json()["state"] == "working":
        assert time.monotonic() < end
        time.sleep(0.1)
    assert fresh.get("/figure", params=asked_for).json()["state"] == "solved"
    while "solved" not in heard:  # its motion is on the disk a moment before it is heard of
        assert time.monotonic() < end
        time.sleep(0.02)
    # At most a piece that was done already and the one that was being finished came in between.
    between = heard[heard.index("working") : heard.index("solved")]
    assert between.count("piece") <= 2
    assert "worked out" in told(fresh, "done")
    assert heard.count("piece") > 4


def test_a_round_that_is_begun_does_not_take_the_figure_from_who_waits(fresh: Asked) -> None:
    asked_for = {"a": str(fresh.numbers["Sefa"]), "d": "two-hops-step-track", "strides": "5"}
    assert fresh.post("/solve", asked_for).json()["state"] == "working"
    end = time.monotonic() + PATIENCE
    while fresh.get("/figure", params=asked_for).json().get("done") == 0:
        assert time.monotonic() < end
        time.sleep(0.02)
    begun(fresh, "figures", ("Imka",), "two-hops-step-sand")
    end = time.monotonic() + PATIENCE
    while (state := fresh.get("/figure", params=asked_for).json()["state"]) == "working":
        assert time.monotonic() < end
        time.sleep(0.1)
    assert state == "solved"
    told(fresh, "done")


def test_in_a_round_each_drill_takes_what_it_has_a_place_for(fresh: Asked) -> None:
    wish = {"who": str(fresh.numbers["Tevin"]), "d": "standing-triple-jump,hop-step-sand"}
    fresh.post("/squad/work", {**wish, "strides": "3", "hurdle": "0.15", "kind": "figures"})
    assert "Could not be done" not in told(fresh, "done")


def test_a_worker_ended_from_outside_says_stopped_and_goes_on_when_asked(fresh: Asked) -> None:
    begun(fresh, "figures", ("Imka", "Sefa"), "two-hops-step-sand")
    told(fresh, "working")
    process = fresh.desk.worker._process
    assert process is not None
    process.kill()
    told(fresh, "stopped")
    begun(fresh, "figures", ("Imka", "Sefa"), "two-hops-step-sand")
    told(fresh, "done")


def test_who_has_left_the_book_does_not_keep_the_others_waiting(fresh: Asked) -> None:
    roll = Roll(who=(998, 999), d=("hop-step-sand",))
    keep(fresh.desk.book, replace(kept_of(fresh.desk.book), kind="figures", round=roll))
    assert fresh.get("/squad", params=everybody(fresh)).status_code == 200
    assert fresh.desk.worker.round() is None
    found = fresh.post("/squad/work", {"who": "999", "d": "hop-step-sand", "kind": "sheets"})
    assert found.status_code == 400
    assert "somebody must be here" in said(found.text)


def test_sheets_that_are_not_made_are_refused(fresh: Asked) -> None:
    found = fresh.get("/squad/sheets.pdf")
    assert found.status_code == 400
    assert "sheets: are not made yet" in said(found.text)
    found = fresh.post("/squad/work", {"who": "1", "d": "hop-step-sand", "kind": "all"})
    assert found.status_code == 400


def test_one_round_does_not_push_another_aside_without_a_word(fresh: Asked) -> None:
    begun(fresh, "figures", ("Imka", "Sefa"), "two-hops-step-sand")
    wish = {"who": str(fresh.numbers["Tevin"]), "d": "hop-step-sand", "kind": "sheets"}
    found = fresh.post("/squad/work", wish)
    assert found.status_code == 400
    assert "figures for 2 athletes, Two hops and a step to the sand are under way" in said(
        found.text
    )
    assert "Make the sheets" not in said(
        fresh.get("/squad", params={**everybody(fresh), "d": "hop-step-sand"}).text
    )
    told(fresh, "done")
    assert fresh.post("/squad/work", wish).status_code == 303
    told(fresh, "done")
