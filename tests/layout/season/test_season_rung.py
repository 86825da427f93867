"""The present rung as the book has it, and the marks that follow from a refit."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from layout.book.people import find_member
from layout.book.record import Kind, Record, read_record
from layout.book.store import open_book
from layout.plan.drill import catalogue
from layout.plan.venue import find_venue
from layout.season.rung import LATELY, matches, seen_in, spacings_of
from layout.season.season import planned_as, season_of
from layout.season.told import told_of
from layout.training.ladder import next_rung
from layout.training.rungs import ladder
from layout.training.seen import observed_from
from layout.words.faults import BadInput
from tests.layout.book.book_cases import club_book
from tests.layout.season.season_cases import blank, put, record_from
from tests.strategies import member, plan

ON = datetime.date(2026, 5, 12)
RUNA = planned_as(member("runa"), ON)
PLANNED = tuple(f.length for f in plan("runa", "hop-step-sand").flights)


def _runs(off: float, count: int = 10, **more: Any) -> list[dict[str, Any]]:
    """Runs whose every mark is so many metres on."""
    hop, step = PLANNED
    row = {"day": "2026-05-02", "drill": "hop-step-sand", "phases": "hop step", "plan": 1,
           "strides": 4, "lengths": [hop + off, step]}  # fmt: skip
    return [{**row, **more}] * count


def _record(tmp_path: Path, rows: list[dict[str, Any]]) -> Record:
    with open_book(club_book(tmp_path)) as book:
        number = find_member(book, "runa").id
        put(book, number, rows)
        return read_record(book, number)


def test_every_rung_knows_its_own_attempts() -> None:
    athlete = planned_as(member("tevin"), ON)
    for rung in ladder().rungs:
        try:
            made = plan("tevin", rung.drill.slug, "track", **_choices(rung.choices))
        except BadInput:
            made = plan("tevin", rung.drill.slug, "club", **_choices(rung.choices))
        kind = Kind(
            made.drill, made.title, tuple(f.phase for f in made.flights),
            tuple(f.arc for f in made.flights), 1, made.approach.strides, made.ends == "sand",
            made.approach.strides == 0, rung.drill.full, (),
        )  # fmt: skip
        assert matches(rung, kind, athlete.strides), rung.slug


def _choices(choices: Any) -> dict[str, Any]:
    return {k: getattr(choices, k) for k in ("strides", "arc", "cycles", "hurdle")}


def test_runs_on_the_marks_are_counted(tmp_path: Path) -> None:
    rows = [*_runs(0.0, 7), *_runs(-0.5, 3), *_runs(0.0, 4, foul=1)]
    table, words = seen_in(_record(tmp_path, rows), ladder(), RUNA, None, ON)
    assert table == {"at": "sand-low", "sessions": 1, "hit": "7/10"}
    assert "7 of 10 runs with every mark within 30 cm" in words
    placing = next_rung(RUNA, observed_from({**table, "sound": "quiet"}, ON), ladder())
    assert placing.came_from.slug == "sand-low"


def test_runs_past_the_marks_are_not_held_against_an_athlete(tmp_path: Path) -> None:
    table, words = seen_in(_record(tmp_path, _runs(0.6)), ladder(), RUNA, None, ON)
    assert "hit" not in table
    assert "jumped 60 cm past the marks: set new ones before runs are judged" in words
    short, said = seen_in(_record(_new(tmp_path), _runs(-0.6)), ladder(), RUNA, None, ON)
    assert short["hit"] == "0/10"
    assert "in the middle 60 cm short of the last mark" in said


def _new(folder: Path) -> Path:
    (folder / "new").mkdir()
    return folder / "new"


def test_a_rung_named_by_the_coach_is_the_one_that_counts(tmp_path: Path) -> None:
    record = _record(tmp_path, _runs(0.0))
    table, _ = seen_in(record, ladder(), RUNA, "sand-low", ON)
    assert table["hit"] == "10/10"
    table, words = seen_in(record, ladder(), RUNA, "hold-low", ON)
    assert "hit" not in table
    assert "hold-low not jumped lately" in words
    with pytest.raises(BadInput, match="at"):
        seen_in(record, ladder(), RUNA, "nowhere", ON)


def test_old_attempts_place_nobody_without_saying_so(tmp_path: Path) -> None:
    record = _record(tmp_path, _runs(0.0))
    late = ON + datetime.timedelta(days=LATELY)
    _, words = seen_in(record, ladder(), RUNA, None, late)
    assert words[0].startswith("nothing since Sat 2 May 2026")
    assert seen_in(record_from("imka", blank().mean[:, None], np.random.default_rng(0), 0), ladder(),
                   RUNA, None, ON) == ({}, ())  # fmt: skip


def test_knee_gap_and_step_share_are_taken_over(tmp_path: Path) -> None:
    rows = _runs(0.0, knee_gap=0.12)
    rows += [{"day": "2026-05-02", "drill": "short-triple-jump", "phases": "hop step jump",
              "strides": 4, "lengths": [2.6, 2.0, 2.4]}]  # fmt: skip
    table, _ = seen_in(_record(tmp_path, rows), ladder(), RUNA, "sand-low", ON)
    assert table["knee_gap"] == "12.0 cm"
    assert table["step_share"] == pytest.approx(28.57)


# --- spacing --------------------------------------------------------------------------------------


def test_marks_are_the_planners_before_and_after() -> None:
    athlete = planned_as(member("imka"), ON)
    own = replace(athlete, calibration=replace(athlete.calibration, pull=0.2))
    tolds = told_of(record_from("imka", blank().mean[:, None], np.random.default_rng(0), 3), 14)
    goal = ladder().find("two-sand-six")
    made = spacings_of(athlete, own, tolds, goal, catalogue(), find_venue("club"), ON)
    assert [s.next for s in made] == [True, False, False, False]
    first = made[0]
    assert (first.title, first.strides) == ("Two hops and a step to the sand", 6)
    before, after = (
        tuple(f.length for f in plan(a, "two-hops-step-sand", strides=6).flights)
        for a in (athlete, own)
    )
    assert (first.before, first.after) == (before, after)
    assert not any(s.title.startswith("Full") for s in made)
    assert spacings_of(athlete, None, tolds, goal, catalogue(), find_venue("club"), ON) == ()


def test_a_drill_the_venue_has_no_place_for_is_left_out(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        put(book, 1, _runs(0.0))
        who = find_member(book, "runa")
        for venue in ("club", "track"):
            season = season_of(book, who, ON, ladder(), find_venue(venue))
            assert all(len(s.before) == len(s.after) == len(s.phases) for s in season.spacings)
