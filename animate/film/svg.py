"""A scene as an animated SVG that every browser plays: each outline is written once and moved.

An outline that only turns and travels is stored once, with the angles and places of all frames
beside it; one that changes its form is stored frame by frame. Nothing blends between frames, so
every instant shows exactly one frame, whenever the viewer looks.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final, TypeVar

from animate.body.shapes import Area, Label, Role, Shape, Stroke
from animate.film.scene import Camera, Caption, Panel, Scene, edge_width
from animate.film.svg_motion import Clock, Slot, carried, path_data, rigid, short, slots_of
from animate.film.themes import Theme, hexed, inks

_FONTS: Final = "DejaVu Sans,Verdana,Segoe UI,Helvetica,Arial,sans-serif"
_DROP: Final = 0.35
_CALM: Final = (
    "<style>@media(prefers-reduced-motion:reduce)"
    "{.clip-moves{display:none}.clip-rests{display:inline}}</style>"
)
_ESCAPED: Final = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})
_ANCHOR: Final = {"left": "start", "middle": "middle", "right": "end"}


def write_svg(scene: Scene, name: str) -> None:
    """Write a checked scene as an animated SVG (a plain one where it has one frame) under that
    very name."""
    with open(name, "w", encoding="utf-8", newline="\n") as file:
        file.write(svg(scene))


def svg(scene: Scene) -> str:
    """The text of the SVG.

    Every colour is an attribute of its own element, so that renderers without style sheets, and
    pages with several clips, show it alike. A viewer that asks for less motion, or cannot move,
    shows the poster frame.

    scene: already checked.
    """
    width, height = scene.size
    clock = Clock(scene)
    title = f"<title>{scene.title.translate(_ESCAPED)}</title>" if scene.title else ""
    paper = hexed(scene.theme.colours["paper"])
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" role="img" font-family="{_FONTS}" stroke-linejoin="round" '
        f'xml:space="preserve">{title}',
        _CALM if clock.count > 1 else "",
        f'<path fill="{paper}" d="M0 0H{width}V{height}H0z"/>',
    ]
    pen = Pen(scene.theme, 1.0, 0.0)
    out += [_panel(panel, scene, clock) for panel in scene.panels]
    out += [pen.caption(caption) for caption in scene.still_captions]
    rows = [scene.captions_of(i) for i in range(clock.count)]
    resting = [pen.caption(caption) for caption in rows[clock.poster]]
    out += _calmed(_texts(rows, clock, _caption_key, pen.caption), resting, clock)
    out.append("</svg>\n")
    return "\n".join(line for line in out if line)


def _calmed(moving: list[str], resting: list[str], clock: Clock, at: str = "") -> list[str]:
    """What moves, and beside it the poster frame for viewers that ask for less motion."""
    if not moving or clock.count == 1:
        return moving
    moves = f'<g class="clip-moves"{at}>'
    rests = f'<g class="clip-rests" display="none"{at}>'
    return [moves, *moving, "</g>", rests, *resting, "</g>"]


class Pen:
    """How shapes and texts are written: colours by role, and the scale of a panel.

    scale: [px/m].
    text: height of a label of size 1 [px].
    colours: in place of the theme's, as attributes say them.
    """

    def __init__(
        self, theme: Theme, scale: float, text: float, colours: Mapping[Role, str] | None = None
    ) -> None:
        self.scale, self._text_high = scale, text
        self._colours = colours or inks(theme)
        self._hair = short(theme.hairline, 2)

    def shape(self, shape: Area | Stroke, hidden: str = "", shown: str = "", path: str = "") -> str:
        """A shape as an element; `path` in place of its own outline."""
        path = path or path_data(shape.points, _closed(shape), self.scale)
        end = f">{shown}</path>" if shown else "/>"
        return f'<path {self._paint(shape)}{hidden} d="{path}"{end}'

    def _paint(self, shape: Area | Stroke) -> str:
        if isinstance(shape, Area) and shape.filled:
            edge = f' stroke="{self._colours[shape.edge]}"' if shape.edge else ""
            return f'fill="{self._colours[shape.role]}"{edge}'
        wide, dash, role = self._hair, "", shape.role
        if isinstance(shape, Area):
            role = shape.edge or role
        else:
            wide = short(shape.width * self.scale, 2) if shape.width else wide
            if shape.dash:
                lengths = " ".join(short(d * self.scale) for d in shape.dash)
                dash = f' stroke-dasharray="{lengths}"'
        return f'fill="none" stroke="{self._colours[role]}" stroke-width="{wide}"{dash}'

    def caption(self, caption: Caption) -> str:
        """A caption as an element."""
        return self._text(caption.at, caption, caption.size, False)

    def label(self, label: Label) -> str:
        """A label as an element, its letters over a rim of the paper's colour."""
        return self._text(self.spot(label), label, self._text_high * label.size, True)

    def spot(self, label: Label) -> tuple[float, float]:
        """Where the base line of a label lies in its panel [px]."""
        low = _DROP * self._text_high * label.size
        return label.at[0] * self.scale, -label.at[1] * self.scale + low

    def _text(self, at: tuple[float, float], said: Caption | Label, size: float, halo: bool) -> str:
        looks = f'fill="{self._colours[said.role]}"'
        if said.bold:
            looks += ' font-weight="700"'
        if halo:
            paper = self._colours["paper"]
            looks += f' stroke="{paper}" stroke-width="{short(0.22 * size)}" paint-order="stroke"'
        anchor = "" if said.align == "left" else f' text-anchor="{_ANCHOR[said.align]}"'
        return (
            f'<text {looks} x="{short(at[0])}" y="{short(at[1])}" font-size="{short(size)}"'
            f"{anchor}>{said.text.translate(_ESCAPED)}</text>"
        )


