"""A warning or a remark, with its reason and source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Note:
    """A warning or a remark with its reason and source.

    Attributes
    ----------
    code : str
        Stable short name.
    text : str
    source : str
    grave : bool
        True for warnings, False for remarks.
    """

    code: str
    text: str
    source: str
    grave: bool = True
