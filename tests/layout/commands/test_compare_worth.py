"""`phasemark compare --worth`: the sheet and what is told, and what is refused."""

from __future__ import annotations

import json
import shlex
import shutil
from pathlib import Path

import pytest

from animate.motion.chain import Settings
from animate.motion.outcome import NotFound
from layout.cli import main
from layout.commands import compare_worth
from layout.commands.demo_ import plans
from layout.moving import worth_told
from layout.moving.worth import Worth
from layout.moving.worth_told import OURS, answer, headline
from layout.plan.value import Plan
from tests.layout.desk.test_desk_worth import made_curve
from tests.strategies import CLUB_FOLDER

WORDS = ("compare", "imka.toml", "short-triple-jump", "--on", "2026-05-01")
INTO_SAND = (
    "compare", "imka.toml", "hop-step-sand", "--on", "2026-11-25", "--venue", "marram-point",
)  # fmt: skip


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


def test_the_curve_is_data_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*WORDS, "--of", "lever", "--worth", "w.svg", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    points = told["curve"]["points"]
    assert [p["beside_best"] for p in points] == pytest.approx([-0.30, 0.0, -0.02])
    assert [p["told"] for p in points] == [True, False, False]
    assert told["curve"]["best"] == 1
    assert "not a measurement" in " ".join(told["said"])


def test_two_ways_say_how_to_get_it_and_what_they_name_works(
    capsys: pytest.CaptureFixture[str],
) -> None:
    options = ("--of", "lever")
    assert main([*INTO_SAND, *options, "--to", "c.svg"]) == 0
    out = capsys.readouterr().out
    assert "What it is worth is not told here" in out
    (line,) = (x for x in out.splitlines() if x.startswith("  phasemark compare"))
    named = shlex.split(line)[1:]
    assert named[-1] == "Imka-hop-step-sand-lever.pdf"
    assert main(named) == 0
    assert Path(named[-1]).exists()
    assert {"--on", "2026-11-25", "marram-point"} <= set(named)
    capsys.readouterr()
    assert main([*INTO_SAND, *options, "--to", "d.svg", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["worth"]["state"] == "not worked out"
    assert shlex.split(told["worth"]["command"])[1:] == named
    assert told["worth"]["curve"] is None


def test_two_ways_tell_the_kept_answer(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[str, str, str]] = []

    def kept(plan: Plan, of: str, aim: str) -> Worth | None:
        asked.append((plan.drill, of, aim))
        return made_curve() if aim == "step" else None

    monkeypatch.setattr(worth_told, "kept_curve", kept)
    assert main([*INTO_SAND, "--of", "lever", "--to", "c.svg"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert asked == [("hop-step-sand", "lever", "both"), ("hop-step-sand", "lever", "step")]
    assert f"What it is worth: {headline(made_curve())} {OURS}" in out
    assert "not told here" not in out
    assert main([*INTO_SAND, "--of", "lever", "--to", "d.svg", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["worth"]
    assert (told["state"], told["text"]) == ("known", headline(made_curve()))
    assert [p["value"] for p in told["curve"]["points"]] == [1.0, 1.2, 1.4]


def test_beside_positions_a_curve_of_none_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worth_told, "kept_curve", lambda *_: made_curve())
    plan = next(p for stem, p, _, _ in plans() if stem == "imka-short-triple-jump")
    assert answer(plan, "lever", Settings()).state == "known"
    assert answer(plan, "lever", Settings(knee_gap=0.3)).state == "not worked out"
    assert answer(plan, "knees", Settings()).state == "can't be told"


def test_what_is_kept_as_not_found_says_why(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise NotFound("strength", "none at which the best is the planned length")

    monkeypatch.setattr(worth_told, "kept_curve", none)
    plan = next(p for stem, p, _, _ in plans() if stem == "imka-short-triple-jump")
    got = answer(plan, "lever", Settings())
    assert got.state == "can't be told"
    assert "none at which the best is the planned length" in got.text


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
