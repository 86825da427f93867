"""One constant of the model moved for a moment, everywhere it is known by its name."""

from __future__ import annotations

import ast
import gc
import importlib
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import _lru_cache_wrapper, lru_cache
from pathlib import Path
from types import FunctionType
from typing import Any, Final

from tests.published.held import ROOT

ROOMS: Final = ("layout/athlete", "layout/plan", "layout/rules", "animate/body")
NO_MODEL: Final = (
    "wording",
    "outlines",
    "figure",
    "shapes",
    "stored",
    "ranges",
    "sources",
    "cautions",
)
"""Files with nothing of the model in them: words, drawings, and what a saved plan may hold."""
NO_SIZE: Final = ("pose:JOINT", "pose:SEGMENT", "carry:CONTACTS", "value:PLAN_VERSION", "body:LEG")
"""Places in a list, a version, and a sum of others: nothing that could be a little more by itself."""
OURS: Final = ("layout", "animate", "tests")


def _numbers(value: Any, name: str) -> Iterator[tuple[str, float]]:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        yield name, value
    elif isinstance(value, (tuple, list)):
        for i, one in enumerate(value):
            yield from _numbers(one, f"{name}[{i}]")
    elif isinstance(value, dict):
        for key, one in value.items():
            yield from _numbers(one, f"{name}[{key}]")


@lru_cache(maxsize=1)
def constants() -> dict[str, float]:
    """Every number that a file of the model's rooms gives a name in capitals, by module and name."""
    out: dict[str, float] = {}
    for room in ROOMS:
        for path in sorted((ROOT / room).glob("*.py")):
            if path.stem in NO_MODEL:
                continue
            module = ".".join(Path(room, path.stem).parts)
            for node in ast.parse(path.read_text("utf-8")).body:
                target = node.target if isinstance(node, ast.AnnAssign) else None
                if isinstance(target, ast.Name) and target.id.strip("_").isupper():
                    value = getattr(importlib.import_module(module), target.id)
                    if not f"{module}:{target.id}".endswith(NO_SIZE):
                        out |= dict(_numbers(value, f"{module}:{target.id}"))
    return out


def _with(value: Any, keys: list[str], by: float) -> Any:
    if not keys:
        return type(value)(value + by) if isinstance(value, int) else value + by
    if isinstance(value, dict):
        return {k: _with(v, keys[1:], by) if str(k) == keys[0] else v for k, v in value.items()}
    made = [_with(v, keys[1:], by) if str(i) == keys[0] else v for i, v in enumerate(value)]
    return tuple(made)


def forget() -> None:
    """Empty every cache of ours."""
    for one in gc.get_objects():
        if isinstance(one, _lru_cache_wrapper) and str(one.__module__).startswith(OURS):
            one.cache_clear()


@contextmanager
def moved(constant: str, by: float) -> Iterator[None]:
    """Inside, one constant (as `constants` names it) is so much more; defaults of functions too."""
    module, _, rest = constant.partition(":")
    name, *keys = rest.replace("]", "").split("[")
    old = getattr(importlib.import_module(module), name)
    new = _with(old, keys, by)
    known = [m for n, m in list(sys.modules.items()) if n.startswith(OURS) and m is not None]
    named = [m for m in known if m.__dict__.get(name) is old]
    defaults = [
        f for f in gc.get_objects()
        if isinstance(f, FunctionType) and f.__module__ and f.__module__.startswith(OURS)
        and f.__defaults__ and any(d is old for d in f.__defaults__) and not isinstance(old, int)
    ]  # fmt: skip
    kept = [(f, f.__defaults__) for f in defaults]
    try:
        for m in named:
            setattr(m, name, new)
        for f, values in kept:
            f.__defaults__ = tuple(new if v is old else v for v in values or ())
        forget()
        yield
    finally:
        for m in named:
            setattr(m, name, old)
        for f, values in kept:
            f.__defaults__ = values
        forget()
