"""One athlete's data out, and gone for good: searched for byte by byte."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.book import erase as room
from layout.book.correct import changes, correct
from layout.book.entry import add
from layout.book.erase import erase, export
from layout.book.jumped import Typed
from layout.book.people import add_name, find_member, members
from layout.book.rows import attempts
from layout.book.sound import check
from layout.book.store import Book, open_book, scrub
from layout.book.totals import plans
from layout.faults import BadInput
from tests.layout.book.book_cases import ROOT, club_book, every_byte, jumped


def filled_book(folder: Path, name: str = "Runa") -> Path:
    """A book in which one athlete stands in every table, and in the notes of others."""
    path = club_book(folder)
    with open_book(path) as book:
        if name != "Runa":
            add_name(book, name)
        for i in range(30):
            fields = {"note": f"{name} ran {i}: zebrafish"}
            jumped(book, "2.61", "4.80", who=name, fields=fields, place=f"hall {i % 3}")
        jumped(book, "2.7", "5.0", who="imka", fields={"note": f"with {name}, windy"}, place="a")
        correct(book, 31, {"note": f"after {name}"})
        correct(book, 3, {"note": f"{name} slipped: zebrafish"})
        with book.writing() as db:
            db.execute("UPDATE session SET note = ? WHERE place = 'a'", (f"{name.upper()} late",))
    return path


def traces(folder: Path, name: str) -> bool:
    data = every_byte(folder)
    words = [name.encode(), name.upper().encode(), name.lower().encode(), b"zebrafish",
             name.replace("'", "''").encode(), name.encode("utf-16-le")]  # fmt: skip
    return any(word in data for word in words)


@pytest.mark.parametrize("name", ["Runa", "Łucja Hénin-Example", 'O\'Marram (the "x")'])
def test_no_byte_of_an_erased_athlete_is_left(name: str, tmp_path: Path) -> None:
    path = filled_book(tmp_path, name)
    assert traces(tmp_path, name)
    with open_book(path) as book:
        gone = erase(book, find_member(book, name, exact=True))
        assert (gone.name, gone.attempts, gone.mentions > 2) == (name, 30, True)
        assert not traces(tmp_path, name), "while the book is still open"
        assert name not in [m.name for m in members(book)]
        assert [a.athlete for a in attempts(book)] == ["Imka"]
        assert attempts(book)[0].note == f"after {room.GONE}"
        # corrections of others stay, and rows are kept again
        assert [c.room for c in changes(book)] == ["attempt", "session"]
        with pytest.raises(BadInput, match="are kept"), book.writing() as db:
            db.execute("DELETE FROM attempt")
        jumped(book, "2.61", "4.80", who="imka")
        assert check(book)[0] == []
        assert book.rows("SELECT count(*) FROM setting") == [(0,)]
    assert not traces(tmp_path, name)
    assert [p.name for p in tmp_path.iterdir()] == ["marram.book"]


def test_without_erasing_the_bytes_stay(tmp_path: Path) -> None:
    """What the search above can find: a plain delete leaves the name in the log."""
    path = filled_book(tmp_path)
    with open_book(path) as book:
        runa = find_member(book, "Runa")
        room._delete(book, runa)
        assert traces(tmp_path, "Runa")
        scrub(book)
        assert not traces(tmp_path, "Runa")


def test_plans_of_an_erased_athlete_go_too(tmp_path: Path) -> None:
    with open_book(filled_book(tmp_path)) as book:
        assert len(plans(book)) == 1
        assert erase(book, find_member(book, "Runa")).plans == 1
        assert plans(book) == []


def test_an_erasing_that_was_cut_off_is_finished_at_the_next_opening(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = filled_book(tmp_path)

    def cut(_: Book) -> None:
        raise KeyboardInterrupt

    with open_book(path) as book:
        monkeypatch.setattr(room, "scrub", cut)
        with pytest.raises(KeyboardInterrupt):
            erase(book, find_member(book, "Runa"))
    assert open_book(path).__exit__() is None  # type: ignore[func-returns-value]
    assert not traces(tmp_path, "Runa")


KILLED = """
import os, signal, sys
from pathlib import Path
from layout.book import erase as room
from layout.book.people import find_member
from layout.book.store import open_book
at = int(sys.argv[2])
with open_book(Path(sys.argv[1])) as book:
    seen = 0
    def step():
        global seen
        seen += 1
        if seen == at:
            os.kill(os.getpid(), signal.SIGKILL)
        return 0
    book.db.set_progress_handler(step, 400)
    room.erase(book, find_member(book, "Runa"))
