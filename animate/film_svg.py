"""A scene as an animated SVG that every browser plays: each outline is written once and moved.

An outline that only turns and travels is stored once, with the angles and places of all frames
beside it; one that changes its form is stored frame by frame. Nothing blends between frames, so
every instant shows exactly one frame, whenever the viewer looks.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from typing import Final, TypeVar

from animate.scene import Camera, Caption, Panel, Scene, check, edge_width
from animate.shapes import Area, Label, Shape, Stroke
from animate.svg_motion import Clock, Slot, carried, path_data, rigid, short, slots_of
from animate.themes import hexed
from animate.whole_file import refuse_existing, write_whole

_FONTS: Final = "DejaVu Sans,Verdana,Segoe UI,Helvetica,Arial,sans-serif"
_DROP: Final = 0.35
_ANCHOR: Final = {"left": "start", "middle": "middle", "right": "end"}


def save_svg(scene: Scene, path: str | os.PathLike[str], overwrite: bool = False) -> None:
    """Write a scene as an animated SVG (a plain SVG where it has one frame), whole or not at all.

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
    text = svg(scene)

    def fill(name: str) -> None:
        with open(name, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)

    write_whole(path, fill, overwrite)


def svg(scene: Scene) -> str:
    """The text of the SVG.

    Parameters
    ----------
    scene : Scene
        Already checked.

    Returns
    -------
    str
    """
    width, height = scene.size
    clock = Clock(scene)
    title = f"<title>{escaped(scene.title)}</title>" if scene.title else ""
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" role="img" class="{escaped(scene.theme.name)}" font-family="{_FONTS}">{title}',
        f"<style>{_styles(scene)}</style>",
        f'<path class="paper" d="M0 0H{width}V{height}H0z"/>',
    ]
    out += [_panel(panel, scene, clock) for panel in scene.panels]
    out += [_caption(caption) for caption in scene.still_captions]
    out += _texts([scene.captions_of(i) for i in range(clock.count)], clock, _caption_key, _caption)
    out.append("</svg>\n")
    return "\n".join(line for line in out if line)


def escaped(text: str) -> str:
    """Text that is safe inside markup and inside a quoted attribute.

    >>> escaped('<b>"&')
    '&lt;b&gt;&quot;&amp;'
    """
    for raw, safe in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;")):
        text = text.replace(raw, safe)
    return text


def _styles(scene: Scene) -> str:
    used: dict[str, None] = {"paper": None}
    edged: dict[tuple[str, str], None] = {}
    for panel in scene.panels:
        for shapes in (panel.still, *panel.moving):
            for shape in shapes:
                used[shape.role] = None
                if isinstance(shape, Area) and shape.edge:
                    edged[shape.role, shape.edge] = None
    for captions in (scene.still_captions, *scene.captions):
        for caption in captions:
            used[caption.role] = None
    if any(panel.framed for panel in scene.panels):
        used["quiet"] = None
    colours, hair = scene.theme.colours, short(scene.theme.hairline, 2)
    # Under the theme's own class: in a page with several clips every style reaches them all.
    own = f".{scene.theme.name} "
    rules = [f"{own}[class^=l-]{{fill:none;stroke-width:{hair};stroke-linejoin:round}}"]
    for role in used:
        colour = hexed(colours[role])  # type: ignore[index]
        rules.append(f"{own}.{role},{own}.t-{role}{{fill:{colour}}}")
        rules.append(f"{own}.l-{role}{{stroke:{colour}}}")
    for role, edge in edged:
        fill, line = hexed(colours[role]), hexed(colours[edge])  # type: ignore[index]
        rules.append(f"{own}.{role}-{edge}{{fill:{fill};stroke:{line};stroke-linejoin:round}}")
    paper = hexed(colours["paper"])
    rules.append(
        f"{own}.h{{stroke:{paper};stroke-width:.22em;stroke-linejoin:round;paint-order:stroke}}"
    )
    rules.append(f"{own}text{{white-space:pre}}{own}.b{{font-weight:700}}")
    return "".join(rules)


