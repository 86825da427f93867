"""The runs behind a figure, everybody in short, and pain that rests the ladder."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from layout.book.correct import changes_of, correct
from layout.book.people import find_member
from layout.book.rows import pains
from layout.book.store import Book, open_book
from layout.plan.venue import find_venue
from layout.season.everybody import WEEKS, everybody
from layout.season.runs import Run, Which, runs_behind
from layout.season.season import Asked, season_of
from layout.season.told import RECENT
from layout.training.rungs import ladder
from tests.layout.book.book_cases import club_book
from tests.layout.season.season_cases import put, season_book

ON = datetime.date(2026, 5, 20)
START = datetime.date(2026, 1, 5)
"""A Monday."""


def _run(day: int, *lengths: float | None, **more: Any) -> dict[str, Any]:
    return {
        "day": (START + datetime.timedelta(days=day)).isoformat(), "drill": "hop-step-sand",
        "phases": "hop step", "lengths": list(lengths), "strides": 6, **more,
    }  # fmt: skip


def behind(book: Book, on: datetime.date, which: Which, who: str = "imka") -> list[Run]:
    return runs_behind(book, find_member(book, who), on, which)


def test_every_told_figure_is_worked_out_from_its_runs(tmp_path: Path) -> None:
    """What is told of each drill is that of the very runs it leads to."""
    with open_book(season_book(tmp_path)) as book:
        who = find_member(book, "imka")
        season = season_of(book, who, ON, ladder(), find_venue("club"))
        assert len(season.told) > 4
        for told in season.told:
            runs = behind(book, ON, Which(key=told.key))
            counted = [r for r in runs if r.usual]
            measured = [r for r in runs if not r.kept.foul and r.kept.total is not None]
            assert len(measured) == told.count
            assert {r.kept.drill for r in runs} == {told.kind.drill}
            for i, phase in enumerate(told.phases):
                of = [r.kept.lengths[i] for r in counted if phase.name in r.usual]
                latest = [r.kept.lengths[i] for r in measured][:RECENT]
                assert of == latest
                assert min(of) <= phase.usual <= max(of)
        every = behind(book, ON, Which())
        assert len(every) == season.attempts
        assert sum(r.kept.foul for r in every) == season.fouls


def test_runs_of_a_week_are_those_of_its_contacts(tmp_path: Path) -> None:
    with open_book(season_book(tmp_path)) as book:
        season = season_of(
            book, find_member(book, "imka"), ON, ladder(), find_venue("club"), Asked("2026-04-01")
        )
        for week in season.weeks:
            monday = datetime.date.fromisoformat(week.monday)
            runs = behind(book, ON, Which("2026-04-01", monday=monday))
            assert sum(r.kept.contacts for r in runs if not r.kept.struck) == week.contacts
            # A week before the days that are told is load, and in no figure.
            assert all(r.told == (r.kept.day >= "2026-04-01") for r in runs)


def test_a_week_is_monday_to_sunday(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        put(book, find_member(book, "imka").id, [_run(d, 2.6, 2.2) for d in (-1, 0, 6, 7)])
        runs = behind(book, START + datetime.timedelta(days=9), Which(monday=START))
    assert [r.kept.day for r in runs] == ["2026-01-11", "2026-01-05"]


def test_what_is_left_out_is_said_with_its_run(tmp_path: Path) -> None:
    good = [_run(d, 2.6 + 0.01 * d, 2.2) for d in range(8)]
    odd = [_run(9, 5.3, 2.2), _run(9, 2.6, 2.3, foul=1), _run(10, None, None, runs=6)]
    with open_book(club_book(tmp_path)) as book:
        put(book, find_member(book, "imka").id, [*good, *odd, _run(11, 2.9, 2.2)])
        (last,) = book.rows("SELECT max(id) FROM attempt")[0]
        correct(book, last, {"struck": True})
        runs = behind(book, START + datetime.timedelta(days=20), Which(drill="hop-step-sand"))
    by_day = {r.kept.day: r for r in runs if not r.kept.foul}
    wrong = next(r for r in runs if r.aside is not None)
    assert (wrong.kept.lengths[0], wrong.usual) == (5.3, ())
    assert wrong.aside is not None
    assert wrong.aside.why == "far"
    assert next(r for r in runs if r.kept.foul).usual == ()
    assert by_day[(START + datetime.timedelta(days=10)).isoformat()].usual == ()
    struck = next(r for r in runs if r.kept.struck)
    assert [c.field for c in struck.changed] == ["struck"]
    assert runs[0] == struck
    assert sum(bool(r.usual) for r in runs) == 8


def test_only_the_latest_count_in_the_usual(tmp_path: Path) -> None:
    rows = [_run(d, 2.6, 2.2 if d % 2 else None) for d in range(40)]
    with open_book(club_book(tmp_path)) as book:
        put(book, find_member(book, "imka").id, rows)
        runs = behind(book, START + datetime.timedelta(days=50), Which())
    assert [r.kept.day for r in runs if "hop" in r.usual] == [r.kept.day for r in runs[:RECENT]]
    steps = [r.kept.day for r in runs if "step" in r.usual]
    assert steps == [r.kept.day for r in runs if r.kept.lengths[1] is not None][:RECENT]


def test_corrections_are_found_by_their_index(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        put(book, find_member(book, "imka").id, [_run(d, 2.6, 2.2) for d in range(3)])
        correct(book, 2, {"wind": "0.4"})
        correct(book, 2, {"wind": None})
        found = changes_of(book, "attempt", [1, 2, 3])
        plan = book.rows(
            "EXPLAIN QUERY PLAN SELECT * FROM correction WHERE room = 'attempt' AND row IN (2)"
        )
    assert [(c.field, c.before, c.after) for c in found[2]] == [
        ("wind", "NULL", "0.4"), ("wind", "0.4", "NULL")]  # fmt: skip
    assert list(found) == [2]
    assert any("correction_row" in row[3] for row in plan)


# --- everybody ------------------------------------------------------------------------------------


def test_everybody_has_the_weeks_of_their_own_season(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        imka, runa = find_member(book, "imka"), find_member(book, "runa")
        put(book, imka.id, [_run(7 * w, 2.6, 2.2, runs=1) for w in range(10)])
        put(book, runa.id, [_run(7 * w + d, 2.0, 1.8) for w in range(10) for d in (0, 2)
                            for _ in range(30 if w == 9 else 2)])  # fmt: skip
        on = START + datetime.timedelta(days=66)
        rows = everybody(book, on)
        assert [r.member.name for r in rows] == ["Runa", "Imka"]
        assert [r.flagged for r in rows] == [True, False]
        for row in rows:
            season = season_of(book, row.member, on, ladder(), find_venue("club"))
            assert row.weeks == season.weeks[-WEEKS:]
        assert (rows[1].runs, rows[1].last) == (10, "2026-03-09")


def test_a_long_gap_is_a_restart_in_short_too(tmp_path: Path) -> None:
    """The weeks before count though they are empty, and lie before those that are shown."""
    with open_book(club_book(tmp_path)) as book:
        put(
            book,
            find_member(book, "imka").id,
            [_run(0, 2.6, 2.2), *(_run(140, 2.6, 2.2) for _ in range(15))],
        )
        row = everybody(book, START + datetime.timedelta(days=141))[0]
    assert [n.code for w in row.weeks for n in w.notes] == ["restart"]


def test_nobody_and_nothing_yet(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        rows = everybody(book, ON)
    assert [(r.runs, r.last, r.weeks, r.flagged) for r in rows] == [(0, None, (), False)] * 2


# --- pain -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("note", "hurts"),
    [("pain", True), ("pain; heel", True), ("Pain in the heel", True), ("painless", False),
     ("no pain", False), (None, False)],
)  # fmt: skip
def test_pain_is_what_a_note_begins_with(tmp_path: Path, note: str | None, hurts: bool) -> None:
    with open_book(club_book(tmp_path)) as book:
        put(book, find_member(book, "imka").id, [_run(0, 2.6, 2.2, note=note)])
        assert bool(pains(book, START, START)) == hurts


@pytest.mark.parametrize(("after", "rests"), [(0, True), (28, True), (29, False)])
def test_pain_put_down_rests_for_four_weeks_unless_it_is_said_to_be_gone(
    tmp_path: Path, after: int, rests: bool
) -> None:
    on = START + datetime.timedelta(days=after)
    with open_book(club_book(tmp_path)) as book:
        who = find_member(book, "imka")
        put(book, who.id, [_run(0, 2.6, 2.2, note="pain; heel"), _run(0, 2.6, 2.2)])
        place = (book, who, on, ladder(), find_venue("club"))
        season, gone = season_of(*place), season_of(*place, Asked(typed={"pain": False}))
        assert season.placing is not None
        assert gone.placing is not None
        assert (season.placing.advice == "rest") == rests
        assert gone.placing.advice != "rest"
        assert season.pains == gone.pains == (("2026-01-05",) if rests else ())
        assert bool(everybody(book, on)[0].pains) == rests


def test_pain_struck_out_was_a_mistake(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        put(book, find_member(book, "imka").id, [_run(0, 2.6, 2.2, note="pain")])
        correct(book, 1, {"struck": True})
        assert pains(book, START, START) == []


def test_questions_of_one_athlete_go_along_their_index(tmp_path: Path) -> None:
    """None of what a season asks reads the runs of the others."""
    asked: list[str] = []
    with open_book(season_book(tmp_path)) as book:
        book.db.set_trace_callback(asked.append)
        behind(book, ON, Which())
        season_of(book, find_member(book, "imka"), ON, ladder(), find_venue("club"))
        book.db.set_trace_callback(None)
        wanted = [q for q in asked if q.startswith("SELECT") and "attempt a" in q]
        assert len(wanted) >= 4
        for question in wanted:
            steps = [row[3] for row in book.db.execute(f"EXPLAIN QUERY PLAN {question}")]
            assert not [s for s in steps if s.startswith("SCAN a")], question


def test_totals_of_a_told_drill_are_those_of_its_rows(tmp_path: Path) -> None:
    with open_book(season_book(tmp_path)) as book:
        season = season_of(book, find_member(book, "imka"), ON, ladder(), find_venue("club"))
        for told in season.told:
            np.testing.assert_allclose(told.totals, told.lengths.sum(axis=1), atol=1e-4)
            assert len(set(told.id.tolist())) == told.count
