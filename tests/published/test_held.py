"""Every published row is held against the program, and the table of them in the docs is fresh."""

from __future__ import annotations

import pytest

from tests.published import moved
from tests.published.held import (
    DOCUMENT,
    META,
    NOT_YET,
    all_figures,
    document,
    figures,
    held,
    rows,
    stands,
)
from tests.published.noticed import unnoticed

OUTSIDE = ("seen", "memory-high", "memory-medium", "memory-low")
ROWS = rows()


def _names(pair: tuple[str, str]) -> str:
    return "/".join(pair)


@pytest.mark.parametrize("key", ROWS, ids=_names)
def test_every_figure_of_every_row_is_read_and_held(key: tuple[str, str]) -> None:
    assert key in held(), "no function of against_*.py holds this row"
    found, seen = figures(key, ROWS[key])
    assert found
    given = {n for f in found for n in f.key.split("[")[0].split("..")}
    numbers = {k for k, v in ROWS[key].items() if isinstance(v, (int, float, list))}
    assert numbers - META - given - seen.asked == set()
    for one in found:
        assert stands(key, one), one


def test_nothing_is_held_that_is_no_row() -> None:
    assert set(held()) <= set(ROWS)
    there = {file for file, _ in ROWS}
    assert {key for key in NOT_YET if key[0] in there} <= set(ROWS)


def test_every_figure_moved_by_three_of_its_margins_is_noticed() -> None:
    assert {key: names for key, row in ROWS.items() if (names := unnoticed(key, row))} == {}


def test_at_least_150_are_from_outside() -> None:
    """Seen or remembered of others; our own algebra and choices do not count."""
    outside = {(f.file, f.row, f.key) for f in all_figures() if f.tag in OUTSIDE}
    assert len(outside) >= 150, len(outside)


def test_the_table_in_the_docs_is_fresh() -> None:
    assert DOCUMENT.read_text(encoding="utf-8") == document(), "run python -m tests.published"


def test_the_table_has_every_constant_of_the_model() -> None:
    text = DOCUMENT.read_text(encoding="utf-8")
    for name in moved.constants():
        assert f"| {name.replace('|', '/')} |" in text, name
