"""Warnings: each is given when its reason is there, and not otherwise."""

from __future__ import annotations

import dataclasses
import re
from typing import Any

import numpy as np
import pytest

from layout.athlete.ability import ability
from layout.athlete.athlete import athlete_from
from layout.athlete.carry import SHOWN_MARGIN, vy_for_phase
from layout.athlete.questions import LONGEST
from layout.plan.drill import Drill, catalogue
from layout.plan.spacing import Choices, make_plan
from layout.plan.value import Plan
from layout.plan.venue import Venue, venues
from layout.plan.warn import REACH_DOUBT, footprints
from layout.words.faults import BadInput
from layout.words.note import Note
from layout.words.split_text import parse_split
from layout.words.trade import MOVES
from tests import strategies as own
from tests.published import published

MECHANICS = {row["id"]: row for row in published("mechanics.toml")}
LOAD = {row["id"]: row for row in published("load.toml")}
EVERY = [(n, s) for n in own.CLUB for s in catalogue()]


def _note(plan: Plan, code: str) -> Note | None:
    found = [n for n in plan.notes if n.code == code]
    return found[0] if found else None


def _made(drill: Drill, venue: Venue, name: str = "imka") -> Plan:
    return make_plan(own.member(name), drill, venue, own.ON)


def _tv(venue: str, **changed: Any) -> Venue:
    return dataclasses.replace(venues()[venue], **changed)


def _dv(slug: str, **changed: Any) -> Drill:
    return dataclasses.replace(catalogue()[slug], **changed)


@pytest.mark.parametrize(("name", "slug"), EVERY)
def test_every_note_has_a_reason_a_source_and_one_line(name: str, slug: str) -> None:
    plan = own.plan(name, slug, own.pit_or_track(slug))
    for note in plan.notes:
        assert note.code
        assert note.source
        assert note.text.isprintable()
        assert note.text.rstrip()[-1] in ".)", note.text
    assert [n.grave for n in plan.notes] == sorted((n.grave for n in plan.notes), reverse=True)
    assert plan.warnings == tuple(n for n in plan.notes if n.grave)


# --- split ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("split", "warned"), [("35:30:35", False), ("38:24:38", True), ("32:36:32", True)]
)
def test_a_step_far_from_30_percent_is_said(split: str, warned: bool) -> None:
    plan = own.plan("imka", "full-triple-jump", split=parse_split(split))
    note = _note(plan, "step-share")
    assert (note is not None) == warned
    if note:
        assert note.source == "common practice, no source"
        finalists = MECHANICS["step-share-finalists-men"]
        assert f"{finalists['mean']}" in note.text


def test_a_step_dominated_split_is_outside_the_scheme() -> None:
    who = dataclasses.replace(own.member("imka"), best=None, split=parse_split("32:36:32"))
    plan = own.plan(who, "full-triple-jump")
    assert plan.style.startswith("step-dominated")
    assert _note(plan, "outside-scheme")
    assert _note(own.plan("imka", "full-triple-jump"), "outside-scheme") is None


def test_only_whole_jumps_have_a_style() -> None:
    assert own.plan("imka", "full-triple-jump").style == "balanced"
    assert own.plan("odalys", "full-triple-jump").style == "hop-dominated"
    assert own.plan("tevin", "full-triple-jump").style == "jump-dominated"
    assert own.plan("imka", "hop-step-sand").style == ""


# --- reach ----------------------------------------------------------------------------------------


def test_spacing_beyond_the_approach_names_the_strides() -> None:
    here = own.plan("imka", "two-hops-step-sand", strides=4)
    far = own.plan("imka", "two-hops-step-sand", strides=4, total=here.total + 0.3)
    note = _note(far, "out-of-reach")
    assert note
    assert note.grave
    assert re.search(r"; \d+ strides would reach it", note.text)
    assert f"{here.total:.2f} m forecast from 4 strides" in note.text
    near = own.plan("imka", "two-hops-step-sand", strides=4, total=here.total - 0.5)
    assert _note(near, "out-of-reach") is None


def test_beyond_the_full_approach_says_so() -> None:
    full = own.member("imka").strides
    longest = own.plan("imka", "two-hops-step-sand", strides=full).total
    plan = own.plan("imka", "two-hops-step-sand", strides=full, total=longest + 0.3)
    note = _note(plan, "out-of-reach")
    assert note
    assert f"the full {full} strides would not reach it" in note.text


