"""What an athlete may be planned for before they have jumped: by age, build, height and simple tests.

The young and women are not scaled men: the figures by age and sex stand in `catalogue/growth.toml`, with
where they are from. A guess stands on the low side; unknown counts as the lower.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any, Final

from animate.body.sizes import MASS_RANGE
from layout.rules.rule import rule
from layout.rules.sources import said
from layout.rules.standing import CAREFUL_AGE
from layout.words.reading import shipped

SPREAD: Final[tuple[float, float]] = rule("guess_spread")
LOW: Final[tuple[int, int]] = rule("guess_low")
SHORT: Final[float] = rule("guess_short")
OLDEST: Final[int] = rule("guess_oldest")
FROM: Final = 10
"""First age of the points tables [years]."""
LEAST: Final = (1.2, 1.9)
"""Shortest total guessed [m], and more for each metre of height: a little over the least that can be laid
out (ours)."""
NARROW: Final = {
    "standing_jump": "a standing long jump", "five_bounds": "five bounds",
    "flying_30": "a flying 30 m", "speed": "the speed at the board",
}  # fmt: skip
"""Tests that narrow a guess, by their fields."""
WHO: Final = {"female": ("Girls", "Women"), "male": ("Boys", "Men")}
SOURCE: Final = f"{said('youth-jumpers-data')}; {said('points-tables')}; low side, ours"


@dataclass(frozen=True)
class Guess:
    """A total to plan for where none is known: on the low side of `usual`, what squads of that age and
    build jump or what the tests say, whose one sigma is `spread` [m]; `text` says so."""

    total: float
    usual: float
    spread: float
    text: str

    @property
    def width(self) -> float:
        """One sigma as a share of the total planned for."""
        return self.spread / self.total


@lru_cache(maxsize=1)
def growth() -> Mapping[str, Any]:
    """The tables of `catalogue/growth.toml`."""
    return shipped("growth.toml")[0]


def _counted(age: int, tested: bool) -> int:
    """The age that tables are read at: beyond `OLDEST` the most careful, unless tests tell of the athlete's
    own day: those have the years in them, and are read as a grown athlete's."""
    if age <= OLDEST:
        return age
    return FROM + 9 if tested else CAREFUL_AGE


def _kinds(build: str) -> tuple[str, ...]:
    """Whose tables count: one build's, or both where it is not told."""
    return (build,) if build in WHO else tuple(WHO)


def by_age(values: Sequence[float], age: int) -> float:
    """A figure for ages 10 to 19, at any age.

    Younger: less by the first year's growth for each year. From 19 on as at 19 (ours).

    >>> round(by_age((8.0, 8.8, 9.5), 9), 2), by_age((8.0, 8.8, 9.5), 30)
    (7.2, 9.5)
    """
    if age < FROM:
        return values[0] - (FROM - age) * (values[1] - values[0])
    return values[min(age - FROM, len(values) - 1)]


def squad_mean(table: Mapping[str, Any], what: str, age: int) -> float:
    """Mean of `what` in squads of the nearest age that was measured [m]."""
    rows = table["squads"][what]
    return float(min(rows, key=lambda row: abs(row[0] - age))[2])


def guessed_mass(build: str, stature: float) -> tuple[float, float]:
    """A mass where none is told, and one sigma of it [kg].

        mass = index stature^2

    Source: open data of young jumpers, most of 13 to 17; nothing planned is longer or shorter for it.

    >>> [round(m, 1) for m in guessed_mass("female", 1.58)]
    [49.1, 4.6]
    """
    found = [growth()[kind]["mass_index"][1:] for kind in _kinds(build)]
    mean, sd = (sum(each) / len(found) for each in zip(*found, strict=True))
    low, high = MASS_RANGE
    return round(min(max(mean * stature**2, low), high), 1), sd * stature**2


def standing_triple(standing_jump: float) -> float:
    """Triple jump from standing at equal points with a long jump from standing [m].

    Linear between the pairs of an awards table, 1.30 to 2.80 m; in proportion beyond.

    >>> round(standing_triple(1.95), 2), round(standing_triple(1.00), 2)
    (5.59, 2.62)
    """
    pairs = growth()["standing"]
    inside = min(max(standing_jump, pairs[0][0]), pairs[-1][0])
    (a, low), (b, high) = next(two for two in pairwise(pairs) if inside <= two[1][0])
    return float((low + (high - low) * (inside - a) / (b - a)) * standing_jump / inside)


