"""Whole plans: marks, shares, feet, mirror image, and what a coach may change."""

from __future__ import annotations

import dataclasses
import math
import re
from itertools import accumulate, pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from animate.body.stances import GRAVITY
from layout.athlete.ability import Ability, ability
from layout.athlete.athlete import athlete_from
from layout.athlete.carry import SHOWN_MARGIN
from layout.plan.drill import catalogue
from layout.plan.spacing import OTHER, feet
from layout.plan.value import Plan
from layout.rules.load import mean_braking, mean_vertical
from layout.words.faults import BadInput
from layout.words.split import Split, phases
from layout.words.split_text import parse_split
from layout.words.trade import MOVES
from tests import strategies as own
from tests.published import published

JUMPS = {row["id"]: row for row in published("jumps.toml")}
MECHANICS = {row["id"]: row for row in published("mechanics.toml")}
EVERY = [(n, s) for n in own.CLUB for s in catalogue()]


def _plan(table: dict[str, Any], slug: str, **changed: Any) -> Plan:
    try:
        return own.plan(table, slug, own.pit_or_track(slug), **changed)
    except BadInput:
        assume(False)
        raise


# --- marks, shares, times -------------------------------------------------------------------------


def _check(plan: Plan) -> None:
    """What holds in every plan."""
    xs = [c.x for c in plan.contacts]
    lengths = [f.length for f in plan.flights]
    assert xs[0] == 0.0
    assert xs == pytest.approx([0.0, *np.cumsum(lengths)], abs=1e-9)
    assert plan.total == pytest.approx(sum(lengths))
    assert sum(plan.shares) == pytest.approx(1.0)
    assert [s * plan.total for s in plan.shares] == pytest.approx(lengths)
    assert [c.number for c in plan.contacts] == list(range(len(lengths) + 1))
    for before, flight, after in zip(plan.contacts, plan.flights, plan.contacts[1:], strict=False):
        assert before.leave == flight.phase == after.arrive
        assert before.ahead is not None
        assert after.landing is not None
        assert before.height is not None
        assert after.height_in is not None
        assert flight.start_x == pytest.approx(before.x + before.ahead)
        assert flight.end_x == pytest.approx(after.x - after.landing)
        assert flight.start_z == pytest.approx(before.height)
        assert flight.end_z == pytest.approx(after.height_in)
        assert flight.length == pytest.approx(
            before.ahead + flight.vx * flight.time + after.landing
        )
        assert flight.vy_end == pytest.approx(flight.vy - GRAVITY * flight.time)
        assert flight.apex_z >= max(flight.start_z, flight.end_z) - 1e-9
        assert (before.vx, before.vy) == (flight.vx, flight.vy)
        assert (after.vx_in, after.vy_in) == pytest.approx((flight.vx, flight.vy_end))
        assert flight.time > 0.05
        assert flight.vx > 0.5
        assert flight.plus_minus is None or 0.0 < flight.plus_minus < flight.length
    for contact in plan.contacts:
        if contact.time is None:
            assert contact.leave == "end" or contact.arrive == "stand"
            continue
        assert contact.vx is not None
        assert contact.vx_in is not None
        assert contact.vy is not None
        assert contact.vy_in is not None
        assert contact.landing is not None
        assert contact.ahead is not None
        travel = contact.time * (contact.vx + contact.vx_in) / 2
        within = MECHANICS["support-travel"]["within"] / 100
        assert travel == pytest.approx(contact.landing + contact.ahead, rel=within)
        assert contact.vertical == pytest.approx(
            float(mean_vertical(contact.vy - contact.vy_in, contact.time))
        )
        assert contact.braking == pytest.approx(
            float(mean_braking(contact.vx_in - contact.vx, contact.time))
        )
        assert 0.05 < contact.time < 1.0


@pytest.mark.parametrize(("name", "slug"), EVERY)
def test_every_plan_of_the_club_hangs_together(name: str, slug: str) -> None:
    _check(own.plan(name, slug, own.pit_or_track(slug)))


