"""How strong an athlete is taken to be: never more than the published jumper, least where unknown."""

from __future__ import annotations

import datetime

from hypothesis import given
from hypothesis import strategies as st

from layout.athlete.athlete import athlete_from
from layout.rules.standing import AGES, Standing
from layout.rules.strength import BY_AGE, BY_LEVEL, WOMEN, strength_of

DAY = datetime.date(2026, 5, 1)


@given(
    st.integers(*AGES),
    st.sampled_from(sorted(BY_LEVEL)),
    st.sampled_from(["male", "female", "average"]),
)
def test_between_the_weakest_and_the_published_jumper(age: int, level: str, build: str) -> None:
    share = strength_of(Standing(age, level, 0.0), build)
    assert min(s for _, s in BY_AGE) * min(BY_LEVEL.values()) * WOMEN <= share <= 1.0
    assert share <= strength_of(Standing(age, "advanced", 0.0), "male")
    assert strength_of(Standing(age, level, 0.0), "average") <= strength_of(
        Standing(age, level, 0.0), "male"
    )


def test_grows_to_eighteen() -> None:
    shares = [strength_of(Standing(a, "advanced", 0.0), "male") for a in range(8, 19)]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.65, 1.0)


def test_unknown_age_level_and_build_count_as_the_most_careful() -> None:
    who = athlete_from({"name": "A", "target": 8.0, "stature": 1.7, "mass": 60.0, "leg": "right"})
    careful = strength_of(who.standing(DAY), who.build)
    assert careful == BY_LEVEL["beginner"] * BY_AGE[0][1] * WOMEN
