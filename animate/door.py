"""A package's public names, each imported when it is first asked for."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping
from typing import Any


def door(
    package: str, places: Mapping[str, str], own: Mapping[str, Any]
) -> tuple[Callable[[str], Any], Callable[[], list[str]]]:
    """What a package takes as its `__getattr__` and `__dir__`, from modules and the names in each."""
    home = {name: place for place, names in places.items() for name in names.split()}

    def get(name: str) -> Any:
        if name not in home:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(importlib.import_module(f"{package}.{home[name]}"), name)

    return get, lambda: sorted({*own, *home})
