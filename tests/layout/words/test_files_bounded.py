"""Any path and any content: refused in one line or read, at once, never hanging."""

from __future__ import annotations

import gzip
import os
import socket
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from animate.whole_file import read_bounded, read_whole
from layout.athlete.athlete import read_athlete
from layout.book.exchange import LARGEST
from layout.cli import main
from layout.picture.points import points_from, read_points
from layout.plan.drill import read_drills
from layout.plan.venue import find_venue
from layout.squad.roster import read_squad, squad_from
from layout.squad.work import Ledger
from layout.training.rungs import read_ladder
from layout.training.seen import read_seen
from layout.words.faults import MOST_TOLD, BadInput, Fault, shown
from layout.words.reading import is_folder, read_small, read_text
from layout.words.table import read_table

READERS: dict[str, Callable[[Path], Any]] = {
    "athlete": read_athlete,
    "drills": read_drills,
    "ladder": read_ladder,
    "venue": lambda path: find_venue(str(path)),
    "seen": lambda path: read_seen(path, __import__("datetime").date(2026, 5, 1)),
    "squad": read_squad,
    "points": read_points,
    "table": read_table,
    "text": read_text,
    "book's folder": lambda path: read_text(path, LARGEST),
}


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _socket(path: Path) -> None:
    here = os.getcwd()
    os.chdir(path.parent)
    try:
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(path.name)
    finally:
        os.chdir(here)


def _dangling(path: Path) -> None:
    path.symlink_to(path.parent / "nowhere")


def _device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _loop(path: Path) -> None:
    path.symlink_to(path)


@pytest.mark.parametrize("make", [_pipe, _socket, _dangling, _device, _loop, Path.mkdir])
@pytest.mark.parametrize("reader", READERS)
def test_what_is_no_regular_file_is_refused_at_once(
    tmp_path: Path, reader: str, make: Callable[[Path], None]
) -> None:
    if reader == "squad" and make is Path.mkdir:
        return  # a folder is a squad
    path = tmp_path / "a.toml"
    make(path)
    began = time.monotonic()
    with pytest.raises(BadInput, match=r"a\.toml: file: cannot be read") as error:
        READERS[reader](path)
    assert time.monotonic() - began < 30.0  # none of them ever ends
    assert len(error.value.faults) == 1


def test_a_file_that_grows_without_end_is_bounded(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_bytes(b"x" * 1001)
    with pytest.raises(ValueError, match="at most 1 kB allowed"):
        read_whole(path, 1000)
    assert read_whole(path, 1001) == b"x" * 1001


def test_packing_is_opened_only_so_far(tmp_path: Path) -> None:
    path = tmp_path / "a.gz"
    path.write_bytes(gzip.compress(b"0" * 10_000_000))
    with pytest.raises(ValueError, match="at most 1 MB unpacked allowed"):
        read_bounded(path, 1_000_000)
    path.write_bytes(gzip.compress(b"abc"))
    assert read_bounded(path, 100) == b"abc"
    path.write_bytes(gzip.compress(b"abc" * 100)[:-12])
    with pytest.raises(ValueError, match="damaged"):
        read_bounded(path, 1000)


def test_a_pipe_in_a_folder_of_work_does_not_hang_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "phasemark-done.jsonl")
    os.mkfifo(tmp_path / "a.svg")
    ledger = Ledger(tmp_path)
    assert ledger.state("a.svg", "x") == "unknown"
    assert ledger.write("a.svg", b"<svg/>", "x", "unknown", False) == "kept"


@pytest.mark.parametrize("word", ["x" * 300, "a\0b", "\ud800", "y" * 5000])
def test_asking_for_a_folder_never_raises(word: str) -> None:
    assert not is_folder(word)
    with pytest.raises(BadInput):
        read_small(Path(word))


# --- sizes ----------------------------------------------------------------------------------------

