"""Positions measured on pictures over a season: drills and competition apart, and whether they differ."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot
from typing import Final

import numpy as np

from animate.motion.measure_table import MEASURE, Measure
from layout.book.pictures import SHORT, Kept
from layout.book.typed import ENTRY_KINDS
from layout.words.names import counted

INSTANT: Final = "step touchdown"
"""The instant that is told over time and that the ladder asks about."""
NAMES: Final = {"knee_gap": "knee gap", "free_knee_touchdown": "lever, free knee",
                "free_thigh_touchdown": "free thigh"}  # fmt: skip
BASIS: Final = (
    "A middle keeps a single picture's margin, however many there are, since the same eyes tapped "
    "them, and adds their scatter (Phasemark's rule). Within the margins the two cannot be told apart."
)


@dataclass(frozen=True)
class Dot:
    """One picture's reading: day as ordinal, value and margin [the measure's unit]."""

    day: int
    value: float
    margin: float


@dataclass(frozen=True)
class Middle:
    """What several pictures of one kind of day tell together."""

    dots: tuple[Dot, ...]

    @property
    def value(self) -> float:
        """Their mean."""
        return float(np.mean([d.value for d in self.dots]))

    @property
    def margin(self) -> float:
        """Mean margin and twice the standard error of the scatter, in squares."""
        values = [d.value for d in self.dots]
        scatter = float(np.std(values, ddof=1)) / len(values) ** 0.5 if len(values) > 1 else 0.0
        return hypot(float(np.mean([d.margin for d in self.dots])), 2.0 * scatter)


@dataclass(frozen=True)
class Position:
    """One measure over the season, in training and in competition; None where nothing was measured."""

    measure: Measure
    training: Middle | None
    competition: Middle | None

    @property
    def difference(self) -> tuple[float, float] | None:
        """What competition has more than training, and its margin; None without both."""
        if self.training is None or self.competition is None:
            return None
        change = self.competition.value - self.training.value
        return change, hypot(self.competition.margin, self.training.margin)

    @property
    def differs(self) -> bool:
        """Whether they differ by more than their margins."""
        return self.difference is not None and abs(self.difference[0]) > self.difference[1]


def positions_of(kept: Sequence[Kept], since: str | None = None) -> tuple[Position, ...]:
    """Knee gap, lever and thigh at the step touchdown, from one athlete's pictures since a day."""
    seen = [k for k in kept if k.instant == INSTANT and k.day >= (since or "")]
    out = []
    for name in SHORT:
        middles = {}
        for kind in ENTRY_KINDS:
            dots = tuple(
                Dot(datetime.date.fromisoformat(k.day).toordinal(), *k.measures[name])
                for k in seen
                if k.kind == kind and name in k.measures
            )
            middles[kind] = Middle(dots) if dots else None
        if any(middles.values()):
            out.append(Position(MEASURE[name], middles["training"], middles["competition"]))
    return tuple(out)


def _middle_text(m: Measure, found: Middle | None) -> str:
    return m.with_margin(found.value, found.margin) if found else "-"


def position_rows(positions: Sequence[Position]) -> list[tuple[str, str, str, str]]:
    """Name, training, competition and difference of each as a coach reads them."""
    out = []
    for p in positions:
        m, change = p.measure, ""
        if p.difference is not None:
            size = f"{m.shown(p.difference[0], True)} ± {m.margin_text(p.difference[1])}"
            change = f"{size}, {'beyond' if p.differs else 'within'} margin"
        row = NAMES[m.name], _middle_text(m, p.training), _middle_text(m, p.competition), change
        out.append(row)
    return out


def position_texts(positions: Sequence[Position]) -> list[str]:
    """What the pictures say in sentences."""
    if not positions:
        return []
    both = [p for p in positions if p.difference is not None]
    first = positions[0]
    counts = {kind: len(m.dots) for kind in ENTRY_KINDS if (m := getattr(first, kind))}
    of = " and ".join(f"{counted(n, 'picture')} in {kind}" for kind, n in counts.items())
    out = [f"From {of}, at the {INSTANT}."]
    names = [NAMES[p.measure.name] for p in both if p.differs]
    if names:
        out.append(f"Beyond the margins competition differs from training in: {', '.join(names)}.")
    elif both:
        out.append("Competition does not differ from training by more than the margins.")
    else:
        other = "competition" if first.competition is None else "training"
        out.append(f"Nothing of {other} yet to hold it against.")
    return [*out, BASIS]
