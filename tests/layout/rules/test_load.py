"""Contacts, forces, budgets and youth limits."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.stances import GRAVITY
from layout.plan.drill import catalogue
from layout.rules.budget import BUDGET, YOUTH_REPS, YOUTH_SETS, budget_of
from layout.rules.cautions import cautions_for
from layout.rules.load import (
    COLLEGE,
    LONGEST_FAST_CONTACT,
    STEP_PEAK,
    dose_for,
    mean_braking,
    mean_vertical,
)
from layout.rules.standing import YOUTH_AGE, standing
from layout.words.trade import LEVELS
from tests import strategies as own
from tests.published import published

ROWS = {row["id"]: row for row in published("load.toml")}
MECHANICS = {row["id"]: row for row in published("mechanics.toml")}

ages = st.none() | st.integers(8, 40)
levels = st.sampled_from(LEVELS)


def test_limits_are_the_published_ones() -> None:
    assert ROWS["youth-sets"]["high"] == YOUTH_SETS
    assert ROWS["youth-reps"]["high"] == YOUTH_REPS
    assert ROWS["shock-youngest"]["age"] == YOUTH_AGE
    assert MECHANICS["fast-contact-limit"]["high"] == LONGEST_FAST_CONTACT
    for level in LEVELS:
        row = ROWS[f"contacts-{level}"]
        assert BUDGET[level] == (row["low"], row["high"])
    assert COLLEGE.low == MECHANICS["force-first-college"]["low"]
    assert COLLEGE.high == MECHANICS["force-first-college"]["high"]
    assert STEP_PEAK.low == STEP_PEAK.high == MECHANICS["peak-force-step"]["peak"]


def test_a_triple_jump_contact_ranks_above_every_drill_of_the_published_order() -> None:
    peaks = [
        ROWS[f"peak-{k}"]["peak"]
        for k in ("vertical-jump", "standing-long-jump", "drop-60", "drop-90")
    ]
    assert peaks == sorted(peaks)
    assert COLLEGE.low > peaks[-1]


@given(st.integers(1, 10), st.integers(1, 20), st.integers(1, 12), levels, ages)
def test_the_young_get_no_more_than_the_leaflet_allows(
    sets: int, runs: int, contacts: int, level: str, age: int | None
) -> None:
    born = None if age is None else 2026 - 1 - age
    stands = standing(born, level, 0.0, datetime.date(2026, 5, 1))
    dose = dose_for(sets, runs, contacts, stands)
    assert dose.budget == budget_of(stands)
    young = age is None or age < ROWS["shock-youngest"]["age"]
    assert dose.contacts == dose.sets * dose.runs * contacts
    assert dose.sets <= sets
    assert dose.runs <= runs
    if young:
        assert dose.sets <= ROWS["youth-sets"]["high"]
        # A run longer than the limit is one run: the coach can shorten it, a dose cannot.
        assert dose.runs == 1 or dose.runs * contacts <= ROWS["youth-reps"]["high"]
    else:
        assert (dose.sets, dose.runs) == (sets, runs)
    assert dose.cut_for_youth == ((dose.sets, dose.runs) != (sets, runs))


@pytest.mark.parametrize("slug", catalogue())
@pytest.mark.parametrize("name", own.CLUB)
def test_doses_of_plans_are_within_budget_and_youth_limits(name: str, slug: str) -> None:
    plan = own.plan(name, slug, own.pit_or_track(slug))
    load, row = plan.load, ROWS[f"contacts-{own.member(name).level}"]
    age = plan.who.age
    young = age is None or age < ROWS["shock-youngest"]["age"]
    most = ROWS["youth-sets"]["high"] * ROWS["youth-reps"]["high"] if young else row["high"]
    assert (load.budget_low, load.budget_high) == (0 if young else row["low"], most)
    assert plan.budget.pair == (load.budget_low, most)
    assert load.contacts == load.sets * load.runs * load.per_run
    assert (load.contacts <= most) != any(n.code == "over-budget" for n in plan.warnings)
    if young:
        assert load.sets <= ROWS["youth-sets"]["high"]
        assert load.runs == 1 or load.runs * load.per_run <= ROWS["youth-reps"]["high"]
        assert any("Under 16" in c for c in plan.cautions)


@pytest.mark.parametrize("slug", catalogue())
@pytest.mark.parametrize("name", ["runa", "bram", "tevin"])
def test_contacts_are_counted_foot_by_foot(name: str, slug: str) -> None:
    plan = own.plan(name, slug, own.pit_or_track(slug))
    drill, load = catalogue()[slug], plan.load
    assert load.per_run == drill.contacts == load.left + load.right + load.both
    landed = plan.contacts[1:] if drill.start == "stand" else plan.contacts
    for foot in ("left", "right", "both"):
        assert getattr(load, foot) == sum(c.foot == foot for c in landed)


def test_a_run_too_long_for_the_young_is_not_given_silently() -> None:
    """More cycles than the leaflet's ten contacts a set: cut, or at least said."""
    row = ROWS["youth-reps"]
    plan = own.plan("bram", "two-hops-step-track", "track", cycles=5)
    assert plan.load.per_run * plan.load.runs <= row["high"] or any(
        n.code.startswith("youth") for n in plan.warnings
    )


def test_a_two_foot_landing_counts_as_published() -> None:
    plan = own.plan("tevin", "full-triple-jump")
    assert plan.load.both == ROWS["two-foot-landing"]["count"]


@given(st.floats(0.5, 6.0), st.floats(0.1, 0.4))
def test_mean_forces_are_impulse_over_time(gain: float, time: float) -> None:
    # Momentum per body weight: (F - 1) g t is the change of vertical speed.
    assert (float(mean_vertical(gain, time)) - 1.0) * GRAVITY * time == pytest.approx(gain)
    assert float(mean_braking(gain, time)) * GRAVITY * time == pytest.approx(gain)
    assert float(mean_vertical(0.0, time)) == 1.0


@pytest.mark.parametrize("age", [None, 10, 15])
def test_cautions_of_the_young_or_unknown(age: int | None) -> None:
    stands = standing(age and 2026 - 1 - age, "advanced", 0.0, own.ON)
    said = cautions_for(("Own.",), stands)
    assert said == cautions_for(("Own.",), None)
    assert "Own." in said
    assert any("Under 16" in c and "twice a week" in c for c in said)


def test_cautions_of_the_grown() -> None:
    said = cautions_for((), standing(2009, "advanced", 0.0, own.ON))
    assert not any("Under 16" in c for c in said)
    rest = ROWS["rest-between-sessions"]
    assert any(f"{rest['low']} to {rest['high']} hours" in c for c in said)
    assert any("Stop at once on any pain" in c for c in said)
    assert any("doctor" in c for c in said)
    assert any(f"a peak of {MECHANICS['peak-force-step']['peak']:g} in" in c for c in said)
