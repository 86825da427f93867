"""A clip small enough to check by hand: a square that moves by whole pixels."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from animate.body.shapes import Area
from animate.film.film import save
from animate.film.scene import Camera, Caption, Panel, Scene
from animate.film.themes import theme


def small(loop: bool = True) -> Scene:
    """A dark square of 20 px that stands at 10, 10, 30 and 50 px; 20 px above the lower edge."""
    frames = []
    for x in (1.0, 1.0, 3.0, 5.0):
        frames.append((Area(((x, 2.0), (x + 2, 2.0), (x + 2, 4.0), (x, 4.0)), "near"),))
    panel = Panel((0, 0, 100, 80), (Camera(0.0, 0.0, 10.0),), (), tuple(frames))
    return Scene(
        (100, 80),
        (0.125, 0.125, 0.125, 0.5),
        (panel,),
        loop=loop,
        still_captions=(Caption((2, 78), "é ø – × °", 12),),
    )


def count(image: Any) -> int:
    return int(image.n_frames)


def test_every_pixel_of_the_gif_is_where_it_was_put(tmp_path: Path) -> None:
    from PIL import Image, ImageSequence

    from tests.paper import luminance  # heavy: `small` is to import little

    save(small(), tmp_path / "a.gif")
    near, paper = theme("light").colours["near"], theme("light").colours["paper"]
    with Image.open(tmp_path / "a.gif") as image:
        assert count(image) == 3  # the first two are one picture
        for left, frame in zip((10, 30, 50), ImageSequence.Iterator(image), strict=True):
            shown = frame.convert("RGB").crop((0, 0, 100, 64))
            for y in range(64):
                for x in range(100):
                    deep = min(x - left, left + 19 - x, y - 40, 59 - y)
                    colour: Any = shown.getpixel((x, y))
                    if deep >= 1:
                        assert colour == near, (x, y)
                    elif deep < -1:
                        assert colour == paper, (x, y)
                    elif deep == 0:  # an edge between two pixels may spill a third of one
                        assert luminance(colour) < 0.45, (x, y)
                    else:
                        assert luminance(colour) > 0.45, (x, y)


@pytest.mark.parametrize("loop", [True, False])
def test_times_loop_and_size_of_the_gif(tmp_path: Path, loop: bool) -> None:
    from PIL import Image

    save(small(loop), tmp_path / "a.gif")
    with Image.open(tmp_path / "a.gif") as image:
        assert image.size == (100, 80)
        assert image.info.get("loop") == (0 if loop else None)
        times = []
        for frame in range(count(image)):
            image.seek(frame)
            times.append(image.info["duration"])
    assert times == [250, 130, 500] or times == [250, 120, 500]
    assert sum(times) in (870, 880)  # .875 s in hundredths


def test_the_shipped_letters_are_all_there() -> None:
    from animate.film.boxes import font

    for bold in (False, True):
        letters = font(40, bold)
        nothing = letters.getmask("\uffff")
        for letter in "éøÉØåäöüñčł–×°−±→…·AZaz09%":
            mask = letters.getmask(letter)
            assert mask.getbbox(), letter
            assert (mask.size, bytes(mask)) != (nothing.size, bytes(nothing)), letter