def _panel(panel: Panel, scene: Scene, clock: Clock) -> str:
    # Not a nested <svg>: browsers give each of those a clock of its own.
    left, top, width, height = panel.box
    pen = Pen(scene.theme, panel.cameras[0].scale, panel.text)
    name = f"p{left}-{top}-{width}-{height}"  # says what it is: the same in every clip of a page
    out = [
        f'<clipPath id="{name}"><path d="M{left} {top}h{width}v{height}h-{width}z"/></clipPath>'
        f'<g clip-path="url(#{name})">'
    ]
    places = [_place(camera, panel.box) for camera in panel.cameras]
    base = places[clock.poster if len(places) > 1 else 0]
    rim = short(edge_width(scene, panel), 2)
    still = _elements(panel.still, pen)
    split = [_split(shapes) for shapes in panel.moving]
    moving = _drawn([shapes for shapes, _ in split], pen, clock)
    moving += _texts([labels for _, labels in split], clock, _label_key, pen.label, pen.spot)
    resting = _elements(panel.moving[clock.poster], pen) if panel.moving else []
    if len(set(places)) > 1:
        # What stands still is written once and shown in both; named by what it is, as above.
        ground = "\n".join(still)
        name = f"g{left}-{top}-{zlib.crc32(ground.encode()):08x}"
        at = f' transform="translate({base})"'
        moving = [clock.moved("translate", places), f'<g id="{name}">{ground}</g>', *moving]
        resting = [f'<use href="#{name}"/>', *resting]
        out.append(f'<g stroke-width="{rim}">')
        out += _calmed(moving, resting, clock, at)
    else:
        out.append(f'<g transform="translate({base})" stroke-width="{rim}">')
        out += still + _calmed(moving, resting, clock)
    out.append("</g>")
    if panel.framed:
        inner = f"M{left + 0.5:g} {top + 0.5:g}h{width - 1}v{height - 1}h-{width - 1}z"
        quiet = hexed(scene.theme.colours["quiet"])
        out.append(f'<path fill="none" stroke="{quiet}" d="{inner}"/>')
    out.append("</g>")
    return "\n".join(line for line in out if line)


def _elements(shapes: Iterable[Shape], pen: Pen) -> list[str]:
    """Shapes as elements that stay, the labels over the rest."""
    drawn, said = _split(shapes)
    return [*map(pen.shape, drawn), *map(pen.label, said)]


