"""A rule of the trade is changed in one file, and shows in every text, card and page."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from layout.rules.rule import rule, rules, source_of
from layout.rules.sources import sources
from tests.published import published

ROOT = Path(__file__).resolve().parents[3]
RULES = ROOT / "layout" / "rules" / "rules.toml"
CLUB = ROOT / "layout" / "catalogue" / "club"
TOLD = """
import contextlib, io, json, sys
from layout.cli import main
out = []
for words in json.loads(sys.argv[1]):
    with contextlib.redirect_stdout(io.StringIO()) as said:
        assert main(words) == 0, words
    out.append(said.getvalue())
    if "--to" in words:
        with open(words[words.index("--to") + 1], encoding="utf-8") as made:
            out[-1] += made.read()
print(json.dumps(out))
"""


def bare(text: str) -> str:
    """What is read, in one row: neither marks of a page nor where lines were broken."""
    return re.sub(r"\s+", "", re.sub(r"<[^>]*>", "", text)).replace("&#x27;", "'")


def told(home: Path, commands: Mapping[str, str], folder: Path) -> dict[str, str]:
    """What the program that stands in `home` says and writes."""
    folder.mkdir()
    words = [c.replace("OUT", str(folder)).split() for c in commands.values()]
    run = subprocess.run(
        [sys.executable, "-c", TOLD, json.dumps(words)],
        cwd=home, env={"PYTHONPATH": str(home), "PHASEMARK_CACHE": str(folder)},
        capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr[-900:]
    return dict(zip(commands, map(bare, json.loads(run.stdout)), strict=True))


def edited(folder: Path, changes: dict[str, str]) -> Path:
    """A copy of the program in which one file differs: a coach's, a federation's."""
    (folder / "layout").mkdir(parents=True)
    (folder / "animate").symlink_to(ROOT / "animate")
    for entry in (ROOT / "layout").iterdir():
        if entry.name != "rules":
            (folder / "layout" / entry.name).symlink_to(entry)
    shutil.copytree(ROOT / "layout" / "rules", folder / "layout" / "rules")
    text = RULES.read_text(encoding="utf-8")
    for name, value in changes.items():
        text, found = re.subn(rf"(?m)(^\[{name}\]\nvalue = ).*$", rf"\g<1>{value}", text)
        assert found == 1, name
    (folder / "layout" / "rules" / "rules.toml").write_text(text, encoding="utf-8")
    return folder


SHEETS = {
    "text": "plan WHO --more --on 2026-05-01",
    "drawing": "draw WHO --on 2026-05-01 --to OUT/NAME.svg",
    "sheet": "handout WHO --no-figure --on 2026-05-01 --to OUT/NAME-sheet.svg",
    "phone": "handout WHO --no-figure --on 2026-05-01 --to OUT/NAME.html",
}
"""What shows a plan, and its tape card."""
PLANS = {
    "bram": f"{CLUB}/bram.toml hop-step-sand",
    "over": f"{CLUB}/bram.toml two-hops-step-beside",
    "imka": f"{CLUB}/imka.toml short-triple-jump",
    "ada": "full-triple-jump --despite us --name Ada --born 2014 --stature 1.5 --mass 41 --leg left "
    "--target 8",
}
ASKED = {
    **{
        f"{who} {kind}": line.replace("WHO", words).replace("NAME", who)
        for who, words in PLANS.items()
        for kind, line in SHEETS.items()
    },
    "squad text": f"squad {CLUB}/club.csv hop-step-sand --on 2026-05-01",
    "squad drawing": f"squad {CLUB}/club.csv hop-step-sand --on 2026-05-01 --to OUT/squad.svg",
    "ladder text": f"ladder {CLUB}/imka.toml --at sand-six --hit 4/5 --sound quiet",
}
CHANGED = {
    "youth_age": "15",
    "youth_sessions": "1",
    "youth_reps": "8",
    "budget": "{ beginner = [80, 100], intermediate = [90, 115], advanced = [120, 140] }",
    "rest": "[50, 70]",
    "child_strides": "4",
    "shared_mark": "0.12",
    "into_sand": "0.60",
    "board_short": "0.12",
    "low_hurdle_height": "0.19",
    "losses": "[0.07, 0.10, 0.151]",
}
EVERY = ("text", "drawing", "sheet", "phone")


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, str], dict[str, str]]:
    """What is told by the program, and by one in whose file the rules are others."""
    folder = tmp_path_factory.mktemp("rules")
    home = edited(folder / "home", CHANGED)
    return told(ROOT, ASKED, folder / "now"), told(home, ASKED, folder / "then")


@pytest.mark.parametrize(
    ("who", "kinds", "was", "becomes"),
    [
        ("bram", EVERY, "Under16:", "Under15:"),
        ("bram", EVERY, "twiceaweek", "onceaweek"),
        ("bram", EVERY, "ofatmost10contacts", "ofatmost8contacts"),
        ("bram", EVERY, "48to72hours", "50to70hours"),
        ("ada", ("text", "sheet", "phone"), "5strides", "4strides"),
        ("over", ("text", "sheet", "phone"), "23cmhurdle", "19cmhurdle"),
        ("over", ("drawing",), "23cm(?!lowered)", "19cm"),
        ("imka", ("text",), "atmost120inasession", "atmost115inasession"),
        ("ladder", ("text",), "atmost120inasession", "atmost115inasession"),
        ("imka", ("text",), "over0[.]50mintoit", "over0[.]60mintoit"),
        ("imka", ("text",), "everybody:[^;]*;10%,", "everybody:[^;]*;12%,"),
        ("squad", ("text",), "15cminanyphase", "12cminanyphase"),
        ("squad", ("drawing",), "tolerance15cm", "tolerance12cm"),
    ],
)
def test_a_rule_is_changed_in_one_file_and_shows_everywhere(
    both: tuple[dict[str, str], dict[str, str]],
    who: str,
    kinds: Sequence[str],
    was: str,
    becomes: str,
) -> None:
    for name in (f"{who} {kind}" for kind in kinds):
        now, then = (told[name] for told in both)
        assert re.search(was, now), name
        assert re.search(becomes, then), name
        assert not re.search(becomes, now), name
        assert not re.search(was, then), name


@pytest.mark.parametrize("kind", EVERY)
def test_so_does_the_speed_lost_in_a_contact(
    both: tuple[dict[str, str], dict[str, str]], kind: str
) -> None:
    """Other marks on card, drawing, sheet and page."""
    now, then = (sorted(re.findall(r"\d[.]\d\dm", told[f"bram {kind}"])) for told in both)
    assert now
    assert now != then


def test_every_rule_tells_its_unit_and_its_source() -> None:
    for name, found in rules().items():
        assert set(found) <= {"value", "unit", "source", "reading"}, name
        assert found["unit"].strip(), name
        assert found["source"] in sources(), name
        assert source_of(name), name
        assert rule(name) is not None, name


def test_no_rule_stands_there_for_nothing() -> None:
    """Each is read by name somewhere."""
    code = "".join(p.read_text(encoding="utf-8") for p in (ROOT / "layout").rglob("*.py"))
    assert [name for name in rules() if f'rule("{name}")' not in code.replace("'", '"')] == []


PLACED = re.compile(
    r"[Uu]nder 1[0-9]\b(?! when feet)|48 to 72|48-72|3 sets of 10|twice a week|15 cm a phase|"
    r"50 m into|50 cm into|23 cm under|at most 10 contacts"
)


def test_no_sentence_has_a_rules_figure_typed_into_it() -> None:
    """Texts and docstrings of the program: a figure in them would go stale with the rule."""
    found = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()}"
        for path in sorted((ROOT / "layout").rglob("*.py"))
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if PLACED.search(line) and not line.strip().startswith("'")  # what a worked example prints
    ]
    assert found == []


def test_a_step_contact_is_read_beside_what_was_published() -> None:
    rows = {row["id"]: row for row in published("contacts.toml")}
    for name, row in (
        ("thighs_apart_touchdown", "step-thighs-touchdown"),
        ("thighs_apart_takeoff", "step-thighs-takeoff"),
        ("support_knee_minimum", "step-knee-least"),
        ("landing_angle", "step-landing-angle"),
        ("takeoff_angle", "step-takeoff-angle"),
    ):
        assert rule("step_contact")[name] == (rows[row]["best"], rows[row]["college"])
    assert len(rule("step_contact")) == 5
