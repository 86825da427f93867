"""Lengths, speeds and names: read, printed, rounded."""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
import unicodedata
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from layout.words.faults import BadInput
from layout.words.names import safe_name
from layout.words.units import (
    CENTIMETRE,
    NOISE,
    QUARTER_INCH,
    Style,
    System,
    parse_length,
    parse_speed,
    show_length,
    tape,
)
from tests import strategies as own

STEP: dict[System, Fraction] = {"cm": CENTIMETRE, "ft": QUARTER_INCH}
STYLES: tuple[Style, ...] = ("full", "bare")
systems = st.sampled_from(["cm", "ft"])
styles = st.sampled_from(STYLES)


def rounded(metres: float, system: System = "cm") -> float:
    """A length as a tape reads it."""
    return tape([metres], system).readings[0]


# --- reading lengths ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("17.00", 17.0),
        ("17", 17.0),
        ("  17.00 m ", 17.0),
        ("17,00 m", 17.0),
        ("17.00m", 17.0),
        ("17 Metres", 17.0),
        ("1700 cm", 17.0),
        ("100 mm", 0.1),
        (".5", 0.5),
        ("-3,50", -3.5),
        ("\u22123.50 m", -3.5),
        ("10.03", 10.03),
        ("55 ft", 16.764),
        ("55'", 16.764),
        ("55.5 ft", 16.9164),
        ("9 in", 0.2286),
        ('9"', 0.2286),
        ("70 in", 1.778),
        ("1/2 in", 0.0127),
        ("\u00bd in", 0.0127),
        ("9 1/4 in", 0.23495),
        ("55-9 1/4", 16.99895),
        ("55-9.25", 16.99895),
        ("55-9,25", 16.99895),
        ("55\u20139\u00bc", 16.99895),
        ("55' 9.25\"", 16.99895),
        ("55'9 1/4\"", 16.99895),
        ("55' 9 1/4''", 16.99895),
        ("55ft 9.25in", 16.99895),
        ("55 ft. 9.25 in.", 16.99895),
        ("55 feet 9 1/4 inches", 16.99895),
        ("40\u2032 5\u00be\u2033", 12.33805),
        ("40\u2019 5 \u00be\u201d", 12.33805),
        ("40' 5", 12.319),
        ("-1' 6\"", -0.4572),
        (17, 17.0),
        (16.5, 16.5),
        (-0.0, 0.0),
    ],
)
def test_lengths_as_coaches_write_them(text: str | float, metres: float) -> None:
    assert parse_length(text) == metres


@pytest.mark.parametrize(
    ("value", "rule"),
    [
        ("", "must not be empty"),
        (" \t\u00a0", "must not be empty"),
        ("nan", "finite"),
        ("-inf", "finite"),
        ("Infinity m", "finite"),
        (math.nan, "finite"),
        (-math.inf, "finite"),
        (10**400, "finite"),
        ("17 m 3 in", "not both"),
        ("55 ft 20 cm", "not both"),
        ("17 m - 3'", "not both"),
        ("55-12", "inches must be under 12"),
        ("55' 12.5\"", "inches must be under 12"),
        ("5.5 ft 3 in", "feet must be whole"),
        ("9 5/4 in", "between 0 and 1"),
        ("9 4/4 in", "between 0 and 1"),
        ("9 0/4 in", "between 0 and 1"),
        ("9 1/0 in", "between 0 and 1"),
        ("9 1/4", "a length such as"),  # of what?
        ("1,234.5", "a length such as"),
        ("1e3", "a length such as"),
        ("17 m 30 cm", "a length such as"),
        ("17-3 m", "a length such as"),
        ("--5", "a length such as"),
        ("\u0663", "a length such as"),
        ("far", "a length such as"),
        ("9" * 400, "a length such as"),
        (True, "a length such as"),
        ([17.0], "a length such as"),
        ({}, "a length such as"),
    ],
)
def test_refused_lengths_name_field_rule_and_value(value: Any, rule: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_length(value, "best")
    line = str(caught.value)
    assert line.startswith("best: ")
    assert rule in line
    assert "\n" not in line
    assert caught.value.faults[0].value == value or value != value
    assert ", got " in line


@pytest.mark.parametrize(
    ("bounds", "rule"),
    [
        ({"lowest": 0.0}, "must be 0 m or more"),
        ({"highest": -6.0}, "must be -6 m or less"),
        ({"lowest": 0.0, "highest": 25.0}, "must be 0 to 25 m"),
    ],
)
def test_bounds(bounds: dict[str, float], rule: str) -> None:
    with pytest.raises(BadInput, match=rule):
        parse_length("-5 m", "total", **bounds)
    with pytest.raises(BadInput, match=rule):
        parse_length(-5, "total", **bounds)


def test_nothing_is_not_less_than_nothing() -> None:
    assert math.copysign(1, parse_length(-0.0)) == 1
    assert math.copysign(1, parse_length("-0 m")) == 1


def test_bounds_are_included() -> None:
    assert parse_length("25", lowest=0, highest=25) == 25
    assert parse_length("0", lowest=0, highest=25) == 0


@given(own.texts)
@example("1/0 in")
@example("'")
@example("-")
def test_any_text_is_a_finite_length_or_refused(text: str) -> None:
    try:
        metres, said = parse_length(text), ""
    except BadInput as refused:
        metres, said = 0.0, str(refused)
    assert math.isfinite(metres)
    assert "\n" not in said


# --- printing lengths -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("metres", "system", "style", "text"),
    [
        (12.34, "cm", "full", "12.34 m"),
        (12.34, "cm", "bare", "12.34"),
        (0.05, "cm", "full", "0.05 m"),
        (-0.05, "cm", "full", "-0.05 m"),
        (-0.001, "cm", "full", "0.00 m"),
        (12.345, "cm", "full", "12.35 m"),
        (1.004999999999, "cm", "full", "1.01 m"),  # half a centimetre, less float noise
        (0.0049, "cm", "full", "0.00 m"),
        (12.33805, "ft", "full", "40' 5\u00be\""),
        (12.33805, "ft", "bare", "40-5 3/4"),
        (11.99 * 0.0254, "ft", "full", "1' 0\""),  # carried, never 0' 12"
        (40 * 0.3048 + 11.9 * 0.0254, "ft", "full", "41' 0\""),
        (0.0, "ft", "full", "0' 0\""),
        (-0.0127, "ft", "full", "-0' 0\u00bd\""),
    ],
)
def test_lengths_as_printed(metres: float, system: System, style: Style, text: str) -> None:
    assert show_length(metres, system, style) == text


