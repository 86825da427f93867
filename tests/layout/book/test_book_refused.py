"""Each cause of a refusal in its own words: full, unlockable, no shared memory, linked, damaged."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from layout.book import store
from layout.book.erase import erase
from layout.book.people import find_member, members
from layout.book.rows import attempts
from layout.book.sound import check, opened
from layout.book.store import Book, open_book, privacy_warning
from layout.cli import main
from layout.plan.venue import find_venue
from layout.season.season import fit_of, season_of
from layout.training.rungs import ladder
from layout.words.faults import BadInput
from tests.layout.book.book_cases import ROOT, club_book, jumped

# --- what the database says -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "words", "never"),
    [
        ("FULL", "the disk is full; nothing was changed; make room", "damaged"),
        ("BUSY", "is in use by another program; nothing was changed", "damaged"),
        ("LOCKED_SHAREDCACHE", "is in use by another program", "damaged"),
        ("IOERR_LOCK", "cannot be locked on its disk", "in use"),
        ("IOERR_RDLOCK", "copy the book to a disk of this machine", "damaged"),
        ("PROTOCOL", "cannot be locked", "in use"),
        ("PERM", "cannot be locked", "damaged"),
        ("IOERR_SHMSIZE", "has no shared memory for its index (x.book-shm)", "damaged"),
        ("IOERR_SHMMAP", "make room, or copy the book", "damaged"),
        ("IOERR_WRITE", "its disk took no more (IOERR_WRITE", "damaged"),
        ("IOERR_FSYNC", "list before you type it again", "nothing was changed"),
        ("IOERR_READ", "cannot be read off its disk just now", "damaged"),
        ("IOERR_NOMEM", "this machine has no memory left", "damaged"),
        ("NOMEM", "this machine has no memory left", "damaged"),
        ("READONLY_DIRECTORY", "cannot be written in this folder", "damaged"),
        ("CANTOPEN", "cannot be written in this folder", "damaged"),
        ("CORRUPT_VTAB", "is damaged (", "nothing was changed"),
        ("NOTADB", "is damaged (", "full"),
        ("IOERR_SHORT_READ", "is damaged (", "full"),
        ("CONSTRAINT_TRIGGER", "refused (", "damaged"),
    ],
)
def test_each_code_of_the_database_has_its_own_words(name: str, words: str, never: str) -> None:
    error = sqlite3.OperationalError("disk i/o error")
    error.sqlite_errorname = f"SQLITE_{name}"
    with pytest.raises(BadInput) as said, store.told(Path("x.book")):
        raise error
    rule = said.value.faults[0].rule
    assert words in rule
    assert never not in rule
    assert "\n" not in rule


def test_a_disk_that_cannot_lock_is_not_a_book_in_use(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = club_book(tmp_path)
    with open_book(path) as one, open_book(path, wait=0.05) as two:
        one.db.execute("BEGIN IMMEDIATE")
        with pytest.raises(BadInput, match="is in use by another program"):
            jumped(two, "2.61", "4.80")
        fcntl = pytest.importorskip("fcntl")

        def refuses(*_: Any) -> None:
            raise OSError(37, "No locks available")

        monkeypatch.setattr(fcntl, "lockf", refuses)
        with pytest.raises(BadInput, match="cannot be locked on its disk"):
            jumped(two, "2.61", "4.80")
        one.db.execute("ROLLBACK")


def test_a_book_without_room_for_its_index_is_still_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        jumped(book, "2.61", "4.80")
    real = store._connect

    def no_room(place: str, wait: float, alone: bool = False) -> sqlite3.Connection:
        if alone:
            return real(place, wait, alone)
        error = sqlite3.OperationalError("disk i/o error")
        error.sqlite_errorname = "SQLITE_IOERR_SHMSIZE"
        raise error

    monkeypatch.setattr(store, "_connect", no_room)
    with open_book(path) as book:
        assert len(attempts(book)) == 1
        assert not (tmp_path / "marram.book-shm").exists()
        monkeypatch.undo()
        with pytest.raises(BadInput, match="in use"), open_book(path, wait=0.05) as other:
            members(other)  # whoever has no index has the book alone
    with open_book(path) as book:
        assert len(attempts(book)) == 1


FULL = """
import os, sys
from pathlib import Path
from layout.book.entry import Typed, add
from layout.book.erase import erase
from layout.book.people import find_member
from layout.book.rows import attempts
from layout.book.store import open_book
from layout.words.faults import BadInput
path, kept = Path(sys.argv[1]), 0
typed = Typed("runa", "hop-step-sand", ("2.61", "4.80"), day="2026-05-02",
              fields={"note": "x" * 290})
