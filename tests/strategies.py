"""What the property tests draw from, in one place; add yours here."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, TypeVar

from hypothesis import strategies as st

from layout.athlete.athlete import Athlete, athlete_from, read_athlete
from layout.plan.drill import catalogue
from layout.plan.spacing import Choices, make_plan
from layout.plan.value import Plan
from layout.plan.venue import venues
from layout.words.faults import BadInput
from layout.words.split import JUMP_RANGE, SHARE_RANGE, Split

# --- lengths, names -------------------------------------------------------------------------------

lengths: Final = st.floats(-200.0, 200.0)
"""Signed lengths on a runway [m]."""

distances: Final = st.floats(0.0, 200.0)
"""Distances [m]."""

centimetres: Final = st.integers(-20_000, 20_000)
"""Whole centimetres."""

quarter_inches: Final = st.integers(-40_000, 40_000)
"""Whole quarter inches."""

readings: Final = st.lists(distances, max_size=40).map(sorted)
"""Cumulative tape readings [m]."""

tape_steps: Final = st.sampled_from(
    [("cm", None), ("cm", 0.05), ("cm", 0.10), ("ft", None), ("ft", 0.0254)]
)
"""A system and a step for the tape [m]."""

texts: Final = st.text(max_size=60) | st.text(
    alphabet="0123456789.,-/:;%'\"\u2032\u2033\u00bd\u00bc mcftin", max_size=24
)
"""Arbitrary text, and text out of the signs that lengths and splits are written with."""

names: Final = (
    st.text(st.characters(), max_size=300)  # lone surrogates too: undecodable argv bytes
    | st.text(alphabet="abC.-_ ~/\\:\u0141\u00e9e\u0301'\x00\n\u202e", max_size=12)
    | st.sampled_from(["con", "NUL.txt", "com1", "LPT\u00b9", ".", "..", "", " ", "-rf", "aux .b"])
)
"""Names an athlete or a drill might be given, by accident or malice."""

# --- splits ---------------------------------------------------------------------------------------

totals: Final = st.floats(*JUMP_RANGE)
"""Whole jumps [m]."""


@st.composite
def shares(draw: st.DrawFn) -> tuple[float, float, float]:
    """Hop, step, jump [-], summing to 1, each within `SHARE_RANGE`."""
    low, high = SHARE_RANGE
    hop = draw(st.floats(low, high))
    step = draw(st.floats(max(low, 1 - high - hop), min(high, 1 - low - hop)))
    return hop, step, 1 - hop - step


splits: Final = shares().map(lambda s: Split(s, "drawn"))
"""Splits that are allowed."""

# --- bodies, poses --------------------------------------------------------------------------------

builds: Final = st.sampled_from(("male", "female", "average"))
"""Columns of the mass table."""

sizes: Final = st.tuples(st.floats(1.10, 2.30), st.floats(18.0, 180.0))
"""Stature [m] and mass [kg] a body is accepted with."""

angles: Final = st.lists(st.floats(-3.2, 3.2), min_size=14, max_size=14)
"""Angles of the fourteen segments [rad]."""

# --- read or refused ------------------------------------------------------------------------------

T = TypeVar("T")


def attempt(act: Callable[[], T]) -> T | BadInput:
    """What an act makes, or its refusal; any other exception is the test's failure."""
    try:
        return act()
    except BadInput as error:
        return error


# --- athletes, drills -----------------------------------------------------------------------------

person_names: Final = st.sampled_from(
    [
        "Runa",
        "\u0141ucja H\u00e9nin",
        "\u540d\u524d",
        '<b>&"x"</b>',
        "../up/and\\over",
        "-rf ~",
        "\u0627\u0628",
    ]
)
"""Printable names, some of them hostile to file names and markup."""


@st.composite
def athlete_tables(draw: st.DrawFn, calibrated: bool = False) -> dict[str, Any]:
    """Contents of an athlete file whose size, totals and split belong together.

    Calibrated: with a pull, a slope and losses of any size the reader accepts.
    """
    stature = draw(st.floats(1.25, 2.05))
    target = stature * draw(st.floats(3.5, 9.0))
    hop, step = draw(st.integers(33, 39)), draw(st.integers(27, 32))
    table: dict[str, Any] = {
        "name": draw(person_names),
        "stature": stature,
        "mass": draw(st.floats(15.0, 27.0)) * stature**2,
        "leg": draw(st.sampled_from(("right", "left"))),
        "level": draw(st.sampled_from(("beginner", "intermediate", "advanced"))),
        "build": draw(builds),
        "target": target,
        "split": f"{hop}:{step}:{100 - hop - step}",
    }
    if draw(st.booleans()):
        table["best"] = target * draw(st.floats(0.93, 1.0))
    if draw(st.booleans()):
        table["born"] = draw(st.integers(1980, 2017))
    if draw(st.booleans()):
        table["strides"] = draw(st.integers(4, 20))
    for test, low, high in (
        ("standing_jump", 0.6, 3.5),
        ("five_bounds", 4.0, 18.0),
        ("flying_30", 2.8, 7.0),
    ):
        if draw(st.booleans()):
            table[test] = draw(st.floats(low, high))
    if calibrated:
        table["calibration"] = {
            "pull": draw(st.floats(0.0, 0.9)),
            "slope": draw(st.floats(0.0, 1.5)),
        }
    return table


drill_names: Final = st.sampled_from(sorted(catalogue()))
"""Drills that come with Phasemark."""

arcs: Final = st.sampled_from(("low", "natural", "high"))
"""How high a hop is meant to be."""

# --- plans ----------------------------------------------------------------------------------------

CLUB: Final = ("runa", "bram", "imka", "sefa", "odalys", "tevin")
"""The fictional club, Marram Point."""
CLUB_FOLDER: Final = Path(__file__).parents[1] / "layout" / "catalogue" / "club"
ON: Final = datetime.date(2026, 5, 1)
"""The day test plans are for."""


@lru_cache(maxsize=16)
def member(name: str) -> Athlete:
    """One of the club."""
    return read_athlete(CLUB_FOLDER / f"{name}.toml")


def plan(
    who: Athlete | str | dict[str, Any], drill: str, venue: str = "club", **changed: Any
) -> Plan:
    """A plan for a club member, an athlete or the contents of an athlete's file.

    Somebody has decided to go on with what is closed to them, unless `despite` is None.
    """
    if isinstance(who, str):
        who = member(who)
    elif isinstance(who, dict):
        who = athlete_from(who)
    changed.setdefault("despite", "the coach of these tests")
    return make_plan(who, catalogue()[drill], venues()[venue], ON, Choices(**changed))


def pit_or_track(drill: str) -> str:
    """A venue the drill can be set out on."""
    return "club" if catalogue()[drill].ends == "sand" else "track"
