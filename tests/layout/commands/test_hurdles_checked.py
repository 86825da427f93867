"""`plan`, `draw` and `film` check hurdles for clearance, or say plainly that nobody has looked."""

from __future__ import annotations

import json
import math
import os
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from animate.motion.outcome import NotFound
from layout.cli import main
from layout.plan.stored import from_json
from layout.plan.value import Plan
from layout.words.faults import refuse
from tests.strategies import CLUB_FOLDER

ROOT = Path(__file__).parents[3]
BRAM = (
    "bram.toml", "two-hops-step-beside", "--hops", "low", "--venue", "marram-point",
    "--on", "2026-11-25",
)  # fmt: skip
TEVIN = ("tevin.toml", "three-hops-step-over", "--venue", "marram-point", "--on", "2026-11-25")
"""Two plans of the demo, whose motions come solved."""
NOBODY = "not checked for clearance"


@pytest.fixture(autouse=True)
def club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The club's files in a folder of their own, nothing kept, and no time to solve anything."""
    for file in CLUB_FOLDER.glob("*.toml"):
        shutil.copy(file, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "0.3")
    return tmp_path


Capture = pytest.CaptureFixture[str]


def run(capsys: Capture, *words: str) -> str:
    capsys.readouterr()
    code = main(list(words))
    said = capsys.readouterr()
    assert code == 0, said.err
    assert said.err == ""
    return said.out


def as_plan(capsys: Capture, *words: str) -> Plan:
    return from_json(run(capsys, "plan", *words, "--json"))


@pytest.mark.parametrize("words", [BRAM, TEVIN])
def test_a_plan_is_checked_and_shows_it(words: tuple[str, ...], capsys: Capture) -> None:
    made = as_plan(capsys, *words)
    text = run(capsys, "plan", *words, "--more")
    flat = " ".join(text.split())
    assert NOBODY not in flat
    for hurdle in made.hurdles:
        found = hurdle.clearing
        assert found is not None
        words_there = f"+{int(100 * found.gap)} cm", found.part, f" {100 * found.greatest:.0f} "
        assert any(all(w in row for w in words_there) for row in text.splitlines())
        assert f"{hurdle.x:.2f} m" in text  # the tape card has the better place
    assert "(Phasemark's estimate)" in flat
    assert "a model's, not the athlete's own" in flat
    assert max(map(len, text.splitlines()[:-3])) <= 78


def test_beside_the_line_a_side_view_says_what_it_does_not_know(capsys: Capture) -> None:
    text = " ".join(run(capsys, "plan", *BRAM).split())
    assert "how far a foot swings sideways in the air a side view does not know" in text
    assert "as if it stood under the athlete" in text
    assert "as if it stood" not in " ".join(run(capsys, "plan", *TEVIN).split())


@pytest.mark.parametrize("words", [BRAM, TEVIN])
def test_where_no_motion_is_found_everything_is_plain_about_it(
    words: tuple[str, ...], capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: object) -> None:
        raise refuse("motion", "none found in 120 s")

    monkeypatch.setattr("layout.moving.solved.motion_of", none)
    made = as_plan(capsys, *words)
    assert all(h.clearing is None and h.checked == NOBODY for h in made.hurdles)
    text = run(capsys, "plan", *words)
    assert NOBODY in text.partition("WARNINGS")[0]
    assert NOBODY in " ".join(text.partition("WARNINGS")[2].split())
    assert "clears by +" not in text
    shown = run(capsys, "draw", *words, "--to", "a.svg")
    assert NOBODY in shown
    assert "! no positions on it: motion: none found in 120 s" in shown
    assert NOBODY in " ".join(e.text or "" for e in ET.parse("a.svg").getroot().iter())


