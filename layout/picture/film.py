"""Frames of a video that a browser cannot step through exactly, cut on this machine (extra `video`)."""

from __future__ import annotations

import io
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Any, BinaryIO, Final

from layout.words.faults import BadInput, refuse

MOST_FRAMES: Final = 36_000
"""Frames of a video, at most: ten minutes at 60 a second (ours)."""
MOST_PIXELS: Final = 36e6
"""Pixels of one of its frames, at most (ours)."""
MOST_CUT: Final = 12
"""Frames cut at a time, at most."""
QUALITY: Final = 92


@dataclass(frozen=True)
class Cut:
    """Some frames of a video: times of all of them [s], the first one cut, and the pictures (JPEG)."""

    times: tuple[float, ...]
    first: int
    pictures: tuple[bytes, ...]


def cut(file: BinaryIO, at: float, count: int) -> Cut:
    """Cut frames out of a video, from the one that is seen at a time [s] on.

    Refused: the extra is not installed, no video, a file cut off, too many or too large frames.
    """
    if find_spec("av") is None:
        raise refuse("video", 'for this kind pip install "phasemark[video]" is needed')
    import av

    try:
        with av.open(file, mode="r", metadata_errors="ignore") as box:
            return _cut(box, at, min(max(count, 1), MOST_CUT))
    except av.error.FFmpegError:
        raise refuse("video", "cannot be read: no video, or a file cut off") from None
    except (OSError, ValueError, MemoryError) as error:
        if isinstance(error, BadInput):
            raise
        raise refuse("video", f"cannot be read ({type(error).__name__})") from None


def _cut(box: Any, at: float, count: int) -> Cut:
    if not box.streams.video:
        raise refuse("video", "has no pictures in it")
    stream = box.streams.video[0]
    if stream.codec_context.width * stream.codec_context.height > MOST_PIXELS:
        rule = f"frames of at most {MOST_PIXELS / 1e6:.0f} megapixels can be shown"
        raise refuse("video", rule)
    base, stamps = stream.time_base, []
    for packet in box.demux(stream):
        if packet.pts is not None:
            stamps.append(packet.pts)
        if len(stamps) > MOST_FRAMES:
            raise refuse("video", f"at most {MOST_FRAMES} frames allowed; cut the video shorter")
    if not stamps:
        raise refuse("video", "cannot be read: no video, or a file cut off")
    stamps = sorted(set(stamps))
    times = tuple(float((s - stamps[0]) * base) for s in stamps)
    first = max((i for i, t in enumerate(times) if t <= at + 1e-6), default=0)
    wanted = stamps[first : first + count]
    box.seek(wanted[0], stream=stream, backward=True, any_frame=False)
    found: dict[int, bytes] = {}
    for frame in box.decode(stream):
        if frame.pts in wanted and frame.pts not in found:
            found[frame.pts] = _picture(frame)
        if frame.pts is not None and frame.pts >= wanted[-1]:
            break
    if wanted[0] not in found:
        raise refuse("video", "the frame cannot be read: a file cut off?")
    pictures: list[bytes] = []
    for stamp in wanted:
        if stamp not in found:
            break
        pictures.append(found[stamp])
    return Cut(times, first, tuple(pictures))


def _picture(frame: Any) -> bytes:
    """A frame as JPEG, upright as the video says it was held."""
    image, out = frame.to_image(), io.BytesIO()
    turn = int(getattr(frame, "rotation", 0) or 0) % 360
    if turn:
        image = image.rotate(turn, expand=True)
    image.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
