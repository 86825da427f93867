"""The picture of target and measured figure: one scale, both gaps dimensioned to it, readable in grey."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from animate.body import figure
from animate.body.body import body
from animate.body.shapes import Area
from animate.film.themes import theme
from layout.page.files import page_file
from layout.page.page import MARGIN, Line, Page, Text
from layout.page.svg import to_svg
from layout.picture.beside import SCALES, camera_text, figures_of, page_of, stick
from layout.picture.measured import Held, held_against, measure
from layout.picture.places import READ, measures_of
from layout.words.faults import BadInput
from tests.layout.picture.pictures import WHO, Picture, places, positions_of

AIM = measures_of(places(l_thigh=-30.0), WHO)


def page(shot: Picture, notes: Any = (), support: Any = "r") -> tuple[Page, tuple[Held, ...]]:
    m = measure(shot.frame(), WHO)
    held = held_against(AIM, m)
    return page_of(positions_of(l_thigh=-30.0), support, m, held, "Imka: a drill", notes), held


def lines(made: Page, name: str) -> list[Line]:
    return [i for i in made.ink if isinstance(i, Line) and i.name == name]


def level_lines(made: Page) -> list[float]:
    """Lengths of the dimension lines of the figures [mm]."""
    out = []
    for i in made.ink:
        if isinstance(i, Line) and i.stroke == "measure" and len(i.points) == 2 and not i.closed:
            (a, y), (b, z) = i.points
            if y == z and y < 150.0 and i.width > 0.45 and b - a > 5.0:
                out.append(b - a)
    return out


@pytest.mark.parametrize("runs", ["right", "left"])
def test_both_gaps_are_drawn_to_the_printed_scale(runs: str) -> None:
    made, held = page(Picture(runs=runs))
    gap = held[0]
    assert gap.measure.name == "knee_gap"
    one, two = level_lines(made)[:2]
    assert one == pytest.approx(1000.0 * gap.target / made.scale, abs=1e-6)
    assert two == pytest.approx(1000.0 * gap.measured / made.scale, abs=1e-6)
    (bar,) = lines(made, "bar")
    assert bar.points[1][0] - bar.points[0][0] == pytest.approx(500.0 / made.scale)
    said = [i.text for i in made.ink if isinstance(i, Text)]
    assert f"1:{made.scale}" in said
    assert figures_of(gap)[0] in said
    assert figures_of(gap)[1] in said


def test_figures_stand_on_one_ground() -> None:
    made, _ = page(Picture())
    (target,), (measured,) = lines(made, "ground-target"), lines(made, "ground-measured")
    assert target.points[0][1] == measured.points[0][1]
    assert target.points[1][0] < measured.points[0][0]


@pytest.mark.parametrize("shot", [Picture(), Picture(runs="left", words=("far", "near"), tilt=0.1)])
@pytest.mark.parametrize("many", [0, 6])
def test_everything_is_on_the_page(shot: Picture, many: int) -> None:
    notes = [("A warning that is long enough to fill more than one line of its column. " * 2, True)]
    made, held = page(shot, notes * many)
    assert made.scale in SCALES
    for item in made.ink:
        for x, y in item.points if isinstance(item, Line) else (item.at,):
            assert MARGIN - 1e-6 <= x <= made.width - MARGIN + 1e-6
            assert MARGIN - 1e-6 <= y <= made.height - MARGIN + 3.0
    said = [i.text for i in made.ink if isinstance(i, Text)]
    assert all(h.measure.label in said for h in held)
    verdicts = [t for t in said if t.endswith((" beyond margin", "within margin", "beyond margin"))]
    assert verdicts == ["beyond margin" if h.clear else "within margin" for h in held]


def test_near_limbs_are_the_same_on_both() -> None:
    """The leg towards the camera is drawn last, so over the other, in either figure."""
    m = measure(Picture(words=("far", "near")).frame(), WHO)
    assert m.near == "free"
    drawn = [s for s in stick(m.places, m.near) if getattr(s, "role", "") == "paper"]
    ends = [p for s in drawn for p in s.points]  # type: ignore[union-attr]
    assert m.places["support ankle"] in ends
    assert m.places["free ankle"] not in ends


@pytest.mark.parametrize(("words", "near"), [(("near", "far"), "r"), (("far", "near"), "l")])
def test_the_target_turns_the_same_side_to_the_viewer(words: tuple[str, str], near: Any) -> None:
    made, _ = page(Picture(words=words))
    drawn = [i for i in made.ink if isinstance(i, Line)]
    # After the plumb line, which carries the name, and the tick at the toe come sixteen outlines.
    first = next(n for n, i in enumerate(drawn) if i.name == "figure-target")
    hip, base = drawn[first].points[0]
    target = positions_of(l_thigh=-30.0) - np.array([3.0, 0.0])
    for line, shape in zip(
        drawn[first + 2 : first + 18], figure.athlete(target, near), strict=True
    ):
        assert isinstance(shape, Area)
        wanted = np.array(shape.points) * np.array([1.0, -1.0]) * 1000.0 / made.scale
        assert np.array(line.points) == pytest.approx(wanted + np.array([hip, base]), abs=1e-6)
        assert line.fill == shape.role


def test_a_figure_turned_round_is_said() -> None:
    for runs in ("right", "left"):
        made, _ = page(Picture(runs=runs))
        said = " ".join(i.text for i in made.ink if isinstance(i, Text))
        assert ("shown mirrored, running right" in said) == (runs == "left")


def test_gap_figures_can_be_read_over_anything() -> None:
    made, held = page(Picture())
    wanted = figures_of(held[0])[:2]
    haloed = [i.text for i in made.ink if isinstance(i, Text) and i.halo]
    assert haloed == list(wanted)


def test_missing_points_are_not_drawn() -> None:
    parts = ("hip", "support knee", "free knee")
    shot = Picture(parts=parts, words=("support", "free"), extra=("runs;;;right",))
    made, held = page(shot)
    assert len(held) == 5
    assert len(stick(measure(shot.frame(), WHO).places, "support")) == 3 + 3
    assert any("the leg that is down" in i.text for i in made.ink if isinstance(i, Text))


def test_svg_and_png() -> None:
    made, _ = page(Picture())
    svg = to_svg(made, theme("print-grey"))
    colours = set(re.findall(r"#([0-9a-f]{6}|[0-9a-f]{3})\b", svg))
    assert colours
    assert all(
        len({c[i : i + len(c) // 3] for i in range(0, len(c), len(c) // 3)}) == 1 for c in colours
    )
    assert "knee gap" in svg
    assert page_file(made, "png").startswith(b"\x89PNG")


def test_a_figure_too_large_is_refused() -> None:
    shot = Picture()
    m = measure(shot.frame(), WHO)
    far = replace(m, places={**m.places, "head": (0.0, 60.0)})
    with pytest.raises(BadInput, match="do not fit the page; are points clicked amiss"):
        page_of(positions_of(), "r", far, held_against(AIM, m), "t", ())


def test_a_tall_athlete_fits() -> None:
    tall = body(2.30, 90.0)
    positions = positions_of(tall)
    m = measure(Picture().frame(), WHO)
    made = page_of(positions, "r", m, held_against(AIM, m), "t", [("note", False)])
    top = min(y for i in made.ink if isinstance(i, Line) for _, y in i.points)
    assert top >= MARGIN


def test_figures_in_words() -> None:
    gap = Held(READ[0], 0.40, 0.346, -0.054, 0.0341, True)
    assert figures_of(gap) == (
        "40.0 cm",
        "34.6 cm ± 3.4",
        "-5.4 cm",
        "beyond margin",
    )
    assert READ[0].margin_text(0.0002) == "0.02"
    assert READ[3].margin_text(np.radians(0.3)) == "0.3"
    assert READ[3].margin_text(np.radians(4.2)) == "4"
    m = measure(Picture(tilt=0.03).frame(), WHO)
    assert camera_text(m).startswith("310 pixels to the metre ± ")
    assert "camera tilted 1.7°, taken out" in camera_text(m)
    assert "camera level" in camera_text(measure(Picture().frame(), WHO))
