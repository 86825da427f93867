"""Blocks of weeks: rest, budgets, youth limits, and the steps from rung to rung."""

from __future__ import annotations

import datetime
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.athlete.athlete import Athlete
from layout.plan.drill import catalogue
from layout.rules.budget import YOUTH_SESSIONS
from layout.rules.standing import AGES, CAREFUL_AGE
from layout.training.block import Block, LeftOut, block, parse_days, session_parts
from layout.training.ladder import Placing, closed, next_rung, open_rungs
from layout.training.rungs import Ladder, ladder, ladder_from
from layout.training.seen import Observed
from layout.words.faults import BadInput
from layout.words.trade import LEVELS
from tests.published import published
from tests.strategies import CLUB, ON, member

LOAD = {row["id"]: row for row in published("load.toml")}
SHOCK_AGE: int = LOAD["shock-youngest"]["age"]
MONDAY = datetime.date(2026, 5, 4)


def placed(who: Athlete, known: Ladder | None = None, **seen: Any) -> Placing:
    return next_rung(who, Observed(MONDAY, **seen), known or ladder())


def made(who: Athlete | str, weeks: int = 4, days: tuple[int, ...] = (0, 3), **seen: Any) -> Block:
    who = member(who) if isinstance(who, str) else who
    return block(who, placed(who, **seen), ladder(), MONDAY, weeks, days, seen.get("sessions", 0))


# --- limits as published --------------------------------------------------------------------------


def test_youth_figures_are_the_published_ones() -> None:
    assert LOAD["youth-sessions"]["high"] == YOUTH_SESSIONS
    row = LOAD["careful-age"]
    assert (row["age"], row["oldest"]) == AGES
    assert CAREFUL_AGE == row["age"] < SHOCK_AGE


@st.composite
def people(draw: st.DrawFn) -> Athlete:
    """The club's athletes at any age and level."""
    return replace(
        member(draw(st.sampled_from(CLUB))),
        born=draw(st.none() | st.integers(1975, 2015)),
        level=draw(st.sampled_from(LEVELS)),
        training_years=draw(st.none() | st.floats(0, 20)),
    )


@st.composite
def own_ladders(draw: st.DrawFn) -> Ladder:
    """A coach's ladder with doses, rests and a shock-level drill as bold as its reader lets pass."""
    bold = replace(catalogue()["full-triple-jump"], slug="bold", youngest=10, level="beginner")
    slugs = draw(
        st.lists(
            st.sampled_from([*sorted(catalogue()), "bold"]), min_size=1, max_size=5, unique=True
        )
    )
    rungs: dict[str, Any] = {}
    for n, slug in enumerate(["hop-step-hold", *slugs]):
        rungs[f"rung-{n}"] = {
            "title": f"Rung {n}",
            "height": n + 1,
            "drill": slug,
            "dose": [draw(st.integers(1, 10)), draw(st.integers(1, 20))],
            "rest": draw(st.integers(48, 120)),
            "sessions": draw(st.integers(1, 4)),
            **({"lead_in": f"rung-{n - 1}"} if n and draw(st.booleans()) else {}),
        }
    return ladder_from({"rung": rungs}, "", "", {"bold": bold})


def test_days_are_monday_and_thursday_where_none_are_given() -> None:
    who = member("tevin")
    assert {s.on.weekday() for s in block(who, placed(who), ladder(), MONDAY).sessions} == {0, 3}


week_days = st.lists(st.integers(0, 6), min_size=1, max_size=7, unique=True).map(tuple)


