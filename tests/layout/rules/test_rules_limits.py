"""Limits of age, level, load and demand: each begins where the rule says, and says what it should."""

from __future__ import annotations

import datetime

import pytest

from layout.rules.budget import budget_of
from layout.rules.cautions import cautions_for, in_short
from layout.rules.demand import Demand, closed_to, demand_of, reasons
from layout.rules.load import COMPARED, dose_for
from layout.rules.sources import said, sources
from layout.rules.standing import Standing, hurdle_allowed, standing
from tests.published import published

ON = datetime.date(2026, 5, 1)
LOAD = {row["id"]: row for row in published("load.toml")}
CHILD, GROWN = Standing(12, "beginner", 0.0), Standing(20, "intermediate", 2.0)


@pytest.mark.parametrize(
    ("born", "age", "assumed"),
    [
        (2017, 8, []),
        (2018, 8, ["born"]),
        (1945, 80, []),
        (1944, 8, ["born"]),
        (2010, 15, []),
        (2009, 16, []),
    ],
)
def test_ages_from_8_to_80_are_believed(born: int, age: int, assumed: list[str]) -> None:
    found = standing(born, "advanced", 5.0, ON)
    assert (found.age, [a.field for a in found.assumed]) == (age, assumed)
    assert found.young == (age < 16)
    if assumed:
        made = 2026 - born - 1
        assert found.taken("born") == (
            f"Born {born} makes {made} years, not 8 to 80: taken as 8 years. "
            "Give the year of birth to change this."
        )


@pytest.mark.parametrize(("days", "age"), [(366, 15), (367, 14), (-400, 13)])
def test_a_day_moves_an_age_up_to_a_year_ahead(days: int, age: int) -> None:
    """Born 2011: 14 in 2026, 15 in 2027; the age of a past day is that day's."""
    found = standing(2011, "advanced", 5.0, ON + datetime.timedelta(days), ON)
    assert found.age == age
    assert ("on" in {a.field for a in found.assumed}) == (days > 366)
    unknown = standing(None, "advanced", 5.0, ON + datetime.timedelta(days), ON)
    assert [a.field for a in unknown.assumed] == (["born", "on"] if days > 366 else ["born"])


@pytest.mark.parametrize(
    ("level", "years"), [("beginner", 0.0), ("intermediate", 1.0), ("advanced", 3.0)]
)
def test_a_level_stands_for_its_least_years(level: str, years: float) -> None:
    found = standing(2000, level, None, ON)
    assert (found.level, found.years) == (level, years)
    assert f"taken as {years:g}, the least for {level}." in found.taken("training_years")
    assert found.text.startswith(f"Counts as 25 years old, {level}, {years:g} training year")
    assert ("training years." in found.text) == (years != 1.0)


def test_of_two_birth_years_the_younger_is_said_as_taken() -> None:
    assert standing(1990, "advanced", 5.0, ON, None, 2014).taken("born") == (
        "Born 1990 given over the file's 2014: taken as 2014, the younger. "
        "Give the year of birth to change this."
    )
    assert standing(2014, "advanced", 5.0, ON, None, 1990).age == 11


@pytest.mark.parametrize(
    ("asked", "age", "height", "kind"),
    [(0.5, 11, 0.05, "cone"), (0.03, 11, 0.03, "cone"), (0.5, 12, 0.23, "hurdle"), (0.15, 12, 0.15, "hurdle"),
     (0.5, 14, 0.23, "hurdle"), (0.5, 15, 0.5, "hurdle")],
)  # fmt: skip
def test_hurdles_by_age(asked: float, age: int, height: float, kind: str) -> None:
    assert hurdle_allowed(asked, age) == (height, kind)


