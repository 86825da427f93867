"""Plots: the numbers that are drawn, and that every kind of file is made."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from matplotlib.image import imread
from matplotlib.text import Text

from animate.body.body import body
from animate.motion.chain import Settings
from animate.motion.motion import Motion
from layout.commands.demo_ import plans
from layout.moving.solved import ready
from layout.plan.value import Plan
from layout.sheet.plots import along, jumped, lever_plot, run_plot, split_plot
from tests.strategies import drill_names, pit_or_track, plan


@lru_cache(maxsize=1)
def solved() -> tuple[Plan, Motion]:
    for _, made, *_ in plans():
        motion = ready(made, body(made.who.stature, made.who.mass, made.who.build), Settings())
        if motion is not None and made.drill == "full-triple-jump":
            return made, motion
    raise AssertionError("no kept motion of a full jump")


def test_jumped_lengths_are_those_of_the_best_jump() -> None:
    made = plan("odalys", "full-triple-jump")  # jumped = 5.00/3.86/4.44 m in her file
    assert jumped(made) == pytest.approx((5.00, 3.86, 4.44), abs=0.005)
    assert jumped(replace(made, gaps=())) == ()


@settings(max_examples=20)
@given(drill_names)
def test_a_plans_way_starts_and_ends_at_its_flights(drill: str) -> None:
    made = plan("imka", drill, pit_or_track(drill))
    x, speed, height = along(made)
    assert (np.diff(x) > 0).all()
    assert (x[0], height[0]) == pytest.approx((made.flights[0].start_x, made.flights[0].start_z))
    assert (x[-1], height[-1]) == pytest.approx((made.flights[-1].end_x, made.flights[-1].end_z))
    assert height.max() == pytest.approx(max(f.apex_z for f in made.flights), abs=0.005)
    assert set(np.round(speed, 9)) == {round(f.vx, 9) for f in made.flights}


def test_a_motions_way_is_its_body_centre_up_to_the_last_touchdown() -> None:
    made, motion = solved()
    x, speed, height = along(made, motion)
    assert (np.diff(x) > 0).all()
    assert x[-1] == pytest.approx(made.flights[-1].end_x, abs=0.15)
    # In flight nothing pushes: the speed there is one, and near the plan's.
    for flight in made.flights:
        inside = speed[(x > flight.start_x + 0.2) & (x < flight.end_x - 0.2)]
        assert np.ptp(inside) < 0.01
        assert inside.mean() == pytest.approx(flight.vx, rel=0.03)
    assert 0.3 < height.min() < height.max() < 2.0


@pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
@pytest.mark.parametrize("grey", [False, True])
def test_every_kind_is_made_alike_each_time(kind: str, grey: bool) -> None:
    made, motion = solved()
    for data in (split_plot(made, kind, grey), run_plot(made, motion, kind, grey)):
        assert data.startswith({"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}[kind])
    if kind != "png":
        assert split_plot(made, kind, grey) == split_plot(made, kind, grey)
    else:
        pixels = imread(io.BytesIO(split_plot(made, kind, grey)))[..., :3]
        spread = float((pixels.max(axis=2) - pixels.min(axis=2)).max())
        assert (spread == 0.0) if grey else (spread > 0.1)


def test_bars_are_as_high_as_the_shares_and_the_step_line_at_thirty(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from layout.sheet import plots

    kept: list[Any] = []
    monkeypatch.setattr(plots, "saved", lambda figure, kind: kept.append(figure))
    made, _ = solved()
    split_plot(made, "svg")
    (axes,) = kept[0].axes
    heights = [bar.get_height() for bar in axes.patches]
    best = jumped(made)
    wanted = [100 * f.length / made.total for f in made.flights] + [
        100 * b / sum(best) for b in best
    ]
    assert heights == pytest.approx(wanted)
    (level,) = [line for line in axes.lines if line.get_linestyle() == "--"]
    assert set(level.get_ydata()) == {30.0}
    bounds = plan("odalys", "alternate-bounds", "track")
    split_plot(bounds, "svg")
    assert [line for line in kept[1].axes[0].lines if line.get_linestyle() == "--"] == []


def test_plots_in_feet_have_no_metres(monkeypatch: pytest.MonkeyPatch) -> None:
    from layout.sheet import plots

    kept: list[Any] = []
    monkeypatch.setattr(plots, "saved", lambda figure, *_: kept.append(figure))
    made, motion = solved()
    split_plot(made, "svg", system="ft")
    run_plot(made, motion, "svg", system="ft")
    lever_plot(body(1.8, 70.0), "svg", system="ft")
    texts = [t.get_text() for figure in kept for t in figure.findobj(Text)]
    assert not [t for t in texts if re.search(r"\d (?:m|cm)\b|\[(?:m|cm|m/s)\]", t)]
    (line, *_) = [li for li in kept[1].axes[1].lines if len(li.get_xdata()) > 2]
    assert line.get_xdata() == pytest.approx(along(made, motion)[0] / 0.3048)


@pytest.mark.parametrize("name", ["$x^2$ \\frac{", "Łucja <b>&", "W" * 80])
def test_names_are_no_mathematics(name: str) -> None:
    made, motion = solved()
    made = replace(made, who=replace(made.who, name=name))
    assert split_plot(made, "svg")
    assert run_plot(made, motion, "png")


def test_another_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="kind: svg, png, pdf, got 'gif'"):
        split_plot(solved()[0], "gif")
