"""The teaching poster: its scale measured, its figures those of the motions, its claims no larger."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from animate.body.body import body
from animate.body.figure import JOINTS
from animate.body.swing_table import lever_curves
from animate.film.scene import check
from animate.film.themes import theme
from animate.motion.chain import Settings
from layout.commands.demo_ import COMPARED, VENUE, plans
from layout.commands.handout_poster import TITLE, asked, lead_of
from layout.moving import worth_told
from layout.moving.clip import step_contact
from layout.moving.poses import GROUND
from layout.moving.solved import motion_of
from layout.moving.ways import LEVER
from layout.moving.worth_told import headline
from layout.page.files import page_file
from layout.page.letters import Fonts, fonts_of
from layout.page.page import Page, Text, extent
from layout.page.pdf import to_pdf
from layout.page.svg import to_svg
from layout.page.widths import text_width
from layout.rules.cautions import in_short
from layout.rules.standing import Standing
from layout.sheet.poster import (
    LEAST,
    PAPERS,
    SCALES,
    WIDTH,
    poster,
    poster_clip,
    scale_from,
    sizes_of,
)
from layout.sheet.poster_pairs import COMPUTED, OPEN, PRACTICE, WORTH, Pair, Way, pairs_of, passing
from layout.words.faults import BadInput
from tests.layout.desk.test_desk_worth import made_curve
from tests.paper import bare, box, collisions, has_span, pdf_paths, reader, svg_paths
from tests.strategies import plan

ATHLETE, DRILL = COMPARED.split("-", 1)


@lru_cache(maxsize=1)
def ways() -> tuple[tuple[Way, Way], ...]:
    """The demo poster's; they are shipped solved."""
    made = [plan(ATHLETE, DRILL, VENUE, arc=arc) for arc in (None, "low", "high")]
    return tuple(
        (Way(a[0], a[1], motion_of(*a[1:]), a[2]), Way(b[0], b[1], motion_of(*b[1:]), b[2]))
        for a, b in asked(made[0], made[1], made[2])
    )


@lru_cache(maxsize=1)
def pairs() -> tuple[Pair, ...]:
    return pairs_of(*ways())


@lru_cache(maxsize=8)
def page(paper: str = "A3", scale: int | None = None) -> Page:
    return poster(pairs(), TITLE, lead_of(ways()[0][0].plan), paper, scale)


@lru_cache(maxsize=8)
def fonts(paper: str) -> Fonts:
    return fonts_of([page(paper)])


def number(text: str) -> float:
    return float(text.split()[0])


# --- what it says ---------------------------------------------------------------------------------


def test_values_are_those_of_the_motions_and_differences_add_up() -> None:
    knees, lever, hops = pairs()
    for shown, (way, wanted) in zip(
        knees.sides, zip(ways()[0], (0.10, 0.45), strict=True), strict=True
    ):
        gap = step_contact(way.motion).reading.values["knee_gap"]
        assert number(shown.value) == round(100 * gap)
        assert gap == pytest.approx(wanted, abs=0.012)
    who = body(ways()[0][0].plan.who.stature, ways()[0][0].plan.who.mass, "female")
    times = lever_curves(who, np.array(LEVER))["time"]
    assert [number(s.value) for s in lever.sides] == [round(float(t), 2) for t in times]
    assert times[0] > times[1]
    for shown, way in zip(hops.sides, ways()[2], strict=True):
        assert number(shown.value) == round(way.plan.flights[1].length, 2)
        assert f"{way.plan.flights[0].length:.2f} m" in hops.computed
        assert f"{shown.pose.top:.2f}" not in shown.what
    for pair, scale in ((knees, 1.0), (lever, 1.0), (hops, 100.0)):
        one, two = (number(s.value) for s in pair.sides)
        assert number(pair.difference) == pytest.approx(scale * abs(one - two))


def test_body_centre_is_as_high_as_planned() -> None:
    for shown, way in zip(pairs()[2].sides, ways()[2], strict=True):
        (said,) = re.findall(r"(\d\.\d\d) m up", " ".join(shown.what))
        assert float(said) == pytest.approx(way.plan.flights[0].apex_z, abs=0.016)


def test_the_knees_pass_when_positions_say_so() -> None:
    for one in ways()[0]:
        step = step_contact(one.motion)
        passed = passing(one.motion, step)
        assert passed is not None
        at = one.motion.frames(np.array([step.touchdown + passed])).positions[0]
        knees = [at[JOINTS.index(f"{s}_knee"), 0] for s in (step.free, step.support)]
        assert knees[0] == pytest.approx(knees[1], abs=0.02)
        assert f"{passed:.2f} s" in pairs()[0].computed


def test_what_is_set_equal_is_said_and_is_equal() -> None:
    one, two = ways()[0]
    assert one.plan == two.plan
    assert f"The step is set to {one.plan.flights[1].length:.2f} m in both" in pairs()[0].computed
    assert "does not show which jumps farther" in pairs()[0].computed
    low, high = ways()[2]
    assert low.plan.approach == high.plan.approach


