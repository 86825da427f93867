"""Clips of a moving athlete: whole drill, close-up, side by side, ghost trail and pose strip.

The three steps are: a `Schedule` says which instants are shown and for how long; whoever has the
motion gives the body at those instants as a `Take`; `clip` or `side_by_side` lays both out as a
`Scene`, which `save` writes as GIF, SVG, PNG, MP4 or WebM.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final, Literal

from animate.body.figure import athlete, ghost, path
from animate.body.shapes import Label, Point, Shape
from animate.body.wording import TIMES, typeset
from animate.film.ground import DEPTH
from animate.film.scene import Camera, Caption, Panel, Scene, Tell, check, check_size
from animate.film.staging import (
    Frames,
    bodies_of,
    coms_of,
    figures_of,
    fixed_camera,
    following_cameras,
    ground_of,
    in_view,
    noted,
    shortened,
    standing_cameras,
    text_height,
    whole_labels,
)
from animate.film.take import Note as Note
from animate.film.take import Row as Row
from animate.film.take import Schedule as Schedule
from animate.film.take import Take as Take
from animate.film.take import rows_of as rows_of
from animate.film.take import schedule as schedule
from animate.film.themes import theme as theme_named
from animate.refused import Refused
from animate.whole_file import refuse_existing, write_all

KINDS: Final = (".gif", ".svg", ".png", ".mp4", ".webm")
"""Endings of the files a scene can be saved as."""


def _pace(plan: Schedule) -> str:
    if abs(plan.slow - 1) < 1e-6:
        return "full speed"
    return f"{plan.slow:g}{TIMES} slower" if plan.slow > 1 else f"{1 / plan.slow:g}{TIMES} faster"


Seen = tuple[Take, list[list[Point]], list[Point], Frames, tuple[int, int, int, int]]
"""A take, its bodies, centres of mass and figures at the schedule's instants, and the box it is seen in."""


def clip(
    take: Take,
    plan: Schedule,
    notes: Sequence[Note] = (),
    camera: Literal["fixed", "follow", "both"] = "both",
    size: tuple[int, int] = (960, 540),
    theme: str = "light",
    trim: bool = False,
) -> Scene:
    """One athlete through one drill.

    notes: what is measured on the figure, and short captions.
    camera: {"fixed", "follow", "both"}, the whole runway, a close-up that goes along, or the close-up
        above the runway.
    size: [px], even numbers.
    theme: {"light", "print-grey"}.
    trim: with a fixed camera, cut the picture's height to what the runway and the athlete take.
    """
    if camera not in ("fixed", "follow", "both"):
        raise Refused("camera", "fixed, follow or both", f"{camera!r}")
    check_size(size)
    bodies, coms = bodies_of(take, plan, "take"), coms_of(take, plan, "take")
    figures = figures_of(take, bodies, coms)
    width, height = size
    unit = text_height(size)
    head = floor = round(2.2 * unit)
    panels: list[Panel] = []
    if camera != "follow":
        high = height - head if camera == "fixed" else round((height - head) * 0.36)
        text = max(9.5, 0.72 * unit) if camera == "both" else 0.9 * unit
        eye, still = fixed_camera(take, bodies, (0, height - high, width, high), text)
        top = max(z for body in bodies for _, z in body) + 0.2
        taken = min(high, max(48, math.ceil((top - eye.bottom) * eye.scale)))
        if camera == "both":  # what a long runway leaves empty goes to the close-up
            high = taken
        elif trim:
            high = taken + (head + taken) % 2
            height = head + high
        floor = height - high
        moving = noted(figures, bodies, plan, notes) if camera == "fixed" else figures
        panels.append(Panel((0, floor, width, high), (eye,), (*still, *_way(coms)), moving, text))
    if camera != "fixed":
        box = (0, head, width, (floor if panels else height) - head)
        panels += _close_ups(
            [(take, bodies, coms, figures, box)], plan, notes, unit, camera == "both"
        )
    name = shortened(take.name, 0.38 * width, 1.1 * unit, bold=True)
    standing = [Caption((0.6 * unit, 1.5 * unit), name, 1.1 * unit, bold=True)]
    changing = [_line(plan, i, notes, width, unit) for i in range(len(plan.instants))]
    scene = _scene((width, height), plan, panels, standing, changing)
    return replace(scene, theme=theme_named(theme), title=take.name)