def test_far_beyond_the_approach_is_refused_with_the_longest_there_is() -> None:
    said = r"^length: Imka can be asked for (\d+\.\d\d) m at most from 4 strides; \d+ strides would"
    with pytest.raises(BadInput, match=said) as error:
        own.plan("imka", "two-hops-step-sand", strides=4, total=9.5)
    longest = float(re.search(r"\d+\.\d\d", str(error.value))[0])  # type: ignore[index]
    most = own.plan("imka", "two-hops-step-sand", strides=4, total=longest)
    here = own.plan("imka", "two-hops-step-sand", strides=4)
    assert most.approach.speed == pytest.approx(here.approach.speed * (1 + SHOWN_MARGIN), rel=2e-3)
    with pytest.raises(
        BadInput, match=r"^length: Imka can be asked for .* at most from standing, got"
    ):
        own.plan("imka", "standing-triple-jump", total=12.0)


def test_beyond_a_standing_start_says_so() -> None:
    here = own.plan("imka", "standing-triple-jump").total
    note = _note(own.plan("imka", "standing-triple-jump", total=here + 0.1), "out-of-reach")
    assert note
    assert f"{here:.2f} m forecast from standing" in note.text


def test_a_target_far_beyond_what_was_shown_is_said() -> None:
    table = {"name": "A", "stature": 1.7, "mass": 60, "leg": "right", "best": 10.0, "target": 12.5}
    assert _note(own.plan(table, "full-triple-jump"), "beyond-shown")
    assert _note(own.plan({**table, "target": 10.2}, "full-triple-jump"), "beyond-shown") is None


# --- ground ---------------------------------------------------------------------------------------


def test_an_approach_off_the_runway_names_the_strides_that_fit() -> None:
    hall = own.plan("tevin", "full-triple-jump", "hall", board=10.5)
    note = _note(hall, "off-runway")
    assert note
    assert note.grave
    fits = re.search(r"; (\d+) strides would fit", note.text)
    assert fits
    run = ability(own.member("tevin")).run
    room = -hall.place.start_x
    assert run.run_up(int(fits[1]))[1] <= room < run.run_up(int(fits[1]) + 1)[1]
    assert _note(own.plan("tevin", "full-triple-jump", "club"), "off-runway") is None


@pytest.mark.parametrize(("runway", "fits"), [(30.0, 15), (25.0, 13), (20.0, 11), (15.0, 8)])
def test_an_approach_off_the_runway_is_said_exactly_when_it_is(runway: float, fits: int) -> None:
    """15 strides of Tevin's are 28.0 m, 13 are 23.6, 11 are 19.2, 8 are 13.0: before a board at 5 m."""
    venue, who = _tv("club", runway_length=runway, boards=(5.0,)), own.member("tevin")
    for strides in range(6, who.strides + 1):
        choices = Choices(strides=strides, board=5.0, despite="the coach of these tests")
        plan = make_plan(who, catalogue()["hop-step-sand"], venue, own.ON, choices)
        note = _note(plan, "off-runway")
        assert (note is None) == (strides <= fits)
        assert note is None or f"; {fits} strides would fit" in note.text


def test_no_room_to_run_out_is_said() -> None:
    short = _tv("track", runway_length=40.0)
    assert _note(_made(_dv("alternate-bounds", cycles=12), short), "run-out")
    assert _note(_made(catalogue()["alternate-bounds"], venues()["track"]), "run-out") is None


@pytest.mark.parametrize(("room", "warned"), [(7.9, True), (8.1, False)])
def test_only_who_runs_on_needs_room_to_run_out(room: float, warned: bool) -> None:
    """8 m after the last contact; a finish that is held needs none."""
    for slug in ("two-hops-step-track", "hop-step-hold"):
        last = _made(catalogue()[slug], venues()["track"]).contacts[-1].x
        wide = _tv("track", runway_length=200.0)
        ahead = _made(catalogue()[slug], wide)
        short = _tv("track", runway_length=200.0 - (ahead.place.end_x - last) + room)
        plan = _made(catalogue()[slug], short)
        assert plan.place.end_x - plan.contacts[-1].x == pytest.approx(room, abs=0.01)
        note = _note(plan, "run-out")
        assert bool(note) == (warned and plan.finish == "run on"), slug
        assert note is None or note.text.startswith("Only 7.9 m of runway after the last contact")
    assert plan.finish == "hold"


@pytest.mark.parametrize(
    ("surface", "warned"), [("concrete", True), ("Tile floor", True), ("grass", False)]
)
def test_a_hard_surface_is_said(surface: str, warned: bool) -> None:
    plan = _made(catalogue()["alternate-bounds"], _tv("track", surface=surface))
    assert (_note(plan, "surface") is not None) == warned


def test_an_edge_too_near_and_sand_too_short_are_said() -> None:
    plan = own.plan("imka", "full-triple-jump", "club")
    last, take_off = plan.contacts[-1].x, plan.contacts[-2].x
    near = own.plan("imka", "full-triple-jump", "club", board=take_off + 0.1)
    note = _note(near, "edge")
    assert note
    assert "0.10 m from the sand; 0.30 m needed" in note.text
    deep = _made(
        catalogue()["full-triple-jump"], _tv("club", pit_length=last - plan.place.end_x + 0.2)
    )
    assert _note(deep, "sand-end")
    with pytest.raises(BadInput, match=r"^venue: a jump of 12\.30 m lands beyond the 3 m of sand"):
        _made(catalogue()["full-triple-jump"], _tv("club", pit_length=3.0))


