"""Athletes read from TOML and from options: what is kept, what is refused, all at once."""

from __future__ import annotations

import contextlib
import datetime
import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.athlete.ability import ability
from layout.athlete.athlete import FIELDS, TOTAL_RANGE, Calibration, athlete_from, read_athlete
from layout.book.schema import climb, columns_of
from layout.words.faults import BadInput
from tests import strategies as own

GOOD: dict[str, Any] = {
    "name": "Runa", "stature": 1.52, "mass": 41.0, "leg": "right", "target": "8.00 m",
}  # fmt: skip

BAD = """\
# An athlete with everything wrong.
name = "Ru\\u0000na"
stature = "152"
mass = "heavy"
leg = "rihgt"
levle = "beginner"
level = "expert"
born = 2014.5
build = "small"
training_years = -1
best = "-7.60 m"
target = "1000 m"
split = "50:30:30"
strides = 0
speed = "fast"
note = ""
[calibration]
slope = 9
pull = "much"
losses = [0.07, 0.08]
taau = 1.8
"""


def _lines(table: dict[str, Any], file: str = "", text: str = "") -> list[str]:
    with pytest.raises(BadInput) as error:
        athlete_from(table, file, text)
    lines = str(error.value).splitlines()
    assert len(lines) == len(error.value.faults)
    assert all(line.isprintable() for line in lines)
    return lines


def _fields(lines: list[str]) -> list[str]:
    """Names of the fields, line numbers and rules left out."""
    return sorted(
        line.split(":")[2 if line.startswith("bad.toml:") else 0].strip() for line in lines
    )


def test_every_fault_at_once_with_file_and_line(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(BAD, encoding="utf-8")
    with pytest.raises(BadInput) as error:
        read_athlete(path)
    found = {fault.field: fault for fault in error.value.faults}
    keys = [line.split(" = ")[0] for line in BAD.splitlines() if " = " in line]
    inner = ("slope", "pull", "losses", "taau")
    assert set(found) == {f"calibration.{k}" if k in inner else k for k in keys}
    for key in keys:
        fault = found[f"calibration.{key}" if key in inner else key]
        line = next(n for n, row in enumerate(BAD.splitlines(), 1) if row.startswith(f"{key} ="))
        assert (fault.file, fault.line) == (str(path), line), key
        assert str(fault).startswith(f"{path}:{line}: ")
        assert str(fault).isprintable()
    assert "did you mean right?" in found["leg"].rule
    assert "did you mean level" in found["levle"].rule


@pytest.mark.parametrize("key", ["name", "stature"])
def test_what_is_needed(key: str) -> None:
    table = {k: v for k, v in GOOD.items() if k != key}
    assert _lines(table) == [f"{key}: is missing"]


def test_a_best_stands_in_for_a_target_and_without_either_the_youngest_s_total_does() -> None:
    table = {k: v for k, v in GOOD.items() if k != "target"}
    assert athlete_from({**table, "best": 7.6}).target == 7.6
    guessed = athlete_from(table)
    assert guessed.guess is not None
    assert guessed.target == guessed.guess.total < 5.0


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("stature", 1.09), ("stature", 2.31), ("stature", 152), ("stature", True), ("stature", [1.5]),
        ("mass", 17.9), ("mass", 180.1), ("mass", float("nan")),
        ("mass", True), pytest.param("mass", 10**400, id="mass-huge"),
        ("target", TOTAL_RANGE[0] - 0.01), ("target", TOTAL_RANGE[1] + 0.01), ("target", -8), ("target", 0),
        ("target", "eight"), ("target", float("inf")), ("target", ""), ("target", datetime.date(2026, 1, 1)),
        ("best", "7-60 m"), ("split", "50:30:30"), ("split", "35:65"), ("split", 35),
        ("split", "2.8/2.4/2.9 m"),
        ("best_phases", "0:0:100"), ("strides", 1), ("strides", 25), ("strides", 8.5), ("strides", True),
        ("speed", 2.9), ("speed", 13.1), ("speed", "9 mph an hour"), ("leg", "Right"), ("leg", 1),
        ("level", ""),
        ("build", "m"), ("born", 1899), ("born", 2101),
        ("born", "2014"), pytest.param("born", 16**5000, id="born-huge"),
        ("training_years", 81), ("note", 5), ("note", "two\nlines"), ("name", " "), ("name", "x" * 81),
        ("name", 7), ("calibration", 1), ("calibration", {"run_up": "2 m"}),
        ("calibration", {"losses": [0, 0, 1]}), ("calibration", {"slope": 1.51}),
        ("calibration", {"slope": -0.01}),
        ("colour", "red"),
    ],
)  # fmt: skip
def test_wrong_values_are_refused_one_by_one(key: str, value: Any) -> None:
    lines = _lines({**GOOD, key: value})
    assert len(lines) == 1
    assert lines[0].startswith(key)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("45-3 1/4", 13.7986),
        ("45' 3 1/4\"", 13.7986),
        ("13.80 m", 13.80),
        ("1380 cm", 13.80),
        (13.8, 13.8),
    ],
)
def test_totals_in_metres_or_feet(text: Any, metres: float) -> None:
    assert athlete_from({**GOOD, "best": text, "target": text}).best == pytest.approx(
        metres, abs=1e-3
    )


