"""The club's own drills and venues: kept as written, refused as the catalogue's are, never doubled."""

from __future__ import annotations

import sqlite3
from importlib.resources import files
from pathlib import Path

import pytest

from layout.book.entry import add
from layout.book.erase import erase
from layout.book.exchange import back, out
from layout.book.own import changes_of, drills_known, own_of, put_own, take_away, text_of
from layout.book.people import find_member
from layout.book.sound import check
from layout.book.store import create, open_book
from layout.book.typed import Typed
from layout.words.faults import BadInput
from tests.layout.book.book_cases import DAY, club_book, empty_book, of_version

DUNES = """\
# measured in May
[venue.dunes]
title = "Dune runway"
runway_length = 31.5
boards = ["7 m", "30-0"]
pit_length = 7.0
"""
RHYTHM = """\
[drill.marram-rhythm]
title = "Rhythm for Runa"
job = "Keeps the step long."
phases = ["hop", "step", "hop", "step"]
start = "run"
strides = 6
lead = "strong"
ends = "track"
finish = "run on"
arcs = ["low", "natural", "low", "natural"]  # low first
level = "intermediate"
dose = { beginner = [2, 3], intermediate = [3, 4], advanced = [3, 5] }
intensity = "high"
points = ["Runa: tall at the step."]
faults = ["Short step -> late free leg -> wait for it."]
"""


def kept(book: object, text: str) -> list[str]:
    found = changes_of(book, text, "own.toml")  # type: ignore[arg-type]
    put_own(book, found)  # type: ignore[arg-type]
    return [change.state for change in found]


def test_a_file_of_several_is_kept_entry_by_entry_with_its_remarks(tmp_path: Path) -> None:
    path = empty_book(tmp_path)
    with open_book(path) as book:
        assert kept(book, DUNES + "\n" + RHYTHM) == ["new", "new"]
        own = own_of(book)
        assert own.venues["dunes"].boards == pytest.approx((7.0, 9.144), abs=1e-9)
        assert own.drills["marram-rhythm"].youngest == 13
        assert text_of(book, "venue", "dunes") == DUNES
        assert text_of(book, "drill", "marram-rhythm") == RHYTHM
        assert kept(book, RHYTHM) == ["same"]
        assert check(book)[0] == []
    with open_book(path) as book:
        assert own_of(book) == own


def test_what_stood_before_a_change_and_what_is_taken_away_stays_in_the_book(
    tmp_path: Path,
) -> None:
    with open_book(empty_book(tmp_path)) as book:
        kept(book, DUNES)
        assert kept(book, DUNES.replace("31.5", "32.5")) == ["changed"]
        assert own_of(book).venues["dunes"].runway_length == 32.5
        ((before,),) = book.rows("SELECT before FROM correction WHERE room = 'own'")
        assert "31.5" in before
        take_away(book, "venue", "dunes")
        assert own_of(book).venues == {}
        with pytest.raises(BadInput, match="is not one of the club's own"):
            take_away(book, "venue", "dunes")
        with pytest.raises(sqlite3.DatabaseError, match="are kept"):
            book.db.execute("DELETE FROM own")
        assert kept(book, DUNES) == ["back"]
        assert own_of(book).venues["dunes"].runway_length == 31.5


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        (RHYTHM.replace('"high"', '"low"'), "intensity: high or more needed"),
        (RHYTHM + "youngest = 9\n", "youngest: 13 or more needed"),
        (RHYTHM.replace("marram-rhythm", "hop-step-sand"), "comes with Phasemark"),
        (DUNES.replace("venue.dunes", "venue.club"), "comes with Phasemark"),
        (DUNES + '[athlete]\nname = "x"\n', "athlete: is not known here"),
        (DUNES.replace("31.5", "200"), "runway_length"),
        ("venue.dunes.title = 'x'\nvenue.dunes.runway_length = 30\n", "a heading of its own"),
        ("[venue]\n", r"at least one \[venue.name\] needed"),
    ],
)  # fmt: skip
def test_what_asks_for_less_care_or_cannot_be_read_is_refused_whole(
    text: str, rule: str, tmp_path: Path
) -> None:
    with open_book(empty_book(tmp_path)) as book:
        with pytest.raises(BadInput, match=rule):
            changes_of(book, text if "dunes" in text or text == "[venue]\n" else DUNES + text, "f")
        assert book.rows("SELECT count(*) FROM own") == [(0,)]


def test_the_catalogues_own_files_part_into_their_entries(tmp_path: Path) -> None:
    """Every entry of a long file is found: renamed, since the catalogue's names are taken."""
    with open_book(empty_book(tmp_path)) as book:
        for name, kind in (("drills.toml", "drill"), ("venues.toml", "venue")):
            text = files("layout.catalogue").joinpath(name).read_text("utf-8")
            mine = text.replace(f"[{kind}.", f"[{kind}.my-")
            found = changes_of(book, mine, name)
            assert len(found) == text.count(f"\n[{kind}.") - text.count(".source]\n")
            put_own(book, found)
        assert len(drills_known(book)) == 2 * len(own_of(book).drills)


def test_a_run_of_an_own_drill_is_put_down_by_its_name(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        kept(book, RHYTHM)
        typed = Typed("imka", "rhythm for runa", ("4", "3.5", "3.9", "3.4"), zero="each", day=DAY)
        assert add(book, typed).phases == ("hop", "step", "hop", "step")


def test_out_and_back_and_a_folder_of_an_older_book(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        kept(book, DUNES + RHYTHM)
        own = own_of(book)
        out(book, tmp_path / "out")
    with open_book(empty_book(tmp_path)) as book:
        back(book, tmp_path / "out")
        assert own_of(book) == own
    (tmp_path / "out" / "own.csv").unlink()
    with open_book(empty_book(tmp_path, "third.book")) as book:
        assert back(book, tmp_path / "out")["own"] == 0


def test_a_book_of_version_4_keeps_its_corrections(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "four.book"
    with of_version(4, monkeypatch):
        create(path)
        with open_book(path) as book:
            book.rows("INSERT INTO athlete (name) VALUES ('Ada')")
            book.rows("UPDATE athlete SET note = 'x'")
            before = book.rows("SELECT * FROM correction")
            assert len(before) == 1
    with open_book(path) as book:
        assert book.rows("SELECT * FROM correction") == before
        assert kept(book, DUNES) == ["new"]
        kept(book, DUNES.replace("31.5", "30"))
        assert book.rows("SELECT room, field FROM correction")[1:] == [("own", "file")]


def test_an_erased_name_goes_from_own_drills_too(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        kept(book, RHYTHM.replace("marram-rhythm", "runa-rhythm"))
        gone = erase(book, find_member(book, "Runa"))
        (drill,) = own_of(book).drills.values()
        assert (drill.slug, drill.title) == ("erased-rhythm", "Rhythm for (erased)")
        assert drill.points == ("(erased): tall at the step.",)
        assert gone.left == ()
        assert text_of(book, "drill", "erased-rhythm")
        assert check(book)[0] == []