def _way(coms: list[Point]) -> tuple[Shape, ...]:
    """The path of the centre of mass, where the take has one."""
    return path(coms) if len(coms) > 1 else ()


def _close_ups(
    seen: Sequence[Seen], plan: Schedule, notes: Sequence[Note], unit: float, framed: bool
) -> list[Panel]:
    """Panels of one scale whose cameras go along with their athletes."""
    takes, bodies, _, _, boxes = zip(*seen, strict=True)
    views = following_cameras(takes, bodies, boxes, 0.9 * unit)
    out = []
    for (_, all_bodies, coms, figures, box), (cameras, ground) in zip(seen, views, strict=True):
        if len(seen) == 1:  # two bodies are compared in the middle of their pictures
            cameras = standing_cameras(cameras, all_bodies, plan, box[2])
        moving = noted(figures, all_bodies, plan, notes)
        still, moving = whole_labels((*ground, *_way(coms)), moving, cameras, box[2], 0.9 * unit)
        out.append(Panel(box, cameras, still, moving, 0.9 * unit, framed))
    return out


def _scene(
    size: tuple[int, int],
    plan: Schedule,
    panels: Sequence[Panel],
    standing: Sequence[Caption],
    changing: Sequence[tuple[Caption, ...]],
) -> Scene:
    """A clip of a schedule that starts again, and rests where it is first held."""
    said = tuple(c for c in standing if c.text)
    rests = plan.held[0] if plan.held else 0
    return Scene(size, plan.durations, tuple(panels), said, tuple(changing), poster=rests)


def _line(
    plan: Schedule, frame: int, notes: Sequence[Note], width: int, unit: float
) -> tuple[Caption, ...]:
    """The changing captions: what is being shown, the clock and the pace."""
    instant = plan.instants[frame]
    said = [n.text for n in notes if n.text and n.holds(instant)]
    pace = "held" if frame in plan.held else _pace(plan)
    clock = typeset(f"{instant:.2f} s · {pace}")
    out = [Caption((width - 0.6 * unit, 1.5 * unit), clock, 0.9 * unit, "quiet", "right")]
    if said:
        text = shortened(said[-1], 0.35 * width, unit, bold=True)
        out.append(Caption((0.57 * width, 1.5 * unit), text, unit, "measure", "middle", True))
    return tuple(out)


def side_by_side(
    left: Take,
    right: Take,
    plan: Schedule,
    rows: Sequence[Row] = (),
    notes: Sequence[Note] = (),
    size: tuple[int, int] = (960, 540),
    theme: str = "light",
) -> Scene:
    """Two motions next to each other at one scale, with their measures and the differences.

    left, right: bodies at the schedule's instants, both counted from the instant they are aligned at
        (time 0), such as the step touchdown.
    rows: measures under the pictures, at most 6.
    notes: drawn on both figures; times counted from the aligned instant.
    size, theme: as of `clip`.
    """
    check_size(size)
    if len(rows) > 6:
        raise Refused("measures", "at most 6 rows", len(rows))
    width, height = size
    unit = text_height(size)
    head, row_high = round(2.2 * unit), round(1.45 * unit)
    foot = row_high * (len(rows) + 1) + round(0.6 * unit) if rows else 0
    wide, high = (width - 8) // 2, height - head - foot
    if high < 0.3 * height:
        raise Refused("size", f"taller for {len(rows)} rows of measures", f"{width} x {height}")
    seen: list[Seen] = []
    standing = []
    ends: tuple[Literal["left", "right"], ...] = ("left", "right")
    for take, side in zip((left, right), ends, strict=True):
        box = (0 if side == "left" else width - wide, head, wide, high)
        bodies, coms = bodies_of(take, plan, side), coms_of(take, plan, side)
        seen.append((take, bodies, coms, figures_of(take, bodies, coms), box))
        at = 0.6 * unit if side == "left" else width - 0.6 * unit
        name = shortened(take.name, 0.33 * width, 1.05 * unit, bold=True)
        standing.append(Caption((at, 1.5 * unit), name, 1.05 * unit, "text", side, True))
    standing += _table(rows, left.name, right.name, width, height - foot, row_high, unit)
    changing = []
    for i, instant in enumerate(plan.instants):
        pace = "held" if i in plan.held else _pace(plan)
        clock = typeset(f"{instant:+.2f} s · {pace}" if abs(instant) > 5e-3 else f"0.00 s · {pace}")
        changing.append((Caption((width / 2, 1.5 * unit), clock, 0.9 * unit, "quiet", "middle"),))
    scene = _scene(size, plan, _close_ups(seen, plan, notes, unit, True), standing, changing)
    return replace(scene, theme=theme_named(theme), title=f"{left.name} / {right.name}")


