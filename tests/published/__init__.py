"""Figures printed elsewhere, each with its source, and how sure we are of having read it right."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any, Final

FOLDER: Final = Path(__file__).parent

TAGS: Final = (
    "seen",  # read in the source's abstract or text, or an exact rule
    "memory-high",
    "memory-medium",
    "memory-low",
    "derived",  # follows from our own algebra: checks the algebra, not the world
    "practice",  # common practice, no source
    "ours",  # our own choice
)

Row = dict[str, Any]


def published(file: str | Path, *tags: str) -> list[Row]:
    """Rows of one table of published figures, checked.

    Parameters
    ----------
    file : str or Path
        Name inside tests/published, or a path.
    *tags : str
        Keep only rows with one of these tags; all rows when left out.

    Returns
    -------
    list of dict
        Each with id, what, source, place, digits (decimals printed), tag and its own values.

    Raises
    ------
    ValueError
        A row without one of these, an unknown tag, an id used twice, no rows at all.
    """
    path = FOLDER / file
    rows: list[Row] = tomllib.loads(path.read_text(encoding="utf-8")).get("row", [])
    if not rows:
        raise ValueError(f"{path.name}: must have at least one [[row]]")
    seen: set[str] = set()
    for n, row in enumerate(rows, 1):
        name = row.get("id", f"row {n}")
        for key in ("id", "what", "source", "place", "tag"):
            if not isinstance(row.get(key), str) or not row[key].strip():
                raise ValueError(f"{path.name}: {name}: {key}: must be a text that is not empty")
        digits = row.get("digits")
        if not isinstance(digits, int) or isinstance(digits, bool) or digits < 0:
            raise ValueError(f"{path.name}: {name}: digits: must be decimals printed, got {digits}")
        for tag in (row["tag"], *tags):
            if tag not in TAGS:
                raise ValueError(f"{path.name}: {name}: tag: must be one of {TAGS}, got {tag!r}")
        if row["id"] in seen:
            raise ValueError(f"{path.name}: {name}: id: must be used once")
        seen.add(row["id"])
    return [row for row in rows if not tags or row["tag"] in tags]


def ids(rows: list[Row]) -> list[str]:
    """Names for parametrised tests."""
    return [f"{row['id']} ({row['tag']})" for row in rows]
