"""An athlete as a coach describes one, read from TOML or from options."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from animate.body.sizes import MASS_RANGE, STATURE_RANGE, Build
from layout.athlete.fields import (
    count,
    fields_of,
    figure,
    length,
    line,
    read_fields,
    seconds,
    shares,
    speed,
    split_of,
    told,
    weight,
    word,
)
from layout.athlete.growth import NARROW, Guess, guessed, guessed_mass
from layout.rules.rule import rule
from layout.rules.standing import CAREFUL_AGE, Standing, standing
from layout.words.reading import Fields, read_toml
from layout.words.split import Split
from layout.words.split_text import parse_split
from layout.words.trade import LEGS, LEVELS, Leg, Level

CHILD: Final[int] = rule("child_age")
CHILD_STRIDES: Final[int] = rule("child_strides")
"""Up to that age, a full approach where none is given."""
BALANCED: Final = parse_split("balanced", None)
MOST_BEHIND: Final = 1.0
"""Most that a take-off toe is behind its line in a jump to plan by [m] (ours)."""
USUAL_LEG: Final = "left"
"""Taken for the take-off leg where none is told (ours)."""
TOTAL_RANGE: Final = (3.0, 19.5)
"""Totals accepted [m]: a small child's to a little over the best ever measured."""

CALIBRATED: Final[Mapping[str, tuple[float, float]]] = {
    "slope": (0.0, 1.5), "pull": (0.0, 0.4), "losses": (-0.1, 0.35), "tau": (0.5, 3.0),
    "stand_speed": (1.0, 5.0), "margin": (0.01, 0.30),
}  # fmt: skip
"""What an athlete's own figures may be, each loss alike; a refit stays inside."""


@dataclass(frozen=True)
class Calibration:
    """What a coach knows of this athlete better than the defaults; None where it is not known.

    `slope`: horizontal speed lost per vertical speed gained in a contact; `pull`: how strongly a contact
    pulls the speed back to the athlete's rhythm; `losses`: share of horizontal speed lost in the hop, step
    and jump take-off contacts [-]. `tau`: time constant of the approach [s]; `run_up`: measured length of
    the full one [m]; `stand_speed`: horizontal take-off speed from standing [m/s]. `margin`: one
    sigma of a forecast, as a share of a phase, from a fit to own attempts.
    """

    slope: float | None = field(default=None, metadata=told(figure(*CALIBRATED["slope"])))
    pull: float | None = field(default=None, metadata=told(figure(*CALIBRATED["pull"])))
    tau: float | None = field(default=None, metadata=told(figure(*CALIBRATED["tau"])))
    stand_speed: float | None = field(
        default=None, metadata=told(figure(*CALIBRATED["stand_speed"]))
    )
    losses: tuple[float, float, float] | None = field(
        default=None, metadata=told(shares(*CALIBRATED["losses"], "[0.07, 0.085, 0.15]"))
    )
    run_up: float | None = field(default=None, metadata=told(length(3.0, 60.0)))
    margin: float | None = field(default=None, metadata=told(figure(*CALIBRATED["margin"])))


