"""Scenes and readers shared by the tests of the clip writers."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from animate.body.figure import knee_gap, thigh_angle
from animate.body.shapes import Area, Label, Role, Stroke
from animate.film import film
from animate.film.ground import Runway
from animate.film.scene import Panel, Scene
from animate.film.svg import svg
from animate.film.themes import hexed
from tests.animate.film.film_motion import END, body_at, com_at

FONTS = [str(f) for f in sorted((Path(film.__file__).parents[1] / "fonts").glob("*.ttf"))]
SVG = "{http://www.w3.org/2000/svg}"


def take(plan: film.Schedule, gap: float = 0.0, name: str = "Runa") -> film.Take:
    return film.Take(
        [body_at(t, gap) for t in plan.instants],
        [com_at(t) for t in plan.instants],
        name,
        runway=Runway(-1.2, 6.5, 5.8, (0.0,), ((4.7, "step"),), ((2.4, 0.3),)),
    )


NOTES = (
    film.Note(0.1, 0.2, lambda body: knee_gap(body, "r"), "knees"),
    film.Note(0.3, 0.3, lambda body: thigh_angle(body, "l"), "thigh held"),
)


def scene(camera: str = "both", **more: object) -> Scene:
    plan = film.schedule(0.0, END, fps=20, slow=1.5, holds=((0.3, 0.7),))
    size = (480, 270)
    return film.clip(take(plan), plan, NOTES, camera, size, **more)  # type: ignore[arg-type]


def beside() -> Scene:
    plan = film.schedule(0.0, END, fps=12.5, slow=1, holds=((0.0, 0.5),))
    rows = (film.Row("knee gap", 31.0, 52.0, "cm"), film.Row("contact", 0.157, 0.17, "s", 3))
    return film.side_by_side(take(plan), take(plan, 25, "Bram"), plan, rows, NOTES, (640, 360))


def without_texts(whole: Scene) -> Scene:
    """The same scene without any lettering, for comparing with renderers of other fonts."""

    def bare(panel: Panel) -> Panel:
        return replace(
            panel,
            still=tuple(s for s in panel.still if not isinstance(s, Label)),
            moving=tuple(
                tuple(s for s in shapes if not isinstance(s, Label)) for shapes in panel.moving
            ),
        )

    return replace(whole, panels=tuple(map(bare, whole.panels)), captions=(), still_captions=())


def off(one: Image.Image, other: Image.Image) -> float:
    """Mean difference of two pictures, 0 to 255."""
    a, b = (np.asarray(im.convert("RGB"), dtype=float) for im in (one, other))
    return float(np.abs(a - b).mean())


def strictly(whole: Scene) -> Image.Image:
    """A scene's SVG by the other renderer, which knows no animation."""
    import resvg_py

    drawn = resvg_py.svg_to_bytes(svg_string=svg(whole), font_files=FONTS, skip_system_fonts=True)
    with Image.open(io.BytesIO(bytes(drawn))) as image:
        return image.convert("RGB")


def worst(one: Image.Image, other: Image.Image, side: int = 8) -> float:
    """Largest difference between the mean colours of squares of the two pictures, 0 to 255."""
    a, b = (np.asarray(im.convert("RGB"), dtype=float) for im in (one, other))
    high, wide = (n // side * side for n in a.shape[:2])
    tiles = (a - b)[:high, :wide].reshape(high // side, side, wide // side, side, 3)
    return float(np.abs(tiles.mean((1, 3))).max())


def drawn_otherwise(whole: Scene, frame: int) -> Image.Image:
    """One frame drawn by matplotlib straight from the shapes; texts are left out."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    width, height = whole.size
    colours: dict[str, Any] = {k: tuple(c / 255 for c in v) for k, v in whole.theme.colours.items()}
    figure = Figure(figsize=(width / 100, height / 100), dpi=100, facecolor=colours["paper"])
    canvas = FigureCanvasAgg(figure)
    px = 0.72  # points
    for panel in whole.panels:
        left, top, wide, high = panel.box
        place = (left / width, 1 - (top + high) / height, wide / width, high / height)
        axes = figure.add_axes(place)
        camera = panel.camera(frame)
        axes.set_xlim(camera.left, camera.left + wide / camera.scale)
        axes.set_ylim(camera.bottom, camera.bottom + high / camera.scale)
        axes.axis("off")
        rim = min(whole.theme.hairline, 0.012 * camera.scale) * px
        moving = panel.moving[frame] if panel.moving else ()
        for order, shape in enumerate((*panel.still, *moving)):
            how: dict[str, Any] = {"zorder": order, "snap": False}
            if isinstance(shape, Area):
                xs, zs = zip(*shape.points, strict=True)
                edge = colours[shape.edge] if shape.edge else "none"
                axes.fill(xs, zs, facecolor=colours[shape.role], edgecolor=edge, lw=rim, **how)
            elif isinstance(shape, Stroke):
                xs, zs = zip(*shape.points, strict=True)
                thick = (shape.width * camera.scale or whole.theme.hairline) * px
                dash = [d * camera.scale * px / thick for d in shape.dash]
                line = axes.plot(xs, zs, color=colours[shape.role], lw=thick, **how)[0]
                line.set_solid_capstyle("butt")
                if dash:
                    line.set_linestyle((0, dash))
                    line.set_dash_capstyle("butt")
        if panel.framed:
            for spine in (((0, 0, 1, 1, 0), (0, 1, 1, 0, 0)),):
                axes.plot(*spine, color=colours["quiet"], lw=1.4, transform=axes.transAxes)
    canvas.draw()  # type: ignore[no-untyped-call]
    rgba = canvas.buffer_rgba()  # type: ignore[no-untyped-call]
    return Image.fromarray(np.asarray(rgba)).convert("RGB")


# --- a small reader of animated SVG ----------------------------------------------------------


@dataclass(frozen=True)
class Seen:
    """Something an SVG shows at an instant; its style is the colours of inside and edge."""

    style: str
    points: tuple[tuple[float, float], ...]
    text: str = ""


def sample(markup: str, t: float) -> list[Seen]:
    """What an SVG of ours shows at a time, in order; reads the standard's rules, not our code."""
    root = ET.fromstring(markup)
    out: list[Seen] = []
    named = {f"#{e.get('id')}": e for e in root.iter() if e.get("id")}
    _walk(root, t, np.eye(3), out, named)
    return out


def _value(animation: ET.Element, t: float) -> str:
    assert animation.get("calcMode") == "discrete"
    length = float(animation.get("dur", "").removesuffix("s"))
    values = animation.get("values", "").split(";")
    times = animation.get("keyTimes")
    keys = (
        [float(k) for k in times.split(";")]
        if times
        else [i / len(values) for i in range(len(values))]
    )
    assert len(keys) == len(values)
    assert keys[0] == 0.0
    assert keys == sorted(keys)
    if animation.get("repeatCount") == "indefinite":
        t %= length
    elif t >= length:
        assert animation.get("fill") == "freeze"
        return values[-1]
    return [v for k, v in zip(keys, values, strict=True) if k * length <= t + 1e-9][-1]


def _matrix(kind: str, value: str) -> np.ndarray:
    numbers = [float(n) for n in value.replace(",", " ").split()]
    if kind == "translate":
        return np.array([[1, 0, numbers[0]], [0, 1, numbers[1]], [0, 0, 1]])
    assert kind == "rotate"
    a = np.radians(numbers[0])
    return np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])


