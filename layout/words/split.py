"""How a whole jump is shared out between hop, step and jump.

Shares are fractions of the total, in the order hop, step, jump. Hop and step are measured toe to
toe, the jump from the toe to the nearest break in the sand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from layout.words.faults import refuse
from layout.words.units import parse_length

Three = tuple[float, float, float]
Dominance = Literal[
    "hop-dominated", "jump-dominated", "balanced", "step-dominated: outside the scheme"
]

PHASES: Final = ("hop", "step", "jump")
JUMP_RANGE: Final = (1.5, 25.0)
"""Whole jumps accepted [m]: from a small child's standing one to well past any record."""
SHARE_RANGE: Final = (0.15, 0.60)
"""Shares accepted [-]; ours: beyond them a figure is a slip of the pen, not a jump."""
LEAD: Final = 2.0
"""Lead over the next largest phase that makes a phase dominate [points] (Hay 1990, 1992)."""
LEAD_NOISE: Final = 1e-9
"""Allowance on `LEAD` [points]: .36 - .34 is .01999999999999996 in floats and must count as 2
points; the noise is some 1e-13 points, and no tape resolves 1e-9 of them."""
STEP_BAND: Final = (0.27, 0.33)
"""Step share without a warning [-]: ours, round the .30 of common practice (no source)."""
STEP_CONTEXT: Final = (
    "finalists: men 29.5 % (SD 1.46), women 26.7 % (SD 2.94); Am J Sports Med 1990 18:3"
)


@dataclass(frozen=True)
class Split:
    """Shares of hop, step and jump [-], and the text they came from as the coach gave it.

    They sum to 1 within 1e-12, each within `SHARE_RANGE`; `BadInput` where not.
    """

    shares: Three
    source: str

    def __post_init__(self) -> None:
        check_sum(self.shares, 1e-12)
        low, high = SHARE_RANGE
        for phase, share in zip(PHASES, self.shares, strict=True):
            # 1e-12 so that exactly 15 % or 60 % is not lost to the division by the sum.
            if not low - 1e-12 <= share <= high + 1e-12:
                raise refuse(
                    "split",
                    f"the {phase}'s share must be {100 * low:g} to {100 * high:g} %, "
                    f"this makes it {100 * share:.1f} %",
                    self.source,
                )


def check_sum(shares: Sequence[float], tolerance: float) -> None:
    if len(shares) != 3 or not all(math.isfinite(s) for s in shares):
        raise refuse("split", "must be three finite shares", shares)
    if abs(math.fsum(shares) - 1) > tolerance:
        raise refuse("split", f"shares must sum to 1, these sum to {math.fsum(shares):.6g}", shares)


def three(parts: Sequence[float]) -> Three:
    """Parts divided by their sum."""
    whole = math.fsum(parts)
    hop, step, jump = (float(p) / whole for p in parts)
    return hop, step, jump


def in_range(whole: float) -> bool:
    """Whether a sum of phases is a whole jump; phases of 1.5 m may sum to 1.4999999999999998."""
    return JUMP_RANGE[0] - 1e-9 <= whole <= JUMP_RANGE[1] + 1e-9


def check_total(total: float) -> None:
    """Refuse a whole jump out of `JUMP_RANGE` [m]."""
    parse_length(total, "total", lowest=JUMP_RANGE[0], highest=JUMP_RANGE[1])


def _of(shares: Split | Sequence[float]) -> Three:
    if isinstance(shares, Split):
        return shares.shares
    check_sum(shares, 1e-9)
    hop, step, jump = map(float, shares)
    return hop, step, jump


def lead(shares: Split | Sequence[float]) -> tuple[str, float]:
    """The largest phase, the earlier of equals, and its lead over the next largest [points].

    lead = 100 (largest - next largest), on unrounded shares that sum to 1 [-].

    >>> lead((0.37, 0.31, 0.32))[0], round(lead((0.37, 0.31, 0.32))[1], 6)
    ('hop', 5.0)
    """
    three = _of(shares)
    _, second, first = sorted(three)
    return PHASES[three.index(first)], 100 * (first - second)


def classify(shares: Split | Sequence[float]) -> Dominance:
    """Which phase dominates: the largest, if its `lead` is 2 points or more.

    Source: Hay 1990, 1992. A step that leads is not in the scheme, and is said to be outside it.

    >>> classify((0.37, 0.30, 0.33)), classify((0.35, 0.30, 0.35))
    ('hop-dominated', 'balanced')
    """
    largest, points = lead(shares)
    if points < LEAD - LEAD_NOISE:
        return "balanced"
    if largest == "step":
        return "step-dominated: outside the scheme"
    return "hop-dominated" if largest == "hop" else "jump-dominated"


def step_check(shares: Split | Sequence[float]) -> str:
    """What to tell a coach whose step is outside `STEP_BAND`, empty where it is inside.

    Source: a step of about 30 % is common practice, no source; the band is ours. The means given
    as context are published, and the women's lies below the band.
    """
    share = _of(shares)[1]
    low, high = STEP_BAND
    if low - 1e-9 <= share <= high + 1e-9:
        return ""
    if share < low:
        said = "a much shorter step usually costs distance"
    else:
        said = "a much longer step usually takes from the hop or the jump"
    return (
        f"step is {100 * share:.1f} % of the total, outside {100 * low:g} to {100 * high:g} %: "
        f"{said} (common practice, no source) ({STEP_CONTEXT})"
    )


def phases(total: float, split: Split) -> Three:
    """Hop, step and jump of a whole jump within `JUMP_RANGE`: total * share [m].

    >>> [round(p, 2) for p in phases(10.0, Split((0.35, 0.30, 0.35), "35:30:35"))]
    [3.5, 3.0, 3.5]
    """
    check_total(total)
    hop, step, jump = split.shares
    return total * hop, total * step, total * jump
