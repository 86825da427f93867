"""How a whole jump is shared out between hop, step and jump, and how a jump differed from plan.

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
Kind = Literal["shares", "distances", "word"]
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
    """Shares of hop, step and jump, with the text they came from.

    Attributes
    ----------
    shares : tuple of three float
        Hop, step, jump [-]; they sum to 1 within 1e-12, each within `SHARE_RANGE`.
    source : str
        As the coach gave it.
    kind : {"shares", "distances", "word"}

    Raises
    ------
    BadInput
        Shares that don't sum to 1 or lie out of range.
    """

    shares: Three
    source: str
    kind: Kind

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

    @property
    def percent(self) -> Three:
        """Shares as percentages."""
        hop, step, jump = self.shares
        return 100 * hop, 100 * step, 100 * jump


@dataclass(frozen=True)
class Classification:
    """Which phase dominates, and by how much.

    Attributes
    ----------
    name : str
        "hop-dominated", "jump-dominated", "balanced" or "step-dominated: outside the scheme".
    largest : str
        "hop", "step" or "jump"; the earlier one of equals.
    lead : float
        Of the largest phase over the next largest [points, hundredths of the total].
    """

    name: Dominance
    largest: str
    lead: float


@dataclass(frozen=True)
class StepWarning:
    """A step share far from common practice; advice, not an error.

    Attributes
    ----------
    share, low, high : float
        Step share and the band it lies outside [-].
    text, context : str
        What to tell the coach, and published means to judge it by.
    """

    share: float
    low: float
    high: float
    text: str
    context: str


@dataclass(frozen=True)
class Gap:
    """What was jumped less what was planned.

    Attributes
    ----------
    phases_cm : tuple of three float
        Jumped less target, each phase [cm].
    points : tuple of three float
        Jumped less target share, each phase [points].
    total_cm : float
        Sum of `phases_cm` [cm].
    effective : float
        Official distance and toe-to-line gap, else the sum of the jumped phases [m].
    unaccounted_cm : float
        Effective distance less the sum of the jumped phases [cm]. Official distances are rounded
        down, so -2.5 to 1.5 cm is rounding; beyond that something was measured wrong.
    """

    phases_cm: Three
    points: Three
    total_cm: float
    effective: float
    unaccounted_cm: float


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


def check_total(total: float, field: str = "total") -> float:
    """A whole jump's distance [m] if it is within `JUMP_RANGE`, else `BadInput`."""
    return parse_length(total, field, lowest=JUMP_RANGE[0], highest=JUMP_RANGE[1])


def _of(shares: Split | Sequence[float]) -> Three:
    if isinstance(shares, Split):
        return shares.shares
    check_sum(shares, 1e-9)
    hop, step, jump = map(float, shares)
    return hop, step, jump


def classify(shares: Split | Sequence[float]) -> Classification:
    """Which phase dominates: the largest, if it leads the next largest by 2 points or more.

    lead = 100 (largest - next largest), on unrounded shares.

    Parameters
    ----------
    shares : Split or sequence of three float
        [-]; they must sum to 1.

    Raises
    ------
    BadInput
        Not three finite shares that sum to 1.

    Source: Hay 1990, 1992. A step that leads is not in the scheme, and is said to be outside it.

    >>> classify((0.37, 0.30, 0.33)).name
    'hop-dominated'
    """
    three = _of(shares)
    _, second, first = sorted(three)
    lead = 100 * (first - second)
    largest = PHASES[three.index(first)]
    if lead < LEAD - LEAD_NOISE:
        return Classification("balanced", largest, lead)
    names: dict[str, Dominance] = {
        "hop": "hop-dominated",
        "step": "step-dominated: outside the scheme",
        "jump": "jump-dominated",
    }
    return Classification(names[largest], largest, lead)


