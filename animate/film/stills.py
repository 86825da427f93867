"""Stills of a motion: the ghost trail and the pose strip."""

from __future__ import annotations

import math
from collections.abc import Sequence

from animate.body.figure import athlete, ghost, path
from animate.body.shapes import Label, Shape
from animate.body.wording import typeset
from animate.film.ground import DEPTH
from animate.film.scene import Camera, Caption, Panel, Scene, check_size
from animate.film.staging import (
    bodies_of,
    coms_of,
    figures_of,
    fixed_camera,
    ground_of,
    in_view,
    noted,
    shortened,
)
from animate.film.take import Note, Schedule, Take
from animate.film.themes import theme as theme_named
from animate.refused import Refused


def ghost_trail(
    take: Take,
    plan: Schedule,
    width: int = 1600,
    theme: str = "light",
    notes: Sequence[Note] = (),
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