def _table(
    rows: Sequence[Row], left: str, right: str, width: int, top: float, high: int, unit: float
) -> list[Caption]:
    """The measures: the left motion's column, the name, the difference, the right motion's."""
    if not rows:
        return []
    out = []
    size = 0.95 * unit
    start = 0.6 * unit
    columns = (0.44 * width, 0.66 * width, 0.88 * width)
    y = top + 0.1 * unit + high * 0.85
    out.append(Caption((start, y), "measure", 0.8 * unit, "quiet"))
    for x, text in zip(columns, (left, right, "difference"), strict=True):
        text = shortened(text, 0.2 * width, 0.8 * unit)
        out.append(Caption((x, y), text, 0.8 * unit, "quiet", "middle"))
    for row in rows:
        y += high
        one, two, change = row.texts()
        out.append(Caption((start, y), shortened(row.name, 0.32 * width, size), size))
        out.append(Caption((columns[0], y), one, size, "text", "middle", True))
        out.append(Caption((columns[1], y), two, size, "text", "middle", True))
        out.append(Caption((columns[2], y), change, size, "measure", "middle", True))
    return out


def ghost_trail(
    take: Take, plan: Schedule, width: int = 1600, theme: str = "light", notes: Sequence[Note] = ()
) -> Scene:
    """A still of the whole drill: a figure at each instant of the schedule, where it was.

    plan: few instants, far enough apart; the held ones are drawn in full, the others pale. Where none
        is held, all are drawn in full.
    width: of the picture [px], an even number; its height is what the trail needs.
    theme: {"light", "print-grey"}.
    notes: drawn on the figures at their instants; the text of the first stands over the picture.
    """
    bodies, coms = bodies_of(take, plan, "take"), coms_of(take, plan, "take")
    check_size((width, width))
    unit = max(11.0, width / 72)
    head = round(2.2 * unit) if take.name else 0
    eye, still = fixed_camera(take, bodies, (0, 0, width, width), 0.9 * unit)
    top = max(z for body in bodies for _, z in body) + 0.2
    high = math.ceil((top - eye.bottom) * eye.scale)
    size = (width, head + high + (head + high) % 2)
    box = (0, size[1] - high, width, high)
    full = set(plan.held) or set(range(len(bodies)))
    roomy = 0.9 * unit < 0.24 * eye.scale
    shapes: list[Shape] = list(path(coms)) if len(coms) > 1 else []
    for i, body in enumerate(bodies):
        if i not in full:
            shapes += ghost(body)
    for i in sorted(full):
        shapes += athlete(bodies[i], take.near)
        for note in notes:
            if note.draw and note.holds(plan.instants[i]):
                drawn = note.draw(bodies[i])
                # Among small figures a readable text would hide them: the head says it alone.
                shapes += drawn if roomy else [s for s in drawn if not isinstance(s, Label)]
    panel = Panel(box, (eye,), (*still, *shapes), (), 0.9 * unit)
    said = _trail_head(take.name, notes, width, unit)
    return Scene(size, (1.0,), (panel,), said, (), theme_named(theme), False, 0, take.name)


def _trail_head(name: str, notes: Sequence[Note], width: int, unit: float) -> tuple[Caption, ...]:
    """The name, and at the other end what the first note says."""
    if not name:
        return ()
    text = shortened(name, 0.6 * width, 1.1 * unit, bold=True)
    out = [Caption((0.6 * unit, 1.5 * unit), text, 1.1 * unit, bold=True)]
    for note in notes[:1]:
        text = shortened(note.text, 0.36 * width, unit, bold=True)
        at = (width - 0.6 * unit, 1.5 * unit)
        out.append(Caption(at, text, unit, "measure", "right", bold=True))
    return tuple(c for c in out if c.text)


