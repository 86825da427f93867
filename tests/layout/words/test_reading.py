"""TOML read field by field: every fault at once, each with its line."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.athlete.fields import typed_number
from layout.squad.sets import parse_tolerance
from layout.training.seen import observed_from
from layout.words.dates import day_or_today, read_day, read_past_day
from layout.words.faults import BadInput, Fault
from layout.words.reading import (
    LARGEST_FILE,
    Fields,
    line_of,
    line_text,
    nearest,
    number,
    number_in,
    read_number,
    read_text,
    read_toml,
)
from layout.words.units import parse_length
from tests import strategies as own


def _faults(fields: Fields) -> list[str]:
    with pytest.raises(BadInput) as error:
        fields.done()
    return str(error.value).splitlines()


# --- files ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("data", [b"", b" \n\t\n"], ids=["empty", "blank"])
def test_empty_file(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(data)
    with pytest.raises(BadInput, match=r"a\.toml: file: is empty$"):
        read_toml(path)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path, tmp_path / "a" / "b.toml"):
        with pytest.raises(BadInput, match="cannot be read") as error:
            read_text(path)
        assert str(error.value).startswith(f"{path}: file: ")


@pytest.mark.parametrize("name", ["x" * 300 + ".toml", "a\0b.toml", "\ud800.toml"])
def test_impossible_names(tmp_path: Path, name: str) -> None:
    with pytest.raises(BadInput) as error:
        read_text(tmp_path / name)
    assert str(error.value).isprintable()


def test_not_utf8_names_the_line(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b'name = "R"\nnote = "\xff"\n')
    with pytest.raises(BadInput, match=r"a\.toml:2: file: must be UTF-8 text$"):
        read_toml(path)


def test_byte_order_mark_and_windows_lines_are_read(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b"\xef\xbb\xbfname = 'Runa'\r\nmass = 41\r\n")
    table, text = read_toml(path)
    assert table == {"name": "Runa", "mass": 41}
    assert line_of(text, "mass") == 2


def test_too_large_a_file(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b"#" * (LARGEST_FILE + 1))
    with pytest.raises(BadInput, match="at most 2 MB"):
        read_text(path)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("name = 'R'\nmass = \n", 2),
        ("name = 'R'\nname = 'S'\n", 2),
        ("a = 1\n[b\n", 2),
        ("a = '", 1),
        ("a = " + "[" * 4_000, 1),
        ("a = " + "1" * 4900, 1),
    ],
    ids=["no value", "twice", "table", "end", "deep", "huge"],
)
def test_broken_toml_names_the_line(tmp_path: Path, text: str, line: int) -> None:
    path = tmp_path / "a.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=rf"a\.toml:{line}: file: not valid TOML"):
        read_toml(path)


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, data: bytes
) -> None:
    path = tmp_path_factory.getbasetemp() / "bytes.toml"
    path.write_bytes(data)
    found = own.attempt(lambda: read_toml(path))
    if isinstance(found, BadInput):
        assert "bytes.toml" in str(found)
    else:
        assert isinstance(found[0], dict)
        assert found[1]


# --- lines ----------------------------------------------------------------------------------------

TEXT = """\
# mass = 1
name = "A"
"mass" = 41
calibration.pull = 0.1
[drill.one]
title = "One"
mass = 2
[drill.one.hurdle]
place = "over"
[drill.two]
title = "Two"
"""


@pytest.mark.parametrize(
    ("key", "header", "line"),
    [
        ("name", "", 2),
        ("mass", "", 3),
        ("calibration", "", 4),
        ("title", "drill.one", 6),
        ("mass", "drill.one", 7),
        ("hurdle", "drill.one", 8),
        ("title", "drill.two", 11),
        ("mass", "drill.two", 10),  # not given: the table itself
        ("weight", "", 0),
    ],
)
def test_line_of(key: str, header: str, line: int) -> None:
    assert line_of(TEXT, key, header) == line


# --- fields ---------------------------------------------------------------------------------------


def test_all_faults_at_once_with_file_line_and_value() -> None:
    text = 'mass = "heavy"\nleg = "rihgt"\nlevle = "beginner"\nborn = 2014.5\n'
    table = {"mass": "heavy", "leg": "rihgt", "levle": "beginner", "born": 2014.5}
    fields = Fields(table, "a.toml", text)
    fields.number("mass", 18, 180)
    fields.choice("leg", ("right", "left"))
    fields.choice("level", ("beginner", "advanced"), "beginner")
    fields.whole("born", 1900, 2100, None)
    fields.string("name")
    lines = _faults(fields)
    assert sorted(lines) == [
        "a.toml: name: is missing",
        "a.toml:1: mass: must be a number from 18 to 180, got 'heavy'",
        "a.toml:2: leg: must be one of right, left; did you mean right?, got 'rihgt'",
        "a.toml:3: levle: is not a known field; did you mean level, leg?",
        "a.toml:4: born: must be a whole number from 1900 to 2100, got 2014.5",
    ]


def test_defaults_stand_in_for_what_is_absent_but_not_for_what_is_wrong() -> None:
    fields = Fields({"b": "x"})
    assert fields.number("a", 0, 1, 0.5) == 0.5
    assert fields.number("b", 0, 1, 0.5) == 0.5
    assert _faults(fields) == ["b: must be a number from 0 to 1, got 'x'"]


def test_unknown_keys_are_faults() -> None:
    fields = Fields({"a": 1, "b": 2})
    fields.take("a")
    assert _faults(fields) == ["b: is not a known field"]


@pytest.mark.parametrize(
    "value",
    [True, "1", None, [1], math.nan, math.inf, -0.1, 1.1, 10**400],
    ids=["yes", "text", "none", "list", "nan", "inf", "below", "above", "huge"],
)
def test_number_refuses(value: Any) -> None:
    with pytest.raises(BadInput, match=r"^x: must be a number from 0 to 1"):
        number("x", value, 0.0, 1.0)


@pytest.mark.parametrize("value", [0, 1, 0.0, 1.0, 0.5])
def test_number_takes_its_bounds(value: float) -> None:
    assert number("x", value, 0.0, 1.0) == value


@pytest.mark.parametrize("value", [True, 1.0, "1", 3, -1, None])
def test_whole_refuses(value: Any) -> None:
    fields = Fields({"x": value})
    fields.whole("x", 0, 2)
    assert _faults(fields)[0].startswith("x: must be a whole number from 0 to 2")


@given(own.names, st.integers(1, 40))
def test_one_line_texts_are_printable_and_short(name: str, longest: int) -> None:
    text = own.attempt(lambda: line_text("name", name, longest))
    if isinstance(text, BadInput):
        assert str(text).isprintable()
    else:
        assert text == name.strip()
        assert text.isprintable()
        assert 0 < len(text) <= longest


@pytest.mark.parametrize(
    "name", ["\u0141ucja H\u00e9nin", "\u540d\u524d", "O\u2019Hara-Smith", "<b>&"]
)
def test_names_of_every_script_are_kept(name: str) -> None:
    assert line_text("name", f" {name} ", 40) == name


@pytest.mark.parametrize("value", [["a", 1], ["a", ""], ["a", "b\nc"], "a", [], ["a"] * 4])
def test_strings_refuse(value: Any) -> None:
    fields = Fields({"points": value})
    fields.strings("points", 1, 3, 20)
    assert len(_faults(fields)) == 1


def test_a_fault_of_a_parser_keeps_its_rule_and_value() -> None:
    def parse(value: Any) -> Any:
        raise BadInput([Fault("inner", "odd", value), Fault("inner", "long", value)])

    fields = Fields({"x": 3}, "a.toml", "x = 3\n", label="drill.a")
    assert fields.via("x", parse) is None
    assert _faults(fields) == [
        "a.toml:1: drill.a.x: odd, got 3",
        "a.toml:1: drill.a.x: long, got 3",
    ]


def test_nearest_names() -> None:
    assert (
        nearest("Alternate-Bound", ["alternate-bounds", "hop"])
        == "; did you mean alternate-bounds?"
    )
    assert nearest("zzz", ["hop"]) == ""


@pytest.mark.parametrize("text", ["5.3.2026", "2026-03-05", " 05.03.2026 "])
def test_a_day_is_read_alike_by_every_command(text: str) -> None:
    day = datetime.date(2026, 3, 5)
    assert read_day("on", text) == day
    assert day_or_today("--from", text) == day
    assert read_past_day("--on", text) == day


@pytest.mark.parametrize("minus", ["-", "\u2212", "\u2013"])
def test_a_number_is_read_alike_wherever_it_is_typed(minus: str) -> None:
    assert number_in(f"{minus}1,5") == -1.5
    assert read_number("wind", f"{minus}1,5 m/s", -20, 20, "m/s") == -1.5
    assert typed_number(f"{minus}1,5") == -1.5
    assert parse_length(f"{minus}1,5 m") == -1.5
    assert parse_tolerance("4,5 %").size == pytest.approx(0.045)
    seen = observed_from({"contact": "0,18 s", "sessions": "3"}, datetime.date(2026, 3, 5))
    assert (seen.contact, seen.sessions) == (0.18, 3)
    for wrong in ("1_000", "inf", "nan", "1.234,5", ""):
        assert number_in(wrong) is None


@pytest.mark.parametrize(
    ("typed", "unit", "over"), [("99", "m/s", "20 m/s"), ("21,0", "", "20"), ("x", "s", "20 s")]
)
def test_a_number_out_of_bounds_is_told_as_typed_and_in_its_unit(
    typed: str, unit: str, over: str
) -> None:
    with pytest.raises(BadInput) as error:
        read_number("x", typed, -20.0, 20.0, unit)
    assert str(error.value) == f"x: must be a number from -20 to {over}, got '{typed}'"
