"""Files are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from animate.whole_file import write_all, write_whole


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


def test_several_files_are_all_written_or_none(tmp_path: Path) -> None:
    one, two = tmp_path / "a.svg", tmp_path / "b.svg"

    def broken(name: str) -> None:
        Path(name).write_text("ha")
        raise OSError(28, "No space left on device")

    with pytest.raises(ValueError, match=r"could not be written .*b\.svg"):
        write_all([(one, put("1")), (two, broken)])
    assert not [*tmp_path.iterdir()]
    one.write_text("old")
    with pytest.raises(ValueError, match="exists already and is kept"):
        write_all([(two, put("2")), (one, put("1"))])
    assert [p.name for p in tmp_path.iterdir()] == ["a.svg"]
    write_all([(two, put("2")), (one, put("1"))], overwrite=True)
    assert (one.read_text(), two.read_text()) == ("1", "2")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.svg", "b.svg"]


@pytest.mark.parametrize("overwrite", [False, True])
def test_what_was_moved_is_taken_back_when_the_next_cannot_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, overwrite: bool
) -> None:
    one, two = tmp_path / "a.svg", tmp_path / "b.svg"
    if overwrite:
        one.write_text("old 1")
        two.write_text("old 2")
    name = "replace" if overwrite else "link"
    usual = getattr(os, name)

    def refusing(source: str, target: str) -> None:
        if str(target).endswith("b.svg"):
            raise FileExistsError(17, "in the way") if not overwrite else OSError(5, "broken")
        usual(source, target)

    monkeypatch.setattr(os, name, refusing)
    with pytest.raises(ValueError, match=r"b\.svg"):
        write_all([(one, put("1")), (two, put("2"))], overwrite)
    monkeypatch.undo()
    left = {p.name: p.read_text() for p in tmp_path.iterdir()}
    assert left == ({"a.svg": "old 1", "b.svg": "old 2"} if overwrite else {})


def test_two_files_of_one_name_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="a name of its own"):
        write_all([(tmp_path / "a", put("1")), (tmp_path / "." / "a", put("2"))])


def test_a_file_is_on_the_disk_before_it_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    fsync, link = os.fsync, os.link
    monkeypatch.setattr(os, "fsync", lambda number: (said.append("sync"), fsync(number))[1])
    monkeypatch.setattr(os, "link", lambda a, b: (said.append("move"), link(a, b))[1])
    write_whole(tmp_path / "a.json", put("1"), sync=True)
    assert said == ["sync", "move", "sync"]
