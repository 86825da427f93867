"""An athlete as a coach describes one, read from TOML or from options."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from animate.body.body import MASS_RANGE, STATURE_RANGE, Build
from layout.rules.rule import rule
from layout.rules.standing import Standing, standing
from layout.words.faults import refuse
from layout.words.reading import Fields, number, read_toml
from layout.words.split import Split
from layout.words.split_text import parse_split
from layout.words.trade import LEGS, LEVELS, Leg, Level
from layout.words.units import parse_length, parse_speed

CHILD: Final[int] = rule("child_age")
CHILD_STRIDES: Final[int] = rule("child_strides")
"""Up to that age, a full approach where none is given."""
TOTAL_RANGE: Final = (3.0, 19.5)
"""Totals accepted [m]: a small child's to a little over the best ever measured."""


@dataclass(frozen=True)
class Calibration:
    """What a coach knows of this athlete better than the defaults.

    Attributes
    ----------
    slope : float or None
        Horizontal speed lost per vertical speed gained in a contact [-].
    pull : float or None
        How strongly a contact pulls the speed back to the athlete's rhythm [-].
    losses : tuple of float or None
        Share of horizontal speed lost in the hop, step and jump take-off contacts [-].
    tau : float or None
        Time constant of the approach [s].
    run_up : float or None
        Measured length of the full approach [m].
    stand_speed : float or None
        Horizontal take-off speed from standing [m/s].
    """

    slope: float | None = None
    pull: float | None = None
    losses: tuple[float, float, float] | None = None
    tau: float | None = None
    run_up: float | None = None
    stand_speed: float | None = None


@dataclass(frozen=True)
class Athlete:
    """One athlete.

    Attributes
    ----------
    name : str
    stature, mass : float
        [m], [kg].
    leg : {"right", "left"}
        Take-off leg.
    level : {"beginner", "intermediate", "advanced"}
    target : float
        Target total [m].
    split : Split
        Target phase shares.
    best : float or None
        Best total [m].
    jumped : Split or None
        Phase shares of the best jump.
    born : int or None
        Birth year.
    file_born : int or None
        The file's own birth year where another was given over it.
    level_given : bool
        False when `level` is a default.
    read_on : date or None
        The day all this was told; for days over a year later the age of that day counts.
    build : {"male", "female", "average"}
    training_years : float or None
    strides : int
        Of the full approach.
    strides_given : bool
        False when `strides` is a default.
    speed : float or None
        Speed at the end of the full approach [m/s].
    note : str
    calibration : Calibration
    """

    name: str
    stature: float
    mass: float
    leg: Leg
    level: Level
    target: float
    split: Split
    best: float | None = None
    jumped: Split | None = None
    born: int | None = None
    build: Build = "average"
    training_years: float | None = None
    strides: int = 12
    strides_given: bool = False
    speed: float | None = None
    note: str = ""
    calibration: Calibration = Calibration()
    file_born: int | None = None
    level_given: bool = True
    read_on: datetime.date | None = None

    def standing(self, on: datetime.date) -> Standing:
        """How this athlete counts on a day."""
        level = self.level if self.level_given else None
        return standing(self.born, level, self.training_years, on, self.read_on, self.file_born)

    def full_strides(self, on: datetime.date) -> int:
        """Strides of the full approach; a child's where none were given."""
        if not self.strides_given and self.standing(on).age <= CHILD:
            return min(self.strides, CHILD_STRIDES)
        return self.strides


def default_strides(level: Level, training_years: float | None) -> int:
    """Strides of a full approach where none are given.

    Source: coaching article on strides of approach: beginner 7-8, 1-2 years 9-12, 3-5 years 14-16.
    """
    if training_years is None:
        return int(rule("full_strides")[level])
    bands = rule("full_strides_by_years")
    return int(next((n for under, n in bands if training_years < under), bands[-1][1]))


def _length(field: str, low: float, high: float) -> Callable[[Any], float]:
    return lambda value: parse_length(value, field, lowest=low, highest=high)


def _speed(value: Any) -> float:
    speed = parse_speed(value, "speed")
    return number("speed", speed, 3.0, 13.0)


def _losses(value: Any) -> tuple[float, float, float]:
    if not isinstance(value, list) or len(value) != 3:
        raise refuse("losses", "three shares of speed needed, such as [0.07, 0.085, 0.15]", value)
    one, two, three = (number("losses", v, -0.1, 0.35) for v in value)
    return one, two, three


def _calibration(fields: Fields) -> Calibration:
    table = fields.take("calibration", {})
    if not isinstance(table, Mapping):
        fields.fault("calibration", "must be a table", table)
        return Calibration()
    inner = Fields(table, fields.file, fields.text, "calibration", "calibration")
    out = Calibration(
        slope=inner.number("slope", 0.0, 1.5, None),
        pull=inner.number("pull", 0.0, 0.4, None),
        losses=inner.via("losses", _losses, None),
        tau=inner.number("tau", 0.5, 3.0, None),
        run_up=inner.via("run_up", _length("run_up", 3.0, 60.0), None),
        stand_speed=inner.number("stand_speed", 1.0, 5.0, None),
    )
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

    Parameters
    ----------
    table : mapping
        Fields as in the athlete file.
    file, text : str
        Where it came from, for messages.
    options : frozenset of str
        Fields that came from the command line.
    file_born : int or None
        The file's own birth year where an option went over it.

    Raises
    ------
    BadInput
        With every field that is wrong.
    """
    fields = Fields(table, file, text, options=options)
    low, high = TOTAL_RANGE
    name = fields.string("name", 80)
    stature = fields.via("stature", _length("stature", *STATURE_RANGE))
    mass = fields.number("mass", *MASS_RANGE)
    leg = fields.choice("leg", LEGS)
    level = fields.choice("level", LEVELS, "beginner")
    born = fields.whole("born", 1900, 2100, None)
    build = fields.choice("build", ("male", "female", "average"), "average")
    years = fields.number("training_years", 0, 80, None)
    best = fields.via("best", _length("best", low, high), None)
    target = fields.via("target", _length("target", low, high), best)
    if target is None and not fields.faults:
        fields.fault("target", "is missing (a total to plan for, or at least a best)")
    strides = fields.whole("strides", 2, 24, None)
    speed = fields.via("speed", _speed, None)
    split = fields.via("split", lambda v: parse_split(v, target), None)
    jumped = fields.via("jumped", lambda v: parse_split(v, best), None)
    note = fields.string("note", 300, "")
    calibration = _calibration(fields)
    fields.done()
    return Athlete(
        name=name,
        stature=stature,
        mass=mass,
        leg=leg,
        level=level,
        target=target,
        split=split or parse_split("balanced", None),
        best=best,
        jumped=jumped,
        born=born,
        build=build,
        training_years=years,
        strides=strides or default_strides(level, years),
        strides_given=strides is not None,
        speed=speed,
        note=note,
        calibration=calibration,
        level_given=fields.given("level"),
        file_born=file_born,
    )


def read_athlete(path: Path, changes: Mapping[str, Any] | None = None) -> Athlete:
    """Read an athlete file, with single fields replaced from the command line.

    Parameters
    ----------
    path : Path
    changes : mapping, optional
        Fields that win over the file's.
    """
    table, text = read_toml(path)
    changes = changes or {}
    own = table.get("born") if "born" in changes else None
    file_born = own if type(own) is int else None
    return athlete_from({**table, **changes}, str(path), text, frozenset(changes), file_born)
