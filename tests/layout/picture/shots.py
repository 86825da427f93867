"""Made-up pictures and videos of solved motions: figures drawn by a camera that is known, for the tests."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from animate.body import figure
from animate.body.body import Array
from animate.motion.motion import Motion
from layout.commands.demo_ import plans
from layout.moving.clip import has_step_contact
from layout.moving.solved import at_hand
from layout.picture.places import roles_of
from layout.picture.target import Target, target_of
from layout.plan.value import Plan

FACES: Final = {"paper": "#ffffff", "near": "#1d2733", "far": "#7d8794", "body": "#3a5f8f"}
TAPPED: Final = (
    "hip", "near knee", "near ankle", "near heel", "near toe", "far knee", "far ankle", "far heel",
    "far toe", "shoulder", "head", "near elbow", "near wrist", "far elbow", "far wrist",
)  # fmt: skip
"""The order in which the page asks for the points."""


@lru_cache(maxsize=1)
def solved() -> tuple[tuple[Plan, Motion], ...]:
    """The demo's plans that have a step contact, with their shipped motions."""
    found = [(plan, at_hand(plan)) for _, plan, _, _ in plans() if has_step_contact(plan)]
    return tuple((plan, motion) for plan, motion in found if motion is not None)


@dataclass(frozen=True, eq=False)
class Shot:
    """One made-up picture: its file, where everything is in it, and what is true."""

    jpeg: bytes
    size: tuple[int, int]
    pixels: Mapping[str, tuple[float, float]]  # joints as near or far, and marks as "mark 2.61"
    scale: float  # [px/m]
    runs: str
    target: Target  # the figure that was drawn, its measures true

    @property
    def readings(self) -> str:
        """The marks as a coach types them."""
        return " ".join(name.removeprefix("mark ") for name in self.pixels if "mark" in name)


@dataclass(frozen=True)
class Camera:
    """How it is filmed: [px/m], roll [rad], hip's place [px], direction, blur [px], grain [0-255].

    plane: by how much the marks look larger than what is in the athlete's plane.
    """

    scale: float = 310.0
    tilt: float = 0.02
    hip: tuple[float, float] = (900.0, 620.0)
    runs: str = "right"
    blur: float = 1.2
    grain: float = 8.0
    plane: float = 0.0
    size: tuple[int, int] = (1920, 1080)
    marks: tuple[float, ...] = (-1.3, 0.2, 1.4)

    def pixel(self, x: Any, z: Any, hip_height: float, larger: float = 0.0) -> tuple[Any, Any]:
        """Where a place [m], x from the hip and z above the ground, is in the picture."""
        way = 1.0 if self.runs == "right" else -1.0
        w = way * x + 1j * (z - hip_height)
        w = w * np.exp(1j * self.tilt) * self.scale * (1.0 + larger)
        return self.hip[0] + np.real(w), self.hip[1] - np.imag(w)


def picture_of(
    motion: Motion, camera: Camera, seed: int = 0, instant: str = "step touchdown"
) -> Shot:
    """A picture of an instant of a motion; the near side is the one turned to the camera."""
    target = target_of(motion, instant)
    near = "r" if camera.runs == "right" else "l"
    at = roles_of(target.positions, target.support)
    words = {"support": "near" if target.support == near else "far"}
    words["free"] = "far" if words["support"] == "near" else "near"
    hip = float(at["hip"][1])
    rng = np.random.default_rng(seed)
    pixels = {}
    for name, (x, z) in at.items():
        word, _, part = name.partition(" ")
        key = f"{words[word]} {part}" if part else name
        pixels[key] = tuple(map(float, camera.pixel(x, z, hip)))
    for x in camera.marks:
        # The ground below the feet is where the marks lie, a little nearer or farther.
        px, py = camera.pixel(x, 0.0, hip, 0.0)
        ox, oy = camera.pixel(0.0, 0.0, hip, 0.0)
        place = (ox + (px - ox) * (1 + camera.plane), oy + (py - oy) * (1 + camera.plane))
        pixels[f"mark {4.0 + x:.2f}"] = (float(place[0]), float(place[1]))
    positions = target.positions - np.array([target.positions[figure.JOINTS.index("hip"), 0], 0.0])
    image = _painted(positions, near, camera, hip, pixels, rng)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=90)
    kept = {name: pixels[name] for name in (*TAPPED, *(n for n in pixels if "mark" in n))}
    return Shot(out.getvalue(), camera.size, kept, camera.scale, camera.runs, target)


def _painted(
    positions: Array, near: Any, camera: Camera, hip: float, pixels: Mapping[str, Any], rng: Any
) -> Image.Image:
    image = Image.new("RGB", camera.size, "#b9c4b0")
    ink = ImageDraw.Draw(image)
    ends = [camera.pixel(x, 0.0, hip) for x in (-9.0, 9.0)]
    ink.line([(float(x), float(y)) for x, y in ends], "#8a4f3a", 5)
    for name, (x, y) in pixels.items():
        if "mark" in name:
            ink.line([(x, y - 9), (x, y + 9)], "#ffffff", 3)
            ink.line([(x - 9, y), (x + 9, y)], "#ffffff", 3)
    for shape in figure.athlete(positions, near):
        corners = np.array(shape.points)  # type: ignore[union-attr]
        x, y = camera.pixel(corners[:, 0], corners[:, 1], hip)
        fill = FACES.get(shape.role, "#3a5f8f")
        ink.polygon(list(zip(x.tolist(), y.tolist(), strict=True)), fill, "#111111")
    image = image.filter(ImageFilter.GaussianBlur(camera.blur))
    data = np.asarray(image, float) + rng.normal(0.0, camera.grain, (*image.size[::-1], 1))
    return Image.fromarray(np.clip(data, 0, 255).astype(np.uint8))


def film(path: Path, rate: int, frames: int, codec: str = "libx264", size: int = 160,
         turn: int = 0) -> list[float]:  # fmt: skip
    """A video whose frame i shows i as sixteen black or white squares; its times [s]."""
    import av

    with av.open(str(path), "w") as box:
        stream = box.add_stream(codec, rate=rate)
        stream.width, stream.height, stream.pix_fmt = size, size // 2, "yuv420p"
        if codec == "libx264":
            stream.options = {"g": "30", "bf": "2", "crf": "18"}
        for i in range(frames):
            data = np.zeros((size // 2, size, 3), np.uint8)
            for bit in range(16):
                if i >> bit & 1:
                    x, y = (bit % 8) * size // 8, (bit // 8) * size // 4
                    data[y : y + size // 4, x : x + size // 8] = 255
            frame = av.VideoFrame.from_ndarray(data, "rgb24")
            for packet in stream.encode(frame):
                box.mux(packet)
        for packet in stream.encode():
            box.mux(packet)
    return [i / rate for i in range(frames)]