@given(own.athlete_tables(), own.drill_names, st.none() | own.arcs, st.integers(2, 16))
def test_any_plan_hangs_together(
    table: dict[str, Any], slug: str, arc: str | None, strides: int
) -> None:
    run = catalogue()[slug].start == "run"
    _check(_plan(table, slug, arc=arc, strides=strides if run else None))


@given(own.athlete_tables())
def test_the_full_jump_is_the_target_split_as_wanted(table: dict[str, Any]) -> None:
    who = athlete_from(table)
    plan = _plan(table, "full-triple-jump")
    assert not plan.forecast
    assume(not {"beyond-shown", "bent-split"} & {n.code for n in plan.notes})
    assert [f.length for f in plan.flights] == pytest.approx(
        phases(who.target, who.split), abs=2e-3
    )
    assert [c.x for c in plan.contacts[1:]] == pytest.approx(
        list(accumulate(phases(who.target, who.split))), abs=3e-3
    )
    assert not plan.forecast
    assert all(f.plus_minus is None for f in plan.flights)


@pytest.mark.parametrize("row", ["youth-10", "youth-7"])
def test_published_marks(row: str) -> None:
    """A youth's full jump at the published total and split has the published marks."""
    want = JUMPS[row]
    parts = want.get("phases") or want["shares"]
    who = dataclasses.replace(
        own.member("runa"), target=want["total"], best=None,
        split=parse_split(":".join(f"{100 * p / sum(parts):g}" for p in parts)),
    )  # fmt: skip
    plan = own.plan(who, "full-triple-jump", "club")
    for contact, mark in zip(plan.contacts[1:], want["marks"], strict=True):
        assert contact.x == pytest.approx(mark, abs=0.5 * 10 ** -want["digits"])


@given(own.athlete_tables(), st.integers(32, 38), st.integers(27, 32), st.floats(0.85, 1.03))
def test_a_wanted_total_and_split_are_kept(
    table: dict[str, Any], hop: int, step: int, share: float
) -> None:
    wanted = share * athlete_from(table).target
    assume(wanted >= 3.0)
    split = parse_split(f"{hop}:{step}:{100 - hop - step}")
    plan = _plan(table, "full-triple-jump", total=wanted, split=split)
    assert plan.total == pytest.approx(wanted, abs=6e-3)
    off = [100 * (f.length - w) for f, w in zip(plan.flights, phases(wanted, split), strict=True)]
    note = next((n for n in plan.notes if n.code == "bent-split"), None)
    if note is None:
        assert max(map(abs, off)) < 0.6
    for flight, cm in zip(plan.flights, off, strict=True):
        said = f"the {flight.phase} is {abs(round(cm))} cm {'longer' if cm > 0 else 'shorter'}"
        if note is not None and round(cm):
            assert said in note.text[0].lower() + note.text[1:]


@pytest.mark.parametrize(
    "slug", ["full-triple-jump", "short-triple-jump", "hop-step-sand", "alternate-bounds"]
)
@pytest.mark.parametrize("total", [4.0, 8.0, 12.0, 16.0, 20.0, 24.0, 30.0])
def test_a_wanted_total_is_made_or_refused_never_shrunk(slug: str, total: float) -> None:
    found = own.attempt(lambda: own.plan("tevin", slug, own.pit_or_track(slug), total=total))
    if isinstance(found, BadInput):
        assert str(found).isprintable()
    else:
        assert found.total == pytest.approx(total, abs=5e-3)


# --- feet and mirror ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("moves", "stand", "wanted"),
    [
        (("hop", "step", "jump"), False, "RRLB"),
        (("hop", "hop", "step", "hop", "hop", "step"), False, "RRRLLLR"),
        (("step", "step", "step"), False, "RLRL"),
        (("hop", "step"), True, "BRL"),
        (("step", "jump"), False, "RLB"),
        (("step", "step"), True, "BRL"),
    ],
)
def test_feet(moves: tuple[str, ...], stand: bool, wanted: str) -> None:
    names = {"R": "right", "L": "left", "B": "both"}
    assert feet(moves, "right", stand) == tuple(names[c] for c in wanted)


