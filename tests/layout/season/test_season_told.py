"""Jumped against planned, trends, the next centimetres, weeks of contacts."""

from __future__ import annotations

import datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.body.body import Array
from layout.athlete.ability import ability
from layout.book.people import find_member
from layout.book.record import Record, read_record
from layout.book.store import open_book
from layout.rules.budget import BUDGET
from layout.season.gather import gather, set_aside
from layout.season.next_phase import LEAST, best_split_of, best_split_text, next_phase, worth_of
from layout.season.refit import refit
from layout.season.told import Told, best_whole, students, told_of, trend_of, usual_of
from layout.season.totals import weeks as weeks_kept
from layout.season.weeks import BEFORE, LIGHT, RISE, WeekLoad, weeks_of
from tests.layout.book.book_cases import club_book
from tests.layout.season.season_cases import blank, drawn, put, record_from, truth
from tests.published import published

START = datetime.date(2026, 1, 5)
"""A Monday."""


def _record(tmp_path: Path, rows: list[dict[str, Any]], who: str = "imka") -> Record:
    with open_book(club_book(tmp_path)) as book:
        number = find_member(book, who).id
        put(book, number, rows)
        return read_record(book, number)


def _whole(day: int, *lengths: float | None, **more: Any) -> dict[str, Any]:
    return {
        "day": (START + datetime.timedelta(days=day)).isoformat(), "drill": "full-triple-jump",
        "phases": "hop step jump", "lengths": list(lengths), **more,
    }  # fmt: skip


# --- the record -----------------------------------------------------------------------------------


def test_a_record_is_read_as_it_was_written(tmp_path: Path) -> None:
    rows = [
        _whole(3, 4.2, 3.5, 4.1, speed=8.3, knee_gap=0.2),
        _whole(0, 4.0, None, 4.1, total=11.6),
        _whole(0, 4.3, 3.4, 4.0, foul=1),
        _whole(0, 9.9, 9.9, 9.9, struck=1),
        _whole(4, None, None, None, runs=6, contacts=24),
    ]
    record = _record(tmp_path, rows)
    assert len(record) == 4
    (group,) = record.groups
    assert group.kind.whole
    assert group.kind.full
    assert group.kind.strides is None
    assert group.lengths[:, 0].tolist()[0] == 4.0
    assert np.isnan(group.lengths[1]).all()  # the foul
    assert np.nansum(record.total) == pytest.approx(23.4)
    assert record.contacts.sum() == 36


