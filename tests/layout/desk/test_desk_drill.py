"""A drill of the club's own by form: its demand is computed, and it is found wherever drills are."""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.book.own import changes_of, own_of, put_own, text_of
from layout.book.store import create, open_book
from layout.catalogue.club import club_files
from layout.cli import main
from layout.desk.drill_form import NAMES, keep, seen, text_with, values_of
from layout.plan.drill import catalogue, drills_from
from layout.words.faults import BadInput
from tests.layout.book.test_book_own import RHYTHM
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.test_desk_club import form_of
from tests.layout.desk.test_desk_pages import Words, said

DOSE = {f"{what}-{level}": n for what, n in (("sets", "2"), ("runs", "3"))
        for level in ("beginner", "intermediate", "advanced")}  # fmt: skip
FORM = {
    "title": "Dünen rhythm", "job": "Keeps the step long.", "m0": "hop", "a0": "low", "m1": "step",
    "cycles": "2", "run": "6", "lead": "strong", "ends": "track", "finish": "run on",
    "points": "Tall at the step.\n\n  Hands  quiet. ", "faults": "Short step -> hurried -> wait.", **DOSE,
}  # fmt: skip


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        yield made


def marked(page: str) -> set[str]:
    return {str(a["id"])[2:] for t, a in Words(page).tags if str(a.get("id", "")).startswith("e-")}


def put_in(page: str) -> dict[str, str]:
    """What a browser would send back of the drill's form."""
    return form_of("<form" + page.partition('<form class="drill"')[2])


def test_a_drill_by_form_has_the_demand_of_its_run_and_is_closed_by_it(desk: Asked) -> None:
    assert desk.post("/club/drill", FORM).status_code == 303
    made = desk.own().drills["dunen-rhythm"]
    assert (made.moves, made.arcs, made.cycles) == (("hop", "step"), ("low", "natural"), 2)
    assert (made.youngest, made.level, made.intensity) == (13, "intermediate", "high")
    assert made.points == ("Tall at the step.", "Hands quiet.")
    assert "high, from 13 years" in said(desk.get("/club").text)
    tevin = desk.get(f"/?a={desk.numbers['Tevin']}").text
    assert "Dünen rhythm" in tevin.partition("Closed to")[0]
    runa = desk.get(f"/?a={desk.numbers['Runa']}").text  # 12 years, a beginner
    assert "Dünen rhythm" in runa.partition("Closed to")[2]
    assert desk.set_out("Tevin", "dunen-rhythm").status_code == 200
    squad = desk.get("/squad?who=" + ",".join(map(str, desk.numbers.values())))
    assert "d-dunen-rhythm" in squad.text
    desk.post("/club/take-away", {"kind": "drill", "name": "dunen-rhythm"})
    assert desk.own().drills == {}


@pytest.mark.parametrize(
    ("part", "field"),
    [
        ({"youngest": "11"}, "youngest"),
        ({"level": "beginner"}, "level"), ({"intensity": "low"}, "intensity"),
        ({"ends": ""}, "ends"), ({"run": ""}, "run"), ({"m0": "", "m1": ""}, "phases"),
        ({"m0": "jump"}, "phases"), ({"m1": "jump", "ends": "sand"}, "cycles"), ({"h1": "on"}, "hurdle"),
        ({"place": "over"}, "hurdle"), ({"runs-beginner": ""}, "dose"), ({"points": ""}, "points"),
        ({"faults": "x" * 200}, "faults"), ({"title": ""}, "title"), ({"job": ""}, "job"),
        ({"title": "HOP AND STEP to the sand"}, "title"), ({"title": "Hop step sand"}, "title"),
        ({"cycles": "13"}, "cycles"), ({"lead": "left"}, "lead"), ({"a0": "far"}, "phases"),
    ],
)  # fmt: skip
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_kept(
    desk: Asked, part: dict[str, str], field: str
) -> None:
    found = desk.post("/club/drill", {**FORM, **part})
    assert found.status_code == 400
    assert marked(found.text) == {field}, said(found.text)
    assert "1 field to mend" in said(found.text)
    assert desk.own().drills == {}
    again = put_in(found.text)  # what was typed is still there
    assert again["m1"] == {**FORM, **part}["m1"]


def test_more_care_may_be_asked_for(desk: Asked) -> None:
    more = {"youngest": "16", "level": "advanced", "intensity": "very high"}
    assert desk.post("/club/drill", {**FORM, **more}).status_code == 303
    made = desk.own().drills["dunen-rhythm"]
    assert (made.youngest, made.level, made.intensity) == (16, "advanced", "very high")
    assert {n: values_of(made)[n] for n in more} == more


def test_what_the_run_asks_is_told_as_it_is_put_in(desk: Asked) -> None:
    whole = {**FORM, "m2": "jump", "cycles": "1", "ends": "sand", "look": "1"}
    shown = said(desk.post("/club/drill", whole).text)
    assert (
        "From 16 years (its run holds hop, step and jump from a run-up), intermediate level"
        in shown
    )
    assert desk.own().drills == {}
    room = desk.post("/club/drill", {**FORM, "rows": "4", "more": "1"}).text
    assert "Phase 5" in room
    assert "Phase 6" not in room
    assert "Tall at the step." in room


