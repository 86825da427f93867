"""A scene as an animated GIF: one palette, and of each frame only the pixels that changed."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import Any, Final

from PIL import Image, ImageChops

from animate.film.boxes import Box, around
from animate.film.raster import Raster
from animate.film.scene import Scene, Tell, roles, starts
from animate.film.themes import Colour

_TICK: Final = 0.01
_BITS: Final = 6
_COLOURS: Final = 2**_BITS - 1
"""The last place of the palette stands for a pixel that stays."""
_STAYS: Final = 2**_BITS - 1
_CHANGED: Final = [0] + [255] * 255
_MOST_TICKS: Final = 65_535


def write_gif(scene: Scene, name: str, tell: Tell | None = None) -> None:
    """Write a checked scene as an animated GIF under that very name.

    Frame times are kept to the hundredth of a second the format knows, without drift. Frames that
    show the same picture are joined. `animate.film.film.save` is what to call from outside.
    """
    with open(name, "wb") as file:
        file.writelines(blocks(scene, tell))


def blocks(scene: Scene, tell: Tell | None = None) -> Iterator[bytes]:
    """The bytes of the GIF, piece by piece.

    scene: already checked.
    tell: told how many frames are done and how many there are, after each.
    """
    colours = palette(scene, _COLOURS)
    table = bytes(c for colour in colours for c in colour)
    table += table[-3:] * (_STAYS - len(colours)) + b"\0\0\0"
    holder = Image.new("P", (1, 1))
    holder.putpalette(table)

    def indexed(image: Image.Image) -> Image.Image:
        """The nearest colour of the palette for every pixel."""
        return image.quantize(palette=holder, dither=Image.Dither.NONE)

    raster = Raster(scene, indexed)
    yield b"GIF89a" + struct.pack("<HHBBB", *scene.size, 0xF0 | (_BITS - 1), 0, 0) + table
    if scene.loop and len(scene.durations) > 1:
        yield b"!\xff\x0bNETSCAPE2.0\x03\x01\0\0\0"
    clock = starts(scene.durations, _TICK)
    for (box, pixels), ticks in _timed(raster, clock, tell):
        shown = min(ticks, _MOST_TICKS)
        yield b"!\xf9\x04" + struct.pack("<BHB", 0x05, shown, _STAYS) + b"\0"
        size = (box[2] - box[0], box[3] - box[1])
        yield b"," + struct.pack("<HHHHBB", *box[:2], *size, 0, _BITS)
        yield pixels + b"\0"
    yield b";"


def _timed(
    raster: Raster, clock: list[int], tell: Tell | None
) -> Iterator[tuple[tuple[Box, bytes], int]]:
    """Each picture with how long it is shown, equal ones joined."""
    waiting, since = None, 0
    for frame, part in enumerate(_pictures(raster, len(clock) - 1)):
        if tell:
            tell(frame + 1, len(clock) - 1)
        if part is None:
            continue
        if waiting is not None:
            yield waiting, clock[frame] - since
        waiting, since = part, clock[frame]
    assert waiting is not None  # the first frame is always a picture
    yield waiting, clock[-1] - since


def _pictures(raster: Raster, count: int) -> Iterator[tuple[Box, bytes] | None]:
    canvas = raster.background.copy()
    for frame in range(count):
        changed = []
        for box, new in raster.changes(frame):
            differs = ImageChops.difference(new, canvas.crop(box))
            inner = differs.getbbox()
            if inner is None:
                continue
            canvas.paste(new, box[:2])
            x, y = box[:2]
            seen = (x + inner[0], y + inner[1], x + inner[2], y + inner[3])
            changed.append((seen, differs.crop(inner)))
        if frame == 0:
            yield (0, 0, *canvas.size), _packed(canvas)
            continue
        if not changed:
            yield None
            continue
        left, top, right, bottom = around([seen for seen, _ in changed])
        delta = Image.new("P", (right - left, bottom - top), _STAYS)
        for seen, differs in changed:
            at = (seen[0] - left, seen[1] - top)
            delta.paste(canvas.crop(seen), at, differs.point(_CHANGED, "L"))
        yield (left, top, right, bottom), _packed(delta)


def _packed(image: Image.Image) -> bytes:
    return image.tobytes("gif", "P", _BITS, 0)


def palette(scene: Scene, most: int) -> list[Colour]:
    """The colours of a scene's roles, then their mixtures along edges, at most so many.

    most: how many colours at most, 2 or more.
    Returns every role's own colour is among them, paper first.
    """
    used, texts = roles(scene)
    colours = scene.theme.colours
    drawn = list(dict.fromkeys(colours[role] for role in ("paper", *used)))
    own = list(dict.fromkeys([*drawn, *(colours[role] for role in texts)]))
    out = own[:most]
    for shares in ((0.5,), (0.25, 0.75)):
        for i, one in enumerate(own):
            for other in drawn if i >= len(drawn) else drawn[:i]:
                for share in shares:
                    mixed = tuple(
                        round(a + share * (b - a)) for a, b in zip(one, other, strict=True)
                    )
                    if len(out) < most and all(_far(mixed, had) for had in out):
                        out.append(mixed)  # type: ignore[arg-type]
    return out


def _far(one: Any, other: Any) -> bool:
    return bool(sum((a - b) * (a - b) for a, b in zip(one, other, strict=True)) > 300)
