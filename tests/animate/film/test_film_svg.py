"""The animated SVG, parsed and sampled by its own rules at many instants."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.shapes import Area, Label, Shape, Stroke
from animate.film.film import save
from animate.film.scene import Camera, Caption, Panel, Scene, check, starts
from animate.film.svg import svg
from animate.film.svg_motion import short
from tests.animate.film.film_scenes import SVG, Seen, beside, calmed, sample, scene, styled

SCENES = {
    "fixed": lambda: scene("fixed"),
    "follow": lambda: scene("follow", theme="print-grey"),
    "both": lambda: scene("both"),
    "beside": beside,
}


@pytest.fixture(params=list(SCENES), scope="module")
def made(request: pytest.FixtureRequest) -> Scene:
    return SCENES[request.param]()


@pytest.fixture(scope="module")
def markup(made: Scene) -> str:
    return svg(made)


def wanted(whole: Scene, frame: int) -> tuple[list[np.ndarray], Counter[str]]:
    """Outlines [px] in order, and the texts, that a frame is to show."""
    outlines: list[np.ndarray] = []
    texts: Counter[str] = Counter(c.text for c in whole.still_captions)
    texts.update(c.text for c in whole.captions_of(frame))
    for panel in whole.panels:
        camera = panel.camera(frame)
        left, top, _, high = panel.box
        shapes: tuple[Shape, ...] = (*panel.still, *(panel.moving[frame] if panel.moving else ()))
        for shape in shapes:
            if isinstance(shape, Label):
                texts[shape.text] += 1
            else:
                points = np.array(shape.points)
                x = left + (points[:, 0] - camera.left) * camera.scale
                y = top + high - (points[:, 1] - camera.bottom) * camera.scale
                outlines.append(np.column_stack([x, y]))
    return outlines, texts


def compare(seen: list[Seen], whole: Scene, frame: int) -> None:
    outlines, texts = wanted(whole, frame)
    assert Counter(s.text for s in seen if s.text) == texts
    shown = [np.array(s.points) for s in seen if not s.text]
    frames = [i for i, p in enumerate(whole.panels) if p.framed]
    # Besides the outlines there are the paper and the frames of panels.
    assert len(shown) == len(outlines) + 1 + len(frames)
    left = [s for s in shown if len(s) != 4 or not np.isclose(s[:, 0] % 0.5, 0).all()]
    for outline in outlines:
        match = [s for s in left if s.shape == outline.shape and np.abs(s - outline).max() < 0.45]
        if not match:  # a plain box, which the filter above may have put aside
            match = [
                s for s in shown if s.shape == outline.shape and np.abs(s - outline).max() < 0.45
            ]
        assert match, f"frame {frame}: an outline of {len(outline)} points is not shown"


@pytest.mark.parametrize("share", [0.0, 0.02, 0.31, 0.5, 0.77, 0.9, 0.9999, 1.3, 7.6])
def test_at_every_instant_the_right_frame_is_shown(made: Scene, markup: str, share: float) -> None:
    at = starts(made.durations, 0.001)
    t = share * at[-1] / 1000
    frame = max(i for i, start in enumerate(at[:-1]) if start <= (t * 1000) % at[-1] + 1e-6)
    compare(sample(markup, t), made, frame)


def test_every_frame_is_shown_in_its_middle(made: Scene, markup: str) -> None:
    at = starts(made.durations, 0.001)
    for frame, (start, end) in enumerate(pairwise(at)):
        compare(sample(markup, (start + end) / 2000), made, frame)


def test_outlines_stay_in_the_order_of_the_shapes(made: Scene, markup: str) -> None:
    """Near limbs over far limbs, in the middle of every frame."""
    far, near = styled(made, "far", "near"), styled(made, "near", "paper")
    at = starts(made.durations, 0.001)
    for start, end in pairwise(at):
        styles = [s.style for s in sample(markup, (start + end) / 2000)]
        limbs = [s for s in styles if s in (far, near)]
        half = len(limbs) // (len(made.panels) * 2)
        assert half >= 6
        assert limbs == ([far] * half + [near] * half) * len(made.panels)


def test_a_viewer_that_cannot_move_shows_the_poster(made: Scene, markup: str) -> None:
    still = re.sub(r"<animate(Transform)? [^>]*/>", "", markup)
    compare(sample(still, 0.0), made, made.poster)


@pytest.mark.parametrize("share", [0.0, 0.4, 3.3])
def test_a_viewer_that_asks_for_less_motion_rests_on_the_poster(
    made: Scene, markup: str, share: float
) -> None:
    compare(sample(calmed(markup), share * sum(made.durations)), made, made.poster)


def test_one_pass_ends_on_the_last_frame() -> None:
    whole = replace(scene("fixed"), loop=False)
    text = svg(whole)
    assert "indefinite" not in text
    last = len(whole.durations) - 1
    for later in (0.001, 1.0, 1000.0):
        compare(sample(text, sum(whole.durations) + later), whole, last)


def test_it_needs_nothing_from_outside(markup: str) -> None:
    root = ET.fromstring(markup)
    assert root.tag == SVG + "svg"
    assert not re.search(r"href=.(?!#)|url\((?!#)|@import|<script|<foreignObject", markup)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(set(ids)) == len(ids)
    assert set(re.findall(r"url\(#([^)]+)\)", markup)) <= set(ids)


def test_the_outline_of_a_limb_is_stored_once(made: Scene, markup: str) -> None:
    limbs = [styled(made, *roles) for roles in (("near", "paper"), ("far", "near"))]
    root = ET.fromstring(markup)
    for parent in list(root.iter()):
        for rests in parent.findall(f"{SVG}g[@class='clip-rests']"):
            parent.remove(rests)
    found = 0
    for element in root.iter(SVG + "path"):
        if f"{element.get('fill')} {element.get('stroke')}" in limbs:
            assert "d" not in [child.get("attributeName") for child in element]
            found += 1
    assert found == 12 * len(made.panels)


NASTY = ["<script>alert(1)</script>", '"><b>', "a & b", "]]>", "&lt;", "é ø – × °", "it's <i>"]


@pytest.mark.parametrize("name", NASTY)
def test_names_with_markup_are_only_text(name: str, tmp_path: Path) -> None:
    panel = Panel((0, 0, 64, 48), (Camera(0, 0, 20),), (Label((1, 1), name),))
    whole = Scene(
        (64, 48),
        (0.1, 0.1),
        (panel,),
        (Caption((1, 9), name),),
        ((Caption((2, 20), name),), (Caption((2, 20), name + "!"),)),
        title=name,
    )
    save(whole, tmp_path / "a.svg")
    root = ET.parse(tmp_path / "a.svg").getroot()
    assert {e.tag for e in root.iter()} <= {
        SVG + t for t in ("svg", "title", "style", "path", "clipPath", "g", "text", "animate")
    }
    assert root.findtext(SVG + "title") == name
    said = ["".join(e.itertext()) for e in root.iter(SVG + "text")]
    # The last is for viewers that ask for less motion.
    assert sorted(said) == sorted([name, name, name, name + "!", name])


def test_frames_with_nothing_in_common_are_still_right() -> None:
    """Shapes that change their number, their form and their order."""
    a = Area(((0, 0), (1, 0), (1, 1)), "near")
    b = Area(((0, 0), (2, 0), (2, 2), (0, 1)), "far")
    c = Stroke(((0, 0), (1, 2)), "measure", 0.02)
    bent = Area(((0, 0), (1, 0), (2, 1.5)), "near")
    for frames in (
        ((a, b), (b, a), (c,)),
        ((a,), (bent,), (a, b)),
        ((), (a,), ()),
        ((c, a), (c,), (c, bent)),
    ):
        panel = Panel((0, 0, 64, 48), (Camera(0, 0, 20),), (), frames)
        whole = Scene((64, 48), (0.1, 0.3, 0.2), (panel,))
        check(whole)
        for frame, t in enumerate((0.05, 0.25, 0.5)):
            outlines, _ = wanted(whole, frame)
            shown = [np.array(s.points) for s in sample(svg(whole), t)][1:]
            assert len(shown) == len(outlines)
            for one, other in zip(shown, outlines, strict=True):  # in this order
                assert np.abs(one - other).max() < 0.2


@given(st.floats(-1e4, 1e4), st.integers(0, 4))
def test_short_numbers_say_the_same(value: float, digits: int) -> None:
    assert float(short(value, digits)) == pytest.approx(value, abs=0.5000001 * 10**-digits)
    assert len(short(value, digits)) <= len(f"{value:.{digits}f}")


def test_the_file_holds_the_text(made: Scene, markup: str, tmp_path: Path) -> None:
    save(made, tmp_path / "a.svg")
    assert (tmp_path / "a.svg").read_text(encoding="utf-8") == markup
