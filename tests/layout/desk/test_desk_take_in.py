"""Files taken in on Club: each kind by what it holds, whole or not at all, nothing replaced unasked."""

from __future__ import annotations

import base64
import io
import zipfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout.book.exchange import tables_of
from layout.book.own import own_of
from layout.book.people import find_member, members
from layout.book.rows import attempts
from layout.book.sound import check
from layout.book.store import create, open_book
from layout.book.typed import Typed
from layout.catalogue.club import club_files
from layout.desk.app import Desk
from layout.desk.taken import WORDS, File, take
from layout.words.faults import BadInput
from tests.layout.book.book_cases import empty_book, plan_text
from tests.layout.book.test_book_own import DUNES, RHYTHM
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.test_desk_club import form_of
from tests.layout.desk.test_desk_pages import Words, said

ADA = 'name = "Ada"\nstature = 1.70\nmass = 58\nleg = "left"\nborn = 2008\ntarget = 11.20\n'
ROSTER = "name;stature;mass;leg;born;weight\nAda;1,70;58;left;2008;2\nImka;1.68;57.5;right;2009;1\n"
JUMPED = (
    "athlete,drill,date,hop,step,note\nImka,hop-step-sand,2026-05-02,2.61,2.19,wind\n"
    "Imka,hop-step-sand,2026-05-02,2.70,2.20,\n"
)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        yield made


def sent(**files: str | bytes) -> dict[str, str]:
    """Files as the page's script sends them; a name's _ stands for its dot."""
    out = {}
    for i, (name, text) in enumerate(files.items()):
        data = text.encode() if isinstance(text, str) else text
        out[f"name{i}"] = name.replace("_", ".")
        out[f"data{i}"] = base64.urlsafe_b64encode(data).decode().rstrip("=")
    return out


def names(desk: Asked) -> list[str]:
    with open_book(desk.desk.book) as book:
        return [m.name for m in members(book)]


def file_of(desk: Asked, name: str) -> str:
    with open_book(desk.desk.book) as book:
        return find_member(book, name).file or ""


def jumped(desk: Asked) -> list[Any]:
    with open_book(desk.desk.book) as book:
        return attempts(book)


def answer(desk: Asked, page: Any, label: str) -> Any:
    """Send the question's form back with the button of that label."""
    words = Words(page.text)
    buttons = [a.get("value") or "" for t, a in words.tags if t == "button" and a.get("name")]
    assert label in buttons
    return desk.post("/club/in", {**form_of(page.text), "take": label})


def test_several_files_at_once_each_by_what_it_holds(desk: Asked) -> None:
    files = sent(ada_toml=ADA, plan_json=plan_text(), own_toml=DUNES + RHYTHM, jumped_csv=JUMPED)
    found = desk.post("/club/in", files)
    assert found.status_code == 200
    shown = said(found.text)
    for text in ("Ada: new in the book", "plan of hop-step-sand kept", "venue Dune runway: new",
                 "drill Rhythm for Runa: new", "2 attempts taken in"):  # fmt: skip
        assert text in shown
    assert file_of(desk, "Ada") == ADA
    assert len(jumped(desk)) == 2
    with open_book(desk.desk.book) as book:
        assert set(own_of(book).drills) == {"marram-rhythm"}
    again = said(desk.post("/club/in", files).text)
    for text in ("in the book already, as this file has it", "was kept already", "there already",
                 "2 attempts in the book already"):  # fmt: skip
        assert text in again
    assert len(jumped(desk)) == 2


def test_a_wrong_file_is_told_line_by_line_and_stops_no_other(desk: Asked) -> None:
    bad = ADA.replace("58", '"five"').replace('"left"', '"middle"')
    found = desk.post("/club/in", sent(bad_toml=bad, ada_toml=ADA))
    assert found.status_code == 400
    shown = said(found.text)
    assert "bad.toml:3: mass: must be a mass from 18 to 180 kg" in shown
    assert "bad.toml:4: leg: must be one of right, left" in shown
    assert "Ada: new in the book" in shown


def test_an_athlete_who_is_known_is_not_replaced_unasked(desk: Asked) -> None:
    before = file_of(desk, "Imka")
    after = before.replace("mass = 56.0", "mass = 60")
    found = desk.post("/club/in", sent(imka_toml=after))
    assert file_of(desk, "Imka") == before
    assert "Imka, book: mass = 56.0" in said(found.text)
    assert "Imka, file: mass = 60" in said(found.text)
    assert "brought up to date" in said(answer(desk, found, "all").text)
    assert file_of(desk, "Imka") == after
    with open_book(desk.desk.book) as book:
        kept = book.rows("SELECT before FROM correction WHERE field = 'file'")
        assert "mass = 56.0" in kept[0][0]


def test_a_roster_takes_in_who_is_new_and_asks_about_who_is_known(desk: Asked) -> None:
    before = file_of(desk, "Imka")
    found = desk.post("/club/in", sent(squad_csv=ROSTER))
    assert "Ada" not in names(desk)
    shown = said(found.text)
    assert "1 athlete new" in shown
    assert "Imka, file: mass = 57.5" in shown
    done = said(answer(desk, found, "new").text)
    assert "Ada: new in the book" in done
    assert "weight counts where marks are shared" in done
    assert file_of(desk, "Imka") == before
    later = desk.post("/club/in", sent(squad_csv=ROSTER))
    answer(desk, later, "all")
    assert file_of(desk, "Imka") == before.replace("mass = 56.0", "mass = 57.5")  # and no more
    same = said(desk.post("/club/in", sent(squad_csv=ROSTER)).text)
    assert "2 athletes in the book already, the same" in same
    wrong = desk.post("/club/in", sent(squad_csv=ROSTER.replace("Ada;1,70", "Bo;9,70")))
    assert "squad.csv:2: column 2 (stature)" in said(wrong.text)
    assert "Bo" not in names(desk)


