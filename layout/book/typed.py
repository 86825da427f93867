"""Single values as a coach types them on the trackside or into a table; SI inside."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, Decimal
from typing import Final

from layout.words.faults import refuse
from layout.words.reading import line_text, nearest, read_number
from layout.words.units import parse_length, parse_speed, tidy

SURFACES: Final = ("track", "grass", "floor", "mat", "sand", "road")
ENTRY_KINDS: Final = ("training", "competition")
LEGAL_WIND: Final = 2.0
"""Over this a jump is wind-assisted [m/s] (World Athletics Technical Rules 29-31, from memory)."""
_YES: Final = ("yes", "y", "x", "1", "foul", "true")
_NO: Final = ("no", "n", "0", "ok", "o", "false")


def read_speed(field: str, text: str) -> float:
    """A timed speed, 1 to 13 m/s."""
    return parse_speed(text, field, lowest=1.0, highest=13.0)


def read_wind(field: str, text: str) -> float:
    """Wind along the runway, + from behind [m/s]."""
    return read_number(field, text, -20.0, 20.0, "m/s")


def wind_text(wind: float) -> str:
    """Wind as it is recorded, up to the next tenth; w: over the legal limit.

    >>> wind_text(2.03), wind_text(2.1), wind_text(-1.23), wind_text(-0.04), wind_text(2.0)
    ('+2.1 w', '+2.1 w', '-1.2', '0.0', '+2.0')
    """
    # Exact decimals: in binary 2.1 may lie above 2.1 and would become 2.2.
    tenth = Decimal(repr(wind)).quantize(Decimal("0.1"), ROUND_CEILING)
    return f"{tenth:+}{' w' if assisted(wind) else ''}" if tenth else "0.0"


def assisted(wind: float | None) -> bool:
    """Whether a jump had more wind behind it than the rules allow a record; no where not measured."""
    return wind is not None and wind > LEGAL_WIND


def read_angle(field: str, text: str) -> float:
    """An angle in degrees, as radians."""
    plain = tidy(text).removesuffix("°").removesuffix("degrees").removesuffix("deg")
    return math.radians(read_number(field, plain, -180.0, 180.0))


def read_gap(field: str, text: str) -> float:
    """How far the free knee is behind the support knee, minus when in front [m]."""
    return parse_length(text, field, lowest=-0.8, highest=1.2)


def read_word(field: str, text: str, known: tuple[str, ...]) -> str:
    """One word out of a few, in any case."""
    plain = text.strip().lower()
    if plain not in known:
        raise refuse(field, f"must be one of {', '.join(known)}{nearest(plain, known)}", text)
    return plain


def read_surface(field: str, text: str) -> str:
    """What was jumped on."""
    return read_word(field, text, SURFACES)


def read_yes(field: str, text: str) -> bool:
    """Yes or no, as people mark a box."""
    plain = text.strip().lower()
    if plain not in (*_YES, *_NO):
        raise refuse(field, "must be yes or no", text)
    return plain in _YES


def read_note(field: str, text: str) -> str:
    """One line of text."""
    return line_text(field, text, 300)