@pytest.mark.parametrize(("name", "slug"), EVERY)
def test_feet_of_plans_follow_the_moves(name: str, slug: str) -> None:
    plan = own.plan(name, slug, own.pit_or_track(slug))
    drill, who = catalogue()[slug], own.member(name)
    lead = OTHER[who.leg] if drill.lead == "weak" else who.leg
    assert tuple(c.foot for c in plan.contacts) == feet(drill.chain, lead, drill.start == "stand")
    for contact in plan.contacts:
        # Half a stance of 16 cm (ours).
        assert contact.y == {"left": 0.08, "right": -0.08, "both": 0.0}[contact.foot]


def _mirrored(plan: Plan) -> Plan:
    """The same plan seen in a mirror along the runway."""
    swap = {**OTHER, "both": "both"}
    return dataclasses.replace(
        plan,
        who=dataclasses.replace(plan.who, leg=OTHER[plan.who.leg]),
        contacts=tuple(dataclasses.replace(c, foot=swap[c.foot], y=-c.y) for c in plan.contacts),
        hurdles=tuple(dataclasses.replace(h, y0=-h.y1, y1=-h.y0) for h in plan.hurdles),
        load=dataclasses.replace(plan.load, left=plan.load.right, right=plan.load.left),
    )


@pytest.mark.parametrize(("name", "slug"), EVERY)
def test_a_left_legged_plan_is_the_mirror_image(name: str, slug: str) -> None:
    who = own.member(name)
    other = dataclasses.replace(who, leg="left" if who.leg == "right" else "right")
    venue = own.pit_or_track(slug)
    assert own.plan(other, slug, venue) == _mirrored(own.plan(who, slug, venue))


@given(own.athlete_tables(), own.drill_names, own.arcs)
def test_mirror_image_of_any_athlete(table: dict[str, Any], slug: str, arc: str) -> None:
    here = _plan(table, slug, arc=arc)
    there = _plan({**table, "leg": OTHER[table["leg"]]}, slug, arc=arc)
    assert there == _mirrored(here)


@pytest.mark.parametrize("slug", [s for s, d in catalogue().items() if d.start == "run"])
def test_the_other_lead_leg_mirrors_too(slug: str) -> None:
    venue = own.pit_or_track(slug)
    here = own.plan("imka", slug, venue)
    there = own.plan("imka", slug, venue, lead=OTHER[here.contacts[0].foot])
    assert there.contacts == _mirrored(here).contacts
    assert there.hurdles == _mirrored(here).hurdles


# --- choices --------------------------------------------------------------------------------------


def test_more_cycles_repeat_the_moves() -> None:
    for cycles in (1, 2, 5):
        plan = own.plan("tevin", "two-hops-step-track", "track", cycles=cycles)
        assert [f.phase for f in plan.flights] == ["hop", "hop", "step"] * cycles


@pytest.mark.parametrize("strides", [4, 6, 9])
def test_the_approach_is_as_many_strides(strides: int) -> None:
    plan = own.plan("imka", "two-hops-step-sand", strides=strides)
    assert plan.approach.strides == strides
    assert plan.approach.marks[0][0] == strides
    assert plan.contacts[0].vx_in == pytest.approx(plan.approach.speed)


@pytest.mark.parametrize("name", own.CLUB)
def test_one_more_stride_never_brings_less_speed_nor_a_shorter_full_jump(name: str) -> None:
    strides = range(3, own.member(name).strides + 1)
    plans = [own.plan(name, "full-triple-jump", strides=s) for s in strides]
    for fewer, more in pairwise(plans):
        assert more.approach.speed >= fewer.approach.speed - 1e-6, more.approach.strides
        assert more.total >= fewer.total - 1e-4, more.approach.strides


def test_an_approach_is_never_longer_than_the_athlete_s_own() -> None:
    who = dataclasses.replace(own.member("imka"), strides=3)
    assert own.plan(who, "alternate-bounds", "track").approach.strides == 3
    with pytest.raises(BadInput, match=r"^strides: at most 3, Imka's full approach, got 5$"):
        own.plan(who, "alternate-bounds", "track", strides=5)
    guessed = dataclasses.replace(who, strides=8, strides_given=False)
    with pytest.raises(BadInput, match=r"^strides: at most 8, .*as none is given, got 20$"):
        own.plan(guessed, "full-triple-jump", strides=20)