with open_book(path) as book:
    try:
        while True:
            add(book, typed)
            kept += 1
    except BadInput as error:
        print(error)
try:
    with open(path.with_name("rest"), "wb", 0) as rest:
        while True:
            rest.write(b"x" * 4096)
except OSError:
    pass
for todo in (lambda book: add(book, typed), lambda book: erase(book, find_member(book, "Runa"))):
    with open_book(path) as book:
        assert len(attempts(book)) == kept
        try:
            print(todo(book))
        except BadInput as error:
            print(error)
"""


@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0, reason="nobody else may mount a disk")
def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    made = tmp_path / "made"
    made.mkdir()
    script = made / "fill.py"
    script.write_text(FULL)
    disk = tmp_path / "disk"
    disk.mkdir()
    words = (
        f"mount -t tmpfs -o size=700k tmpfs {disk} && cp {club_book(made)} {disk}/a.book && "
        f"{sys.executable} {script} {disk}/a.book"
    )
    done = subprocess.run(
        ["unshare", "-m", "sh", "-c", words], capture_output=True, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False, timeout=120,
    )  # fmt: skip
    if "unshare" in done.stderr or "mount:" in done.stderr:
        pytest.skip("no disk can be mounted here")
    assert done.returncode == 0, done.stderr
    first, second, third = done.stdout.splitlines()
    assert "the disk is full; nothing was changed; make room" in first
    assert "the disk is full" in second
    assert "of free room beside the book needed to rewrite it; nothing was changed" in third


# --- names of the file ----------------------------------------------------------------------------


def test_a_book_of_two_names_is_refused(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    twin = tmp_path / "twin.book"
    os.link(path, twin)
    for name in (path, twin):
        with pytest.raises(BadInput, match=r"has 2 names .* -samefile .*delete the others") as told:
            open_book(name)
        assert len(str(told.value).splitlines()) == 1
    assert main(["book", "check", str(path)]) == 2
    twin.unlink()
    with open_book(path) as book:
        assert check(book)[0] == []


def test_through_a_symbolic_link_it_is_one_book_with_one_log(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    (tmp_path / "desk").mkdir()
    link = tmp_path / "desk" / "short.book"
    link.symlink_to(path)
    with open_book(path) as one, open_book(link) as two:
        for i in range(30):
            jumped(two if i % 2 else one, "2.61", "4.80")
        assert [p.name for p in link.parent.iterdir()] == ["short.book"]
        assert len(attempts(one)) == len(attempts(two)) == 30
    with open_book(path) as book:
        assert len(attempts(book)) == 30


def test_through_a_link_the_log_looked_at_is_the_books_own(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    (tmp_path / "desk").mkdir()
    link = tmp_path / "desk" / "short.book"
    link.symlink_to(path)
    path.with_name(path.name + "-wal").mkdir()
    with pytest.raises(BadInput, match=r"marram\.book-wal is no plain file"):
        open_book(link)


@pytest.mark.parametrize("end", ["", "-wal", "-shm"])
def test_what_is_no_plain_file_is_never_waited_for(end: str, tmp_path: Path) -> None:
    path = club_book(tmp_path)
    place = path.with_name(path.name + end)
    place.unlink(missing_ok=True)
    os.mkfifo(place)
    with pytest.raises(BadInput, match="is no plain file"):
        open_book(path)


# --- an erasing without room ----------------------------------------------------------------------


def test_without_room_for_the_rewrite_nothing_is_erased(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = club_book(tmp_path)
    monkeypatch.setattr(store.shutil, "disk_usage", lambda _: type("", (), {"free": 400_000}))
    with open_book(path) as book:
        with pytest.raises(
            BadInput, match=r"1\.\d MB of free room .* nothing was changed, got '0\.4"
        ):
            erase(book, find_member(book, "Runa"))
        assert len(members(book)) == 2


def test_an_erasing_is_not_finished_where_there_is_no_room(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book, book.writing() as db:
        db.execute("INSERT INTO setting VALUES ('erasing', 'yes')")
    monkeypatch.setattr(store.shutil, "disk_usage", lambda _: type("", (), {"free": 400_000}))
    monkeypatch.setattr(store, "scrub", lambda _: pytest.fail("rewrites without room"))
    with open_book(path) as book:
        assert "of free room needed, 0.4 MB there" in book.unfinished
        assert len(members(book)) == 2


def test_a_rewrite_that_fails_is_told_and_finished_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = club_book(tmp_path)

    def full(book: Book) -> None:
        with store.told(book.path, "the next opening finishes it"):
            book.db.execute("PRAGMA max_page_count = 1")  # of no use below the present size
            error = sqlite3.OperationalError("database or disk is full")
            error.sqlite_errorname = "SQLITE_FULL"
            raise error

    monkeypatch.setattr("layout.book.erase.scrub", full)
    assert main(["book", "erase", str(path), "Runa", "--yes"]) == 2
    told = capsys.readouterr().err
    assert "Runa is deleted, but traces are still in the file (the disk is full" in told
    assert "nothing was changed" not in told
    assert "the next opening finishes it" in told
    monkeypatch.setattr(store, "scrub", full)
    with open_book(path) as book:  # it can be read all the same, and says so
        assert [m.name for m in members(book)] == ["Imka"]
        (line,) = privacy_warning(path, book.unfinished)
        assert "traces of an erased athlete are still in" in line
    monkeypatch.undo()
    with open_book(path) as book:
        assert book.unfinished == ""
    assert b"Runa" not in path.read_bytes()
    assert [p.name for p in tmp_path.iterdir()] == ["marram.book"]


# --- stored rows that cannot be read --------------------------------------------------------------


def spoilt(path: Path, sql: str) -> None:
    """A book with a row that no entry would have made."""
    db = sqlite3.connect(path)
    db.execute(sql)
    db.commit()
    db.close()


@pytest.mark.parametrize(
    ("sql", "words"),
    [
        (
            "UPDATE athlete SET file = 'name = ' WHERE id = 1",
            "athlete 1: cannot be read (line 1: file: not",
        ),
        ("UPDATE athlete SET file = 'leg = 3' WHERE id = 1", "athlete 1: cannot be read ("),
        ("UPDATE plan SET json = '{}'", "plan 1: cannot be read ("),
        ("UPDATE plan SET json = '{\"version\": 2}'", "plan 1: cannot be read ("),
        ("UPDATE session SET day = '2026-05-39'", "session 1: cannot be read ("),
        ("UPDATE attempt SET phases = 'hop stop'", "attempt 1: phases: hop, step, jump needed"),
        ("UPDATE attempt SET speed = 9e999", "attempt 1: speed: must be a finite number"),
        (
            "UPDATE attempt SET note = 'a' || char(27)",
            "attempt 1: cannot be read (note: must be one line",
        ),
    ],
)
def test_check_finds_what_cannot_be_read_and_no_command_crashes(
    sql: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        jumped(book, "2.61", "4.80")
    spoilt(path, sql)
    assert main(["book", "check", str(path)]) == 2
    assert words in capsys.readouterr().out
    for command in (
        ["season", str(path), "runa"], ["fit", str(path), "runa"], ["list", str(path)],
        ["list", str(path), "--by-week"], ["add", str(path), "runa", "2.61", "4.80"],
        ["out", str(path), str(tmp_path / "out")],
        ["out", str(path), str(tmp_path / "runa.json"), "--athlete", "runa"],
    ):  # fmt: skip
        assert main(["book", *command]) in (0, 2)
        assert "a fault of the program" not in capsys.readouterr().err


@pytest.mark.parametrize(
    "words", [["list"], ["check"], ["add", "runa", "2.61"], ["keep", "a.toml"]]
)
def test_a_name_that_no_file_can_have_is_refused(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["book", words[0], "a\0b.book", *words[1:]]) == 2
    assert capsys.readouterr().err == "phasemark: words: no NUL allowed, got 'a\\x00b.book'\n"


def test_an_athlete_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    import datetime

    path = club_book(tmp_path)
    spoilt(path, "UPDATE athlete SET file = 'name = ' WHERE name = 'Runa'")
    day = datetime.date(2026, 5, 2)
    with open_book(path) as book:
        jumped(book, "2.61", "4.80")
        runa = find_member(book, "runa")
        with pytest.raises(
            BadInput, match=r"athlete file of Runa in the book \(.*\):1: file: not valid TOML"
        ):
            fit_of(book, runa, day)
        season = season_of(book, runa, day, ladder(), find_venue("club"))
    assert "not valid TOML" in season.why_not
    assert season.weeks, "what it can tell it tells"


def test_a_fault_over_a_damaged_book_is_the_books(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    with pytest.raises(KeyError), opened(path):
        raise KeyError("ours")
    spoilt(path, "UPDATE plan SET json = '{}'")
    with pytest.raises(BadInput, match=r"is damaged \(plan 1: cannot be read"), opened(path):
        raise KeyError("theirs")
