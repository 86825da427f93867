"""`phasemark book picture`: from the demo's file of points into the book, and bad input."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from layout.cli import main
from tests.layout.book.book_cases import club_book
from tests.strategies import CLUB_FOLDER

KEEP = ("book", "picture", "a.book", "imka", "imka-step.csv")
DRILL = ("--drill", "short-triple-jump", "--on", "2026-05-01")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    shutil.copy(CLUB_FOLDER / "imka-step.csv", tmp_path)
    club_book(tmp_path, "a.book")
    return tmp_path


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    code = main(list(words))
    caught = capsys.readouterr()
    assert not (caught.out and caught.err)
    return code, caught.out or caught.err


def test_kept_listed_struck_out(capsys: pytest.CaptureFixture[str]) -> None:
    code, said = told(capsys, *KEEP, *DRILL)
    assert code == 0
    assert said.startswith("picture 1, Imka, step touchdown of short-triple-jump on 2026-05-01")
    assert "knee gap 34.7 cm ± 3.4" in said
    assert "was kept already" in told(capsys, *KEEP, *DRILL)[1]
    code, said = told(capsys, "book", "list", "a.book", "--pictures")
    assert (code, said.count("Imka"), "knee gap 34.7 cm ± 3.4" in said) == (0, 1, True)
    code, said = told(capsys, "book", "picture", "a.book", "--strike", "1")
    assert (code, "struck out" in said) == (0, True)
    code, said = told(capsys, "book", "list", "a.book", "imka", "--corrections")
    assert (code, "picture 1" in said) == (0, True)
    assert "nothing here yet" in told(capsys, "book", "list", "a.book", "--pictures")[1]


@pytest.mark.parametrize(
    ("more", "rule"),
    [
        ((), "drill: is needed in training"),
        (("--drill", "nothing-such"), "drill: is not known"),
        ((*DRILL, "--kind", "fun"), "kind: must be one of training, competition"),
        ((*DRILL, "--instant", "landing"), "instant: must be one of hop touchdown"),
        (("--drill", "short-triple-jump", "--on", "2999-01-01"), "on: must be a day from 1900"),
        ((*DRILL, "--strike", "1"), "athlete: has no meaning with --strike"),
    ],
)
def test_refused_in_one_line(
    capsys: pytest.CaptureFixture[str], more: tuple[str, ...], rule: str
) -> None:
    code, said = told(capsys, *KEEP, *more)
    assert (code, len(said.splitlines())) == (2, 1)
    assert said.startswith(f"phasemark: {rule}")
    assert "nothing here yet" in told(capsys, "book", "list", "a.book", "--pictures")[1]


def test_a_fault_of_the_points_names_their_file(capsys: pytest.CaptureFixture[str]) -> None:
    text = Path("imka-step.csv").read_text(encoding="utf-8")
    Path("imka-step.csv").write_text(text.replace("far knee", "far elbow", 1), encoding="utf-8")
    code, said = told(capsys, *KEEP, *DRILL)
    assert code == 2
    assert all("imka-step.csv" in line for line in said.splitlines())


def test_an_athlete_of_whom_only_the_name_is_known(capsys: pytest.CaptureFixture[str]) -> None:
    told(capsys, "book", "keep", "a.book", "--name", "Bo")
    code, said = told(capsys, "book", "picture", "a.book", "Bo", "imka-step.csv", *DRILL)
    assert (code, said) == (
        2, "phasemark: athlete: only the name is known; height, mass and leg needed, got 'Bo'\n"
    )  # fmt: skip