@given(own.lengths, systems, styles)
@example(11.99 * 0.0254, "ft", "full")
@example(-0.004, "cm", "full")
@example(-0.004, "ft", "bare")
def test_what_is_printed_reads_back_exactly(metres: float, system: System, style: Style) -> None:
    assert parse_length(show_length(metres, system, style)) == rounded(metres, system)


@given(own.centimetres, styles)
def test_whole_centimetres_survive(count: int, style: Style) -> None:
    metres = count / 100
    assert rounded(metres) == metres
    assert parse_length(show_length(metres, "cm", style)) == metres


@given(own.quarter_inches, styles)
def test_whole_quarter_inches_survive(count: int, style: Style) -> None:
    metres = float(count * QUARTER_INCH)
    assert parse_length(show_length(metres, "ft", style)) == metres


@given(own.lengths, systems)
def test_rounding_is_to_the_nearest_and_settles(metres: float, system: System) -> None:
    near = rounded(metres, system)
    assert abs(Fraction(near) - Fraction(metres)) <= STEP[system] / 2 + NOISE + Fraction(1, 10**12)
    assert rounded(near, system) == near


@given(own.lengths, own.lengths, systems)
def test_rounding_keeps_order(a: float, b: float, system: System) -> None:
    a, b = sorted((a, b))
    assert rounded(a, system) <= rounded(b, system)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_length_that_is_none_is_not_printed(bad: float) -> None:
    with pytest.raises(BadInput, match="finite"):
        show_length(bad)
    with pytest.raises(BadInput, match="tape reading 2: must be a finite number"):
        tape([0.0, bad])


# --- the tape -------------------------------------------------------------------------------------


def test_rounded_gaps_would_drift_and_these_do_not() -> None:
    exact = [2.004 * n for n in range(11)]
    assert sum(rounded(b - a) for a, b in pairwise(exact)) == 20.0
    card = tape(exact)
    assert card.readings[-1] == 20.04
    assert math.isclose(sum(card.gaps), 20.04)
    assert set(card.gaps) == {2.0, 2.01}


@pytest.mark.parametrize(
    ("system", "step", "shown"),
    [
        ("cm", None, ("3.50 m", "6.51 m", "10.01 m")),
        ("cm", 0.05, ("3.50 m", "6.50 m", "10.00 m")),
        ("ft", None, ("11' 6\"", "21' 4\u00bc\"", "32' 10\u00bc\"")),
        ("ft", 0.0254, ("11' 6\"", "21' 4\"", "32' 10\"")),
    ],
)
def test_tape_cards(system: System, step: float | None, shown: tuple[str, ...]) -> None:
    card = tape([3.504, 6.508, 10.012], system, step)
    assert tuple(show_length(x, system) for x in card.readings) == shown


@given(own.readings, own.tape_steps)
def test_errors_never_accumulate(exact: list[float], how: tuple[System, float | None]) -> None:
    card = tape(exact, *how)
    assert len(card.counts) == len(exact)
    for count, metres in zip(card.counts, exact, strict=True):
        error = abs(count * card.step - Fraction(metres))
        assert error <= card.step / 2 + NOISE + Fraction(1, 10**12)
    # Summing what is printed lands on what is printed, at every mark and not just the last.
    at = Fraction(card.counts[0] if exact else 0) * card.step
    assert list(card.readings) == sorted(card.readings)
    for reading, gap in zip(card.readings[1:], card.gaps, strict=True):
        at += round(Fraction(gap) / card.step) * card.step
        assert float(at) == reading