"""


@pytest.mark.skipif(os.name != "posix", reason="no kill -9 here")
def test_killed_while_erasing_all_is_there_or_all_is_gone(tmp_path: Path) -> None:
    ends = set()
    for at in (1, 8, 20, 60, 90):
        folder = tmp_path / str(at)
        folder.mkdir()
        path = filled_book(folder)
        subprocess.run(
            [sys.executable, "-c", KILLED, str(path), str(at)],
            env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False, timeout=60,
        )  # fmt: skip
        with open_book(path) as book:
            assert check(book)[0] == []
            there = "Runa" in [m.name for m in members(book)]
            assert len(attempts(book)) == (31 if there else 1)
        ends.add(there)
        assert traces(folder, "Runa") == there
    assert ends == {True, False}, "killed both before and after"


def test_held_open_elsewhere_nothing_is_changed(tmp_path: Path) -> None:
    path = filled_book(tmp_path)
    with open_book(path) as other, open_book(path, wait=0.1) as book:
        attempts(other)
        with pytest.raises(BadInput, match="close it first, then erase; nothing was changed"):
            erase(book, find_member(book, "Runa"))
        assert len(attempts(other)) == 31
        add(other, Typed("runa", "hop-step-sand", ("2.61", "4.80")))
        assert len(attempts(book)) == 32


@given(st.sampled_from(["Al", "a.b", "Ann", "x+y", "\\d"]), st.text("Alanx+y.b\\d ,", max_size=30))
def test_only_the_whole_name_is_taken_out_of_notes(name: str, note: str) -> None:
    import re
    import sqlite3

    from layout.book.schema import climb, drop_triggers

    db = sqlite3.connect(":memory:", isolation_level=None)
    climb(db)
    text = f"{note} {name}, Alanna and banned"
    db.execute("INSERT INTO session (day, place, note) VALUES ('2026-05-02', 'a', ?)", (text,))
    drop_triggers(db)
    assert room._unname(db, name) == 1
    ((left,),) = db.execute("SELECT note FROM session")
    db.close()
    assert "Alanna and banned" in left
    assert not re.search(rf"(?<!\w){re.escape(name)}(?!\w)", left)


def test_a_longer_name_that_holds_it_stays(tmp_path: Path) -> None:
    path = filled_book(tmp_path)
    with open_book(path) as book:
        add_name(book, "Runa Fictive")
        jumped(book, "2", "4", who="Runa Fictive", fields={"note": "Runa Fictive beat Runa"})
        erase(book, find_member(book, "Runa", exact=True))
        assert attempts(book)[-1].note == f"Runa Fictive beat {room.GONE}"


def test_places_that_become_alike_stay_apart(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        for place in ("Runa", "RUNA", "runa"):
            jumped(book, "2", "4", who="imka", place=place)
        assert erase(book, find_member(book, "Runa")).mentions == 3
        assert [a.place for a in attempts(book)] == [
            room.GONE, f"{room.GONE} 2", f"{room.GONE} 3"
        ]  # fmt: skip


def test_everything_of_one_athlete_as_json(tmp_path: Path) -> None:
    path = filled_book(tmp_path)
    with open_book(path) as book:
        text = export(book, find_member(book, "runa"))
    kept = json.loads(text)
    assert {t: len(rows) for t, rows in kept.items()} == {
        "athlete": 1, "plan": 1, "attempt": 30, "session": 3, "correction": 1
    }  # fmt: skip
    assert kept["athlete"][0]["name"] == "Runa"
    assert kept["plan"][0]["json"]["who"]["name"] == "Runa"
    assert "Imka" not in text
