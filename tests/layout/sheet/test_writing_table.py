"""The table to write in: every phase while there is room, and room to write."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.plan.tape import tape_card
from layout.sheet.handout_blocks import HEADED, Block, parts
from layout.sheet.page import Page, Text
from layout.sheet.widths import text_width
from layout.sheet.writing_table import HIGH, NARROWEST, NOTE, columns, writing_table
from tests.paper import box
from tests.strategies import drill_names, pit_or_track, plan


@settings(max_examples=30)
@given(drill_names, st.floats(80.0, 400.0), st.sampled_from(("cm", "ft")))
def test_columns_fill_the_width_and_can_be_written_in(
    drill: str, width: float, system: str
) -> None:
    made = plan("imka", drill, pit_or_track(drill))
    laid = columns(made, tape_card(made, "board", system), width)  # type: ignore[arg-type]
    assert sum(w for *_, w in laid) == pytest.approx(width)
    assert all(w >= NARROWEST for *_, w in laid[1:-1])
    assert laid[-1][2] >= NOTE - 1e-9
    names = [name for name, *_ in laid]
    moves = [f.move for f in made.flights]
    assert names[1 : 1 + len(moves)] == moves or "marks met" in names
    for name, planned, wide in laid:
        assert max(text_width(name, 2.9), text_width(planned, 2.9, True)) <= wide


@pytest.mark.parametrize("drill", ["full-triple-jump", "hop-step-hold", "alternate-bounds"])
@pytest.mark.parametrize("rows", [1, 4, 12])
def test_a_table_is_one_block_with_a_number_for_each_run(drill: str, rows: int) -> None:
    made = plan("tevin", drill, pit_or_track(drill))
    card = tape_card(made)
    (block,) = parts(writing_table(made, card, 88.0, rows), 10.0)
    assert isinstance(block, Block)
    assert block.height == pytest.approx(HEADED + 9.0 + rows * HIGH + 0.5)
    texts = [i for i in block.ink if isinstance(i, Text)]
    said = [t.text for t in texts]
    assert [str(n) for n in range(1, rows + 1)] == [s for s in said if s.isdigit()][-rows:]
    page = Page(88.0, block.height, 50, "", tuple(block.ink))
    assert len(page.ink) == len(block.ink)
    heads = sorted(box(t) for t in texts if t.at[1] < HEADED + 4.0 and t.text != "What was jumped")
    assert all(a[2] <= b[0] for a, b in pairwise(heads))


def test_planned_figures_stand_over_their_columns() -> None:
    made = plan("odalys", "full-triple-jump")
    laid = columns(made, tape_card(made), 88.0)
    assert [(a, b) for a, b, _ in laid[1:-1]] == [
        *((f.move, f"{f.length:.2f}") for f in made.flights), ("total", f"{made.total:.2f}")
    ]  # fmt: skip
