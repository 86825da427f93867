"""MP4 and WebM decoded again; and what is said where the extra is missing."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from animate.film.film import save
from animate.film.raster import Raster
from animate.film.scene import Scene
from animate.film.video import rate, repeats
from tests.animate.film.film_scenes import off, scene
from tests.animate.film.test_film_plain import small


def decoded(file: Path) -> tuple[list[Image.Image], float, float]:
    """Pictures, the time of the last one's end [s], and the rate [1/s]."""
    av = pytest.importorskip("av", reason="the extra `video` is not installed")
    with av.open(str(file)) as container:
        stream = container.streams.video[0]
        fps = float(stream.average_rate)
        pictures, last = [], 0.0
        for frame in container.decode(stream):
            pictures.append(frame.to_image())
            last = float(frame.pts * stream.time_base)
    return pictures, last + 1 / fps, fps


@pytest.mark.parametrize("ending", ["mp4", "webm"])
def test_every_frame_is_there_for_its_time(ending: str, tmp_path: Path) -> None:
    pytest.importorskip("av", reason="the extra `video` is not installed")
    whole = scene("both")
    save(whole, tmp_path / f"a.{ending}")
    pictures, length, fps = decoded(tmp_path / f"a.{ending}")
    assert fps == rate(whole)
    assert length == pytest.approx(sum(whole.durations), abs=1 / fps)
    many = repeats(whole, rate(whole))
    assert len(pictures) == sum(many)
    raster, at = Raster(whole), 0
    for frame, count in enumerate(many):
        picture = pictures[at + count // 2]
        own = off(picture, raster.whole(frame))
        assert own < 3.0, f"frame {frame}"
        other = frame + 2 if frame + 2 < len(many) else frame - 2
        assert off(picture, raster.whole(other)) > own, f"frame {frame}"
        at += count
    assert [p.name for p in tmp_path.iterdir()] == [f"a.{ending}"]


def test_held_frames_are_repeated_without_drift() -> None:
    whole: Scene = replace(small(), durations=(0.04, 0.1, 0.07, 0.5))
    assert rate(whole) == 25
    assert sum(repeats(whole, 25)) == round(0.71 * 25)


def test_an_existing_video_is_kept(tmp_path: Path) -> None:
    file = tmp_path / "a.mp4"
    file.write_text("mine")
    with pytest.raises(ValueError, match="exists already and is kept"):
        save(small(), file)
    assert file.read_text() == "mine"


def test_without_the_extra_it_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(ValueError, match=r"\.mp4 needs the extra `video`") as told:
        save(small(), tmp_path / "a.mp4")
    assert "\n" not in str(told.value)
    assert list(tmp_path.iterdir()) == []


def test_a_failure_while_encoding_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    av = pytest.importorskip("av", reason="the extra `video` is not installed")

    def trouble(*_: object, **__: object) -> None:
        raise av.FFmpegError(28, "No space left on device")

    monkeypatch.setattr(av, "VideoFrame", trouble)
    with pytest.raises(ValueError, match="the video could not be written"):
        save(small(), tmp_path / "a.webm")
    assert list(tmp_path.iterdir()) == []
