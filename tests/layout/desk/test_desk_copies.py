"""What leaves the book from Club is whole, and who is erased is gone from book and desk."""

from __future__ import annotations

import io
import json
import threading
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from layout.book.entry import add
from layout.book.erase import export
from layout.book.exchange import back, tables_of
from layout.book.people import find_member
from layout.book.sound import check
from layout.book.store import create, open_book
from layout.book.typed import Typed
from layout.desk.setout import planned
from tests.layout.desk.desks import Asked, asked
from tests.layout.desk.test_desk_club import form_of
from tests.layout.desk.test_desk_pages import Words, said


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        with open_book(made.desk.book) as book:
            for who, note in (("Runa", "fine"), ("Imka", "better than Runa; runas knee")):
                add(book, Typed(who, "hop-step-sand", ("2.61", "4.80"), fields={"note": note}))
        yield made


def test_a_copy_opens_as_the_same_book(desk: Asked, tmp_path: Path) -> None:
    found = desk.get("/club/copy.book")
    assert ".book" in found.headers["content-disposition"]
    copy = tmp_path / "copy.book"
    copy.touch(0o600)
    copy.write_bytes(found.content)
    with open_book(copy) as one, open_book(desk.desk.book) as other:
        assert tables_of(one) == tables_of(other)
        assert check(one)[0] == []


def test_tables_come_back_into_an_empty_book(desk: Asked, tmp_path: Path) -> None:
    found = desk.get("/club/tables.zip")
    with zipfile.ZipFile(io.BytesIO(found.content)) as packed:
        packed.extractall(tmp_path / "z")
    (folder,) = (tmp_path / "z").iterdir()
    create(tmp_path / "new.book")
    with open_book(tmp_path / "new.book") as new, open_book(desk.desk.book) as book:
        back(new, folder)
        assert tables_of(new) == tables_of(book)


def test_a_familys_file_is_what_the_command_gives(desk: Asked) -> None:
    found = desk.get(f"/club/family.json?a={desk.numbers['Imka']}")
    with open_book(desk.desk.book) as book:
        assert found.text == export(book, find_member(book, "Imka"))
    assert json.loads(found.text)["attempt"][0]["note"].startswith("better")
    assert desk.get("/club/family.json?a=99").status_code == 400
    assert desk.get("/club/family.json").status_code == 400


def test_erasing_takes_two_steps_and_leaves_no_trace(desk: Asked) -> None:
    desk.set_out("Runa", "hop-step-hold")  # the desk has planned for them
    assert planned.cache_info().currsize
    number = desk.numbers["Runa"]
    page = desk.get(f"/club/erase?a={number}")
    shown = said(page.text)
    assert "1 attempt" in shown
    assert "0 " not in shown.partition("What goes")[2].partition("cannot reach")[0]
    assert "copies of the book" in shown
    form = form_of(page.text)
    assert "sure" not in form  # the box is not ticked by itself
    unsure = desk.post("/club/erase", form)
    assert (unsure.status_code, "must be ticked" in said(unsure.text)) == (400, True)
    late = desk.post("/club/erase", {**form, "was": "x", "sure": "yes"})
    assert "look at it anew" in said(late.text)
    assert b"Runa" in desk.get("/club").content
    gone = desk.post("/club/erase", {**form, "sure": "yes"})
    assert gone.status_code == 200
    assert "1 attempts" in said(gone.text)
    assert planned.cache_info().currsize == 0
    assert desk.get(f"/club/athlete?a={number}").status_code == 400
    data = desk.desk.book.read_bytes()
    assert b"Runa" not in data
    assert b"runas" in data  # only a part of the name: asked about
    assert "runas knee" in said(gone.text)
    name = {"name": form_of(gone.text)["name"]}
    assert desk.post("/club/erase", name).status_code == 400
    boxes = [a["name"] or "" for t, a in Words(gone.text).tags if a.get("type") == "checkbox"]
    done = desk.post("/club/erase", {**name, **dict.fromkeys(boxes, "yes")})
    assert done.status_code == 200
    assert b"runas" not in desk.desk.book.read_bytes()
    with open_book(desk.desk.book) as book:
        assert check(book)[0] == []
    twice = desk.post("/club/erase", {**form, "sure": "yes"})
    assert "is not in this book any more" in said(twice.text)


def test_who_erases_while_the_book_is_open_elsewhere_is_told_and_nothing_goes(desk: Asked) -> None:
    form = {**form_of(desk.get(f"/club/erase?a={desk.numbers['Runa']}").text), "sure": "yes"}
    desk.desk.patience = 0.2
    with open_book(desk.desk.book) as other:
        other.rows("SELECT 1 FROM athlete")
        told = said(desk.post("/club/erase", form).text)
    assert "is open in another program" in told
    assert "nothing was changed" in told
    assert desk.post("/club/erase", form).status_code == 200


def test_another_tab_that_reads_meanwhile_does_not_stop_an_erasing(desk: Asked) -> None:
    form = {**form_of(desk.get(f"/club/erase?a={desk.numbers['Runa']}").text), "sure": "yes"}
    end = threading.Event()

    def look() -> None:
        while not end.is_set():
            with desk.desk.opened() as book:
                book.rows("SELECT * FROM athlete")
                time.sleep(0.01)

    reader = threading.Thread(target=look)
    reader.start()
    try:
        assert desk.post("/club/erase", form).status_code == 200
    finally:
        end.set()
        reader.join()
