"""The book under a desk: one desk at a time, another writer told, nothing confirmed lost by a kill."""

from __future__ import annotations

import http.client
import os
import random
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from layout.book.rows import attempts
from layout.book.sound import check
from layout.book.store import create, open_book
from layout.desk.demo import FOLDER, NAME
from layout.desk.lock import only_desk
from layout.words.faults import BadInput
from tests.browser import PATIENCE
from tests.layout.desk.desks import Asked, asked, killed, started
from tests.layout.desk.saving import Browser, Told, saved_till_killed
from tests.layout.desk.test_desk_club import ADA, form_of
from tests.layout.desk.test_desk_pages import said

KILLS = 5
"""In the suite; tests/bench/kill_desk.py does two hundred."""


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Asked]:
    with asked(tmp_path) as made:
        made.desk.patience = 0.2
        yield made


def test_a_second_desk_on_the_same_book_is_refused_in_one_line(tmp_path: Path) -> None:
    def again(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "layout", "desk", *words, "--no-browser"],
            cwd=tmp_path, capture_output=True, text=True, timeout=PATIENCE, check=False,
        )  # fmt: skip

    (tmp_path / "link.book").symlink_to(f"{FOLDER}/{NAME}")
    with started(tmp_path):
        for words in ((), (f"{FOLDER}/{NAME}",), ("link.book",)):
            run = again(*words)
            assert run.returncode == 2
            assert run.stderr.count("\n") == 1
            assert "is open on another desk of this machine" in run.stderr
        listed = [sys.executable, "-m", "layout", "book", "list", f"{FOLDER}/{NAME}"]
        assert subprocess.run(listed, cwd=tmp_path, timeout=PATIENCE, check=False).returncode == 0
    assert not list((tmp_path / FOLDER).glob(".*.desk"))
    with started(tmp_path):  # it is free again
        pass


def test_a_killed_desk_leaves_its_book_free(tmp_path: Path) -> None:
    with killed(tmp_path) as (_, run):
        run.kill()
        run.wait()
        with started(tmp_path):
            pass


def test_a_desk_closed_amid_a_request_tells_of_no_fault(tmp_path: Path) -> None:
    """The rest of a form never comes; it is cut off, and `started` wants nothing told of that."""
    with started(tmp_path) as address:
        one = Browser(address)
        kind = {"content-type": "application/x-www-form-urlencoded", "content-length": "9"}
        own = {**one.headers, "origin": f"http://{one.host}"}
        one.line.request("POST", "/jumped", b"a=6", {**own, **kind})
        other = http.client.HTTPConnection(one.host, timeout=PATIENCE)
        other.request("GET", "/", headers=one.headers)
        assert other.getresponse().status == 200  # what was sent before is heard by now
    one.line.close()
    other.close()


def test_a_lock_put_away_between_two_steps_is_taken_anew(tmp_path: Path) -> None:
    book = tmp_path / "a.book"
    create(book)
    for _ in range(3):
        with only_desk(book), pytest.raises(BadInput, match="another desk"), only_desk(book):
            pass
    with pytest.raises(BadInput, match="cannot be locked"), only_desk(tmp_path / "no" / "a.book"):
        pass


def test_who_saves_while_another_program_writes_is_told_and_keeps_what_was_typed(
    desk: Asked,
) -> None:
    run = form_of(desk.set_out("Tevin", "hop-step-sand", "/jumped").text)
    venue = {"title": "Dunes", "runway_length": "30"}
    with open_book(desk.desk.book) as other:
        other.db.execute("BEGIN IMMEDIATE")
        for address, form, typed in (
            ("/club/athlete", ADA, "5-7"),
            ("/club/venue", venue, "Dunes"),
            ("/club/in", {"text": 'name = "Bo"\nstature = 1.7\nmass = 60\nleg = "left"\n'}, "Bo"),
            ("/jumped", {**run, "r0": "3.33", "r1": "3"}, "3.33"),
        ):
            found = desk.post(address, form)
            assert found.status_code == 400, address
            shown = said(found.text)
            assert "is in use by another program; nothing was changed, try again" in shown
            assert typed in found.text
        assert desk.get("/club").status_code == 200  # reading goes on
        other.db.execute("ROLLBACK")
    assert desk.post("/club/athlete", ADA).status_code == 303
    assert desk.post("/club/venue", venue).status_code == 303


def test_eight_tabs_that_save_at_once_lose_and_double_nothing(desk: Asked) -> None:
    desk.desk.patience = PATIENCE
    page = desk.set_out("Tevin", "hop-step-sand", "/jumped")
    form = form_of(page.text)
    answers: list[int] = []

    def tab(number: int) -> None:
        for run in range(3):
            once = f"{number}-{run}"
            sent = {**form, "once": once, "r0": f"{3 + number / 10:.2f}", "r1": f"3.{run}1"}
            answers.append(desk.post("/jumped", sent).status_code)
            answers.append(desk.post("/jumped", sent).status_code)  # the same tap twice

    tabs = [threading.Thread(target=tab, args=(i,)) for i in range(8)]
    for each in tabs:
        each.start()
    for each in tabs:
        each.join()
    assert set(answers) <= {200, 303}
    with open_book(desk.desk.book) as book:
        assert len(attempts(book)) == 24
        assert check(book)[0] == []


@pytest.mark.skipif(os.name == "nt", reason="no such signal")
def test_a_desk_killed_while_it_saves_has_lost_nothing_that_it_confirmed(tmp_path: Path) -> None:
    dice = random.Random(14)
    told = Told()
    for turn in range(KILLS):
        with killed(tmp_path) as (address, run):
            saved_till_killed(address, run, f"t{turn}", dice.uniform(0.0, 0.2), told)
        with open_book(tmp_path / FOLDER / NAME) as book:
            assert check(book)[0] == []
            assert told.wrong_with([a.note or "" for a in attempts(book)]) == ""
    assert len(told.confirmed) >= KILLS
