"""Every constant of the model is held: moved by its margin, a row no longer holds, or a test is named."""

from __future__ import annotations

import ast

import pytest

from tests.published import moved
from tests.published.held import ROOT, figures, held, rows, stands
from tests.published.pins import AS_READ, NUMERIC, TESTS, margin
from tests.published.pins import ROWS as PINNED

ROWS = rows()
FINE = ("approach/fraction-8", "velocities/over-17", "kinematics/men-thirty-shares", "youth/standing-triple",
        "swing/leg-swing-frequency")  # fmt: skip


def _holds(row: str) -> bool:
    file, _, slug = row.rpartition("/")
    key = (file, slug)
    return all(stands(key, f) for f in figures(key, ROWS[key])[0])


@pytest.mark.parametrize("name", PINNED)
def test_a_constant_moved_by_its_margin_fails_a_row(name: str) -> None:
    held()
    where = PINNED[name][1].split()
    for way in (margin(name), -margin(name)):
        with moved.moved(name, way):
            assert not all(map(_holds, where)), way
    assert all(map(_holds, where))


@pytest.mark.parametrize("name", NUMERIC)
def test_how_finely_things_are_worked_out_moves_no_row(name: str) -> None:
    held()
    for way in (margin(name), -margin(name)):
        with moved.moved(name, way):
            assert all(map(_holds, FINE)), way


def test_every_constant_is_held_by_rows_or_a_test_that_is_there() -> None:
    known = [*PINNED, *NUMERIC, *TESTS, *(n for names in AS_READ.values() for n in names)]
    assert sorted(known) == sorted({*moved.constants(), "layout.words.split:LEAD"})
    for test in {one for named in (*TESTS.values(), *AS_READ) for one in named.split()}:
        file, _, name = test.partition("::")
        tree = ast.parse((ROOT / file).read_text("utf-8"))
        assert name in {n.name for n in tree.body if isinstance(n, ast.FunctionDef)}, test
