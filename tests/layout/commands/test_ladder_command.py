"""`phasemark ladder` from outside: what it prints, its JSON, and bad input in one line."""

from __future__ import annotations

import datetime
import json
import shlex
import shutil
from pathlib import Path
from typing import Any

import pytest

from layout.cli import main
from layout.commands.ladder_text import folded
from layout.rules.sources import said as in_words
from layout.training.rungs import ladder
from layout.words.trade import date_text
from tests.strategies import CLUB, CLUB_FOLDER

SCREEN = 80
DAY = "--from 2026-05-01"
OWN = (
    '[rung.first]\ntitle = "First"\nheight = 1\ndrill = "hop-step-hold"\nsessions = 1\n'
    '[rung.second]\ntitle = "Second"\nheight = 2\ndrill = "hop-step-sand"\n'
)


@pytest.fixture
def club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for file in CLUB_FOLDER.glob("*.toml"):
        shutil.copy(file, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], words: str) -> str:
    assert main(["ladder", *shlex.split(words)]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    # A command is one line however long its file's name.
    lines = [n for n in captured.out.splitlines() if "phasemark" not in n]
    assert all(len(line) <= SCREEN for line in lines)
    assert "\u00a0" not in captured.out
    return captured.out


def data(capsys: pytest.CaptureFixture[str], words: str) -> Any:
    assert main(["ladder", *shlex.split(words)]) == 0
    return json.loads(capsys.readouterr().out)


def complaint(capsys: pytest.CaptureFixture[str], words: str) -> str:
    assert main(["ladder", *shlex.split(words)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    (line,) = captured.err.splitlines()
    return str(line)


@pytest.mark.parametrize("name", CLUB)
def test_every_athlete_fits_the_screen(
    name: str, club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = said(capsys, f"{name}.toml {DAY}")
    for heading in (
        "WHY",
        "FROM HERE",
        "THE CLIMB AHEAD",
        "BLOCK",
        "CONTACTS",
        "SPACING",
        "TAKE CARE",
    ):
        assert heading in out
    assert "next: phasemark plan" in out
    assert "Stop at once on any pain" in out


def test_the_next_commands_run(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, f"imka.toml {DAY} --at sand-natural --hit 9/10 --sound quiet")
    after = out[out.index("next: ") :].replace("next: ", "").splitlines()
    for line in after:
        assert main(shlex.split(line)[1:]) == 0, line
    assert len(after) == 2


def test_a_placing_as_a_coach_reads_it(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, f"bram.toml {DAY} --at track-low --hit 1/6 --sound loud --weeks 2")
    assert out.startswith(
        "Bram: the ladder on Fri 1 May 2026\n"
        "  Counts as 14 years old, intermediate, 2 training years.\n\nDOWN to height 6 of 17: "
    )
    assert "! Contacts are loud: too hard for now." in out
    assert "[Allerheiligen &" in out
    plain = " ".join(out.split())
    assert (
        "at most 30 in a session under 16, 3 sets of 10, 2 sessions a week [ACSM leaflet" in plain
    )
    assert "120" not in out
    assert "Mon 4 May         18  standing-triple 2 x 3" in out


def test_pain_gives_no_block(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, "tevin.toml --pain --at two-over")
    assert "REST" in out
    assert "--attwo-beside" in "".join(out.split())
    for heading in ("BLOCK", "SPACING", "next:"):
        assert heading not in out


def test_json_holds_the_same(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, f"imka.toml {DAY} --json --hit 4/5 --sound quiet --at sand-six")
    assert (found["version"], found["athlete"], found["date"]) == (1, "Imka", "2026-05-01")
    placing = found["placing"]
    assert (placing["advice"], placing["rung"], placing["came_from"]) == (
        "up", "standing-triple", "sand-six",
    )  # fmt: skip
    assert len(found["ladder"]) == len(ladder().rungs)
    for row in found["ladder"]:
        assert row["open"] == ("why_closed" not in row)
        assert row["open"] == ("spacing" in row)
        if row["open"]:
            assert all(length > 0.2 for length in row["spacing"]["lengths_m"])
    sessions = found["block"]["sessions"]
    assert [s["date"] for s in sessions][:2] == ["2026-05-04", "2026-05-07"]
    assert sum(s["contacts"] for s in sessions) == sum(found["block"]["contacts_by_week"].values())


def test_observations_from_a_file_and_options_over_it(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (club / "seen.toml").write_text(
        'at = "sand-six"\nhit = "9/10"\nsound = "firm"\nknee_gap = "30 cm"\n', encoding="utf-8"
    )
    found = data(capsys, f"imka.toml {DAY} --json --seen seen.toml")
    assert found["placing"]["advice"] == "stay"
    found = data(capsys, f"imka.toml {DAY} --json --seen seen.toml --sound quiet")
    assert found["placing"]["advice"] == "up"
    (club / "seen.toml").write_text('at = "sand-six"\nsound = "soft"\n', encoding="utf-8")
    assert complaint(capsys, "imka.toml --seen seen.toml").startswith(
        "phasemark: seen.toml:2: sound: must be one of quiet, firm, loud"
    )
    (club / "seen.toml").write_text('sound = "firm"\nat = "sand-sixx"\n', encoding="utf-8")
    assert complaint(capsys, "imka.toml --seen seen.toml").startswith(
        "phasemark: seen.toml:2: at: "
    )
    assert complaint(capsys, "imka.toml --seen seen.toml --at nowhere").startswith(
        "phasemark: --at: "
    )


def test_an_own_ladder(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (club / "own.toml").write_text(OWN, encoding="utf-8")
    assert "first" in said(capsys, "--list --ladder own.toml")
    found = data(capsys, f"imka.toml {DAY} --json --ladder own.toml")
    assert [r["rung"] for r in found["ladder"]] == ["first", "second"]
    assert found["placing"]["rung"] == "first"
    (club / "own.toml").write_text(OWN.replace("hop-step-sand", "hop-step"), encoding="utf-8")
    line = complaint(capsys, "imka.toml --ladder own.toml")
    assert line.startswith("phasemark: own.toml:9: rung.second.drill: is not in the catalogue")


def test_a_session_despite_a_closed_drill(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Refused with what opens it; the decision then leads the warnings, once, and it is counted."""
    words = f"runa.toml {DAY} --session full-triple-jump:1x2,hop-step-sand:1x2"
    assert '--despite "who decided and why"' in complaint(capsys, words)
    told = " ".join(said(capsys, f"{words} --despite 'Coach K, one run'").split())
    why = "Done despite this: Coach K, one run."
    assert told.count(why) == 1
    assert told.index("WARNINGS ! full-triple-jump: Very hard contacts") < told.index(why)
    found = data(capsys, f"{words} --despite 'Coach K, one run' --json")
    assert found["notes"][0]["text"].endswith(why)
    assert found["notes"][0]["against"]
    alone = data(capsys, f"runa.toml {DAY} --session hop-step-sand:1x2 --json")
    assert found["contacts"] > alone["contacts"]
    assert why not in str(alone)
    assert complaint(capsys, f"runa.toml {DAY} --session hop-step-sand --despite me").startswith(
        "phasemark: --despite: nothing here is closed to the athlete"
    )
    assert "--despite: goes with --session" in complaint(capsys, f"runa.toml {DAY} --despite me")


def test_a_session(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = f'tevin.toml {DAY} --session "hop-step-sand:3x4, alternate-bounds:2x3"'
    out = said(capsys, words)
    assert "Balance: left 39, right 51 (43 : 57)." in out
    assert "Contacts: 90, at most 140 in a session at advanced level" in " ".join(out.split())
    assert "[Perttunen et al. 2000]" in out
    assert "Warm up fully first" in out
    found = data(capsys, words + " --json")
    assert (found["contacts"], found["left"], found["right"], found["both"]) == (90, 39, 51, 0)
    assert not found["over_budget"]
    assert complaint(capsys, f"runa.toml {DAY} --session short-six:3x4").startswith(
        "phasemark: --session: short-six is closed to Runa, so no session with it: Very hard contacts"
    )
    out = said(capsys, f"runa.toml {DAY} --session alternate-bounds:4x4")
    assert "Contacts: 144, OVER: at most 30 in a session under 16" in " ".join(out.split())
    assert out.index("WARNINGS") < out.index("CONTACTS, each")
    assert "Take" not in out


def test_a_rung_that_cannot_be_set_out_is_said(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = said(capsys, f"imka.toml {DAY} --venue track")
    assert "! sand-six: cannot be set out here; this drill ends in sand" in out
    found = data(capsys, f"imka.toml {DAY} --venue track --json")
    row = next(r for r in found["ladder"] if r["rung"] == "sand-six")
    assert "no pit" in row["no_spacing"]


@pytest.mark.parametrize(
    ("words", "start"),
    [
        ("", "athlete: needs a file, or these options too"),
        ("gone.toml", "gone.toml: file: cannot be read"),
        ("imka", "athlete: must be a file ending in .toml"), ("imka.toml tevin.toml", "words: one athlete"),
        ("imka.toml --at sand-sx", "--at: is not a rung of the ladder; did you mean sand-six"),
        ("imka.toml --hit 6/5", "--hit: "), ("imka.toml --sound soft", "--sound: "),
        ("imka.toml --contact x", "--contact: "), ("imka.toml --knee-gap 3m", "--knee-gap: "),
        ("imka.toml --step-share 3", "--step-share: "), ("imka.toml --sessions x", "--sessions: "),
        ("imka.toml --weeks 0", "--weeks: must be a whole number"), ("imka.toml --weeks 1.5", "--weeks: "),
        ("imka.toml --days mon,xyz", "--days: "), ("imka.toml --from 1/5/2026", "--from: day or month first"),
        ("imka.toml --from 9999-12-01", "--from: "), ("imka.toml --session x:3x3", "--session: "),
        ("imka.toml --session hop-step-sand:3", "--session: sets x runs"),
        ("imka.toml --venue nowhere", "venue: is not known"), ("imka.toml --seen no.toml", "no.toml: file: "),
        ("imka.toml --born 2020", "ladder: no rung is open to Imka"),
        ("imka.toml --ladder no.toml", "no.toml: file: "),
        ("imka.toml --session a:1x1 --drill-file no.toml", "no.toml: file: "),
    ],
)  # fmt: skip
def test_bad_input_is_one_line(
    words: str, start: str, club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert complaint(capsys, words).startswith(f"phasemark: {start}")


def test_what_was_taken_is_said_with_what_mends_it(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head = (
        "--name Ada --stature 1.70 --mass 58 --leg left --best 38-4 --born 2008 --full-strides 12 "
    )
    out = said(capsys, f"{head} {DAY} --at full --level intermediate")
    assert "STAY on" in out
    plain = " ".join(out.split())
    assert "Counts as 17 years old, intermediate, 1 training year. No training years given" in plain
    assert "Give the years of training" in plain
    for words in ("--at full", "--session hop-step-sand"):
        found = data(capsys, f"{head} {DAY} {words} --json")["counts_as"]
        assert (found["age"], found["level"], found["training_years"]) == (17, "beginner", 0)
        assert [a["field"] for a in found["assumed"]] == ["level", "training_years"]
        called = ("level", "years of training")
        assert all(c in a["text"] for c, a in zip(called, found["assumed"], strict=True))
    known = data(capsys, f"{head} {DAY} --level intermediate --training-years 2,5 --at full --json")
    assert known["counts_as"]["assumed"] == []
    assert "Counts as 17 years old, intermediate, 2.5 training years.\n\n" in said(
        capsys, f"{head} {DAY} --level intermediate --training-years 2.5"
    )
    # The rung she is on has its spacing, too.
    shown = data(capsys, f"{head} {DAY} --at full --level intermediate --json")["ladder"]
    (row,) = (r for r in shown if r["rung"] == "full")
    assert row["open"]
    assert "spacing" in row


def test_dates_and_sources_are_plain() -> None:
    assert date_text(datetime.date(2026, 11, 25)) == "Wed 25 Nov 2026"
    assert in_words("youth-award-book") == "Youth award book"
    assert in_words("ours") == "Phasemark's estimate"
    assert in_words("ACSM leaflet") == "ACSM leaflet"


def test_numbers_stay_with_their_units() -> None:
    for width in range(40, 90):
        lines = folded("x" * width + " 25 cm 0.25 s 80 % 3 x 4")
        assert not [
            line for line in lines if line.rstrip()[-1].isdigit() and not line.endswith("x 4")
        ]


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        ("imka.toml --session hop-step-sand --pain", "--pain: no session: no jumping until"),
        ("imka.toml --session hop-step-sand --knee-gap 35cm", "--knee-gap: goes with where"),
        ("imka.toml --session hop-step-sand --at sand-six", "--at: goes with where"),
        ("--list --json", "--json: does not go with --list"),
        ("imka.toml --born 2030", "--from: must be a day in the athlete's lifetime, born 2030"),
        ("imka.toml --from 0001-01-01", "--from: must be a day in the athlete's lifetime"),
    ],
)
def test_nothing_that_was_typed_is_passed_over(
    words: str, rule: str, club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert rule in complaint(capsys, words)


def test_a_minus_is_asked_for_in_a_way_that_works(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        main(["ladder", "imka.toml", "--knee-gap", "-5cm"])
    assert "--knee-gap: needs a value; with a minus in front: --knee-gap=-5" in (
        capsys.readouterr().err
    )
    assert "Free knee -5 cm behind" in said(capsys, "imka.toml --at sand-six --knee-gap=-5cm")


@pytest.mark.parametrize("command", ["ladder", "squad", "compare", "book"])
def test_help_fits_the_screen(command: str, capsys: pytest.CaptureFixture[str],
                              monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.setenv("COLUMNS", str(SCREEN))
    with pytest.raises(SystemExit):
        main([command, "--help"])
    assert not [line for line in capsys.readouterr().out.splitlines() if len(line) > SCREEN]


def test_one_week_is_not_several(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "BLOCK of 1 week from" in said(capsys, f"imka.toml --weeks 1 {DAY}")
    assert "BLOCK of 2 weeks from" in said(capsys, f"imka.toml --weeks 2 {DAY}")