def test_what_it_is_worth_is_told_where_it_is_known(monkeypatch: pytest.MonkeyPatch) -> None:
    first = [p.practice.partition(f"{WORTH} ")[2] for p in pairs()]
    assert first == ["can't be told.", "not worked out yet.", "not worked out yet."]
    monkeypatch.setattr(worth_told, "kept_curve", lambda *_: made_curve())
    knees, lever, hops = pairs_of(*ways())
    assert knees.worth == ""
    for known in (lever, hops):
        assert known.worth.startswith(headline(made_curve()))
        assert "not a measurement" in known.worth
        assert WORTH not in known.practice
    told = poster((knees, lever, hops), TITLE, lead_of(ways()[0][0].plan))
    said = bare(" ".join(i.text for i in told.ink if isinstance(i, Text)))
    assert said.count(bare(headline(made_curve()))) == 2


def test_heights_of_plan_and_motion_are_told_apart() -> None:
    tops = [way.plan.flights[0].apex_z for way in ways()[2]]
    assert f", by the plan {tops[0]:.2f} m and {tops[1]:.2f} m up; " in pairs()[2].computed


def test_no_practice_without_saying_that_it_has_no_source() -> None:
    said = bare(" ".join(i.text for i in page().ink if isinstance(i, Text)))
    assert said.count(bare(PRACTICE)) == 2
    assert said.count(bare(OPEN)) == 1
    assert said.count(bare(COMPUTED)) == 3
    assert bare("not measured on people") in said


def test_a_poster_says_what_to_mind() -> None:
    age = ways()[0][0].plan.who.age
    said = bare(" ".join(i.text for i in page().ink if isinstance(i, Text)))
    assert bare(in_short(Standing(age, "beginner", 0.0))) in said
    scene = poster_clip(pairs(), TITLE, lead_of(ways()[0][0].plan), fps=5.0)
    for frame in range(len(scene.durations)):
        assert bare(in_short(Standing(age, "beginner", 0.0))) in bare(
            " ".join(c.text for c in scene.captions_of(frame))
        )


def test_a_drill_without_a_hop_before_the_step_is_refused() -> None:
    bounds = next(p for stem, p, *_ in plans() if stem == "odalys-alternate-bounds")
    way = Way("a", bounds, motion_of(bounds), Settings())
    with pytest.raises(BadInput, match="one with a hop and then a step needed"):
        pairs_of((way, way), (way, way), (way, way))


# --- how it is drawn ------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", ["pdf", "svg"])
def test_the_scale_is_exact(paper: str, kind: str) -> None:
    """Ground lines, knee gaps and the body's centre, measured on the paper."""
    made = page(paper)
    if kind == "pdf":
        leaf = reader(to_pdf([made])).pages[0]
        paths = pdf_paths(leaf)
        assert float(leaf.mediabox.width) == pytest.approx(made.width * 72 / 25.4, abs=0.01)
    else:
        paths = svg_paths(to_svg(made))
    mm = 1000.0 / made.scale
    for pair in pairs():
        for shown in pair.sides:
            reach = (
                shown.pose.right - shown.pose.left + (2 if pair is not pairs()[2] else 1) * GROUND
            )
            assert has_span(paths, mm * reach, 0.05)
    for way in ways()[0]:
        gap = step_contact(way.motion).reading.values["knee_gap"]
        assert has_span(paths, mm * gap, 0.05)
    upright = [
        abs(p[1][1] - p[0][1]) for p in paths if len(p) == 2 and abs(p[0][0] - p[1][0]) < 0.01
    ]
    for shown in pairs()[2].sides:
        (said,) = re.findall(r"(\d\.\d\d) m up", " ".join(shown.what))
        # Half of the centimetre that is said, and a hundredth of a millimetre at each end in the SVG.
        near = mm * 0.005 + 0.02
        assert any(length == pytest.approx(mm * float(said), abs=near) for length in upright)
    bars = [
        max(x for x, _ in p) - min(x for x, _ in p)
        for p in paths
        if len(p) == 4 and abs(max(y for _, y in p) - min(y for _, y in p) - 0.6 * sizes_of(
            made.width).small) < 0.01
    ]  # fmt: skip
    assert sum(bars) == pytest.approx(mm, abs=0.1)
    assert any(f"1:{made.scale} when printed at 100 %" in t.text for t in texts(made))


def texts(made: Page) -> list[Text]:
    return [i for i in made.ink if isinstance(i, Text)]


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_overlaps_or_leaves_the_paper(paper: str) -> None:
    made = page(paper)
    assert collisions(made) == []
    left, top, right, low = extent(made.ink)
    assert min(left, top) >= 9.8
    assert right <= made.width - 9.8
    assert low <= made.height - 9.8
    # No letter on a figure: bodies are the long closed outlines.
    bodies = [i.points for i in made.ink if not isinstance(i, Text) and len(i.points) > 8]
    assert len(bodies) > 60
    for points in bodies:
        xs, ys = zip(*points, strict=True)
        for text in texts(made):
            a, b, c, d = box(text)
            apart = max(xs) < a or min(xs) > c or max(ys) < b or min(ys) > d
            assert apart, text.text


