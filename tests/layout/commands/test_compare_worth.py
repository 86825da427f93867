"""`phasemark compare --worth`: the sheet and what is told, and what is refused."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from layout.cli import main
from layout.commands import compare_worth
from tests.layout.desk.test_desk_worth import made_curve
from tests.strategies import CLUB_FOLDER

WORDS = ("compare", "imka.toml", "short-triple-jump", "--on", "2026-05-01")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(compare_worth, "worth_of", lambda *_: made_curve())
    shutil.copy(CLUB_FOLDER / "imka.toml", tmp_path)
    return tmp_path


def test_a_sheet_is_written_and_the_answer_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*WORDS, "--of", "lever", "--worth", "w.pdf"]) == 0
    assert Path("w.pdf").read_bytes().startswith(b"%PDF")
    text = " ".join(capsys.readouterr().out.split())
    assert "Untested against anything published" in text
    assert "at 123° it costs 30 cm ± 5 cm" in text
    assert "not a measurement" in text
    assert "Warm up first" in text


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--of", "knees", "--worth", "w.pdf"), "can't be told for knees"),
        (("--of", "lever", "--worth", "w.txt"), "--worth"),
        (("--of", "lever", "--worth", "there.pdf"), "there.pdf"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(
    capsys: pytest.CaptureFixture[str], more: tuple[str, ...], said: str
) -> None:
    Path("there.pdf").write_bytes(b"kept")
    assert main([*WORDS, *more]) == 2
    assert said in capsys.readouterr().err
    assert Path("there.pdf").read_bytes() == b"kept"
    assert not Path("w.pdf").exists()
