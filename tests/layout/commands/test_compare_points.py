"""`phasemark compare --measured`, from the demo's file to figures, picture and JSON."""

from __future__ import annotations

import json
import shutil
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from layout.cli import main
from layout.commands.demo_ import COMPARED, plans
from layout.picture.points import read_points
from layout.plan.stored import to_json
from layout.rules.cautions import in_short
from layout.rules.standing import Standing
from tests.strategies import CLUB_FOLDER

WORDS = ("compare", "imka.toml", "short-triple-jump", "--on", "2026-05-01")
FILE = ("--measured", "imka-step.csv")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Imka's files and her demo plan, whose motion is shipped; solving is not allowed to take long."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "0.5")
    for name in ("imka.toml", "imka-step.csv"):
        shutil.copy(CLUB_FOLDER / name, tmp_path)
    plan = next(plan for stem, plan, _, _ in plans() if stem == COMPARED)
    (tmp_path / "p.json").write_text(to_json(plan), encoding="utf-8")
    return tmp_path


def edited(old: str, new: str) -> None:
    text = Path("imka-step.csv").read_text(encoding="utf-8")
    assert old in text
    Path("imka-step.csv").write_text(text.replace(old, new), encoding="utf-8")


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    code = main(list(words))
    caught = capsys.readouterr()
    assert not (caught.out and caught.err)
    return code, caught.out or caught.err


def as_json(capsys: pytest.CaptureFixture[str], *more: str) -> list[dict[str, Any]]:
    code, out = told(capsys, *WORDS, *FILE, "--json", "--overwrite", *more)
    assert code == 0
    return json.loads(out)["frames"]  # type: ignore[no-any-return]


def test_the_demo_file(capsys: pytest.CaptureFixture[str]) -> None:
    code, out = told(capsys, *WORDS, *FILE, "--to", "imka.svg")
    assert code == 0
    gap = next(line for line in out.splitlines() if line.startswith("  knee gap  "))
    assert "±" in gap
    assert gap.endswith("beyond margin")
    assert "  ! " not in out
    assert "next: phasemark ladder imka.toml --knee-gap 3" in out
    assert all(len(line) <= 80 for line in out.splitlines())
    drawn = ET.parse("imka.svg").getroot()
    said = ["".join(t.itertext()) for t in drawn.iter("{http://www.w3.org/2000/svg}text")]
    assert "Target figure" in said
    assert "Measured, touchdown" in said


def test_figures_and_json_agree(capsys: pytest.CaptureFixture[str]) -> None:
    _, out = told(capsys, *WORDS, *FILE)
    assert (
        Path("imka-short-triple-jump-measured.svg").exists()
        or Path("Imka-short-triple-jump-measured.svg").exists()
    )
    (frame,) = as_json(capsys)
    gap = frame["measures"]["knee_gap"]
    line = next(x for x in out.splitlines() if x.startswith("  knee gap  "))
    for value in (gap["target"], gap["measured"], gap["difference"]):
        assert f"{100 * value:.1f} cm" in line
    assert f"± {100 * gap['margin']:.1f}" in line
    assert gap["clear"] == (abs(gap["difference"]) > gap["margin"])
    assert gap["difference"] == pytest.approx(gap["measured"] - gap["target"])
    assert (frame["frame"], frame["runs"], frame["support_leg"]) == ("touchdown", "right", "right")
    assert frame["warnings"] == []


@pytest.mark.parametrize("grey", [(), ("--grey",)])
def test_png(capsys: pytest.CaptureFixture[str], grey: tuple[str, ...]) -> None:
    code, _ = told(capsys, "compare", "p.json", *FILE, "--to", "a.png", *grey)
    assert code == 0
    with Image.open("a.png") as picture:
        colours = picture.convert("RGB").getcolors(1 << 22)
    assert colours is not None
    plain = all(max(c) - min(c) <= 2 for _, c in colours)  # type: ignore[arg-type]
    assert plain == bool(grey)
    assert told(capsys, "compare", "p.json", *FILE, "--to", "a.pdf")[0] == 0
    assert Path("a.pdf").read_bytes().startswith(b"%PDF")


def test_several_frames(capsys: pytest.CaptureFixture[str]) -> None:
    """The one called touchdown is compared with the target, the others are measured alone."""
    text = Path("imka-step.csv").read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if line.startswith("touchdown;")]
    early = []
    for row in rows:
        _, name, x, y, value = row.split(";")
        early.append(";".join(("early", name, str(int(x) - 30), y, value)))
    Path("imka-step.csv").write_text(
        "frame;point;x;y;value\n" + "\n".join([*early, *rows]) + "\n", encoding="utf-8"
    )
    first, second = as_json(capsys)
    assert (first["frame"], second["frame"]) == ("early", "touchdown")
    assert "target" not in first["measures"]["knee_gap"]
    assert "target" in second["measures"]["knee_gap"]
    assert first["measures"]["knee_gap"]["measured"] == pytest.approx(
        second["measures"]["knee_gap"]["measured"]
    )
    assert second["warnings"] == [
        "The camera moved by 30 pixels between frames early and touchdown: each is measured by its "
        "own marks; keep the camera still."
    ]
    _, out = told(capsys, *WORDS, *FILE, "--overwrite")
    assert "\nearly: 3" in out


