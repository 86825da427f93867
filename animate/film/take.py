"""What a clip is told: which instants, which bodies, what is noted on them, what is compared."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from animate.body.outlines import Side
from animate.body.shapes import Point, Shape
from animate.body.wording import NOTHING, typeset
from animate.film.ground import Runway
from animate.film.scene import MAX_FRAMES, SHORTEST
from animate.refused import Refused

Draw = Callable[[list[Point]], tuple[Shape, ...]]
_NEAR: Final = 1e-9


@dataclass(frozen=True)
class Schedule:
    """Which instants of a motion are shown, and for how long each.

    instants: times of the motion [s].
    durations: how long each is shown [s].
    slow: how many times slower than life [-].
    held: frames that are held.
    """

    instants: tuple[float, ...]
    durations: tuple[float, ...]
    slow: float
    held: tuple[int, ...]


def schedule(
    start: float,
    end: float,
    fps: float = 25.0,
    slow: float = 1.0,
    holds: Sequence[tuple[float, float]] = (),
    last: float = 0.8,
) -> Schedule:
    """Instants evenly spread over a motion, with those to be held hit exactly.

    Neighbouring instants lie 1 / (fps x slow) apart; the one nearest a hold is moved onto it.

    start, end: first and last instant [s].
    fps: frames a second, 1 to 50.
    slow: how many times slower than life, 0.1 to 100.
    holds: instants to hold and for how long [s], at most 60 s each.
    last: how long the last frame stays [s].

    >>> schedule(0.0, 0.1, fps=25, slow=2, holds=((0.05, 1.0),)).instants
    (0.0, 0.02, 0.05, 0.06, 0.08, 0.1)
    """
    for name, value, low, high in (
        ("fps", fps, 1.0, 50.0),
        ("slow", slow, 0.1, 100.0),
        ("last", last, SHORTEST, 60.0),
        ("start", start, -1e4, 1e4),
        ("end", end, -1e4, 1e4),
    ):
        if not low <= value <= high:
            raise Refused(name, f"{low:g} to {high:g}", value)
    if not start <= end:
        raise Refused("end", f"not before the start ({start:g} s)", end)
    steps = math.floor((end - start) * fps * slow + 1e-6)
    if steps + 1 > MAX_FRAMES:
        raise Refused("slow", f"at most {MAX_FRAMES} frames in a clip", steps + 1)
    instants = [start + i / (fps * slow) for i in range(steps + 1)]
    durations = [1 / fps] * steps + [last]
    held: list[int] = []
    for instant, seconds in holds:
        if not start - _NEAR <= instant <= end + _NEAR:
            raise Refused("hold", f"within the clip, {start:g} to {end:g} s", instant)
        if not SHORTEST <= seconds <= 60:
            raise Refused("hold", f"for {SHORTEST:g} to 60 s", seconds)
        frame = min(steps, round((instant - start) * fps * slow))
        if frame in held:
            raise Refused("hold", "one hold a frame", f"a second one at {instant}")
        instants[frame], durations[frame] = instant, seconds
        held.append(frame)
    return Schedule(tuple(instants), tuple(durations), slow, tuple(sorted(held)))


@dataclass(frozen=True)
class Take:
    """One motion at the instants of a schedule.

    positions: (n, 17, 2), joints at each instant [m], in the order of `figure.JOINTS`.
    com: (n, 2), centre of mass at each instant [m].
    name: printed over the picture.
    near: {"r", "l"}, the side turned to the viewer.
    runway: the ground with its marks and hurdles.
    still: anything else that does not move [m].
    """

    positions: Any
    com: Any = None
    name: str = ""
    near: Side = "r"
    runway: Runway | None = None
    still: tuple[Shape, ...] = ()


@dataclass(frozen=True)
class Note:
    """Something drawn on the figure between two instants, such as the knee gap.

    start, end: first and last instant [s] of the schedule.
    draw: given the 17 points of the body, gives shapes: `figure.knee_gap` and its like.
    text: printed as a caption for as long; empty for none.
    """

    start: float
    end: float
    draw: Draw | None = None
    text: str = ""

    def holds(self, instant: float) -> bool:
        """Whether the note is shown at that instant."""
        return self.start - _NEAR <= instant <= self.end + _NEAR


@dataclass(frozen=True)
class Row:
    """One measure of two motions, as printed under a side-by-side clip.

    left, right: the two values, in the unit printed; None where one could not be read.
    digits: decimals printed, 0 to 3.
    words: how a value, or a change of it, is said where not as a figure with its unit.
    level: what is said of no difference.
    """

    name: str
    left: float | None
    right: float | None
    unit: str = ""
    digits: int = 0
    words: Callable[[float, bool], str] | None = None
    level: str = "same"

    def texts(self) -> tuple[str, str, str]:
        """Left value, right value and the difference right minus left, as printed.

        >>> Row("knee gap", 31.2, 51.9, "cm").texts()
        ('31 cm', '52 cm', '+21 cm')
        """
        if self.digits not in range(4):
            raise Refused(f"measure {self.name}", "0 to 3 decimals", self.digits)
        left, right = self._rounded(self.left), self._rounded(self.right)
        if left is None or right is None:
            return self._said(left), self._said(right), NOTHING
        # The difference of the printed figures, so that the reader's own sum comes out.
        change = round(right - left, self.digits)
        changed = self._said(change, "+") if change else self.level
        return self._said(left), self._said(right), changed

    def _rounded(self, value: float | None) -> float | None:
        if value is not None and not math.isfinite(value):
            raise Refused(f"measure {self.name}", "must be finite numbers", value)
        return None if value is None else round(value, self.digits) + 0.0

    def _said(self, value: float | None, sign: str = "") -> str:
        if value is None:
            return NOTHING
        if self.words:
            return self.words(value, bool(sign))
        gap = "" if self.unit in ("", "°") else " "
        return typeset(f"{value:{sign}.{self.digits}f}{gap}{self.unit}")


def rows_of(differences: Sequence[Any], names: Sequence[str]) -> tuple[Row, ...]:
    """Rows of the measures wanted, from `compare.compare`.

    names: names of measures, in the order wanted; one that was read in neither motion is left out.
    """
    found = {one.measure.name: one for one in differences}
    out = []
    for one in (found[name] for name in names if name in found):
        of = one.measure
        out.append(Row(of.label, one.a, one.b, of.coach_unit, of.digits, of.words))
    return tuple(out)
