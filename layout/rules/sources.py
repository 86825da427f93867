"""Where a rule or a number comes from, in plain words: what a screen shows for a key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Final

KNOWN: Final = {
    "seen": "",
    "memory-high": "from memory",
    "memory-medium": "from memory",
    "memory-low": "from memory, unsure",
    "derived": "",
    "practice": "",
    "ours": "",
}
"""How an entry is known, and what is said of it beside its name; nothing where the name says it."""

ESTIMATE: Final = "Phasemark's estimate"
"""What a screen says of a rule or a figure that is ours."""
_OURS: Final = re.compile(r"\bours\b")


@dataclass(frozen=True)
class Source:
    """An entry of the catalogue of sources: what it is, how it is known (a key of `KNOWN`), and what was
    not recorded."""

    text: str
    tag: str
    note: str

    @property
    def said(self) -> str:
        """Its name, and that it is from memory where it is."""
        how = KNOWN[self.tag]
        return f"{self.text} ({how})" if how and how not in self.text else self.text


@lru_cache(maxsize=1)
def sources() -> Mapping[str, Source]:
    """Every source by its key."""
    text = files("layout.catalogue").joinpath("sources.toml").read_text(encoding="utf-8")
    return {key: Source(**row) for key, row in tomllib.loads(text)["source"].items()}


def said(source: str) -> str:
    """A source in plain words, whether it is given by its key or in words already.

    >>> said("nsca-essentials"), said("ours")
    ('NSCA, Essentials of Strength Training (from memory)', "Phasemark's estimate")
    >>> said("common practice, no source")
    'common practice, no source'
    """
    if source in sources() and source != "ours":
        return sources()[source].said
    return _OURS.sub(ESTIMATE, source)
