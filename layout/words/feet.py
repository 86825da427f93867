"""Metric figures inside a sentence, told in feet and inches: one sheet never has both."""

from __future__ import annotations

import re
from typing import Final

from layout.words.units import System, show_length

FOOT: Final = 0.3048
"""[m]"""
_NUMBER: Final = r"\d+(?:\.\d+)?"
_FIGURE: Final = (
    r"(?<![\w.,-])([+\N{MINUS SIGN}\N{PLUS-MINUS SIGN}-]?\s?)"
    # A range in whole numbers too; a list only with decimals: "in 2026, 7 m" is no list.
    rf"((?:{_NUMBER}(?: to | ?/ ?|\N{{EN DASH}})|\d+\.\d+(?:, | and ))*{_NUMBER})"
    r"\s?(m/s|km/h|cm|m)\b(?![/\w])"
)


def _one(digits: str, unit: str) -> str:
    number = float(digits)
    if unit in ("m/s", "km/h"):
        return f"{number / (3.6 if unit == 'km/h' else 1.0) / FOOT:.1f}"
    if unit == "cm":
        # As fine as it was told: tenths of a centimetre are quarter inches.
        return f"{round(4 * number / 2.54) / 4:g}" if "." in digits else f"{number / 2.54:.0f}"
    return show_length(number, "ft")


def _told(found: re.Match[str]) -> str:
    sign, digits, unit = found.groups()
    said = re.sub(_NUMBER, lambda one: _one(one[0], unit), digits)
    return sign + said + {"m": "", "cm": " in"}.get(unit, " ft/s")


def as_read(text: str, system: System) -> str:
    """A sentence with its metres, centimetres and speeds in the system that is asked for.

    >>> as_read("Board at 7 m: the landing is 50 cm in, at 8.5 m/s.", "ft")
    'Board at 22\\' 11½": the landing is 20 in in, at 27.9 ft/s.'
    >>> as_read("knee gap 48.9 cm, ± 17 cm", "ft"), as_read("7 m", "cm")
    ('knee gap 19.25 in, ± 7 in', '7 m')
    >>> as_read("2.1 to 2.5 m; 10 to 15 cm; 8.1 to 8.5 m/s; highest 0.98, 0.96 m", "ft")
    '6\\' 10¾" to 8\\' 2½"; 4 to 6 in; 26.6 to 27.9 ft/s; highest 3\\' 2½", 3\\' 1¾"'
    """
    return text if system == "cm" else re.sub(_FIGURE, _told, text)
