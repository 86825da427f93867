"""`phasemark book keep` takes the club's own drills and venues in."""

from __future__ import annotations

from pathlib import Path

import pytest

from layout.book.own import own_of
from layout.book.store import open_book
from layout.cli import main
from tests.layout.book.book_cases import club_book
from tests.layout.book.test_book_own import DUNES, RHYTHM


def test_own_drills_and_venues_are_kept_and_known(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = club_book(tmp_path)
    own = tmp_path / "own.toml"
    own.write_text(DUNES + RHYTHM)
    assert main(["book", "keep", str(path), str(own)]) == 0
    out = capsys.readouterr().out
    assert "venue Dune runway: new in the book" in out
    assert "drill Rhythm for Runa: new in the book" in out
    with open_book(path) as book:
        assert set(own_of(book).venues) == {"dunes"}
    words = ["book", "add", str(path), "imka", "marram-rhythm", "4", "3.5", "3.9", "3.4"]
    assert main([*words, "--zero", "each"]) == 0
    assert main(["book", "season", str(path), "imka"]) == 0
    assert "Rhythm for Runa" in capsys.readouterr().out
    own.write_text(RHYTHM.replace('"high"', '"low"'))
    assert main(["book", "keep", str(path), str(own)]) == 2
    assert "intensity: high or more needed" in capsys.readouterr().err
