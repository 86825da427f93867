"""Squads from tables and folders: read where meant, else one line for each fault."""

from __future__ import annotations

import csv
import io
import shutil
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.athlete.athlete import athlete_from
from layout.squad.roster import COLUMNS, Squad, read_squad, squad_from
from layout.words.faults import BadInput
from layout.words.table import decoded
from tests.strategies import CLUB, CLUB_FOLDER, athlete_tables, attempt, member

ROWS = (
    ("Jürgen", "1,80", "75,5", "right", "13,20"),
    ("Zoë", "1,65", "55", "left", "11,00"),
)
HEAD = ("name", "stature", "mass", "leg", "target")


def table(
    separator: str = ";", head: tuple[str, ...] = HEAD, rows: tuple[tuple[str, ...], ...] = ROWS
) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=separator).writerows([head, *rows])
    return out.getvalue()


def lines(squad: Squad) -> list[str]:
    return [str(f) for f in squad.faults]


def refused(text: str) -> list[str]:
    with pytest.raises(BadInput) as error:
        squad_from(text, "s.csv")
    return [str(f) for f in error.value.faults]


# --- read where meant -----------------------------------------------------------------------------


@pytest.mark.parametrize("separator", [";", ",", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be",
                                      "utf-32", "cp1252"])  # fmt: skip