def _panel(panel: Panel, scene: Scene, clock: Clock) -> str:
    # Not a nested <svg>: browsers give each of those a clock of its own.
    left, top, width, height = panel.box
    scale = panel.cameras[0].scale
    name = f"p{left}-{top}-{width}-{height}"  # says what it is: the same in every clip of a page
    out = [
        f'<clipPath id="{name}"><path d="M{left} {top}h{width}v{height}h-{width}z"/></clipPath>'
        f'<g clip-path="url(#{name})">'
    ]
    places = [_place(camera, panel.box) for camera in panel.cameras]
    base = places[clock.poster if len(places) > 1 else 0]
    rim = short(edge_width(scene, panel), 2)
    out.append(f'<g transform="translate({base})" stroke-width="{rim}">')
    if len(set(places)) > 1:
        out.append(clock.moved("translate", places))
    drawn, said = _split(panel.still)
    out += [_element(shape, scale) for shape in drawn]
    out += [_label(label, panel) for label in said]
    split = [_split(shapes) for shapes in panel.moving]
    out += _drawn([shapes for shapes, _ in split], scale, clock)
    out += _texts(
        [labels for _, labels in split],
        clock,
        _label_key,
        lambda label: _label(label, panel),
        lambda label: _spot(label, panel),
    )
    out.append("</g>")
    if panel.framed:
        inner = f"M{left + 0.5:g} {top + 0.5:g}h{width - 1}v{height - 1}h-{width - 1}z"
        out.append(f'<path class="l-quiet" style="stroke-width:1" d="{inner}"/>')
    out.append("</g>")
    return "\n".join(line for line in out if line)


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


def _drawn(frames: list[list[Area | Stroke]], scale: float, clock: Clock) -> list[str]:
    slots = slots_of(frames)
    if slots is None:  # nothing in common: every frame a group of its own
        out = []
        for i, shapes in enumerate(frames):
            inner = "".join(_element(shape, scale) for shape in shapes)
            out.append(f"<g{clock.hidden([i])}>{clock.shown([i])}{inner}</g>")
        return out
    return [_moving(slot, scale, clock) for slot in slots]


def _moving(slot: Slot, scale: float, clock: Clock) -> str:
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
            return _element(first, scale, **around)
        turns = rigid(outlines, scale)
    if turns is None:
        paths = [path_data(points, _closed(first), scale) for points in outlines]
        shown = clock.changed("d", paths) + around["shown"]
        return _element(first, scale, around["hidden"], shown, paths[clock.poster])
    places, angles, own = turns
    turned = len(set(angles)) > 1
    inner = clock.moved("rotate", angles) if turned else ""
    spin = f' transform="rotate({angles[clock.poster]})"' if turned else ""
    path = path_data(own, _closed(first), 1.0, 2)
    body = _element(first, scale, spin, inner, path)
    travel = clock.moved("translate", places) + around["shown"]
    start = f' transform="translate({places[clock.poster]})"'
    return f"<g{start}{around['hidden']}>{travel}{body}</g>"


def _closed(shape: Area | Stroke) -> bool:
    return shape.closed if isinstance(shape, Stroke) else True


def _element(
    shape: Area | Stroke, scale: float, hidden: str = "", shown: str = "", path: str = ""
) -> str:
    path = path or path_data(shape.points, _closed(shape), scale)
    name, more = _class(shape, scale)
    end = f">{shown}</path>" if shown else "/>"
    return f'<path class="{name}"{more}{hidden} d="{path}"{end}'


def _class(shape: Area | Stroke, scale: float) -> tuple[str, str]:
    if isinstance(shape, Area):
        if not shape.filled:
            return f"l-{shape.edge or shape.role}", ""
        return (f"{shape.role}-{shape.edge}" if shape.edge else shape.role), ""
    more = f' style="stroke-width:{short(shape.width * scale, 2)}"' if shape.width else ""
    if shape.dash:
        more += f' stroke-dasharray="{" ".join(short(d * scale) for d in shape.dash)}"'
    return f"l-{shape.role}", more


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


def _caption(caption: Caption) -> str:
    return _text(
        caption.at, caption.text, caption.size, caption.role, caption.align, caption.bold, False
    )


def _label_key(label: Label) -> object:
    return (label.text, label.role, label.size, label.align, label.bold)


def _spot(label: Label, panel: Panel) -> tuple[float, float]:
    scale = panel.cameras[0].scale
    return label.at[0] * scale, -label.at[1] * scale + _DROP * panel.text * label.size


def _label(label: Label, panel: Panel) -> str:
    size = panel.text * label.size
    return _text(_spot(label, panel), label.text, size, label.role, label.align, label.bold, True)


def _text(
    at: tuple[float, float], text: str, size: float, role: str, align: str, bold: bool, halo: bool
) -> str:
    names = f"t-{role}" + (" b" if bold else "") + (" h" if halo else "")
    anchor = "" if align == "left" else f' text-anchor="{_ANCHOR[align]}"'
    return (
        f'<text class="{names}" x="{short(at[0])}" y="{short(at[1])}" font-size="{short(size)}"'
        f"{anchor}>{escaped(text)}</text>"
    )