@given(own.readings, own.tape_steps, styles)
def test_a_card_reads_back(
    exact: list[float], how: tuple[System, float | None], style: Style
) -> None:
    card = tape(exact, *how)
    shown = [show_length(x, how[0], style) for x in card.readings]
    assert tuple(parse_length(t) for t in shown) == card.readings


def test_readings_may_run_either_way_from_zero() -> None:
    assert tape([3.0, 0.0, -1.5]).gaps == (-3.0, -1.5)
    assert tape([]).gaps == ()
    assert tape([4.0]).gaps == ()


@pytest.mark.parametrize(
    ("system", "step"),
    [("cm", 0.025), ("cm", 0.0), ("cm", -0.01), ("cm", 0.51), ("ft", 0.05), ("cm", math.nan)],
)
def test_a_step_that_can_not_be_printed_is_refused(system: System, step: float) -> None:
    with pytest.raises(BadInput, match="tape step: must be"):
        tape([1.0], system, step)


# --- speeds ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "speed"),
    [
        ("9.4", 9.4),
        ("9,4 m/s", 9.4),
        ("33.84 km/h", 9.4),
        ("36km/h", 10.0),
        ("25 mph", 11.176),
        (9.4, 9.4),
    ],
)
def test_speeds(text: str | float, speed: float) -> None:
    assert parse_speed(text) == speed


@pytest.mark.parametrize(
    "bad", ["", "fast", "9.4 m", "nan", "-1", "-1 m/s", "9.4 ft", math.inf, None, "1/2 m/s"]
)
def test_refused_speeds(bad: Any) -> None:
    with pytest.raises(BadInput, match=r"^speed: must"):
        parse_speed(bad)


def test_speed_bounds_speak_of_speed() -> None:
    with pytest.raises(BadInput, match=r"run-up: must be 0 to 12\.5 m/s, got '33.8'"):
        parse_speed("33.8", "run-up", highest=12.5)


# --- names ----------------------------------------------------------------------------------------

SAFE = {"con", "prn", "aux", "nul"} | {f"{a}{b}" for a in ("com", "lpt") for b in "0123456789¹²³"}


def _check(part: str, longest: int) -> None:
    assert part
    assert len(part.encode()) <= longest
    assert part == unicodedata.normalize("NFC", part)
    assert not set(part) & set('/\\:*?"<>|%$`&;\x00')
    assert all(unicodedata.category(c)[0] not in "CZ" or c == " " for c in part)
    assert part[0] not in ". -~"
    assert part[-1] not in ". "
    assert part.split(".")[0].strip().lower() not in SAFE


@given(own.names, st.integers(20, 200))
@example("Runa ", 80)
@example("Runa.", 80)
@example("R" * 90, 80)
@example("\u0141" * 41, 80)
@example("\u0301a", 80)
def test_any_name_is_safe(name: str, longest: int) -> None:
    _check(safe_name(name, longest), longest)


@given(own.names, own.names)
def test_different_names_never_meet(a: str, b: str) -> None:
    same = unicodedata.normalize("NFC", a) == unicodedata.normalize("NFC", b)
    assert (safe_name(a) == safe_name(b)) == same


@given(own.names)
def test_a_file_of_that_name_stays_in_its_folder(name: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        part = safe_name(name)
        with open(os.path.join(folder, part), "x"):
            pass
        assert os.listdir(folder) == [part]


@pytest.mark.parametrize(
    "name",
    [
        "Runa",
        "Bram",
        "\u0141ucja H\u00e9nin",
        "O'Dell",
        "two hops and a step",
        "\u4e2d\u6587",
        "a.b-c_d",
    ],
)
def test_plain_names_stay_as_they_are(name: str) -> None:
    assert safe_name(name) == name


def test_names_that_look_alike_after_cleaning_stay_apart() -> None:
    names = [
        "a/b",
        "a\\b",
        "a:b",
        "a_b",
        "a?b",
        "..",
        ".",
        "",
        "\x00",
        "con",
        "_con",
        "x" * 90,
        "x" * 91,
    ]
    parts = [safe_name(n) for n in names]
    assert len(set(parts)) == len(names)
    # Nor can a name be chosen to hit an altered one.
    assert safe_name(parts[0]) != parts[0]


def test_altered_names_are_the_same_on_every_run() -> None:
    assert safe_name("../Runa") == "_._Runa~aa4ba79f0d"


def test_composed_and_decomposed_letters_are_one_name() -> None:
    assert safe_name("He\u0301nin") == safe_name("H\u00e9nin") == "H\u00e9nin"


@pytest.mark.parametrize("longest", [0, 19, 201])
def test_name_length_limits(longest: int) -> None:
    with pytest.raises(BadInput, match="20 to 200 bytes"):
        safe_name("Runa", longest)


# --- lightness ------------------------------------------------------------------------------------


@pytest.mark.parametrize("module", ["layout.words.units", "layout.words.split"])
def test_reading_a_length_loads_nothing_heavy(module: str) -> None:
    heavy = "{'numpy','scipy','matplotlib','shapely','casadi','PIL','hashlib'}"
    code = f"import sys, {module}; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