def pose_strip(
    take: Take,
    plan: Schedule,
    captions: Sequence[str] = (),
    columns: int = 6,
    cell: tuple[int, int] = (240, 260),
    theme: str = "light",
    notes: Sequence[Note] = (),
) -> Scene:
    """A still contact sheet: one small picture for each instant of the schedule, all of one scale.

    captions: what each picture shows; the time is printed where none is given.
    columns: most pictures in a row, 1 to 16; the rows are filled evenly.
    cell: size of one picture [px], even numbers.
    theme: {"light", "print-grey"}.
    notes: drawn on the figures at their instants.
    """
    if not 1 <= columns <= 16:
        raise Refused("columns", "1 to 16", columns)
    bodies, coms = bodies_of(take, plan, "take"), coms_of(take, plan, "take")
    if captions and len(captions) != len(bodies):
        raise Refused("captions", f"one for each of {len(bodies)} pictures", len(captions))
    lines = math.ceil(len(bodies) / columns)
    columns = math.ceil(len(bodies) / lines)  # no row much shorter than the others
    check_size(cell)
    unit = max(11.0, cell[0] / 16)
    head = round(2.4 * unit) if take.name else 0
    under = round(1.7 * unit)
    low = (take.runway.depth if take.runway else DEPTH) + 0.05
    tall = max(z for body in bodies for _, z in body) + 0.12 + low
    widest = max(max(x for x, _ in b) - min(x for x, _ in b) for b in bodies) + 0.2
    scale = min((cell[1] - under) / tall, cell[0] / widest)
    panels = []
    said = [Caption((0.5 * unit, 1.6 * unit), take.name, 1.2 * unit, bold=True)] if head else []
    frames = noted(figures_of(take, bodies, coms), bodies, plan, notes)
    for i, body in enumerate(bodies):
        x, y = (i % columns) * cell[0], head + (i // columns) * cell[1]
        box = (x + 2, y, cell[0] - 4, cell[1] - under)
        middle = (min(p[0] for p in body) + max(p[0] for p in body)) / 2
        bottom = -max(low, (box[3] / scale - tall) * 0.3 + low)
        camera = Camera(middle - box[2] / scale / 2, bottom, scale)
        still, _ = ground_of(take, 0.95 * unit / scale)
        still = in_view(still, camera.left - 0.1, camera.left + box[2] / scale + 0.1)
        panels.append(Panel(box, (camera,), (*still, *frames[i]), (), 0.95 * unit, framed=True))
        text = captions[i] if captions else typeset(f"{plan.instants[i]:.3f} s")
        text, at = shortened(text, cell[0], unit), (x + cell[0] / 2, y + cell[1] - 0.55 * unit)
        said.append(Caption(at, text, unit, "text", "middle"))
    size = (columns * cell[0], head + (head % 2) + lines * cell[1])
    look = theme_named(theme)
    return Scene(size, (1.0,), tuple(panels), tuple(said), (), look, False, 0, take.name)


def save(
    scene: Scene,
    file: str | os.PathLike[str],
    overwrite: bool = False,
    tell: Tell | None = None,
    also: Sequence[tuple[str, Callable[[str], None]]] = (),
) -> None:
    """Write a scene in the format its file name ends in, whole or not at all.

    file: .gif, .svg, .png (the poster frame), .mp4 or .webm; the last two need the extra `video`.
    overwrite: whether a file already there may be replaced.
    tell: told how many frames are done and how many there are, after each frame of a GIF or a video;
        the other formats take well under a second.
    also: files that go with it: all are written, or none.
    """
    kind = os.path.splitext(os.fspath(file))[1].lower()
    if kind not in KINDS:
        raise Refused("file", ".gif, .svg, .png, .mp4 or .webm needed", kind or "no ending")
    refuse_existing(file, overwrite)
    check(scene)

    def fill(name: str) -> None:
        # Each writer is loaded only when it is wanted.
        if kind == ".gif":
            from animate.film.gif import write_gif

            write_gif(scene, name, tell)
        elif kind == ".svg":
            from animate.film.svg import write_svg

            write_svg(scene, name)
        elif kind == ".png":
            from animate.film.raster import Raster

            Raster(scene).whole(scene.poster).save(name, "PNG")
        else:
            from animate.film.video import write_video

            write_video(scene, name, kind, tell)

    write_all([(file, fill), *also], overwrite, sync=True)
