"""Reading a split as a coach writes it: shares, distances or a technique word."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from numbers import Real
from typing import Final

from layout.words.faults import refuse
from layout.words.split import JUMP_RANGE, Split, Three, check_total, in_range, three
from layout.words.units import parse_length, tidy

AGREE: Final = 0.015
"""Three phases each rounded to a centimetre may miss their total by this [m]."""

WORDS: Final[dict[str, tuple[Three, str]]] = {
    "balanced": ((35.0, 30.0, 35.0), "youth coaching article 2015"),
    "hop-dominated": ((37.0, 30.0, 33.0), "youth award book, ages 11-13"),
    "jump-dominated": ((33.0, 29.0, 38.0), "men's record jump of 1995"),
}
"""Technique words: percentages and where they come from."""

_SEPARATORS: Final = (
    r" ?; ?",
    r" ?: ?",
    r" / ",
    r" - ",
    r", ",
    r"/",
    r"(?<=[\"%]) |(?<=[0-9]) (?=[0-9]+(?:-|'|ft)[0-9 ])",  # before the next feet-and-inches
    r",",
    r" ",
    r" ?- ?",
)
_FRACTION: Final = r"(?<=[0-9] )(1|3|5|7|9|11|13|15)/(2|4|8|16)(?![0-9.,])"
"""Of an inch: its stroke parts no figures (13-9/11-0/13-7 1/2)."""
_BARE: Final = r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_UNIT: Final = r"(?:%|m|met(?:re|er)s?|cm|mm|'|ft|feet)$"
_METRIC_UNIT: Final = r"(?<=[0-9.,])(?:m|met(?:re|er)s?|cm|mm)$"
_SHAPE: Final = (
    "must be three shares or three distances, such as 35:30:35 or 6.05/5.22/7.02 m, "
    "or one of " + ", ".join(WORDS)
)


def _token(text: str) -> str | None:
    """What kind of figure a part is: bare, %, metric or feet; None if none of these."""
    if re.fullmatch(_BARE, text):
        return "bare"
    if text.endswith("%") and re.fullmatch(_BARE, text[:-1].rstrip()):
        return "%"
    try:
        parse_length(text)
    except ValueError:
        return None
    return "metric" if re.search(_METRIC_UNIT, text.replace(" ", "")) else "feet"


def _parts(text: str) -> list[str] | None:
    """Three figures out of one text, or None."""
    text = re.sub(r"(?<=[0-9.,]) (?=(?:%|m|cm|mm|met(?:re|er)s?)(?![a-z]))", "", text)
    text = re.sub(_FRACTION, "\\1\u2044\\2", text)
    for separator in _SEPARATORS:
        parts = [p.replace("\u2044", "/") for p in re.split(separator, text) if p is not None]
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
    return three(values)


def _distances(values: Sequence[float], total: float | None, given: object) -> Three:
    low, high = JUMP_RANGE
    whole = math.fsum(values)
    if not in_range(whole):
        rule = f"distances must sum to {low:g}-{high:g} m"
        raise refuse("split", f"{rule}, these sum to {whole:.2f} m", given)
    if total is not None and abs(whole - total) > AGREE + 1e-9:
        rule = f"distances must sum to the total of {total:.2f} m within {100 * AGREE:g} cm"
        raise refuse("split", f"{rule}, these sum to {whole:.2f} m", given)
    return three(values)


def _three_parts(value: str | Sequence[float | str]) -> list[str]:
    """The three figures of a split as texts, whichever way it was written."""
    parts = None
    if isinstance(value, str):
        parts = _parts(tidy(value)) if len(value) <= 120 else None
    elif isinstance(value, (list, tuple)) and len(value) == 3 and all(_figure(v) for v in value):
        texts = (v if isinstance(v, str) else f"{parse_length(v, 'split'):.12f}" for v in value)
        parts = [tidy(text) for text in texts]
    if parts is None:
        raise refuse("split", _SHAPE, value)
    return parts


def parse_split(value: str | Sequence[float | str], total: float | None = None) -> Split:
    """A split as a coach writes it: words, three figures in one text, or a list of three; see README.

    Three figures without a unit are percentages if they sum to more than 25, decimal shares if to
    less than 1.5, else distances in metres. A unit behind the last figure holds for all three. Rounded
    percentages that sum to 99-101 are divided by their sum; distances must agree with a known total
    [m] within `AGREE`.

    >>> parse_split("35:30:35").shares, parse_split("35 % 30 % 35 %").shares
    ((0.35, 0.3, 0.35), (0.35, 0.3, 0.35))
    >>> [round(s, 4) for s in parse_split("19-10 1/4, 17-1 1/2, 23-0 1/2").shares]
    [0.3308, 0.2853, 0.3839]
    """
    if total is not None:
        check_total(total)
    word = (
        re.sub("[ _-]+", "-", tidy(value)) if isinstance(value, str) and len(value) <= 120 else ""
    )
    if word in WORDS:
        return Split(three(WORDS[word][0]), str(value))
    parts = _three_parts(value)
    source = value if isinstance(value, str) else ", ".join(str(v) for v in value)
    kinds = [_token(p) for p in parts]
    if (
        kinds[:2] == ["bare", "bare"]
        and kinds[2] != "bare"
        and (unit := re.search(_UNIT, parts[2]))
    ):
        parts = [p + unit[0] for p in parts[:2]] + parts[2:]
        kinds = [_token(p) for p in parts]
    if len(set(kinds)) > 1:
        raise refuse("split", "percentages, metres and feet can't be mixed", value)
    numbers = [parse_length(p.rstrip("% "), "split") for p in parts]
    if min(numbers) <= 0:
        raise refuse("split", "each share or distance must be above 0", value)
    whole = math.fsum(numbers)
    bare = kinds[0] == "bare"
    if kinds[0] == "%" or (bare and whole > JUMP_RANGE[1]):
        return Split(_shares(numbers, 100, value), source)
    if bare and whole < JUMP_RANGE[0]:
        return Split(_shares(numbers, 1, value), source)
    return Split(_distances(numbers, total, value), source)