def test_what_stands_in_the_next_lane_or_under_a_foot_is_said() -> None:
    narrow = _tv("track", runway_width=0.9, lane_spacing=0.9)
    drill = catalogue()["two-hops-step-beside"]
    note = _note(_made(drill, narrow), "misplaced")
    assert note
    assert "stands in the next lane" in note.text
    assert not {n.code for n in _made(drill, venues()["track"]).notes} & {"misplaced", "underfoot"}


def test_footprints_are_where_things_and_feet_are() -> None:
    plan = own.plan("imka", "two-hops-step-over", "track")
    things, landings = footprints(plan)
    assert [(t.x0 + t.x1) / 2 for t in things] == pytest.approx([h.x for h in plan.hurdles])
    assert len(landings) == sum(c.surface == "track" for c in plan.contacts)
    for foot, contact in zip(landings, plan.contacts, strict=False):
        assert foot.x0 < contact.x < foot.x1
        assert foot.y0 < contact.y < foot.y1
        assert contact.x - foot.x0 > 0.152 * plan.who.stature  # the whole shoe, heel to toe


# --- load and age ---------------------------------------------------------------------------------


def test_a_dose_over_the_budget_is_said() -> None:
    heavy = _dv("alternate-bounds", dose=((10, 20),) * 3)
    note = _note(_made(heavy, venues()["track"]), "over-budget")
    assert note
    row = LOAD["contacts-intermediate"]
    assert f"at most {row['high']} in a session at intermediate level" in note.text
    assert _note(own.plan("imka", "alternate-bounds", "track"), "over-budget") is None


def test_youth_limits_are_said() -> None:
    drill = catalogue()["full-triple-jump"]
    young = {n.code for n in own.plan("runa", "full-triple-jump").warnings}
    assert {"shock", "level"} <= young
    grown = {n.code for n in own.plan("tevin", "full-triple-jump").warnings}
    assert not {"too-young", "shock", "level", "age-unknown"} & grown
    unborn = dataclasses.replace(own.member("imka"), born=None)
    unknown = _note(own.plan(unborn, drill.slug), "shock")
    assert unknown
    assert "No birth year given" in unknown.text
    many = _dv("alternate-bounds", dose=((5, 8),) * 3)
    note = _note(_made(many, venues()["track"], "runa"), "youth-dose")
    assert note
    assert (
        f"{LOAD['youth-sets']['high']} sets of at most {LOAD['youth-reps']['high']} contacts"
        in note.text
    )


@pytest.mark.parametrize(("born", "age"), [(2010, 15), (2009, 16)])
def test_the_shock_limit_is_the_published_age(born: int, age: int) -> None:
    who = dataclasses.replace(own.member("tevin"), born=born)
    plan = own.plan(who, "full-triple-jump")
    assert plan.who.age == age
    assert (_note(plan, "shock") is not None) == (age < LOAD["shock-youngest"]["age"])


# --- motion and margin -----------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "slug"), EVERY)
def test_slow_contacts_are_said(name: str, slug: str) -> None:
    plan = own.plan(name, slug, own.pit_or_track(slug))
    limit = MECHANICS["fast-contact-limit"]["high"]
    slow = [c.number + 1 for c in plan.contacts if c.time is not None and c.time > limit]
    note = _note(plan, "slow-contact")
    assert (note is not None) == bool(slow)
    if note:
        assert all(re.search(rf"\b{n}\b", note.text) for n in slow)


@pytest.mark.parametrize(("name", "slug"), EVERY)
def test_what_footprints_cannot_show_is_printed_and_true(name: str, slug: str) -> None:
    plan = own.plan(name, slug, own.pit_or_track(slug))
    note = _note(plan, "footprints")
    assert note
    assert not note.grave
    low, high = (
        float(v) for v in re.findall(r"would be (-?[\d.]+) to (-?[\d.]+?)\.? ", note.text)[0]
    )
    first = plan.flights[0]
    assert low < first.vy < high
    assert f"{100 * REACH_DOUBT:.0f} cm" in note.text


def test_the_margin_is_the_derived_one() -> None:
    """A fast hop: .4 m of reach in all trades for about .25 m/s (about: a fifth, ours)."""
    reach = MECHANICS["geometry-speed-trade-length"]["geometry"]
    assert pytest.approx(reach) == 2 * REACH_DOUBT
    able = ability(own.member("tevin"))
    flight = own.plan("tevin", "full-triple-jump").flights[0]
    low, high = (
        float(vy_for_phase(able.who, "hop", "hop", np.array([flight.vx]), flight.length + d)[0])
        for d in (-REACH_DOUBT, REACH_DOUBT)
    )
    assert high - low == pytest.approx(MECHANICS["geometry-speed-trade-speed"]["vy"], rel=0.2)