@pytest.mark.parametrize("paper", PAPERS)
def test_letters_are_as_large_as_said(paper: str) -> None:
    made = page(paper)
    size = sizes_of(made.width)
    assert min(t.size for t in texts(made)) >= LEAST
    large = [t for t in texts(made) if t.size == size.value]
    assert [t.text for t in large] == [s.value for p in pairs() for s in p.sides]
    assert size.value > 11.0


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("look", ["light", "print-grey"])
def test_text_can_be_read_out_of_the_pdf(paper: str, look: str) -> None:
    (leaf,) = reader(to_pdf([page(paper)], theme(look))).pages
    said = bare(leaf.extract_text())
    for pair in pairs():
        for text in (pair.moment, pair.difference, pair.computed, pair.practice):
            assert bare(text) in said
        for shown in pair.sides:
            assert bare(shown.name) in said
            assert bare(shown.value) in said


def test_svg_is_sound_and_png_is_made() -> None:
    root = ET.fromstring(to_svg(page("A4"), None, fonts("A4")))
    assert root.get("width") == "210mm"
    assert page_file(page("A4"), "png", theme("print-grey"), dots=40.0).startswith(b"\x89PNG")


@pytest.mark.parametrize("scale", [s for s in SCALES if s >= 40])
def test_a_wanted_scale_is_kept(scale: int) -> None:
    assert page("A4", scale).scale == scale


def test_what_does_not_fit_is_refused_with_what_would() -> None:
    with pytest.raises(BadInput, match="would fit: 1:40 on this paper"):
        page("A4", 10)
    with pytest.raises(BadInput, match="must be one of A3, A4"):
        page("Letter")
    with pytest.raises(BadInput, match="for a poster must be one of 1:10"):
        scale_from("1:77")
    assert scale_from("1:20") == 20
    assert scale_from(None) is None


@pytest.mark.parametrize(
    "name",
    ["Łucja O'Brien-Ðặng <script>alert(1)</script> & Co", "W" * 80, "Anna " * 16, "\u540d\u524d"],
)
def test_names_are_whole_and_safe(name: str) -> None:
    base = ways()[0][0].plan
    lead = lead_of(replace(base, who=replace(base.who, name=name)))
    made = poster(pairs(), TITLE, lead, "A4")
    assert collisions(made) == []
    assert bare(name) in bare("".join(t.text for t in texts(made)))
    assert "<script" not in to_svg(made)


# --- in motion ------------------------------------------------------------------------------------


def test_the_clip_shows_each_pair_held_at_its_instant() -> None:
    lead = lead_of(ways()[0][0].plan)
    scene = poster_clip(pairs(), TITLE, lead, fps=10.0)
    check(scene)
    held = [i for i, d in enumerate(scene.durations) if d == 3.0]
    assert len(held) == 3
    assert scene.poster == held[0]
    for frame, pair in zip(held, pairs(), strict=True):
        said = bare(" ".join(c.text for c in scene.captions_of(frame)))
        for text in (pair.computed, pair.practice, *(s.value for s in pair.sides), lead):
            assert bare(text) in said
        assert "held" in said
    for panel in scene.panels:
        assert len(panel.moving) == len(scene.durations)
        assert panel.moving[held[0]] != panel.moving[held[1]]
        assert panel.moving[0] != panel.moving[5]
    # Both panels and all pairs are of one scale.
    assert len({c.scale for p in scene.panels for c in p.cameras}) == 1


@pytest.mark.parametrize("name", ["Imka", "W" * 80, "Anna " * 16])
def test_captions_of_the_clip_stay_in_the_picture_and_apart(name: str) -> None:
    scene = poster_clip(pairs(), TITLE, f"{name}: {lead_of(ways()[0][0].plan)}", fps=5.0)
    check(scene)
    for frame in range(len(scene.durations)):
        boxes = []
        for c in scene.captions_of(frame):
            wide = text_width(c.text, c.size, c.bold)
            left = c.at[0] - {"left": 0.0, "middle": wide / 2, "right": wide}[c.align]
            boxes.append((left, c.at[1] - 0.73 * c.size, left + wide, c.at[1] + 0.21 * c.size))
            assert left >= 0
            assert left + wide <= WIDTH
            assert c.at[1] + 0.21 * c.size <= scene.size[1]
        for i, a in enumerate(boxes):
            for b in boxes[:i]:
                assert a[2] < b[0] or b[2] < a[0] or a[3] < b[1] + 0.1 or b[3] < a[1] + 0.1


def test_both_ways_of_the_lever_are_drawn_with_their_knee() -> None:
    for way, bend in zip(ways()[1], LEVER, strict=True):
        angle = step_contact(way.motion).reading.values["free_knee_touchdown"]
        assert math.pi - angle == pytest.approx(bend, abs=0.03)