@pytest.mark.parametrize("words", [TEVIN, ("bram.toml", "hop-step-sand", "--on", "2026-11-25")])
def test_a_drawing_has_the_athlete_at_every_contact(
    words: tuple[str, ...], capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing was kept before: the motion is worked out for the drawing."""
    monkeypatch.setenv("PHASEMARK_SOLVE_SECONDS", "60")
    monkeypatch.setattr("layout.moving.solved.ready", lambda *_: None)
    run(capsys, "draw", *words, "--to", "a.svg")
    parts = {e.get("id", "") for e in ET.parse("a.svg").getroot().iter()}
    contacts = len(as_plan(capsys, *words).contacts)
    assert {f"figure-{i}" for i in range(contacts)} <= parts


def test_a_saved_plan_is_drawn_as_the_same_words_are(capsys: Capture) -> None:
    run(capsys, "plan", *TEVIN, "--save", "p.json")
    made = from_json(Path("p.json").read_text(encoding="utf-8"))
    run(capsys, "draw", "p.json", "--to", "a.svg")
    run(capsys, "draw", *TEVIN, "--to", "b.svg")
    assert Path("a.svg").read_bytes() == Path("b.svg").read_bytes()
    svg = Path("a.svg").read_text(encoding="utf-8")
    for i, hurdle in enumerate(made.hurdles):
        assert hurdle.clearing is not None
        assert f"+{int(100 * hurdle.clearing.gap)} cm" in svg
        assert f'"clearance-{i}"' in svg


def test_a_hit_is_a_warning_everywhere(capsys: Capture) -> None:
    high = (*TEVIN, "--hurdle", "60cm")
    hurdle = as_plan(capsys, *high).hurdles[0]
    assert hurdle.clearing is not None
    deep = math.ceil(-100 * hurdle.clearing.gap)
    assert deep > 0
    hit = f"the {hurdle.clearing.part} hits it, {deep} cm too low. Lower it to "
    hit += f"{100 * hurdle.clearing.greatest:.0f} cm"
    for text in (
        run(capsys, "plan", *high),
        run(capsys, "draw", *high, "--to", "a.svg"),
        run(capsys, "film", *high, "--to", "a.png"),
    ):
        flat = " ".join(text.split())
        assert f"! The 60 cm hurdle under hop 2: {hit}" in flat
        assert "moving body and margin, Phasemark's estimate" in flat
    said = [e.text or "" for e in ET.parse("a.svg").getroot().iter()]
    assert hit in " ".join(said)


def test_where_no_motion_is_found_the_plan_stands_and_says_so(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def find(*_: object, **__: object) -> None:
        raise NotFound("motion", "none found in 120 s")

    monkeypatch.setattr("layout.moving.solved.find", find)
    text = run(capsys, "plan", "imka.toml", "two-hops-step-over", "--despite", "a test")
    flat = " ".join(text.split())
    assert "TAPE CARD" in text
    assert "No motion was found to check the hurdles with (none found in 120 s)." in flat
    assert NOBODY in flat
    made = as_plan(capsys, "imka.toml", "two-hops-step-over", "--despite", "a test")
    assert all(h.clearing is None for h in made.hurdles)


def test_a_film_says_what_is_cleared_and_how_hard_it_lands(capsys: Capture) -> None:
    text = run(capsys, "film", *TEVIN, "--to", "a.png")
    flat = " ".join(text.split())
    assert "HURDLES" in text
    for hurdle in as_plan(capsys, *TEVIN).hurdles:
        assert hurdle.clearing is not None
        row = rf"23 +\+{int(100 * hurdle.clearing.gap)} cm +{hurdle.clearing.part} +"
        assert re.search(row, text)
    rows = re.findall(r"^  (\S.*?) +(R|L|2) +peak +([\d.]+)  mean +([\d.]+)$", text, re.M)
    assert [r[0] for r in rows] == [
        "last stride of the run-in", "take-off into hop", "hop to hop", "hop to hop",
        "hop to step", "landing, as far as shown",
    ]  # fmt: skip
    assert [r[1] for r in rows] == ["L", "R", "R", "R", "R", "L"]
    assert all(1.0 < float(mean) < float(peak) < 25.0 for *_, peak, mean in rows)
    assert "7 to 15.2 (Ramey & Williams 1985; Perttunen et al. 2000)" in flat
    asked = re.search(
        r"taken to give \((\d+) % of a national-level jumper's torque; (.*?)\): ", flat
    )
    assert asked is not None
    assert "probably Allen 2009" in asked[2]
    assert "a model's, not this athlete's" in flat


def test_forces_are_the_report_s_own(capsys: Capture) -> None:
    from animate.motion.check import check
    from layout.commands.demo_ import plans
    from layout.moving.solved import motion_of

    plan = next(p for stem, p, *_ in plans() if stem == "bram-two-hops-step-beside")
    report = check(motion_of(plan))
    text = run(capsys, "film", *BRAM, "--to", "a.png")
    shown = re.findall(r"peak +([\d.]+)  mean +([\d.]+)", text)
    assert shown == [(f"{c.peak:.1f}", f"{c.mean:.1f}") for c in report.contacts]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("plan", *TEVIN, "--unchecked"), "--unchecked: leave it out; every motion is worked"),
        (("draw", *TEVIN, "--unchecked=3"), "--unchecked: leave it out; every motion is worked"),
        (("handout", "club.csv", "--solve"), "--solve: leave it out; every motion is worked"),
        (("plan", *TEVIN, "--tolerence", "3"), "unknown: --tolerence"),
        (("plan", *TEVIN, "--hurdle", "61cm"), "--hurdle: "),
        (("draw", *TEVIN, "--hurdle", "0", "--to", "a.svg"), "--hurdle: "),
    ],
)
def test_bad_input_is_one_line(words: tuple[str, ...], said: str, capsys: Capture) -> None:
    try:
        code = main(list(words))
    except SystemExit as left:
        code = int(left.code or 0)
    shown = capsys.readouterr()
    assert code == 2
    assert shown.out == ""
    assert len(shown.err.splitlines()) == 1
    assert said in shown.err


def test_a_height_typed_into_a_saved_plan_is_refused(capsys: Capture) -> None:
    run(capsys, "plan", *TEVIN, "--save", "p.json")
    table = json.loads(Path("p.json").read_text(encoding="utf-8"))
    table["hurdles"][1]["height"] = 0.46
    Path("p.json").write_text(json.dumps(table), encoding="utf-8")
    for command in ("plan", "draw"):
        assert main([command, "p.json"]) == 2
        err = capsys.readouterr().err
        assert err.startswith("phasemark: p.json: hurdles[1].clearing: does not belong to this")
        assert len(err.splitlines()) == 1


def test_a_plan_without_hurdles_loads_nothing_that_moves() -> None:
    code = (
        "import sys; from layout.cli import main; main(sys.argv[1:]); "
        "print([m for m in ('casadi', 'animate.motion.motion', 'animate.motion.solve', "
        "'animate.motion.clearance') "
        "if m in sys.modules])"
    )
    for words, loaded in (
        (("imka.toml", "hop-step-sand"), []),
        (TEVIN, ["animate.motion.motion", "animate.motion.solve", "animate.motion.clearance"]),
    ):
        done = subprocess.run(
            [sys.executable, "-c", code, "plan", *words],
            capture_output=True, text=True, check=True,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
        assert done.stdout.splitlines()[-1] == str(loaded)
