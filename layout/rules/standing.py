"""How an athlete counts where a rule asks: unknown or impossible is the most careful case."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Final

from layout.rules.rule import rule, source_of

AGES: Final[tuple[int, int]] = rule("believed_ages")
"""Ages taken as they are told [years]."""
CAREFUL_AGE: Final = AGES[0]
"""What an athlete of unknown or impossible age counts as [years]."""
YOUTH_AGE: Final[int] = rule("youth_age")
GROWN_AGE: Final[int] = rule("grown_age")
YEARS_BY_LEVEL: Final[dict[str, float]] = rule("level_years")
CAREFUL_LEVEL: Final = next(iter(YEARS_BY_LEVEL))
"""What an athlete of unknown level counts as."""
CONE_AGE: Final[int] = rule("cone_age")
CONE: Final[float] = rule("cone_height")
YOUNG_AGE: Final[int] = rule("low_hurdle_age")
YOUNG_MOST: Final[float] = rule("low_hurdle_height")
HURDLE_SOURCE: Final = "; ".join(
    (
        source_of("cone_age"),
        f"{100 * YOUNG_MOST:.0f} cm under {YOUNG_AGE}",
        source_of("low_hurdle_age"),
    )
)
CALLED: Final = {"born": "year of birth", "training_years": "years of training", "on": "day"}
"""What a coach calls a field, where that is not its name."""
FARTHEST: Final = 366
"""A day this far ahead no longer moves an age [days] (ours)."""


@dataclass(frozen=True)
class Assumed:
    """One thing that was not known, or not believed, and what was taken for it; `field`, of the athlete
    file, mends it (`on` for the day)."""

    field: str
    taken: str
    why: str

    @property
    def text(self) -> str:
        """A sentence with what mends it.

        >>> Assumed("born", "8 years", "no birth year given").text
        'No birth year given: taken as 8 years. Give the year of birth to change this.'
        """
        why = self.why[0].upper() + self.why[1:]
        called = CALLED.get(self.field, self.field)
        return f"{why}: taken as {self.taken}. Give the {called} to change this."


@dataclass(frozen=True)
class Standing:
    """How an athlete counts on a day: age with the birthday taken as not yet reached [years], level, years
    of training, and what was assumed instead of known."""

    age: int
    level: str
    years: float
    assumed: tuple[Assumed, ...] = ()

    @property
    def young(self) -> bool:
        """Whether youth limits hold."""
        return self.age < YOUTH_AGE

    @property
    def held_low(self) -> bool:
        """Whether forecasts are held low: not grown, or a beginner; nobody like that was ever fitted to."""
        return self.age < GROWN_AGE or self.level == CAREFUL_LEVEL

    @property
    def text(self) -> str:
        """How the athlete counts, and what was taken instead of known, with what mends it."""
        years = f"{self.years:g} training year{'' if self.years == 1.0 else 's'}"
        said = f"Counts as {self.age} years old, {self.level}, {years}."
        return " ".join([said, *(a.text for a in self.assumed)])

    def taken(self, field: str) -> str:
        """What was taken for a field, as a sentence; empty where it is known."""
        return next((a.text for a in self.assumed if a.field == field), "")


def hurdle_allowed(height: float, age: int) -> tuple[float, str]:
    """The height [m] and kind of hurdle that youth limits leave of one asked for.

    >>> hurdle_allowed(0.5, 8), hurdle_allowed(0.5, 14), hurdle_allowed(0.5, 15)
    ((0.05, 'cone'), (0.23, 'hurdle'), (0.5, 'hurdle'))
    """
    if age < CONE_AGE:
        return min(height, CONE), "cone"
    return (min(height, YOUNG_MOST) if age < YOUNG_AGE else height), "hurdle"


def _age(
    born: int | None, on: datetime.date, today: datetime.date | None, file: int | None
) -> tuple[int, list[Assumed]]:
    said = []
    day = on
    if today is not None and (on - today).days > FARTHEST:
        day = today
        said.append(Assumed("on", f"on {day}", f"the age for {on}, over a year ahead"))
    if born is None:
        return CAREFUL_AGE, [Assumed("born", f"{CAREFUL_AGE} years", "no birth year given"), *said]
    year = born if file is None else max(born, file)
    age = day.year - year - 1
    low, high = AGES
    if not low <= age <= high:
        why = f"born {year} makes {age} years, not {low} to {high}"
        said.append(Assumed("born", f"{CAREFUL_AGE} years", why))
        return CAREFUL_AGE, said
    if file is not None and file != born:
        why = f"born {born} given over the file's {file}"
        said.append(Assumed("born", f"{year}, the younger", why))
    return age, said


def standing(
    born: int | None,
    level: str | None,
    training_years: float | None,
    on: datetime.date,
    today: datetime.date | None = None,
    file_born: int | None = None,
) -> Standing:
    """How an athlete counts on a day; the one place where the unknown is guessed.

    `born` is the birth year, `file_born` that of the athlete's own file where another was given over it.
    For days `on` over a year after `today` the age no longer grows; None where the day is past or near.

    >>> found = standing(None, "advanced", None, datetime.date(2026, 5, 1))
    >>> found.age, found.years, [a.field for a in found.assumed]
    (8, 3.0, ['born', 'training_years'])
    """
    age, said = _age(born, on, today, file_born)
    if level not in YEARS_BY_LEVEL:
        level = CAREFUL_LEVEL
        said.append(Assumed("level", level, "no level given"))
    if training_years is None:
        training_years = YEARS_BY_LEVEL[level]
        least = f"{training_years:g}, the least for {level}"
        said.append(Assumed("training_years", least, "no training years given"))
    return Standing(age, level, training_years, tuple(said))