@pytest.mark.parametrize("text", ["8.00 m 3 in", "26' 80 cm", "8,00,1 m"])
def test_mixed_units_are_refused(text: str) -> None:
    assert _fields(_lines({**GOOD, "target": text})) == ["target"]


@given(own.person_names)
def test_names_of_any_script_work(name: str) -> None:
    assert athlete_from({**GOOD, "name": name}).name == name.strip()


@given(own.names)
def test_any_name_is_read_or_refused_on_one_line(name: str) -> None:
    who = own.attempt(lambda: athlete_from({**GOOD, "name": name}))
    if isinstance(who, BadInput):
        assert str(who).isprintable()
        assert [f.field for f in who.faults] == ["name"]
    else:
        assert who.name.isprintable()
        assert who.name


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | own.texts,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=6,
)
keys = st.sampled_from(
    ["name", "stature", "mass", "leg", "level", "born", "build", "training_years", "best", "target",
     "split", "best_phases", "strides", "speed", "note", "calibration", "other"]
)  # fmt: skip


@given(st.dictionaries(keys, anything, max_size=6))
def test_any_table_is_read_or_refused(changes: dict[str, Any]) -> None:
    found = own.attempt(lambda: athlete_from({**GOOD, **changes}, "a.toml", "name = 'Runa'\n"))
    if isinstance(found, BadInput):
        assert found.faults
        for fault in found.faults:
            assert str(fault).startswith("a.toml")
            assert str(fault).isprintable()
    else:
        assert found.name


def test_defaults_are_marked_and_plain() -> None:
    who = athlete_from(GOOD)
    assert (who.strides_given, who.speed, who.best, who.born) == (False, None, None, None)
    assert who.level == "beginner"
    assert who.build == "average"
    assert who.calibration == Calibration()
    assert athlete_from({**GOOD, "strides": 9}).strides_given


@pytest.mark.parametrize(
    ("born", "given_", "strides"),
    [(None, None, 5), (2018, None, 5), (2013, None, 5), (2012, None, 5), (2011, None, 8),
     (2012, 4, 4), (2012, 10, 10), (2000, None, 8)],
)  # fmt: skip
def test_up_to_13_years_a_full_approach_is_5_strides(
    born: int | None, given_: int | None, strides: int
) -> None:
    """2012 counts as 13 in 2026, 2011 as 14; a coach's own figure is kept; unknown is a child."""
    table = {**GOOD, **{k: v for k, v in (("born", born), ("strides", given_)) if v}}
    assert athlete_from(table).full_strides(datetime.date(2026, 5, 1)) == strides


def test_age_takes_the_birthday_as_not_yet_reached() -> None:
    who = athlete_from({**GOOD, "born": 2010})
    assert who.standing(datetime.date(2026, 1, 1)).age == 15
    assert who.standing(datetime.date(2026, 12, 31)).age == 15


def test_how_things_came_to_be_known_is_kept(tmp_path: Path) -> None:
    on = datetime.date(2026, 5, 1)
    bare = {k: v for k, v in GOOD.items() if k not in ("level", "born")}
    told = {a.field for a in athlete_from(bare).standing(on).assumed}
    assert told == {"born", "level", "training_years"}
    given_ = {**bare, "level": "beginner", "born": 2000, "training_years": 1}
    assert athlete_from(given_).standing(on).assumed == ()
    path = tmp_path / "child.toml"
    path.write_text('name = "A"\nstature = 1.5\nmass = 40\nleg = "left"\ntarget = 7\nborn = 2014\n')
    older = read_athlete(path, {"born": 1990}).standing(on)
    assert older.age == 11
    assert "born 1990 given over the file's 2014" in older.taken("born").replace("B", "b", 1)
    assert read_athlete(path, {"born": 2014}).standing(on).taken("born") == ""


@pytest.mark.parametrize("name", own.CLUB)
def test_the_club_is_read(name: str) -> None:
    who = own.member(name)
    assert who.name.lower() == name
    assert who.strides_given
    assert who.best is not None
    assert who.best < who.target


def test_options_win_over_the_file() -> None:
    path = own.CLUB_FOLDER / "runa.toml"
    who = read_athlete(path, {"target": "9.00 m", "leg": "left"})
    assert (who.target, who.leg, who.name) == (9.0, "left", "Runa")
    with pytest.raises(BadInput, match="leg"):
        read_athlete(path, {"leg": "both"})


def test_calibration_is_kept() -> None:
    given_ = {
        "slope": 0.8,
        "pull": 0.2,
        "losses": [0.06, 0.08, 0.14],
        "tau": 1.5,
        "run_up": "30 m",
        "stand_speed": 3,
    }
    who = athlete_from({**GOOD, "calibration": given_})
    kept = {"losses": (0.06, 0.08, 0.14), "run_up": 30.0, "stand_speed": 3.0}
    assert who.calibration == Calibration(slope=0.8, pull=0.2, tau=1.5, **kept)