def test_the_sheet_and_the_text_say_what_to_mind(capsys: pytest.CaptureFixture[str]) -> None:
    code, out = told(capsys, *WORDS, *FILE, "--to", "m.svg")
    assert code == 0
    drawn = " ".join(
        e.text for e in ET.fromstring(Path("m.svg").read_text(encoding="utf-8")).iter() if e.text
    )
    for said in (out, drawn):
        assert in_short(Standing(16, "beginner", 0.0)) in " ".join(said.split())


def test_a_second_picture_gets_a_sheet_of_its_own(capsys: pytest.CaptureFixture[str]) -> None:
    stem = "Imka-short-triple-jump-measured"
    for name in (f"{stem}.svg", f"{stem}-2.svg", f"{stem}-3.svg"):
        code, out = told(capsys, *WORDS, *FILE)
        assert code == 0
        assert out.startswith(f"{name}: ")
        assert Path(name).is_file()
    first = Path(f"{stem}.svg").read_bytes()
    assert told(capsys, *WORDS, *FILE, "--overwrite")[1].startswith(f"{stem}.svg: ")
    assert Path(f"{stem}.svg").read_bytes() == first
    assert not Path(f"{stem}-4.svg").exists()
    assert told(capsys, *WORDS, *FILE, "--to", f"{stem}.svg")[0] == 2


def test_the_other_leg_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    text = Path("imka-step.csv").read_text(encoding="utf-8")
    text = text.replace("near ", "x ").replace("far ", "near ").replace("x ", "far ")
    Path("imka-step.csv").write_text(text, encoding="utf-8")
    (frame,) = as_json(capsys)
    assert frame["support_leg"] == "left"
    assert "The left leg is down in the picture, the right one in the plan" in frame["warnings"][0]


def test_what_is_missing_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    text = Path("imka-step.csv").read_text(encoding="utf-8")
    kept = [x for x in text.splitlines() if not any(w in x for w in ("wrist", "shoulder"))]
    Path("imka-step.csv").write_text("\n".join(kept), encoding="utf-8")
    code, out = told(capsys, *WORDS, *FILE)
    assert code == 0
    assert "Not read for want of points: trunk lean, toe ahead of centre." in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("compare", "imka.toml", *FILE),
            "words: an athlete file (.toml) and one drill's name",
        ),
        (("compare", *FILE), "words: an athlete file and a drill needed"),
        ((*WORDS, "--measured", "none.csv"), "none.csv: file: cannot be read"),
        (
            (*WORDS, *FILE, "--to", "a.gif"),
            "--to: with --measured must be a file ending in .svg, .pdf, .png",
        ),
        ((*WORDS, *FILE, "--plot", "a.png"), "--plot: not with --measured"),
        ((*WORDS, *FILE, "--to", "imka.toml"), "--to: would be written over a file that is read"),
        ((*WORDS, *FILE, "--to", "none/a.svg"), "none/a.svg: output: its folder must exist"),
    ],
)
def test_refused(capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str) -> None:
    code, out = told(capsys, *words)
    assert code == 2
    assert said in out
    assert "Traceback" not in out


def test_all_faults_of_a_file_are_told_and_nothing_is_written(
    capsys: pytest.CaptureFixture[str], folder: Path
) -> None:
    edited("touchdown;hip;1003", "touchdown;hipp;1003")
    edited("touchdown;far toe;825", "touchdown;far toe;8m")
    before = sorted(p.name for p in folder.iterdir())
    code, out = told(capsys, *WORDS, *FILE, "--to", "a.svg")
    assert code == 2
    assert len(out.splitlines()) == 3
    assert "imka-step.csv:11: point: must be a known point; did you mean hip" in out
    assert "far toe, column x: must be a number of pixels up to 100000, got '8m'" in out
    assert "frame touchdown: hip is missing" in out
    assert sorted(p.name for p in folder.iterdir()) == before


def test_faults_found_while_measuring_name_the_file(capsys: pytest.CaptureFixture[str]) -> None:
    text = Path("imka-step.csv").read_text(encoding="utf-8")
    kept = [x for x in text.splitlines() if "toe" not in x]
    Path("imka-step.csv").write_text("\n".join(kept), encoding="utf-8")
    code, out = told(capsys, *WORDS, *FILE)
    assert code == 2
    assert "imka-step.csv: frame touchdown: toe and heel of the leg that is down needed" in out


def test_an_existing_picture_is_kept(capsys: pytest.CaptureFixture[str]) -> None:
    Path("a.svg").write_text("mine", encoding="utf-8")
    code, out = told(capsys, *WORDS, *FILE, "--to", "a.svg")
    assert code == 2
    assert "a.svg: output: exists already and is kept (--overwrite replaces it)" in out
    assert Path("a.svg").read_text(encoding="utf-8") == "mine"
    assert told(capsys, *WORDS, *FILE, "--to", "a.svg", "--overwrite")[0] == 0


def test_the_invented_file_says_so() -> None:
    text = (CLUB_FOLDER / "imka-step.csv").read_text(encoding="utf-8")
    assert text.startswith("# Invented for the fictional club Marram Point")
    assert read_points(CLUB_FOLDER / "imka-step.csv").frames[0].name == "touchdown"
