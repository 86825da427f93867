"""How strong an athlete is taken to be: never more than the published jumper, least where unknown."""

from __future__ import annotations

import datetime

import pytest
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


@pytest.mark.parametrize(
    ("age", "share"),
    [
        (8, 0.65), (9, 0.675), (11, 0.725), (12, 0.75), (13, 0.80), (14, 0.85), (15, 0.89), (16, 0.93),
        (17, 0.965), (18, 1.0), (25, 1.0), (35, 1.0), (38, 0.97), (50, 0.85), (60, 0.85 - 0.2 * 10 / 15),
        (65, 0.65), (70, 0.60), (80, 0.50),
    ],
)  # fmt: skip
def test_shares_by_level_sex_and_age(age: int, share: float) -> None:
    """Ours, each as it stands in the rules' own words; in between in proportion."""
    for level, of in (("beginner", 0.6), ("intermediate", 0.8), ("advanced", 1.0)):
        for build, part in (("male", 1.0), ("female", 0.9), ("average", 0.9)):
            made = strength_of(Standing(age, level, 0.0), build)
            assert made == pytest.approx(of * part * share, abs=1e-9), (level, build)


def test_unknown_age_level_and_build_count_as_the_most_careful() -> None:
    who = athlete_from({"name": "A", "target": 8.0, "stature": 1.7, "mass": 60.0, "leg": "right"})
    careful = strength_of(who.standing(DAY), who.build)
    assert careful == BY_LEVEL["beginner"] * BY_AGE[0][1] * WOMEN
