"""The poster frame of a scene as PNG."""

from __future__ import annotations

import os

from animate.film_raster import Raster
from animate.scene import Scene, check
from animate.whole_file import refuse_existing, write_whole


def save_png(scene: Scene, path: str | os.PathLike[str], overwrite: bool = False) -> None:
    """Write a scene's poster frame as PNG, whole or not at all.

    Parameters
    ----------
    scene : Scene
    path : path
    overwrite : bool
        Whether a file already there may be replaced.

    Raises
    ------
    ValueError
        The scene cannot be drawn, or the file cannot be written.
    """
    refuse_existing(path, overwrite)
    check(scene)
    image = Raster(scene).whole(scene.poster)
    write_whole(path, lambda name: image.save(name, "PNG"), overwrite)
