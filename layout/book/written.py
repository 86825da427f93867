"""What people wrote in files, plans and notes, told from the words that the program reads."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable, Container
from functools import lru_cache
from typing import Any, Final

from layout.plan.drill import catalogue

Edit = Callable[[str], str]
GONE: Final = "(erased)"
"""Stands where a text named an athlete who was erased."""
_OWN_TEXTS: Final = frozenset({"title", "job", "points", "faults", "cautions", "surface"})
_PLAN_TEXTS: Final = frozenset(
    {"name", "text", "title", "job", "slug", "drill", "points", "faults", "cautions"}
)
_TOML: Final = re.compile(
    r"^[ \t]*[\"']?(?P<key>\w+)[\"']?[ \t]*=(?!=)"
    r"|(?P<text>\"\"\".*?\"\"\"|'''.*?'''|\"(?:\\.|[^\"\\\n])*\"|'[^'\n]*')|(?P<remark>#[^\n]*)",
    re.MULTILINE | re.DOTALL,
)


def _in_file(text: str, edit: Edit, keys: Container[str] = ("name", "note")) -> str:
    """A file with what people wrote under some keys, and its remarks, edited."""
    key = ""

    def piece(found: re.Match[str]) -> str:
        nonlocal key
        key = found["key"] or key
        free = found["remark"] or (found["text"] and key in keys)
        return edit(found[0]) if free else found[0]

    try:
        tomllib.loads(text)
    except (ValueError, RecursionError):
        return edit(text)  # nothing reads it: better a name too few
    return _TOML.sub(piece, text)


def _in_slug(text: str, edit: Edit) -> str:
    """A name of small letters and hyphens edited, and still one."""
    return edit(text).replace(GONE, GONE.strip("()"))


def _in_own(text: str, edit: Edit) -> str:
    """An own drill or venue with its name and texts edited."""
    made = _in_file(text, edit, _OWN_TEXTS)
    return re.sub(r"^[ \t]*\[.*$", lambda m: _in_slug(m[0], edit), made, flags=re.MULTILINE)


@lru_cache(maxsize=1)
def _own_texts() -> frozenset[str]:
    """What the shipped drills say: no name is looked for in it."""
    found = {t for d in catalogue().values() for t in (d.title, d.job, *d.points, *d.faults)}
    return frozenset(found | set(catalogue()))


def _in_plan(text: str, edit: Edit) -> str:
    """A plan with the texts that people write edited."""

    def walk(value: Any, free: bool) -> Any:
        if isinstance(value, dict):
            return {k: walk(v, k in _PLAN_TEXTS) for k, v in value.items()}
        if isinstance(value, list):
            return [walk(v, free) for v in value]
        own = not isinstance(value, str) or value in _own_texts()
        return edit(value) if free and not own else value

    try:
        table = json.loads(text)
        made = walk(table, False)
    except (ValueError, RecursionError):
        return edit(text)
    return text if made == table else json.dumps(made, ensure_ascii=False, separators=(",", ":"))


def rewritten(kind: str, text: str, edit: Edit) -> str:
    """A text of some kind with what people wrote in it edited."""
    if kind == "file":
        return _in_file(text, edit)
    if kind == "own":
        return _in_own(text, edit)
    if kind == "slug":
        return _in_slug(text, edit)
    if kind == "plan":
        return _in_plan(text, edit)
    return text if kind == "drill" and text in _own_texts() else edit(text)
