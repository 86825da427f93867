"""The poster frame of a scene as PNG."""

from __future__ import annotations

from animate.film.raster import Raster
from animate.film.scene import Scene


def write_png(scene: Scene, name: str) -> None:
    """Write a checked scene's poster frame as PNG under that very name."""
    Raster(scene).whole(scene.poster).save(name, "PNG")
