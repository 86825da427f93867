"""The strip of key instants of a handout, all at one scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from layout.moving.poses import KeyPose
from layout.sheet.handout_blocks import STEP, Block
from layout.sheet.page import Ink, Line, View, moved
from layout.sheet.page import extent as extent
from layout.sheet.texts import SMALL, TURN, text_at
from layout.sheet.thin import thinned
from layout.sheet.widths import text_width, wrapped

SCALES: Final = (20, 25, 30, 40, 50, 60, 75, 100)
"""Scales a strip may have; said over it (ours)."""
TALLEST: Final = 37.0
"""Height the figures may take [mm] (ours)."""
SIDE: Final = 1.5
"""Free edge inside a cell [mm]."""


def _drawn(
    poses: Sequence[KeyPose], scale: int
) -> list[tuple[list[Ink], tuple[float, float, float, float]]]:
    out = []
    for i, pose in enumerate(poses):
        ink = View(scale, 0.0, 0.0).ink(pose.shapes, f"pose-{i}")
        out.append((ink, extent(ink)))
    return out


def pose_strip(poses: Sequence[KeyPose], width: float) -> Block:
    """The key instants side by side with their names and figures under them.

    Parameters
    ----------
    poses : sequence of KeyPose
        At least one.
    width : float
        [mm]

    Returns
    -------
    Block
    """
    cell = width / len(poses)
    room = cell - 2 * SIDE
    for scale in SCALES:
        drawn = _drawn(poses, scale)
        tall = max(-box[1] for _, box in drawn)
        if tall <= TALLEST and all(box[2] - box[0] <= room for _, box in drawn):
            break
    ink: list[Ink] = [Line(((0.0, 0.0), (width, 0.0)), "quiet", None, 0.2)]
    base = 1.5 + tall
    # Behind the first figure's head, where no limb is.
    ink.append(text_at((0.0, 4.0), f"Figures 1:{scale}", SMALL, role="quiet"))
    deep = 0.0
    for i, (pose, (shapes, box)) in enumerate(zip(poses, drawn, strict=True)):
        middle = (i + 0.5) * cell
        ink += moved(thinned(shapes), middle - (box[0] + box[2]) / 2.0, base)
        y = base + max(box[3], 0.0) + 4.6
        heads = wrapped(f"{i + 1}. {pose.label}", SMALL, room, True)
        for line in heads:
            ink.append(text_at((middle, y), line, SMALL, bold=True, align="middle"))
            y += SMALL * TURN
        for line in listed([f"{name} {value}" for name, value in pose.measures], room):
            ink.append(text_at((middle, y), line, SMALL, align="middle"))
            y += STEP
        deep = max(deep, y - STEP + 0.8)
    return Block(f"Positions, 1:{scale}", tuple(ink), deep)


def listed(items: Sequence[str], width: float) -> list[str]:
    """Small texts one after the other, none broken that fits a line by itself."""
    lines: list[str] = []
    for i, item in enumerate(items):
        comma = "," if i < len(items) - 1 else ""
        trial = f"{lines[-1]} {item}{comma}" if lines else f"{item}{comma}"
        if lines and text_width(trial, SMALL) <= width:
            lines[-1] = trial
        else:
            lines += wrapped(f"{item}{comma}", SMALL, width)
    return lines
