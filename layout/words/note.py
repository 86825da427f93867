"""A warning or a remark, with its reason and source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Note:
    """A warning, if grave, or a remark, with its reason and source; `code` is a stable short name."""

    code: str
    text: str
    source: str
    grave: bool = True
