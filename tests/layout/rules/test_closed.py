"""What is closed to an athlete is refused by every command, and a coach's word goes on everything."""

from __future__ import annotations

import datetime
import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from layout.cli import main
from layout.plan.drill import catalogue, easier
from layout.plan.spacing import Choices, make_plan
from layout.plan.stored import from_json, still_open
from layout.plan.venue import venues
from layout.rules.cautions import DEFER, in_short
from layout.rules.demand import closed_to
from layout.rules.standing import standing
from layout.words.faults import BadInput
from tests.strategies import CLUB, CLUB_FOLDER, ON, member, pit_or_track, plan

WHO = "Coach Ada: last year's winner, doctor asked"
DAY = ("--on", "2026-05-01")


@pytest.fixture
def club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for file in (*CLUB_FOLDER.glob("*.toml"), *CLUB_FOLDER.glob("*.csv")):
        shutil.copy(file, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(words) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    (line,) = captured.err.splitlines()
    return str(line)


def _squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("slug", catalogue())
@pytest.mark.parametrize("name", CLUB)
def test_a_plan_is_made_where_the_drill_is_open_and_refused_where_not(name: str, slug: str) -> None:
    who, drill, venue = member(name), catalogue()[slug], venues()[pit_or_track(slug)]
    stands = who.standing(ON)
    closed = stands.age < drill.youngest or (
        ("beginner", "intermediate", "advanced").index(stands.level)
        < ("beginner", "intermediate", "advanced").index(drill.level)
    )
    if not closed:
        assert make_plan(who, drill, venue, ON).despite == ""
        return
    with pytest.raises(BadInput, match=f"{slug} is closed to {who.name}") as error:
        make_plan(who, drill, venue, ON)
    other = easier(stands, drill, venue.has_pit)
    assert other is not None
    assert other.slug in str(error.value)
    assert closed_to(stands, other.demand()) is None
    made = make_plan(who, drill, venue, ON, Choices(despite=WHO))
    assert WHO in made.despite
    assert made.warnings[0].text == made.despite


@pytest.mark.parametrize(
    "changed", [{"strides": 8}, {"strides": 16}, {"cycles": 2}, {"cycles": 12}], ids=str
)
def test_a_change_that_asks_more_closes_the_drill(changed: dict[str, int]) -> None:
    slug = "hop-step-hold" if "cycles" in changed else "hop-step-sand"
    child = member("runa")
    make_plan(child, catalogue()[slug], venues()["club"], ON)
    with pytest.raises(BadInput, match="Open as the drill has it"):
        make_plan(child, catalogue()[slug], venues()["club"], ON, Choices(**changed))


@pytest.mark.parametrize("born", [None, 1914, 2030])
def test_nobody_of_unknown_age_gets_a_plan_or_a_high_hurdle(born: int | None) -> None:
    who = replace(member("tevin"), born=born)
    for slug, drill in catalogue().items():
        with pytest.raises(BadInput, match="counts as 8") as error:
            make_plan(who, drill, venues()[pit_or_track(slug)], ON)
        assert "Give the year of birth" in str(error.value)
        made = plan(who, slug, pit_or_track(slug))
        assert made.load.contacts <= 30
        assert all(h.height <= 0.05 for h in made.hurdles)


@pytest.mark.parametrize("command", ["plan", "draw", "film", "handout"])
def test_every_command_refuses_on_one_line_and_names_an_easier_drill(
    command: str, club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    line = _refused(capsys, command, "runa.toml", "full-triple-jump", *DAY)
    assert "Runa counts as 11" in line
    assert "Easier and open: hop-step-sand" in line
    assert "--despite" in line
    assert sorted(p.suffix for p in club.iterdir() if p.suffix not in (".toml", ".csv")) == []


def test_the_coach_s_word_is_on_text_json_saved_plan_and_drawing(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("runa.toml", "full-triple-jump", *DAY, "--despite", WHO)
    assert main(("plan", *words, "--save", "p.json")) == 0
    out = _squeezed(capsys.readouterr().out)
    assert WHO in out
    assert _squeezed(DEFER) in out
    assert "Counts as 11 years old and beginner on that day" in out
    saved = from_json(Path("p.json").read_text(encoding="utf-8"))
    assert WHO in saved.despite
    assert main(("plan", "p.json", "--json")) == 0
    table = json.loads(capsys.readouterr().out)
    assert WHO in table["despite"]
    assert table["who"]["age"] == 11
    assert main(("draw", "p.json", "--to", "p.svg")) == 0
    assert WHO in _squeezed(capsys.readouterr().out)
    assert WHO in in_short(saved.who.standing, saved.despite)
    assert "a saved plan has its own" in _refused(capsys, "plan", "p.json", "--despite", WHO)


@pytest.mark.parametrize(
    ("despite", "rule"),
    [
        (WHO, "nothing here is closed"), ("", "must be a text"), ("x" * 121, "at most 120 characters"),
        ("a\nb", "one line of printable text"),
    ],
)  # fmt: skip
def test_a_word_that_overrides_nothing_or_says_nothing_is_refused(
    despite: str, rule: str, club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    line = _refused(capsys, "plan", "runa.toml", "hop-step-sand", *DAY, "--despite", despite)
    assert line.startswith("phasemark: --despite: ")
    assert rule in line
    line = _refused(capsys, "squad", "club.csv", "hop-step-hold", *DAY, "--despite", despite)
    assert rule in line


def test_a_squad_goes_on_without_those_it_is_closed_to(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(("squad", "club.csv", "two-hops-step-sand", *DAY)) == 0
    out = _squeezed(capsys.readouterr().out)
    assert "No marks for Runa" in out
    assert main(("squad", "club.csv", "two-hops-step-sand", *DAY, "--despite", WHO)) == 0
    out = _squeezed(capsys.readouterr().out)
    assert "No marks for Runa" not in out
    assert WHO in out


def test_a_saved_plan_for_the_too_young_is_not_taken_up_again() -> None:
    made = plan("tevin", "full-triple-jump")
    still_open(made)
    young = replace(made, who=replace(made.who, age=12))
    with pytest.raises(BadInput, match="is closed to Tevin"):
        still_open(young)
    still_open(replace(young, despite="The coach's word."))


def test_a_birth_year_over_a_file_s_and_a_far_day_are_said(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("plan", "runa.toml", "hop-step-sand")
    assert main((*words, *DAY, "--born", "1990")) == 0
    out = _squeezed(capsys.readouterr().out)
    assert "Counts as 11 years old" in out
    assert "Born 1990 given over the file's 2014" in out
    far = datetime.date.today() + datetime.timedelta(days=800)
    assert main((*words, "--on", far.isoformat())) == 0
    out = _squeezed(capsys.readouterr().out)
    now = standing(2014, "beginner", 1.0, datetime.date.today()).age
    assert f"Counts as {now} years old" in out
    assert f"The age for {far}, over a year ahead" in out


def test_what_is_assumed_is_on_the_card_with_the_field_that_mends_it(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (club / "imka.toml").read_text(encoding="utf-8")
    (club / "imka.toml").write_text(text.replace("training_years = 3\n", ""), encoding="utf-8")
    assert main(("plan", "imka.toml", "hop-step-sand", *DAY)) == 0
    assert "Give the years of training" in _squeezed(capsys.readouterr().out)


def test_reading_a_drill_shows_the_cautions_and_who_comes_first(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(("plan", "--read", "full-triple-jump")) == 0
    out = _squeezed(capsys.readouterr().out)
    assert _squeezed(DEFER) in out
    assert "Stop at once on any pain" in out