def _walk(
    element: ET.Element,
    t: float,
    above: np.ndarray,
    out: list[Seen],
    named: dict[str, ET.Element],
) -> None:
    if element.tag in (SVG + "style", SVG + "title", SVG + "clipPath"):
        return
    told = dict(element.attrib)
    turn = np.eye(3)
    if "transform" in told:
        for kind, value in re.findall(r"(\w+)\(([^)]*)\)", told["transform"]):
            turn = turn @ _matrix(kind, value)
    for child in element:
        if child.tag == SVG + "animateTransform":
            turn = _matrix(child.get("type", ""), _value(child, t))
        elif child.tag == SVG + "animate":
            told[child.get("attributeName", "")] = _value(child, t)
    if told.get("display") == "none":
        return
    here = above @ turn
    if element.tag == SVG + "use":
        _walk(named[told["href"]], t, here, out, named)
    elif element.tag == SVG + "path":
        points = tuple(map(tuple, (here @ _points(told["d"]).T).T[:, :2].tolist()))
        out.append(Seen(_style(told), points))
    elif element.tag == SVG + "text":
        at = here @ (float(told["x"]), float(told["y"]), 1.0)
        out.append(Seen(_style(told), ((at[0], at[1]),), "".join(element.itertext())))
    for child in element:
        _walk(child, t, here, out, named)


def _style(told: dict[str, str]) -> str:
    assert "class" not in told
    assert "style" not in told
    return f"{told['fill']} {told.get('stroke', 'none')}"


def styled(whole: Scene, role: Role, edge: Role) -> str:
    """The style of what is drawn in these roles."""
    return f"{hexed(whole.theme.colours[role])} {hexed(whole.theme.colours[edge])}"


def calmed(markup: str) -> str:
    """The markup as a viewer that asks for less motion takes it, by its own style sheet."""
    (media,) = re.findall(
        r"<style>@media\(prefers-reduced-motion:reduce\)\{((?:[^{}]*\{[^{}]*\})*)\}</style>", markup
    )
    for name, display in re.findall(r"\.([-\w]+)\{display:(\w+)\}", media):
        markup = re.sub(
            f'<g class="{name}"(?: display="\\w+")?',
            f'<g class="{name}" display="{display}"',
            markup,
        )
    return markup


def _points(data: str) -> np.ndarray:
    """Points of a path of M, l, h, v, H, V and z commands."""
    out: list[tuple[float, float]] = []
    x = y = 0.0
    for command, body in re.findall(r"([MlhvHVz])([^MlhvHVz]*)", data):
        numbers = [float(n) for n in re.findall(r"-?\d*\.?\d+", body)]
        if command == "M":
            x, y = numbers[:2]
            out.append((x, y))
        elif command == "l":
            for dx, dy in zip(numbers[::2], numbers[1::2], strict=True):
                x, y = x + dx, y + dy
                out.append((x, y))
        elif command in "hvHV":
            n = numbers[0]
            if command == "h":
                x += n
            elif command == "v":
                y += n
            elif command == "H":
                x = n
            else:
                y = n
            out.append((x, y))
    return np.array([(px, py, 1.0) for px, py in out])