def test_days_from_and_to(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        number = find_member(book, "imka").id
        put(book, number, [_whole(d, 4.0, 3.4, 4.0) for d in range(10)])
        assert len(read_record(book, number, "2026-01-07", "2026-01-09")) == 3
        assert len(read_record(book, find_member(book, "runa").id)) == 0


def test_figures_that_no_phase_can_have_are_left_out(tmp_path: Path) -> None:
    record = _record(tmp_path, [_whole(0, 40.0, 3.5, 4.0, total=47.5), _whole(0, 4.0, 3.5, 4.0)])
    assert np.isnan(record.groups[0].lengths[0, 0])


# --- jumped against planned -----------------------------------------------------------------------


def test_off_the_plan_by_phase(tmp_path: Path) -> None:
    rows = [{"day": "2026-05-02", "drill": "hop-step-sand", "phases": "hop step", "plan": 1,
             "strides": 4, "lengths": [2.0, 1.5]}] * 6  # fmt: skip
    (told,) = told_of(_record(tmp_path, rows, "runa"))
    hop, step = told.phases
    assert (hop.usual, step.usual) == pytest.approx((2.0, 1.5))
    assert hop.planned is not None
    assert hop.off == pytest.approx(2.0 - hop.planned)
    assert hop.share == pytest.approx(2.0 / 3.5)
    assert hop.planned_share == pytest.approx(hop.planned / (hop.planned + (step.planned or 0)))
    assert told.total is not None
    assert told.total.off == pytest.approx((hop.off or 0) + (step.off or 0))
    assert hop.sure == pytest.approx(0.04 * 2.0 * np.sqrt(8 / 14 / (0.95 * 6)), rel=0.01)


def test_published_shares_come_back(tmp_path: Path) -> None:
    (row,) = (r for r in published("jumps.toml") if r["id"] == "womens-meeting-2008")
    shares = np.array(row["shares"]) / sum(row["shares"])
    rows = [_whole(d, *(13.0 * shares).tolist()) for d in range(5)]
    (told,) = told_of(_record(tmp_path, rows))
    assert [100 * (p.share or 0) for p in told.phases] == pytest.approx(row["shares"], abs=0.05)


def test_a_blunder_is_no_best(tmp_path: Path) -> None:
    rows = [_whole(d, 4.0, 3.4, 4.0) for d in range(9)]
    rows += [_whole(9, 5.0, 3.4, 4.0), _whole(9, 4.1, 3.5, 4.1)]
    (told,) = told_of(_record(tmp_path, rows))
    assert told.best is not None
    assert told.best[0] == pytest.approx(11.7)
    best = best_whole([told], 14)
    assert best is not None
    assert best[1] == (4.1, 3.5, 4.1)


def test_one_attempt_one_total_and_only_fouls(tmp_path: Path) -> None:
    (told,) = told_of(_record(tmp_path, [_whole(0, 4.0, 3.4, 4.0)]))
    assert told.total is not None
    assert told.total.trend is None
    other, third = tmp_path / "a", tmp_path / "b"
    other.mkdir()
    third.mkdir()
    (told,) = told_of(_record(other, [_whole(0, None, None, None, total=11.0)]))
    assert told.phases == ()
    assert told.best is not None
    assert told.best[:3] == (11.0, START.toordinal(), ())
    assert told_of(_record(third, [_whole(0, 4.0, 3.4, 4.0, foul=1)])) == ()


def test_usual_looks_at_the_latest() -> None:
    values = np.concatenate([np.full(30, 3.0), np.full(12, 3.5)])
    middle, sure = usual_of(values)
    assert middle == pytest.approx(3.5)
    assert 0.0 < sure < 0.05
    assert np.isnan(usual_of(np.full(3, np.nan))[0])


def test_a_trend_is_found_and_noise_is_none() -> None:
    rng = np.random.default_rng(1)
    day = np.repeat(np.arange(0, 80, 4), 4)
    found = clear = 0
    for _ in range(60):
        rising = trend_of(day, 3.5 + 0.002 * day + 0.1 * rng.standard_normal(day.size))
        flat = trend_of(day, 3.5 + 0.1 * rng.standard_normal(day.size))
        assert rising is not None
        assert flat is not None
        found += abs(rising.change - 0.056) < 2 * rising.sure
        clear += flat.clear
    assert found >= 52
    assert clear <= 3


@pytest.mark.parametrize("free", [2, 3, 5, 10, 40])
def test_limits_are_students(free: int) -> None:
    from scipy.stats import t

    assert students(free) == pytest.approx(
        float(t.ppf(0.995, free)), rel=0.12 if free == 2 else 0.04
    )


def test_chance_makes_a_clear_trend_seldom() -> None:
    rng = np.random.default_rng(5)
    for days, most in ((5, 0.05), (12, 0.03)):
        day = np.repeat(np.linspace(0, 80, days).astype(int), 3)
        flat = [trend_of(day, 3.5 + 0.14 * rng.standard_normal(day.size)) for _ in range(400)]
        assert sum(t.clear for t in flat if t) / 400 < most


@pytest.mark.parametrize(
    "day", [[0, 0, 0, 0, 0, 0, 0, 0], [0, 1, 2, 3] * 3, [0, 10, 20, 30], [0, 30] * 8]
)
def test_too_few_days_have_no_trend(day: list[int]) -> None:
    assert trend_of(np.array(day), np.full(len(day), 3.0)) is None


# --- the next centimetres -------------------------------------------------------------------------


def _jumps(spread: tuple[float, float, float], count: int = 40, seed: int = 0) -> Told:
    rng = np.random.default_rng(seed)
    lengths = np.array([4.1, 3.5, 4.2]) + np.array(spread) * rng.standard_normal((count, 3))
    record = record_from("imka", blank().mean[:, None], rng, count)
    whole = next(t for t in told_of(record) if t.kind.full)
    day, number = np.zeros(count, np.int64), np.arange(count)
    return Told(whole.kind, count, 1, (), None, None, None, None, day, number, lengths,
                np.full((count, 3), np.nan), lengths.sum(axis=1))  # fmt: skip


def _draws(size: float = 0.2) -> Array:
    rng = np.random.default_rng(0)
    problem = blank()
    return problem.theta(size * rng.standard_normal((11, 200)))


def test_centimetres_are_in_the_phase_with_room() -> None:
    able = ability(truth("imka"))
    found = next_phase([_jumps((0.02, 0.25, 0.02))], able.who, able.shown, _draws())
    assert found.name == "step"
    found = next_phase([_jumps((0.02, 0.02, 0.25))], able.who, able.shown, _draws())
    assert found.name == "jump"
    hop, step, jump = found.rooms
    assert hop.worth < step.worth < jump.worth == pytest.approx(1.0)
    assert jump.net == pytest.approx(jump.better)


def test_phases_alike_cannot_be_told_apart() -> None:
    able = ability(truth("imka"))
    found = next_phase([_jumps((0.10, 0.10 * 2.0, 0.105), 12)], able.who, able.shown, _draws(1.0))
    assert found.name is None
    assert sum(r.first for r in found.rooms) == pytest.approx(1.0)


def test_too_few_whole_jumps_are_said() -> None:
    able = ability(truth("imka"))
    found = next_phase([_jumps((0.1, 0.1, 0.1), LEAST - 1)], able.who, able.shown, _draws())
    assert (found.count, found.rooms, found.name) == (LEAST - 1, (), None)
    assert next_phase([], able.who, able.shown, _draws()).count == 0


def test_a_steeper_line_makes_the_hop_dearer() -> None:
    able = ability(truth("imka"))
    draws = np.repeat(blank().mean[:, None], 2, axis=1)
    draws[4] = (0.4, 1.2)
    worth = worth_of(able.who, able.shown, draws)
    assert worth[0, 0] > worth[0, 1]
    assert worth[1, 0] > worth[1, 1]
    assert np.allclose(worth[2], 1.0)


# --- the best split -------------------------------------------------------------------------------


def test_the_best_split_keeps_its_bounds_and_does_not_promise() -> None:
    rng = np.random.default_rng(2)
    found = refit(truth("imka"), record_from("imka", drawn("imka", rng, 0.3), rng))
    split = best_split_of(ability(truth("imka")), found)
    assert sum(split.usual) == pytest.approx(1.0)
    assert sum(split.optimum.shares) == pytest.approx(1.0)
    for low, high in split.bounds:
        assert 0.2 < low <= high < 0.5
    assert split.optimum.gain >= 0.0
    text = best_split_text(split)
    assert "a hint, not a promise" in text
    assert "athlete's own parameters" in text
    assert "Nearly as good" in text


def test_more_margin_makes_wider_bounds() -> None:
    rng = np.random.default_rng(2)
    able = ability(truth("imka"))
    record = record_from("imka", drawn("imka", rng, 0.3), rng)
    much = best_split_of(able, refit(truth("imka"), record))
    few = record_from("imka", blank().mean[:, None], rng, 1)
    little = best_split_of(able, refit(truth("imka"), few))
    assert not little.fitted
    assert "default parameters" in best_split_text(little)
    wide = [sum(b - a for a, b in s.bounds) for s in (much, little)]
    assert wide[0] < wide[1]


# --- weeks ----------------------------------------------------------------------------------------


def _load(*weeks: int, born: int | None = 2000, level: str = "advanced") -> tuple[WeekLoad, ...]:
    """Weeks with one session each of so many contacts."""
    first = START.toordinal()
    sessions = [(first + 7 * i + 1, n) for i, n in enumerate(weeks)]
    on = datetime.date.fromordinal(first + 7 * len(weeks) - 1)
    return weeks_of(sessions, on, level, born)


def _codes(week: WeekLoad) -> list[str]:
    return [n.code for n in week.notes]


def test_a_sudden_rise_is_flagged_and_a_steady_one_is_not() -> None:
    weeks = _load(80, 80, 80, 80, 104, 105 + 20)
    assert [_codes(w) for w in weeks] == [[], [], [], [], [], ["rise"]]
    assert weeks[4].before == 80.0
    assert weeks[4].contacts == pytest.approx(RISE * 80)
    assert weeks[3].before is None


def test_weeks_without_a_session_count_as_zero() -> None:
    weeks = _load(100, 0, 0, 0, 40, 40)
    assert [w.contacts for w in weeks] == [100, 0, 0, 0, 40, 40]
    assert weeks[4].before == 25.0
    assert _codes(weeks[4]) == ["rise"]
    assert _codes(_load(100, 0, 0, 0, 0, LIGHT + 1)[-1]) == ["restart"]
    assert _codes(_load(100, 0, 0, 0, 0, LIGHT)[-1]) == []


def test_the_book_goes_on_to_the_day_it_is_told_for() -> None:
    weeks = weeks_of(
        [(START.toordinal(), 50)], START + datetime.timedelta(days=30), "advanced", 2000
    )
    assert [w.contacts for w in weeks] == [50, 0, 0, 0, 0]
    assert weeks_of([], START, "advanced", 2000) == ()
    assert weeks_of([(START.toordinal(), 0)], START, "advanced", 2000) == ()


def test_budgets_of_grown_athletes() -> None:
    high = BUDGET["advanced"][1]
    (week,) = _load(high + 1)
    assert _codes(week) == ["session-over"]
    assert week.budget == 3 * high
    first = START.toordinal()
    days = weeks_of([(first + d, high) for d in (0, 2, 4, 6)], START, "advanced", 2000)
    assert _codes(days[0]) == ["sessions"]
    days = weeks_of([(first + d, 50) for d in (0, 1)], START, "advanced", 2000)
    assert _codes(days[0]) == ["row"]


@pytest.mark.parametrize("born", [2012, None])
def test_youth_limits_hold_and_are_taken_where_the_age_is_not_known(born: int | None) -> None:
    rows = {r["id"]: r for r in published("load.toml")}
    most = rows["youth-sets"]["high"] * rows["youth-reps"]["high"]
    assert rows["youth-sessions"]["high"] == 2
    (week,) = _load(most + 1, born=born)
    assert _codes(week) == ["session-over"]
    assert week.budget == 2 * most
    first = START.toordinal()
    days = weeks_of([(first + d, 10) for d in (0, 3, 5)], START, "advanced", born)
    assert _codes(days[0]) == ["sessions"]
    days = weeks_of([(first + 6, 10), (first + 7, 10)], START, "advanced", born)
    assert [_codes(w) for w in days] == [[], ["row"]]


def test_an_athlete_grows_out_of_the_youth_limits() -> None:
    weeks = _load(*[100] * 60, born=2010)
    young = [w for w in weeks if w.budget == 60]
    assert young[-1].monday == "2026-12-28"
    assert weeks[-1].budget == 3 * BUDGET["advanced"][1]


@given(st.lists(st.tuples(st.integers(0, 400), st.integers(0, 300)), max_size=40))
def test_no_contact_is_lost(sessions: list[tuple[int, int]]) -> None:
    first = START.toordinal()
    weeks = weeks_of([(first + d, n) for d, n in sessions], START, "beginner", None)
    assert sum(w.contacts for w in weeks) == sum(n for _, n in sessions)
    days = [datetime.date.fromisoformat(w.monday) for w in weeks]
    assert all((b - a).days == 7 for a, b in pairwise(days))
    for i, week in enumerate(weeks[BEFORE:], BEFORE):
        assert week.before == sum(w.contacts for w in weeks[i - BEFORE : i]) / BEFORE


def test_weeks_are_those_of_the_books_own_list(tmp_path: Path) -> None:
    from layout.season.season import _weeks

    with open_book(club_book(tmp_path)) as book:
        who = find_member(book, "imka")
        put(book, who.id, [_whole(d, 4.0, 3.4, 4.0, foul=d % 2) for d in (0, 0, 3, 17, 30)])
        ours = _weeks(book, who, START + datetime.timedelta(days=31))
        theirs = weeks_kept(book, who.id)
    kept = [(w.monday, w.sessions, w.contacts, w.hardest) for w in ours if w.sessions]
    assert kept == [(w.monday, w.sessions, w.contacts, w.hardest) for w in theirs]


# --- what looks wrong -----------------------------------------------------------------------------


def test_what_looks_wrong_is_left_out_of_every_figure_and_said(tmp_path: Path) -> None:
    """One wrong digit made the jump's margin 98 cm before."""
    rows = [_whole(d, 4.0 + 0.02 * d, 3.4, 4.1) for d in range(8)]
    record = _record(tmp_path, [*rows, _whole(8, 4.1, 3.4, 8.9), _whole(9, 4.0, 3.4, 4.1, foul=1)])
    able = ability(truth("imka"))
    clean = set_aside(record)
    (out,) = clean.aside
    assert (out.id, out.why, out.name, out.value) == (9, "far", "jump", 8.9)
    assert out.beside == pytest.approx(4.1)
    (told,) = told_of(clean)
    assert told.count == 8
    assert told.best is not None
    assert told.best.total == pytest.approx(11.64)
    found = next_phase([told], able.who, able.shown, _draws())
    assert found.count == 8
    assert max(room.sure for room in found.rooms) < 0.1
    (dirty,) = told_of(record)
    assert max(r.sure for r in next_phase([dirty], able.who, able.shown, _draws()).rooms) > 0.2
    assert clean.contacts.sum() == record.contacts.sum()  # the load counts it
    assert gather(clean, 14).cells[0].count == 8


def test_why_an_attempt_is_left_out(tmp_path: Path) -> None:
    rows = [
        _whole(0, 2.88, 5.33, 4.0),  # two alone cannot bear it out
        _whole(1, 4.0, 3.4, 4.1, total=13.0),
        _whole(2, 40.0, 3.5, 4.0, total=47.5),
        _whole(3, 4.0, 3.4, 4.1),
    ]
    clean = set_aside(_record(tmp_path, rows))
    assert [(a.id, a.why) for a in clean.aside] == [(1, "uneven"), (2, "sum"), (3, "size")]
    (told,) = told_of(clean)
    assert (told.count, told.total and told.total.usual) == (1, pytest.approx(11.5))


def test_an_athlete_whose_step_is_always_short_is_not_left_out(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    rows = [_whole(d, *(np.array([4.2, 1.9, 4.1]) * (1 + 0.05 * rng.standard_normal(3))).tolist())
            for d in range(9)]  # fmt: skip
    record = _record(tmp_path, rows)
    assert set_aside(record) is record
    # nor one who improves by a third over a season
    rows = [_whole(7 * d, 3.0 + 0.04 * d, 2.5 + 0.03 * d, 3.0 + 0.04 * d) for d in range(25)]
    (tmp_path / "more").mkdir()
    assert set_aside(_record(tmp_path / "more", rows)).aside == ()


def test_a_wind_assisted_best_is_kept_apart(tmp_path: Path) -> None:
    rows = [
        _whole(0, 4.0, 3.4, 4.0, wind=1.2, kind="competition", behind=0.1),
        _whole(1, 4.1, 3.4, 4.2, wind=2.4),
        _whole(2, 4.0, 3.3, 4.0, wind=2.0),
        _whole(3, 4.0, 3.3, 4.0),
    ]
    (told,) = told_of(_record(tmp_path, rows))
    assert told.best is not None
    assert told.legal is not None
    assert (told.best.total, told.best.wind) == (pytest.approx(11.7), 2.4)
    assert (told.legal.total, told.legal.said) == (pytest.approx(11.4), "competition")
    assert told.legal.official == pytest.approx(11.3)
    assert best_whole([told], 14) == (pytest.approx(11.4), (4.0, 3.4, 4.0))
