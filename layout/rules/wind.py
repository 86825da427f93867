"""Wind along the runway: what is legal, how it is measured and written down, and what it is worth."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal
from typing import Final

from layout.rules.rule import rule, source_of

LEGAL_WIND: Final[float] = rule("wind_legal")
"""Over this a jump is wind-assisted [m/s]."""
WORTH: Final[float] = rule("wind_worth")
"""Metres of a whole jump for 1 m/s from behind [s]."""
DOUBT: Final[float] = rule("wind_doubt")
"""One-sigma margin of that, as a share of it [-]."""
COUNTED: Final = 5.0
"""Up to this, either way, a wind moves a forecast [m/s] (ours: beyond it a line drawn through jumps in
less wind would only be guessed on)."""
WORTH_SOURCE: Final = source_of("wind_worth")
MEASURED: Final = (
    f"taken for {rule('wind_time'):g} s from when the athlete passes the mark {rule('wind_mark'):g} m before "
    "the line"
)
RANGE: Final = (-20.0, 20.0)
"""Winds accepted [m/s]; plus is from behind."""


def wind_text(wind: float) -> str:
    """Wind as it is recorded, up to the next tenth; w: over the legal limit.

    >>> wind_text(2.03), wind_text(2.1), wind_text(-1.23), wind_text(-0.04), wind_text(2.0)
    ('+2.1 w', '+2.1 w', '-1.2', '0.0', '+2.0')
    """
    # Exact decimals: in binary 2.1 may lie above 2.1 and would become 2.2.
    tenth = Decimal(repr(wind)).quantize(Decimal("0.1"), ROUND_CEILING)
    return f"{tenth:+}{' w' if assisted(wind) else ''}" if tenth else "0.0"


def blown_text(wind: float) -> str:
    """A wind in words, and whether the jump was wind-assisted.

    >>> blown_text(2.1), blown_text(-1.2)
    ('wind +2.1 w (wind-assisted)', 'wind -1.2')
    """
    return f"wind {wind_text(wind)}{' (wind-assisted)' * assisted(wind)}"


def assisted(wind: float | None) -> bool:
    """Whether a jump had more wind behind it than the rules allow a record; no where not measured."""
    return wind is not None and wind > LEGAL_WIND
