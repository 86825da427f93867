"""A set-out on the ground: lanes, one card, marks laid once, and whom it suits."""

from __future__ import annotations

import itertools
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.plan.drill import catalogue
from layout.plan.value import Plan
from layout.plan.venue import venues
from layout.squad.laid import SetOut
from layout.squad.setout import MERGE, Laying, set_out, spread_over
from layout.squad.sets import MarkSet, Tolerance, share
from layout.squad.squad_words import CROWDED
from layout.words.faults import BadInput
from layout.words.units import tape
from tests.strategies import CLUB, drill_names, pit_or_track, plan


@lru_cache(maxsize=64)
def plans(drill: str, venue: str) -> tuple[Plan, ...]:
    return tuple(plan(who, drill, venue) for who in CLUB)


def laid(
    drill: str, k: int | None = None, room: float = 0.15, venue: str = "", **more: object
) -> SetOut:
    where = venue or ("marram-point" if pit_or_track(drill) == "club" else "track")
    some = plans(drill, where)
    lengths = np.array([[f.length for f in p.flights] for p in some])
    sharing = share(lengths, k, Tolerance(room))
    return set_out(
        some, sharing, catalogue()[drill], venues()[where], Laying(Tolerance(room), **more)
    )  # type: ignore[arg-type]


@given(drill_names, st.sampled_from((None, 1, 2, 3)), st.sampled_from((0.05, 0.15, 0.5, 2.0)))
@settings(deadline=None)
def test_everybody_is_served_and_told_the_truth(drill: str, k: int | None, room: float) -> None:
    made = laid(drill, k, room)
    some = {p.who.name: p for p in plans(drill, "marram-point" if made.ends == "sand" else "track")}
    names = [a.name for s in made.sets for a in s.athletes]
    assert sorted(names) == sorted(some)
    for item in made.sets:
        for who in item.athletes:
            own = [f.length for f in some[who.name].flights]
            assert who.lengths == pytest.approx(own)
            laid_lengths = np.diff(item.xs)
            assert who.off == pytest.approx(laid_lengths - np.array(own), abs=1e-9)
            assert who.percent == pytest.approx(100 * np.array(who.off) / np.array(own))
            # Laid as one with a neighbour's or not: within the tolerance as it was promised.
            assert max(abs(o) for o in who.off) <= room + 1e-6


@given(drill_names, st.sampled_from((None, 2)))
@settings(deadline=None)
def test_the_card_is_walked_away_from_the_zero(drill: str, k: int | None) -> None:
    made = laid(drill, k)
    way = -1.0 if made.ends == "sand" else 1.0
    for _, group in itertools.groupby(made.stations, key=lambda s: s.lane):
        rows = list(group)
        readings = [r.reading for r in rows]
        assert readings == sorted(readings)
        for row in rows:
            assert row.reading == pytest.approx(way * row.x, abs=made.rounding + 1e-9)
    lanes = [s.lane for s in made.stations]
    assert lanes == sorted(lanes)
    # Every mark of every set stands on the card exactly once.
    for item in made.sets:
        spots = [s.x for s in made.stations if item.label in s.labels and s.kind != "hurdle"]
        wanted = [item.line + x for x in item.xs]
        assert sorted(spots) == pytest.approx(sorted(wanted), abs=1e-6)
        hurdles = [s for s in made.stations if item.label in s.labels and s.kind == "hurdle"]
        assert len(hurdles) == len(item.hurdles)


def test_gaps_add_up_to_the_readings() -> None:
    made = laid("two-hops-step-track", 2)
    for lane in {s.lane for s in made.stations}:
        rows = [s for s in made.stations if s.lane == lane]
        gaps = [float(s.gap.removesuffix(" m")) for s in rows[1:]]
        assert rows[0].gap == ""
        assert sum(gaps) == pytest.approx(rows[-1].reading - rows[0].reading)


def test_sets_go_over_the_lanes_with_athletes_spread() -> None:
    made = laid("hop-step-sand", 2, 0.5)
    assert {s.lane for s in made.sets if s.shared} == {1, 2}
    assert {s.lane for s in laid("hop-step-sand", 2, 0.5, "club").sets} == {1}
    sets = [MarkSet("A", tuple(range(9)), ()), MarkSet("B", (9, 10), ()), MarkSet("C", (11,), ())]
    assert spread_over(sets, 2) == {"A": 1, "B": 2, "C": 2}
    assert spread_over(sets, 4) == {"A": 1, "B": 2, "C": 3}


def test_on_sand_everything_is_told_from_the_pit() -> None:
    made = laid("full-triple-jump", 3, 0.6)
    assert made.zero == "near edge of the pit"
    for item in made.sets:
        board = -item.line
        assert any(board == pytest.approx(b) for b in venues()["marram-point"].boards)
        assert item.line + item.xs[-2] < 0.0 < item.line + item.xs[-1]
        row = next(s for s in made.stations if item.label in s.labels and s.kind == "take-off")
        assert row.reading == pytest.approx(tape([board]).readings[0])
    pits = [s for s in made.stations if s.kind == "pit"]
    assert {s.lane for s in pits} == {s.lane for s in made.sets}
    assert all(s.reading == 0.0 and not s.labels for s in pits)


