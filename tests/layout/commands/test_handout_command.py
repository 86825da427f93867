"""`phasemark handout`: what it writes, what it says, what it refuses, how little it waits for."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from layout.cli import main
from layout.commands.demo_ import COMPARED, plans
from layout.commands.handout_ import beside
from layout.moving.clip import step_contact
from layout.moving.solved import at_hand
from layout.plan.stored import to_json
from layout.plan.tape import tape_card
from layout.plan.value import Plan
from layout.sheet.texts import Words
from tests.paper import bar_length, bare, pdf_paths, reader, svg_paths


@pytest.fixture
def made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Plan:
    """A saved demo plan in an empty working folder; solving is not allowed to take long."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "0.5")
    plan = next(plan for stem, plan, _, _ in plans() if stem == COMPARED)
    Path("p.json").write_text(to_json(plan), encoding="utf-8")
    return plan


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["handout", *words])
    said = capsys.readouterr()
    return code, said.out, said.err


def text_of(path: str) -> str:
    return bare("".join(leaf.extract_text() for leaf in reader(Path(path).read_bytes()).pages))


def test_pdf_holds_everything(made: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "p.json", "--to", "a.pdf")
    assert (code, err) == (0, "")
    assert "1:100" in out
    assert "next: print it at 100 %" in out
    said = text_of("a.pdf")
    words = Words(made, tape_card(made))
    for text in (made.who.name, made.title, made.job, *made.points, *made.cautions, words.sure):
        assert bare(text) in said
    assert "Figures1:75" in said
    assert "cm,free" in said or "kneegap" in said
    leaf = reader(Path("a.pdf").read_bytes()).pages[0]
    assert bar_length(pdf_paths(leaf)) == pytest.approx(50.0, abs=0.1)


