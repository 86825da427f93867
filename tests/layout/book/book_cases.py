"""Books for tests: made, filled, and what hypothesis draws for them."""

from __future__ import annotations

import contextlib
import json
import sqlite3
import tempfile
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import pytest
from hypothesis import strategies as st

from layout.book.entry import add
from layout.book.people import keep_plan, keep_text
from layout.book.schema import STEPS
from layout.book.store import Book, create, open_book
from layout.book.typed import Typed
from layout.plan.stored import to_json
from layout.words.reading import LARGEST_TOML, read_text
from tests.strategies import CLUB_FOLDER, plan

ROOT: Final = Path(__file__).parents[3]
DAY: Final = "2026-05-02"
"""The day after the test plans."""


@lru_cache(maxsize=4)
def plan_text(who: str = "runa", drill: str = "hop-step-sand") -> str:
    """A saved plan."""
    return to_json(plan(who, drill))


def keep_file(book: Book, path: Path) -> tuple[str, bool]:
    """Take in an athlete file."""
    return keep_text(book, read_text(path, LARGEST_TOML), str(path))


@lru_cache(maxsize=1)
def _club() -> bytes:
    with tempfile.TemporaryDirectory() as name:
        path, saved = Path(name, "a.book"), Path(name, "plan.json")
        create(path)
        saved.write_text(plan_text(), encoding="utf-8")
        with open_book(path) as book:
            keep_file(book, CLUB_FOLDER / "runa.toml")
            keep_file(book, CLUB_FOLDER / "imka.toml")
            keep_plan(book, saved)
        return path.read_bytes()


@lru_cache(maxsize=1)
def _empty() -> bytes:
    with tempfile.TemporaryDirectory() as name:
        path = Path(name, "a.book")
        create(path)
        return path.read_bytes()


def empty_book(folder: Path, name: str = "other.book") -> Path:
    """A new book with nothing in it; made once, then copied."""
    path = folder / name
    path.touch(0o600)
    path.write_bytes(_empty())
    return path


def club_book(folder: Path, name: str = "marram.book") -> Path:
    """A new book with Runa, Imka and a plan of Runa's; made once, then copied."""
    path = folder / name
    path.touch(0o600)
    path.write_bytes(_club())
    return path


@contextlib.contextmanager
def of_version(version: int, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Books are made and opened as an older version did."""
    with monkeypatch.context() as then:
        then.setattr("layout.book.schema.STEPS", STEPS[:version])
        then.setattr("layout.book.store.VERSION", version)
        yield


def jumped(book: Book, *readings: str, who: str = "runa", **more: Any) -> int:
    """One attempt at the hop and step to the sand; its number."""
    drill = more.pop("drill", "hop-step-sand")
    day = more.pop("day", DAY)
    return add(book, Typed(who, drill, readings, day=day, **more)).id


def every_byte(folder: Path) -> bytes:
    """Whatever stands in any file of a folder."""
    return b"\0".join(p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file())


def dump(path: Path) -> list[str]:
    """All of a book, as statements."""
    db = sqlite3.connect(path)
    try:
        return list(db.iterdump())
    finally:
        db.close()


lines: Final = st.text(
    st.characters(categories=["L", "M", "N", "P", "S", "Zs"]), min_size=1, max_size=30
).filter(lambda t: t.isprintable() and t.strip() == t and t != "")
"""Notes, places and names as anybody may type them, with quotes, commas and signs."""
reals: Final = st.floats(1e-9, 1e9, allow_nan=False, allow_infinity=False)
signed: Final = st.floats(-1e9, 1e9, allow_nan=False, allow_infinity=False)
phases_drawn: Final = st.lists(st.none() | st.floats(0.2, 10.0), min_size=1, max_size=6)


@st.composite
def attempt_rows(draw: st.DrawFn) -> dict[str, Any]:
    """Columns of one attempt, any that the tables allow."""
    lengths = draw(phases_drawn)
    return {
        "session": 1,
        "athlete": draw(st.sampled_from((1, 2))),
        "plan": draw(st.sampled_from((None, 1))),
        "drill": "hop-step-sand",
        "phases": " ".join(["hop"] * len(lengths)),
        "lengths": json.dumps(lengths),
        "total": draw(st.none() | reals),
        "readings": draw(st.none() | lines),
        "zero": draw(st.sampled_from((None, "board", "pit", "each"))),
        "strides": draw(st.none() | st.integers(0, 24)),
        "speed": draw(st.none() | reals),
        "wind": draw(st.none() | signed),
        "surface": draw(st.none() | lines),
        "foul": draw(st.sampled_from((0, 1))),
        "note": draw(st.none() | lines),
        "made": "2026-05-01T10:00:00.000+00:00",
        "runs": draw(st.integers(1, 99)),
        "contacts": draw(st.integers(0, 1000)),
        "struck": draw(st.sampled_from((0, 1))),
        "knee_gap": draw(st.none() | signed),
        "trunk": draw(st.none() | signed),
        "kind": draw(st.sampled_from((None, "training", "competition"))),
        "behind": draw(st.none() | signed),
        "run": draw(st.none() | lines),
    }


def insert(db: sqlite3.Connection, row: dict[str, Any]) -> None:
    """An attempt straight into its table."""
    keys = ", ".join(row)
    marks = ", ".join("?" * len(row))
    db.execute(f"INSERT INTO attempt ({keys}) VALUES ({marks})", tuple(row.values()))
