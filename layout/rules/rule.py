"""The rules of the trade, each from its one place in `rules.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from layout.rules.sources import said


@lru_cache(maxsize=1)
def rules() -> Mapping[str, Mapping[str, Any]]:
    """Every rule by its name: value, unit, source and, where something of it is ours, reading."""
    text = files("layout.rules").joinpath("rules.toml").read_text(encoding="utf-8")
    return MappingProxyType(tomllib.loads(text))


def rule(name: str) -> Any:
    """The value of a rule; lists become tuples.

    >>> rule("cone_height"), rule("believed_ages")
    (0.05, (8, 80))
    """
    return _fixed(rules()[name]["value"])


def _fixed(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _fixed(one) for name, one in value.items()}
    return tuple(_fixed(one) for one in value) if isinstance(value, list) else value


def source_of(name: str) -> str:
    """Where a rule is from, in plain words, with what of it is ours.

    >>> source_of("rest")
    'NSCA, Essentials of Strength Training (from memory)'
    """
    found = rules()[name]
    return "; ".join([said(found["source"]), *([found["reading"]] if "reading" in found else [])])
