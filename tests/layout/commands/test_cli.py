"""The command line from outside: exit codes, one-line errors, what is imported, documented examples."""

from __future__ import annotations

import argparse
import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout import __version__, cli
from layout.cli import COMMANDS, EXAMPLES, main, parser
from layout.commands import demo_
from layout.commands.options import EPILOGS
from tests.strategies import CLUB_FOLDER

ROOT = Path(__file__).parents[3]


@pytest.fixture
def club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the demo club's files, gone to."""
    for file in (*CLUB_FOLDER.glob("*.toml"), *CLUB_FOLDER.glob("*.csv")):
        shutil.copy(file, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: str) -> int:
    """`main`, with argparse's way out taken as an exit code."""
    try:
        return main(words)
    except SystemExit as gone:
        code = gone.code
    assert isinstance(code, int)
    return code


def process(*words: str, **more: object) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, *words]
    return subprocess.run(  # type: ignore[call-overload, no-any-return]
        command, capture_output=True, text=True, encoding="utf-8", env=environment, timeout=60,
        check=False, **more,
    )  # fmt: skip


def complaint(capsys: pytest.CaptureFixture[str]) -> str:
    """The one line on standard error; nothing on standard output."""
    captured = capsys.readouterr()
    assert captured.out == ""
    lines: list[str] = captured.err.splitlines()
    assert len(lines) == 1, captured.err
    assert lines[0].startswith("phasemark: ")
    assert "Traceback" not in captured.err
    return lines[0]


# --- examples -------------------------------------------------------------------------------------


def examples() -> Iterator[str]:
    pages = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
    text = "\n".join(p.read_text(encoding="utf-8") for p in pages)
    shown = re.findall(r"^ {4}(phasemark .*?)(?: +#.*)?$", text, re.M)
    shown += re.findall(r"`(phasemark [^`]*)`", text)
    for text in (EXAMPLES, *EPILOGS.values()):
        shown += re.findall(r"^ {2}(phasemark .*)$", text, re.M)
    yield from dict.fromkeys(shown)


def test_every_page_the_readme_names_is_there_and_every_page_is_named() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"\]\(docs/([a-z-]+\.md)\)", readme))
    assert named == {p.name for p in (ROOT / "docs").glob("*.md")}
    assert len(readme.splitlines()) <= 100


def test_examples_are_found() -> None:
    found = list(examples())
    assert len(found) >= 12
    for command in COMMANDS:
        assert any(e.split()[1] == command for e in found)
        assert "phasemark " + command in EPILOGS[command]


