"""The table to write in: every phase while there is room, and room to write."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.page.page import Line, Page, Text, moved
from layout.page.widths import text_width
from layout.plan.tape import tape_card
from layout.sheet.handout_blocks import (
    HIGHS,
    NARROWEST,
    NOTE,
    Block,
    columns,
    parts,
    planned_columns,
    planned_rows,
    runs_of,
    writing_table,
)
from layout.words.units import show_length
from tests.paper import collisions
from tests.strategies import drill_names, pit_or_track, plan


@settings(max_examples=30)
@given(drill_names, st.floats(80.0, 400.0), st.sampled_from(("cm", "ft")))
def test_columns_fill_the_width_and_can_be_written_in(
    drill: str, width: float, system: str
) -> None:
    made = plan("imka", drill, pit_or_track(drill))
    laid = columns(made, system, width)  # type: ignore[arg-type]
    assert sum(w for *_, w in laid) == pytest.approx(width)
    assert all(w >= NARROWEST for *_, w in laid[1:-1])
    assert laid[-1][2] >= NOTE - 1e-9
    names = [name for name, *_ in laid]
    moves = [f.phase for f in made.flights]
    assert names[1 : 1 + len(moves)] == moves or "marks met" in names
    for name, planned, wide in laid:
        assert max(text_width(name, 2.9), text_width(planned, 2.9, True)) <= wide


@pytest.mark.parametrize("drill", ["full-triple-jump", "hop-step-hold", "alternate-bounds"])
@pytest.mark.parametrize(("sets", "runs"), [(1, 1), (2, 2), (3, 4), (3, 6)])
@pytest.mark.parametrize("many", [1, 2])
def test_every_run_of_the_dose_has_its_row(drill: str, sets: int, runs: int, many: int) -> None:
    made = plan("tevin", drill, pit_or_track(drill))
    made = replace(made, load=replace(made.load, sets=sets, runs=runs))
    card, numbers = tape_card(made), []
    for piece in writing_table(made, card.system, 88.0, HIGHS[0], many):
        (block,) = parts(piece, 10.0)
        assert isinstance(block, Block)
        texts = [i for i in block.ink if isinstance(i, Text)]
        page = Page(300.0, 300.0, 50, "", tuple(moved(block.ink, 20.0, 20.0)))
        assert collisions(page) == []
        rules = sorted(
            {p[1] for i in block.ink if isinstance(i, Line) for p in i.points if len(i.points) == 2}
        )
        assert block.height <= rules[-1] + 0.6
        # The run's number stands left, over its own line; planned figures stand higher.
        left = [t for t in texts if t.text.isdigit() and t.align == "middle" and t.at[0] < 10.0]
        numbers += [int(t.text) for t in sorted(left, key=lambda t: t.at[1])]
    assert numbers == list(range(1, sets * runs + 1)), numbers
    assert runs_of(made) == sets * runs


@settings(max_examples=30)
@given(drill_names, st.floats(50.0, 400.0), st.sampled_from(("cm", "ft")))
def test_the_plans_figures_stand_over_the_rows_where_they_fit(
    drill: str, width: float, system: str
) -> None:
    made = plan("imka", drill, pit_or_track(drill))
    card = tape_card(made, "board", system)  # type: ignore[arg-type]
    wide = planned_columns(planned_rows(made, card.system), width)
    if wide is None:
        return
    assert sum(wide) == pytest.approx(width)
    assert wide[-1] == 0.0 or wide[-1] >= NOTE
    for row in planned_rows(made, card.system):
        assert all(text_width(t, 2.9, True) <= w for t, w in zip(row, wide, strict=False))
    (piece,) = writing_table(made, card.system, width)
    said = {i.text for row in piece.rows for i in row.ink if isinstance(i, Text)}
    for flight in made.flights:
        assert show_length(flight.length, card.system).removesuffix(" m") in said
        assert show_length(flight.apex_z, card.system).removesuffix(" m") in said
        assert f"{100 * flight.length / made.total:.1f}" in said


def test_planned_figures_stand_over_their_columns() -> None:
    made = plan("odalys", "full-triple-jump")
    laid = columns(made, "cm", 88.0)
    assert [(a, b) for a, b, _ in laid[1:-1]] == [
        *((f.phase, f"{f.length:.2f}") for f in made.flights), ("total", f"{made.total:.2f}")
    ]  # fmt: skip
