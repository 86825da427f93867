"""Season: a page says what `phasemark book season` says of the same book, and every figure has its runs."""

from __future__ import annotations

import datetime
import html
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.book.people import find_member, keep_text, members
from layout.book.store import open_book
from layout.cli import main
from layout.desk.wanted import Look, looked
from layout.plan.venue import find_venue
from layout.season import words
from layout.season.season import season_of
from layout.training.block import block
from layout.training.rungs import ladder
from layout.words.dates import said_day
from layout.words.faults import BadInput
from layout.words.units import show_length
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.season_desks import UNTIL, Tables, named, page, season_of_club
from tests.layout.desk.test_desk_pages import Words, said
from tests.layout.phone.phone_pages import NAMES
from tests.layout.season.season_cases import put

ON = datetime.date.fromisoformat(UNTIL)


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


def told(desk: Asked, capsys: pytest.CaptureFixture[str], *more: str) -> Any:
    """What the command says of the same book."""
    assert (
        main(["book", "season", str(desk.desk.book), "imka", "--on", UNTIL, "--json", *more]) == 0
    )
    return json.loads(capsys.readouterr().out)


def cm(metres: float) -> str:
    return f"{round(100 * metres) + 0:+d} cm" if round(100 * metres) else "0 cm"


def test_measured_against_planned_is_what_the_command_tells(
    desk: Asked, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = Tables(page(desk).text).rows
    for drill in told(desk, capsys)["measured"]:
        for phase in [*drill["phases_m"], drill["total_m"]]:
            cells = [phase["name"], f"{phase['usual']:.2f} ± {100 * phase['sure']:.0f} cm"]
            if phase["planned"] is not None:
                cells += [show_length(phase["planned"], "cm", "bare"), cm(phase["off"])]
            elif drill["phases_m"][0]["planned"] is not None:
                cells += ["-", "-"]
            share = "" if phase["share"] is None else f"{100 * phase['share']:.1f} %"
            if phase["planned_share"] is not None:
                share += f" of {100 * phase['planned_share']:.1f}"
            assert [*cells, share] in rows


def test_weeks_figures_marks_and_rung_are_what_the_command_tells(
    desk: Asked, capsys: pytest.CaptureFixture[str]
) -> None:
    found, markup = told(desk, capsys), page(desk).text
    rows, text = Tables(markup).rows, said(markup)
    shown = [w for w in found["weeks"][-12:] if w["contacts"]]
    assert len(shown) > 4
    assert (
        rows[1][0] == said_day(found["weeks"][-1]["monday"])[4:]
    )  # the present one, though it is empty yet
    for week in shown:
        flag = " !" if week["notes"] else ""
        assert [
            said_day(week["monday"])[4:],
            f"{week['contacts']}{flag}",
            str(week["budget"]),
            str(week["hardest"]),
        ] in rows
        assert all(note["text"] in text for note in week["notes"])
    for figure in found["refit"]["parameters"]:
        label, factor, digits = words.NAMED[figure["name"]]
        row = next(r for r in rows if r[0] == label)
        default, margin = (f"{factor * figure[n]:.{digits}f}" for n in ("prior", "prior_sure"))
        assert row[1] == f"{default} ± {margin}"
        value, sure = (f"{factor * figure[n]:.{digits}f}" for n in ("value", "sure"))
        assert row[2] == (f"{value} ± {sure}" if figure["moved"] else "=")
    for spacing in found["spacing_m"]:
        for when in ("before", "after"):
            assert " + ".join(f"{d:.2f}" for d in spacing[when]) in text
            assert f"start {spacing[f'start_{when}']:.2f}" in text or not spacing["strides"]
    placed = ladder().find(found["ladder"]["rung"])
    assert f"{placed.title}, rung {placed.height} of 17 up the ladder" in text
    for reason in [*found["ladder"]["reasons"], *found["target_asks"]]:
        assert reason["text"] in text
    for line in [*found["ladder"]["seen"], *found["cautions"], found["best_split"]["text"]]:
        assert line in text


@pytest.mark.parametrize(
    "more", [{"sound": "loud"}, {"sound": "quiet", "hit": "9/10"}, {"pain": "yes"}]
)
def test_what_the_coach_saw_moves_the_rung_as_the_command_does(
    desk: Asked, capsys: pytest.CaptureFixture[str], more: dict[str, str]
) -> None:
    options = [w for n, v in more.items() for w in ([f"--{n}"] if n == "pain" else [f"--{n}", v])]
    found, text = told(desk, capsys, *options)["ladder"], said(page(desk, **more).text)
    assert f"{ladder().find(found['rung']).title}, rung" in text
    for reason in found["reasons"]:
        assert reason["text"] in text
    assert ("Set it out" in text) == (found["advice"] != "rest")


def test_feet_and_inches_are_the_commands(desk: Asked, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["book", "season", str(desk.desk.book), "imka", "--on", UNTIL, "--tape", "ft"]) == 0
    lines = capsys.readouterr().out.splitlines()
    usual = [row.split()[1:3] for row in lines if row.split()[:1] in (["hop"], ["step"], ["total"])]
    text = said(page(desk, tape="ft").text)
    assert len(usual) > 10
    for first, *_ in usual:
        assert first in text


def test_a_block_of_weeks_is_the_ladders(desk: Asked) -> None:
    today = datetime.date.today()
    with open_book(desk.desk.book) as book:
        season = season_of(book, find_member(book, "imka"), today, ladder(), find_venue("club"))
    assert season.placing is not None
    assert season.athlete is not None
    assert season.observed is not None
    done = (season.observed.sessions or 0) if season.placing.advice == "stay" else 0
    made = block(season.athlete, season.placing, ladder(), today, 3, (1, 4), done)
    text = said(
        desk.get(
            "/season", params={"a": desk.numbers["Imka"], "weeks": "3", "days": "tue,fri"}
        ).text
    )
    assert made.sessions
    for session in made.sessions:
        assert f"{session.contacts} contacts; {session.rest} h rest after" in text
        for part in session.parts:
            assert f"{part.rung.title}: {part.sets} x {part.runs}" in text
    assert f"{made.contacts} contacts in all" in text
    rest = desk.get("/season", params={"a": desk.numbers["Imka"], "pain": "yes"})
    assert "No sessions: rest comes first" in said(rest.text)


def test_weekdays_of_the_weeks_ahead_are_ticked(desk: Asked) -> None:
    who = {"a": str(desk.numbers["Imka"]), "until": ""}
    page = desk.get("/season", params=who).text
    assert page.count(" checked><span>") == 2  # Mon and Thu
    ticked = {**who, "weeks": "2", "on": "1", "on-tue": "on", "on-sat": "on"}
    found = desk.get("/season", params=ticked)
    assert found.status_code == 200
    block = said(found.text.partition('id="block"')[2])
    assert "Tue " in block
    assert "Sat " in block
    assert "Mon " not in block.partition("Plan these weeks")[0].partition(" On ")[0]
    assert "days=tue%2Csat" in found.text or "days=tue,sat" in found.text
    none = desk.get("/season", params={**who, "on": "1"})
    assert none.status_code == 400
    assert "Tick one day or more." in said(none.text)
    assert desk.get("/season", params={**who, "on": "1", "on-odd": "on"}).status_code == 400


def test_no_data_yet_is_a_page_that_helps(desk: Asked) -> None:
    answer = desk.get("/season", params={"a": desk.numbers["Runa"]})
    assert answer.status_code == 200
    text = said(answer.text)
    assert "Nothing put down yet" in text
    assert f'href="/?a={desk.numbers["Runa"]}#which"' in answer.text
    assert "Next rung" in text
    early = said(page(desk, until="2020-01-01").text)
    assert "The book has none before Wed 1 Jan 2020" in early
    assert "All of the season" in early


def test_everybody_in_short(own: Asked) -> None:
    today = datetime.date.today().isoformat()
    with open_book(own.desk.book) as book:
        row = {"day": today, "drill": "hop-step-sand", "phases": "hop step", "lengths": [2.0, 1.8]}
        put(book, own.numbers["Sefa"], [{**row, "note": "pain"}])
    answer = own.get("/season")
    names = [n for n in said(answer.text).split() if n in own.numbers]
    assert sorted(names) == sorted(own.numbers)
    assert names[0] == "Sefa"
    assert names[1] == "Imka"
    text = said(own.get("/season", params={"a": own.numbers["Sefa"]}).text)
    assert f"Pain was put down on {said_day(str(today))}" in text
    assert "Set it out" not in text


def test_pain_said_in_a_run_that_still_waits_rests_too(own: Asked) -> None:
    own.post("/from-phone", {"text": "sefa hop-step-sand 2.00 3.80 pain"})
    assert "Pain was put down" in said(own.get("/season").text)
    text = said(own.get("/season", params={"a": own.numbers["Sefa"]}).text)
    assert "Rest." in text
    gone = said(own.get("/season", params={"a": own.numbers["Sefa"], "pain": "gone"}).text)
    assert "Rest." not in gone
    assert "Pain was put down" in gone


def test_an_empty_book_and_an_athlete_of_whom_only_the_name_is_known(tmp_path: Path) -> None:
    from layout.book.people import add_name
    from layout.book.store import create

    create(tmp_path / "a.book")
    with asked(tmp_path, book=tmp_path / "a.book") as made:
        assert "Nobody is in this book yet" in said(made.get("/season").text)
        with open_book(made.desk.book) as book:
            number, _ = add_name(book, "Ada")
        answer = made.get("/season", params={"a": number})
        assert answer.status_code == 200
        assert "Fill in" in said(answer.text)
        assert made.get("/season/own", params={"a": number}).status_code == 200
        assert made.get("/season/runs", params={"a": number}).status_code == 200


@pytest.mark.parametrize(
    ("path", "more", "word"),
    [
        ("/season", {"a": "99"}, "not in this book"), ("/season", {"since": "someday"}, "since"),
        ("/season", {"until": "2999-01-01"}, "until"), ("/season", {"since": "2026-06-01"}, "since"),
        ("/season", {"odd": "1"}, "not known"), ("/season", {"v": "/etc/passwd"}, "venue"),
        ("/season/run", {"n": "9999"}, "run"), ("/season/run", {}, "run"),
        ("/season/runs", {"part": "0"}, "part"), ("/season/runs", {"week": "x"}, "week"),
    ],
)  # fmt: skip
def test_an_address_that_cannot_be_is_refused(
    desk: Asked, path: str, more: dict[str, str], word: str
) -> None:
    answer = page(desk, path, **more)
    assert answer.status_code == 400
    assert word in said(answer.text)


@pytest.mark.parametrize(
    ("more", "field"),
    [({"hit": "5/4"}, "hit"), ({"sound": "bang"}, "sound"), ({"contact": "long"}, "contact"),
     ({"at": "moon"}, "at"), ({"pain": "perhaps"}, "pain")],
)  # fmt: skip
def test_what_was_seen_wrongly_stands_beside_its_field(
    desk: Asked, more: dict[str, str], field: str
) -> None:
    answer = page(desk, **more)
    assert answer.status_code == 400
    assert f'id="e-{field}"' in answer.text
    assert "Jumped against planned" in said(answer.text)


@pytest.mark.parametrize(
    ("more", "field"), [({"weeks": "99"}, "weeks"), ({"days": "someday"}, "days")]
)
def test_a_block_asked_wrongly_stands_beside_its_field(
    desk: Asked, more: dict[str, str], field: str
) -> None:
    answer = desk.get("/season", params={"a": desk.numbers["Imka"], **more})
    assert answer.status_code == 400
    assert f'id="e-{field}"' in answer.text


def test_pain_that_cannot_be_read_is_taken_as_pain(desk: Asked) -> None:
    text = said(page(desk, pain="perhaps", sound="quiet", hit="9/10").text)
    assert "Rest." in text
    assert "Rest." in said(page(desk, pain="yes", sound="bang").text)


@pytest.mark.parametrize("name", NAMES)
def test_names_with_markup_are_letters(tmp_path: Path, name: str) -> None:
    name = name[:80]
    with asked(tmp_path) as made:
        with open_book(made.desk.book) as book:
            keep_text(book, named("imka", name))
            number = next(m.id for m in members(book) if m.name == name.strip())
            row = {"day": "2026-05-04", "drill": "hop-step-sand", "phases": "hop step",
                   "lengths": [2.6, 2.2], "note": name}  # fmt: skip
            put(book, number, [row])
        for path in ("/season", f"/season?a={number}", f"/season/runs?a={number}",
                     f"/season/run?a={number}&n=1", f"/season/own?a={number}"):  # fmt: skip
            markup = made.get(path).text
            assert html.escape(name.strip(), quote=False)[:20].partition("'")[0] in html.unescape(
                markup
            ) or (name in said(markup))
            assert "script" not in {t for t, a in Words(markup).tags if not a.get("src")}
            assert "img" not in {t for t, _ in Words(markup).tags}


WORDS = st.text(max_size=12)
TYPED = [n for n in Look.__dataclass_fields__ if n not in ("a", "since", "until")]


@settings(max_examples=60)
@given(st.dictionaries(st.sampled_from([*Look.__dataclass_fields__, "odd"]), WORDS, max_size=5))
def test_any_address_is_read_or_refused_in_words(query: dict[str, str]) -> None:
    try:
        look = looked(query)
    except BadInput:
        return
    assert looked(dict(parse_qsl(urlsplit(look.address()).query))) == look


@settings(max_examples=25, deadline=None)
@given(query=st.dictionaries(st.sampled_from(TYPED), WORDS, max_size=3))
def test_no_address_breaks_the_program(desk: Asked, query: dict[str, str]) -> None:
    for path in ("/season", "/season/runs"):
        answer = desk.get(path, params={"a": desk.numbers["Runa"], **query})
        assert answer.status_code in (200, 400)
        assert "fault of the program" not in answer.text


def test_season_is_linked_from_today_and_jumped(desk: Asked) -> None:
    number = desk.numbers["Imka"]
    assert f'href="/season?a={number}"' in desk.get(f"/?a={number}").text
    jumped = desk.get("/jumped", params={"a": number, "d": "hop-step-sand"}).text
    assert f"/season?a={number}&amp;d=hop-step-sand" in jumped
    assert "/season" in {a.get("href") for t, a in Words(jumped).tags if t == "a"}


def test_a_best_that_the_file_tells_has_reached_no_target(own: Asked) -> None:
    new = {"name": "Zoa", "stature": "1.75", "leg": "left", "best": "12.40", "born": "2000"}
    assert own.post("/club/athlete", {**new, "level": "advanced"}).status_code == 303
    with open_book(own.desk.book) as book:
        number = find_member(book, "Zoa").id
    drill = {"a": str(number), "d": "hop-step-sand", "from": "each"}
    assert own.post("/jumped", {**drill, "r0": "2.80", "r1": "2.45"}).status_code == 303
    assert "has reached the target" not in own.get(f"/season?a={number}").text
    whole = {**drill, "d": "full-triple-jump", "r0": "4.60", "r1": "3.70", "r2": "4.30"}
    assert own.post("/jumped", whole).status_code in (200, 303)
    assert "has reached the target of 12.40 m" in own.get(f"/season?a={number}").text
