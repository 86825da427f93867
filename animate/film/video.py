"""A scene as MP4 (H.264) or WebM (VP9); needs the extra `video` (PyAV), loaded only when used."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from animate.film.raster import Raster
from animate.film.scene import Scene, Tell, starts
from animate.refused import Refused

if TYPE_CHECKING:
    from PIL import Image

_MOST_RATE: Final = 60
_KINDS: Final[dict[str, tuple[str, str, dict[str, str]]]] = {
    ".mp4": (
        "mp4",
        "libx264",
        {"crf": "23", "preset": "veryfast", "movflags": "+faststart"},
    ),
    ".webm": (
        "webm",
        "libvpx-vp9",
        {"crf": "30", "b": "0", "deadline": "realtime", "cpu-used": "7", "row-mt": "1"},
    ),
}


def write_video(scene: Scene, name: str, kind: str, tell: Tell | None = None) -> None:
    """Write a checked scene as MP4 or WebM under that very name.

    A held frame is repeated, so that every player keeps its time; a frame starts within half a
    picture of its exact time. A video does not loop of itself: the player decides.

    Parameters
    ----------
    scene : Scene
    name : str
    kind : {".mp4", ".webm"}
    tell : callable, optional
        Told how many frames are done and how many there are, after each.
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

    Parameters
    ----------
    scene : Scene
    fps : int
        [1/s]
    """
    at = starts(scene.durations, 1 / fps)
    return [max(0, b - a) for a, b in pairwise(at)]


def pictures(scene: Scene) -> Iterator[Image.Image]:
    """The whole frames in turn, as one image that is changed in place.

    Parameters
    ----------
    scene : Scene
        Already checked.
    """
    raster = Raster(scene)
    image = raster.background.copy()
    for frame in range(len(scene.durations)):
        for box, part in raster.changes(frame):
            image.paste(part, box[:2])
        yield image


def _encode(av: Any, scene: Scene, name: str, kind: str, tell: Tell | None) -> None:
    container_kind, codec, options = _KINDS[kind]
    fps = rate(scene)
    try:
        with av.open(name, "w", format=container_kind) as container:
            settings = {"movflags": options["movflags"]} if "movflags" in options else {}
            container.options.update(settings)
            stream = container.add_stream(codec, rate=fps)
            stream.width, stream.height = scene.size
            stream.pix_fmt = "yuv420p"
            stream.options = {k: v for k, v in options.items() if k != "movflags"}
            converter = av.video.reformatter.VideoReformatter()
            tick = 0
            counts = repeats(scene, fps)
            for done, (image, many) in enumerate(zip(pictures(scene), counts, strict=True), 1):
                if tell:
                    tell(done, len(counts))
                if not many:
                    continue
                picture = converter.reformat(
                    av.VideoFrame.from_image(image), format="yuv420p", interpolation="FAST_BILINEAR"
                )
                for _ in range(many):
                    picture.pts, picture.time_base = tick, Fraction(1, fps)
                    container.mux(stream.encode(picture))
                    tick += 1
            container.mux(stream.encode(None))
    except av.FFmpegError as error:
        raise Refused("file", f"the video could not be written ({error.strerror})") from error