def _usual(table: Mapping[str, Any], age: int, stature: float, tests: Mapping[str, float]) -> float:
    """What one sex jumps at an age and height, or as the tests say: the mean of each one's total [m].

    From standing jump and five bounds in proportion; from a speed by the five bounds it goes with.
    """
    mark = by_age(table["triple"], age)
    if not tests:
        under = max(0.0, squad_mean(table, "stature", age) - stature) if age >= 13 else 0.0
        return mark * (1.0 - SHORT * under)
    near = min(max(age, 13), 17)
    per_five = by_age(table["triple"], near) / squad_mean(table, "five_bounds", near)
    slope, level, _ = table["five_on_speed"]
    totals = []
    for name, value in tests.items():
        if name == "standing_jump":
            totals.append(value * mark / by_age(table["long"], age))
        else:
            five = value if name == "five_bounds" else slope * _speed(name, value) + level
            totals.append(five * per_five)
    return sum(totals) / len(totals)


def _whose(build: str, age: int) -> str:
    """Who is spoken of: "Girls of 13"."""
    of = min(age, FROM + 9)
    who = WHO[build][of >= 18] if build in WHO else "Jumpers (male or female not told: the lower)"
    return f"{who} of {of}{' and over' if of == FROM + 9 else ''}"


def _speed(name: str, value: float) -> float:
    return 30.0 / value if name == "flying_30" else value


def guessed(age: int, build: str, stature: float, tests: Mapping[str, float]) -> Guess:
    """A careful total where neither best nor target is known [m].

    total = max(usual - k sigma, 1.2 + 1.9 stature), sigma = share of usual: `guess_low` and
    `guess_spread` of the rules; never over what is usual with no test, whatever the tests say (ours)

    Source: as told in `catalogue/growth.toml`; the low side is ours.

    age: as it counts [years].
    build: female, male or average, which counts as the lower of both.
    stature: [m].
    tests: of `NARROW`, those that are known [m, s, m/s].

    >>> girl = guessed(13, "female", 1.58, {})
    >>> round(girl.total, 2), round(girl.usual, 2), round(girl.spread, 2)
    (5.12, 9.85, 1.18)
    """
    age = _counted(age, bool(tests))
    usual, most = (
        min(_usual(growth()[kind], age, stature, by) for kind in _kinds(build))
        for by in (tests, {})
    )
    known = bool(tests)
    spread, least = SPREAD[known] * usual, LEAST[0] + LEAST[1] * stature
    low = max(usual - LOW[known] * spread, least)
    total = round(min(low, max(most, least)), 2)
    how = "low on purpose" if total > least + 0.005 else "the least for that height"
    if held := total < low - 0.005:
        whose = _whose(build, age)
        how = f"held at what {whose[0].lower()}{whose[1:]} who jump well make"
    text = f"No best or target given: set as for a whole jump of {total:.2f} m, {how}. "
    if known:
        from_ = " and ".join(NARROW[name] for name in tests)
        text += f"By {from_} {usual:.2f} m, give or take {2 * spread:.2f} m, would be usual. "
        text += "Is that right? " if held else ""
    else:
        low, high = usual - 2 * spread, usual + 2 * spread
        text += (
            f"{_whose(build, age)} who jump well make about {low:.2f} to {high:.2f} m; what "
            "beginners make is not known. "
        )
    more = ", ".join(text for name, text in NARROW.items() if name not in tests)
    text += "Give a best or a target" + (f", or what narrows it: {more}." if more else ".")
    return Guess(total, usual, spread, text)


def far_over(age: int, build: str, total: float) -> str:
    """A question where a total is more than 3 sigma over what the young who jump well make; else empty.

    The higher of girls and boys where neither is told: it only asks.

    >>> far_over(12, "female", 12.5), far_over(12, "female", 13.1)[:30]
    ('', 'A whole jump of 13.10 m is far')
    """
    usual = max(by_age(growth()[kind]["triple"], age) for kind in _kinds(build))
    if total <= usual * (1.0 + 3.0 * SPREAD[0]):
        return ""
    return (
        f"A whole jump of {total:.2f} m is far over what the young of {age} who jump well make, about "
        f"{usual:.1f} m. Is that right? Put the best, the target or the year of birth right if not."
    )