# --- what may be asked for ------------------------------------------------------------------------


ORDINARY_STRIDES = st.integers(3, 8)


def _check_asked(plan: Plan, able: Ability) -> None:
    """No contact is asked for more than was shown and the margin, and the parts agree."""
    more = 1.0 + SHOWN_MARGIN
    for contact in plan.contacts[:-1]:
        assert contact.vy is not None
        shown = able.shown.vy[MOVES.index(contact.leave)]
        assert contact.vy <= shown + SHOWN_MARGIN * abs(shown) + 1e-6
        if contact.vy_in is not None:
            assert contact.vy - contact.vy_in <= max(able.shown.gains) * more + 1e-6
        if contact.vx_in is not None:
            assert contact.vx_in <= able.shown.entry * more + 1e-6
    assert plan.total == pytest.approx(sum(f.length for f in plan.flights))


@settings(max_examples=250)
@given(own.athlete_tables(), own.drill_names, st.none() | own.arcs, ORDINARY_STRIDES)
def test_no_contact_is_asked_for_more_than_was_shown(
    table: dict[str, Any], slug: str, arc: str | None, strides: int
) -> None:
    who = athlete_from({**table, "strides": max(table.get("strides", 8), strides)})
    able = own.attempt(lambda: ability(who.on_day(own.ON)))
    assume(not isinstance(able, BadInput))
    run = strides if catalogue()[slug].start == "run" else None
    arc = arc if "hop" in catalogue()[slug].moves else None
    plan = own.plan(who, slug, own.pit_or_track(slug), arc=arc, strides=run)
    _check_asked(plan, ability(who.on_day(own.ON)))


@settings(max_examples=150)
@given(own.athlete_tables(), ORDINARY_STRIDES, st.floats(0.6, 1.3), st.none() | own.splits)
def test_nor_by_a_length_or_a_split(
    table: dict[str, Any], strides: int, share: float, split: Split | None
) -> None:
    who = athlete_from({**table, "strides": max(table.get("strides", 8), strides)})
    try:
        here = own.plan(who, "short-triple-jump", strides=strides)
    except BadInput:
        assume(False)
        raise
    wanted = share * here.total
    asked = {"strides": strides, "total": wanted, "split": split}
    plan = own.attempt(lambda: own.plan(who, "short-triple-jump", **asked))
    if isinstance(plan, BadInput):
        longest = re.search(r"can be asked for ([\d.]+) m at most from \d+ strides", str(plan))
        if longest:
            assert wanted > float(longest[1])
            most = own.attempt(
                lambda: own.plan(
                    who, "short-triple-jump", strides=strides, total=float(longest[1]), split=split
                )
            )
            assert not isinstance(most, BadInput)
    else:
        assert plan.total == pytest.approx(wanted, abs=6e-3)
        _check_asked(plan, ability(who.on_day(own.ON)))


def test_a_bent_split_is_told_on_the_card() -> None:
    """A 1.59 m girl from 4 strides was asked for 3.81 m/s upward at 2.07 forward."""
    girl = {
        "name": "A", "stature": 1.59, "mass": 48, "leg": "right", "best": 7.0, "target": 7.35,
        "build": "female", "split": "37:30:33", "strides": 12,
    }  # fmt: skip
    plan = own.plan(girl, "short-triple-jump", strides=4)
    _check_asked(plan, ability(athlete_from(girl).on_day(own.ON)))
    note = next(n for n in plan.warnings if n.code == "bent-split")
    assert re.match(r"The hop is \d+ cm (longer|shorter), ", note.text)
    assert "more than 10 % over the upward speeds of the best jump" in note.text


