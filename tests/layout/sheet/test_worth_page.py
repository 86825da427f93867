"""The sheet of a curve: on one page, the figures to scale, nothing beyond its edges."""

from __future__ import annotations

import pytest

from layout.commands.demo_ import plans
from layout.page.page import MARGIN, extent
from layout.sheet.worth_page import SCALE, chart_alone, figure_alone, worth_page
from tests.layout.desk.test_desk_worth import made_curve


def test_it_stands_on_one_page_inside_its_margins() -> None:
    page = worth_page(next(iter(plans()))[1], made_curve())
    left, top, right, low = extent(page.ink)
    assert left >= MARGIN - 0.5
    assert top >= MARGIN - 3.0
    assert right <= page.width - MARGIN + 0.5
    assert low <= page.height - MARGIN
    assert page.scale == SCALE


def test_a_figure_is_as_high_as_its_scale_says() -> None:
    worth = made_curve()
    stature = worth.points[0].found.outcome.motion.body.stature
    page = figure_alone(worth, 0)
    assert page.height == pytest.approx(1000.0 * stature / SCALE, rel=0.25)


def test_the_curve_alone_is_as_narrow_as_a_phone() -> None:
    page = chart_alone(made_curve())
    left, _, right, _ = extent(page.ink)
    assert left >= 0.0
    assert right <= page.width
