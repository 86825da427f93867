"""What the commands write and print: files whole or not at all, JSON that reads back, safe names."""

from __future__ import annotations

import errno
import json
import os
import re
import shlex
import shutil
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.cli import main
from layout.commands.output import DRAWINGS, ending_of, save, stem_of
from layout.commands.text import drill_list, drill_text, more_text, plan_text
from layout.plan.drill import catalogue
from layout.plan.stored import from_json, to_json
from layout.plan.tape import tape_card
from layout.plan.value import PLAN_VERSION
from layout.rules.sources import said
from layout.sheet.drawing import draw
from layout.words.faults import BadInput
from layout.words.feet import as_read
from tests.strategies import CLUB, CLUB_FOLDER, drill_names, pit_or_track, plan

Edit = Callable[[dict[str, Any]], object]


@pytest.fixture
def club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for file in CLUB_FOLDER.glob("*.toml"):
        shutil.copy(file, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


SCREEN = 80
"""Columns of a terminal."""


def packed(text: str) -> str:
    """Without spaces: folding may put a line's end after any space or hyphen."""
    return "".join(text.split())


PLAN = ("plan", "imka.toml", "hop-step-sand", "--on", "2026-05-01")
DRAW = ("draw", "imka.toml", "hop-step-sand", "--on", "2026-05-01")


# --- printing -------------------------------------------------------------------------------------


def test_json_reads_back(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*PLAN, "--json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    made = from_json(captured.out)
    assert made == plan("imka", "hop-step-sand")
    assert json.loads(captured.out)["version"] == PLAN_VERSION


def test_saved_plan_is_the_same_and_goes_on(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*PLAN, "--save", "p.json"]) == 0
    first = capsys.readouterr().out
    assert from_json((club / "p.json").read_text(encoding="utf-8")) == plan("imka", "hop-step-sand")
    assert "next: phasemark draw p.json --to hop-step-sand.svg" in first
    assert main(["plan", "p.json"]) == 0
    again = capsys.readouterr().out
    assert again.partition("\nnext:")[0] == first.partition("\nnext:")[0]


@pytest.mark.parametrize(
    "more",
    [(), ("--hops", "low"), ("--tape", "ft", "--zero", "pit"), ("--name", "A; rm -rf 'x' $(y)"),
     ("--mass", "60", "--venue", "marram-point", "--tape-step", "5 cm")],
)  # fmt: skip
def test_next_command_can_be_pasted_and_draws_this_plan(
    more: tuple[str, ...], club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*PLAN, *more]) == 0
    shown = capsys.readouterr().out
    (line,) = [s for s in shown.splitlines() if s.startswith("next: phasemark ")]
    words = shlex.split(line)[2:]
    assert words[0] == "draw"
    assert main(words) == 0
    svg = (club / words[words.index("--to") + 1]).read_text(encoding="utf-8")
    said = [e.text for e in ET.fromstring(svg).iter() if e.text]
    tape = {"--tape", "--zero", "--tape-step"}  # JSON has none, and says so
    pairs = [more[i : i + 2] for i in range(0, len(more), 2) if more[i] not in tape]
    plain = [word for pair in pairs for word in pair]
    for flight in from_json(_json(*PLAN, *plain, capsys=capsys)).flights:
        assert flight.phase in said


def _json(*words: str, capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    assert main([*words, "--json"]) == 0
    return capsys.readouterr().out


def test_more_prints_every_source(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*PLAN, "--more"]) == 0
    out = capsys.readouterr().out
    for head in ("FLIGHTS", "CONTACTS", "REMARKS", "BEST SPLIT"):
        assert head in out
    for note in plan("imka", "hop-step-sand").notes:
        assert packed(f"{note.text} [{said(note.source)}]") in packed(out)


@pytest.mark.parametrize("who", CLUB)
@pytest.mark.parametrize("system", ["cm", "ft"])
def test_plan_text_is_whole_and_fits_the_screen(who: str, system: str) -> None:
    for drill in catalogue():
        made = plan(who, drill, pit_or_track(drill))
        card = tape_card(made, "board", system)  # type: ignore[arg-type]
        lines = plan_text(made, card) + more_text(made, card.system)
        flat = packed(" ".join(lines))
        for text in (*made.points, *made.cautions, *(n.text for n in made.notes), made.date):
            assert packed(as_read(text, card.system)) in flat
        if system == "ft" and not made.hurdles:
            assert not re.search(r"[0-9] ?(cm|m|m/s)\b", " ".join(" ".join(lines).split()))
        for row in card.lines:
            assert any(row.shown in line for line in lines)
        assert [line for line in lines if len(line) > SCREEN] == []


def test_drill_list_has_each_drill_once() -> None:
    text = drill_list(catalogue())
    first = [line.split()[0] for line in text if line.startswith("  ") and line.strip()]
    for slug in catalogue():
        assert first.count(slug) == 1
    assert max(map(len, text)) <= SCREEN


@given(drill_names)
def test_drill_text_has_points_faults_cautions_source(slug: str) -> None:
    drill = catalogue()[slug]
    flat = packed(" ".join(drill_text(drill)))
    for text in (
        drill.title,
        drill.job,
        *drill.points,
        *drill.faults,
        *drill.cautions,
        drill.source,
    ):
        assert packed(text) in flat