@pytest.mark.parametrize(
    "text", ["name = ", "name = 'a'\nname = 'b'", "", "\x00", "name = '" + "x" * 10_000, "[" * 5000]
)
def test_broken_files_name_the_file(tmp_path: Path, text: str) -> None:
    path = tmp_path / "a.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=r"a\.toml"):
        read_athlete(path)


def test_jumped_is_read_like_best() -> None:
    """In feet and inches with a stroke between the phases and in the fractions."""
    table = {"name": "Ada", "leg": "left", "stature": 1.7, "mass": 58, "target": "39-0",
             "best": "38-4 1/2", "best_phases": "13-9/11-0/13-7 1/2"}  # fmt: skip
    who = athlete_from(table)
    assert who.best is not None
    assert who.best_phases is not None
    phases = [who.best * share for share in who.best_phases.shares]
    assert phases == pytest.approx([165 * 0.0254, 132 * 0.0254, 163.5 * 0.0254], abs=1e-9)


ONE_MORE = """
import importlib.util, sys
from pathlib import Path

spec = importlib.util.find_spec("layout.athlete.athlete")
text = Path(spec.origin).read_text(encoding="utf-8")
told = 'metadata=told(length(0.3, 3.0), "standing reach of the arms", "L"))'
here = "    note: str = field("
assert text.count(here) == 1
text = text.replace(here, f"    reach: float | None = field(default=None, {told}\\n{here}")
sys.modules[spec.name] = module = importlib.util.module_from_spec(spec)
exec(compile(text, spec.origin, "exec"), module.__dict__)

from layout.cli import main
from layout.commands.uses import ATHLETE
from layout.season.put_in import own_file
from layout.squad.roster import squad_from

given = 'name = "Ada"\\nstature = 1.7\\nmass = 60\\nleg = "left"\\nbest = 11.0\\nreach = "2,15 m"\\n'
Path("ada.toml").write_text(given)
ada = module.read_athlete(Path("ada.toml"))
assert ada.reach == 2.15
assert module.read_athlete(Path("ada.toml"), {"reach": "7-0"}).reach == 7 * 0.3048
(member,) = squad_from("name;stature;mass;leg;best;reach\\nAda;1,7;60;left;11;215 cm\\n").members
assert member.athlete.reach == 2.15
assert "reach" in ATHLETE
assert "reach" in own_file(given, ada, ada, ["[calibration]"])
try:
    module.read_athlete(Path("ada.toml"), {"reach": "9 m"})
except ValueError as error:
    assert str(error) == "--reach: must be 0.3 to 3 m, got '9 m'", error
sys.exit(main(["plan", "ada.toml", "hop-step-sand", "--reach", "9 m"]))
"""


def test_a_field_told_in_one_place_is_read_from_files_tables_and_options(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", ONE_MORE], cwd=tmp_path, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[3])},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (
        2,
        "phasemark: --reach: must be 0.3 to 3 m, got '9 m'\n",
    )


def test_what_the_book_keeps_of_an_athlete_are_fields_of_the_file() -> None:
    with contextlib.closing(sqlite3.connect(":memory:")) as db:
        climb(db)
        assert set(columns_of(db, "athlete")) - {"id", "file"} <= set(FIELDS)


# --- what was jumped from behind the line -----------------------------------------------------------


def test_a_best_from_behind_the_line_is_worked_out_from_the_toe_and_kept_beside_the_official_one() -> (
    None
):
    table = {**GOOD, "best": "11.90 m", "best_behind": "12 cm", "best_phases": "4.30/3.55/4.17 m"}
    del table["target"]
    who, plain = athlete_from(table), athlete_from({**GOOD, "best": "12.02 m", "target": "12.02 m"})
    assert (who.best, who.best_behind) == (11.90, 0.12)
    assert who.jumped == who.target == pytest.approx(12.02)
    alike = {**table, "best": "12.02 m", "best_behind": "0 cm"}
    assert ability(who).shown == ability(athlete_from(alike)).shown
    assert ability(plain).reach == ability(who).reach
    note = next(n for n in ability(who).notes if n.code == "best-effective")
    assert "11.90 m was taken off 12 cm behind the line: 12.02 m" in note.text
    assert all(n.code != "best-effective" for n in ability(plain).notes)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"best_behind": "12 cm"}, "best_behind: has no meaning without a best"),
        ({"best": 8.0, "best_behind": "1.2 m"}, "best_behind: must be 0 to 1 m"),
        ({"best": 8.0, "best_behind": "-2 cm"}, "best_behind: "),
        ({"best": 8.0, "best_phases": "2.90/2.40/2.90 m"}, "sum to the total of 8.00 m"),
    ],
)
def test_a_toe_behind_the_line_is_refused_where_it_cannot_be(
    more: dict[str, Any], said: str
) -> None:
    assert said in _lines({**GOOD, **more})[0]