@dataclass(frozen=True, kw_only=True)
class Athlete:
    """One athlete. A field told here is read from files, tables and options, each in order.

    Lengths in metres, `mass` in kg, `speed` at the end of the approach in m/s, `strides` of the full
    approach; `best` as it was measured from the line, `best_behind` how far behind that the toe was;
    `best_phases` are shares of the best jump, toe to sand; `flying_30` in s. `strides_given`, `mass_given`,
    `leg_given` and `level_given` are False for defaults; `guess` is what `target` is where no total is
    known; `held_low` whether a careful line carries speed (`on_day` says); `file_born` is the file's own
    birth year where another was given over it; `read_on` the day all this
    was told: for days over a year later the age of that day counts.
    """

    name: str = field(metadata=told(line(80), "name"))
    stature: float = field(
        metadata=told(length(*STATURE_RANGE), "standing height, such as 1.75 or 5-9", "L")
    )
    mass: float = field(
        metadata=told(
            weight(*MASS_RANGE),
            "body mass in kilograms, or such as 123 lb",
            "KG",
            guessed="by height",
        )
    )
    leg: Leg = field(metadata=told(word(*LEGS), "take-off leg: right or left", guessed=USUAL_LEG))
    best: float | None = field(default=None, metadata=told(length(*TOTAL_RANGE), "best total", "L"))
    best_behind: float | None = field(
        default=None,
        metadata=told(
            length(0.0, MOST_BEHIND), "take-off toe behind the line at the best, such as 12 cm", "L"
        ),
    )
    target: float = field(
        metadata=told(
            length(*TOTAL_RANGE),
            "target total, such as 12.50 or 41-0 1/4",
            "L",
            instead="best best_behind",
        )
    )
    split: Split = field(
        default=BALANCED,
        metadata=told(
            split_of("target"), "35:30:35, distances, or balanced, hop-dominated, jump-dominated"
        ),
    )
    best_phases: Split | None = field(
        default=None,
        metadata=told(
            split_of("best best_behind"), "phases of the best, such as 4.30/3.50/4.10 m", "SPLIT"
        ),
    )
    born: int | None = field(
        default=None,
        metadata=told(count(1900, 2100), "year of birth, for the youth limits", "YEAR"),
    )
    build: Build = field(
        default="average",
        metadata=told(word("male", "female", "average"), "male, female or average"),
    )
    level: Level = field(
        default="beginner",
        metadata=told(word(*LEVELS), "beginner, intermediate or advanced; beginner if left out"),
    )
    training_years: float | None = field(
        default=None,
        metadata=told(figure(0, 80), "years of training; the least for the level if left out", "N"),
    )
    speed: float | None = field(
        default=None,
        metadata=told(speed(3.0, 13.0), "timed speed at the board, m/s or km/h", "V"),
    )
    standing_jump: float | None = field(
        default=None,
        metadata=told(length(0.5, 4.0), "standing long jump, such as 1.85", "L"),
    )
    five_bounds: float | None = field(
        default=None,
        metadata=told(length(2.0, 22.0), "five bounds from standing, such as 9.80", "L"),
    )
    flying_30: float | None = field(
        default=None,
        metadata=told(seconds(2.4, 10.0), "30 m timed flying, in seconds: 3.85", "S"),
    )
    strides: int = field(
        default=12,
        metadata=told(count(2, 24), "strides of the full approach", "N", option="full_strides"),
    )
    note: str = field(default="", metadata=told(line(300)))
    calibration: Calibration = Calibration()
    strides_given: bool = False
    mass_given: bool = True
    leg_given: bool = True
    guess: Guess | None = None
    held_low: bool = False
    file_born: int | None = None
    level_given: bool = True
    read_on: datetime.date | None = None

    @property
    def jumped(self) -> float | None:
        """The best jump from toe to sand [m]: effective = official + toe behind the line."""
        return None if self.best is None else self.best + (self.best_behind or 0.0)

    def standing(self, on: datetime.date) -> Standing:
        """How this athlete counts on a day."""
        level = self.level if self.level_given else None
        return standing(self.born, level, self.training_years, on, self.read_on, self.file_born)

    def full_strides(self, on: datetime.date) -> int:
        """Strides of the full approach; a child's where none were given."""
        if not self.strides_given and self.standing(on).age <= CHILD:
            return min(self.strides, CHILD_STRIDES)
        return self.strides

    def on_day(self, on: datetime.date) -> Athlete:
        """The athlete as a plan and a refit for a day have them: strides of the full approach, whether
        forecasts are held low, and a total guessed by that day's age where none is known."""
        stands = self.standing(on)
        now = replace(self, strides=self.full_strides(on), held_low=stands.held_low)
        if self.guess is None:
            return now
        tests = {name: value for name in NARROW if (value := getattr(self, name)) is not None}
        guess = guessed(stands.age, self.build, self.stature, tests)
        return replace(now, target=guess.total, guess=guess)


def default_strides(level: Level, training_years: float | None) -> int:
    """Strides of a full approach where none are given.

    Source: coaching article on strides of approach: beginner 7-8, 1-2 years 9-12, 3-5 years 14-16.
    """
    if training_years is None:
        return int(rule("full_strides")[level])
    bands = rule("full_strides_by_years")
    return int(next((n for under, n in bands if training_years < under), bands[-1][1]))


FIELDS: Final = {f.name: f for f in fields_of(Athlete)} | {
    f"calibration.{f.name}": f for f in fields_of(Calibration)
}
"""Every field by the name of its column in a table."""
_CALLED: Final = {f.name: f.option for f in fields_of(Athlete) if f.option}


def _calibration(fields: Fields) -> Calibration:
    table = fields.take("calibration", {})
    if not isinstance(table, Mapping):
        fields.fault("calibration", "must be a table", table)
        return Calibration()
    inner = Fields(table, fields.file, fields.text, "calibration", "calibration")
    out = Calibration(**read_fields(inner, Calibration))
    for key in inner.table:
        if key not in inner.asked:
            inner.fault(key, "is not a known field")
    fields.faults += inner.faults
    return out


def athlete_from(
    table: Mapping[str, Any],
    file: str = "",
    text: str = "",
    options: frozenset[str] = frozenset(),
    file_born: int | None = None,
) -> Athlete:
    """Read one athlete from a table of fields, noting every fault before refusing.

    `file` and `text` are where it came from, `options` the fields that came from the command line, both
    for messages; `file_born` is the file's own birth year where an option went over it.
    """
    fields = Fields(table, file, text, options=options, called=_CALLED)
    values = read_fields(fields, Athlete)
    calibration = _calibration(fields)
    if values["best_behind"] and not fields.given("best"):
        fields.fault("best_behind", "has no meaning without a best", table["best_behind"])
    fields.done()
    if not fields.given("strides"):
        values["strides"] = default_strides(values["level"], values["training_years"])
    if not fields.given("mass"):
        values["mass"], _ = guessed_mass(values["build"], values["stature"])
    values["leg"] = values["leg"] or USUAL_LEG
    guess = None
    if values["target"] is None:
        guess = guessed(CAREFUL_AGE, values["build"], values["stature"], {})
        values["target"] = guess.total
    return Athlete(
        **values,
        guess=guess,
        strides_given=fields.given("strides"),
        mass_given=fields.given("mass"),
        leg_given=fields.given("leg"),
        calibration=calibration,
        level_given=fields.given("level"),
        file_born=file_born,
    )


def read_athlete(path: Path, changes: Mapping[str, Any] | None = None) -> Athlete:
    """Read an athlete file; `changes`, from the command line, win over its fields."""
    table, text = read_toml(path)
    changes = changes or {}
    own = table.get("born") if "born" in changes else None
    file_born = own if type(own) is int else None
    return athlete_from({**table, **changes}, str(path), text, frozenset(changes), file_born)
