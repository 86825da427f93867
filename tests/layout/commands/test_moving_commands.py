"""`phasemark film` and `phasemark compare` on shipped motions, and what they refuse."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from animate.body.body import body
from animate.motion.chain import Settings
from layout.cli import main
from layout.commands.demo_ import COMPARED, plans
from layout.commands.handout_poster import asked
from layout.moving.both import WHY
from layout.moving.clip import step_contact
from layout.moving.solved import at_hand
from layout.moving.ways import ways
from layout.plan.stored import to_json
from layout.rules.cautions import COMPUTED, DEFER_IN_SHORT, IN_SHORT


@pytest.fixture
def plan_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A saved demo plan in an empty working folder; solving is not allowed to take long."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "0.5")
    plan = next(plan for stem, plan, _, _ in plans() if stem == COMPARED)
    Path("p.json").write_text(to_json(plan), encoding="utf-8")
    return "p.json"


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    said = capsys.readouterr()
    return code, said.out, said.err


def test_film_writes_a_clip_and_says_what_it_measures(
    plan_file: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(capsys, "film", plan_file, "--to", "a.gif", "--slow", "2")
    assert code == 0
    assert "knee gap" in out
    assert " cm" in out
    assert "landing angle" in out
    assert "Kong & Zhou 1999" in out
    with Image.open("a.gif") as clip:
        assert clip.size == (960, 540)
        assert clip.n_frames > 30  # type: ignore[attr-defined]
        assert clip.info["loop"] == 0


@pytest.mark.parametrize("camera", ["fixed", "follow", "both"])
def test_every_camera_in_both_themes(
    plan_file: str, capsys: pytest.CaptureFixture[str], camera: str
) -> None:
    for grey in ((), ("--grey",)):
        words = ("film", plan_file, "--to", "a.png", "--camera", camera, "--overwrite", *grey)
        assert run(capsys, *words)[0] == 0
        with Image.open("a.png") as picture:
            colours = picture.convert("RGB").getcolors(1 << 20)
        assert colours is not None
        plain = all(max(c) - min(c) <= 2 for n, c in colours if n > 40)  # type: ignore[arg-type]
        assert plain == bool(grey)


@pytest.mark.parametrize("still", ["strip", "trail"])
def test_stills(plan_file: str, capsys: pytest.CaptureFixture[str], still: str) -> None:
    code, _, _ = run(capsys, "film", plan_file, "--still", still, "--to", "s.svg")
    assert code == 0
    text = Path("s.svg").read_text(encoding="utf-8")
    assert text.startswith("<")
    assert "Imka" in text


def test_compare_names_both_ways_and_their_difference(
    plan_file: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(capsys, "compare", plan_file, "--of", "knees", "--to", "k.gif")
    assert code == 0
    assert "Knees closer" in out
    assert "Knees apart" in out
    line = next(x for x in out.splitlines() if "knee gap, touchdown" in x)
    one, two, more = (float(x.replace("−", "-")) for x in line.split()[3:8:2])
    assert two - one == pytest.approx(more, abs=0.11)
    assert more == pytest.approx(20.0, abs=1.5)
    rows = {line.partition(",")[0].strip(): line for line in out.splitlines()}
    for name in ("speed in", "speed out", "contact time", "speed lost"):
        assert rows[name].endswith("set by plan"), "what the marks set is no answer"
    assert rows["trunk lean"].endswith("same")


@pytest.mark.parametrize(
    "words",
    [
        ("film", "p.json", "--to", "a.svg"),
        ("film", "p.json", "--still", "strip", "--to", "s.svg"),
        ("compare", "p.json", "--to", "k.gif"),
        ("compare", "p.json", "--of", "lever", "--to", "l.svg"),
    ],
)
def test_text_says_computed_and_what_to_mind(
    plan_file: str, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    code, out, _ = run(capsys, *words)
    assert code == 0
    said = " ".join(out.split())
    assert "computed" in said.lower()
    for text in (COMPUTED, IN_SHORT, DEFER_IN_SHORT):
        assert text in said


def test_plan_and_motion_are_told_apart_and_which_step_is_measured(
    plan_file: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert plan_file
    again = next(plan for stem, plan, _, _ in plans() if stem == "imka-two-hops-step-track")
    Path("r.json").write_text(to_json(again), encoding="utf-8")
    code, out, _ = run(capsys, "film", "r.json", "--to", "r.svg")
    assert code == 0
    assert "At the step contact, the first of 2, R 5.51 m, computed:" in out
    assert WHY in " ".join(out.split())
    assert "the step contact, computed:" in run(capsys, "film", "p.json", "--to", "p.svg")[1]


def test_knees_asked_for_grow_with_the_leg() -> None:
    who = next(plan for stem, plan, _, _ in plans() if stem == COMPARED)
    for stature in (1.20, 1.68, 2.05):
        one = replace(who, who=replace(who.who, stature=stature))
        (_, closer), (_, apart) = ways("knees", Settings(), one)
        leg = body(stature, 60.0).leg
        assert closer.knee_gap == pytest.approx(0.28 * leg, abs=0.0051)
        assert apart.knee_gap == pytest.approx(0.50 * leg, abs=0.0051)
        closed, wide = (pair[2] for pair in asked(one, one, one)[0])
        assert closed.knee_gap == pytest.approx(0.11 * leg, abs=0.0051)
        assert wide == apart


def test_a_trunk_that_moves_the_knees_says_so(
    plan_file: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A motion of the plan stands in for the one that leans, which would have to be solved."""
    import layout.commands.film_ as room

    plan = next(plan for stem, plan, _, _ in plans() if stem == COMPARED)
    other = at_hand(plan, ways("knees", Settings(), plan)[0][1])
    assert other is not None
    monkeypatch.setattr(room, "solving", lambda _, asked: replace(other, settings=asked))
    _, out, _ = run(capsys, "film", plan_file, "--trunk", "6", "--to", "t.svg")
    usual = at_hand(plan)
    assert usual is not None
    leant, upright = (step_contact(m).reading.shown()["knee_gap"] for m in (other, usual))
    assert f"--trunk moves the knees too: knee gap {leant}, {upright} without --trunk" in out
    words = ("film", plan_file, "--trunk", "6", "--knee-gap", "30cm", "--to", "u.svg")
    assert "moves the knees" not in run(capsys, *words)[1]


