"""`phasemark squad`: what a coach types, reads and gets."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout.cli import main
from layout.commands.squad_text import squad_text, sure_text
from layout.plan.drill import catalogue
from tests.layout.squad.test_squad_drawing import laid, many
from tests.strategies import CLUB, CLUB_FOLDER

CSV = (
    "name;stature;mass;leg;born;target;weight\n"
    "Ada;1,70;58,5;left;2008;11,20;1\n"
    "Bo;1,80;72;right;2001;13,00;2\n"
    "Cy;1,74;66;right;2010;11,60;1\n"
)
DAY = ("--on", "2026-05-01")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "club").mkdir()
    for name in CLUB:
        shutil.copy(CLUB_FOLDER / f"{name}.toml", tmp_path / "club")
    (tmp_path / "s.csv").write_text(CSV, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("squad", ["s.csv", "club"])
def test_a_set_out_is_printed(squad: str, here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["squad", squad, "hop-step-sand", "--venue", "marram-point", *DAY]) == 0
    out = capsys.readouterr().out
    for head in ("SETS", "TAPE CARD", "START MARKS", "DOSE", "TAKE CARE", "next: "):
        assert head in out
    for name in ("Ada", "Bo", "Cy") if squad == "s.csv" else ("Runa", "Tevin"):
        assert name in out


def test_json_has_misfits_in_metres_and_per_cent(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["squad", "s.csv", "hop-step-sand", "--sets", "1", "--tolerance", "2 m", "--json", *DAY]
    assert main(words) == 0
    table = json.loads(capsys.readouterr().out)
    (only,) = table["sets"]
    assert only["shared"]
    assert [a["name"] for a in only["athletes"]] == ["Ada", "Bo", "Cy"]
    for who in only["athletes"]:
        for off, part, own, mark in zip(
            who["off"], who["percent"], who["lengths"], only["lengths"], strict=True
        ):
            assert off == pytest.approx(mark - own)
            assert part == pytest.approx(100 * off / own)
    # Bo counts twice: the marks are the weighted means, but Cy, who counts as 15, is not stretched.
    assert [a["young"] for a in only["athletes"]] == [False, False, True]
    for p in range(2):
        own = [a["lengths"][p] for a in only["athletes"]]
        mean = (own[0] + 2 * own[1] + own[2]) / 4
        assert only["lengths"][p] == pytest.approx(min(mean, own[2]))
        assert mean > own[2]


@pytest.mark.parametrize("kind", ["svg", "pdf", "png"])
def test_the_drawing_is_written_whole_and_never_over_another(
    kind: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["squad", "s.csv", "hop-step-sand", "--to", f"out.{kind}", "--grey", *DAY]
    assert main(words) == 0
    first = (here / f"out.{kind}").read_bytes()
    assert main(words) == 2
    assert "exists already" in capsys.readouterr().err
    assert main([*words, "--overwrite"]) == 0
    assert len(first) > 1000


def test_a_broken_athlete_is_told_after_the_others(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "s.csv").write_text(CSV + "Di;1,7;x;left;2000;12;1\n", encoding="utf-8")
    assert main(["squad", "s.csv", "hop-step-sand", *DAY]) == 2
    got = capsys.readouterr()
    assert "Squad of 3" in got.out
    assert (
        got.err
        == "phasemark: s.csv:5: column 3 (mass): must be a mass from 18 to 180 kg, got 'x'\n"
    )


def test_a_folder_of_drawings_goes_on_where_it_stopped(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["squad", "s.csv", "--drills", "hop-step-sand, hop-step-hold", "--to", "season",
             "--cores", "1", *DAY]  # fmt: skip
    (here / "s.csv").write_text(CSV + "Di;1,7;x;left;2000;12;1\n", encoding="utf-8")
    assert main(words) == 2
    got = capsys.readouterr()
    assert "18 files made, 0 found finished" in got.out
    assert "s.csv:5: column 3 (mass)" in got.err
    assert len(list((here / "season").glob("*.svg"))) == 2
    assert len(list((here / "season" / "athletes").glob("*.svg"))) == 6
    (here / "season" / "hop-step-hold.txt").write_text("mine", encoding="utf-8")
    assert main(words) == 2
    out = capsys.readouterr().out
    assert "0 files made, 17 found finished" in out
    assert "1 kept as they are" in out
    assert "hop-step-hold.txt" in out
    assert (here / "season" / "hop-step-hold.txt").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("words", "told"),
    [(["squad"], "words: "), (["squad", "s.csv"], "words: "),
     (["squad", "s.csv", "hop-step-snd"], "did you mean hop-step-sand"),
     (["squad", "none.csv", "hop-step-sand"], "none.csv: file: cannot be read"),
     (["squad", "s.csv", "hop-step-sand", "--sets", "0"], "--sets: "),
     (["squad", "s.csv", "hop-step-sand", "--sets", "two"], "--sets: must be a whole number"),
     (["squad", "s.csv", "hop-step-sand", "--tolerance", "-3"], "--tolerance: "),
     (["squad", "s.csv", "hop-step-sand", "--weigh", "leap=2"], "--weigh: "),
     (["squad", "s.csv", "hop-step-sand", "--weigh", "hop=0,step=0"], "--weigh: some phase of"),
     (["squad", "s.csv", "hop-step-sand", "--weigh", "jump=2"], "--weigh: must be a phase of the drill"),
     (["squad", "s.csv", "hop-step-sand", "--to", " "], "--to: must be a name"),
     (["squad", "s.csv", "--drills", ",", "--to", "d"], "--drills: at least one drill's name"),
     (["squad", "s.csv", "hop-step-sand", "--venue", "track"], "this venue has no pit"),
     (["squad", "s.csv", "hop-step-sand", "--to", "x.doc"], "--to: must be a file ending in"),
     (["squad", "s.csv", "hop-step-sand", "--paper", "A9"], "--paper: "),
     (["squad", "s.csv", "--drills", "hop-step-sand"], "--to: must be a folder"),
     (["squad", "s.csv", "--drills", " , ", "--to", "x"], "--drills: "),
     (["squad", "s.csv", "--drills", "a,b", "--to", "x"], "drill: is not in the catalogue"),
     (["squad", "s.csv", "--drills", "hop-step-hold", "--to", "s.csv"], "written over a file that is read"),
     (["squad", "s.csv", "--drills", "hop-step-hold", "--to", "x", "--json"], "--json: "),
     (["squad", "s.csv", "--drills", "hop-step-hold", "--to", "x", "--cores", "0"], "--cores: ")],
)  # fmt: skip
def test_one_line_for_what_cannot_be(
    words: list[str], told: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if "--paper" in words:
        words = [*words, "--to", "x.svg"]
    assert main(words) == 2
    err = capsys.readouterr().err
    assert told in err
    assert "fault of the program" not in err
    assert all(line.startswith("phasemark: ") for line in err.splitlines())


@given(data=st.binary(max_size=300))
@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=40
)
def test_any_file_is_a_squad_or_refused(
    data: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "any.csv"
    path.write_bytes(CSV.encode() + data)
    assert main(["squad", str(path), "hop-step-sand", *DAY]) in (0, 2)
    assert "fault of the program" not in capsys.readouterr().err


@pytest.mark.parametrize("drill", sorted(catalogue()))
def test_the_text_fits_the_screen_and_says_who(drill: str) -> None:
    for made, wanted in (
        (laid(drill), None),
        (laid(drill, 0.3, 2), 2),
        (laid(drill, who=many(30)), None),
    ):
        lines = squad_text(made, wanted)
        assert all(len(line) <= 90 for line in lines), max(lines, key=len)
        text = "\n".join(lines)
        for item in made.sets:
            for who in item.athletes:
                assert who.name in text
        for station in made.stations:
            assert station.shown in text


def test_the_text_says_how_sure_the_sharing_is() -> None:
    assert "every way of sharing out was compared" in sure_text(laid("hop-step-sand", 0.3, 2), 2)
    unsure = sure_text(laid("hop-step-sand", who=many(30)), None)
    assert "not proven the best" in unsure
    assert "no sharing can do with fewer than" in unsure


def test_all_drills_of_a_venue_without_a_pit(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which drills are made; two athletes and no time to solve a motion are enough for that."""
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "0.01")
    for name in set(CLUB) - {"imka", "tevin"}:
        (here / "club" / f"{name}.toml").unlink()
    words = ["squad", "club", "--drills", "all", "--to", "x", "--venue", "track", "--cores", "1"]
    assert main([*words, *DAY]) in (0, 2)
    made = {p.stem for p in (here / "x").glob("*.svg")}
    assert made == {d.slug for d in catalogue().values() if d.ends == "track"}


