"""`phasemark handout SQUAD DRILLS`: what a coach types, reads and gets."""

from __future__ import annotations

import dataclasses
import shutil
from concurrent.futures import Executor, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from animate.body.body import body
from animate.motion.chain import Settings
from animate.motion.solve import canonical, fingerprint
from layout.cli import main
from layout.commands import handout_pack
from layout.commands.handout_ import is_squad
from layout.commands.handout_pack import ALL, INDEX
from layout.moving.chain import chain_of
from layout.moving.solved import kept_mark
from tests import strategies as own
from tests.paper import bare, reader
from tests.strategies import CLUB, CLUB_FOLDER

CSV = (
    "name;stature;mass;leg;born;target;level\n"
    "Łucja O'Brien-Ðặng;1,70;58,5;left;2004;11,20;intermediate\n"
    "<script>x</script>;1,80;72;right;2001;13,00;intermediate\n"
    "Cy;1,74;66000;right;2003;11,60;intermediate\n"
)
DAY = ("--on", "2026-11-25", "--venue", "marram-point")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with squads; the work is done in this process, with no time to solve anything."""

    def pool(cores: int) -> Executor:
        assert cores >= 1
        return ThreadPoolExecutor(1)

    monkeypatch.setattr(handout_pack, "pool", pool)
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "0.001")
    (tmp_path / "club").mkdir()
    for name in CLUB[:3]:
        shutil.copy(CLUB_FOLDER / f"{name}.toml", tmp_path / "club")
    (tmp_path / "s.csv").write_text(CSV, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["handout", *words])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_one_pdf_for_a_club(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drills = "short-triple-jump,hop-step-sand"
    code, out, err = run(
        capsys, "club", drills, "--to", "p.pdf", *DAY, "--grey", "--paper", "Letter"
    )
    assert (code, err) == (0, "")
    book = reader((here / "p.pdf").read_bytes())
    assert f"{len(book.pages) - 1} pages and contents" in out
    assert "of 4 sheets are without positions" in out
    for name in ("Runa", "Bram"):
        assert f"short-triple-jump: No marks for {name}:" in " ".join(out.split())
    assert "next: print it at 100 %" in out
    assert float(book.pages[0].mediabox.width) == pytest.approx(215.9 / 25.4 * 72, abs=0.1)
    front = book.pages[0].extract_text()
    assert "Imka" in front
    assert "no marks for Runa" in " ".join(front.split())
    assert "Without positions" in front
    # Imka's short triple jump comes solved: it is drawn with positions.
    imka = [p.extract_text() for p in book.pages if bare("Imka: Short") in bare(p.extract_text())]
    assert any("thigh high" in text for text in imka)
    assert not (here / "athletes").exists()


def test_a_folder_to_send_from(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "s.csv", "full-triple-jump", "--to", "out", *DAY)
    assert code == 2
    assert err.count("\n") == 1
    assert "s.csv:4: column 3 (mass)" in err
    assert "1 fault, told below; the others are done" in out
    files = {p.relative_to(here / "out").as_posix() for p in (here / "out").rglob("*.*")}
    assert {ALL, INDEX} < files
    assert len([f for f in files if f.startswith("athletes/")]) == 4
    index = (here / "out" / INDEX).read_text(encoding="utf-8")
    assert "s.csv:4" in index
    assert "<script>x" not in index
    assert "Cy" not in "".join(files)
    assert bare("s.csv:4: column 3 (mass)") in bare(
        reader((here / "out" / ALL).read_bytes()).pages[0].extract_text()
    )
    again = run(capsys, "s.csv", "full-triple-jump", "--to", "out", *DAY)[1]
    assert "0 files made, 6 found finished" in again
    assert "2 of 2 sheets are without positions" in again
    (here / "out" / ALL).write_text("mine")
    kept = run(capsys, "s.csv", "full-triple-jump", "--to", "out", *DAY)[1]
    assert (
        f"1 kept as they are, since somebody changed them (--overwrite replaces them): {ALL}"
        in " ".join(kept.split())
    )
    assert (here / "out" / ALL).read_text() == "mine"
    assert (
        "1 file made"
        in run(capsys, "s.csv", "full-triple-jump", "--to", "out", "--overwrite", *DAY)[1]
    )


def test_a_name_for_the_folder_is_found(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "club", "hop-step-hold", "--no-figure", *DAY)[0] == 0
    assert (here / "club-pack" / ALL).is_file()


def test_an_existing_pdf_is_kept(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "p.pdf").write_text("mine")
    code, out, err = run(capsys, "club", "hop-step-sand", "--to", "p.pdf", *DAY)
    assert (code, out) == (2, "")
    assert "p.pdf: output: exists already and is kept (--overwrite replaces it)" in err
    assert run(capsys, "club", "hop-step-sand", "--to", "p.pdf", "--overwrite", *DAY)[0] == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("club",), "words: a squad (a table or a folder of athlete files) and drills"),
        (("club", "hop-step-sand", "more"), "words: a squad"),
        (("club", "hop-stp-sand"), "did you mean hop-step-sand"),
        (("club", " , "), "drills: at least one drill's name needed"),
        (("club", "hop-step-sand", "--name", "Ada"), "--name: is for one athlete"),
        (("club", "hop-step-sand", "--plots", "x"), "--plots: is for one athlete"),
        (("club", "hop-step-sand", "--to", "x.svg"), "a file ending in .pdf, or a folder"),
        (("club", "hop-step-sand", "--cores", "0"), "--cores: "),
        (("none.csv", "hop-step-sand"), "none.csv: file: cannot be read"),
        (
            ("club", "hop-step-sand", "--upright", "--across"),
            "--across: --upright and --across cannot go together",
        ),
        (("club", "hop-step-sand", "--to", "s.csv/x"), "cannot be made"),
    ],
)
def test_bad_input_is_one_line(
    here: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    code, out, err = run(capsys, *words)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert said in err


def test_a_squad_in_which_nobody_can_be_read_is_refused(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "b.csv").write_text("name;stature;mass;leg;target\nA;9;60;left;11\n")
    code, out, err = run(capsys, "b.csv", "hop-step-sand", "--to", "b.pdf", *DAY)
    assert (code, out) == (2, "")
    assert "b.csv:2" in err
    assert not (here / "b.pdf").exists()


def test_nobody_who_fits_leaves_no_pdf(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """At a scale that fits nobody each is told and nothing is written."""
    code, _, err = run(
        capsys, "club", "full-triple-jump", "--scale", "1:50", "--upright", "--to", "n.pdf", *DAY
    )
    assert code == 2
    assert err.count("does not fit this paper") == 1
    assert err.count("no marks for") == 2
    assert not (here / "n.pdf").exists()


def test_what_is_a_squad(here: Path) -> None:
    assert is_squad("club")
    assert is_squad("S.CSV")
    assert not is_squad("imka.toml")
    assert not is_squad("plan.json")


def test_both_cores_are_asked_for(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked: list[int] = []

    def pool(cores: int) -> Executor:
        asked.append(cores)
        return ThreadPoolExecutor(1)

    monkeypatch.setattr(handout_pack, "pool", pool)
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    run(capsys, "club", "hop-step-hold", "--to", "a.pdf", "--no-figure", *DAY)
    run(capsys, "club", "hop-step-hold", "--to", "b.pdf", "--no-figure", "--cores", "1", *DAY)
    assert asked == [2, 1]


def test_a_second_run_makes_nothing_again_until_something_changes(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (here / "s.csv").write_text(CSV.replace("intermediate", "advanced"), encoding="utf-8")
    words = ("s.csv", "full-triple-jump", "--to", "out", "--no-figure")
    first = run(capsys, *words, *DAY)
    made: list[str] = []
    usual = handout_pack._made

    def counted(*given: Any) -> Any:
        made.append("again")
        return usual(*given)

    monkeypatch.setattr(handout_pack, "_made", counted)
    second = run(capsys, *words, *DAY)
    assert made == []
    assert (second[0], second[2]) == (first[0], first[2])
    for line in first[1].splitlines():  # what there is to know is told again
        assert "made" in line or "pages" in line or line in second[1]
    assert "0 files made, 6 found finished" in second[1]
    for change in (("--upright",), ("--grey",), ("--zero", "pit"), ("--strides", "6")):
        run(capsys, *words, *DAY, *change)
        assert made == ["again"], change
        made.clear()
        run(capsys, *words, *DAY)
        made.clear()
    next((here / "out" / "athletes").glob("*.html")).unlink()
    run(capsys, *words, *DAY)
    assert made == ["again"]
    table = (here / "s.csv").read_text(encoding="utf-8")
    (here / "s.csv").write_text(table.replace("1,80", "1,81"), encoding="utf-8")
    made.clear()
    run(capsys, *words, *DAY)
    assert made == ["again"]


def test_a_motion_found_meanwhile_is_drawn(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The mark of what is kept changes with it, so that the sheet with positions is made."""
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path))
    plan = own.plan("imka", "two-hops-step-track", "track")
    plan = dataclasses.replace(plan, who=dataclasses.replace(plan.who, mass=58.25))
    assert kept_mark(plan) == ""
    who = body(plan.who.stature, plan.who.mass, plan.who.build)
    chain = chain_of(plan)
    chain = chain if canonical(chain) else chain.mirrored()
    (tmp_path / f"{fingerprint(chain, who, Settings())}.json").write_text("{}")
    assert kept_mark(plan) != ""


def test_a_pack_that_is_finished_is_told_without_working_again(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "60")
    words = ("s.csv", "hop-step-hold", "--to", "out", *DAY)
    first = run(capsys, *words)[1]
    assert "6 files made" in first
    assert "without positions" not in first
    monkeypatch.setattr(handout_pack, "_made", lambda *_: pytest.fail("made again"))
    again = run(capsys, *words)[1]
    assert "as it was made before" in again
    assert "0 files made, 6 found finished" in again
    assert "without positions" not in again
