"""A scene as MP4 (H.264) or WebM (VP9); needs the extra `video` (PyAV), loaded only when used."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final

from PIL import Image

from animate.film.raster import Raster
from animate.film.scene import Scene, Tell, starts
from animate.refused import Refused

_MOST_RATE: Final = 60
_KINDS: Final[dict[str, tuple[str, dict[str, str], dict[str, str]]]] = {
    ".mp4": (
        "libx264",
        {"movflags": "+faststart"},
        {
            "crf": "27",
            "preset": "faster",
            "x264-params": "subme=2:aq-strength=0.6:psy=0:rc-lookahead=10",
        },
    ),
    ".webm": (
        "libvpx-vp9",
        {},
        {"crf": "30", "b": "0", "deadline": "realtime", "cpu-used": "7", "row-mt": "1"},
    ),
}
"""Of each kind of file, the codec, and what its container and the codec are told; flat pictures with
few edges keep most when little goes into searching for motion and all into what is left."""


def write_video(scene: Scene, name: str, kind: str, tell: Tell | None = None) -> None:
    """Write a checked scene as MP4 or WebM under that very name.

    A held frame is repeated, so that every player keeps its time; a frame starts within half a
    picture of its exact time. A video does not loop of itself: the player decides.

    kind: {".mp4", ".webm"}.
    tell: told how many frames are done and how many there are, after each.
    """
    try:
        import av
    except ImportError:
        raise Refused(
            "file", f"{kind} needs the extra `video` (pip install av); .gif and .svg do not"
        ) from None
    _encode(av, scene, name, kind, tell)


def rate(scene: Scene) -> int:
    """Pictures a second: enough for the shortest frame, at most 60."""
    return max(1, min(_MOST_RATE, round(1 / min(scene.durations))))


def repeats(scene: Scene, fps: int) -> list[int]:
    """How many pictures each frame takes; rounding never adds up.

    fps: [1/s].
    """
    at = starts(scene.durations, 1 / fps)
    return [max(0, b - a) for a, b in pairwise(at)]


_BRIGHT: Final = (0.256788, 0.504129, 0.097906, 16.0)
_BLUE: Final = (-0.148223, -0.290993, 0.439216, 128.0)
_RED: Final = (0.439216, -0.367788, -0.071427, 128.0)
"""From red, green and blue to the three planes of a picture, 16 to 235 and 16 to 240 (ITU-R BT.601)."""


def _pictures(av: Any, scene: Scene) -> Iterator[Any]:
    """The whole frames in turn; only what changed is turned into brightness and colour again."""
    raster = Raster(scene)
    image = raster.background.copy()
    kept: list[Image.Image] = []
    everything = [((0, 0, *scene.size), image)]
    for frame in range(len(scene.durations)):
        picture = av.VideoFrame(*scene.size, "yuv420p")
        # A line of a plane may be longer than the picture is wide.
        kept = kept or [Image.new("L", (p.line_size, p.height)) for p in picture.planes]
        for box, part in (*(() if frame else everything), *raster.changes(frame)):
            image.paste(part, box[:2])
            left, top = box[0] // 2, box[1] // 2
            piece = image.crop((2 * left, 2 * top, box[2] + box[2] % 2, box[3] + box[3] % 2))
            kept[0].paste(piece.convert("L", _BRIGHT), (2 * left, 2 * top))
            for plane, matrix in zip(kept[1:], (_BLUE, _RED), strict=True):
                plane.paste(piece.reduce(2).convert("L", matrix), (left, top))
        for plane, full in zip(picture.planes, kept, strict=True):
            plane.update(full.tobytes())
        yield picture


def _encode(av: Any, scene: Scene, name: str, kind: str, tell: Tell | None) -> None:
    codec, container_options, options = _KINDS[kind]
    fps = rate(scene)
    try:
        with av.open(name, "w", format=kind[1:], options=container_options) as container:
            stream = container.add_stream(codec, rate=fps, options=options)
            stream.width, stream.height = scene.size
            stream.pix_fmt = "yuv420p"
            stream.codec_context.thread_count = 1  # each thread more holds pictures of its own
            tick = 0
            counts = repeats(scene, fps)
            for done, (picture, many) in enumerate(zip(_pictures(av, scene), counts, strict=True)):
                for _ in range(many):
                    picture.pts, picture.time_base = tick, Fraction(1, fps)
                    container.mux(stream.encode(picture))
                    tick += 1
                if tell:
                    tell(done + 1, len(counts))
            container.mux(stream.encode(None))
    except av.FFmpegError as error:
        raise Refused("file", f"the video could not be written ({error.strerror})") from error