def test_figures_of_one_phase_stay_on_one_line(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["squad", "club", "two-hops-step-track", "--venue", "track", *DAY]) == 0
    out = capsys.readouterr().out
    assert "\u00a0" not in out
    assert not [n for n in out.splitlines() if n.rstrip().endswith(("cm", "hop", "step"))]
    assert not [n for n in out.splitlines() if n.lstrip().startswith(("cm", "(+", "(-"))]
    assert " 1 runs" not in out
    assert "2 sets of 1 run: " in out


def test_who_a_drill_is_closed_to_gets_no_marks(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["squad", "club", "full-triple-jump", "--venue", "marram-point", *DAY]
    assert main([*words, "--to", "x.svg"]) == 0
    out = capsys.readouterr().out
    for name, age in (("Runa", 11), ("Bram", 14)):
        assert (
            f"! No marks for {name}: Very hard contacts, from 16 years; {name} counts as {age}."
            in out
        )
        assert f"No marks for {name}" in (here / "x.svg").read_text(encoding="utf-8")
        assert f"{name}  " not in out
    assert main([*words, "--json"]) == 0
    table = json.loads(capsys.readouterr().out)
    assert [r["name"] for r in table["no_marks"]] == ["Bram", "Runa"]
    assert all(r["source"].startswith("Allerheiligen & Rogers 1995") for r in table["no_marks"])
    # Level and unknown age count too; nobody left is a refusal that says each name.
    assert main(["squad", "s.csv", "full-triple-jump", "--venue", "marram-point", *DAY]) == 2
    err = capsys.readouterr().err
    assert all(f"no marks for {name}: " in err for name in ("Ada", "Bo", "Cy"))
    assert "Give the level to change this" in err
    assert (
        main(["squad", "s.csv", "--drills", "full-triple-jump", "--to", "f", "--cores", "1", *DAY])
        == 2
    )
    assert "no marks for Ada: " in capsys.readouterr().err


def test_what_was_taken_and_who_decided_stand_on_text_drawing_and_json(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["squad", "s.csv", "hop-step-sand", *DAY]
    assert main([*words, "--to", "x.svg"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert (
        "TAKEN, NOT KNOWN - No level given: taken as beginner. Give the level to change this."
        in out
    )
    assert "taken as beginner" in (here / "x.svg").read_text(encoding="utf-8")
    assert main([*words, "--json"]) == 0
    notes = json.loads(capsys.readouterr().out)["notes"]
    assert {"assumed", "assumed-years"} == {n["code"] for n in notes if not n["grave"]}
    words = ["squad", "club", "full-triple-jump", "--venue", "marram-point", *DAY]
    assert main([*words, "--despite", "Coach Ebbe: one jump at the meeting", "--to", "y.svg"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    line = "Closed to Bram, Runa. Done despite this: Coach Ebbe: one jump at the meeting"
    assert f"! {line}" in out
    assert out.index(line) < out.index("SETS")
    drawn = re.sub(r"<[^>]*>", " ", (here / "y.svg").read_text(encoding="utf-8"))
    assert "Closed to Bram, Runa." in " ".join(drawn.split())


@pytest.mark.parametrize("drill", sorted(catalogue()))
@pytest.mark.parametrize("sets", [(), ("--sets", "1", "--tolerance", "50 %"), ("--sets", "2")])
@pytest.mark.parametrize("weigh", ["", "hop=0.5", "step=0"])
def test_no_child_is_stretched(
    drill: str, sets: tuple[str, ...], weigh: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Children of 8 to 14 beside adults who jump hardly farther: never a longer phase than theirs."""
    head = "name;stature;mass;leg;born;level;best;target\n"
    rows = [f"Kid{i};1,{50 + i};{40 + i};left;{2025 - age};intermediate;{6 + i / 4};{6.3 + i / 4}\n"
            for i, age in enumerate((8, 10, 12, 14, 14, 15))]  # fmt: skip
    rows += [
        f"Old{i};1,6{i};55;left;2000;advanced;{7 + i / 3:.2f};{7.4 + i / 3:.2f}\n" for i in range(4)
    ]
    (here / "k.csv").write_text(head + "".join(rows), encoding="utf-8")
    words = ["squad", "k.csv", drill, "--venue", "marram-point", *sets, "--json", *DAY]
    moves = set(catalogue()[drill].chain)
    if weigh.partition("=")[0] in moves and moves != {"step"}:
        words += ["--weigh", weigh]
    assert main(words) in (0, 2)
    out = capsys.readouterr().out
    shared = [a for s in json.loads(out)["sets"] if s["shared"] for a in s["athletes"]]
    for who in shared:
        assert who["young"] == who["name"].startswith("Kid")
        assert not who["young"] or max(who["off"]) <= 1e-9


def test_more_sets_than_asked_for_are_told_first_and_why(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["squad", "club", "hop-step-sand", "--venue", "marram-point", *DAY]
    assert main([*words, "--sets", "2", "--to", "x.svg"]) == 0
    out = capsys.readouterr().out
    found = re.search(r"! 2 sets asked for, (\d) laid: on 2 shared sets (\d) athletes would", out)
    assert found
    assert out.index(found[0]) < out.index("SETS")
    assert "2 sets asked for" in (here / "x.svg").read_text(encoding="utf-8")
    assert out.count("over the tolerance: own marks") == int(found[2])
    assert len(re.findall(r"^  \w \((?:shared|own)", out, re.M)) == int(found[1])
    plain = " ".join(out.split())
    enough, wide = re.search(
        r"(\d) sets would keep .*; a tolerance of (\d+) cm would", plain
    ).groups()  # type: ignore[union-attr]
    for more in (["--sets", enough], ["--sets", "2", "--tolerance", f"{wide}cm"]):
        assert main([*words, *more]) == 0
        assert "asked for" not in capsys.readouterr().out
    assert main([*words, "--sets", "2", "--tolerance", f"{int(wide) - 1}cm"]) == 0
    assert "asked for" in capsys.readouterr().out


def test_the_tolerances_own_sharing_is_not_called_the_least_misfit(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ada counts nine times: on the means of one set Bo is over, on marks moved towards Bo nobody is."""
    head, ada, _ = CSV.split("\n", 2)
    rows = (head, ada.removesuffix("1") + "9", ada.replace("Ada", "Bo").replace("11,20", "12,20"))
    (here / "two.csv").write_text("\n".join(rows), encoding="utf-8")
    for more in ((), ("--sets", "1")):
        assert main(["squad", "two.csv", "hop-step-sand", *more, *DAY]) == 0
        out = " ".join(capsys.readouterr().out.split())
        assert "1 set, the fewest found with nobody off by more than 15 cm in any phase" in out
        assert "least total misfit" not in out
        assert "over the tolerance" not in out
    assert main(["squad", "two.csv", "hop-step-sand", "--sets", "2", *DAY]) == 0
    assert "Sharing into 2 with least total misfit" in " ".join(capsys.readouterr().out.split())


def test_words_and_options_come_in_any_order(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    outs = []
    for words in (("s.csv", "hop-step-sand", "--sets", "2"), ("s.csv", "--sets", "2", "hop-step-sand"),
                  ("--sets", "2", "s.csv", "hop-step-sand")):  # fmt: skip
        assert main(["squad", *words, *DAY]) == 0
        outs.append(capsys.readouterr().out)
    assert outs[0] == outs[1] == outs[2]
    with pytest.raises(SystemExit):
        main(["squad", "s.csv", "--set", "2", "hop-step-sand"])
    assert "unknown: --set" in capsys.readouterr().err
