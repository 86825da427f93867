"""Measured pictures in the book: kept once, corrected, exported, gone with their athlete."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from layout.book.correct import changes
from layout.book.erase import erase, export
from layout.book.exchange import back, out
from layout.book.people import find_member
from layout.book.pictures import Sight, keep_picture, picture, pictures, strike_picture
from layout.book.schema import VERSION
from layout.book.sound import check
from layout.book.store import Book, create, open_book
from layout.words.faults import BadInput
from tests.layout.book.book_cases import DAY, club_book, empty_book, every_byte, of_version

POINTS = "point,x,y,value\nhip,100.25,7,\nmark,3,4,2.61\n"


def sight(book: Book, who: str = "runa", **more: object) -> Sight:
    made = Sight(find_member(book, who).id, DAY, "training", "hop-step-sand", "step touchdown",
                 POINTS, {"knee_gap": (0.347, 0.034), "trunk_lean_touchdown": (-0.1, 0.05)},
                 "third run")  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]


def test_a_picture_comes_back_as_it_was_kept_and_counts_once(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        number, new = keep_picture(book, sight(book))
        assert new
        assert keep_picture(book, sight(book)) == (number, False)
        later, new = keep_picture(book, sight(book, day="2026-06-01", kind="competition"))
        assert new
        assert keep_picture(book, sight(book, instant="jump touchdown"))[1]
    with open_book(path) as book:
        kept = picture(book, number)
        plain = sight(book)
        same = {name: getattr(kept, name) for name in vars(plain)}
        assert (same, kept.name, kept.struck) == (vars(plain), "Runa", False)
        runa, imka = (find_member(book, n).id for n in ("runa", "imka"))
        assert [p.day for p in pictures(book, runa)] == [DAY, DAY, "2026-06-01"]
        assert [p.day for p in pictures(book, runa, until=DAY)] == [DAY, DAY]
        assert pictures(book, imka) == []
        assert check(book) == ([], check(book)[1])
        strike_picture(book, later)
        assert later not in {p.id for p in pictures(book)}
        assert picture(book, later).struck
        assert [(c.room, c.row, c.field) for c in changes(book)] == [("picture", later, "struck")]
        with pytest.raises(BadInput, match="struck out already"):
            strike_picture(book, later)
        # Struck out by mistake, it can be kept again.
        assert keep_picture(book, sight(book, day="2026-06-01", kind="competition"))[1]
        with pytest.raises(BadInput, match="no picture of this number"):
            picture(book, 99)
        with pytest.raises(sqlite3.DatabaseError, match="rows of picture are kept"):
            book.db.execute("DELETE FROM picture")


def test_what_no_book_can_hold_is_refused_and_nothing_kept(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        for wrong in (
            {"kind": "fun"},
            {"day": "someday"},
            {"athlete": 77},
            {"points": "x" * 20_001},
        ):
            with pytest.raises(BadInput):
                keep_picture(book, sight(book, **wrong))
        assert pictures(book, struck=True) == []


@pytest.mark.parametrize("text", ['{"knee_gap": [1, -1]}', '{"knee_gap": 1}', "{x}",
                                  '{"knee_gap": [1e999, 1]}'])  # fmt: skip
def test_check_finds_measures_that_nobody_can_read(tmp_path: Path, text: str) -> None:
    with open_book(club_book(tmp_path)) as book:
        number, _ = keep_picture(book, sight(book))
        with book.writing() as db:
            db.execute("UPDATE picture SET measures = ?", (text,))
        wrong, _ = check(book)
        assert len(wrong) == 1
        assert wrong[0].startswith(f"picture {number}: cannot be read")


def test_out_and_in_again(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        keep_picture(book, sight(book))
        strike_picture(book, keep_picture(book, sight(book, day="2026-06-01", drill=None))[0])
        out(book, tmp_path / "out")
        kept = pictures(book, struck=True)
    with open_book(empty_book(tmp_path)) as other:
        back(other, tmp_path / "out")
        assert pictures(other, struck=True) == kept
        with pytest.raises(BadInput, match="must be empty"):
            back(other, tmp_path / "out")


def test_erase_takes_points_and_measures_and_export_shows_them(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        number, _ = keep_picture(book, sight(book, note="zebrafish"))
        keep_picture(book, sight(book, "imka", note="behind Runa, windy"))
        strike_picture(book, number)
        runa = find_member(book, "runa")
        told = json.loads(export(book, runa))
        assert [p["points"] for p in told["picture"]] == [POINTS]
        assert told["picture"][0]["measures"]["knee_gap"] == [0.347, 0.034]
        assert [c["room"] for c in told["correction"]] == ["picture"]
        assert b"zebrafish" in every_byte(tmp_path)
        gone = erase(book, runa)
        assert (gone.pictures, gone.corrections, gone.mentions) == (1, 1, 1)
        (left,) = pictures(book, struck=True)
        assert (left.name, left.note) == ("Imka", "behind (erased), windy")
        assert changes(book) == []
    assert b"zebrafish" not in every_byte(tmp_path)


def test_a_book_of_version_2_opens_with_its_corrections(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "second.book"
    with of_version(2, monkeypatch):
        create(path)
    with sqlite3.connect(path, isolation_level=None) as db:
        db.execute("INSERT INTO athlete (name, leg) VALUES ('Imka', 'right')")
        db.execute("UPDATE athlete SET leg = 'left'")
    db.close()
    with open_book(path) as book:
        assert book.rows("PRAGMA user_version") == [(VERSION,)]
        assert [(c.room, c.before, c.after) for c in changes(book)] == [
            ("athlete", "'right'", "'left'")
        ]
        assert check(book)[0] == []
        assert keep_picture(book, sight(book, "imka"))[1]
        with pytest.raises(sqlite3.DatabaseError, match="corrections are kept"):
            book.db.execute("UPDATE correction SET row = 2")