def test_marks_that_nearly_meet_are_laid_once_and_no_farther_than_stated() -> None:
    some = plans("two-hops-step-track", "track")
    lengths = np.array([[f.length for f in p.flights] for p in some])
    drill, venue = catalogue()["two-hops-step-track"], venues()["club"]  # one lane
    sharing = share(lengths, None)
    apart = set_out(some, sharing, drill, venue, Laying(merge=0.0))
    met = set_out(some, sharing, drill, venue, Laying(merge=0.30))
    assert len(met.stations) < len(apart.stations)
    moved = [
        abs((a.line + x) - (b.line + y))
        for a, b in zip(apart.sets, met.sets, strict=True)
        for x, y in zip(a.xs, b.xs, strict=True)
    ]
    assert 0.0 < max(moved) <= 0.15 + 1e-9
    assert max(abs(o) for s in met.sets for a in s.athletes for o in a.off) <= 0.15 + 1e-6
    assert MERGE < CROWDED


def test_marks_are_not_laid_as_one_where_that_breaks_the_tolerance() -> None:
    some = plans("hop-step-hold", "track")[:2]
    lengths = np.array([[f.length for f in p.flights] for p in some])
    wide = float(abs(lengths[0] - lengths[1]).max())
    sharing = share(lengths, 2, Tolerance(0.01))
    made = set_out(some, sharing, catalogue()["hop-step-hold"], venues()["club"],
                   Laying(Tolerance(0.01), merge=2 * wide))  # fmt: skip
    assert all(abs(o) <= 0.01 + 1e-9 for s in made.sets for a in s.athletes for o in a.off)


def test_laying_marks_as_one_stretches_no_child() -> None:
    some = plans("hop-step-hold", "track")
    drill, venue = catalogue()["hop-step-hold"], venues()["club"]
    lengths = np.array([[f.length for f in p.flights] for p in some])
    young = [p.who.name in ("Runa", "Bram") for p in some]
    for k in (None, 1, 3):
        sharing = share(lengths, k, Tolerance(0.3), shorter=np.array(young))
        made = set_out(some, sharing, drill, venue, Laying(Tolerance(0.3), merge=0.25, young=young))
        served = [a for s in made.sets for a in s.athletes]
        assert {a.name for a in served if a.young} == {"Runa", "Bram"}
        assert all(max(a.off) <= 1e-9 for a in served if a.young)


def test_both_legs_share_marks_and_feet_are_told() -> None:
    made = laid("hop-step-sand", 1, 2.0)
    (item,) = made.sets
    assert item.mixed
    assert item.leg == "right"
    assert item.feet == ("right", "right", "left")
    texts = [s.what for s in made.stations if s.labels]
    assert all("(left-legged: other foot)" in t for t in texts)
    assert any("A: RIGHT foot lands with the toe here, then step" in t for t in texts)


def test_the_careful_hurdle_holds_for_a_whole_set() -> None:
    some = plans("two-hops-step-over", "track")
    made = laid("two-hops-step-over", 1, 2.0)
    (item,) = made.sets
    assert len(item.hurdles) == len(some[0].hurdles) > 0
    for i, bar in enumerate(item.hurdles):
        assert bar.height == min(p.hurdles[i].height for p in some)
        at = some[0].hurdles[i].flight
        assert item.xs[at] < bar.x < item.xs[at + 1]
    assert "hurdles-in-turn" not in {n.code for n in made.notes}
    crowd = laid("two-hops-step-over", None, 0.15, "club")
    assert "hurdles-in-turn" in {n.code for n in crowd.notes}


def test_youth_cautions_name_those_they_concern() -> None:
    made = laid("two-hops-step-over", 2, 1.0)
    youth = [c for c in made.cautions if c.startswith("Under 16")]
    assert len(youth) == 1
    assert youth[0].endswith("(Runa, Bram)")
    assert any(n.code == "too-young" and "Runa" in n.text for n in made.notes)
    # Nothing that any athlete's own plan warns of is lost.
    for p in plans("two-hops-step-over", "track"):
        for note in p.warnings:
            assert any((n.code == note.code and p.who.name in n.text) or "Everybody" in n.text
                       for n in made.notes)  # fmt: skip
        assert all(any(c.startswith(own) for c in made.cautions) for own in p.cautions)


def test_what_does_not_fit_on_the_shared_line_is_told() -> None:
    made = laid("full-triple-jump", 1, 2.0)  # a child and a 16 m jumper from one board
    told = [n.text for n in made.notes if n.code == "does-not-fit"]
    assert any("Runa" in t and "into the sand" in t for t in told)


def test_plans_of_other_drills_are_refused() -> None:
    some = plans("hop-step-hold", "track")
    sharing = share(np.array([[f.length for f in p.flights] for p in some]))
    with pytest.raises(BadInput):
        set_out(some, sharing, catalogue()["hop-step-sand"], venues()["club"])
    with pytest.raises(BadInput):
        set_out((), sharing, catalogue()["hop-step-sand"], venues()["club"])


def test_feet_and_inches_and_coarse_tapes() -> None:
    feet = laid("hop-step-sand", 2, 1.0, system="ft")
    assert any("'" in s.shown for s in feet.stations)
    coarse = laid("hop-step-sand", 2, 1.0, step=0.05)
    assert coarse.rounding == 0.025
    assert all(abs(s.reading / 0.05 - round(s.reading / 0.05)) < 1e-6 for s in coarse.stations)
