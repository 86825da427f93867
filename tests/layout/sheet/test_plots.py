"""Plots: the numbers that are drawn, and that every kind of file is made."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from matplotlib.image import imread

from animate.body.body import body
from animate.motion.chain import Settings
from animate.motion.motion import Motion
from layout.commands.demo_ import plans
from layout.moving.solved import ready
from layout.page.page import Line, Page, Text, extent
from layout.plan.value import Plan
from layout.sheet.plots import along, jumped, lever_page, plot_file, run_page, split_page
from tests.paper import collisions
from tests.strategies import drill_names, pit_or_track, plan


@lru_cache(maxsize=1)
def solved() -> tuple[Plan, Motion]:
    for _, made, *_ in plans():
        motion = ready(made, body(made.who.stature, made.who.mass, made.who.build), Settings())
        if motion is not None and made.drill == "full-triple-jump":
            return made, motion
    raise AssertionError("no kept motion of a full jump")


def test_jumped_lengths_are_those_of_the_best_jump() -> None:
    made = plan("odalys", "full-triple-jump")  # best_phases = 5.00/3.86/4.44 m in her file
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
    for page in (split_page(made), run_page(made, motion)):
        data = plot_file(page, kind, grey)
        assert data.startswith({"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}[kind])
    assert plot_file(split_page(made), kind, grey) == plot_file(split_page(made), kind, grey)
    if kind == "png":
        pixels = imread(io.BytesIO(plot_file(split_page(made), kind, grey)))[..., :3]
        spread = float((pixels.max(axis=2) - pixels.min(axis=2)).max())
        assert (spread == 0.0) if grey else (spread > 0.1)


def lines(page: Page, start: str) -> list[Line]:
    return [i for i in page.ink if isinstance(i, Line) and i.name.startswith(start)]


def test_bars_are_as_high_as_the_shares_and_the_step_line_at_thirty() -> None:
    made, _ = solved()
    page = split_page(made)
    best = jumped(made)
    shares = [100 * f.length / made.total for f in made.flights]
    shares += [100 * b / sum(best) for b in best]
    bars = [[y for _, y in line.points] for line in lines(page, "bar-")]
    (level,) = lines(page, "level-30")
    foot = max(bars[0])
    for bar, share in zip(bars, shares, strict=True):
        assert max(bar) == foot
        # By the figures at the axis, which tell what a millimetre stands for.
        assert (foot - min(bar)) * per_mm(page) == pytest.approx(share)
    assert [(foot - y) * per_mm(page) for _, y in level.points] == pytest.approx([30.0, 30.0])
    assert lines(split_page(plan("odalys", "alternate-bounds", "track")), "level-") == []


def test_plots_in_feet_have_no_metres() -> None:
    made, motion = solved()
    who = body(1.8, 70.0)
    pages = [split_page(made, "ft"), run_page(made, motion, "ft"), lever_page(who, system="ft")]
    texts = [i.text for page in pages for i in page.ink if isinstance(i, Text)]
    assert not [t for t in texts if re.search(r"\d (?:m|cm)\b|\[(?:m|cm|m/s)\]", t)]
    # The same curve, by the figures under it: feet instead of metres.
    spans = []
    for page in (run_page(made, motion), pages[1]):
        low = max(i.at[1] for i in page.ink if isinstance(i, Text)) - 4.8
        at = {
            i.text: i.at[0] for i in page.ink if isinstance(i, Text) and abs(i.at[1] - low) < 0.01
        }
        first, last = (float(min(at, key=float)), float(max(at, key=float)))
        per = (last - first) / (at[f"{last:g}"] - at[f"{first:g}"])
        (curve,) = [i for i in page.ink if isinstance(i, Line) and i.stroke == "measure"]
        spans.append((curve.points[-1][0] - curve.points[0][0]) * per)
    assert spans[1] == pytest.approx(spans[0] / 0.3048)
    x, _, _ = along(made, motion)
    assert spans[0] == pytest.approx(x[-1] - x[0])


def per_mm(page: Page) -> float:
    """Per cent to a millimetre, from the figures beside the axis."""
    at = {i.text: i.at[1] for i in page.ink if isinstance(i, Text) and i.align == "right"}
    return 20.0 / (at["0"] - at["20"])


def test_figures_over_the_run_are_the_curve_s_highest_points() -> None:
    made, motion = solved()
    _, _, height = along(made, motion)
    said = {i.text for i in run_page(made, motion).ink if isinstance(i, Text)}
    assert f"{height.max():.2f}" in said
    assert {c.leave for c in made.contacts[:-1]} <= said


@pytest.mark.parametrize("drill", ["full-triple-jump", "alternate-bounds"])
def test_a_plot_keeps_to_its_page_and_its_texts_apart(drill: str) -> None:
    made = plan("odalys", drill, pit_or_track(drill))
    for page in (split_page(made), run_page(made), lever_page(body(1.7, 60.0, "female"), "Imka")):
        left, top, right, low = extent(page.ink)
        assert min(left, top, page.width - right, page.height - low) >= 0.0
        assert collisions(page, 0.0) == []


@pytest.mark.parametrize("name", ["$x^2$ \\frac{", "Łucja <b>&", "W" * 80])
def test_names_stay_as_they_are(name: str) -> None:
    made, motion = solved()
    made = replace(made, who=replace(made.who, name=name))
    root = ET.fromstring(plot_file(split_page(made), "svg", False))
    said = "".join(e.text or "" for e in root.iter("{http://www.w3.org/2000/svg}text"))
    assert name.replace(" ", "") in said.replace(" ", "")
    assert plot_file(run_page(made, motion), "png", False)


def test_another_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="kind: svg, png, pdf, got 'gif'"):
        plot_file(split_page(solved()[0]), "gif", False)
