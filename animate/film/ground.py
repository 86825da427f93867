"""The runway seen from the side: ground, sand, boards, marks and hurdles, in metres."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from animate.body.shapes import Area, Label, Role, Shape, Stroke
from animate.body.wording import typeset
from animate.refused import Refused

DEPTH: Final = 0.10
"""How thick the runway is drawn [m]."""
SAND_DEPTH: Final = 0.22
"""The same of a runway that ends in sand: as deep as a foot is let sink into it (ours)."""
BOARD: Final = 0.20
"""How long a take-off board is along the runway [m] (World Athletics Technical Rules 29-31)."""


@dataclass(frozen=True)
class Runway:
    """A stretch of runway and what stands on it.

    start, end: the stretch drawn [m]; the metre scale counts from x = 0.
    sand: where the sand starts [m]; none where left out.
    boards: take-off lines [m]; the board is drawn before the line.
    marks: where a mark stands [m] and what it is called.
    hurdles: where a hurdle stands and how high it is [m].
    """

    start: float
    end: float
    sand: float | None = None
    boards: tuple[float, ...] = ()
    marks: tuple[tuple[float, str], ...] = ()
    hurdles: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        numbers = [self.start, self.end, self.sand or 0.0, *self.boards]
        numbers += [x for x, _ in self.marks] + [v for pair in self.hurdles for v in pair]
        for value in numbers:
            if not math.isfinite(value):
                raise Refused("runway", "must be finite numbers", value)
        if not self.start < self.end <= self.start + 200:
            raise Refused(
                "runway", "an end 0 to 200 m beyond the start", f"{self.start} to {self.end}"
            )
        for _, height in self.hurdles:
            if not 0 < height <= 1.2:
                raise Refused("hurdle", "0 to 1.2 m high", height)

    def shapes(self, line: float = 0.2) -> tuple[Shape, ...]:
        """The runway with a metre scale and the names of its marks under it.

        line: height of a line of text [m of the world], which depends on the picture's scale.
        """
        deep = self.depth
        edge = self.end if self.sand is None else min(max(self.sand, self.start), self.end)
        out: list[Shape] = []
        if edge > self.start:
            out.append(_box(self.start, edge, -deep, 0.0, "ground"))
        if edge < self.end:
            out.append(_box(edge, self.end, -deep, 0.0, "sand"))
            out.append(Stroke(((edge, -deep), (edge, 0.0)), "line"))
        out.append(Stroke(((self.start, 0.0), (self.end, 0.0)), "line"))
        out += [_box(x - BOARD, x, -DEPTH, 0.0, "line") for x in self.boards]
        out += self._scale(line)
        for x, _ in self.marks:
            out.append(Area(((x - 0.07, 0.0), (x + 0.07, 0.0), (x, 0.16)), "mark", edge="paper"))
        out += self._names(line)
        for x, height in self.hurdles:
            out.append(Stroke(((x - 0.16, 0.012), (x + 0.16, 0.012)), "hurdle", 0.024))
            out.append(Stroke(((x, 0.0), (x, height)), "hurdle", 0.024))
            out.append(_box(x - 0.03, x + 0.03, max(height - 0.07, 0.0), height, "hurdle"))
        return tuple(out)

    @property
    def depth(self) -> float:
        """How thick it is drawn [m]."""
        return DEPTH if self.sand is None or self.sand >= self.end else SAND_DEPTH

    def below(self, line: float = 0.2) -> float:
        """How far the texts reach under the ground line [m]."""
        rows = max((row for _, _, row in self._rows(line)), default=-1) + 1
        return self.depth + 0.05 + line * (1.25 + 1.2 * rows)

    def _scale(self, line: float) -> list[Shape]:
        wide = 0.62 * line * max(len(_metres(self.start)), len(_metres(self.end)))
        step = next((s for s in (1, 2, 5, 10, 20) if wide < 0.85 * s), 50)
        out: list[Shape] = []
        for x in range(math.ceil(self.start - 1e-9), math.floor(self.end + 1e-9) + 1):
            out.append(Stroke(((x, -self.depth), (x, -self.depth - 0.05)), "quiet"))
            half = 0.31 * line * len(_metres(x))
            if x % step == 0 and self.start + half <= x <= self.end - half:
                at = (float(x), -self.depth - 0.05 - 0.65 * line)
                out.append(Label(at, _metres(x), "quiet", 0.85))
        return out

    def _rows(self, line: float) -> list[tuple[float, str, int]]:
        """Names of marks in as many rows as keep them apart."""
        ends: list[float] = []
        out = []
        for x, name in sorted(self.marks):
            if not name:
                continue
            half = 0.32 * line * len(name) + 0.1 * line
            # Kept inside the stretch drawn, where there is room.
            x = min(max(x, self.start + half), max(self.end - half, self.start + half))
            row = next((i for i, end in enumerate(ends) if end < x - half), len(ends))
            ends[row : row + 1] = [x + half]
            out.append((x, name, row))
        return out

    def _names(self, line: float) -> list[Shape]:
        top = -self.depth - 0.05 - 1.75 * line
        return [
            Label((x, top - 1.2 * line * row), name, "mark", 0.95, bold=True)
            for x, name, row in self._rows(line)
        ]


def _metres(x: float) -> str:
    return typeset(f"{x:.0f} m")


def _box(left: float, right: float, low: float, high: float, role: Role) -> Area:
    return Area(((left, low), (right, low), (right, high), (left, high)), role)