def test_defaults_are_said_where_a_coach_sees_them() -> None:
    plan = own.plan("imka", "full-triple-jump")
    assert _note(plan, "speed-estimated")
    assert _note(plan, "carry-default")
    timed = own.plan("tevin", "full-triple-jump")
    assert _note(timed, "speed-estimated") is None
    who = dataclasses.replace(
        own.member("tevin"),
        calibration=dataclasses.replace(own.member("tevin").calibration, slope=0.8),
    )
    assert _note(own.plan(who, "full-triple-jump"), "carry-default") is None


def test_more_speed_than_timed_is_said() -> None:
    table = {
        "name": "A",
        "stature": 1.88,
        "mass": 79,
        "leg": "right",
        "best": 15.0,
        "target": 16.2,
        "speed": 9.3,
    }
    note = _note(own.plan(table, "full-triple-jump"), "needs-speed")
    assert note
    assert f"{athlete_from(table).speed:.2f}" in note.text
    assert f"{own.plan(table, 'full-triple-jump').approach.speed:.2f}" in note.text


SMALL = {
    "name": "A", "stature": 1.5, "mass": 45, "leg": "right", "target": 4.0, "born": 2000,
    "level": "intermediate",
}  # fmt: skip


@pytest.mark.parametrize(("cycles", "said"), [(1, False), (2, False), (8, True)])
def test_running_out_of_speed_is_said(cycles: int, said: bool) -> None:
    """Bounds of a jumper of 4 m: the first carries them on, the eighth no more."""
    plan = own.plan(SMALL, "alternate-bounds", "track", strides=2, cycles=cycles)
    assert (_note(plan, "runs-down") is not None) == said
    assert (plan.flights[-1].vx == pytest.approx(1.2)) == said


def test_a_slow_start_from_a_stand_is_no_running_out_of_speed() -> None:
    plan = own.plan(
        {**SMALL, "target": 5.0, "calibration": {"stand_speed": 1.1}}, "standing-triple-jump"
    )
    assert plan.flights[0].vx == pytest.approx(1.1)
    assert min(f.vx for f in plan.flights[1:]) > 1.7
    assert _note(plan, "runs-down") is None


# --- is that right? -------------------------------------------------------------------------------

ORDINARY = {
    "name": "A", "stature": 1.71, "mass": 62, "leg": "right", "best": 12.0, "target": 12.4,
    "level": "advanced", "born": 2000,
}  # fmt: skip


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"mass": 125}, "125 kg at 1.71 m is 43 kg/m2, outside 12.5 to 32. Is that right? Put the mass"),
        ({"mass": 30}, "30 kg at 1.71 m is 10 kg/m2, outside 12.5 to 32."),
        ({"target": 19.3, "best": 19.2, "split": "33:34:33"}, "A step of 6.56 m is longer than the longest"),
        ({"best": 16.5, "target": 16.6, "best_phases": "6.40/4.10/6.00 m"}, "A hop of 6.40 m is longer than"),
        ({"target": 11.5}, "The target of 11.50 m is less than the best of 12.00 m. Is that right?"),
        ({}, None),
    ],
)  # fmt: skip
def test_what_is_hardly_so_is_asked_about(changed: dict[str, Any], said: str | None) -> None:
    plan = own.plan({**ORDINARY, **changed}, "full-triple-jump")
    asked = [n for n in plan.notes if "Is that right?" in n.text]
    if said is None:
        assert not asked
        return
    assert any(n.text.startswith(said) and n.grave for n in asked), plan.notes
    # What speaks of the target is a remark of other drills.
    other = own.plan({**ORDINARY, **changed}, "hop-step-sand")
    for note in other.notes:
        if "Is that right?" in note.text:
            assert note.grave == (note.code == "is-that-right")


def test_the_longest_phases_are_the_published_ones() -> None:
    rows = {r["id"]: r for r in published("jumps.toml") if "phases" in r}
    longest = [max(column) for column in zip(*(r["phases"] for r in rows.values()), strict=True)]
    assert [LONGEST[m][0] for m in MOVES] == longest


def test_what_the_target_asks_is_no_warning_of_each_drill() -> None:
    table = {**ORDINARY, "target": 14.5}
    codes = {"beyond-shown", "needs-speed"}
    full = own.plan(table, "full-triple-jump")
    assert codes <= {n.code for n in full.warnings}
    for slug in catalogue():
        if not catalogue()[slug].full:
            plan = own.plan(table, slug, own.pit_or_track(slug))
            assert codes <= {n.code for n in plan.notes}
            assert not codes & {n.code for n in plan.warnings}
