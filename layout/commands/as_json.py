"""What every JSON text holds alike: notes, how an athlete counts, and how it is written."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from typing import Any, Final

from layout.rules.sources import said
from layout.rules.standing import Standing
from layout.words.note import Note

VERSION: Final = 1
"""Of the JSON of a ladder, a session and a season."""


def notes(some: Iterable[Note]) -> list[dict[str, Any]]:
    """Notes as values, their sources in words."""
    return [
        {"code": n.code, "text": n.text, "source": said(n.source), "against": n.grave} for n in some
    ]


def counts_as(standing: Standing) -> dict[str, Any]:
    """How an athlete counted, and what was taken instead of known."""
    return {
        "age": standing.age,
        "level": standing.level,
        "training_years": standing.years,
        "assumed": [{"field": a.field, "text": a.text} for a in standing.assumed],
    }


def rounded(value: Any) -> Any:
    """Figures rounded to what means anything, and nothing that JSON has no word for."""
    if isinstance(value, float):
        return round(value, 5) if math.isfinite(value) else None
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(v) for v in value]
    return value


def json_text(value: Any) -> str:
    """A value as JSON, a field a line."""
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"