def test_a_standing_start_has_no_approach() -> None:
    plan = own.plan("imka", "standing-triple-jump")
    assert (plan.approach.strides, plan.approach.length, plan.approach.marks) == (0, 0.0, ())
    assert (plan.contacts[0].arrive, plan.contacts[0].foot, plan.contacts[0].time) == (
        "stand",
        "both",
        None,
    )
    stepped = dataclasses.replace(own.member("imka").calibration, stand_speed=2.5)
    who = dataclasses.replace(own.member("imka"), calibration=stepped)
    assert own.plan(who, "standing-triple-jump").approach.speed == 2.5


BAD_CHOICES: list[tuple[str, dict[str, Any]]] = [
    ("alternate-bounds", {"cycles": 0}),
    ("alternate-bounds", {"cycles": -1}),
    ("step-jump-sand", {"cycles": 2}),
    ("full-triple-jump", {"cycles": 2}),
    ("standing-triple-jump", {"cycles": 2}),
    ("alternate-bounds", {"strides": -1}),
    ("alternate-bounds", {"strides": 25}),
    ("alternate-bounds", {"strides": 4.5}),
    ("alternate-bounds", {"cycles": 1.5}),
    ("full-triple-jump", {"strides": 0}),
    ("short-triple-jump", {"strides": 0}),
    ("hop-step-sand", {"arc": "steep"}),
    ("hop-step-sand", {"lead": "middle"}),
    ("hop-step-sand", {"total": math.nan}),
    ("hop-step-sand", {"total": -3.0}),
    ("full-triple-jump", {"total": math.inf}),
    ("full-triple-jump", {"board": math.nan}),
    ("full-triple-jump", {"board": -3.0}),
    ("hop-step-sand", {"hurdle": 0.15}),
    ("alternate-bounds", {"arc": "low"}),
    ("alternate-bounds", {"board": 9.0}),
    ("two-hops-step-over", {"hurdle": -0.1}),
    ("two-hops-step-over", {"hurdle": math.nan}),
]


@pytest.mark.parametrize(("slug", "changed"), BAD_CHOICES, ids=[f"{s}-{c}" for s, c in BAD_CHOICES])
def test_choices_that_cannot_be_are_refused(slug: str, changed: dict[str, Any]) -> None:
    with pytest.raises(BadInput) as error:
        own.plan("tevin", slug, own.pit_or_track(slug), **changed)
    assert len(str(error.value)) < 300
    assert str(error.value).isprintable()


@given(
    own.athlete_tables(),
    own.drill_names,
    st.none() | st.integers(1, 24),
    st.none() | own.arcs,
    st.none() | st.integers(1, 4),
    st.none() | st.floats(1.0, 30.0),
    st.none() | st.floats(3.0, 13.0),
    st.none() | st.floats(0.05, 0.6),
)
def test_any_choices_make_a_plan_or_a_plain_refusal(
    table: dict[str, Any], slug: str, strides: int | None, arc: str | None, cycles: int | None,
    total: float | None, board: float | None, hurdle: float | None,
) -> None:  # fmt: skip
    if "jump" in catalogue()[slug].moves:
        cycles = None  # refused on its own, above
    changed = {
        "strides": strides,
        "arc": arc,
        "cycles": cycles,
        "total": total,
        "board": board,
        "hurdle": hurdle,
    }
    plan = own.attempt(lambda: own.plan(table, slug, own.pit_or_track(slug), **changed))
    if isinstance(plan, BadInput):
        assert str(plan).isprintable()
        assert len(str(plan)) < 300
    else:
        assert sum(plan.shares) == pytest.approx(1.0)
        assert all(math.isfinite(c.x) for c in plan.contacts)
        if total is not None:
            assert plan.total == pytest.approx(total, abs=5e-3)


# --- margin ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "slug"), EVERY)
def test_a_forecast_says_how_sure_it_is(name: str, slug: str) -> None:
    plan = own.plan(name, slug, own.pit_or_track(slug))
    for flight in plan.flights:
        assert (flight.plus_minus is not None) == plan.forecast
        if flight.plus_minus is not None:
            assert 0.05 < flight.plus_minus < 0.25 * flight.length


def test_the_same_twice_is_the_same() -> None:
    assert own.plan("imka", "two-hops-step-sand") == own.plan("imka", "two-hops-step-sand")