def test_it_is_corrected_and_two_tabs_do_not_overwrite(desk: Asked) -> None:
    desk.post("/club/drill", FORM)
    page = desk.get("/club/drill?d=dunen-rhythm").text
    texts = {"points": "Tall at the step.", "faults": "Short step -> hurried -> wait."}
    form = {**put_in(page), **texts}
    assert (
        desk.post("/club/drill", {**form, "a1": "high", "title": "Dune rhythm"}).status_code == 303
    )
    made = desk.own().drills["dunen-rhythm"]
    assert (made.title, made.arcs, made.points) == (
        "Dune rhythm",
        ("low", "high"),
        ("Tall at the step.",),
    )
    late = desk.post("/club/drill", {**form, "a1": "low"})
    assert "was changed meanwhile" in said(late.text)
    other = desk.post("/club/drill", {**FORM, "title": "Dune  RHYTHM"})
    assert "is the name of a drill already" in said(other.text)
    assert desk.get("/club/drill?d=none").status_code == 400


def test_titles_that_make_the_same_short_name_are_both_kept(desk: Asked) -> None:
    for title in ("إيقاع", "خطوة"):
        assert desk.post("/club/drill", {**FORM, "title": title}).status_code == 303
    assert set(desk.own().drills) == {"own-drill", "own-drill-2"}


def test_it_is_kept_beside_what_a_hand_wrote(desk: Asked) -> None:
    text = RHYTHM.replace(
        'points = ["Runa: tall at the step."]', 'points = [\n  "Tall.",\n  "Long.",\n]'
    )
    with open_book(desk.desk.book) as book:
        put_own(book, changes_of(book, text))
        drill = own_of(book).drills["marram-rhythm"]
        assert text_with(text, "marram-rhythm", values_of(drill)) == text
        mine = {**values_of(drill), "points": "Tall.\nLonger.", "cycles": "2"}
        changed = text_with(text, "marram-rhythm", mine)
    assert "# low first" in changed
    assert changed.splitlines()[:10] == text.splitlines()[:10]
    table = tomllib.loads(changed)["drill"]["marram-rhythm"]
    assert (table["points"], table["cycles"]) == (["Tall.", "Longer."], 2)


@pytest.mark.parametrize("slug", catalogue())
def test_every_drill_that_ships_goes_through_the_form(slug: str) -> None:
    shipped = catalogue()[slug]
    text = text_with("", "mine", values_of(shipped))
    made = drills_from(tomllib.loads(text), "", text)["mine"]
    same = ("moves", "arcs", "cycles", "start", "lead", "ends", "finish", "board", "full", "hurdle", "dose",
            "points", "faults", "cautions", "level", "intensity", "job")  # fmt: skip
    assert [getattr(made, n) for n in same] == [getattr(shipped, n) for n in same]
    assert made.youngest >= shipped.demand().youngest
    assert made.strides_of(14) == shipped.strides_of(14)


def test_beginning_from_a_drill_brings_its_words_but_not_its_name(desk: Asked) -> None:
    page = desk.get("/club/drill?like=hop-step-sand").text
    assert "Hop low and fast, as if running on through the mark." in page
    assert put_in(page)["title"] == ""
    assert put_in(page)["m1"] == "step"
    assert (
        put_in(desk.get("/club/drill?like=hop-step-hold").text).get("youngest") is None
    )  # 10 there
    assert desk.get("/club/drill?like=nothing").status_code == 400


def test_its_file_is_what_the_command_line_takes(
    desk: Asked, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk.post("/club/drill", FORM)
    got = desk.get("/club/own.toml?kind=drill&name=dunen-rhythm")
    assert "dunen-rhythm.toml" in got.headers["content-disposition"]
    (tmp_path / "own.toml").write_bytes(got.content)
    (tmp_path / "tevin.toml").write_text(club_files()["tevin"], "utf-8")
    words = ["plan", str(tmp_path / "tevin.toml"), "dunen-rhythm", "--drill-file"]
    assert main([*words, str(tmp_path / "own.toml")]) == 0
    assert "Dünen rhythm" in capsys.readouterr().out
    with open_book(desk.desk.book) as book:
        assert text_of(book, "drill", "dunen-rhythm").encode() == got.content
    assert desk.get("/club/own.toml?kind=athlete&name=x").status_code == 400


odd = st.text(max_size=12) | st.sampled_from(
    ["hop", "jump", "over", "on", "3", "full", "-1", "99999999999"]
)


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(NAMES)), odd))
def test_no_form_is_too_odd(values: dict[str, str]) -> None:
    with tempfile.TemporaryDirectory() as name:
        path = Path(name, "a.book")
        create(path)
        with open_book(path) as book:
            for form in (values, {**FORM, **values}):
                try:
                    slug = keep(book, "", form)
                except BadInput as error:
                    seen(form, error.faults)
                    continue
                assert slug in own_of(book).drills