@pytest.mark.parametrize("example", list(examples()))
def test_documented_example_runs(
    example: str,
    club: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Two plans of the demo are enough here; tests/test_gallery.py makes them all.
    monkeypatch.setattr(demo_, "SET", demo_.SET[:2])
    # The desk would stay until it is ended; tests/layout/desk asks it.
    monkeypatch.setattr("uvicorn.Server.run", lambda *_, **more: None)
    for screen in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(screen, raising=False)
    words = shlex.split(example)[1:]
    # Two athletes of a squad are enough too; tests/layout/squad has them all.
    head, *rows = (club / "club.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    two = [row for row in rows if row.startswith(("Imka", "Tevin"))]
    (club / "club.csv").write_text("".join([head, *two]), encoding="utf-8")
    if "." in words:
        for name in ("runa", "bram", "sefa", "odalys"):
            (club / f"{name}.toml").unlink()
    if "plan.json" in words:
        assert run("plan", "imka.toml", "hop-step-sand", "--save", "plan.json") == 0
    if "marram.book" in words and words[1] != "new":
        assert run("book", "new", "marram.book") == 0
        assert run("book", "keep", "marram.book", "runa.toml", "imka.toml") == 0
        assert run("book", "add", "marram.book", "runa", "hop-step-sand", "2.61", "4.80") == 0
    if "filled.csv" in words:
        rows = "athlete,drill,date,hop,step\nImka,hop-step-sand,2026-05-02,2.75,2.25\n"
        (club / "filled.csv").write_text(rows, encoding="utf-8")
    if words[:2] == ["book", "in"]:
        (club / "sent.txt").write_text("imka hop-step-sand 2.61 4.80\n", encoding="utf-8")
    capsys.readouterr()
    assert run(*words) == 0
    captured = capsys.readouterr()
    assert captured.out
    assert captured.err == ""
    if "--to" in words:
        assert (club / words[words.index("--to") + 1]).stat().st_size > 1000


# --- help, version --------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [(), ("--help",), *((c, "--help") for c in COMMANDS)])
def test_help_has_examples(words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(*words) == 0
    out = capsys.readouterr().out
    assert "examples:\n  phasemark" in out
    for command in COMMANDS if len(words) < 2 else ():
        assert command in out


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--version") == 0
    assert capsys.readouterr().out == f"phasemark {__version__}\n"


def test_every_option_is_explained() -> None:
    top = parser()
    (rooms,) = [a for a in top._actions if isinstance(a, argparse._SubParsersAction)]
    for room in rooms.choices.values():
        for action in room.known():
            assert action.help, action.option_strings


def test_two_dashes_are_a_value_to_be_refused_for_every_option() -> None:
    """`--weeks=--` came on as an empty list, which no reader of an option expects."""
    top = parser()
    (rooms,) = [a for a in top._actions if isinstance(a, argparse._SubParsersAction)]
    tried = 0
    for name, room in rooms.choices.items():
        for action in room.known():
            if action.option_strings and action.nargs is None:
                given = top.parse_args([name, f"{action.option_strings[-1]}=--"])
                assert getattr(given, action.dest) == "--", (name, action.option_strings)
                tried += 1
    assert tried > 60


@pytest.mark.parametrize(
    "words",
    [("ladder", "imka.toml", "--weeks=--"), ("ladder", "imka.toml", "--days=--"),
     ("ladder", "imka.toml", "--from=--"), ("ladder", "imka.toml", "--session=--"),
     ("ladder", "imka.toml", "--training-years=--"), ("ladder", "imka.toml", "--ladder", ""),
     ("ladder", "imka.toml", "--seen", ""), ("ladder", "imka.toml", "--session", ","),
     ("plan", "imka.toml", "hop-step-sand", "--strides=--"), ("squad", "club.csv", ""),
     ("squad", "club.csv", "hop-step-sand", "--sets=--"), ("squad", "", "hop-step-sand"),
     ("squad", "club.csv", ","), ("squad", "club.csv", "--drills", ",", "--to", "x"),
     ("handout", "club.csv", "", "--to", "x"), ("handout", "club.csv", ",", "--to", "x.pdf")],
)  # fmt: skip
def test_empty_words_and_lists_are_refused_on_one_line(
    words: tuple[str, ...], club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(*words) == 2
    assert "fault of the program" not in complaint(capsys)


def imported(*words: str, cwd: Path | None = None) -> set[str]:
    done = process("-X", "importtime", "-m", "layout", *words, cwd=cwd)
    assert done.returncode == 0, done.stderr[-500:]
    names = re.findall(r"^import time:.*\|\s*([\w.]+)$", done.stderr, re.M)
    assert "layout.cli" in names
    return {n.partition(".")[0] for n in names}


HEAVY = {"numpy", "matplotlib", "shapely", "scipy", "resvg_py", "PIL", "casadi", "av"}


@pytest.mark.parametrize(
    "words", [("--help",), ("plan", "--help"), ("--version",), ("plan", "--list"),
              ("plan", "--read", "hop-step-sand")],
)  # fmt: skip
def test_help_and_list_import_nothing_heavy(words: tuple[str, ...]) -> None:
    assert not imported(*words) & HEAVY


def test_plan_imports_no_drawing() -> None:
    seen = imported("plan", str(CLUB_FOLDER / "imka.toml"), "hop-step-sand")
    assert "numpy" in seen
    assert not seen & {"matplotlib", "scipy", "resvg_py", "PIL", "casadi", "av"}


@pytest.mark.parametrize("kind", ["svg", "pdf", "png"])
def test_a_drawing_waits_only_for_its_own_way_out(tmp_path: Path, kind: str) -> None:
    words = ("draw", str(CLUB_FOLDER / "imka.toml"), "hop-step-sand", "--to", f"a.{kind}")
    others = {"resvg_py", "PIL", "matplotlib"} - ({"resvg_py"} if kind == "png" else set())
    assert not imported(*words, cwd=tmp_path) & others


# --- bad input ------------------------------------------------------------------------------------

ADA = (
    "--name",
    "Ada",
    "--born",
    "2000",
    "--stature",
    "1.70",
    "--mass",
    "58",
    "--leg",
    "left",
    "--target",
    "11.20",
)
BAD: list[tuple[tuple[str, ...], str]] = [
    (("plan",), "words: an athlete file and a drill needed"),
    (("plan", "nobody.toml", "hop-step-sand"), r"nobody\.toml: file: cannot be read \(No such"),
    (("plan", "empty.toml", "hop-step-sand"), r"empty\.toml: file: is empty"),
    (("plan", "folder.toml", "hop-step-sand"), r"folder\.toml: file: cannot be read \(Is a dir"),
    (("plan", "latin.toml", "hop-step-sand"), r"latin\.toml:1: file: must be UTF-8 text"),
    (("plan", "broken.toml", "hop-step-sand"), r"broken\.toml:2: file: not valid TOML"),
    (("plan", "huge.toml", "hop-step-sand"), r"huge\.toml: file: at most 400 kB allowed"),
    (("plan", "typed.toml", "hop-step-sand"), r"typed\.toml:3: mass: must be a mass from 18 to 180 kg"),
    (("plan", "negative.toml", "hop-step-sand"), r"negative\.toml:5: target: must be 3 to 19\.5 m"),
    (("plan", "absurd.toml", "hop-step-sand"), r"absurd\.toml:5: target: must be 3 to 19\.5 m"),
    (("plan", "unknown.toml", "hop-step-sand"), r"unknown\.toml:6: heigth: is not a known field"),
    (("plan", "imka.toml", "hop-step-snad"), "drill: .*did you mean hop-step-sand"),
    (("plan", "imka.toml"), "words: an athlete file .* and one drill's name needed"),
    (("plan", "imka.toml", "bram.toml", "hop-step-sand"), "words: an athlete file"),
    (("plan", "imka", "hop-step-sand"), r"athlete: must be a file ending in \.toml, got 'imka'"),
    (("plan", "hop-step-sand"), "athlete: needs a file, or these options too: --name"),
    (("plan", "hop-step-sand", "--name", "Ada"), "these options too: --stature$"),
    (("plan", "hop-step-sand", *ADA[:-2], "--standing-jump", "4.1"), "--standing-jump: must be 0.5 to 4 m"),
    (("plan", "hop-step-sand", *ADA[:-2], "--five-bounds", "-9"), "--five-bounds: must be 2 to 22 m"),
    (("plan", "hop-step-sand", *ADA[:-2], "--flying-30", "fast"), "--flying-30: must be a number"),
    (("plan", "hop-step-sand", *ADA[:-2], "--flying-30", "38,5 s"), "--flying-30: must be a number from 2.4"),
    (("plan", "hop-step-sand", *ADA, "--speed", "99 km/h"), "--speed: .* 3 to 13 m/s, got '99 km/h'"),
    (("plan", "hop-step-sand", *ADA, "--wind", "99"), "--wind: .* from -20 to 20 m/s, got '99'"),
    (("plan", "hop-step-sand", *ADA, "--born", "2000", "--best", "3", "--target", "3"), "best: .* cannot"),
    (("plan", "hop-step-sand", *ADA, "--born", "2000", "--target", "3"), "target: .* cannot make a jump"),
    (("plan", "hop-step-sand", *ADA, "--jumped", "35:30:35"), "--jumped: it is called --best-phases now"),
    (("plan", "old.toml", "hop-step-sand"), r"old\.toml:6: jumped: is not .*; it is called best_phases now"),
    (("plan", "hop-step-sand", *ADA, "--target", "-5"), "--target: must be 3 to 19.5 m"),
    (("plan", "hop-step-sand", *ADA, "--target", "120"), "--target: must be 3 to 19.5 m"),
    (("plan", "hop-step-sand", *ADA, "--target", "12 m 3 ft"), "--target: .*not both"),
    (("plan", "hop-step-sand", *ADA, "--target", "nan"), "--target: must be a finite number"),
    (("plan", "hop-step-sand", *ADA, "--mass", "heavy"), "--mass: must be a mass"),
    (("plan", "hop-step-sand", *ADA, "--mass", "-3"), "--mass: must be a mass from 18 to 180 kg"),
    (("plan", "hop-step-sand", *ADA, "--mass", "nan"), "--mass: must be a mass from 18 to 180 kg"),
    (("plan", "hop-step-sand", *ADA, "--leg", "lefty"), "--leg: must be one of right, left"),
    (("plan", "hop-step-sand", *ADA, "--born", "20"), "--born: must be a whole number from 1900"),
    (("plan", "hop-step-sand", *ADA, "--born", "2009.5"), "--born: must be a whole number"),
    (("plan", "hop-step-sand", *ADA, "--name", "a\nb"), "--name: must be one line of printable text"),
    (("plan", "hop-step-sand", *ADA, "--name", " "), "--name: must be a text"),
    (("plan", "full-triple-jump", *ADA, "--split", "35:30:36.9"), "--split: shares must sum"),
    (("plan", "full-triple-jump", *ADA, "--split", "4 m/3 ft/4 m"), "--split: "),
    (("plan", "full-triple-jump", *ADA, "--split", "a:b:c"), "--split: "),
    (("plan", "imka.toml", "hop-step-sand", "--on", "today"), "--on: must be a date such as"),
    (("plan", "imka.toml", "hop-step-sand", "--strides", "many"), "--strides: must be a whole number"),
    (("plan", "imka.toml", "hop-step-sand", "--strides", "99"), "--strides: must be .* 1 to 24"),
    (("plan", "imka.toml", "hop-step-hold", "--strides", "4"), "strides: this drill starts from"),
    (("plan", "imka.toml", "hop-step-sand", "--hops", "lo"), "--hops: must be one of low, natural, high"),
    (("plan", "imka.toml", "hop-step-sand", "--cycles", "0"), "--cycles: must be .* 1 to 12"),
    (("plan", "imka.toml", "hop-step-sand", "--lead", "both"), "--lead: must be one of right, left"),
    (("plan", "imka.toml", "hop-step-sand", "--length", "90"), "length: must be|--length: must be"),
    (("plan", "imka.toml", "hop-step-sand", "--hurdle", "2"), "--hurdle: must be 0.05 to 0.6 m"),
    (("plan", "imka.toml", "hop-step-sand", "--zero", "middle"), "--zero: must be one of board, start, pit"),
    (("plan", "imka.toml", "hop-step-hold", "--zero", "start"), "zero: this drill has no approach"),
    (("plan", "imka.toml", "hop-step-hold", "--venue", "track", "--zero", "pit"), "zero: .* no pit"),
    (("plan", "imka.toml", "hop-step-sand", "--venue", "track"), "venue: .*no pit"),
    (("plan", "imka.toml", "hop-step-sand", "--venue", "clubb"), "venue: .*did you mean club"),
    (("plan", "imka.toml", "hop-step-sand", "--venue", "gone.toml"), r"gone\.toml: file: cannot"),
    (("plan", "imka.toml", "hop-step-sand", "--tape", "yards"), "--tape: must be one of cm, ft"),
    (("plan", "imka.toml", "hop-step-sand", "--tape-step", "7 mm"), "tape step: must be a whole"),
    (("plan", "imka.toml", "hop-step-sand", "--drill-file", "gone.toml"), r"gone\.toml: file: cannot"),
    (("plan", "imka.toml", "hop-step-sand", "--save", "gone/a.json"), "output: its folder must exist"),
    (("plan", "imka.toml", "hop-step-sand", "--save", "folder.toml"), "--save: must be a file ending"),
    (("plan", "imka.toml", "hop-step-sand", "--save", "empty.toml"), "--save: must be a file ending"),
    (("plan", "imka.toml", "hop-step-sand", "--save", "x" * 300 + ".json"), "output: a name of at most 240"),
    (("plan", "imka.toml", "hop-step-sand", "--save", ""), "output: |--save: "),
    (("plan", "broken.json"), r"broken\.json:1: plan: not valid JSON"),
    (("plan", "other.json"), r"other\.json: version: must be a plan of version 3"),
    (("plan", "gone.json"), r"gone\.json: file: cannot be read"),
    (("plan", "--read", "nothing"), "drill: is not in the catalogue"),
    (("draw",), "words: an athlete file and a drill, or a saved plan, needed"),
    (("draw", "imka.toml", "hop-step-sand", "--to", "a.gif"), r"--to: must be a file ending in \.svg"),
    (("draw", "imka.toml", "hop-step-sand", "--to", "a"), r"--to: must be a file ending in \.svg"),
    (("draw", "imka.toml", "hop-step-sand", "--to", "gone/a.svg"), "output: its folder must exist"),
    (("draw", "imka.toml", "hop-step-sand", "--to", "folder.svg"), "output: a file name, not a f"),
    (("draw", "imka.toml", "hop-step-sand", "--to", "there.svg"), "exists already and is kept"),
    (("draw", "imka.toml", "hop-step-sand", "--scale", "1:75"), "--scale: must be one of 1:50, 1:100"),
    (("draw", "imka.toml", "hop-step-sand", "--scale", "²"), "--scale: must be one of 1:50, 1:100"),
    (("draw", "imka.toml", "hop-step-sand", "--paper", "A44"), "--paper: must be one of A4,.*mean A4"),
    (("draw", "tevin.toml", "full-triple-jump", "--scale", "1:50"), "scale: .*would fit: 1:100"),
    (("demo", "imka.toml"), r"imka\.toml: folder: cannot be made"),
    (("plan", "imka.toml", "hop-step-sand", "--strids", "4"), "did you mean --strides"),
    (("pln", "imka.toml"), "invalid choice: 'pln'; did you mean plan"),
    (("plan", "imka.toml", "hop-step-sand", "--mass"), "--mass: needs a value; with a minus"),
]  # fmt: skip


@pytest.fixture
def bad(club: Path) -> Path:
    """Files that are wrong, each in one way."""
    good = 'name = "Ada"\nstature = 1.70\nmass = 58.0\nleg = "left"\ntarget = 11.2\n'
    texts = {
        "empty.toml": " \n", "broken.toml": 'name = "A"\nstature = = 2\n', "broken.json": "{",
        "other.json": '{"version": 9}', "there.svg": "mine", "huge.toml": "#" * 2_000_001,
        "old.toml": good + "jumped = \"35:30:35\"\n",
        "typed.toml": good.replace("58.0", '"heavy"'), "negative.toml": good.replace("11.2", "-11.2"),
        "absurd.toml": good.replace("11.2", "112"), "unknown.toml": good + "heigth = 3\n",
    }  # fmt: skip
    for name, text in texts.items():
        (club / name).write_text(text, encoding="utf-8")
    (club / "latin.toml").write_bytes(b'name = "Hen\xe9"\n')
    for name in ("folder.toml", "folder.svg"):
        (club / name).mkdir()
    return club


@pytest.mark.parametrize(("words", "rule"), BAD)
def test_bad_input_is_one_line_and_exit_code_2(
    words: tuple[str, ...], rule: str, bad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = {p: p.stat().st_mtime_ns for p in bad.rglob("*")}
    assert run(*words) == 2
    assert re.search(rule, complaint(capsys))
    assert {p: p.stat().st_mtime_ns for p in bad.rglob("*")} == before, "no file is left or changed"


def test_every_fault_of_a_file_is_told_at_once(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (club / "two.toml").write_text('name = ""\nstature = 9\nmass = 60\nleg = "l"\ntarget = 12\n')
    assert run("plan", "two.toml", "hop-step-sand") == 2
    lines = capsys.readouterr().err.splitlines()
    assert [re.sub(r"phasemark: two\.toml:(\d): (\w+):.*", r"\1 \2", line) for line in lines] == [
        "1 name", "2 stature", "4 leg"
    ]  # fmt: skip


def test_unreadable_file(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (club / "imka.toml").chmod(0)
    if os.access(club / "imka.toml", os.R_OK):
        pytest.skip("this user may read everything")
    assert run("plan", "imka.toml", "hop-step-sand") == 2
    assert "cannot be read (Permission denied)" in complaint(capsys)


def test_unreadable_file_whoever_asks(
    club: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = os.open

    def denied(path: Any, *words: Any, **more: Any) -> Any:
        if str(path).endswith("imka.toml"):
            raise PermissionError(13, "Permission denied", str(path))
        return usual(path, *words, **more)

    monkeypatch.setattr(os, "open", denied)
    assert run("plan", "imka.toml", "hop-step-sand") == 2
    assert "cannot be read (Permission denied)" in complaint(capsys)


# --- interrupted, broken, own faults --------------------------------------------------------------


def _raising(error: BaseException) -> object:
    def act(_: object) -> int:
        raise error

    return act


def test_interrupted(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(cli, "_run", _raising(KeyboardInterrupt()))
    assert main(["plan"]) == 130
    assert complaint(capsys) == "phasemark: stopped"


def test_own_fault_is_called_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("PHASEMARK_TRACE", raising=False)
    monkeypatch.setattr(cli, "_run", _raising(RuntimeError("a\nb")))
    assert main(["plan"]) == 1
    assert "a fault of the program, not of yours (RuntimeError: a" in complaint(capsys)
    monkeypatch.setenv("PHASEMARK_TRACE", "1")
    with pytest.raises(RuntimeError):
        main(["plan"])


@pytest.mark.parametrize("words", [["plan", "--list"], ["--help"], ["plan", "--help"]])
def test_closed_pipe_is_quiet(words: list[str]) -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    reading, writing = os.pipe()
    os.close(reading)
    with subprocess.Popen(
        [sys.executable, "-m", "layout", *words],
        stdout=writing, stderr=subprocess.PIPE, env=environment,
    ) as child:  # fmt: skip
        os.close(writing)
        _, err = child.communicate(timeout=60)
    assert err == b""
    assert child.returncode == 0


def test_module_and_console_entry_are_the_same(tmp_path: Path) -> None:
    module = process("-m", "layout", "plan", "--list", cwd=tmp_path)
    assert (module.returncode, module.stderr) == (0, "")
    assert "hop-step-sand" in module.stdout
    script = Path(sys.executable).with_name("phasemark")
    if not script.exists():
        pytest.skip("not installed as a command here")
    done = subprocess.run([script, "plan", "--list"], capture_output=True, text=True, check=True)
    assert done.stdout == module.stdout


def test_bad_input_in_a_process(tmp_path: Path) -> None:
    done = process("-m", "layout", "plan", "nobody.toml", "hop-step-sand", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1


def test_output_of_names_on_a_narrow_terminal(tmp_path: Path) -> None:
    """An ASCII terminal still gets every figure, and no traceback."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "ascii"}
    words = ["-m", "layout", "plan", "hop-step-sand", *ADA, "--name", "Łucja 名 🏃"]
    done = subprocess.run(
        [sys.executable, *words], capture_output=True, env=environment, check=False, cwd=tmp_path
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert "Łucja 名 🏃" in done.stdout.decode()


# --- anything at all ------------------------------------------------------------------------------

OPTIONS = [
    "strides", "hops", "cycles", "length", "lead", "board-at", "hurdle", "on", "zero", "tape",
    "tape-step", "venue", "name", "stature", "mass", "leg", "target", "split", "best", "best-phases",
    "born", "build", "level", "speed", "full-strides",
]  # fmt: skip
values = (
    st.text(max_size=12)
    | st.integers(-30, 3000).map(str)
    | st.floats(-5.0, 25.0).map(lambda x: f"{x:.2f}")
    | st.sampled_from(
        ["nan", "inf", "1e3", "9" * 5000, "²", "٥", "1/2", "38-6", "35:30:35", "5 cm", "low", "left",
         "ft", "pit", "start", "hall", "track", "2026-02-29", "advanced", "35:30:36.9", "6'", ""]
    )
)  # fmt: skip
drills = st.sampled_from(
    [
        "hop-step-sand",
        "full-triple-jump",
        "two-hops-step-track",
        "standing-triple-jump",
        "short",
        "",
    ]
)


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    drills, st.dictionaries(st.sampled_from(OPTIONS), values, max_size=3), st.booleans(),
    st.sampled_from(["imka.toml", "tevin.toml", None]),
)  # fmt: skip
def test_any_option_value_is_taken_or_refused(
    capsys: pytest.CaptureFixture[str], drill: str, given_: dict[str, str], more: bool,
    file: str | None,
) -> None:  # fmt: skip
    words = ["plan", *([str(CLUB_FOLDER / file)] if file else ADA), drill]
    words += [f"--{k}={v}" for k, v in given_.items()] + (["--more"] if more else [])
    capsys.readouterr()
    code = run(*words)
    captured = capsys.readouterr()
    assert code in (0, 2), captured.err
    assert (captured.err == "") == (code == 0)
    for line in captured.err.splitlines():
        assert line.startswith("phasemark: ")


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.dictionaries(
        st.sampled_from(["scale", "paper", "to", "zero", "tape", "cycles", "name"]),
        values,
        max_size=3,
    )
)
def test_any_drawing_option_is_taken_or_refused(
    tmp_path_factory: pytest.TempPathFactory, capsys: pytest.CaptureFixture[str],
    given_: dict[str, str],
) -> None:  # fmt: skip
    given_ = {**given_, "to": str(tmp_path_factory.mktemp("d") / "a.svg")}
    capsys.readouterr()
    words = ["draw", str(CLUB_FOLDER / "imka.toml"), "hop-step-sand"]
    code = run(*words, *(f"--{k}={v}" for k, v in given_.items()))
    captured = capsys.readouterr()
    assert code in (0, 2), captured.err
    assert (captured.err == "") == (code == 0)
    assert Path(given_["to"]).exists() == (code == 0)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.text(max_size=10), max_size=4))
def test_any_words_are_refused_in_one_line(
    capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    capsys.readouterr()
    code = run("plan", *words)
    captured = capsys.readouterr()
    assert code in (0, 2), captured.err
    if code == 2:
        assert len(captured.err.splitlines()) == 1


@pytest.mark.parametrize(
    "words", [["demo"], ["handout", str(CLUB_FOLDER / "club.csv"), "hop-step-sand", "--to"]]
)
def test_a_folder_that_no_name_can_have_is_refused(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main([*words, "a\0b"]) == 2
    assert capsys.readouterr().err == "phasemark: words: no NUL allowed, got 'a\\x00b'\n"
