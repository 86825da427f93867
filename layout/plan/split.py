"""How a whole jump is shared out between hop, step and jump, and how a jump differed from plan.

Shares are fractions of the total, in the order hop, step, jump. Hop and step are measured toe to
toe, the jump from the toe to the nearest break in the sand.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from numbers import Real
from typing import Final, Literal

from layout.faults import refuse
from layout.plan.units import parse_length, tidy

Three = tuple[float, float, float]
Kind = Literal["shares", "distances", "word"]
Dominance = Literal[
    "hop-dominated", "jump-dominated", "balanced", "step-dominated: outside the scheme"
]

PHASES: Final = ("hop", "step", "jump")
TOTAL_RANGE: Final = (1.5, 25.0)
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
AGREE: Final = 0.015
"""Three phases each rounded to a centimetre may miss their total by this [m]."""

WORDS: Final[dict[str, tuple[Three, str]]] = {
    "balanced": ((35.0, 30.0, 35.0), "youth coaching article 2015"),
    "hop-dominated": ((37.0, 30.0, 33.0), "youth award book, ages 11-13"),
    "jump-dominated": ((33.0, 29.0, 38.0), "men's record jump of 1995"),
}
"""Technique words: percentages and where they come from."""

_SEPARATORS: Final = tuple(
    re.compile(p)
    for p in (
        r" ?; ?",
        r" ?: ?",
        r" / ",
        r", ",
        r"/",
        r"(?<=[\"%]) |(?<=[0-9]) (?=[0-9]+(?:-|'|ft)[0-9 ])",  # before the next feet-and-inches
        r",",
        r" ",
        r" ?- ?",
    )
)
_BARE: Final = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)")
_UNIT: Final = re.compile(r"(?:%|m|met(?:re|er)s?|cm|mm|'|ft|feet)$")
_METRIC_UNIT: Final = re.compile(r"(?<=[0-9.,])(?:m|met(?:re|er)s?|cm|mm)$")
_SHAPE: Final = (
    "must be three shares or three distances, such as 35:30:35 or 6.05/5.22/7.02 m, "
    "or one of " + ", ".join(WORDS)
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
        _check_sum(self.shares, 1e-12)
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


def _check_sum(shares: Sequence[float], tolerance: float) -> None:
    if len(shares) != 3 or not all(math.isfinite(s) for s in shares):
        raise refuse("split", "must be three finite shares", shares)
    if abs(math.fsum(shares) - 1) > tolerance:
        raise refuse("split", f"shares must sum to 1, these sum to {math.fsum(shares):.6g}", shares)


def _three(parts: Sequence[float]) -> Three:
    """Parts divided by their sum."""
    whole = math.fsum(parts)
    hop, step, jump = (float(p) / whole for p in parts)
    return hop, step, jump


def _token(text: str) -> str | None:
    """What kind of figure a part is: bare, %, metric or feet; None if none of these."""
    if _BARE.fullmatch(text):
        return "bare"
    if text.endswith("%") and _BARE.fullmatch(text[:-1].rstrip()):
        return "%"
    try:
        parse_length(text)
    except ValueError:
        return None
    return "metric" if _METRIC_UNIT.search(text.replace(" ", "")) else "feet"


def _parts(text: str) -> list[str] | None:
    """Three figures out of one text, or None."""
    text = re.sub(r"(?<=[0-9.,]) (?=(?:%|m|cm|mm|met(?:re|er)s?)(?![a-z]))", "", text)
    for separator in _SEPARATORS:
        parts = [p for p in separator.split(text) if p is not None]
        if len(parts) == 3 and all(_token(p) for p in parts):
            return parts
    return None


def _figure(value: object) -> bool:
    """Whether one entry of a list can be a share or a distance."""
    if isinstance(value, str):
        return _token(tidy(value)) is not None
    return isinstance(value, Real) and not isinstance(value, bool)


def _shares(values: Sequence[float], whole: float, given: object) -> Three:
    """Shares out of figures that should sum to `whole`, give or take one hundredth."""
    total = math.fsum(values)
    if whole == 100 and min(values) < 1:
        raise refuse("split", "percentages and decimal shares can't be mixed", given)
    if abs(total / whole - 1) > 0.01 + 1e-12:
        rule = f"shares must sum to {whole:g} (rounded ones to {0.99 * whole:g}-{1.01 * whole:g})"
        raise refuse("split", f"{rule}, these sum to {total:.6g}", given)
    return _three(values)


def _distances(values: Sequence[float], total: float | None, given: object) -> Three:
    low, high = TOTAL_RANGE
    whole = math.fsum(values)
    if not _in_range(whole):
        rule = f"distances must sum to {low:g}-{high:g} m"
        raise refuse("split", f"{rule}, these sum to {whole:.2f} m", given)
    if total is not None and abs(whole - total) > AGREE + 1e-9:
        rule = f"distances must sum to the total of {total:.2f} m within {100 * AGREE:g} cm"
        raise refuse("split", f"{rule}, these sum to {whole:.2f} m", given)
    return _three(values)


def _in_range(whole: float) -> bool:
    """Whether a sum of phases is a whole jump; phases of 1.5 m may sum to 1.4999999999999998."""
    return TOTAL_RANGE[0] - 1e-9 <= whole <= TOTAL_RANGE[1] + 1e-9


def check_total(total: float, field: str = "total") -> float:
    """A whole jump's distance [m] if it is within `TOTAL_RANGE`, else `BadInput`."""
    return parse_length(total, field, lowest=TOTAL_RANGE[0], highest=TOTAL_RANGE[1])


