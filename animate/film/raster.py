"""Frames as pixels: only what changed since the frame before is drawn again.

Shapes are drawn at three times the size and reduced, which smooths their edges; texts are drawn
at size. Pillow only, so that a clip needs no numpy.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Any, Final

from PIL import Image, ImageDraw

from animate.body.placed import place_of
from animate.body.shapes import Area, Label, Shape, Stroke
from animate.film.boxes import Box, caption_box, common, extent, font, merged
from animate.film.scene import Camera, Caption, Panel, Scene, edge_width

DROP: Final = 0.35
"""From a label's middle down to its base line, in letter heights."""
_WIDEST_STRIP: Final = 16_000


class Raster:
    """Draws the frames of a checked scene, in any order, each from the one drawn before.

    Parameters
    ----------
    scene : Scene
        Already checked.
    fine : int
        How many times larger shapes are drawn before they are reduced.
    """

    def __init__(self, scene: Scene, fine: int = 3) -> None:
        self.scene = scene
        self._fine = fine
        self._colours = scene.theme.colours
        self._paper = self._colours["paper"]
        self._strips: dict[int, tuple[Image.Image, float]] = {}
        self._dirty: list[Box] = []
        self._bare = self._without_captions()
        self.background = self._bare.copy()
        self._captions(self.background, scene.still_captions, (0, 0))

    def _without_captions(self) -> Image.Image:
        image = Image.new("RGB", self.scene.size, self._paper)
        for panel in self.scene.panels:
            if len(panel.cameras) == 1:
                left, top, width, height = panel.box
                part = self._shapes(panel, panel.still, panel.cameras[0], (0, 0, width, height))
                image.paste(part, (left, top))
            if panel.framed:
                self._frame(image, panel)
        return image

    def _frame(self, image: Image.Image, panel: Panel) -> None:
        left, top, width, height = panel.box
        corners = (left, top, left + width - 1, top + height - 1)
        ImageDraw.Draw(image).rectangle(corners, outline=self._colours["quiet"])

    def whole(self, frame: int) -> Image.Image:
        """One whole frame, drawn without regard to any other."""
        image = self._bare.copy()
        for index, panel in enumerate(self.scene.panels):
            left, top, width, height = panel.box
            part = self._panel(index, panel, frame, (0, 0, width, height))
            image.paste(part, (left, top))
            if panel.framed:
                self._frame(image, panel)
        self._captions(image, self.scene.still_captions, (0, 0))
        self._captions(image, self.scene.captions_of(frame), (0, 0))
        return image

    def changes(self, frame: int) -> list[tuple[Box, Image.Image]]:
        """The regions that differ from the frame asked for before, drawn anew.

        Returns
        -------
        list of (box, image)
            Box as left, top, right, bottom [px].
        """
        now = self._boxes(frame)
        regions = merged([*self._dirty, *now.values()])
        self._dirty = list(now.values())
        out = []
        for box in regions:
            image = self._bare.crop(box)
            for index, panel in enumerate(self.scene.panels):
                left, top, width, height = panel.box
                part = common(box, (left, top, left + width, top + height))
                if part is None:
                    continue
                if index in now and common(box, now[index]):
                    inner = (part[0] - left, part[1] - top, part[2] - left, part[3] - top)
                    image.paste(
                        self._panel(index, panel, frame, inner),
                        (part[0] - box[0], part[1] - box[1]),
                    )
                if panel.framed:
                    moved = ImageDraw.Draw(image)
                    corners = (
                        left - box[0],
                        top - box[1],
                        left + width - 1 - box[0],
                        top + height - 1 - box[1],
                    )
                    moved.rectangle(corners, outline=self._colours["quiet"])
            self._captions(image, self.scene.still_captions, box[:2])
            self._captions(image, self.scene.captions_of(frame), box[:2])
            out.append((box, image))
        return out

    def _boxes(self, frame: int) -> dict[int, Box]:
        """What a frame draws: panels by their number, captions by numbers below 0."""
        boxes: dict[int, Box] = {}
        width, height = self.scene.size
        for index, panel in enumerate(self.scene.panels):
            left, top, wide, high = panel.box
            edge = (left, top, left + wide, top + high)
            if len(panel.cameras) > 1:
                boxes[index] = edge
                continue
            if not panel.moving or not panel.moving[frame]:
                continue
            x0, y0, x1, y1 = self._reach(panel, panel.moving[frame], panel.camera(frame))
            part = common((left + x0, top + y0, left + x1, top + y1), edge)
            if part:
                boxes[index] = part
        for nth, caption in enumerate(self.scene.captions_of(frame)):
            part = common(caption_box(caption), (0, 0, width, height))
            if part:
                boxes[-1 - nth] = part
        return boxes

    def _reach(self, panel: Panel, shapes: Iterable[Shape], camera: Camera) -> Box:
        """Pixels of the panel that the shapes may touch."""
        scale = camera.scale
        xs: list[float] = []
        zs: list[float] = []
        pad = self.scene.theme.hairline
        for shape in shapes:
            if isinstance(shape, Label):
                size = panel.text * shape.size
                wide = extent(shape.text, size, shape.bold)[2] / scale
                high = size / scale
                share = {"left": 0.0, "middle": 0.5, "right": 1.0}[shape.align]
                x = shape.at[0] - share * wide
                xs += (x - 0.2 * high, x + wide + 0.2 * high)
                zs += (shape.at[1] - high, shape.at[1] + high)
            else:
                place = place_of(shape)
                around = place.corners() if place else shape.points
                xs += [p[0] for p in around]
                zs += [p[1] for p in around]
                if isinstance(shape, Stroke):
                    pad = max(pad, shape.width * scale)
        low = panel.box[3] + camera.bottom * scale
        return (
            math.floor((min(xs) - camera.left) * scale - pad) - 1,
            math.floor(low - max(zs) * scale - pad) - 1,
            math.ceil((max(xs) - camera.left) * scale + pad) + 2,
            math.ceil(low - min(zs) * scale + pad) + 2,
        )

    def _panel(self, index: int, panel: Panel, frame: int, box: Box) -> Image.Image:
        """A part of a panel; `box` in the panel's own pixels."""
        camera = panel.camera(frame)
        shapes = panel.moving[frame] if panel.moving else ()
        left, top = panel.box[:2]
        if len(panel.cameras) == 1:
            under, at = self._bare, (left + box[0], top + box[1], left + box[2], top + box[3])
        else:
            strip = self._strip(index, panel)
            if strip is None:
                return self._shapes(panel, (*panel.still, *shapes), camera, box)
            under, start = strip
            along = round((camera.left - start) * camera.scale)
            at = (along + box[0], box[1], along + box[2], box[3])
        if not shapes:
            return under.crop(at)
        return self._shapes(panel, shapes, camera, box, (under, at))

    def _strip(self, index: int, panel: Panel) -> tuple[Image.Image, float] | None:
        """Everything the panel's camera ever passes, once, where it slides by whole pixels."""
        if index in self._strips:
            return self._strips[index]
        scale = panel.cameras[0].scale
        lefts = [camera.left for camera in panel.cameras]
        start = min(lefts)
        whole = all(abs((x - start) * scale - round((x - start) * scale)) < 0.01 for x in lefts)
        width = round((max(lefts) - start) * scale) + panel.box[2]
        if not whole or width > _WIDEST_STRIP:
            return None
        camera = Camera(start, panel.cameras[0].bottom, scale)
        parts = Image.new("RGB", (width, panel.box[3]), self._paper)
        for x in range(0, width, 1000):
            box = (x, 0, min(x + 1000, width), panel.box[3])
            parts.paste(self._shapes(panel, panel.still, camera, box), (x, 0))
        self._strips[index] = (parts, start)
        return self._strips[index]

    def _shapes(
        self,
        panel: Panel,
        shapes: Iterable[Shape],
        camera: Camera,
        box: Box,
        under: tuple[Image.Image, Box] | None = None,
    ) -> Image.Image:
        """Shapes over what is under them, in one box of the panel's pixels."""
        width, height = box[2] - box[0], box[3] - box[1]
        size = (width * self._fine, height * self._fine)
        if under is None:
            large = Image.new("RGB", size, self._paper)
        else:
            large = under[0].resize(size, Image.Resampling.NEAREST, under[1])
        draw = ImageDraw.Draw(large)
        scale = camera.scale * self._fine
        # Pixel centres lie at whole numbers for Pillow, half a fine pixel from the edge we mean.
        right = -camera.left * scale - box[0] * self._fine - 0.5
        down = (panel.box[3] - box[1]) * self._fine + camera.bottom * scale - 0.5
        hair = max(1, round(self.scene.theme.hairline * self._fine))
        rim = max(1, round(edge_width(self.scene, panel) * self._fine))
        labels = []
        for shape in shapes:
            if isinstance(shape, Label):
                labels.append(shape)
            elif isinstance(shape, Area):
                flat = _pixels(shape, right, down, scale)
                if shape.filled:
                    draw.polygon(flat, self._colours[shape.role])
                edge = shape.edge or (None if shape.filled else shape.role)
                if edge:
                    thick = rim if shape.filled else hair
                    draw.line(flat + flat[:2], self._colours[edge], thick, "curve")
            else:
                thick = max(1, round(shape.width * scale)) if shape.width else hair
                points = [(right + x * scale, down - z * scale) for x, z in shape.points]
                if shape.closed:
                    points.append(points[0])
                dash = [d * scale for d in shape.dash]
                for piece in dashes(points, dash) if dash else (points,):
                    draw.line(piece, self._colours[shape.role], thick, "curve")
        image = large.reduce(self._fine)
        if labels:
            pen = ImageDraw.Draw(image)
            for label in labels:
                size_px = panel.text * label.size
                x = (label.at[0] - camera.left) * camera.scale - box[0]
                z = panel.box[3] - (label.at[1] - camera.bottom) * camera.scale - box[1]
                self._text(pen, (x, z + DROP * size_px), label, size_px, halo=True)
        return image

    def _captions(self, image: Image.Image, captions: Iterable[Caption], off: Any) -> None:
        pen = None
        edge = (off[0], off[1], off[0] + image.width, off[1] + image.height)
        for caption in captions:
            if common(caption_box(caption), edge) is None:
                continue
            pen = pen or ImageDraw.Draw(image)
            at = (caption.at[0] - off[0], caption.at[1] - off[1])
            self._text(pen, at, caption, caption.size, halo=False)

    def _text(
        self,
        pen: ImageDraw.ImageDraw,
        at: tuple[float, float],
        said: Label | Caption,
        size: float,
        halo: bool,
    ) -> None:
        anchor = {"left": "ls", "middle": "ms", "right": "rs"}[said.align]
        letters = font(size, said.bold)
        colour = self._colours[said.role]
        if halo:
            wide = max(1, round(size / 9))
            pen.text(
                at, said.text, colour, letters, anchor, stroke_width=wide, stroke_fill=self._paper
            )
        else:
            pen.text(at, said.text, colour, letters, anchor)


def dashes(points: list[tuple[float, float]], dash: list[float]) -> list[list[tuple[float, float]]]:
    """Cut a line into the pieces a dash pattern leaves.

    Parameters
    ----------
    points : list of (float, float)
    dash : list of float
        Lengths on and off, in the unit of the points; above 0. An odd list is repeated.

    Returns
    -------
    list of list of (float, float)

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


def _pixels(shape: Area, right: float, down: float, scale: float) -> list[tuple[float, float]]:
    """The points of an area in pixels, z turned down."""
    place = place_of(shape)
    if place is None:
        return [(right + x * scale, down - z * scale) for x, z in shape.points]
    outline, x, z, vx, vz, side = place
    x, z, vx, vz = right + x * scale, down - z * scale, vx * scale, -vz * scale
    fx, fz = side * vz, -side * vx
    return [(x + s * vx + f * fx, z + s * vz + f * fz) for s, f in outline]