def _place(camera: Camera, box: tuple[int, int, int, int]) -> str:
    """Where the world's origin lies in the picture [px]."""
    x = box[0] - camera.left * camera.scale
    return f"{short(x)} {short(box[1] + box[3] + camera.bottom * camera.scale)}"


def _split(shapes: Iterable[Shape]) -> tuple[list[Area | Stroke], list[Label]]:
    drawn: list[Area | Stroke] = []
    said: list[Label] = []
    for shape in shapes:
        if isinstance(shape, Label):
            said.append(shape)
        else:
            drawn.append(shape)
    return drawn, said


# --- outlines -------------------------------------------------------------------------------


def _drawn(frames: list[list[Area | Stroke]], pen: Pen, clock: Clock) -> list[str]:
    slots = slots_of(frames)
    if slots is None:  # nothing in common: every frame a group of its own
        out = []
        for i, shapes in enumerate(frames):
            inner = "".join(map(pen.shape, shapes))
            out.append(f"<g{clock.hidden([i])}>{clock.shown([i])}{inner}</g>")
        return out
    return [_moving(slot, pen, clock) for slot in slots]


def _moving(slot: Slot, pen: Pen, clock: Clock) -> str:
    scale = pen.scale
    shapes = slot.shapes
    frames = list(shapes)
    first = shapes[frames[0]]
    around = {"shown": clock.shown(frames), "hidden": clock.hidden(frames)}
    last = first
    full = []  # frames without the outline keep its last form, unseen
    for i in range(clock.count):
        last = shapes.get(i, last)
        full.append(last)
    turns = carried(full, scale)
    if turns is None:
        outlines = [shape.points for shape in full]
        if all(points == outlines[0] for points in outlines):
            return pen.shape(first, **around)
        turns = rigid(outlines, scale)
    if turns is None:
        paths = [path_data(points, _closed(first), scale) for points in outlines]
        shown = clock.changed("d", paths) + around["shown"]
        return pen.shape(first, around["hidden"], shown, paths[clock.poster])
    places, angles, own = turns
    turned = len(set(angles)) > 1
    inner = clock.moved("rotate", angles) if turned else ""
    spin = f' transform="rotate({angles[clock.poster]})"' if turned else ""
    path = path_data(own, _closed(first), 1.0, 2)
    body = pen.shape(first, spin, inner, path)
    travel = clock.moved("translate", places) + around["shown"]
    start = f' transform="translate({places[clock.poster]})"'
    return f"<g{start}{around['hidden']}>{travel}{body}</g>"


def _closed(shape: Area | Stroke) -> bool:
    return shape.closed if isinstance(shape, Stroke) else True


# --- texts ----------------------------------------------------------------------------------

_Text = TypeVar("_Text", Caption, Label)


def _texts(
    frames: Sequence[Sequence[_Text]],
    clock: Clock,
    wording: Callable[[_Text], object],
    write: Callable[[_Text], str],
    spot: Callable[[_Text], tuple[float, float]] | None = None,
) -> list[str]:
    """Texts through the clip: each wording once, shown in its frames, moved where it moves."""
    runs: dict[object, dict[int, _Text]] = {}
    for i, texts in enumerate(frames):
        seen: dict[object, int] = {}
        for text in texts:
            kind = wording(text)
            nth = seen[kind] = seen.get(kind, 0) + 1
            runs.setdefault((nth, kind), {})[i] = text
    out = []
    for run in runs.values():
        shown = list(run)
        last = first = run[shown[0]]
        base = run.get(clock.poster, first)  # where a viewer that cannot move shows it
        inner = clock.shown(shown)
        if spot is not None:
            spots = []
            for i in range(clock.count):
                last = run.get(i, last)
                spots.append(spot(last))
            if len(set(spots)) > 1:
                x0, y0 = spot(base)
                moves = [f"{short(x - x0)} {short(y - y0)}" for x, y in spots]
                inner += clock.moved("translate", moves)
        head, body = write(base).split(">", 1)
        out.append(f"{head}{clock.hidden(shown)}>{inner}{body}")
    return out


def _caption_key(caption: Caption) -> object:
    return caption


def _label_key(label: Label) -> object:
    return (label.text, label.role, label.size, label.align, label.bold)