@given(
    people(),
    st.just(ladder()) | own_ladders(),
    st.dates(datetime.date(2026, 1, 1), datetime.date(2027, 12, 31)),
    st.integers(1, 12),
    week_days,
    st.integers(0, 30),
)
def test_no_block_goes_beyond_a_limit(
    who: Athlete, known: Ladder, start: datetime.date, weeks: int, days: tuple[int, ...], done: int
) -> None:
    rungs, _ = open_rungs(who, start, known)
    if not rungs:
        return
    for at in {rungs[0].slug, rungs[-1].slug}:
        placing = next_rung(who, Observed(start, at=at), known)
        found = block(who, placing, known, start, weeks, days, done)
        for session in found.sessions:
            counted = who.standing(session.on).age
            assert who.born is not None or counted == LOAD["careful-age"]["age"]
            young = counted < SHOCK_AGE
            assert session.on.weekday() in days
            assert start <= session.on < start + datetime.timedelta(weeks=weeks)
            assert session.contacts <= LOAD[f"contacts-{who.level}"]["high"]
            assert session.contacts == sum(p.sets * p.runs * p.rung.contacts for p in session.parts)
            for part in session.parts:
                assert closed(part.rung, who, session.on) is None
                assert counted >= part.rung.drill.youngest
                assert not (young and part.rung.drill.intensity == "very high")
            if young:
                assert sum(p.sets for p in session.parts) <= LOAD["youth-sets"]["high"]
                assert all(
                    p.runs * p.rung.contacts <= LOAD["youth-reps"]["high"] for p in session.parts
                )
        for one, two in pairwise(found.sessions):
            assert 24 * (two.on - one.on).days >= max(48, one.rest)
            assert (two.on - one.on).days >= LOAD["youth-days-apart"]["days"]
        for n, session in enumerate(found.sessions):
            if who.standing(session.on).age < SHOCK_AGE:
                # Any seven days in a row, so every calendar week too.
                last = [s for s in found.sessions[: n + 1] if (session.on - s.on).days < 7]
                assert len(last) <= LOAD["youth-sessions"]["high"]
        dates = {s.on for s in found.sessions} | {row.on for row in found.left_out}
        every = (start + datetime.timedelta(days=d) for d in range(7 * weeks))
        assert dates == {on for on in every if on.weekday() in days}


# --- steps, by hand -------------------------------------------------------------------------------


def test_a_block_by_hand() -> None:
    """Bram, 14: sand-six four times, then the standing triple jump on condition; week 4 is easy."""
    found = made("bram")
    rows = [
        (str(s.on), s.main.rung.slug, s.main.sets, s.main.runs, s.contacts, bool(s.only_if))
        for s in found.sessions
    ]
    assert rows == [
        ("2026-05-04", "sand-six", 2, 3, 18, False),  # the first time: one set fewer
        ("2026-05-07", "sand-six", 3, 3, 27, False),
        ("2026-05-11", "sand-six", 3, 3, 27, False),
        ("2026-05-14", "sand-six", 3, 3, 27, False),
        ("2026-05-18", "standing-triple", 2, 3, 18, True),
        ("2026-05-21", "standing-triple", 3, 3, 27, False),
        ("2026-05-25", "standing-triple", 2, 3, 18, False),
        ("2026-05-28", "standing-triple", 2, 3, 18, False),
    ]
    assert found.sessions[4].only_if[0] == "80 % of runs with every mark met within 25 cm"
    assert all(len(s.parts) == 1 for s in found.sessions)  # no lead-in for the young
    assert found.left_out == ()
    assert found.by_week() == {1: 45, 2: 54, 3: 45, 4: 36}
    assert found.by_drill() == {"hop-step-sand": 99, "standing-triple-jump": 81}
    assert found.by_intensity() == {"moderate": 99, "high": 81}


def test_the_grown_have_a_lead_in_of_one_set() -> None:
    session = made("imka").sessions[1]
    lead, main = session.parts
    assert (lead.rung.slug, lead.sets, lead.runs) == ("hold-natural", 1, 6)
    assert (main.rung.slug, main.sets, main.runs) == ("sand-six", 3, 5)
    assert session.contacts == 1 * 6 * 2 + 3 * 5 * 3


def test_days_too_near_are_left_out_and_say_why() -> None:
    found = made("imka", weeks=1, days=(0, 1, 2, 3, 4))
    assert [s.on.day for s in found.sessions] == [4, 6, 8]
    assert [(row.on.day, row.why) for row in found.left_out] == [
        (5, "only 24 h after Mon 4 May; 48 h needed"),
        (7, "only 24 h after Wed 6 May; 48 h needed"),
    ]