def test_compare_of_lever_tables_and_plots_the_trade(
    plan_file: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("compare", plan_file, "--of", "lever", "--to", "l.svg", "--plot", "trade.png")
    code, out, _ = run(capsys, *words)
    assert code == 0
    assert "FREE LEG AS A LEVER" in out
    assert "no source" in out
    assert "open question" in out
    Image.open(io.BytesIO(Path("trade.png").read_bytes())).verify()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("film",), "words: "),
        (("film", "{p}", "--to", "a.doc"), "--to: "),
        (("film", "{p}", "--slow", "0"), "--slow: "),
        (("film", "{p}", "--slow", "x"), "--slow: "),
        (("film", "{p}", "--camera", "drone"), "--camera: "),
        (("film", "{p}", "--still", "yes"), "--still: "),
        (("film", "{p}", "--arms", "wings"), "--arms: "),
        (("film", "{p}", "--knee-gap", "3 m"), "--knee-gap: "),
        (("film", "{p}", "--knee-gap", "nan"), "--knee-gap: "),
        (("film", "{p}", "--free-knee", "300"), "--free-knee: must be 49 to 168 degrees"),
        (("film", "{p}", "--free-thigh", "up"), "--free-thigh: "),
        (("film", "{p}", "--trunk", "90"), "--trunk: must be -17 to 28 degrees"),
        (("film", "{p}", "--to", "none/a.gif"), "output: "),
        (("film", "{p}", "--to", "p.json"), "--to: "),
        (("compare", "{p}", "--of", "feet"), "--of: "),
        (("compare",), "words: "),
    ],
)
def test_bad_input_is_one_line_and_exit_code_2(
    plan_file: str, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    code, out, err = run(capsys, *(w.replace("{p}", plan_file) for w in words))
    assert code == 2
    assert not out
    assert len(err.splitlines()) == 1
    assert said in err
    assert "Traceback" not in err


def test_a_clip_that_is_there_is_kept(plan_file: str, capsys: pytest.CaptureFixture[str]) -> None:
    Path("a.gif").write_bytes(b"mine")
    code, _, err = run(capsys, "film", plan_file, "--to", "a.gif")
    assert code == 2
    assert "--overwrite" in err
    assert Path("a.gif").read_bytes() == b"mine"


@pytest.mark.parametrize("seconds", ["abc", "nan", "inf", "-1", "0", "1e9", "1 s"])
@pytest.mark.parametrize("command", ["film", "compare", "handout"])
def test_a_wrong_time_to_solve_is_refused(
    plan_file: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    command: str,
    seconds: str,
) -> None:
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", seconds)
    code, _, err = run(capsys, command, plan_file)
    assert code == 2
    assert len(err.splitlines()) == 1
    assert "PHASEMARK_SOLVE_SECONDS: " in err
    assert [p.name for p in Path().iterdir()] == ["p.json"]


def test_what_cannot_be_solved_in_time_is_said_in_one_line(
    plan_file: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "0.05")
    code, _, err = run(capsys, "film", plan_file, "--knee-gap", "33cm", "--to", "a.gif")
    assert code == 2
    assert "none found (after 0.05 s)" in err
    assert len(err.splitlines()) == 1
    assert not Path("a.gif").exists()
