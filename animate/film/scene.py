"""What a clip is made of: panels with a camera each, shapes that stay, shapes per frame, captions.

A scene is plain frozen data. It knows nothing of files; the writers (gif, svg, video) know nothing of
jumping.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final, Literal

from animate.body.shapes import Area, Label, Role, Shape, Stroke, place_of
from animate.film.themes import Theme, theme
from animate.refused import Refused

Tell = Callable[[int, int], None]
"""Told how many frames are done, and of how many."""

MAX_FRAMES: Final = 5000
MAX_SIDE: Final = 4096
SHORTEST: Final = 0.02
"""Shortest time a frame may be shown [s]; browsers slow down clips with shorter ones."""
LONGEST: Final = 600.0
"""Longest time a frame may be shown [s]; the GIF format ends at 655.35."""


@dataclass(frozen=True)
class Camera:
    """What part of the world a panel shows; the same scale both ways.

    left, bottom: world point at the panel's lower left corner [m].
    scale: [px/m].
    """

    left: float
    bottom: float
    scale: float


@dataclass(frozen=True)
class Caption:
    """A short text fixed to the picture.

    at: anchor on the base line [px] from the picture's upper left corner.
    size: letter height (em) [px].
    align: {"left", "middle", "right"}.
    """

    at: tuple[float, float]
    text: str
    size: float = 20.0
    role: Role = "text"
    align: Literal["left", "middle", "right"] = "left"
    bold: bool = False


@dataclass(frozen=True)
class Panel:
    """A rectangle of the picture that looks at the world.

    box: left, top, width, height [px].
    cameras: one for every frame, or a single one that stays; all of one scale and bottom, so that the
        picture slides but never zooms.
    still: drawn under everything in every frame [m].
    moving: the shapes of each frame [m].
    text: height of a label of size 1 [px].
    framed: whether a thin line is drawn round the panel.
    """

    box: tuple[int, int, int, int]
    cameras: tuple[Camera, ...]
    still: tuple[Shape, ...] = ()
    moving: tuple[tuple[Shape, ...], ...] = ()
    text: float = 18.0
    framed: bool = False

    def camera(self, frame: int) -> Camera:
        """The camera of one frame."""
        return self.cameras[frame if len(self.cameras) > 1 else 0]


@dataclass(frozen=True)
class Scene:
    """A whole clip, or a still when it has one frame.

    size: width and height [px], even numbers so that every video format can hold them.
    durations: how long each frame is shown [s].
    captions: the captions of each frame; empty where none change.
    loop: whether the clip starts again.
    poster: the frame that a viewer which cannot move shows.
    title: read out to those who cannot see the clip.
    """

    size: tuple[int, int]
    durations: tuple[float, ...]
    panels: tuple[Panel, ...]
    still_captions: tuple[Caption, ...] = ()
    captions: tuple[tuple[Caption, ...], ...] = ()
    theme: Theme = field(default_factory=lambda: theme("light"))
    loop: bool = True
    poster: int = 0
    title: str = ""

    def captions_of(self, frame: int) -> tuple[Caption, ...]:
        """The changing captions of one frame."""
        return self.captions[frame] if self.captions else ()


def edge_width(scene: Scene, panel: Panel) -> float:
    """Width of the edge of a filled outline [px]: never so wide that it hides a small limb.

    Returns the theme's hairline, or 12 mm of the world where that is less.
    """
    return min(scene.theme.hairline, 0.012 * panel.cameras[0].scale)


def starts(durations: tuple[float, ...], tick: float) -> list[int]:
    """When each frame starts, and the end, in whole ticks; rounding never adds up.

    durations: [s].
    tick: [s].
    Returns one more than there are frames.

    >>> starts((0.125, 0.125, 0.125), 0.01)
    [0, 12, 25, 38]
    """
    out, total = [0], 0.0
    for one in durations:
        total += one
        out.append(round(total / tick))
    return out


def check_size(size: tuple[int, int]) -> None:
    """Refuse a size of picture that cannot be made.

    size: width and height [px].
    """
    for side in size:
        if not isinstance(side, int) or not 16 <= side <= MAX_SIDE or side % 2:
            raise Refused(
                "size", f"even whole numbers from 16 to {MAX_SIDE} px", f"{size[0]} x {size[1]}"
            )


def check(scene: Scene) -> None:
    """Refuse a scene that cannot be drawn, with the field, the rule and the value."""
    check_size(scene.size)
    count = len(scene.durations)
    if not 1 <= count <= MAX_FRAMES:
        raise Refused("frames", f"1 to {MAX_FRAMES}", count)
    for i, one in enumerate(scene.durations):
        if not SHORTEST - 1e-9 <= one <= LONGEST:
            raise Refused(f"durations[{i}]", f"{SHORTEST:g} to {LONGEST:g} s", one)
    if not 0 <= scene.poster < count:
        raise Refused("poster", f"a frame from 0 to {count - 1}", scene.poster)
    if scene.captions and len(scene.captions) != count:
        raise Refused("captions", f"one set for each of {count} frames", len(scene.captions))
    for i, row in enumerate((scene.still_captions, *scene.captions)):
        for caption in row:
            _check_text(f"captions of frame {i - 1}" if i else "captions", caption.text)
            if not math.isfinite(sum(caption.at) + caption.size) or not 4 <= caption.size <= 400:
                raise Refused("caption", "finite, letters of 4 to 400 px", caption)
    for i, panel in enumerate(scene.panels):
        _check_panel(f"panel {i}", panel, scene.size, count)
    _check_roles(scene)


def _check_panel(name: str, panel: Panel, size: tuple[int, int], count: int) -> None:
    left, top, width, height = panel.box
    if min(left, top) < 0 or min(width, height) < 8:
        raise Refused(name, "a box of at least 8 px inside the picture", panel.box)
    if left + width > size[0] or top + height > size[1]:
        raise Refused(name, f"a box inside the picture of {size}", panel.box)
    if len(panel.cameras) not in (1, count):
        raise Refused(name, "one camera, or one a frame", len(panel.cameras))
    first = panel.cameras[0]
    for camera in panel.cameras:
        if not math.isfinite(camera.left + camera.bottom) or not 1 <= camera.scale <= 4000:
            raise Refused(name, "camera finite, 1 to 4000 px/m", camera)
        if camera.scale != first.scale or camera.bottom != first.bottom:
            raise Refused(name, "all cameras of one scale and bottom", camera)
    if panel.moving and len(panel.moving) != count:
        raise Refused(name, f"shapes for each of {count} frames", len(panel.moving))
    _check_shapes(f"{name}, still shapes", panel.still)
    for i, shapes in enumerate(panel.moving):
        _check_shapes(f"{name}, frame {i}", shapes)


def _check_shapes(where: str, shapes: tuple[Shape, ...]) -> None:
    for shape in shapes:
        if isinstance(shape, Label):
            _check_text(where, shape.text)
            finite = math.isfinite(shape.at[0] + shape.at[1] + shape.size)
        elif place := place_of(shape):
            finite = math.isfinite(place.x + place.z + place.vx + place.vz)
        else:
            finite = math.isfinite(sum(map(sum, shape.points)))
            if isinstance(shape, Stroke) and shape.dash and not min(shape.dash) > 0:
                raise Refused(where, "dash lengths above 0", shape.dash)
            if len(shape.points) < (3 if isinstance(shape, Area) else 2):
                raise Refused(where, "points needed", len(shape.points))
        if not finite:
            raise Refused(
                where,
                "must be finite coordinates",
                f"{type(shape).__name__} of role {shape.role} with NaN or infinity",
            )


def _check_text(where: str, text: str) -> None:
    if len(text) > 200:
        raise Refused(where, "texts of at most 200 characters", len(text))
    # Joiners tell letters of some scripts how to join and have no width.
    if not text.translate({0x200C: None, 0x200D: None}).isprintable():
        raise Refused(where, "printable text on one line", f"{text!r}")


def roles(scene: Scene) -> tuple[dict[Role, None], dict[Role, None]]:
    """The roles of shapes and frames, and those of captions, each in the order drawn."""
    used: dict[Role, None] = {}
    for panel in scene.panels:
        if panel.framed:
            used["quiet"] = None
        for shapes in (panel.still, *panel.moving):
            for shape in shapes:
                used[shape.role] = None
                if isinstance(shape, Area) and shape.edge:
                    used[shape.edge] = None
    said = (scene.still_captions, *scene.captions)
    return used, {caption.role: None for captions in said for caption in captions}


def _check_roles(scene: Scene) -> None:
    used, texts = roles(scene)
    strange = sorted(str(role) for role in {*used, *texts} - set(scene.theme.colours))
    if strange:
        known = ", ".join(scene.theme.colours)
        raise Refused("role", f"one of {known}", f"{strange[0][:40]!r}")