def test_after_high_intensity_three_days_pass() -> None:
    found = made("tevin", weeks=2, days=(0, 2, 4))
    assert [s.on.day for s in found.sessions] == [4, 8, 11, 15]
    assert [s.rest for s in found.sessions] == [72] * 4
    assert "only 48 h" in found.left_out[0].why
    assert "72 h needed" in found.left_out[0].why


def test_the_young_jump_twice_in_any_seven_days() -> None:
    found = made("runa", weeks=2, days=(0, 2, 4, 6))
    assert [s.on.day for s in found.sessions] == [4, 6, 11, 13]
    assert found.left_out[0] == LeftOut(
        datetime.date(2026, 5, 8), "at most 2 sessions a week under 16"
    )


def test_sessions_done_are_counted_but_two_more_come_before_a_new_rung() -> None:
    def first_new(done: int) -> int:
        return next(s.number for s in made("bram", sessions=done).sessions if s.only_if)

    assert [first_new(n) for n in (0, 1, 2, 3, 4, 50)] == [5, 4, 3, 3, 3, 3]


def test_a_birthday_year_opens_a_rung_inside_the_block() -> None:
    """Counted 15 in 2026 and 16 in 2027: the six-stride triple jump opens with the new year."""
    who = replace(member("imka"), born=2010)
    start = datetime.date(2026, 12, 14)
    placing = next_rung(who, Observed(start, at="three-beside"), ladder())
    assert placing.up is None
    found = block(who, placing, ladder(), start, 6)
    new = next(s for s in found.sessions if s.main.rung.slug == "short-six")
    assert new.on.year == 2027
    assert new.only_if
    assert {s.main.rung.slug for s in found.sessions if s.on.year == 2026} == {"three-beside"}


def test_pain_gives_no_sessions() -> None:
    found = made("tevin", pain=True)
    assert found == Block((), ())


def test_a_dose_over_the_budget_is_cut_lead_in_first() -> None:
    rungs = {
        "easy": {"title": "Easy", "height": 1, "drill": "hop-step-hold", "dose": [2, 20]},
        "hard": {"title": "Hard", "height": 2, "drill": "hop-step-sand", "dose": [3, 15],
                 "lead_in": "easy"},
        "huge": {"title": "Huge", "height": 3, "drill": "alternate-bounds", "dose": [10, 20],
                 "lead_in": "easy"},
    }  # fmt: skip
    known = ladder_from({"rung": rungs}, "", "")
    who = member("tevin")
    by = {r.slug: session_parts(who, r, known.rungs, ON) for r in known.rungs}
    # 40 + 135 is over 140: the lead-in goes, 135 stay.
    assert [(p.rung.slug, p.sets, p.runs) for p in by["hard"]] == [("hard", 3, 15)]
    # 9 contacts a run: sets go to one, then runs to the last that fits 140.
    assert [(p.rung.slug, p.sets, p.runs) for p in by["huge"]] == [("huge", 1, 15)]
    assert by["huge"][0].contacts == 135


# --- days, bad input ------------------------------------------------------------------------------


def test_days_are_read() -> None:
    assert parse_days("mon,thu") == (0, 3)
    assert parse_days(" Saturday , tue ") == (1, 5)


@pytest.mark.parametrize("text", ["", "foo", "mon,mon", "mon,", "monda", "mon thu", "0,3"])
def test_bad_days_are_refused(text: str) -> None:
    with pytest.raises(BadInput, match=r"^days: "):
        parse_days(text)


@pytest.mark.parametrize("weeks", [0, 27, -1])
def test_weeks_out_of_range_are_refused(weeks: int) -> None:
    with pytest.raises(BadInput, match=r"^weeks: must be 1 to 26"):
        made("tevin", weeks=weeks)


def test_the_end_of_the_calendar_is_refused() -> None:
    who = member("tevin")
    with pytest.raises(BadInput, match=r"^from: "):
        block(who, placed(who), ladder(), datetime.date(9999, 12, 30))
