"""Frames as pixels: only what changed since the frame before is drawn again.

Shapes are drawn at three times the size and reduced, which smooths their edges; texts are drawn
at size. Pillow only, so that a clip needs no numpy.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from typing import Final, NamedTuple

from PIL import Image, ImageDraw, ImagePath

from animate.body.shapes import Area, Label, Outline, Shape, Stroke, place_of
from animate.film.boxes import Box, around, caption_box, common, merged, start_of, text_box, writing
from animate.film.scene import Camera, Caption, Panel, Scene, edge_width

DROP: Final = 0.35
"""From a label's middle down to its base line, in letter heights."""
_WIDEST_STRIP: Final = 16_000
_FINE: Final = 3
"""How many times larger shapes are drawn before they are reduced."""
_CHUNK: Final = 1000
"""How much of a width is drawn at three times its size at once [px]."""


class Raster:
    """Draws the frames of a checked scene, in any order, each from the one drawn before.

    scene: already checked.
    finish: what is done to every piece drawn, such as finding its pixels' places in a palette.
    """

    def __init__(
        self,
        scene: Scene,
        finish: Callable[[Image.Image], Image.Image] = lambda im: im,
    ) -> None:
        self.scene = scene
        self._finish = finish
        self._colours = scene.theme.colours
        self._paper = self._colours["paper"]
        self._strips: dict[int, tuple[Image.Image, float] | None] = {}
        self._traced: dict[Box, tuple[Sequence[Shape], Camera, Traces]] = {}
        self._shown: list[_Shown | None] = [None] * len(scene.panels)
        self._said: tuple[Caption, ...] = ()
        self._standing = [(caption, caption_box(caption)) for caption in scene.still_captions]
        self._bare = self._without_captions()
        self.background = self._bare.copy()
        for caption in scene.still_captions:
            self._write(self.background, caption, ((0, 0, *scene.size), (0, 0)))

    def _without_captions(self) -> Image.Image:
        plain = Image.new("RGB", self.scene.size, self._paper)
        for panel in self.scene.panels:
            if panel.framed:
                left, top, width, height = panel.box
                corners = (left, top, left + width - 1, top + height - 1)
                ImageDraw.Draw(plain).rectangle(corners, outline=self._colours["quiet"])
        image = self._finish(plain)
        for panel in self.scene.panels:
            if len(panel.cameras) == 1:
                view = View(panel, panel.cameras[0])
                self._shapes(image, view, panel.still, (_seen(panel), (0, 0)))
        return image

    def whole(self, frame: int) -> Image.Image:
        """One whole frame, drawn without regard to any other."""
        return self._drawn(frame, (0, 0, *self.scene.size))

    def changes(self, frame: int) -> list[tuple[Box, Image.Image]]:
        """The regions that differ from the frame asked for before, drawn anew, with their boxes [px]."""
        said = self.scene.captions_of(frame)
        new = set(said) ^ set(self._said)
        texts = [caption_box(caption) for caption in (*self._said, *said) if caption in new]
        self._said = said
        edge = (0, 0, *self.scene.size)
        regions = [part for box in texts if (part := common(box, edge))]
        for index, panel in enumerate(self.scene.panels):
            seen = common(_seen(panel), edge) or _NOTHING
            regions += [part for box in self._reach(index, frame) if (part := common(box, seen))]
        return [(box, self._drawn(frame, box)) for box in merged(regions)]

    def _drawn(self, frame: int, box: Box) -> Image.Image:
        """A region of a frame."""
        image = self._bare.crop(box)
        for index, panel in enumerate(self.scene.panels):
            if part := common(box, _seen(panel)):
                self._panel(image, index, frame, (part, box[:2]))
        for caption in self.scene.captions_of(frame):
            self._write(image, caption, (box, box[:2]))
        for caption, reach in self._standing:
            if common(reach, box):
                self._write(image, caption, (box, box[:2]))
        return image

    def _reach(self, index: int, frame: int) -> list[Box]:
        """What of a panel differs from the frame asked for before [px]."""
        panel = self.scene.panels[index]
        view = View(panel, panel.camera(frame))
        shapes = panel.moving[frame] if panel.moving else ()
        labels = {s: text_box(s, *_setting(s, view)) for s in shapes if isinstance(s, Label)}
        was = self._shown[index]
        now = self._shown[index] = _Shown(view.camera, self._around(shapes, view), labels)
        if was is None or was.camera != now.camera:
            moves = len(panel.cameras) > 1
            return [_seen(panel)] if moves else [now.box, *labels.values()]
        texts = [(was.labels | labels)[label] for label in was.labels.keys() ^ labels.keys()]
        return [was.box, now.box, *texts]

    def _traces(self, shapes: Sequence[Shape], view: View) -> Traces:
        """Shapes but labels with the way along each; worked out once for a frame of a panel."""
        kept = self._traced.get(view.panel.box)
        if kept is None or kept[0] is not shapes or kept[1] is not view.camera:
            traced = [(s, _trace(s, view)) for s in shapes if not isinstance(s, Label)]
            kept = self._traced[view.panel.box] = (shapes, view.camera, traced)
        return kept[2]

    def _around(self, shapes: Sequence[Shape], view: View) -> Box:
        """Pixels of the picture that shapes may touch, labels aside."""
        traced = self._traces(shapes, view)
        if not traced:
            return _NOTHING
        wide = max(s.width if isinstance(s, Stroke) else 0.0 for s, _ in traced)
        pad = max(self.scene.theme.hairline, wide * view.camera.scale)
        left, top, right, bottom = around([path.getbbox() for _, path in traced])
        return (
            math.floor(left - pad) - 1,
            math.floor(top - pad) - 1,
            math.ceil(right + pad) + 2,
            math.ceil(bottom + pad) + 2,
        )

    def _panel(self, image: Image.Image, index: int, frame: int, where: Where) -> None:
        """What a frame shows of a panel, over what stays."""
        panel = self.scene.panels[index]
        view = View(panel, panel.camera(frame))
        (left, top, right, bottom), (x, y) = where
        if len(panel.cameras) > 1:
            strip = self._strip(index, panel)
            if strip is None:
                self._shapes(image, view, panel.still, where)
            else:
                along = round((view.camera.left - strip[1]) * view.camera.scale) - panel.box[0]
                down = panel.box[1]
                part = strip[0].crop((along + left, top - down, along + right, bottom - down))
                image.paste(part, (left - x, top - y))
        if panel.moving:
            self._shapes(image, view, panel.moving[frame], where)

    def _strip(self, index: int, panel: Panel) -> tuple[Image.Image, float] | None:
        """Everything the panel's camera ever passes, once, where it slides by whole pixels."""
        if index not in self._strips:
            scale = panel.cameras[0].scale
            lefts = [camera.left for camera in panel.cameras]
            start = min(lefts)
            whole = all(abs((x - start) * scale - round((x - start) * scale)) < 0.01 for x in lefts)
            width = round((max(lefts) - start) * scale) + panel.box[2]
            if not whole or width > _WIDEST_STRIP:
                self._strips[index] = None
                return None
            box = (0, 0, width, panel.box[3])
            parts = self._finish(Image.new("RGB", box[2:], self._paper))
            view = View(replace(panel, box=box), Camera(start, panel.cameras[0].bottom, scale))
            self._shapes(parts, view, panel.still, (box, (0, 0)))
            self._strips[index] = (parts, start)
        return self._strips[index]

    def _shapes(
        self, image: Image.Image, view: View, shapes: Sequence[Shape], where: Where
    ) -> None:
        """Shapes over what is under them, the labels last."""
        reach = common(self._around(shapes, view), where[0]) or _NOTHING
        for left in range(reach[0], reach[2], _CHUNK):
            box = (left, reach[1], min(left + _CHUNK, reach[2]), reach[3])
            self._enlarged(image, view, shapes, (box, where[1]))
        for shape in shapes:
            if isinstance(shape, Label):
                self._write(image, shape, where, view)

    def _enlarged(
        self, image: Image.Image, view: View, shapes: Sequence[Shape], where: Where
    ) -> None:
        """Shapes but labels in one box, drawn at a larger size and reduced."""
        (left, top, right, bottom), (x, y) = where
        under = image.crop((left - x, top - y, right - x, bottom - y)).convert("RGB")
        size = (under.width * _FINE, under.height * _FINE)
        large = under.resize(size, Image.Resampling.NEAREST)
        draw = ImageDraw.Draw(large)
        hair = max(1, round(self.scene.theme.hairline * _FINE))
        rim = max(1, round(edge_width(self.scene, view.panel) * _FINE))
        for shape, way in self._traces(shapes, view):
            path = ImagePath.Path(way)
            # Pixel centres lie at whole numbers for Pillow, half a fine pixel from the edge we mean.
            path.transform((_FINE, 0, -left * _FINE - 0.5, 0, _FINE, -top * _FINE - 0.5))
            if isinstance(shape, Area):
                if shape.filled:
                    draw.polygon(path, self._colours[shape.role])
                edge = shape.edge or (None if shape.filled else shape.role)
                if edge:
                    draw.line(path, self._colours[edge], rim if shape.filled else hair, "curve")
            else:
                scale = view.camera.scale * _FINE
                thick = max(1, round(shape.width * scale)) if shape.width else hair
                dash = [d * scale for d in shape.dash]
                for piece in dashes(list(path), dash) if dash else (path,):
                    draw.line(piece, self._colours[shape.role], thick, "curve")
        image.paste(self._finish(large.reduce(_FINE)), (left - x, top - y))

    def _write(
        self, image: Image.Image, said: Label | Caption, where: Where, view: View | None = None
    ) -> None:
        """A text at size; a label, which has a view, with a rim of the paper's colour."""
        start, size, rim = _setting(said, view)
        part = common(text_box(said, start, size, rim), where[0])
        if part is None:
            return
        x, y = where[1]
        at = (part[0] - x, part[1] - y)
        under = image.crop((*at, part[2] - x, part[3] - y)).convert("RGB")
        inks = [(rim, self._paper)] if rim else []
        for wide, ink in (*inks, (0, self._colours[said.role])):
            mask, (left, top, *_), _ = writing(said.text, size, said.bold, wide)
            under.paste(ink, (start[0] + left - part[0], start[1] + top - part[1]), mask)
        image.paste(self._finish(under), at)