def parse_split(value: str | Sequence[float | str], total: float | None = None) -> Split:
    """A split as a coach writes it.

    Three figures without a unit are percentages if they sum to more than 25, decimal shares if to
    less than 1.5, else distances in metres. A unit behind the last figure holds for all three.

    Parameters
    ----------
    value : str or sequence of three
        "35:30:35", "35/30/35", "35-30-35 %", "35 % 30 % 35 %", ".35:.30:.35",
        "6.05/5.22/7.02 m", "19-10 1/4, 17-1 1/2, 23-0 1/2", "balanced", "hop-dominated",
        "jump-dominated"; or a list of three numbers or texts.
    total : float, optional
        Whole jump [m]; distances must agree with it within `AGREE`.

    Returns
    -------
    Split
        Rounded percentages that sum to 99-101 are divided by their sum.

    Raises
    ------
    BadInput
        Not three figures, figures of different kinds, a wrong sum, a share out of `SHARE_RANGE`.

    >>> parse_split("35:30:35").shares
    (0.35, 0.3, 0.35)
    >>> parse_split("6/5/6 m", 17.0).kind
    'distances'
    """
    if total is not None:
        check_total(total)
    if isinstance(value, str):
        source = value
        if len(value) > 120:
            raise refuse("split", _SHAPE, value)
        text = tidy(value)
        word = re.sub("[ _-]+", "-", text)
        if word in WORDS:
            return Split(_three(WORDS[word][0]), value, "word")
        parts = _parts(text)
    elif isinstance(value, (list, tuple)):
        source = ", ".join(str(v) for v in value)
        if len(value) != 3 or not all(_figure(v) for v in value):
            raise refuse("split", _SHAPE, value)
        parts = [
            tidy(v) if isinstance(v, str) else f"{parse_length(v, 'split'):.12f}" for v in value
        ]
    else:
        raise refuse("split", _SHAPE, value)
    if parts is None:
        raise refuse("split", _SHAPE, value)

    kinds = [_token(p) for p in parts]
    if kinds[:2] == ["bare", "bare"] and kinds[2] != "bare" and (unit := _UNIT.search(parts[2])):
        parts = [p + unit[0] for p in parts[:2]] + parts[2:]
        kinds = [_token(p) for p in parts]
    if len(set(kinds)) > 1:
        raise refuse("split", "percentages, metres and feet can't be mixed", value)
    numbers = [parse_length(p.rstrip("% "), "split") for p in parts]
    if min(numbers) <= 0:
        raise refuse("split", "each share or distance must be above 0", value)
    whole = math.fsum(numbers)
    bare = kinds[0] == "bare"
    if kinds[0] == "%" or (bare and whole > TOTAL_RANGE[1]):
        return Split(_shares(numbers, 100, value), source, "shares")
    if bare and whole < TOTAL_RANGE[0]:
        return Split(_shares(numbers, 1, value), source, "shares")
    return Split(_distances(numbers, total, value), source, "distances")


def _of(shares: Split | Sequence[float]) -> Three:
    if isinstance(shares, Split):
        return shares.shares
    _check_sum(shares, 1e-9)
    hop, step, jump = map(float, shares)
    return hop, step, jump


def classify(shares: Split | Sequence[float]) -> Classification:
    """Which phase dominates: the largest, if it leads the next largest by 2 points or more.

    lead = 100 (largest - next largest), on unrounded shares.

    Parameters
    ----------
    shares : Split or sequence of three float
        [-]; they must sum to 1.

    Returns
    -------
    Classification

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

    Returns
    -------
    StepWarning or None

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
        Within `TOTAL_RANGE` [m].
    split : Split

    Returns
    -------
    tuple of three float
        [m]; they sum to the total.

    Raises
    ------
    BadInput
        Total out of range.

    >>> [round(p, 2) for p in phases(10.0, parse_split("35:30:35"))]
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
        Within `TOTAL_RANGE` [m].
    split : Split

    Returns
    -------
    tuple of three float
        [m], increasing; the last is the total itself.

    Raises
    ------
    BadInput
        Total out of range.

    >>> [round(m, 2) for m in marks(7.0, parse_split("35:30:35"))]
    [2.45, 4.55, 7.0]
    """
    hop, step, _ = phases(total, split)
    return hop, hop + step, float(total)


def effective(official: float, toe_to_line: float) -> float:
    """Effective distance = official distance + gap from the take-off toe to the line.

    Parameters
    ----------
    official : float
        Within `TOTAL_RANGE` [m].
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
        Hop, step, jump, each above 0; both sums within `TOTAL_RANGE` [m].
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
    for field, three in (("target phases", target), ("jumped phases", jumped)):
        if len(three) != 3:
            raise refuse(field, "must be three distances: hop, step, jump", three)
        for phase, length in zip(PHASES, three, strict=True):
            if parse_length(length, f"{field}, {phase}") <= 0:
                raise refuse(f"{field}, {phase}", "must be above 0 m", length)
        if not _in_range(math.fsum(three)):
            low, high = TOTAL_RANGE
            raise refuse(field, f"must sum to {low:g}-{high:g} m", math.fsum(three))
    reached = math.fsum(jumped)
    whole = reached if official is None else effective(official, toe_to_line)
    a, b, c = (100 * (j - t) for t, j in zip(target, jumped, strict=True))
    p, q, r = (100 * (j - t) for t, j in zip(_three(target), _three(jumped), strict=True))
    total = 100 * (reached - math.fsum(target))
    return Gap((a, b, c), (p, q, r), total, whole, 100 * (whole - reached))
