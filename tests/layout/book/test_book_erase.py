"""One athlete's data out, and gone for good: searched for byte by byte."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.book import erase as room
from layout.book.correct import changes, correct
from layout.book.entry import add
from layout.book.erase import erase, export
from layout.book.people import add_name, find_member, members
from layout.book.rows import attempts
from layout.book.sound import check
from layout.book.store import Book, open_book, scrub
from layout.book.typed import Typed
from layout.season.totals import plans
from layout.words.faults import BadInput
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
    assert room.take_out(db, name) == 1
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
        "athlete": 1, "plan": 1, "attempt": 30, "picture": 0, "session": 3, "correction": 1,
        "handed": 0, "waiting": 0,
    }  # fmt: skip
    assert kept["athlete"][0]["name"] == "Runa"
    assert kept["plan"][0]["json"]["who"]["name"] == "Runa"
    assert "Imka" not in text


# --- parts of a name in what others' rows say -----------------------------------------------------

PARTS = [
    ("with Zoé Hénin-Fictive", "with (erased)-(erased)"),  # the surname alone is not the name
    ("ZOE late", "(erased) late"),
    ("Zoës knee", "(erased) knee"),
    ("zoé's turn", "(erased)'s turn"),
    ("the Henins", "the (erased)"),
    ("zoehenin@club", "(erased)@club"),
    ("zoe_henin", "(erased)_(erased)"),
    ("Imka Hénin first", None),
    ("zoo and henna", None),
]
"""Notes of others, and what they say once all parts are taken out; None where nothing is hers."""


@pytest.mark.parametrize(("note", "after"), PARTS)
def test_a_part_of_the_name_is_found_however_it_is_written(note: str, after: str | None) -> None:
    parts = room.Parts("Zoë Hénin", ["Imka Henin", "Runa"])
    assert bool(parts.spans(note)) == (after is not None)
    cleaned = parts.without(note)
    if after is None:
        assert cleaned == note
    elif note == PARTS[0][0]:
        assert cleaned == "with (erased) (erased)-Fictive"
    else:
        assert cleaned == after


def test_a_name_without_spaces_between_words_is_found_inside_a_text() -> None:
    parts = room.Parts("\u5c71\u7530", [])
    assert parts.without("\u4eca\u65e5\u5c71\u7530\u3068") == f"\u4eca\u65e5{room.GONE}\u3068"


@given(st.text("Zoëe\u0308 Hénin-_.s'x", max_size=25))
def test_what_is_left_after_all_parts_are_out_holds_none(note: str) -> None:
    parts = room.Parts("Zoë Hénin", [])
    assert not parts.spans(parts.without(note))


def test_notes_with_a_part_are_told_and_taken_out_as_wanted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from layout.cli import main

    path = club_book(tmp_path)
    with open_book(path) as book:
        add_name(book, "Zoë Hénin")
        jumped(book, "2.61", "4.80", who="Zoë")
        first = jumped(book, "2.61", "4.80", who="imka", fields={"note": "zoe was quicker"})
        other = jumped(
            book, "2.61", "4.80", who="imka", fields={"note": "windy"}, place="Henin Park"
        )
        correct(book, other, {"note": "with Zoë Hénin and Hénin senior"})
    words = ["book", "erase", str(path), "Zoë Hénin"]
    assert main([*words, "--parts", "attempt-99", "--yes"]) == 2
    assert "--parts: must be all, or some of these: session-2, attempt-2" in capsys.readouterr().err
    with open_book(path) as book:
        assert "Zoë Hénin" in [m.name for m in members(book)], "nothing was changed"
    assert main([*words, "--yes"]) == 0
    told = capsys.readouterr().out
    for line in ("session-2", f"attempt-{first}", "zoe was quicker", "Henin Park", "senior",
                 "--parts all --yes", "it may be somebody else's"):  # fmt: skip
        assert line in told
    assert main([*words, "--parts", f"attempt-{first}", "--yes"]) == 0
    with open_book(path) as book:
        notes = {a.id: a.note for a in attempts(book)}
    assert notes == {first: "(erased) was quicker", other: "with (erased) and Hénin senior"}
    capsys.readouterr()
    assert main([*words, "--parts", "all", "--yes"]) == 0
    assert "still hold" not in capsys.readouterr().out
    with open_book(path) as book:
        assert check(book)[0] == []
        assert [a.place for a in attempts(book)][-1] == "(erased) Park"
    data = every_byte(tmp_path).lower()
    assert not any(w.encode() in data for w in ("zoë", "zoe", "hénin", "henin"))
    assert main([*words, "--yes"]) == 2, "without --parts a name has to be in the book"
    assert main([*words, "--parts", " ", "--yes"]) == 2


@pytest.mark.parametrize("name", ["Hop", "Leg", "Low", "Track", "Right", "Name", "Sand", "Date"])
def test_a_name_that_is_a_word_of_the_program_spoils_no_row(name: str, tmp_path: Path) -> None:
    """Somebody called Hop goes, and every plan and athlete file of the others can still be read."""
    path = club_book(tmp_path)
    with open_book(path) as book:
        add_name(book, name)
        jumped(book, "2.61", "4.80", who="runa", fields={"note": f"behind {name}"})
        db = book.db
        file, plan = (db.execute(f"SELECT {c} FROM {t} WHERE {c} IS NOT NULL").fetchone()[0]
                      for c, t in (("file", "athlete"), ("json", "plan")))  # fmt: skip
        with book.writing():
            db.execute("UPDATE athlete SET file = file || ? WHERE name = 'Runa'",
                       (f"\n# friend of {name}\n",))  # fmt: skip
        erase(book, find_member(book, name, exact=True), None)
        assert check(book)[0] == []
        kept, planned = (db.execute(f"SELECT {c} FROM {t} WHERE {c} IS NOT NULL").fetchone()[0]
                         for c, t in (("file", "athlete"), ("json", "plan")))  # fmt: skip
        assert kept.endswith(f"# friend of {room.GONE}\n")
        before, after = tomllib.loads(file), tomllib.loads(kept)
        for table in (before, after):
            table.pop("note", None)
        assert after == before
        for key in ("contacts", "flights", "drill", "title", "who"):
            assert json.loads(planned)[key] == json.loads(plan)[key]
        assert [a.drill for a in attempts(book)] == ["hop-step-sand"]


LOOK = """away = sys.argv[2]
def look():
    assert not os.listdir(away)
    if os.path.isdir("/proc/self/fd"):  # also files that were unlinked as soon as they were opened
        for number in os.listdir("/proc/self/fd"):
            try:
                assert not os.readlink(f"/proc/self/fd/{number}").startswith(away)
            except FileNotFoundError:
                pass  # what lists the folder
"""


def test_no_temporary_file_of_an_erasing_is_left_anywhere(tmp_path: Path) -> None:
    """The rewrite keeps its copy in memory: nothing is put in the machine's own folders."""
    path = filled_book(tmp_path)
    away = tmp_path / "away"
    away.mkdir()
    script = KILLED.replace("os.kill(os.getpid(), signal.SIGKILL)", "look()")
    script = script.replace("at = int(sys.argv[2])", LOOK).replace("if seen == at:", "if True:")
    places = dict.fromkeys(("TMPDIR", "SQLITE_TMPDIR", "TEMP", "TMP"), str(away))
    done = subprocess.run(
        [sys.executable, "-c", script, str(path), str(away)], capture_output=True, text=True,
        env={**os.environ, **places, "PYTHONPATH": str(ROOT)}, check=False, timeout=60,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert list(away.iterdir()) == []
    assert not traces(tmp_path, "Runa")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["away", "marram.book"]