HOP, STEP, JUMP = "hop", "step", "jump"
RUNS = [
    ([STEP], 0, True, False, 10, "beginner", "low", "any drill"),
    ([STEP], 1, True, False, 11, "beginner", "moderate", "a run-up"),
    ([HOP, STEP], 1, True, False, 12, "beginner", "moderate", "a hop from a run-up on the track"),
    ([HOP, STEP], 1, False, False, 11, "beginner", "moderate", "a run-up"),
    ([HOP], 0, True, False, 10, "beginner", "low", "any drill"),
    ([HOP, STEP, JUMP], 0, False, False, 13, "intermediate", "high", "hop, step and jump"),
    ([STEP, JUMP], 6, False, False, 11, "beginner", "moderate", "a run-up"),
    ([STEP], 7, False, False, 13, "intermediate", "moderate", "over 6 strides"),
    ([STEP], 8, False, False, 13, "intermediate", "moderate", "over 6 strides"),
    ([STEP], 9, False, False, 15, "intermediate", "high", "over 8 strides"),
    ([STEP], 12, False, False, 15, "intermediate", "high", "over 8 strides"),
    ([STEP], 13, False, False, 16, "intermediate", "high", "over 12 strides"),
    ([STEP], 0, True, True, 13, "intermediate", "high", "hurdles over the line"),
    ([HOP], 0, True, True, 13, "intermediate", "high", "hurdles over the line"),
    ([HOP, STEP, HOP], 0, True, False, 13, "intermediate", "high", "hops repeated"),
    ([HOP, HOP, STEP], 0, True, False, 14, "intermediate", "high", "two hops in a row"),
    ([HOP, HOP, HOP], 0, True, False, 15, "intermediate", "high", "three hops in a row"),
    ([HOP, HOP], 0, True, True, 16, "advanced", "high", "two hops in a row over hurdles"),
    ([HOP, HOP, HOP], 0, True, True, 16, "advanced", "very high", "two hops in a row over hurdles"),
    ([HOP, STEP, JUMP], 1, False, False, 16, "intermediate", "very high", "hop, step and jump from a run-up"),
]  # fmt: skip


@pytest.mark.parametrize(("moves", "strides", "track", "over", "age", "level", "hard", "why"), RUNS)
def test_what_a_run_demands(
    moves: list[str], strides: int, track: bool, over: bool, age: int, level: str, hard: str, why: str
) -> None:  # fmt: skip
    found = demand_of(moves, strides, track, over)
    assert (found.youngest, found.level, found.intensity, found.why) == (age, level, hard, why)
    assert found.contacts == len(moves) + (strides > 0)


def test_the_more_careful_of_two_in_everything() -> None:
    one = Demand(12, "advanced", "low", "one", 9, "runs")
    two = Demand(14, "beginner", "high", "two", 4, "hops")
    both = Demand(14, "advanced", "high", "two", 9, "hops")
    assert one.raised(two) == two.raised(one) == both
    # Of two of one age the first says why.
    assert one.raised(Demand(12, "beginner", "low", "three", 0, "x")).why == "runs"


CLOSED = [
    (CHILD, Demand(12, "beginner", "high", contacts=10), []),
    (CHILD, Demand(13, "beginner", "high"), ["too-young"]),
    (CHILD, Demand(12, "beginner", "very high"), ["shock"]),
    (CHILD, Demand(16, "beginner", "very high"), ["shock"]),
    (CHILD, Demand(12, "beginner", "low", contacts=11), ["youth-run"]),
    (CHILD, Demand(12, "intermediate", "low"), ["level"]),
    (CHILD, Demand(13, "advanced", "low", contacts=11), ["too-young", "youth-run", "level"]),
    (GROWN, Demand(20, "intermediate", "very high", contacts=40), []),
    (GROWN, Demand(21, "intermediate", "very high"), ["too-young"]),
    (GROWN, Demand(8, "beginner", "low"), []), (GROWN, Demand(8, "advanced", "low"), ["level"]),
]  # fmt: skip


@pytest.mark.parametrize(("stands", "demand", "codes"), CLOSED)
def test_what_closes_a_drill(stands: Standing, demand: Demand, codes: list[str]) -> None:
    found = reasons(stands, demand, "Ada")
    assert [r.code for r in found] == codes
    first = closed_to(stands, demand, "Ada")
    assert first == (found[0] if found else None)
    for reason in found:
        assert reason.source
        assert (
            f"counts as {stands.age}." in reason.text
            or "counts as beginner." in reason.text
            or ("counts as intermediate." in reason.text)
        )


