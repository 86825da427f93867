"""How an athlete counts: by one function, the unknown and the impossible most carefully."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.rules.demand import INTENSITIES, Demand, closed_to
from layout.rules.standing import AGES, CAREFUL_AGE, YEARS_BY_LEVEL, Standing, standing
from layout.words.trade import LEVELS

ON = datetime.date(2026, 5, 1)
KNOWN = {"level": "advanced", "training_years": 6.0, "on": ON}


def test_the_levels_are_those_of_files() -> None:
    assert tuple(YEARS_BY_LEVEL) == LEVELS


def test_what_is_known_is_taken_and_nothing_assumed() -> None:
    found = standing(2000, "advanced", 6.0, ON)
    assert (found.age, found.level, found.years, found.assumed) == (25, "advanced", 6.0, ())
    assert not found.young


@pytest.mark.parametrize("born", [None, 1914, 2030, 2019, 1944])
@pytest.mark.parametrize("level", [*LEVELS, None])
def test_an_unknown_or_impossible_age_counts_as_the_most_careful_and_is_said(
    born: int | None, level: str | None
) -> None:
    found = standing(born, level, 6.0, ON)
    assert found.age == CAREFUL_AGE
    assert found.young
    assert "the year of birth" in found.taken("born")
    assert born is None or str(born) in found.taken("born")


def test_unknown_level_and_history() -> None:
    found = standing(2000, None, None, ON)
    assert (found.level, found.years) == ("beginner", 0.0)
    assert [a.field for a in found.assumed] == ["level", "training_years"]
    assert standing(2000, "intermediate", None, ON).years == 1.0
    assert "taken as 1," in standing(2000, "intermediate", None, ON).taken("training_years")


def test_a_day_over_a_year_ahead_moves_no_age() -> None:
    near = standing(2012, **{**KNOWN, "on": datetime.date(2027, 5, 1)}, today=ON)
    assert (near.age, near.assumed) == (14, ())
    far = standing(2012, **{**KNOWN, "on": datetime.date(2029, 5, 3)}, today=ON)
    assert far.age == 13
    assert "2029-05-03" in far.taken("on")


@pytest.mark.parametrize(("over", "age"), [(1990, 11), (2016, 9)])
def test_of_two_birth_years_the_younger_counts_and_both_are_said(over: int, age: int) -> None:
    found = standing(over, **KNOWN, file_born=2014)
    assert found.age == age
    assert "2014" in found.taken("born")
    assert str(over) in found.taken("born")
    assert standing(2014, **KNOWN, file_born=2014).assumed == ()


borns = st.none() | st.integers(1900, 2100)
days = st.dates(datetime.date(2000, 1, 1), datetime.date(2060, 1, 1))


@given(borns, borns, st.none() | st.sampled_from(LEVELS), days, st.none() | days)
def test_knowing_less_never_opens_more(
    born: int | None,
    file: int | None,
    level: str | None,
    on: datetime.date,
    today: datetime.date | None,
) -> None:
    found = standing(born, level, None, on, today, file)
    assert AGES[0] <= found.age <= AGES[1]
    known = standing(born, level, 0.0, on)
    if known.taken("born") == "":
        assert found.age <= known.age
        assert standing(None, level, None, on).age <= known.age
    for intensity in INTENSITIES:
        demand = Demand(14, "intermediate", intensity)
        if closed_to(known, demand) is not None:
            assert closed_to(standing(None, level, None, on), demand) is not None


def test_why_a_drill_is_closed() -> None:
    child = standing(2014, **KNOWN)
    assert closed_to(child, Demand(11, "advanced", "high")) is None
    young = closed_to(child, Demand(12, "beginner", "low"), "Runa")
    assert young is not None
    assert young.code == "too-young"
    assert young.text == "From 12 years; Runa counts as 11."
    shock = closed_to(child, Demand(11, "beginner", "very high"), "Runa")
    assert shock is not None
    assert shock.code == "shock"
    low = closed_to(standing(2000, "beginner", 1.0, ON), Demand(11, "intermediate", "low"), "Ada")
    assert low is not None
    assert (low.code, low.text) == ("level", "For intermediate athletes; Ada counts as beginner.")
    guess = closed_to(standing(None, "advanced", 6.0, ON), Demand(10, "beginner", "low"), "Ada")
    assert guess is not None
    assert guess.text == (
        "From 10 years; Ada counts as 8. No birth year given: taken as 8 years. "
        "Give the year of birth to change this."
    )


def test_forecasts_are_held_low_up_to_17_years() -> None:
    """And of beginners at any age: nobody like that was fitted to."""
    for age, level, low in (
        (17, "advanced", True),
        (18, "advanced", False),
        (18, "beginner", True),
    ):
        assert Standing(age, level, 5.0).held_low == low
