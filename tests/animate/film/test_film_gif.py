"""The GIF read back: every frame, its time, its colours."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from animate.film.film import save
from animate.film.gif import palette
from animate.film.raster import Raster, dashes
from animate.film.scene import Scene
from tests.animate.film.film_scenes import beside, drawn_otherwise, off, scene, without_texts
from tests.animate.film.test_film_plain import count

SCENES = {
    "fixed": lambda: scene("fixed"),
    "follow": lambda: scene("follow", theme="print-grey"),
    "both": lambda: scene("both"),
    "beside": beside,
}


@pytest.fixture(params=list(SCENES))
def made(request: pytest.FixtureRequest) -> Scene:
    return SCENES[request.param]()


def frames(file: Path) -> Iterator[tuple[Image.Image, int]]:
    with Image.open(file) as image:
        for i in range(count(image)):
            image.seek(i)
            yield image.convert("RGB"), image.info["duration"]


def at_each_frame(file: Path, whole: Scene) -> list[Image.Image]:
    """The picture that the GIF shows in the middle of every frame of the scene."""
    ends: list[int] = []
    pictures = []
    for picture, duration in frames(file):
        ends.append(duration + (ends[-1] if ends else 0))
        pictures.append(picture)
    out, since = [], 0.0
    for length in whole.durations:
        middle = (since + length / 2) * 1000
        out.append(pictures[next(i for i, end in enumerate(ends) if middle < end)])
        since += length
    return out


def test_every_frame_is_the_frame_drawn_on_its_own(made: Scene, tmp_path: Path) -> None:
    save(made, tmp_path / "a.gif")
    shown = at_each_frame(tmp_path / "a.gif", made)
    for i, picture in enumerate(shown):
        whole = Raster(made).whole(i)
        assert off(picture, whole) < 0.8, f"frame {i}"
        worst = np.abs(np.asarray(picture, float) - np.asarray(whole, float)).max()
        assert worst < 100, f"frame {i}: {worst}"  # what 63 colours cost on a few edge pixels


def test_every_frame_is_what_another_library_draws(made: Scene, tmp_path: Path) -> None:
    bare = without_texts(made)
    save(bare, tmp_path / "a.gif")
    shown = at_each_frame(tmp_path / "a.gif", bare)
    many = len(shown)
    for i in sorted({0, 1, many // 3, many // 2, many - 1, made.poster}):
        other = drawn_otherwise(bare, i)
        own = off(shown[i], other)
        assert own < 1.3, f"frame {i}"
        wrong = off(shown[i + 1 if i + 1 < many else i - 1], other)
        assert wrong > 2 * own, f"frame {i} cannot be told from its neighbour"


def test_frames_drawn_in_any_order_are_the_same(made: Scene) -> None:
    raster = Raster(made)
    canvas = raster.background.copy()
    many = len(made.durations)
    for i in (0, many - 1, 3, 2, 2, many // 2):
        for box, part in raster.changes(i):
            canvas.paste(part, box[:2])
        assert off(canvas, Raster(made).whole(i)) == 0.0, f"frame {i}"


def test_the_colours_are_those_of_the_theme(made: Scene, tmp_path: Path) -> None:
    save(made, tmp_path / "a.gif")
    colours = palette(made, 63)
    assert len(colours) == len(set(colours)) <= 63
    used = {s.role for p in made.panels for f in (p.still, *p.moving) for s in f}
    assert {made.theme.colours[role] for role in used} <= set(colours)
    with Image.open(tmp_path / "a.gif") as image:
        table = image.getpalette()
        assert table is not None
        assert [tuple(table[i : i + 3]) for i in range(0, 3 * len(colours), 3)] == colours
    for picture, _ in list(frames(tmp_path / "a.gif"))[:3]:
        seen = {colour for _, colour in picture.getcolors(100_000) or ()}
        assert seen <= set(colours)


def test_the_times_are_those_of_the_scene(made: Scene, tmp_path: Path) -> None:
    save(made, tmp_path / "a.gif")
    told = [duration for _, duration in frames(tmp_path / "a.gif")]
    assert sum(told) == pytest.approx(1000 * sum(made.durations), abs=5.01)
    held = 1000 * max(made.durations[:-1])
    assert any(abs(duration - held) <= 10 for duration in told)


def test_a_long_hold_is_told_by_the_clip(tmp_path: Path) -> None:
    made = scene("fixed")
    long = replace(made, durations=(600.0, *made.durations[1:]))
    save(long, tmp_path / "a.gif")
    assert next(frames(tmp_path / "a.gif"))[1] == 600_000


def test_dashes_add_up_to_the_line() -> None:
    line = [(0.0, 0.0), (3.0, 4.0), (3.0, 9.0)]
    pieces = dashes(line, [2.0, 1.0])
    total = sum(float(np.hypot(*np.subtract(b, a))) for piece in pieces for a, b in pairwise(piece))
    assert total == pytest.approx(7.0)  # on for 2 of every 3, from 0 to 10
    assert pieces[0][0] == (0.0, 0.0)


def test_a_camera_that_slides_by_parts_of_a_pixel_is_followed_exactly(tmp_path: Path) -> None:
    made = without_texts(scene("follow"))
    (panel,) = made.panels
    cameras = tuple(
        replace(c, left=c.left + 0.37 * i / c.scale) for i, c in enumerate(panel.cameras)
    )
    made = replace(made, panels=(replace(panel, cameras=cameras),))
    save(made, tmp_path / "a.gif")
    shown = at_each_frame(tmp_path / "a.gif", made)
    for i in (0, 1, 7):
        assert off(shown[i], drawn_otherwise(made, i)) < 1.3


@pytest.mark.parametrize("ending", ["gif", "mp4"])
def test_progress_is_told_frame_by_frame(ending: str, tmp_path: Path) -> None:
    if ending == "mp4":
        pytest.importorskip("av", reason="the extra `video` is not installed")
    made = scene("fixed")
    said: list[tuple[int, int]] = []
    save(made, tmp_path / f"a.{ending}", tell=lambda done, of: said.append((done, of)))
    many = len(made.durations)
    assert said == [(i + 1, many) for i in range(many)]
