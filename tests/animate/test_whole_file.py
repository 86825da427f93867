"""Files are written whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from animate.whole_file import write_whole


def put(text: str):  # type: ignore[no-untyped-def]
    return lambda name: Path(name).write_text(text)


def test_a_new_file_is_written_and_nothing_else_left(tmp_path: Path) -> None:
    write_whole(tmp_path / "a.gif", put("new"))
    assert [p.name for p in tmp_path.iterdir()] == ["a.gif"]
    assert (tmp_path / "a.gif").read_text() == "new"


def test_an_existing_file_is_kept_unless_told(tmp_path: Path) -> None:
    file = tmp_path / "a.gif"
    file.write_text("old")
    with pytest.raises(ValueError, match="exists already and is kept"):
        write_whole(file, put("new"))
    assert file.read_text() == "old"
    write_whole(file, put("new"), overwrite=True)
    assert file.read_text() == "new"
    assert [p.name for p in tmp_path.iterdir()] == ["a.gif"]


def test_a_file_that_appears_meanwhile_is_kept(tmp_path: Path) -> None:
    file = tmp_path / "a.gif"

    def fill(name: str) -> None:
        Path(name).write_text("new")
        file.write_text("somebody else's")

    with pytest.raises(ValueError, match="exists already and is kept"):
        write_whole(file, fill)
    assert file.read_text() == "somebody else's"
    assert [p.name for p in tmp_path.iterdir()] == ["a.gif"]


@pytest.mark.parametrize("trouble", [OSError(28, "No space left on device"), RuntimeError("x")])
def test_a_failure_half_way_leaves_the_old_file_whole(tmp_path: Path, trouble: Exception) -> None:
    file = tmp_path / "a.gif"
    file.write_text("old")

    def fill(name: str) -> None:
        Path(name).write_text("ha")
        raise trouble

    with pytest.raises((ValueError, RuntimeError)):
        write_whole(file, fill, overwrite=True)
    assert file.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.gif"]


def test_a_full_disk_is_told_in_one_line(tmp_path: Path) -> None:
    def fill(name: str) -> None:
        raise OSError(28, "No space left on device")

    with pytest.raises(ValueError, match=r"^file: could not be written \(No space left") as told:
        write_whole(tmp_path / "a.gif", fill)
    assert "\n" not in str(told.value)


@pytest.mark.parametrize(
    "name", ["no/such/folder/a.gif", "file.txt/a.gif", ".", "x" * 300 + ".gif"]
)
def test_an_impossible_place_is_refused_in_one_line(tmp_path: Path, name: str) -> None:
    (tmp_path / "file.txt").write_text("")
    with pytest.raises(ValueError, match=r"^file: ") as told:
        write_whole(tmp_path / name, put("new"))
    assert "\n" not in str(told.value)
    assert [p.name for p in tmp_path.iterdir()] == ["file.txt"]