class View(NamedTuple):
    """A panel as one camera shows it."""

    panel: Panel
    camera: Camera


class _Shown(NamedTuple):
    """What a panel shows besides what stands: its camera, the box round its shapes, and each text's [px]."""

    camera: Camera
    box: Box
    labels: dict[Label, Box]


_NOTHING: Final = (0, 0, 0, 0)

Traces = list[tuple[Area | Stroke, ImagePath.Path]]
"""Shapes, each with the way along it [px]."""

Where = tuple[Box, tuple[int, int]]
"""A box of the picture to draw in, and the point of the picture where the image begins [px]."""


def _seen(panel: Panel) -> Box:
    """The box of a panel inside its frame [px]."""
    left, top, width, height = panel.box
    inset = 1 if panel.framed else 0
    return left + inset, top + inset, left + width - inset, top + height - inset


def _setting(said: Label | Caption, view: View | None) -> tuple[tuple[int, int], float, int]:
    """Where a text's base line starts, the height of its letters, and how wide its rim is [px]."""
    if isinstance(said, Caption):
        return start_of(said, said.at, said.size), said.size, 0
    assert view is not None
    (left, top, _, high), camera = view.panel.box, view.camera
    size = view.panel.text * said.size
    x = left + (said.at[0] - camera.left) * camera.scale
    middle = top + high - (said.at[1] - camera.bottom) * camera.scale
    at = (x, middle + DROP * view.panel.text * said.size)
    return start_of(said, at, size), size, max(1, round(size / 9))


