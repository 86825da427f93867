"""The target at an instant, over the picture and beside it; two pictures at one scale."""

from __future__ import annotations

import numpy as np
import pytest

from animate.body.pose import JOINTS
from layout.book.pictures import INSTANTS
from layout.moving.clip import step_contact
from layout.page.page import Line, Page, Text, extent
from layout.picture.camera import Reader
from layout.picture.measured import held_against, measure
from layout.picture.overlaid import Onto, target_on
from layout.picture.pair import SCALES, WIDE, apart, of_measured, of_target, pair_page
from layout.picture.places import READ
from layout.picture.points import points_from, written
from layout.picture.target import target_of
from layout.words.faults import BadInput
from tests.layout.picture.pictures import WHO, Picture
from tests.layout.picture.shots import Camera, picture_of, solved

MOTIONS = {f"{p.who.name} {p.drill}": m for p, m in solved()}
FULL = MOTIONS["Tevin full-triple-jump"]


def test_the_step_is_the_one_that_is_told_of() -> None:
    for motion in MOTIONS.values():
        step, target = step_contact(motion), target_of(motion)
        assert target.support == step.support
        found = step.reading.values
        for name in (
            "knee_gap",
            "free_knee_touchdown",
            "free_thigh_touchdown",
            "trunk_lean_touchdown",
        ):
            assert float(target.measures[name]) == pytest.approx(found[name], abs=0.004)


def test_every_instant_has_the_foot_on_the_ground_at_its_own_time() -> None:
    at = {i: target_of(FULL, i) for i in INSTANTS}
    places = [float(t.positions[JOINTS.index("hip"), 0]) for t in at.values()]
    assert places == sorted(places)
    for target in at.values():
        foot = [JOINTS.index(f"{target.support}_{p}") for p in ("toe", "heel")]
        assert abs(min(target.positions[foot, 1])) < 0.03
    assert [at[f"{m} touchdown"].support for m in ("hop", "step")] == [
        at["hop touchdown"].support
    ] * 2
    assert at["jump touchdown"].support != at["hop touchdown"].support


def test_a_drill_without_that_contact_is_refused() -> None:
    with pytest.raises(BadInput, match="no contact on one foot into a jump"):
        target_of(MOTIONS["Runa hop-step-sand"], "jump touchdown")


@pytest.mark.parametrize("runs", ["right", "left"])
def test_the_target_lies_over_the_picture_it_was_taken_from(runs: str) -> None:
    """A picture of the target itself: every outline of the target falls on the figure in the picture."""
    camera = Camera(runs=runs, tilt=0.06)
    shot = picture_of(FULL, camera)
    near = {"right": "r", "left": "l"}[runs]
    rows = [f"{n},{x},{y}," if "mark" not in n else f"mark,{x},{y},{n.split()[1]}"
            for n, (x, y) in shot.pixels.items()]  # fmt: skip
    frame = points_from("\n".join(["point,x,y,value", *rows])).frames[0]
    who = FULL.body
    m = measure(frame, who)
    assert m.runs == runs
    lines = target_on(frame, who, m, shot.target.positions, shot.target.support)
    assert len(lines) == 16
    at = shot.target.positions - np.array([shot.target.positions[JOINTS.index("hip"), 0], 0.0])
    for joint, name in ((f"{near}_knee", "near knee"), ("hip", "hip"), ("vertex", "head")):
        place = Onto(frame, who).pixels(at[JOINTS.index(joint)])
        assert np.hypot(*(place - shot.pixels[name])) < 1.5
    # And the clicked points themselves go back to where they were clicked.
    reader = Reader(frame, who)
    back = Onto(frame, who)
    for name, place in reader.at(reader.camera.nominal).items():
        word, _, part = name.partition(" ")
        side = {v: k for k, v in reader.role.items() if k in ("near", "far")}.get(word, "")
        key = f"{side} {part}" if part else name
        assert np.hypot(*(back.pixels(place) - shot.pixels[key])) < 1e-6


def inside(page: Page) -> bool:
    left, top, right, low = extent(page.ink)
    return (
        left >= -0.01 and top >= -0.01 and right <= page.width + 0.01 and low <= page.height + 0.3
    )


def gap_lines(page: Page) -> list[float]:
    """Lengths of both knee gaps [mm]."""
    level = [i for i in page.ink if isinstance(i, Line) and i.stroke == "measure"
             and len(i.points) == 2 and i.points[0][1] == i.points[1][1]]  # fmt: skip
    return sorted(abs(i.points[1][0] - i.points[0][0]) for i in level)[-2:]


def test_both_figures_are_drawn_to_one_scale_and_nothing_is_cut() -> None:
    m = measure(Picture().frame(), WHO)
    gap = {v.measure.name: v for v in m.values}["knee_gap"]
    target = target_of(FULL)
    held = held_against(target.measures, m)[0]
    page = pair_page(of_target(target, m, "40.6 cm"), of_measured("Measured", m, "39.4 cm ± 3.4"))
    assert page.width == WIDE
    assert page.scale in SCALES
    assert inside(page)
    assert gap_lines(page) == pytest.approx(
        sorted(1000.0 * v / page.scale for v in (held.target, gap.value)), abs=1e-6
    )
    (bar,) = (i for i in page.ink if isinstance(i, Line) and i.name == "bar")
    assert bar.points[1][0] - bar.points[0][0] == pytest.approx(500.0 / page.scale)
    said = {i.text for i in page.ink if isinstance(i, Text)}
    assert {"Target", "Measured", "40.6 cm", "39.4 cm ± 3.4", "50 cm"} <= said


def test_two_pictures_differ_only_beyond_both_margins() -> None:
    one = {"knee_gap": (0.40, 0.03), "trunk_lean_touchdown": (0.0, 0.05), "toe_ahead": (0.5, 0.03)}
    two = {"knee_gap": (0.36, 0.04), "trunk_lean_touchdown": (0.08, 0.05)}
    gap, trunk = apart(READ, one, two)
    assert (gap.difference, gap.margin, gap.clear) == (
        pytest.approx(-0.04),
        pytest.approx(0.05),
        False,
    )
    assert (trunk.difference, trunk.clear) == (pytest.approx(0.08), True)
    assert trunk.margin == pytest.approx(0.05 * np.sqrt(2.0))


@pytest.mark.parametrize("shot", [
    Picture(), Picture(runs="left", tilt=0.1, uprights=(0.6,)), Picture(lengths=(1.0,), marks=()),
    Picture(words=("support", "free"), extra=("click;;;3", "camera;;;10", "nearer;;;-0.5", "runs;;;right")),
])  # fmt: skip
def test_points_written_down_measure_the_same(shot: Picture) -> None:
    frame = shot.frame()
    again = points_from(written(frame)).frames[0]
    one, two = measure(frame, WHO), measure(again, WHO)
    for a, b in zip(one.values, two.values, strict=True):
        assert (b.value, b.margin) == pytest.approx((a.value, a.margin), abs=1e-6)
    assert (two.runs, two.side, two.near) == (one.runs, one.side, one.near)
    assert written(again) == written(frame)