def step_check(shares: Split | Sequence[float]) -> StepWarning | None:
    """A warning when the step's share is outside `STEP_BAND`, else None.

    Parameters
    ----------
    shares : Split or sequence of three float
        [-]; they must sum to 1.

    Source: a step of about 30 % is common practice, no source; the band is ours. The means given
    as context are published, and the women's lies below the band.
    """
    share = _of(shares)[1]
    low, high = STEP_BAND
    if low - 1e-9 <= share <= high + 1e-9:
        return None
    if share < low:
        said = "a much shorter step usually costs distance"
    else:
        said = "a much longer step usually takes from the hop or the jump"
    text = (
        f"step is {100 * share:.1f} % of the total, outside {100 * low:g} to {100 * high:g} %: "
        f"{said} (common practice, no source)"
    )
    return StepWarning(share, low, high, text, STEP_CONTEXT)


def phases(total: float, split: Split) -> Three:
    """Hop, step and jump of a whole jump: total * share.

    Parameters
    ----------
    total : float
        Within `JUMP_RANGE` [m].
    split : Split

    Returns
    -------
    tuple of three float
        [m]; they sum to the total.

    Raises
    ------
    BadInput
        Total out of range.

    >>> [round(p, 2) for p in phases(10.0, Split((0.35, 0.30, 0.35), "35:30:35", "shares"))]
    [3.5, 3.0, 3.5]
    """
    check_total(total)
    hop, step, jump = split.shares
    return total * hop, total * step, total * jump


def marks(total: float, split: Split) -> Three:
    """Where hop, step and jump end, from the take-off toe.

    Parameters
    ----------
    total : float
        Within `JUMP_RANGE` [m].
    split : Split

    Returns
    -------
    tuple of three float
        [m], increasing; the last is the total itself.

    Raises
    ------
    BadInput
        Total out of range.

    >>> [round(m, 2) for m in marks(7.0, Split((0.35, 0.30, 0.35), "35:30:35", "shares"))]
    [2.45, 4.55, 7.0]
    """
    hop, step, _ = phases(total, split)
    return hop, hop + step, float(total)


def effective(official: float, toe_to_line: float) -> float:
    """Effective distance = official distance + gap from the take-off toe to the line.

    Parameters
    ----------
    official : float
        Within `JUMP_RANGE` [m].
    toe_to_line : float
        From the toe forward to the line, 0 to 2 [m]; a toe past the line is a foul.

    Returns
    -------
    float
        [m]

    Raises
    ------
    BadInput
        Either out of range.

    Source: Hay 1990, 1992.
    """
    check_total(official, "official distance")
    return official + parse_length(toe_to_line, "toe-to-line gap", lowest=0.0, highest=2.0)


def gap(
    target: Sequence[float],
    jumped: Sequence[float],
    official: float | None = None,
    toe_to_line: float = 0.0,
) -> Gap:
    """Jumped phases less target phases, in centimetres and in points of share.

    Parameters
    ----------
    target, jumped : sequence of three float
        Hop, step, jump, each above 0; both sums within `JUMP_RANGE` [m].
    official : float, optional
        Recorded distance of the jump [m].
    toe_to_line : float
        From the take-off toe forward to the line, 0 to 2 [m].

    Returns
    -------
    Gap
        Positive: longer than planned.

    Raises
    ------
    BadInput
        Not three phases, or out of range.

    >>> [round(cm, 6) for cm in gap((6.0, 5.0, 6.0), (6.1, 4.9, 6.0)).phases_cm]
    [10.0, -10.0, 0.0]
    """
    for field, lengths in (("target phases", target), ("jumped phases", jumped)):
        if len(lengths) != 3:
            raise refuse(field, "must be three distances: hop, step, jump", lengths)
        for phase, length in zip(PHASES, lengths, strict=True):
            if parse_length(length, f"{field}, {phase}") <= 0:
                raise refuse(f"{field}, {phase}", "must be above 0 m", length)
        if not in_range(math.fsum(lengths)):
            low, high = JUMP_RANGE
            raise refuse(field, f"must sum to {low:g}-{high:g} m", math.fsum(lengths))
    reached = math.fsum(jumped)
    whole = reached if official is None else effective(official, toe_to_line)
    a, b, c = (100 * (j - t) for t, j in zip(target, jumped, strict=True))
    p, q, r = (100 * (j - t) for t, j in zip(three(target), three(jumped), strict=True))
    total = 100 * (reached - math.fsum(target))
    return Gap((a, b, c), (p, q, r), total, whole, 100 * (whole - reached))
