"""Positions on pictures over a season: kinds apart, margins, and what the ladder makes of them."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from layout.book.people import find_member
from layout.book.pictures import Kept, keep_picture, strike_picture
from layout.book.store import open_book
from layout.page.page import Line
from layout.plan.drill import catalogue
from layout.plan.venue import find_venue
from layout.season.plots import positions_page, season_pages
from layout.season.positions import position_rows, position_texts, positions_of
from layout.season.season import season_of
from layout.training.rungs import ladder
from tests.layout.book.book_cases import club_book
from tests.strategies import ON

GAP = (0.40, 0.034)


def kept(number: int, day: str, kind: str = "training", **more: Any) -> Kept:
    measures = {"knee_gap": GAP, "free_knee_touchdown": (1.4, 0.1)} | more.pop("measures", {})
    instant = more.pop("instant", "step touchdown")
    return Kept(more.pop("athlete", 1), day, kind, "short-triple-jump", instant,
                f"point,x,y,value\nhip,{number},7,\n", measures, None, number, "Runa")  # fmt: skip


def gaps(*values: float, kind: str = "training", first: int = 1) -> list[Kept]:
    return [
        kept(first + i, f"2026-05-{first + i:02d}", kind, measures={"knee_gap": (v, 0.034)})
        for i, v in enumerate(values)
    ]


def test_one_picture_keeps_its_margin_and_many_never_have_less() -> None:
    (one, lever) = positions_of(gaps(0.4))
    assert (one.measure.name, lever.measure.name) == ("knee_gap", "free_knee_touchdown")
    assert one.training is not None
    assert one.competition is None
    assert one.difference is None
    assert (one.training.value, one.training.margin) == pytest.approx((0.4, 0.034))
    (same, _) = positions_of(gaps(*[0.4] * 9))
    assert same.training is not None
    assert same.training.margin == pytest.approx(0.034)
    (apart, _) = positions_of(gaps(0.3, 0.4, 0.5))
    assert apart.training is not None
    # Mean .4; scatter .1 over the root of three, twice, beside the margin.
    assert apart.training.value == pytest.approx(0.4)
    assert apart.training.margin == pytest.approx(math.hypot(0.034, 0.2 / math.sqrt(3.0)))


@pytest.mark.parametrize(("there", "differs"), [(0.36, False), (0.34, True), (0.46, True)])
def test_competition_differs_only_beyond_both_margins(there: float, differs: bool) -> None:
    (gap, _) = positions_of([*gaps(0.4), *gaps(there, kind="competition", first=9)])
    assert gap.difference is not None
    change, margin = gap.difference
    assert change == pytest.approx(there - 0.4)
    assert margin == pytest.approx(0.034 * math.sqrt(2.0))
    assert gap.differs is differs
    said = " ".join(position_texts([gap]))
    assert ("Beyond the margins competition differs" in said) is differs
    assert ("does not differ" in said) is not differs
    assert position_rows([gap])[0][3].endswith("beyond margin" if differs else "within margin")


def test_other_instants_and_days_before_are_left_out() -> None:
    rows = [kept(1, "2026-05-01"), kept(2, "2026-05-09", instant="jump touchdown"),
            kept(3, "2026-04-01", "competition")]  # fmt: skip
    (gap, _) = positions_of(rows, "2026-05-01")
    assert gap.training is not None
    assert len(gap.training.dots) == 1
    assert gap.competition is None
    assert "Nothing of competition yet" in " ".join(position_texts([gap]))
    assert positions_of([]) == ()
    assert position_texts([]) == []


def test_the_plot_has_a_mark_and_a_margin_for_every_picture() -> None:
    rows = [*gaps(0.3, 0.4), *gaps(0.5, kind="competition", first=20)]
    found = positions_of(rows)
    for wide in (None, 92.0):
        page = positions_page("Runa", found, wide)
        spots = [i for i in page.ink if isinstance(i, Line) and i.closed and i.fill == "near"]
        margins = [i for i in page.ink if isinstance(i, Line) and i.width == 0.35]
        assert len(spots) == len(margins) == 6
        for line in margins:
            assert np.ptp([x for x, _ in line.points]) == 0.0
            assert np.ptp([y for _, y in line.points]) > 0.5
        assert sum(len(s.points) == 4 for s in spots) == 4
        for item in page.ink:
            at = item.points if isinstance(item, Line) else (item.at,)
            assert all(0.0 <= x <= page.width and 0.0 <= y <= page.height for x, y in at)


def test_season_and_ladder_read_the_book(tmp_path: Path) -> None:
    venue, rungs = find_venue("club"), ladder()
    with open_book(club_book(tmp_path)) as book:
        runa = find_member(book, "runa")
        day = ON.isoformat()
        bare = season_of(book, runa, ON, rungs, venue)
        assert bare.positions == ()
        assert "positions" not in season_pages(bare)
        measures = {"knee_gap": (0.05, 0.034), "contact_time": (0.19, 0.004)}
        number, _ = keep_picture(book, kept(1, day, athlete=runa.id, measures=measures))
        keep_picture(book, kept(2, "2999-01-01", athlete=runa.id))
        season = season_of(book, runa, ON, rungs, venue)
        assert len(season.positions[0].training.dots) == 1  # type: ignore[union-attr]
        assert "positions" in season_pages(season)
        assert season.observed is not None
        assert season.observed.knee_gap == pytest.approx(0.05)
        assert season.observed.contact == pytest.approx(0.19)
        assert any("knee gap 5.0 cm ± 3.4 from 1 picture" in text for text in season.seen)
        strike_picture(book, number)
        struck = season_of(book, runa, ON, rungs, venue)
        assert struck.positions == ()
        assert struck.observed is not None
        assert struck.observed.knee_gap is None
    assert "short-triple-jump" in catalogue()
