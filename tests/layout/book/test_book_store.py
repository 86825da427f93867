"""The book as a file: private, whole, brought up to date, refused where it is not sound."""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.book import store
from layout.book.people import add_name, find_member
from layout.book.rows import attempts
from layout.book.schema import APPLICATION, STEPS, VERSION
from layout.book.sound import check
from layout.book.store import create, open_book, privacy_warning
from layout.words.faults import BadInput
from tests.layout.book.book_cases import (
    DAY,
    ROOT,
    club_book,
    dump,
    insert,
    jumped,
    of_version,
)
from tests.strategies import CLUB_FOLDER

POSIX = pytest.mark.skipif(os.name != "posix", reason="no owner bits here")


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


# --- made, opened ---------------------------------------------------------------------------------


@POSIX
def test_only_the_owner_can_read_book_log_and_index(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        path = club_book(tmp_path)
        with open_book(path) as book:
            jumped(book, "2.61", "4.80")
            seen = {p.name: mode(p) for p in tmp_path.iterdir()}
    finally:
        os.umask(before)
    assert seen == dict.fromkeys(("marram.book", "marram.book-wal", "marram.book-shm"), 0o600)


@POSIX
def test_a_book_that_others_can_read_is_warned_of(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    assert privacy_warning(path) == []
    path.chmod(0o640)
    (line,) = privacy_warning(path)
    assert "chmod 600" in line


def test_how_it_is_kept(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        told = {
            name: book.rows(f"PRAGMA {name}")[0][0]
            for name in ("journal_mode", "synchronous", "foreign_keys", "secure_delete",
                         "user_version", "application_id", "temp_store")
        }  # fmt: skip
    assert told == {
        "journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "secure_delete": 1,
        "user_version": VERSION, "application_id": APPLICATION, "temp_store": 2,
    }  # fmt: skip


def test_a_file_that_exists_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "a.book"
    path.write_text("mine")
    with pytest.raises(BadInput, match="exists already and is kept"):
        create(path)
    assert path.read_text() == "mine"
    with pytest.raises(BadInput, match=r"a name ending in \.book"):
        create(tmp_path / "a.txt")
    with pytest.raises(BadInput, match="its folder must exist"):
        create(tmp_path / "gone" / "a.book")
    assert [p.name for p in tmp_path.iterdir()] == ["a.book"]


@pytest.mark.parametrize(
    "name", ["a b.book", "a%20?b#c.book", "\u0141ucja;'\".book", "file:x.book"]
)
def test_any_name_will_do(name: str, tmp_path: Path) -> None:
    path = club_book(tmp_path, name)
    with open_book(path) as book:
        jumped(book, "2.61", "4.80")
    assert [p.name for p in tmp_path.iterdir()] == [name]


# --- versions -------------------------------------------------------------------------------------


def _wider(db: sqlite3.Connection) -> None:
    db.execute("ALTER TABLE attempt ADD COLUMN rain REAL")


def _later(monkeypatch: pytest.MonkeyPatch, step: Callable[[sqlite3.Connection], None]) -> None:
    """A program whose books have a step more."""
    monkeypatch.setattr("layout.book.schema.STEPS", (*STEPS, step))
    monkeypatch.setattr("layout.book.store.VERSION", VERSION + 1)


def test_a_step_more_loses_nothing_and_keeps_the_history_of_what_is_new(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        jumped(book, "2.61", "4.80")
        book.rows("PRAGMA wal_checkpoint(TRUNCATE)")
        before = book.rows("SELECT * FROM attempt")
    _later(monkeypatch, _wider)
    with open_book(path) as book:
        assert book.rows("PRAGMA user_version") == [(VERSION + 1,)]
        assert book.rows("SELECT * FROM attempt") == [(*row, None) for row in before]
        assert book.rows("PRAGMA journal_mode")[0][0] == "wal"
        with book.writing() as db:
            db.execute("UPDATE attempt SET rain = 1.0")
        assert book.rows("SELECT field, after FROM correction") == [("rain", "1.0")]
        with pytest.raises(sqlite3.DatabaseError, match="are kept"):
            book.db.execute("DELETE FROM attempt")


def test_a_book_of_version_1_opens_with_its_attempts_history_and_athlete_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "first.book"
    with of_version(1, monkeypatch):
        create(path)
    file = (CLUB_FOLDER / "imka.toml").read_text(encoding="utf-8")
    with sqlite3.connect(path, isolation_level=None) as db:
        old = file.replace("best_phases =", "jumped =")
        assert old != file
        db.execute("INSERT INTO athlete (name, leg, file) VALUES ('Imka', 'right', ?)", (old,))
        db.execute("INSERT INTO session (day, place) VALUES (?, 'track')", (DAY,))
        db.execute(
            "INSERT INTO attempt (session, athlete, drill, moves, lengths, total, foul, made) "
            "VALUES (1, 1, 'own', 'hop hop', '[2.6, 2.2]', 4.8, 0, '2026-05-02T10:00:00')"
        )
        db.execute("UPDATE attempt SET moves = 'hop step'")
    db.close()
    with open_book(path) as book:
        assert book.rows("PRAGMA user_version") == [(VERSION,)]
        (kept,) = attempts(book)
        assert (kept.phases, kept.lengths, kept.total) == (("hop", "step"), (2.6, 2.2), 4.8)
        history = book.rows("SELECT field, before, after FROM correction")
        assert history == [("phases", "'hop hop'", "'hop step'")]
        assert find_member(book, "imka").file == file
        assert check(book)[0] == []
        with book.writing() as db:
            db.execute("UPDATE attempt SET phases = 'step step'")
        assert book.rows("SELECT field FROM correction") == [("phases",), ("phases",)]


def test_a_step_that_fails_leaves_the_book_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def half(db: sqlite3.Connection) -> None:
        _wider(db)
        raise sqlite3.OperationalError("database or disk is full")

    path = club_book(tmp_path)
    before = dump(path)
    _later(monkeypatch, half)
    with pytest.raises(BadInput, match="the disk is full"):
        open_book(path)
    assert dump(path) == before


# --- several times in one process -----------------------------------------------------------------

_SECOND = """
import sys
from layout.book.store import open_book
from tests.layout.book.book_cases import jumped
with open_book(__import__("pathlib").Path(sys.argv[1])) as book:
    jumped(book, "2.50", "4.70")
"""


@POSIX
def test_a_book_open_twice_here_keeps_its_locks_against_other_processes(tmp_path: Path) -> None:
    """Without them the other, thinking itself alone, takes the log away that ours writes to."""
    path = club_book(tmp_path)
    with open_book(path) as one:
        jumped(one, "2.61", "4.80")
        log = os.stat(f"{path}-wal").st_ino
        with open_book(path) as two:
            assert len(attempts(two)) == 1
        subprocess.run([sys.executable, "-c", _SECOND, str(path)], check=True, cwd=ROOT)
        assert os.stat(f"{path}-wal").st_ino == log
        jumped(one, "2.62", "4.81")
        assert len(attempts(one)) == 3
    with open_book(path) as book:
        assert [a.total for a in attempts(book)] == [4.8, 4.7, 4.81]
        assert check(book)[0] == []
    assert not store._OPEN


def test_another_file_under_an_open_books_name_is_looked_at(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    with open_book(path):
        path.rename(tmp_path / "moved.book")
        not_a_book(path)
        with pytest.raises(BadInput, match="is not a book of this program"):
            open_book(path)


# --- a backup put back ----------------------------------------------------------------------------


def _crashed(path: Path, count: int) -> bytes:
    """The log of a book that was not closed, after so many attempts."""
    with open_book(path) as book:
        for i in range(count):
            jumped(book, "2.61", f"{4.8 + i / 100:.2f}")
        return Path(f"{path}-wal").read_bytes()


def test_a_log_that_does_not_fit_a_backup_is_refused_and_the_backup_stays(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    backup = path.read_bytes()
    with open_book(path) as book:  # what comes after the backup, and is in the file itself
        for i in range(300):
            add_name(book, f"Somebody {i}")
    log = _crashed(path, 5)
    path.write_bytes(backup)
    Path(f"{path}-wal").write_bytes(log)
    with pytest.raises(BadInput, match=r"does not fit the log beside it, marram\.book-wal .*mv "):
        open_book(path)
    assert path.read_bytes() == backup
    Path(f"{path}-wal").unlink()
    with open_book(path) as book:
        assert check(book)[0] == []


def test_the_log_of_a_crash_is_taken_over(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    before = path.read_bytes()
    log = _crashed(path, 5)
    path.write_bytes(before)
    Path(f"{path}-wal").write_bytes(log)
    with open_book(path) as book:
        assert len(attempts(book)) == 5


# --- refused --------------------------------------------------------------------------------------


def not_a_book(path: Path) -> None:
    path.write_bytes(b"name,hop\nRuna,2.61\n" * 50)


def empty(path: Path) -> None:
    path.write_bytes(b"")


def other_database(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE attempt (id INTEGER)")
    db.close()


def newer(path: Path) -> None:
    create(path)
    db = sqlite3.connect(path)
    db.execute("PRAGMA user_version = 99")
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.close()


def cut(path: Path) -> None:
    club_book(path.parent, path.name)
    path.write_bytes(path.read_bytes()[:30000])


def torn(path: Path) -> None:
    club_book(path.parent, path.name)
    data = bytearray(path.read_bytes())
    data[100:20000] = b"\xa5" * 19900
    path.write_bytes(data)


@pytest.mark.parametrize(
    ("make", "rule"),
    [
        (not_a_book, "is not a book of this program"),
        (empty, "is not a book of this program"),
        (other_database, "is not a book of this program"),
        (newer, "was written by a newer phasemark"),
        (cut, "is damaged|is not a book"),
        (torn, "is damaged|is not a book"),
        (lambda path: path.mkdir(), "cannot be read"),
        (lambda path: None, "is not there; phasemark book new"),
    ],
)
def test_what_is_no_sound_book_is_refused_untouched(
    make: Callable[[Path], None], rule: str, tmp_path: Path
) -> None:
    path = tmp_path / "a.book"
    make(path)
    before = path.read_bytes() if path.is_file() else None
    files = sorted(p.name for p in tmp_path.iterdir())
    with pytest.raises(BadInput, match=rule) as refused, open_book(path) as book:
        jumped(book, "2.61", "4.80")
    assert len(str(refused.value).splitlines()) == 1
    assert str(path) in str(refused.value)
    assert (path.read_bytes() if path.is_file() else None) == before
    assert sorted(p.name for p in tmp_path.iterdir()) == files


@given(at=st.integers(0, 73727), junk=st.binary(min_size=1, max_size=400))
def test_a_damaged_book_never_ends_in_a_traceback(
    at: int, junk: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("torn")
    path = club_book(folder)
    data = bytearray(path.read_bytes())
    data[at : at + len(junk)] = junk
    path.write_bytes(data)
    try:
        with open_book(path) as book:
            check(book)
            attempts(book)
            jumped(book, "2.61", "4.80")
    except BadInput as refused:
        told = str(refused)
    else:
        told = "sound"
    assert len(told.splitlines()) == 1


@pytest.mark.parametrize("locked", ["", "marram.book", "marram.book-wal", "marram.book-shm"])
def test_what_cannot_be_written_is_not_even_opened(
    locked: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Asked of the system, and answered here: a superuser may write everywhere."""
    path = club_book(tmp_path)
    with open_book(path):
        (tmp_path / "marram.book-wal").touch()
        monkeypatch.setattr(os, "access", lambda place, _: Path(place) != tmp_path / locked)
        files = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
        rule = f"chmod 600 .*{locked}$" if locked else "is in a read-only folder: copy it"
        with pytest.raises(BadInput, match=rule):
            open_book(path)
        assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == files


@POSIX
def test_a_read_only_folder(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    tmp_path.chmod(0o500)
    try:
        if os.access(tmp_path, os.W_OK):
            pytest.skip("this user may write everywhere")
        with pytest.raises(BadInput, match="read-only"):
            open_book(path)
        with pytest.raises(BadInput, match="could not be written"):
            create(tmp_path / "b.book")
    finally:
        tmp_path.chmod(0o700)


def test_a_read_only_folder_whoever_asks(tmp_path: Path) -> None:
    """The database's own words for it, since a superuser may write everywhere."""
    path = club_book(tmp_path)
    with open_book(path) as book:
        book.db.execute("PRAGMA query_only = ON")
        with pytest.raises(BadInput, match=r"read-only\?\); nothing was changed"):
            jumped(book, "2.61", "4.80")


def test_in_use_by_another_is_one_line(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    with open_book(path) as one, open_book(path, wait=0.05) as two:
        one.db.execute("BEGIN IMMEDIATE")
        with pytest.raises(BadInput, match="is in use by another program; nothing was changed"):
            jumped(two, "2.61", "4.80")
        assert attempts(two) == []  # reading goes on meanwhile
        one.db.execute("ROLLBACK")
        jumped(two, "2.61", "4.80")


def test_a_change_that_fails_half_way_changes_nothing(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    before = dump(path)
    with open_book(path) as book:

        def half() -> None:
            with book.writing() as db:
                db.execute("INSERT INTO session (day, place) VALUES ('2026-05-02', 'x')")
                find_member(book, "nobody at all")

        with pytest.raises(BadInput):
            half()
        assert book.rows("SELECT count(*) FROM session") == [(0,)]
    assert dump(path) == before


def test_rows_are_never_lost_or_rewritten_silently(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        number = jumped(book, "2.61", "4.80")
        for sql in ("DELETE FROM attempt", "DELETE FROM athlete", "DELETE FROM plan",
                    "DELETE FROM session"):  # fmt: skip
            with pytest.raises(BadInput, match="are kept"), book.writing() as db:
                db.execute(sql)
        with book.writing() as db:
            db.execute("UPDATE attempt SET wind = 1.5, total = NULL WHERE id = ?", (number,))
        kept = book.rows("SELECT field, before, after FROM correction ORDER BY id")
        assert kept == [("total", "4.8", "NULL"), ("wind", "NULL", "1.5")]
        for sql in ("DELETE FROM correction", "UPDATE correction SET before = 'x'"):
            with pytest.raises(BadInput, match="are kept"), book.writing() as db:
                db.execute(sql)


# --- sound ----------------------------------------------------------------------------------------


def test_check_finds_what_does_not_hang_together(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    row = {
        "session": 1, "athlete": 1, "drill": "a", "phases": "hop step", "total": 9.0, "foul": 0,
        "lengths": "[2.61, 2.19]", "made": "now",
    }  # fmt: skip
    with open_book(path) as book:
        jumped(book, "2.61", "4.80")
        wrong, counts = check(book)
        assert wrong == []
        held = {table: count for table, count in counts.items() if count}
        assert held == {"athlete": 2, "session": 1, "plan": 1, "attempt": 1}
        book.db.execute("PRAGMA foreign_keys = OFF")
        insert(book.db, row)
        insert(book.db, {**row, "total": 4.8, "session": 77})
        insert(book.db, {**row, "lengths": "[2.61]", "total": 2.61})
        insert(book.db, {**row, "lengths": "[2.61, :]"})
        wrong, _ = check(book)
    assert [w.partition(":")[0] for w in wrong] == [f"attempt {i}" for i in (3, 2, 4, 5)]


# --- many processes, and killed -------------------------------------------------------------------

WRITER = """
import sys
from pathlib import Path
from layout.book.entry import add
from layout.book.typed import Typed
from layout.book.store import open_book
path, count, pause = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
with open_book(path) as book:
    for i in range(count):
        typed = Typed("imka", "hop-step-sand", ("2.61", "4.80"), day="2026-05-02",
                      fields={"note": f"{pause} {i}"})
        number = add(book, typed).id
        print(number, flush=True)
"""


def writer(path: Path, count: int, name: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), str(count), name], stdout=subprocess.PIPE,
        text=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def confirmed(path: Path) -> list[int]:
    with open_book(path) as book:
        assert check(book)[0] == []
        return [a.id for a in attempts(book)]


def test_two_processes_write_at_once_and_both_succeed(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    both = [writer(path, 40, name) for name in "ab"]
    told = [int(line) for p in both for line in p.communicate(timeout=120)[0].split()]
    assert [p.returncode for p in both] == [0, 0]
    assert sorted(told) == confirmed(path) == list(range(1, 81))


def kill_rounds(path: Path, rounds: int) -> tuple[int, int]:
    """Kill a writing process many times; how many rows were confirmed, and how many are kept."""
    told: list[int] = []
    for i in range(rounds):
        process = writer(path, 100_000, f"{i}")
        assert process.stdout is not None
        told.append(int(process.stdout.readline()))
        time.sleep((i * 7919 % 100) / 2500)  # anywhere within some forty milliseconds of writing
        process.kill()
        rest = process.stdout.read()
        process.wait(60)
        process.stdout.close()
        told += [int(line) for line in rest.splitlines(keepends=True) if line.endswith("\n")]
        kept = confirmed(path)
        assert set(told) <= set(kept), "an entry that was confirmed is gone"
        assert len(kept) - len(told) <= i + 1, "more than the entry in progress"
    return len(told), len(kept)


def test_kill_at_any_instant_loses_at_most_the_entry_in_progress(tmp_path: Path) -> None:
    kill_rounds(club_book(tmp_path), int(os.environ.get("PHASEMARK_KILLS", "30")))


def test_making_a_book_that_is_killed_leaves_no_book(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def dies(_: sqlite3.Connection) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(store, "climb", dies)
    with pytest.raises(KeyboardInterrupt):
        create(tmp_path / "a.book")
    assert list(tmp_path.iterdir()) == []
