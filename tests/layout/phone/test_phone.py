"""The phone page as text: whole, safe, alone, light; its frames are the motion's."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from animate.body.figure import athlete
from animate.body.shapes import Role, place_of
from animate.film.themes import hexed, theme
from layout.cli import main
from layout.moving.clip import step_contact
from layout.moving.poses import key_poses, told_in
from layout.page.page import SCALES, Text, extent
from layout.phone.clip import RATE, phone_clip
from layout.phone.drawing import DARK, NARROW, SHARED, fitted, stretches
from layout.plan.drill import catalogue
from layout.plan.tape import tape_card
from layout.rules.cautions import YOUTH_IN_SHORT, in_short
from layout.sheet.texts import ADVICE, Words
from layout.words.faults import printable
from tests.layout.phone.phone_pages import NAMES, Made, demo, made, read, said
from tests.paper import contrast
from tests.strategies import CLUB, pit_or_track, plan

MOST = 400_000
"""What a page with a clip may weigh [bytes]."""


def lacking(page: Made) -> list[str]:
    """What the page ought to say and does not, word for word."""
    reading = dict(step_contact(page.motion).reading.shown()) if page.motion else None
    words = Words(page.plan, page.card, reading)
    told = [words.name, words.title, words.job, *words.facts, *words.warnings, words.zero]
    told += [part for row in (*words.tape, *words.numbers) for part in row]
    told += [*words.points, *words.load, *words.cautions, words.sure, ADVICE]
    told += [part.strip() for fault in words.faults for part in fault.split("->")]
    told += [cell for row in words.lengths for cell in row]
    if page.motion:
        poses = told_in(key_poses(page.plan, page.motion), page.card.system)
        told += [p.label for p in poses] + [f"{a} {b}" for p in poses for a, b in p.measures]
    found = said(page.html)
    return [t for t in told if " ".join(printable(t).split()) not in found]


@pytest.mark.parametrize("number", range(len(demo())))
def test_demo_pages_are_whole_alone_and_light(number: int) -> None:
    planned, card, _ = demo()[number]
    page = made(planned.who.name.lower(), planned.drill)
    assert lacking(page) == []
    if card.system == "ft":
        assert re.findall(r"[^ ]+\s(?:cm|m|m/s)\b", said(page.html)) == []
    assert len(page.html.encode()) < MOST
    assert card.zero_text in said(page.html)
    check_alone(page.html)


def test_cautions_stand_where_the_eye_is() -> None:
    page = made("runa", "hop-step-hold")
    short = in_short(page.plan.who.standing)
    assert YOUTH_IN_SHORT in short
    assert short in said(page.html).partition("Tape card")[0]


def check_alone(html: str) -> None:
    """Nothing in it asks for anything, and only its own style and script are allowed."""
    assert "http" not in html.lower().replace("http-equiv", "")
    assert not re.search(r"url\((?!data:font/woff)", html)
    assert "@import" not in html
    found = read(html)
    for tag, attributes in found.tags:
        assert tag not in ("img", "iframe", "object", "embed", "form", "a", "base", "video")
        assert not [a for a in attributes if a.startswith("on") or a in ("src", "style")], tag
        if "href" in attributes:
            assert attributes["href"] in ("data:,", "#body"), tag
    (policy,) = [a["content"] for t, a in found.tags if a.get("http-equiv")]
    assert policy is not None
    assert policy.startswith("default-src 'none'; ")
    (style,) = found.raw["style"]
    *_, script = found.raw["script"]
    for text in (style, script):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy
    assert [t for t, _ in found.tags].count("style") == 1
    assert len(re.findall(r"'sha256-[^']+'", policy)) == 2
    assert "unsafe" not in policy
    names = [a["id"] for _, a in found.tags if "id" in a]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("name", NAMES)
def test_any_name_is_whole_and_harmless(name: str) -> None:
    page = made("imka", "short-triple-jump", name)
    check_alone(page.html)
    assert lacking(page) == []
    assert [t for t, _ in read(page.html).tags].count("script") == 2


@settings(max_examples=12)
@given(st.text(min_size=1, max_size=60))
def test_any_text_as_a_name(name: str) -> None:
    page = made("runa", "hop-step-sand", name, still=True, plain=True)
    check_alone(page.html)
    assert " ".join(printable(name).split()) in said(page.html)


def test_without_a_motion_there_is_no_clip_and_all_else() -> None:
    page = made("tevin", "full-triple-jump", still=True)
    check_alone(page.html)
    assert lacking(page) == []
    assert 'id="clip"' not in page.html
    assert 'id="positions"' not in page.html
    assert "In motion" not in page.html


def test_frames_are_the_motions_own() -> None:
    """The outlines lie where the figure's do, to a millimetre and a tenth of a degree."""
    for planned, card, motion in demo()[:3]:
        clip = phone_clip(planned, card, motion, key_poses(planned, motion))
        data = json.loads(clip.data)
        tracks = [np.cumsum(np.array(track), axis=1) for track in data["tracks"]]
        step = step_contact(motion)
        assert clip.count == 1 + int(motion.duration * RATE + 1e-6)
        assert data["poster"] == round(step.touchdown * RATE)
        for frame in (0, 1, data["poster"], clip.count // 2, clip.count - 1):
            time = step.touchdown if frame == data["poster"] else frame / RATE
            if abs(time - step.high) <= 0.5 / RATE:
                time = step.high
            frames = motion.frames(np.array([time]))
            lying = [place_of(s) for s in athlete(frames.positions[0], "r")]
            found = {tuple(int(v) for v in track[:, frame]) for track in tracks}
            for place in lying:
                assert place is not None
                turn = np.degrees(np.arctan2(place.vz, place.vx))
                assert any(
                    abs(x / 1000 - place.x) < 6e-4
                    and abs(z / 1000 - place.z) < 6e-4
                    and abs((t / 10 - turn + 180) % 360 - 180) < 0.06
                    for x, z, t in found
                )


def test_a_long_motion_has_half_as_many_frames(monkeypatch: pytest.MonkeyPatch) -> None:
    planned, card, motion = demo()[0]
    poses = key_poses(planned, motion)
    usual = phone_clip(planned, card, motion, poses)
    monkeypatch.setattr("layout.phone.clip.LONG", 1.0)
    sparse = phone_clip(planned, card, motion, poses)
    assert json.loads(usual.data)["tick"] == 1 / RATE
    assert json.loads(sparse.data)["tick"] == 2 / RATE
    assert sparse.count == pytest.approx(usual.count / 2, abs=1)
    assert len(sparse.data) < 0.7 * len(usual.data)


def test_moments_are_the_key_instants() -> None:
    for planned, card, motion in demo():
        poses = key_poses(planned, motion)
        clip = phone_clip(planned, card, motion, poses)
        assert [m.label for m in clip.moments] == [p.label for p in poses]
        for moment, pose in zip(clip.moments, poses, strict=True):
            assert abs(moment.frame / RATE - pose.time) <= 0.51 / RATE
        held = [m for m in clip.moments if m.rest > 0]
        assert clip.poster in [m.frame for m in held]
        assert len(held) == 2


def test_every_colour_has_a_role_of_its_own_and_one_for_the_dark() -> None:
    light = theme("light").colours
    assert len({hexed(c) for c in light.values()}) == len(light)
    assert set(DARK) == set(light)
    said: tuple[Role, ...] = ("text", "quiet", "warn", "measure", "mark", "hurdle", "left", "right")
    for role in said:
        assert contrast(DARK[role], DARK["paper"]) >= 4.5, role
    apart: tuple[tuple[Role, Role], ...] = (
        ("near", "far"), ("near", "paper"), ("line", "paper"), ("line", "ground"),
    )  # fmt: skip
    for near, far in apart:
        assert contrast(DARK[near], DARK[far]) >= 3.0, (near, far)


def test_no_colour_of_the_light_theme_is_left_on_the_screen() -> None:
    html = made("odalys", "alternate-bounds").html
    shown = html.partition('<div class="screen">')[2].partition('<div class="sheets">')[0]
    assert not re.search(r'(fill|stroke)="#', shown)


@pytest.mark.parametrize("width", [40.0, 92.0, 101.0, 102.0, 250.0, 900.0])
def test_stretches_cover_a_drawing(width: float) -> None:
    starts, wide = stretches(width, NARROW)
    assert starts[0] == 0.0
    assert starts[-1] + wide == pytest.approx(width)
    assert wide <= 1.1 * NARROW
    for one, other in pairwise(starts):
        assert one + wide - other == pytest.approx(SHARED)


@pytest.mark.parametrize("who", CLUB)
def test_every_label_is_whole_in_some_stretch(who: str) -> None:
    for drill in sorted(catalogue()):
        planned = plan(who, drill, pit_or_track(drill))
        whole = fitted(planned, tape_card(planned), SCALES[-1])
        starts, wide = stretches(whole.page.width, NARROW)
        labels = [i for i in whole.page.ink if isinstance(i, Text)]
        for label in labels:
            low, _, high, _ = extent([label])
            assert any(a <= low and high <= a + wide for a in starts), (drill, label.text)


def test_the_command_writes_a_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    to = tmp_path / "tevin.html"
    own = Path(__file__).parents[3] / "layout" / "catalogue" / "club" / "tevin.toml"
    words = ["handout", str(own), "full-triple-jump", "--to", str(to), "--venue", "marram-point"]
    assert main([*words, "--on", "2026-11-25"]) == 0
    assert "prints as 2 x A4" in capsys.readouterr().out
    assert to.read_text("utf-8") == made("tevin", "full-triple-jump").html
    assert main(words) != 0
    assert "exists already" in capsys.readouterr().err
    assert main([*words, "--overwrite", "--paper", "A4", "--across", "--scale", "1:50"]) != 0
    assert "does not fit" in capsys.readouterr().err