@lru_cache(maxsize=256)
def _closed(outline: Outline) -> ImagePath.Path:
    return ImagePath.Path([*outline, outline[0]])


def _trace(shape: Area | Stroke, view: View) -> ImagePath.Path:
    """The way along a shape [px], back to its start where it is closed."""
    (left, top, _, high), camera = view.panel.box, view.camera
    scale = camera.scale
    right = left - camera.left * scale
    down = top + high + camera.bottom * scale
    place = place_of(shape)
    if place is None:
        again = shape.points[:1] if isinstance(shape, Area) or shape.closed else ()
        path = ImagePath.Path((*shape.points, *again))
        path.transform((scale, 0, right, 0, -scale, down))
        return path
    outline, x, z, vx, vz, side = place
    path = ImagePath.Path(_closed(outline))
    vx, vz = vx * scale, vz * scale
    path.transform((vx, -side * vz, right + x * scale, -vz, -side * vx, down - z * scale))
    return path


def dashes(points: list[tuple[float, float]], dash: list[float]) -> list[list[tuple[float, float]]]:
    """Cut a line into the pieces a dash pattern leaves.

    dash: lengths on and off, in the unit of the points; above 0. An odd list is repeated.

    >>> dashes([(0.0, 0.0), (5.0, 0.0)], [2.0, 1.0])
    [[(0.0, 0.0), (2.0, 0.0)], [(3.0, 0.0), (5.0, 0.0)]]
    """
    pattern = dash * 2 if len(dash) % 2 else dash
    out: list[list[tuple[float, float]]] = []
    which, left = 0, max(pattern[0], 0.5)
    piece = [points[0]]
    for start, end in pairwise(points):
        length, done = math.dist(start, end), 0.0
        while length - done > left:
            done += left
            share = done / length
            at = (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
            if which % 2 == 0:
                out.append([*piece, at])
            which = (which + 1) % len(pattern)
            left, piece = max(pattern[which], 0.5), [at]
        left -= length - done
        piece.append(end)
    if which % 2 == 0 and len(piece) > 1:
        out.append(piece)
    return out