def test_own_drill_and_venue_work(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (club / "mine.toml").write_text(
        '[drill.my-own]\ntitle = "Mine"\njob = "A test."\nphases = ["hop", "step", "step"]\n'
        'cycles = 1\nstart = "run"\nstrides = 6\nlead = "strong"\nends = "sand"\n'
        'finish = "run on"\narcs = ["low", "natural", "natural"]\nlevel = "beginner"\n'
        'youngest = 12\nyoungest_source = "ours"\nintensity = "moderate"\n'
        "dose = { beginner = [2, 4], intermediate = [3, 4], advanced = [3, 6] }\n"
        'points = ["One.", "Two."]\nfaults = ["seen -> why -> change"]\ncautions = ["Care."]\n'
        'source = "common practice, no source"\n',
        encoding="utf-8",
    )
    code = main(["plan", "imka.toml", "my-own", "--drill-file", "mine.toml"])
    captured = capsys.readouterr()
    assert code == 0, captured.err
    assert "Imka: Mine" in captured.out
    assert main(["plan", "--list", "--drill-file", "mine.toml"]) == 0
    assert "my-own" in capsys.readouterr().out


# --- writing --------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [(*PLAN, "--save", "out.json"), (*DRAW, "--to", "out.svg")])
def test_existing_output_is_kept_unless_told(
    words: tuple[str, ...], club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = club / words[-1]
    assert main(words) == 0
    mine = out.read_text() + "\n"
    out.write_text(mine)
    capsys.readouterr()
    assert main(words) == 2
    assert "exists already and is kept (--overwrite replaces it)" in capsys.readouterr().err
    assert out.read_text() == mine
    assert main([*words, "--overwrite"]) == 0
    assert out.stat().st_size > 1000
    assert [p.name for p in club.iterdir() if p.name.startswith(".")] == []


@pytest.mark.parametrize("kind", DRAWINGS)
def test_each_format_has_its_head(
    kind: str, club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*DRAW, "--to", f"a{kind.upper()}"]) == 0
    head = {".svg": b"<?xml", ".pdf": b"%PDF-", ".png": b"\x89PNG"}[kind]
    assert (club / f"a{kind.upper()}").read_bytes().startswith(head)
    assert "next: print it at 100 %" in capsys.readouterr().out


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EACCES, errno.EROFS, errno.EIO])
@pytest.mark.parametrize("words", [(*PLAN, "--save", "out.json"), (*DRAW, "--to", "out.svg")])
@pytest.mark.parametrize("there", [False, True])
def test_disk_that_refuses_leaves_nothing_and_loses_nothing(
    code: int, words: tuple[str, ...], there: bool, club: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """The disk fills half way through the file."""
    if there:
        assert main(words) == 0
        capsys.readouterr()
        mine = (club / words[-1]).read_text()

    def full(data: bytes) -> Callable[[str], None]:
        def fill(spare: str) -> None:
            with open(spare, "xb") as stream:
                stream.write(data[: len(data) // 2])
            raise OSError(code, os.strerror(code))

        return fill

    monkeypatch.setattr("layout.commands.output.fill_with", full)
    before = sorted(club.iterdir())
    assert main([*words, "--overwrite"]) == 2
    captured = capsys.readouterr()
    assert len(captured.err.splitlines()) == 1
    assert f"output: could not be written ({os.strerror(code)})" in captured.err
    assert captured.out == ""
    assert sorted(club.iterdir()) == before
    assert not there or (club / words[-1]).read_text() == mine


def test_folder_without_leave_to_write(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    locked = club / "locked"
    locked.mkdir(mode=0o555)
    if os.access(locked, os.W_OK):
        pytest.skip("this user may write everywhere")
    assert main([*PLAN, "--save", "locked/a.json"]) == 2
    assert "could not be written (Permission denied)" in capsys.readouterr().err


def test_full_device(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    assert main([*PLAN, "--save", "/dev/full"]) == 2
    assert "--save: must be a file ending in .json" in capsys.readouterr().err
    (club / "full.json").symlink_to("/dev/full")
    assert main([*PLAN, "--save", "full.json", "--overwrite"]) == 2
    assert "is there and is no plan" in capsys.readouterr().err


def test_save_keeps_a_file_that_appears_meanwhile(tmp_path: Path) -> None:
    place = tmp_path / "a.json"
    place.write_text("theirs")
    with pytest.raises(BadInput, match="exists already and is kept"):
        save(place, "ours", False)
    assert place.read_text() == "theirs"


def test_demo_keeps_what_is_there(club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (club / "d").mkdir()
    (club / "d" / "tevin-full-triple-jump.pdf").write_text("mine")
    assert main(["demo", "d"]) == 2
    assert "exists already and is kept (--overwrite replaces it)" in capsys.readouterr().err
    assert [p.name for p in (club / "d").rglob("*") if p.is_file()] == [
        "tevin-full-triple-jump.pdf"
    ]


# --- names ----------------------------------------------------------------------------------------

NAMES = [
    "../../up", "a/b\\c", "<script>alert(1)</script>", "\"quotes\" & 'more'", "$x$ \\alpha", "Łucja Ð é",
    "🏃", "اسم", "con", ".hidden", "-rf", "W" * 80, "CON.txt", "a:b*c?d|e",
]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_hostile_name_makes_one_file_here_with_the_name_whole_inside(
    name: str, club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = set(club.rglob("*"))
    assert main([*DRAW, f"--name={name}"]) == 0, capsys.readouterr().err
    (new,) = set(club.rglob("*")) - before
    assert new.parent == club
    assert new.suffix == ".svg"
    assert new.name[0] not in ".-"
    assert not set(new.name) & set('<>:"/\\|?*&$')
    title = ET.parse(new).getroot().find("{http://www.w3.org/2000/svg}title")
    assert title is not None
    assert (title.text or "").startswith(name)


def test_default_name_differs_for_names_that_look_alike_when_made_safe() -> None:
    made = plan("imka", "hop-step-sand")
    names = {stem_of(replace(made, who=replace(made.who, name=n))) for n in ("a/b", "a:b", "a_b")}
    assert len(names) == 3


def test_another_ending_is_refused() -> None:
    with pytest.raises(BadInput, match=r"--to: must be a file ending in \.svg, \.pdf, \.png"):
        ending_of("a.gif", DRAWINGS)


# --- saved plans from elsewhere -------------------------------------------------------------------


def _set(*path: str | int, value: object) -> Edit:
    def edit(table: dict[str, Any]) -> None:
        at: Any = table
        for step in path[:-1]:
            at = at[step]
        at[path[-1]] = value

    return edit


SPOILT: dict[str, Edit] = {
    "no contacts": _set("contacts", value=[]),
    "no flights": _set("flights", value=[]),
    "nul in name": _set("who", "name", value="a\0b"),
    "line end in name": _set("who", "name", value="a\nb"),
    "half a character": _set("who", "name", value="\ud800x"),
    "empty name": _set("who", "name", value=""),
    "no size": _set("who", "stature", value=0.0),
    "unknown build": _set("who", "build", value="x"),
    "unknown leg": _set("who", "leg", value="x"),
    "total of nothing": _set("total", value=0.0),
    "negative runway": _set("place", "width", value=-1.0),
    "standing flight": _set("flights", 0, "vx", value=0.0),
    "unknown foot": _set("contacts", 1, "foot", value="middle"),
    "unknown move": _set("contacts", 1, "leave", value="skip"),
    "contact far away": _set("contacts", 1, "x", value=1e8),
    "pit far away": _set("place", "pit_x", value=1e8),
    "drill with a path": _set("drill", value="x/../../y"),
    "drill with a command": _set("drill", value="x; echo"),
    "flight of no contact": _set("flights", 0, "number", value=77),
    "contact of no number": _set("contacts", 0, "number", value=9),
}


@pytest.mark.parametrize("what", SPOILT)
@pytest.mark.parametrize("command", ["plan", "draw"])
def test_spoilt_plan_is_refused(
    what: str, command: str, club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file that no plan of ours can be: its field is named, and nothing is written."""
    table = json.loads(to_json(plan("imka", "two-hops-step-sand")))
    SPOILT[what](table)
    (club / "p.json").write_text(json.dumps(table))
    words = ["plan", "p.json", "--more"] if command == "plan" else ["draw", "p.json"]
    before = sorted(club.rglob("*"))
    assert main(words) == 2
    captured = capsys.readouterr()
    assert captured.err.startswith("phasemark: p.json: ")
    assert captured.out == ""
    assert sorted(club.rglob("*")) == before


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=5,
)


def _paths(value: Any, at: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    pairs: list[tuple[str | int, Any]] = []
    if isinstance(value, dict):
        pairs = list(value.items())
    elif isinstance(value, list):
        pairs = list(enumerate(value))
    return [(*at, k) for k, _ in pairs] + [p for k, v in pairs for p in _paths(v, (*at, k))]


WHOLE = to_json(plan("imka", "two-hops-step-sand"))


@given(st.sampled_from(_paths(json.loads(WHOLE))), json_values)
def test_any_change_of_a_saved_plan_is_read_or_refused(
    path: tuple[str | int, ...], value: object
) -> None:
    table = json.loads(WHOLE)
    _set(*path, value=value)(table)
    try:
        made = from_json(json.dumps(table))
        plan_text(made, tape_card(made))
        draw(made, tape_card(made))
    except BadInput:
        return


@pytest.mark.parametrize(("kind", "said"), [("pdf", True), ("svg", False)])
def test_letters_a_drawing_cannot_show_are_named(
    kind: str, said: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    # A sign of Linear A: no ordinary machine has a font with it.
    words = (
        "hop-step-sand",
        "--name",
        "A\U00010600da",
        "--born",
        "2000",
        "--stature",
        "1.70",
        "--mass",
        "58",
    )
    code = main(["draw", *words, "--leg", "left", "--target", "11.20", "--to", f"a.{kind}"])
    out = capsys.readouterr().out
    assert code == 0
    assert ("U+10600" in out) is said