def test_what_a_closing_says() -> None:
    (why,) = reasons(CHILD, Demand(13, "beginner", "low", "a book", why="hops repeated"), "Ada")
    assert (why.text, why.source) == ("From 13 years (hops repeated); Ada counts as 12.", "a book")
    (run,) = reasons(CHILD, Demand(12, "beginner", "low", contacts=11), "Ada")
    assert run.text == "11 contacts a run, at most 10 in a set under 16; Ada counts as 12."
    (hard,) = reasons(CHILD, Demand(12, "beginner", "very high"), "Ada")
    assert hard.text == "Very hard contacts, from 16 years; Ada counts as 12."
    unknown = standing(2000, None, 1.0, ON)
    (level,) = reasons(unknown, Demand(8, "advanced", "low"), "Ada")
    assert level.text == (
        "For advanced athletes; Ada counts as beginner. No level given: taken as beginner. "
        "Give the level to change this."
    )
    far = standing(2014, "advanced", 5.0, datetime.date(2029, 5, 1), ON)
    assert "over a year ahead" in reasons(far, Demand(16, "beginner", "low"), "Ada")[0].text


@pytest.mark.parametrize(
    ("asked", "child"),
    [((3, 3, 3), (3, 3)), ((4, 3, 3), (3, 3)), ((3, 4, 3), (3, 3)), ((3, 10, 1), (3, 10)),
     ((3, 11, 1), (3, 10)), ((2, 2, 5), (2, 2)), ((2, 3, 5), (2, 2)), ((1, 4, 11), (1, 1)),
     ((1, 4, 10), (1, 1)), ((1, 2, 6), (1, 1))],
)  # fmt: skip
def test_doses_of_the_young(asked: tuple[int, int, int], child: tuple[int, int]) -> None:
    sets, runs, each = asked
    young, grown = dose_for(sets, runs, each, CHILD), dose_for(sets, runs, each, GROWN)
    assert (young.sets, young.runs, young.contacts) == (*child, child[0] * child[1] * each)
    assert young.cut_for_youth == (child != (sets, runs))
    assert (grown.sets, grown.runs, grown.cut_for_youth) == (sets, runs, False)


def test_budgets_in_full() -> None:
    young, grown = (
        budget_of(Standing(15, "advanced", 5.0)),
        budget_of(Standing(16, "advanced", 5.0)),
    )
    assert (young.pair, young.sets, young.reps, young.sessions) == ((0, 30), 3, 10, 2)
    assert (grown.pair, grown.sets, grown.reps, grown.sessions) == ((120, 140), 0, 0, 3)
    assert young.text == "at most 30 in a session under 16, 3 sets of 10"
    assert grown.text == "at most 140 in a session at advanced level"


def test_cautions_are_for_whom_they_are() -> None:
    assert len(cautions_for(("Own.",), GROWN)) == len(cautions_for(("Own.",), CHILD)) - 1
    assert cautions_for((), None) == cautions_for((), CHILD)
    assert any(
        "never concrete, tile or asphalt (from memory)" in c for c in cautions_for((), GROWN)
    )
    grown, child = in_short(GROWN), in_short(CHILD, "By a coach.")
    assert child.startswith("By a coach. Warm up first")
    assert grown.startswith("Warm up first")
    assert "Under 16: twice a week" in child
    assert "Under 16" not in grown
    assert grown.endswith("doctor's word come first.")
    assert child.endswith("doctor's word come first.")


def test_other_jumps_peaks_are_the_published_ones() -> None:
    rows = ("vertical-jump", "standing-long-jump", "drop-90")
    for peak, row in zip(COMPARED, rows, strict=True):
        assert peak.low == peak.high == LOAD[f"peak-{row}"]["peak"]


def test_a_source_is_said_with_how_it_is_known() -> None:
    for key, source in sources().items():
        memory = source.tag.startswith("memory")
        assert ("from memory" in source.said) == memory or "from memory" in source.text
        assert said(key) == (source.said if key != "ours" else "Phasemark's estimate")
    assert said("a book; ours") == "a book; Phasemark's estimate"
    assert said("yours and hours") == "yours and hours"