BOMBS = {
    "deep key": ".".join(["a"] * 2000) + " = 1\n",
    "deep key over quotes": ".".join(['"a"'] * 1000) + " = 1\n",
    "long line": 'name = "' + "x" * 300_000 + '"\n',
    "unknown keys": "".join(f"kay{i} = 1\n" for i in range(8000)),
    "empty drills": "".join(f"[drill.d{i}]\n" for i in range(4000)),
    "few empty drills": "".join(f"[drill.d{i}]\n" for i in range(400)),
    "empty rungs": "".join(f"[rung.d{i}]\n" for i in range(400)),
    "long key": "x" * 4900 + " = 1\n",
    "deep list": "a = " + "[" * 900 + "]" * 900 + "\n",
    "many lists": "a = [\n" + "[],\n" * 90_000 + "]\n",
}


@pytest.mark.parametrize("bomb", BOMBS)
@pytest.mark.parametrize("reader", ["athlete", "drills", "ladder", "venue", "seen"])
def test_a_size_bomb_is_refused_at_once(tmp_path: Path, reader: str, bomb: str) -> None:
    path = tmp_path / "a.toml"
    path.write_text(BOMBS[bomb])
    began = time.process_time()
    with pytest.raises(BadInput) as error:
        READERS[reader](path)
    assert time.process_time() - began < 2.0
    lines = error.value.told()
    assert len(lines) <= MOST_TOLD + 1
    assert max(map(len, lines)) < 1200


def test_titles_and_words_without_end() -> None:
    head = "name;stature;mass;leg;best"
    row = "A;1,7;60;left;10"
    for text in (
        ";".join(["name"] * 100_000) + "\n" + row,
        head + "\n" + "x" * 1_000_000,
        "x" * 1_000_000 + "\n" + row,
        head + ";" + ";".join(f"x{i}" for i in range(2000)) + "\n" + row,
    ):
        began = time.process_time()
        try:
            told = BadInput(squad_from(text, "club.csv").faults).told()
        except BadInput as error:
            told = error.told()
        assert time.process_time() - began < 2.0
        assert 0 < max(map(len, told)) < 1200


def test_a_table_of_long_or_many_lines_is_refused_with_the_line(tmp_path: Path) -> None:
    path = tmp_path / "club.csv"
    path.write_text("name;mass\nA;1\n" + "x" * 6000 + "\n")
    with pytest.raises(BadInput, match=r"club\.csv:3: file: lines of at most 5000 characters"):
        read_table(path)
    path.write_text("name\n" + "A\n" * 30_000)
    with pytest.raises(BadInput, match="at most 20000 lines allowed"):
        read_table(path)


def test_thousands_of_marks_on_one_picture_are_refused() -> None:
    rows = "".join(f"mark,{i},5,{i}cm\n" for i in range(4000))
    began = time.process_time()
    with pytest.raises(BadInput, match="at most 40 marks"):
        points_from("point,x,y,value\nhip,1,2,\n" + rows)
    assert time.process_time() - began < 2.0


def test_wrong_words_in_every_row_are_not_searched_without_end() -> None:
    text = "point,x,y,value\n" + "".join(f"near kneee{i},1,2,\n" for i in range(20_000))
    began = time.process_time()
    with pytest.raises(BadInput) as error:
        points_from(text)
    assert time.process_time() - began < 2.0
    assert len(error.value.told()) <= MOST_TOLD + 1


def test_a_fault_is_short_whatever_it_tells() -> None:
    long = "x" * 300_000
    line = str(Fault(long, long, long, long, 3))
    assert len(line) < 1200
    assert shown([long] * 100_000).endswith("…")
    nested: list[Any] = []
    for _ in range(100_000):
        nested = [nested]
    assert len(shown(nested)) < 80


def test_the_command_line_tells_no_flood(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("".join(f"kay{i} = 1\n" for i in range(3000)))
    assert main(["plan", str(path), "hop-step-sand"]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) <= MOST_TOLD + 1
    assert "more" in lines[-1]
    assert main(["plan", "x" * 100_000]) == 2
    with pytest.raises(SystemExit):
        main(["plan", "--" + "x" * 100_000])
    assert max(map(len, capsys.readouterr().err.splitlines())) < 1200
