"""Metres to millimetres, papers, and scales that are kept or refused."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from animate.body.shapes import Area, Label, Stroke
from layout.page.page import (
    BODY,
    HAIR,
    MARGIN,
    PAPERS,
    SCALES,
    Line,
    Text,
    View,
    choose_scale,
    paper_size,
    parse_scale,
)
from layout.plan.tape import tape_card
from layout.sheet import runway
from layout.sheet.drawing import Sheet, draw
from layout.words.faults import BadInput
from tests.strategies import CLUB, drill_names, pit_or_track, plan

scales = st.sampled_from(SCALES)
papers = st.sampled_from(sorted(PAPERS))


@given(scales, st.floats(-100.0, 100.0), st.floats(-100.0, 100.0), st.floats(-50.0, 50.0))
def test_view_is_exact_and_flips_y(scale: int, left: float, base: float, x: float) -> None:
    view = View(scale, left, base)
    assert view.point(0.0, 0.0) == (left, base)
    px, py = view.point(x, x)
    assert (px - left) * scale / 1000.0 == pytest.approx(x, abs=1e-9)
    assert (base - py) * scale / 1000.0 == pytest.approx(x, abs=1e-9)


def test_view_turns_each_shape_into_ink() -> None:
    view = View(100, 10.0, 50.0)
    corner = ((0.0, 0.0), (1.0, 0.0), (1.0, 2.0))
    shapes = (
        Stroke(corner, "line", 0.05, dash=(0.1, 0.2)),
        Area(corner, "left", "left"),
        Area(corner, "right", "right", filled=False),
        Label((1.0, 1.0), "word", size=2.0),
        Stroke(corner, "line"),
    )
    one, full, hollow, word, thin = view.ink(shapes, "first")
    assert isinstance(one, Line)
    assert one.points == ((10.0, 50.0), (20.0, 50.0), (20.0, 30.0))
    assert (one.width, one.dash, one.name) == (0.5, (1.0, 2.0), "first")
    assert isinstance(full, Line)
    assert (full.fill, full.closed, full.name) == ("left", True, "")
    assert isinstance(hollow, Line)
    assert (hollow.fill, hollow.stroke) == ("paper", "right")
    assert isinstance(word, Text)
    assert (word.at, word.size) == ((20.0, 40.0), 2 * BODY)
    assert isinstance(thin, Line)
    assert thin.width == HAIR


@pytest.mark.parametrize("name", ["A4", "a4", "LETTER", "tabloid"])
def test_papers_by_any_case(name: str) -> None:
    width, height = paper_size(name, True)
    assert paper_size(name, False) == (height, width)
    assert height > width


@pytest.mark.parametrize("name", ["A9", "", "leter", "A4 ", "名"])
def test_unknown_paper_is_refused_with_all_names(name: str) -> None:
    with pytest.raises(BadInput, match=r"--paper: must be one of A4, A3, Letter, Legal, Tabloid"):
        paper_size(name, False)


@pytest.mark.parametrize(("text", "scale"), [("1:50", 50), ("100", 100), (" 1:200 ", 200)])
def test_scale_is_read(text: str, scale: int) -> None:
    assert parse_scale(text) == scale


@pytest.mark.parametrize("text", ["", "1:75", "1:1:50", "50.0", "-50", "1:", "²", "9" * 5000, "½"])
def test_other_scales_are_refused(text: str) -> None:
    with pytest.raises(BadInput, match="--scale: must be one of 1:50, 1:100, 1:200"):
        parse_scale(text)


def _fits(scale: int, paper: tuple[float, float], length: float, high: float, taken: float) -> bool:
    along, up = 1000.0 * length / scale, 1000.0 * high / scale + taken
    return along <= paper[0] - 2 * MARGIN + 1e-6 and up <= paper[1] - 2 * MARGIN + 1e-6


@given(
    st.floats(0.5, 120.0), st.floats(1.0, 8.0), papers, st.booleans(), st.floats(0.0, 200.0),
    st.floats(0.0, 2000.0), st.none() | scales,
)  # fmt: skip
def test_scale_is_the_wanted_one_or_the_largest_or_refused_with_one_that_fits(
    length: float, high: float, name: str, upright: bool, taken: float, more: float,
    wanted: int | None,
) -> None:  # fmt: skip
    def fits(scale: int, sheet: tuple[float, float]) -> bool:
        return _fits(scale, sheet, length, high, taken + more / scale)

    paper = paper_size(name, upright)
    possible = [s for s in SCALES if fits(s, paper)]
    try:
        got = choose_scale(length, high, paper, lambda scale: taken + more / scale, wanted)
    except BadInput as error:
        text = str(error)
        assert wanted not in possible if wanted else not possible
        ways = re.findall(r"1:(\d+) on (this paper|(\w+) (across|upright))", text)
        for scale, where, other, turned in ways:
            there = paper if where == "this paper" else paper_size(other, turned == "upright")
            assert fits(int(scale), there), text
        if not ways:
            assert "no scale or paper here holds it" in text
            assert not possible
            sizes = [paper_size(p, u) for p in PAPERS for u in (True, False)]
            assert not any(fits(wanted or 200, s) for s in sizes)
        return
    assert fits(got, paper)
    assert got == (wanted or possible[0])


@given(st.sampled_from(CLUB), drill_names, papers, st.booleans(), scales, st.integers(1, 8))
def test_what_a_refused_drawing_names_can_be_drawn(
    who: str, drill: str, paper: str, upright: bool, scale: int, cycles: int
) -> None:
    """The texts at the foot are folded anew on another paper, so its own room must be counted."""
    try:
        repeats = cycles if "step-track" in drill else None
        made = plan(who, drill, pit_or_track(drill), cycles=repeats)
    except BadInput:  # longer than the runway: there is nothing to draw
        reject()
    card = tape_card(made)
    try:
        page = draw(made, card, Sheet(paper, upright, scale))
    except BadInput as error:
        text = str(error)
        ways = re.findall(r"1:(\d+) on (this paper|(\w+) (across|upright))", text)
        assert ways or "no scale or paper" in text
        for s, where, other, turned in ways:
            this = where == "this paper"
            name, up = (paper, upright) if this else (other, turned == "upright")
            again = draw(made, card, Sheet(name, up, int(s)))
            assert again.scale == int(s)
        return
    assert page.scale == scale
    low, high = runway.extent(made)
    assert 1000.0 * (high - low) / scale <= page.width - 2 * MARGIN + 1e-6
