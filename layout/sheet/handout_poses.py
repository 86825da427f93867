"""The strip of key instants of a handout, all at one scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from layout.moving.poses import KeyPose
from layout.page.page import Ink, Line, View, extent, moved
from layout.page.thin import thinned
from layout.page.widths import text_width, wrapped
from layout.sheet.handout_blocks import STEP, Block
from layout.sheet.texts import SMALL, text_at

SCALES: Final = (20, 25, 30, 40, 50, 60, 75, 100)
"""Scales a strip may have; said over it (ours)."""
TALLEST: Final = 37.0
"""Height the figures may take [mm] (ours)."""
UNDER: Final = 28.0
"""Room for the names and figures under a row of large ones [mm] (ours)."""
SIDE: Final = 1.5
"""Free edge inside a cell [mm]."""


def pose_strip(
    poses: Sequence[KeyPose],
    width: float,
    least: int = SCALES[0],
    tallest: float = TALLEST,
    rows: int = 1,
) -> Block:
    """The key instants side by side, in one or more rows, with their names and figures under them.

    poses: at least one.
    width: [mm]
    least: no larger scale than 1 to this.
    tallest: no figure higher than this [mm].
    """
    many = -(-len(poses) // rows)
    cell = width / many
    room = cell - 2 * SIDE
    for scale in (s for s in SCALES if s >= least):
        inks = [View(scale, 0.0, 0.0).ink(pose.shapes, f"pose-{i}") for i, pose in enumerate(poses)]
        drawn = [(ink, extent(ink)) for ink in inks]
        tall = max(-box[1] for _, box in drawn)
        if tall <= tallest and all(box[2] - box[0] <= room for _, box in drawn):
            break
    ink: list[Ink] = [Line(((0.0, 0.0), (width, 0.0)), "quiet", None, 0.2)]
    said = f"Figures 1:{scale}"
    middles = [(i + 0.5) * cell for i in range(many)]
    at = _free(middles, [box for _, box in drawn[:many]], width, text_width(said, SMALL))
    base = 1.5 + tall + (0.0 if at is not None else STEP)
    ink.append(text_at((at or 0.0, 4.0), said, SMALL, role="quiet"))
    deep = 0.0
    for i, (pose, (shapes, box)) in enumerate(zip(poses, drawn, strict=True)):
        if i and i % many == 0:
            base = deep + 4.0 + tall
        middle = middles[i % many]
        ink += moved(thinned(shapes), middle - (box[0] + box[2]) / 2.0, base)
        told, low = _told(pose, i + 1, (middle, base + max(box[3], 0.0) + 4.6), room)
        ink += told
        deep = max(deep, low)
    return Block(f"Positions, 1:{scale}", tuple(ink), deep)


def _told(
    pose: KeyPose, number: int, at: tuple[float, float], width: float
) -> tuple[list[Ink], float]:
    """The name and figures under a figure, and where they end [mm]."""
    middle, y = at
    ink: list[Ink] = []
    for line in wrapped(f"{number}. {pose.label}", SMALL, width, True):
        ink.append(text_at((middle, y), line, SMALL, bold=True, align="middle"))
        y += STEP
    for line in listed(pose.measures, width):
        ink.append(text_at((middle, y), line, SMALL, align="middle"))
        y += STEP
    return ink, y - STEP + 0.8


def _free(
    middles: Sequence[float],
    boxes: Sequence[tuple[float, float, float, float]],
    width: float,
    wide: float,
) -> float | None:
    """Where something so wide stands beside all figures; None where there is no such place [mm]."""
    ends = [0.0]
    for middle, (left, _, right, _) in zip(middles, boxes, strict=True):
        half = (right - left) / 2.0 + SIDE
        ends += [middle - half, middle + half]
    ends.append(width)
    gaps = zip(ends[::2], ends[1::2], strict=True)
    return next((start for start, end in gaps if end - start >= wide), None)


def listed(items: Sequence[tuple[str, str]], width: float) -> list[str]:
    """Names and values one after the other; what is too wide for a line breaks before its value."""
    lines: list[str] = []
    for i, (name, value) in enumerate(items):
        said = value + ("," if i < len(items) - 1 else "")
        whole = f"{name} {said}"
        if lines and text_width(f"{lines[-1]} {whole}", SMALL) <= width:
            lines[-1] += f" {whole}"
        elif text_width(whole, SMALL) <= width:
            lines.append(whole)
        else:
            lines += [*wrapped(name, SMALL, width), *wrapped(said, SMALL, width)]
    return lines
