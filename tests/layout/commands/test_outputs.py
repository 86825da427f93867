"""Whatever a command writes to: all of it or nothing, never over an input, and said when it fails."""

from __future__ import annotations

import io
import os
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

import animate.motion.solve as solver
from animate.body.body import Body
from animate.motion.chain import Chain, Settings
from animate.motion.motion import Motion
from animate.motion.solve import fingerprint
from layout import cli
from layout.cli import main
from layout.commands import handout_, handout_pack
from layout.commands.streams import progress

ROOT = Path(__file__).resolve().parents[3]
CLUB = ROOT / "layout" / "catalogue" / "club"
IMKA = ("imka.toml", "hop-step-sand")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("imka.toml", "runa.toml", "club.csv"):
        shutil.copy(CLUB / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def names(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir()} - {"imka.toml", "runa.toml", "club.csv"}


def refusal(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    capsys.readouterr()
    assert main(list(words)) == 2, words
    captured = capsys.readouterr()
    assert captured.out == ""
    assert len(captured.err.splitlines()) == 1, captured.err
    return captured.err


# --- never over what is something else ------------------------------------------------------------


def test_a_plan_is_never_kept_over_what_is_no_plan(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (here / "imka.toml").read_bytes()
    said = refusal(capsys, "plan", *IMKA, "--save", "imka.toml", "--overwrite")
    assert "--save: would be written over a file that is read here" in said
    said = refusal(capsys, "plan", *IMKA, "--save", "runa.toml", "--overwrite")
    assert "--save: must be a file ending in .json" in said
    for content in ('{"version": 2}', "[1]", "not json", "", '{"contacts": 1}'):
        (here / "other.json").write_text(content)
        said = refusal(capsys, "plan", *IMKA, "--save", "other.json", "--overwrite")
        assert "is there and is no plan" in said
        assert (here / "other.json").read_text() == content
    assert (here / "imka.toml").read_bytes() == before
    assert main(["plan", *IMKA, "--save", "a.json"]) == 0
    assert main(["plan", *IMKA, "--strides", "6", "--save", "a.json", "--overwrite"]) == 0


@pytest.mark.parametrize("way", ["same", "link", "hard link", "other spelling"])
def test_no_output_over_an_input(here: Path, capsys: pytest.CaptureFixture[str], way: str) -> None:
    (here / "own.svg").write_bytes((here / "club.csv").read_bytes())
    out = here / "own.svg"
    if way == "link":
        out = here / "b.svg"
        out.symlink_to("own.svg")
    elif way == "hard link":
        out = here / "b.svg"
        os.link(here / "own.svg", out)
    name = "./own.svg" if way == "other spelling" else out.name
    said = refusal(capsys, "squad", "own.svg", "hop-step-sand", "--to", name, "--overwrite")
    assert "--to: would be written over a file that is read here" in said
    assert (here / "own.svg").read_bytes() == (here / "club.csv").read_bytes()


# --- all or nothing -------------------------------------------------------------------------------


def test_a_later_refusal_leaves_nothing_of_the_same_command(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "plots").write_text("in the way")
    said = refusal(capsys, "handout", *IMKA, "--no-figure", "--to", "a.pdf", "--plots", "plots")
    assert "--plots: cannot be made" in said
    assert names(here) == {"plots"}
    (here / "plots").unlink()
    (here / "plots").mkdir()
    assert main(["handout", *IMKA, "--no-figure", "--to", "b.pdf", "--plots", "plots"]) == 0
    made = {p.name for p in (here / "plots").iterdir()}
    assert len(made) == 3
    for name in made - {sorted(made)[0]}:
        (here / "plots" / name).unlink()
    capsys.readouterr()
    said = refusal(capsys, "handout", *IMKA, "--no-figure", "--to", "a.pdf", "--plots", "plots")
    assert "exists already and is kept" in said
    assert not (here / "a.pdf").exists()
    assert {p.name for p in (here / "plots").iterdir()} == {sorted(made)[0]}


def test_more_text_is_made_before_the_plan_is_kept(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = refusal(capsys, "plan", *IMKA, "--save", "a.json", "--tape-step", "9m")
    assert "--tape-step" in said
    assert not names(here)


def test_handout_files_are_of_one_writing(here: Path) -> None:
    """The maker returns files and writes none."""
    assert "save(" not in Path(handout_.__file__).read_text(encoding="utf-8").replace(
        "save_all", ""
    )


# --- closed, full and broken outputs --------------------------------------------------------------


def shell(line: str, folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    command = line.replace("phasemark", f"{sys.executable} -m layout")
    return subprocess.run(
        ["bash", "-c", command], cwd=folder, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT), **more}, timeout=120,
    )  # fmt: skip


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such file here")
@pytest.mark.parametrize(
    "words", ["plan --list", "--help", "plan --help", "--version", "", "plan imka.toml hop-step-sand",
              "plan imka.toml hop-step-sand --json", "ladder --list"]
)  # fmt: skip
@pytest.mark.parametrize("where", [">/dev/full", ">&-", "| true"])
def test_an_output_that_takes_nothing_is_said(here: Path, words: str, where: str) -> None:
    found = shell(f"set -o pipefail; phasemark {words} {where}", here)
    assert "Traceback" not in found.stderr
    assert "Exception ignored" not in found.stderr
    if "full" in where:
        assert found.returncode == 2
        assert found.stderr.startswith("phasemark: standard output: cannot be written (No space")
    elif "&-" in where:
        assert found.returncode == 2
        assert "standard output: cannot be written (it is closed)" in found.stderr
    else:
        assert (found.returncode, found.stderr) == (0, "")


def test_what_was_kept_before_the_output_failed_stays_and_is_said(here: Path) -> None:
    found = shell("phasemark plan imka.toml hop-step-sand --save a.json >/dev/full", here)
    assert found.returncode == 2
    assert "what was written and kept before is done" in found.stderr
    assert names(here) == {"a.json"}


@pytest.mark.parametrize("where", ["2>&-", "2>/dev/full", ">&- 2>&-"])
def test_without_standard_error_the_exit_code_still_tells(here: Path, where: str) -> None:
    assert shell(f"phasemark plan gone.toml hop-step-sand {where}", here).returncode == 2


@pytest.mark.parametrize(
    "more",
    [{"LC_ALL": "xx_XX.utf8"}, {"LC_ALL": "C"}, {"PYTHONIOENCODING": "latin-1"},
     {"PYTHONIOENCODING": "utf-16"}],
    ids=str,
)  # fmt: skip
def test_any_language_of_the_machine(here: Path, more: dict[str, str]) -> None:
    found = shell("phasemark plan imka.toml hop-step-sand 2>err", here, **more)
    assert (found.returncode, (here / "err").read_text()) == (0, "")
    assert "Imka" in found.stdout


@pytest.fixture(scope="module")
def solved() -> dict[str, Motion]:
    """What the solver found here."""
    return {}


@pytest.fixture
def found_once(solved: dict[str, Motion], monkeypatch: pytest.MonkeyPatch) -> None:
    """A squad's handouts made in this process, where a motion is solved once and then given again."""
    usual = solver.solve

    def solve(chain: Chain, who: Body, settings: Settings, *more: Any) -> Motion:
        asked = fingerprint(chain, who, settings)
        if asked not in solved:
            solved[asked] = usual(chain, who, settings, *more)
        return solved[asked]

    monkeypatch.setattr(solver, "solve", solve)
    monkeypatch.setattr(handout_pack, "pool", lambda _: ThreadPoolExecutor(1))


@pytest.mark.parametrize(
    "more",
    [{"PHASEMARK_CACHE": ""}, {"PHASEMARK_CACHE": "imka.toml"}, {"PHASEMARK_CACHE": "gone/away"},
     {"PHASEMARK_CACHE": "/proc/nowhere"}, {"PHASEMARK_CACHE": "x" * 300},
     {"HOME": "", "PHASEMARK_CACHE": ""}, {"HOME": "/nowhere", "PHASEMARK_CACHE": ""}],
    ids=str,
)  # fmt: skip
def test_any_place_for_kept_motions(
    here: Path,
    more: dict[str, str],
    found_once: None,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (here / "one.csv").write_text(
        "name,born,level,stature,mass,leg,best\nAda,1998,advanced,1.70,58,left,10.90\n"
    )
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    for name, value in {"HOME": str(here / "home"), **more}.items():
        monkeypatch.setenv(name, value)
    line = "handout one.csv two-hops-step-track --to a.pdf --on 2026-11-25"
    assert main(line.split()) == 0
    said, fault = capsys.readouterr()
    assert fault == ""
    assert "without positions" not in said
    assert "2 pages and contents" in said


def test_no_home_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    from animate.motion.solve import cache_folder

    def nobody() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("PHASEMARK_CACHE", raising=False)
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setattr(Path, "home", nobody)
    assert not cache_folder().exists()
    with pytest.raises(OSError, match=r"."):
        cache_folder().mkdir(parents=True)


# --- stopped --------------------------------------------------------------------------------------


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_leaves_no_half_written_file(here: Path, number: signal.Signals) -> None:
    program = (
        "import sys, time, pathlib\n"
        "from layout import cli\n"
        "from animate import whole_file\n"
        "def fill(name):\n"
        "    pathlib.Path(name).write_text('half')\n"
        "    print('ready', flush=True)\n"
        "    time.sleep(60)\n"
        "def work(words):\n"
        "    whole_file.write_whole('a.gif', fill)\n"
        "cli._run = work\n"
        "sys.exit(cli.main(['film']))\n"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        [sys.executable, "-c", program], cwd=here, env=env, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as running:  # fmt: skip
        assert running.stdout is not None
        assert running.stderr is not None
        assert running.stdout.readline() == "ready\n"
        assert any(n.startswith(".a.") for n in names(here))
        time.sleep(0.05)
        running.send_signal(number)
        assert running.wait(120) == 128 + number
        assert running.stderr.read() == "phasemark: stopped\n"
    assert names(here) == set()


def test_signals_are_as_before_after_a_command() -> None:
    before = signal.getsignal(signal.SIGTERM)
    assert main(["--version"]) == 0
    assert signal.getsignal(signal.SIGTERM) is before


# --- typed in, and put out by the shell -----------------------------------------------------------


@pytest.fixture
def book(here: Path) -> Path:
    assert main(["book", "new", "b.book"]) == 0
    for name in ("Zoë", "Łucja"):
        assert main(["book", "keep", "b.book", "--name", name]) == 0
    return here


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
@pytest.mark.parametrize("told", [{}, {"PYTHONIOENCODING": "latin-1"}, {"LC_ALL": "C"}], ids=str)
def test_lines_in_any_usual_encoding(book: Path, encoding: str, told: dict[str, str]) -> None:
    text = "Zoë hop-step-sand 2.61 4.80\nZoë 2.58 4.83\n"
    (book / "in.txt").write_bytes(text.encode(encoding))
    found = shell("phasemark book add b.book - < in.txt", book, **told)
    assert (found.returncode, found.stderr) == (0, "")
    assert found.stdout.count("Zoë, hop-step-sand") == 2


@pytest.mark.parametrize(
    ("data", "said"),
    [(b"Zo\x81 hop-step-sand 2.61 4.80\n", "line 2: line: must be text in UTF-8, UTF-16 or Windows-1252"),
     (b"x" * 300_000, "line 2: line: at most 5000 characters"),
     (b"\xc3\xbc\x00\xff\n", "line 2: ")],
)  # fmt: skip
def test_a_line_that_is_no_text_is_refused_and_those_before_it_stay(
    book: Path, data: bytes, said: str
) -> None:
    (book / "in.txt").write_bytes("Zoë hop-step-sand 2.61 4.80\n".encode() + data)
    found = shell("phasemark book add b.book - < in.txt", book)
    assert found.returncode == 2
    assert said in found.stderr
    assert "Traceback" not in found.stderr
    assert "Zoë" in shell("phasemark book list b.book", book).stdout


def test_no_input_at_all(book: Path) -> None:
    found = shell("phasemark book add b.book - <&-", book)
    assert (found.returncode, found.stderr) == (0, "")


def test_a_sign_that_the_shell_turned_into_a_file_is_said(
    book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["book", "add", "b.book", "Zoë", "hop-step-sand", "x", "4.80"]) == 0
    assert main(["book", "add", "b.book", "Zoë", "hop-step-sand", "?", "4.80"]) == 0
    (book / "q").write_text("")
    capsys.readouterr()
    said = shell("phasemark book add b.book Zoë hop-step-sand ? 4.80", book)
    assert said.returncode == 2
    assert "write x for a reading that was not taken" in said.stderr
    assert len(said.stderr.splitlines()) == 1
    for words in ("plan *.toml hop-step-sand", "squad *.toml hop-step-sand", "ladder *.toml"):
        found = shell(f"phasemark {words}", book)
        assert found.returncode == 2
        assert "the shell may have put names of files" in found.stderr


def test_only_a_reader_that_has_gone_is_quiet(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A pipe to a worker that broke is told: nothing was done."""

    def broken(_: object) -> int:
        raise BrokenPipeError(32, "Broken pipe")

    monkeypatch.setattr(cli, "_run", broken)
    assert main(["squad"]) == 2
    assert capsys.readouterr().err == "phasemark: the system refused: Broken pipe\n"


@pytest.mark.parametrize("looks", [True, False])
def test_progress_is_shown_to_who_looks_and_taken_away_again(
    looks: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    screen = io.StringIO()
    monkeypatch.setattr(screen, "isatty", lambda: looks)
    monkeypatch.setattr(sys, "stderr", screen)
    now = iter([100.0, 130.0, 130.05, 160.0])
    monkeypatch.setattr("layout.commands.streams.time.monotonic", lambda: next(now))
    with progress("frame") as tell:
        for done in (1, 2, 3):  # the second comes too soon after the first to be shown
            tell(done, 4)
    shown = [line.strip() for line in screen.getvalue().split("\r")]
    told = ["", "1 of 4 frames, about 90 s left", "3 of 4 frames, about 20 s left", "", ""]
    assert shown == (told if looks else [""])
