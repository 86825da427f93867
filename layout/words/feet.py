"""Metric figures inside a sentence, told in feet and inches: one sheet never has both."""

from __future__ import annotations

import re
from typing import Final

from layout.words.units import System, show_length

FOOT: Final = 0.3048
"""[m]"""
_FIGURE: Final = re.compile(
    r"(?<![\w.,-])([+\N{MINUS SIGN}\N{PLUS-MINUS SIGN}-]?)\s?(\d+(?:\.\d+)?)\s?(m/s|km/h|cm|m)\b(?![/\w])"
)


def _told(found: re.Match[str]) -> str:
    _, digits, unit = found.groups()
    number = float(digits)
    if unit in ("m/s", "km/h"):
        speed = number / (3.6 if unit == "km/h" else 1.0)
        said = f"{speed / FOOT:.1f} ft/s"
    elif unit == "cm":
        inches = number / 2.54
        # As fine as it was told: tenths of a centimetre are quarter inches.
        said = f"{round(4 * inches) / 4:g} in" if "." in digits else f"{inches:.0f} in"
    else:
        said = show_length(number, "ft")
    return found[0].partition(digits)[0] + said


def as_read(text: str, system: System) -> str:
    """A sentence with its metres and centimetres in the system that is asked for.

    Parameters
    ----------
    text : str
        With metric figures: metres, centimetres, metres a second, kilometres an hour.
    system : {"cm", "ft"}

    >>> as_read("Board at 7 m: the landing is 50 cm in, at 8.5 m/s.", "ft")
    'Board at 22\\' 11½": the landing is 20 in in, at 27.9 ft/s.'
    >>> as_read("knee gap 48.9 cm, ± 17 cm", "ft"), as_read("7 m", "cm")
    ('knee gap 19.25 in, ± 7 in', '7 m')
    """
    return text if system == "cm" else _FIGURE.sub(_told, text)