def test_encodings_and_separators(separator: str, encoding: str, tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    path.write_bytes(table(separator).encode(encoding))
    squad = read_squad(path)
    assert not squad.faults
    first, second = (m.athlete for m in squad.members)
    assert (first.name, first.stature, first.mass, first.target) == ("Jürgen", 1.80, 75.5, 13.20)
    assert (second.name, second.leg) == ("Zoë", "left")
    assert [m.line for m in squad.members] == [2, 3]


def test_a_table_says_the_same_as_athlete_files(tmp_path: Path) -> None:
    head = ("Name", "stature", "MASS", "born", "build", "leg", "level", "Training years", "best",
            "best_phases", "target", "split", "strides", "speed", "note")  # fmt: skip
    row = ("Tevin", "1.88", "79", "1998", "male", "right", "advanced", "10", "15.60 m",
           "5.20/4.42/5.98 m", "15.90 m", "jump-dominated", "18.0", "9,5",
           "Fast; keeps speed well into the jump.")  # fmt: skip
    (made,) = squad_from(table(",", head, (row,))).members
    assert made.athlete == member("tevin")


def test_a_folder_is_a_squad(tmp_path: Path) -> None:
    for name in CLUB:
        shutil.copy(CLUB_FOLDER / f"{name}.toml", tmp_path)
    (tmp_path / "notes.txt").write_text("nothing", encoding="utf-8")
    squad = read_squad(tmp_path)
    assert {m.athlete for m in squad.members} == {member(n) for n in CLUB}
    assert all(m.file.endswith(".toml") for m in squad.members)
    (tmp_path / "bad.toml").write_text('name = "Bad"\nmass = 3\n', encoding="utf-8")
    (tmp_path / "copy.toml").write_bytes((tmp_path / "imka.toml").read_bytes())
    squad = read_squad(tmp_path)
    assert len(squad.members) == len(CLUB)
    assert any("bad.toml:2: mass: must be a mass from 18 to 180 kg" in s for s in lines(squad))
    assert any("a name of its own" in s and "imka.toml" in s for s in lines(squad))


def test_the_clubs_table_holds_the_club() -> None:
    squad = read_squad(CLUB_FOLDER / "club.csv")
    assert [m.athlete for m in squad.members] == [member(n) for n in CLUB]


def test_one_athlete_file_is_a_squad_of_one() -> None:
    assert len(read_squad(CLUB_FOLDER / "imka.toml").members) == 1


def test_blank_lines_quotes_short_rows_and_spreadsheet_first_line() -> None:
    text = (
        'sep=,\r\n"name",stature,mass,leg,target,weight,calibration.losses,calibration.slope,note\r\n\r\n'
        ',,,,,,,,\r\n"Bo, the tall ""one""","1,90",80,right,"41\' 0 1/4""",2.5,0.07/0.085/0.15,0.7,x\r\n'
        "  \r\nCy,5' 9\",60,left,11.2\r\n"
    )
    squad = squad_from(text)
    assert not squad.faults
    bo, cy = squad.members
    assert (bo.athlete.name, bo.athlete.stature, bo.weight, bo.line) == (
        'Bo, the tall "one"',
        1.9,
        2.5,
        5,
    )
    assert bo.athlete.target == pytest.approx(12.50315)
    assert bo.athlete.calibration.losses == (0.07, 0.085, 0.15)
    assert (cy.weight, cy.line) == (1.0, 7)
    assert cy.athlete.stature == pytest.approx(1.7526)


def test_columns_are_the_fields_of_an_athlete_file() -> None:
    known = athlete_from(
        {"name": "A", "stature": 1.7, "mass": 60, "leg": "left", "target": 11.0}
    )  # every field but calibration's and how the others came to be known
    how = {
        "strides_given",
        "level_given",
        "file_born",
        "read_on",
        "held_low",
        "guess",
        "mass_given",
        "leg_given",
    }
    fields = set(vars(known)) - how - {"calibration"}
    own = {f"calibration.{f}" for f in vars(known.calibration)}
    assert set(COLUMNS) == fields | own | {"weight"}


# --- faults ---------------------------------------------------------------------------------------


def test_each_fault_has_its_line_column_rule_and_value_and_stops_nobody_else() -> None:
    rows = (
        ("Ada", "1.70", "x", "lft", "11"),
        ("Bo", "1.80", "70", "left", "12"),
        ("", "1.80", "70", "left", "12"),
        ("BO", "1.75", "70", "left", "12"),
        ("Cy", "1.75", "70", "left", ""),
        ("Di", "1.75", "70", "left", "30 m", "more"),
        ("# a comment",),
    )
    squad = squad_from(table(";", HEAD, rows), "s.csv")
    assert [m.athlete.name for m in squad.members] == ["Bo", "Cy"]
    assert [m.athlete.guess is None for m in squad.members] == [True, False]
    assert lines(squad) == [
        "s.csv:2: column 3 (mass): must be a mass from 18 to 180 kg, got 'x'",
        "s.csv:2: column 4 (leg): must be one of right, left; did you mean left?, got 'lft'",
        "s.csv:4: column 1 (name): is missing",
        "s.csv:5: column 1 (name): must be a name of its own, this one is in line 3 already, got 'BO'",
        "s.csv:7: cells: 5 cells needed, one a column, got '6: Di;1.75;70;left;30 m;more'",
        "s.csv:8: cells: 5 cells needed, one a column, got '1: # a comment'",
    ]


@pytest.mark.parametrize(
    ("column", "value", "rule"),
    [("born", "19x9", "whole number"), ("strides", "9.5", "whole number"),
     ("weight", "0", "0.01 to 100"), ("weight", "x", "0.01 to 100"), ("speed", "99", "speed"),
     ("split", "1:1", "three shares"), ("calibration.pull", "2", "0 to 0.4"),
     ("training_years", "-1", "0 to 80"), ("build", "big", "one of male"),
     ("mass", "1.234,5", "18 to 180")],
)  # fmt: skip
def test_rules_are_those_of_the_athlete_file(column: str, value: str, rule: str) -> None:
    head = HEAD if column in HEAD else (*HEAD, column)
    cells = dict(zip(HEAD, ("Ada", "1.70", "60", "left", "11"), strict=True)) | {column: value}
    squad = squad_from(table(";", head, (tuple(cells[h] for h in head),)), "s.csv")
    (line,) = lines(squad)
    assert f"column {head.index(column) + 1} ({column})" in line
    assert rule in line


def test_headings() -> None:
    assert refused("name;born;mas;leg;name\nx;1;2;3;4\n") == [
        "s.csv:1: column 3: is not a known column; did you mean mass?, got 'mas'",
        "s.csv:1: column 5: is there twice, got 'name'",
        "s.csv:1: column stature: is missing",
    ]
    assert refused("\n\n") == [
        "s.csv: titles: a line of titles needed, with at least name, stature"
    ]
    assert refused(";".join(HEAD) + "\n\n") == ["s.csv: file: must be one line an athlete"]
    assert not squad_from("best;leg;mass;stature;name\n11;left;60;1.7;Ada\n").faults


def test_an_open_quote_spoils_its_own_line_only() -> None:
    text = 'name,stature,mass,leg,target\n"Ada,1.7,60,left,11\nBo,1.8,70,left,12\n'
    squad = squad_from(text, "s.csv")
    assert [m.athlete.name for m in squad.members] == ["Bo"]
    (line,) = lines(squad)
    assert line.startswith("s.csv:2: cells: a quoted cell ends with")


def test_a_bare_decimal_comma_between_commas_is_told() -> None:
    squad = squad_from("name,stature,mass,leg,target\nAda,1,70,60,left,11\n", "s.csv")
    assert "put a decimal comma in quotes" in lines(squad)[0]


@pytest.mark.parametrize(
    ("data", "rule"),
    [(b"", "is empty"), (b" \n;;\n", "is empty"), (b"name\xff\x81\n", "or Windows-1252"),
     ("name;J\u00fcrgen".encode() + b"\xff", "or Windows-1252"),
     (b"\xff\xfea", "or Windows-1252"), (b"\x89PNG\r\n\x1a\n\0\0\0", "or Windows-1252"),
     (b"x" * 2_000_001, "at most 2 MB")],
)  # fmt: skip
def test_files_that_are_no_table(data: bytes, rule: str, tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    path.write_bytes(data)
    with pytest.raises(BadInput) as error:
        read_squad(path)
    assert rule in str(error.value) or "is not a known column" in str(error.value)
    assert all(f.file == str(path) for f in error.value.faults)


@pytest.mark.parametrize("name", ["no-such.csv", "no-such-folder/", "a\0b.csv"])
def test_what_is_not_there(name: str) -> None:
    with pytest.raises(BadInput):
        read_squad(Path(name))


def test_an_empty_folder(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="athlete files"):
        read_squad(tmp_path)


# --- never a traceback ----------------------------------------------------------------------------

cells = st.text(max_size=12) | st.sampled_from(
    [
        "1,70",
        "left",
        "60",
        "11.2",
        '"',
        '""',
        "35:30:35",
        "nan",
        "1e999",
        "-",
        "\u2212 3",
        "9" * 400,
    ]
)


@given(st.binary(max_size=400), st.sampled_from([b"", b"\xff\xfe", b"\xfe\xff", b"\xef\xbb\xbf"]))
def test_any_bytes_are_read_or_refused(data: bytes, mark: bytes) -> None:
    try:
        text, _ = decoded(mark + data)
    except ValueError:
        return
    attempt(lambda: squad_from(text, "s.csv"))


@given(st.text(max_size=300))
def test_any_text_is_read_or_refused(text: str) -> None:
    attempt(lambda: squad_from(text, "s.csv"))
    attempt(lambda: squad_from(";".join(HEAD) + "\n" + text, "s.csv"))


@given(
    st.lists(st.sampled_from(COLUMNS), min_size=1, max_size=8),
    st.lists(st.lists(cells, max_size=10), max_size=4),
    st.sampled_from([";", ",", "\t"]),
)
def test_any_cells_are_read_or_told(head: list[str], rows: list[list[str]], separator: str) -> None:
    out = io.StringIO()
    csv.writer(out, delimiter=separator).writerows([[*HEAD, *head], *rows])
    made = attempt(lambda: squad_from(out.getvalue(), "s.csv"))
    faults = made.faults
    assert all(f.file == "s.csv" and "\n" not in str(f) for f in faults)
    if isinstance(made, Squad):
        assert all(f.line > 1 for f in faults)


@given(st.lists(athlete_tables(), min_size=1, max_size=4, unique_by=lambda t: t["name"]))
def test_what_an_athlete_file_holds_a_table_holds(tables: list[dict[str, object]]) -> None:
    head = sorted({k for t in tables for k in t})
    rows = tuple(tuple(str(t.get(h, "")) for h in head) for t in tables)
    squad = squad_from(table(";", tuple(head), rows))
    assert [m.athlete for m in squad.members] == [athlete_from(t) for t in tables]


def test_a_row_is_an_athlete_file_of_the_same_athlete() -> None:
    head = (*HEAD, "weight", "calibration.losses", "note")
    row = ("Ada", "1.70", "123 lb", "left", "11.20 m", "2", "0.07/0.085/0.15", 'says "hi" \\ é')
    (member,) = squad_from(table(";", head, (row,))).members
    assert athlete_from(tomllib.loads(member.text)) == member.athlete
    assert member.athlete.mass == pytest.approx(123 * 0.45359237)
    assert "weight" not in member.text
