"""Frames cut out of a video on this machine: the right ones, and one sentence for what cannot be read."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from layout.picture import film as cutting
from layout.picture.film import cut
from layout.words.faults import BadInput
from tests.layout.picture.shots import film

pytest.importorskip("av")


def number(picture: bytes) -> int:
    """Which frame of `film` it is."""
    data = np.asarray(Image.open(io.BytesIO(picture)).convert("L"))
    bits = [data[20 + 40 * (b // 8), 10 + 20 * (b % 8)] > 128 for b in range(16)]
    return sum(1 << b for b, on in enumerate(bits) if on)


@pytest.mark.parametrize(("codec", "ending", "rate"), [
    ("libx264", ".mp4", 240), ("libx265", ".mp4", 30), ("libvpx-vp9", ".webm", 60),
])  # fmt: skip
def test_the_frames_asked_for_come_with_all_times(
    tmp_path: Path, codec: str, ending: str, rate: int
) -> None:
    path = tmp_path / f"a{ending}"
    times = film(path, rate, 90, codec)
    for first in (0, 1, 37, 88):
        with open(path, "rb") as file:
            found = cut(file, times[first] + 0.2 / rate, 4)
        assert found.times == pytest.approx(times, abs=0.001)
        assert found.first == first
        assert [number(p) for p in found.pictures] == list(range(first, min(first + 4, 90)))


def test_before_and_after_everything(tmp_path: Path) -> None:
    film(tmp_path / "a.mp4", 30, 10)
    with open(tmp_path / "a.mp4", "rb") as file:
        assert cut(file, 0.0, 99).first == 0
        assert len(cut(file, 0.0, 99).pictures) == 10
        last = cut(file, 5000.0, 1)
        assert (last.first, [number(p) for p in last.pictures]) == (9, [9])


def test_what_cannot_be_read_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    film(tmp_path / "a.mp4", 30, 60)
    whole = (tmp_path / "a.mp4").read_bytes()
    rng = np.random.default_rng(2)
    for data in (
        b"",
        b"hello",
        whole[: len(whole) // 2],
        rng.bytes(5000),
        b"RIFF" + rng.bytes(3000),
    ):
        with pytest.raises(BadInput, match="cannot be read"):
            cut(io.BytesIO(data), 0.0, 4)
    monkeypatch.setattr(cutting, "MOST_FRAMES", 50)
    with pytest.raises(BadInput, match="at most 50 frames"):
        cut(io.BytesIO(whole), 0.0, 4)
    monkeypatch.setattr(cutting, "MOST_PIXELS", 100)
    with pytest.raises(BadInput, match="megapixels"):
        cut(io.BytesIO(whole), 0.0, 4)
    monkeypatch.setattr(cutting, "find_spec", lambda _: None)
    with pytest.raises(BadInput, match="phasemark\\[video\\]"):
        cut(io.BytesIO(whole), 0.0, 4)
