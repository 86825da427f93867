"""Lengths, speeds and names as people write them: read here, kept in SI, printed again here.

Everything between reading and printing is in metres. Rounding is done on exact fractions of the
shortest decimal a float prints as, so that 10.03 means 10.03 and never 10.02999999999999936.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from numbers import Real
from typing import Final, Literal

from layout.words.faults import refuse

System = Literal["cm", "ft"]
Style = Literal["full", "bare"]

FOOT: Final = Fraction(3048, 10000)
"""[m], exact by definition."""
INCH: Final = FOOT / 12
POUND: Final = Fraction(45359237, 100000000)
"""[kg], exact by definition."""
CENTIMETRE: Final = Fraction(1, 100)
QUARTER_INCH: Final = INCH / 4

NOISE: Final = Fraction(1, 1_000_000)
"""A computed length this close below a step counts as the step [m].

Sums of floats miss a centimetre by some 1e-15 m; no tape or theodolite reads a micrometre. So a
micrometre is wide enough for any arithmetic here and far too narrow to lengthen a real jump.
"""

_FINEST: Final[dict[System, Fraction]] = {"cm": CENTIMETRE, "ft": QUARTER_INCH}
_LONGEST_TEXT: Final = 80

_NUM = r"(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_MIXED = rf"(?:[0-9]+ [0-9]+/[0-9]+|[0-9]+/[0-9]+|{_NUM})"
_FT = r"(?:'|ft\.?|feet|foot)"
_IN = r"(?:\"|in\.?|ins\.?|inch|inches)"
_METRIC: Final = (
    rf"({_NUM}) ?(?:(m|metres?|meters?)|(cm|centimet(?:re|er)s?)|(mm|millimet(?:re|er)s?))?"
)
_FEET: Final = rf"({_MIXED}) ?{_FT}"
_FEET_INCHES: Final = rf"({_NUM}) ?(?:{_FT} ?|(?<=[0-9])-)({_MIXED}) ?{_IN}?"
_INCHES: Final = rf"({_MIXED}) ?{_IN}"
_SPEED: Final = rf"({_NUM}) ?(?:(m/s)|(km/h|kmh|kph)|(mph))?"
_MASS: Final = rf"({_NUM}) ?(?:kg|kilos?|(lbs?|pounds?))"
_METRIC_WORD: Final = r"(?<![a-z])(?:c|m)?m(?:et(?:re|er)s?)?(?![a-z])|centim|millim"
_FEET_WORD: Final = r"['\"]|(?<![a-z])(?:ft|feet|foot|in|ins|inch|inches)(?![a-z])"

_SAME_SIGN: Final = str.maketrans(
    {
        **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-"),
        **dict.fromkeys("\u2032\u2019\u2018\u02b9\u02bc", "'"),
        **dict.fromkeys("\u2033\u201d\u201c\u02ba", '"'),
        "\u2044": "/",
        **{
            fraction: f" {part}"
            for fraction, part in zip(
                "\u00bd\u00bc\u00be\u215b\u215c\u215d\u215e",
                ("1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8"),
                strict=True,
            )
        },
    }
)


def tidy(text: str) -> str:
    """Text in lower case with one sign for each meaning and single spaces between words.

    Unicode primes, dashes and fractions become ' " - and 1/2; two single primes become one double.

    >>> tidy(" 40\u2032 5\u00be\u2033 ")
    '40\\' 5 3/4"'
    """
    return " ".join(text.translate(_SAME_SIGN).replace("''", '"').lower().split())


def _fraction(text: str, field: str, given: object) -> Fraction:
    """A number matched by `_MIXED` as an exact fraction."""
    whole, _, part = text.rpartition(" ")
    if "/" not in part:
        return Fraction(part.replace(",", "."))
    above, below = (int(n) for n in part.split("/"))
    if not 0 < above < below:
        raise refuse(field, "a fraction of an inch or foot must be between 0 and 1", given)
    return int(whole or 0) + Fraction(above, below)


def _number(value: object, field: str, example: str) -> float | tuple[int, str]:
    """The value as a finite float if it is a number, as its sign and tidied text if it is text."""
    if isinstance(value, Real) and not isinstance(value, bool):
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise refuse(field, "must be a finite number", value)
        return number
    if not isinstance(value, str):
        raise refuse(field, f"must be {example}", value)
    text = tidy(value) if len(value) <= _LONGEST_TEXT else ""
    if not value.strip():
        raise refuse(field, f"must not be empty; write {example}", value)
    if re.fullmatch(r"[+-]?(?:nan|inf|infinity)(?: ?m)?", text):
        raise refuse(field, "must be a finite number", value)
    return -1 if text[:1] == "-" else 1, text[1:].lstrip() if text[:1] in ("+", "-") else text


def _within(
    number: float, field: str, given: object, lowest: float | None, highest: float | None, unit: str
) -> float:
    low_ok = lowest is None or number >= lowest
    high_ok = highest is None or number <= highest
    if low_ok and high_ok:
        return number + 0.0  # -0.0 becomes 0.0
    if lowest is not None and highest is not None:
        rule = f"must be {lowest:g} to {highest:g} {unit}"
    elif lowest is not None:
        rule = f"must be {lowest:g} {unit} or more"
    else:
        rule = f"must be {highest:g} {unit} or less"
    raise refuse(field, rule, given)


def parse_length(
    value: str | float,
    field: str = "length",
    *,
    lowest: float | None = None,
    highest: float | None = None,
) -> float:
    """A length as a coach writes it [m], the float nearest to the exact value; bounds are included [m].

    "17.00", "17,00 m", "1700 cm", "55-9 1/4", 55' 9.25", "55ft 9.25in", "9 in". A bare number is
    metres; a comma is a decimal comma, never a thousands sign; feet-dash-inches needs no unit. A
    leading minus is a length the other way. `field` is what the length is, for the error.

    >>> parse_length("55-9 1/4"), parse_length("17,00 m"), parse_length("1700 cm")
    (16.99895, 17.0, 17.0)
    """
    example = "a length such as 17.00, 1700 cm or 55-9 1/4"
    found = _number(value, field, example)
    if isinstance(found, float):
        return _within(found, field, value, lowest, highest, "m")
    sign, text = found
    if match := re.fullmatch(_METRIC, text):
        number, _, cm, mm = match.groups()
        metres = _fraction(number, field, value) / (100 if cm else 1000 if mm else 1)
    elif match := re.fullmatch(_FEET_INCHES, text):
        feet, inches = (_fraction(n, field, value) for n in match.groups())
        if feet.denominator != 1:
            raise refuse(field, "feet must be whole when inches are given", value)
        if inches >= 12:
            raise refuse(field, "inches must be under 12 when feet are given", value)
        metres = feet * FOOT + inches * INCH
    elif match := re.fullmatch(_FEET, text):
        metres = _fraction(match[1], field, value) * FOOT
    elif match := re.fullmatch(_INCHES, text):
        metres = _fraction(match[1], field, value) * INCH
    elif re.search(_METRIC_WORD, text) and re.search(_FEET_WORD, text):
        raise refuse(field, "must be in metres or in feet and inches, not both", value)
    else:
        raise refuse(field, f"must be {example}", value)
    return _within(float(sign * metres), field, value, lowest, highest, "m")


def parse_speed(
    value: str | float,
    field: str = "speed",
    *,
    lowest: float | None = 0.0,
    highest: float | None = None,
) -> float:
    """A speed as a coach writes it [m/s]; bounds are included, and a bare number is metres a second.

    >>> parse_speed("9,4 m/s"), parse_speed("36 km/h"), parse_speed("21 mph")
    (9.4, 10.0, 9.38784)
    """
    example = "a speed such as 9.4 or 33.8 km/h"
    found = _number(value, field, example)
    if isinstance(found, float):
        return _within(found, field, value, lowest, highest, "m/s")
    sign, text = found
    match = re.fullmatch(_SPEED, text)
    if not match:
        raise refuse(field, f"must be {example}", value)
    number, _, kmh, mph = match.groups()
    speed = Fraction(number.replace(",", "."))
    speed *= Fraction(10, 36) if kmh else FOOT * 5280 / 3600 if mph else 1
    return _within(float(sign * speed), field, value, lowest, highest, "m/s")


def mass_in(text: str) -> float | None:
    """A body's mass written with its unit [kg]; None for anything else.

    >>> mass_in("56,5 kg"), mass_in("100 lb"), mass_in("56")
    (56.5, 45.359237, None)
    """
    match = re.fullmatch(_MASS, tidy(text)) if len(text) <= _LONGEST_TEXT else None
    if not match:
        return None
    number, pounds = match.groups()
    return float(Fraction(number.replace(",", ".")) * (POUND if pounds else 1))


def _exact(metres: float, field: str) -> Fraction:
    """The shortest decimal that prints as this float, exactly."""
    number = float(metres)
    if not math.isfinite(number):
        raise refuse(field, "must be a finite number", metres)
    return Fraction(repr(number))


def _steps(
    metres: float, step: Fraction, field: str = "length", half: Fraction = Fraction(1, 2)
) -> int:
    """Whole steps nearest to a length, halves up (towards the greater reading)."""
    return math.floor((_exact(metres, field) + NOISE) / step + half)


def show_length(
    metres: float, system: System = "cm", style: Style = "full", down: bool = False
) -> str:
    """A finite length as printed, which `parse_length` reads back exactly; halves up.

    To the nearest centimetre or quarter inch; `down`, as a jump is recorded, to the one below. Full:
    12.34 m, 40' 5\u00be"; bare, in plain characters only: 12.34, 40-5 3/4.

    >>> show_length(14.278), show_length(14.278, down=True)
    ('14.28 m', '14.27 m')
    >>> show_length(12.338), show_length(12.338, "ft"), show_length(12.338, "ft", "bare")
    ('12.34 m', '40\\' 5\u00be"', '40-5 3/4')
    """
    count = _steps(metres, _FINEST[system], half=Fraction(0) if down else Fraction(1, 2))
    sign, count = ("-" if count < 0 else ""), abs(count)
    if system == "cm":
        return f"{sign}{count // 100}.{count % 100:02d}" + (" m" if style == "full" else "")
    feet, quarters = divmod(count, 48)
    inches, part = divmod(quarters, 4)
    if style == "bare":
        return f"{sign}{feet}-{inches}" + ("", " 1/4", " 1/2", " 3/4")[part]
    return f"{sign}{feet}' {inches}" + ("", "\u00bc", "\u00bd", "\u00be")[part] + '"'


@dataclass(frozen=True)
class Tape:
    """Readings of one tape in whole steps [m], each rounded on its own from the exact value."""

    counts: tuple[int, ...]
    step: Fraction

    @property
    def readings(self) -> tuple[float, ...]:
        """Cumulative readings from the tape's zero [m]."""
        return tuple(float(n * self.step) for n in self.counts)

    @property
    def gaps(self) -> tuple[float, ...]:
        """From each reading to the next [m]: differences of rounded readings, so they add up."""
        return tuple(float((b - a) * self.step) for a, b in pairwise(self.counts))


def tape(readings: Iterable[float], system: System = "cm", step: float | None = None) -> Tape:
    """Round cumulative readings for a tape so that rounding errors never accumulate.

    reading_i = step * floor(exact_i / step + 1/2), within half a step of the exact one. Readings are
    finite distances from the tape's zero, in any order and of either sign [m]; `step` is one to fifty
    whole centimetres or quarter inches [m], one when left out.

    >>> tape([3.504, 6.508, 10.012]).readings, tape([3.504, 6.508, 10.012], step=0.05).gaps
    ((3.5, 6.51, 10.01), (3.0, 3.5))
    """
    finest = _FINEST[system]
    exact = finest if step is None else _exact(step, "tape step")
    times = exact / finest
    if times.denominator != 1 or not 1 <= times <= 50:
        unit = "centimetres" if system == "cm" else "quarter inches"
        raise refuse("tape step", f"must be a whole number of {unit}, 1 to 50", step)
    counts = tuple(_steps(x, exact, f"tape reading {i + 1}") for i, x in enumerate(readings))
    return Tape(counts, exact)