def test_a_table_of_attempts_is_compared_and_what_differs_is_asked(desk: Asked) -> None:
    desk.post("/club/in", sent(jumped_csv=JUMPED))
    other = JUMPED.replace("2.61,2.19", "2.65,2.19") + "Runa,hop-step-hold,2026-05-02,1.5,1.4,\n"
    found = desk.post("/club/in", sent(jumped_csv=other))
    assert "line 2, Imka, 2026-05-02" in said(found.text)
    assert len(jumped(desk)) == 2
    answer(desk, found, "all")
    assert sorted(a.total for a in jumped(desk)) == pytest.approx([2.9, 4.84, 4.9])


def test_what_a_table_leaves_out_is_said_once(desk: Asked) -> None:
    table = "hop;step\n2,61;2,19\n"
    found = desk.post("/club/in", sent(t_csv=table))
    assert "athlete: is missing" in said(found.text)
    assert "--" not in said(found.text)
    base = {"athlete": str(desk.numbers["Imka"]), "drill": "hop-step-sand", "day": "2026-05-03"}
    assert "1 attempt taken in" in said(desk.post("/club/in", {**sent(t_csv=table), **base}).text)
    (kept,) = jumped(desk)
    assert (kept.athlete, kept.day) == ("Imka", "2026-05-03")
    more = desk.post("/club/in", {**sent(t_csv=JUMPED), "drill": "hop-step-sand"})
    assert "is needed by no row" in said(more.text)


def test_a_pasted_text_and_other_encodings_are_read(desk: Asked) -> None:
    pasted = desk.post("/club/in", {"text": ADA.replace("\n", "\r\n")})
    assert "Ada: new in the book" in said(pasted.text)
    assert file_of(desk, "Ada") == ADA
    zoe = "name;stature;mass;leg\nZoë;1,70;58;left\n"
    desk.post("/club/in", {"text": zoe})
    desk.post("/club/in", sent(old_csv=zoe.replace("Zoë", "Łucja").encode("utf-16")))
    desk.post("/club/in", sent(old_csv=zoe.replace("Zoë", "Rená").encode("cp1252")))
    assert {"Zoë", "Łucja", "Rená"} <= set(names(desk))


def test_a_whole_book_comes_back_into_an_empty_one_only(desk: Asked, tmp_path: Path) -> None:
    desk.post("/club/in", sent(jumped_csv=JUMPED, own_toml=DUNES))
    with zipfile.ZipFile(io.BytesIO(desk.get("/club/tables.zip").content)) as packed:
        tables = {Path(n).name.replace(".", "_"): packed.read(n) for n in packed.namelist()}
    assert "go into an empty book only" in said(desk.post("/club/in", sent(**tables)).text)
    new = empty_book(tmp_path)
    with open_book(new) as book, open_book(desk.desk.book) as old:
        files = [File(n.replace("_", "."), data) for n, data in tables.items()]
        (some,) = take(book, files[:3], Typed("", ""))
        assert "is missing; choose all tables together" in some.faults[0]
        (done,) = take(book, files, Typed("", ""))
        assert (done.faults, done.told) == ((), ("2 attempts of 6 athletes",))
        assert tables_of(book) == tables_of(old)


@pytest.mark.parametrize(
    ("files", "rule"),
    [
        ({}, "choose one, or paste"),
        (sent(x_book=b"SQLite format 3\0" + b"\0" * 100), "is a whole book"),
        (sent(x_toml=b""), "is empty"),
        (sent(x_csv=b"\xff\xfe\0"), "must be text"),
        (sent(x_json="{"), "not valid JSON"),
        (sent(x_toml="[drill.x]\n"), "drill.x.title"),
        (sent(x_csv="a,b\n1,2\n"), "is no column of a book"),
        ({"name0": "x.toml", "data0": "%%%"}, "did not come whole"),
        ({"name0": "x.toml"}, "is empty"),
        ({"data0": "YQ"}, "choose one, or paste"),
        ({"admin": "1"}, "has a field that is not known"),
        ({"text": "x", "take": "everything"}, "must be one of new"),
        ({"text": "x = ["}, "not valid TOML"),
        (sent(x_csv=JUMPED) | {"athlete": "99"}, "is not in this book any more"),
    ],
)  # fmt: skip
def test_what_cannot_be_taken_in_is_one_line(desk: Asked, files: dict[str, str], rule: str) -> None:
    found = desk.post("/club/in", files)
    assert found.status_code == 400
    assert rule in said(found.text)
    assert "fault of the program" not in found.text
    assert names(desk) == sorted(n.capitalize() for n in club_files())


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(
    name=st.sampled_from(["a.toml", "a.csv", "a.json", "athlete.csv", "pasted text", "x"]),
    data=st.binary(max_size=300)
    | st.sampled_from([ADA, ROSTER, JUMPED, DUNES, RHYTHM]).map(str.encode),
    cut=st.integers(0, 400),
    junk=st.binary(max_size=4),
    word=st.sampled_from(["", *WORDS]),
)  # fmt: skip
def test_any_bytes_are_taken_in_sound_or_refused(
    name: str, data: bytes, cut: int, junk: bytes, word: str,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:  # fmt: skip
    path = tmp_path_factory.mktemp("odd") / "a.book"
    create(path)
    raw = data[:cut] + junk + data[cut:]
    with Desk(path).opened() as book:
        with suppress(BadInput):
            take(book, [File(name, raw)], Typed("", ""), word)
        assert check(book)[0] == []