def test_svg_pages_are_files_beside_each_other(
    made: Plan, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(capsys, "p.json", "--to", "a.svg", "--paper", "Letter", "--across", "--grey")
    assert code == 0
    assert "a.svg and a-2.svg" in out
    assert "Letter across, 2 pages" in out
    first = Path("a.svg").read_text(encoding="utf-8")
    assert bar_length(svg_paths(first)) == pytest.approx(50.0, abs=0.1)
    assert "@font-face" in first
    assert "Jumped" in first
    assert "Figures 1:" in Path("a-2.svg").read_text(encoding="utf-8")


def test_nothing_is_replaced_unasked(made: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    Path("a-2.svg").write_text("mine", encoding="utf-8")
    code, _, err = run(capsys, "p.json", "--to", "a.svg", "--paper", "Letter", "--across")
    assert code == 2
    assert "a-2.svg: output: exists already and is kept" in err
    assert not Path("a.svg").exists()
    assert Path("a-2.svg").read_text(encoding="utf-8") == "mine"
    assert (
        run(capsys, "p.json", "--to", "a.svg", "--paper", "Letter", "--across", "--overwrite")[0]
        == 0
    )
    assert run(capsys, "p.json", "--to", "a.svg")[0] == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "words: an athlete file and a drill, or a saved plan, needed"),
        (("p.json", "--to", "a.docx"), "--to: must be a file ending in .pdf, .svg"),
        (
            ("p.json", "--upright", "--across"),
            "--across: --upright and --across cannot go together",
        ),
        (("p.json", "--paper", "A9"), "--paper: must be one of A4, A3, Letter"),
        (("p.json", "--scale", "1:75"), "--scale: must be one of 1:50, 1:100, 1:200"),
        (
            ("p.json", "--scale", "1:50", "--upright", "--no-figure"),
            "does not fit this paper; would fit",
        ),
        (("p.json", "--plots", "p.json"), "--plots: cannot be made"),
    ],
)
def test_bad_input_is_one_line(
    made: Plan, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    code, _, err = run(capsys, *words)
    assert code == 2
    assert err.count("\n") == 1
    assert said in err


def test_a_motion_that_is_not_found_is_said_and_the_sheet_still_made(
    made: Plan, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from layout.words.faults import refuse

    def none(*_: object) -> None:
        raise refuse("motion", "no motion found within 0.5 s")

    monkeypatch.setattr("layout.moving.solved.motion_of", none)
    code, out, err = run(capsys, "p.json", "--to", "q.pdf")
    assert (code, err) == (0, "")
    assert "! no positions on it: motion: no motion found within 0.5 s" in out
    assert "Figures" not in text_of("q.pdf")
    assert bare(made.points[0]) in text_of("q.pdf")


def test_hostile_names(made: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    name = "Łucja O'Brien-Ðặng <script>alert(1)</script> 🏃"
    other = replace(made, who=replace(made.who, name=name))
    Path("q.json").write_text(to_json(other), encoding="utf-8")
    code, out, _ = run(capsys, "q.json", "--no-figure", "--to", "q.pdf")
    assert code == 0
    assert bare(name) in text_of("q.pdf")
    assert run(capsys, "q.json", "--no-figure", "--to", "q.svg")[0] == 0
    assert "<script" not in Path("q.svg").read_text(encoding="utf-8")
    assert run(capsys, "q.json", "--no-figure")[0] == 0
    (made_file,) = set(Path().glob("*.pdf")) - {Path("q.pdf")}
    assert "<" not in made_file.name
    assert "\n" in out


def test_plots_are_written_beside(made: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "p.json", "--to", "a.pdf", "--plots", "plots")
    assert code == 0
    names = sorted(p.name for p in Path("plots").iterdir())
    stem = "Imka-short-triple-jump"
    assert names == [f"{stem}-{plot}.svg" for plot in ("lever", "run", "split")]
    assert all(name in out for name in names)


def test_a_small_drawing_says_what_a_larger_one_wants(
    made: Plan, capsys: pytest.CaptureFixture[str]
) -> None:
    long = next(plan for stem, plan, _, _ in plans() if stem == "odalys-alternate-bounds")
    Path("l.json").write_text(to_json(long), encoding="utf-8")
    code, out, _ = run(capsys, "l.json", "--no-figure", "--upright", "--to", "l.pdf")
    assert code == 0
    assert "1:200, A4 upright" in out
    assert (
        "1:200, since at 1:100 24.0 m does not fit this paper; would fit: 1:200 on this paper or"
        in out
    )
    assert "1:100 on A4 across" in out
    assert "since" not in run(capsys, "l.json", "--no-figure", "--across", "--to", "m.pdf")[1]


def test_later_pages_names() -> None:
    assert beside("x/a.b.svg", 1) == "x/a.b.svg"
    assert Path(beside("x/a.b.svg", 2)) == Path("x/a.b-2.svg")


def test_a_sheet_without_figures_waits_for_nothing_heavy(made: Plan) -> None:
    """Neither the solver nor matplotlib is imported for a PDF."""
    code = (
        "import sys; from layout.cli import main; "
        "code = main(['handout', 'p.json', '--no-figure', '--to', 'a.pdf']); "
        "print(sorted({'casadi', 'matplotlib', 'av'} & set(sys.modules)), code)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.endswith("[] 0\n")


def test_a_motion_that_does_not_hold_is_not_handed_out(
    made: Plan, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The sheet comes without positions and says why; it is never drawn without a word."""
    motion = at_hand(made)
    assert motion is not None
    assert run(capsys, "p.json", "--to", "sound.pdf")[0] == 0
    gap = f"knee gap {step_contact(motion).reading.shown()['knee_gap']}"
    assert bare(gap) in text_of("sound.pdf")
    flight = replace(motion.phases[3], com=motion.phases[3].com + 0.01)
    phases = (*motion.phases[:3], flight, *motion.phases[4:])
    wrong = replace(motion, phases=phases)
    monkeypatch.setattr("layout.moving.solved.motion_of", lambda *_: wrong)
    code, out, _ = run(capsys, "p.json", "--to", "a.pdf")
    assert code == 0
    assert "no positions on it: motion: the one found does not hold (flight after" in out
    assert bare(gap) not in text_of("a.pdf")
