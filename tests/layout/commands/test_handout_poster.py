"""`phasemark handout --poster`: what it writes, says and refuses."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from layout.cli import main
from layout.commands.handout_poster import TITLE
from layout.plan.stored import to_json
from tests.paper import bare, reader
from tests.strategies import CLUB_FOLDER, plan

DRILL = "short-triple-jump"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder; the demo poster's motions come solved, nothing else is solved."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "0.5")
    shutil.copy(CLUB_FOLDER / "imka.toml", tmp_path)
    (tmp_path / "p.json").write_text(to_json(plan("imka", DRILL)), encoding="utf-8")
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["handout", *words])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_the_poster_of_the_demo_needs_no_solving(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "imka.toml", DRILL, "--poster", "still", "--paper", "A3")
    assert (code, err) == (0, "")
    made = here / f"Imka-{DRILL}-poster.pdf"
    (leaf,) = reader(made.read_bytes()).pages
    assert float(leaf.mediabox.width) == pytest.approx(297 / 25.4 * 72, abs=0.1)
    assert bare(TITLE) in bare(leaf.extract_text())
    assert f"{made.name}: Imka: {TITLE}, A3, 1:25" in out
    assert "Knees together 10 cm, knees apart 45 cm: 35 cm" in out
    assert "next: print it at 100 %" in out
    assert not (here / "cache").exists()
    code, _, err = run(capsys, "imka.toml", DRILL, "--poster", "still", "--paper", "A3")
    assert code == 2
    assert "exists already and is kept" in err


@pytest.mark.parametrize(
    ("kind", "to", "head"),
    [
        ("still", "a.svg", b"<?xml"),
        ("still", "a.png", b"\x89PNG"),
        ("clip", "c.svg", b"<svg"),
        ("clip", "c.gif", b"GIF89a"),
    ],
)
def test_every_kind(
    here: Path, capsys: pytest.CaptureFixture[str], kind: str, to: str, head: bytes
) -> None:
    code, _, err = run(capsys, "imka.toml", DRILL, "--poster", kind, "--to", to, "--grey")
    assert (code, err) == (0, "")
    assert (here / to).read_bytes().startswith(head)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--poster", "still"), "words: an athlete file and a drill needed"),
        (("imka.toml", DRILL, "--poster", "stil"), "--poster: must be one of still, clip"),
        (("imka.toml", DRILL, "--poster", "still", "--to", "x.gif"), "--poster clip makes one"),
        (("imka.toml", DRILL, "--poster", "clip", "--to", "x.pdf"), "--poster still makes one"),
        (("imka.toml", DRILL, "--poster", "still", "--to", "x.doc"), "ending in .pdf, .svg, .png"),
        (
            ("imka.toml", DRILL, "--poster", "still", "--across"),
            "--across: not with --poster",
        ),
        (("imka.toml", DRILL, "--poster", "still", "--hops", "low"), "--hops: not with --poster"),
        (
            ("imka.toml", DRILL, "--poster", "still", "--paper", "Letter"),
            "--paper: must be one of A3, A4",
        ),
        (("imka.toml", DRILL, "--poster", "still", "--scale", "1:33"), "--scale: for a poster"),
        (("p.json", "--poster", "still"), "a saved plan has one kind of hop"),
        (
            ("imka.toml", DRILL, "--poster", "still", "--paper", "A4", "--scale", "1:10"),
            "would fit: 1:40 on this paper",
        ),
    ],
)
def test_bad_input_is_one_line(
    here: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    code, out, err = run(capsys, *words)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert said in err
