"""Each published figure moved by three of its margins: whether the check that reads it fails.

`python -m tests.published.noticed` prints those whose move nothing notices either way.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator

from tests.published import Row
from tests.published.held import META, Figure, figures, rows, stands

OF_WHAT = {
    *("stature", "mass", "count", "contact", "best", "leg", "speed", "strides", "wind"),
    *("age", "ages", "age_low", "age_high", "years_low", "years_high", "long"),
}
"""Of whom or of what a figure is: read with it, and nothing that could be off."""
ALLOWED = ("sd", "spread", "see", "tolerance")
"""How fields end that say how far off something may be; spreads of losses are fitted (`test_fit.py`)."""
PUT_IN = {
    "sprint-on-a-picture",
    "standing-triple",
    "over-17",
    "record-1995-speed",
    "record-1995-shares",
}
"""Rows with figures that are put in, to be measured back or to have others worked out from them."""


def places(row: Row) -> Iterator[tuple[str, int | None, float]]:
    """Every figure of a row: its field, place in a list, value."""
    for field, value in row.items():
        if field in META | OF_WHAT or field.endswith(ALLOWED) or row["id"] in PUT_IN:
            continue
        for at, one in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if isinstance(one, (int, float)) and not isinstance(one, bool):
                yield field, at, one


def _holds(key: tuple[str, str], row: Row) -> bool:
    try:
        found = figures(key, row)[0]
    except (ArithmeticError, AssertionError, LookupError, ValueError):
        return False
    return all(stands(key, f) for f in found)


def _margin(row: Row, name: str, field: str, value: float, found: list[Figure]) -> float:
    """Half the last digit, what its check allows, its spread if one is printed, the width of its range."""
    digits = row.get("rg_digits" if field.startswith("rg") else "digits", 3)
    own = [f for f in found if name == f.key or field in f.key.split("..")]
    allowed = [max(f.limit, f.error) for f in own]
    if {"low", "high"} <= set(row) and field in ("low", "high"):
        allowed.append((row["high"] - row["low"]) / 2.0)
    spread = row.get(f"{field}_sd", 0.0)
    if isinstance(spread, list):
        spread = spread[int(name.partition("[")[2][:-1])]
    bound = 0.5 * abs(value) if any(f.limit == 0.0 for f in own) else 0.0
    return float(max(0.5 * 10**-digits, spread, bound, *allowed, 0.0))


def unnoticed(key: tuple[str, str], row: Row) -> list[str]:
    """Names of figures that may go three margins up and down and the row still holds."""
    found, out = figures(key, row)[0], []
    for field, at, value in places(row):
        name = field if at is None else f"{field}[{at}]"
        for way in (3.0, -3.0):
            other = copy.deepcopy(row)
            new = value + way * _margin(row, name, field, value, found)
            if isinstance(value, int):
                new = value + (
                    max(1, round(new - value)) if way > 0 else min(-1, round(new - value))
                )
            if at is None:
                other[field] = new
            else:
                other[field][at] = new
            if not _holds(key, other):
                break
        else:
            out.append(name)
    return out


if __name__ == "__main__":
    every = rows()
    told = {key: unnoticed(key, row) for key, row in every.items()}
    for key, names in told.items():
        for name in names:
            print("/".join(key), name)
    print(sum(map(len, told.values())), "of", sum(len(list(places(r))) for r in every.values()))
