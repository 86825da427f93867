"""One line for every fault, whatever was given."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.cli import main
from layout.page.letters import as_set
from layout.words.faults import BadInput, Fault, is_line, printable, refuse, shown
from layout.words.reading import line_text
from tests import strategies as own

given_values = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(st.characters()),
    st.lists(st.integers(), max_size=30),
    st.dictionaries(st.text(), st.integers(), max_size=5),
    st.just(datetime.date(2026, 5, 1)),
)


@given(given_values | st.text(st.characters(), min_size=55, max_size=70))
def test_any_value_is_shown_on_one_printable_line(value: Any) -> None:
    text = shown(value)
    assert len(text) <= 60
    assert text.isprintable()


@given(own.names, own.names, given_values, st.integers(0, 10**6))
def test_a_fault_prints_on_one_line(file: str, rule: str, value: Any, line: int) -> None:
    fault = Fault("mass", "must be a number from 18 to 180", value, file, line)
    assert str(fault).isprintable()
    assert "mass: must be a number from 18 to 180" in str(fault)
    if file and line:
        assert str(fault).startswith(f"{printable(file)}:{line}: ")
    elif file:
        assert str(fault).startswith(f"{printable(file)}: ")


@given(own.names)
def test_the_name_of_a_field_cannot_break_the_line(name: str) -> None:
    """Unknown keys are named as they stand in the file, and TOML lets a quoted key be anything."""
    assert str(Fault(name, "is not a known field", None, "a.toml", 3)).isprintable()


def test_the_whole_line() -> None:
    assert str(Fault("leg", "must be one of right, left", "rihgt", "runa.toml", 5)) == (
        "runa.toml:5: leg: must be one of right, left, got 'rihgt'"
    )
    assert str(Fault("target", "is missing")) == "target: is missing"
    assert str(Fault("total", "must be finite", math.nan)) == "total: must be finite, got nan"


def test_a_line_without_a_file_is_told_in_words() -> None:
    """A plan read from a pipe has lines but no name."""
    text = str(Fault("plan", "not valid JSON", None, "", 7))
    assert not text.startswith(":")
    assert "7" in text


@pytest.mark.parametrize("value", [10**400, 10**5000, -(16**6000)], ids=["e400", "e5000", "hex"])
def test_a_huge_number_is_shown_too(value: int) -> None:
    """TOML lets a hexadecimal number be any size; Python refuses to print such a one."""
    assert len(str(Fault("born", "must be a whole number", value))) < 200


def test_every_fault_on_its_own_line() -> None:
    error = BadInput([Fault("a", "is missing"), Fault("b", "is empty", "", "x.toml", 2)])
    assert str(error).splitlines() == ["a: is missing", "x.toml:2: b: is empty, got ''"]
    assert isinstance(error, ValueError)


def test_at_places_only_what_has_no_place() -> None:
    error = BadInput([Fault("a", "r"), Fault("b", "r", line=7), Fault("c", "r", None, "old", 3)])
    placed = error.at("new.toml", 1).faults
    assert [(f.file, f.line) for f in placed] == [("new.toml", 1), ("new.toml", 7), ("old", 3)]


def test_refuse_makes_one_fault() -> None:
    error = refuse("total", "must be 1.5 to 25 m", 30.0)
    assert error.faults == (Fault("total", "must be 1.5 to 25 m", 30.0),)


# --- joiners --------------------------------------------------------------------------------------

PERSIAN = "\u0639\u0644\u06cc\u200c\u0631\u0636\u0627"
"""A first name as it is written, with a sign that keeps two letters apart."""


@pytest.mark.parametrize(
    "name", [PERSIAN, "\u0915\u094d\u200d\u0937", "\u0d28\u0d4d\u200d\u0d2e", "Imka"]
)
def test_joiners_stay_where_a_script_has_a_use_for_them(name: str) -> None:
    assert is_line(name)
    assert printable(name) == name
    assert line_text("name", name, 80) == name


@pytest.mark.parametrize(
    "name",
    ["Im\u200cka", "Im\u200dka", f"\u200c{PERSIAN}", f"{PERSIAN}\u200c", "\u0639\u200c\u200c\u0644",
     "\u0639\u200c a", "a\u200c\u0639", "\u200d", "\u0639\u202e\u0644", "\u0639\u200f\u0644",
     "\u0639\u200b\u0644", "\u0639\ufeff\u0644", "\u0639\u2066\u0644", "\u0639\n\u0644"],
)  # fmt: skip
def test_what_is_not_seen_is_still_refused(name: str) -> None:
    assert not is_line(name)
    assert "\\" in printable(name)
    with pytest.raises(BadInput, match="one line of printable text"):
        line_text("name", name, 80)


def test_a_name_with_joiners_goes_all_the_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    who = f'name = "{PERSIAN}"\nstature = 1.70\nmass = 58\nleg = "left"\nbest = 10.9\nborn = 2000\n'
    (tmp_path / "a.toml").write_text(who, encoding="utf-8")
    words = ["a.toml", "hop-step-sand"]
    assert main(["plan", *words, "--save", "a.json"]) == 0
    assert PERSIAN in capsys.readouterr().out
    for ending in ("svg", "pdf"):
        assert main(["draw", "a.json", "--to", f"a.{ending}"]) == 0
        assert main(["handout", "a.json", "--no-figure", "--to", f"h.{ending}"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    assert "no font" not in captured.out
    drawn = (tmp_path / "a.svg").read_text(encoding="utf-8")
    assert PERSIAN in drawn  # whoever shows it joins the letters


def test_a_joiner_keeps_letters_apart_or_ties_them() -> None:
    """Beh before reh: tied without the sign, each in the form it has alone with it."""
    assert as_set("\u0628\u0631") == "\ufeae\ufe91"
    assert as_set("\u0628\u200c\u0631") == "\ufead\ufe8f"
