"""Marching through a chain: what approach, arcs and repeats do to the spacing."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from itertools import groupby, pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from animate.body.body import Body, body
from animate.body.stances import GRAVITY
from layout.athlete.ability import Ability, ability
from layout.athlete.approach import Approach, approach
from layout.athlete.athlete import athlete_from
from layout.athlete.carry import SLOWEST, Form, March, fastest_from, with_margin
from layout.athlete.flight import leave_at, stance_at
from layout.athlete.march import ARCS, STAND_SPEED, Chain, even_lifts, march
from layout.plan.drill import Drill, catalogue
from layout.plan.made import chain_of
from layout.plan.spacing import Choices, make_plan
from layout.plan.venue import venues
from layout.words.faults import BadInput
from layout.words.split import phases
from layout.words.split_text import parse_split
from tests import strategies as own
from tests.fit_defaults import BEFORE, before_form
from tests.limits import flips
from tests.published import published

BANDS = {row["id"]: row for row in published("approach.toml", "memory-low")}
SHORTER = 1e-4
"""A tenth of a millimetre [m]: what a tape that reads centimetres could never show."""


def _able(table: dict[str, Any]) -> Ability:
    try:
        return ability(athlete_from(table))
    except BadInput:
        assume(False)
        raise


def _arcs(drill: str, arc: str) -> tuple[str, ...]:
    found = catalogue()[drill]
    kept = zip(found.chain, found.arcs * found.cycles, strict=True)
    return tuple(arc if move == "hop" else own_arc for move, own_arc in kept)


def _run(able: Ability, drill: str, arc: str, entry: np.ndarray[Any, Any]) -> March:
    found = catalogue()[drill]
    return march(
        able.who,
        able.form,
        Chain(found.chain, _arcs(drill, arc), found.ends == "sand", found.start == "stand"),
        entry,
    )


# --- speed ----------------------------------------------------------------------------------------


@settings(max_examples=150)
@given(own.athlete_tables(), own.drill_names, own.arcs, st.floats(1.0, 3.0), st.floats(3.0, 12.0))
def test_more_approach_speed_never_shortens_a_phase(
    table: dict[str, Any], drill: str, arc: str, low: float, high: float
) -> None:
    able = _able(table)
    made = _run(able, drill, arc, np.linspace(low, high, 60))
    assert (np.diff(made.length, axis=1) >= -SHORTER).all()


@settings(max_examples=80)
@given(own.athlete_tables(calibrated=True), own.drill_names)
def test_nor_with_any_calibration_the_reader_accepts(table: dict[str, Any], drill: str) -> None:
    able = _able(table)
    made = _run(able, drill, "natural", np.linspace(1.0, 11.0, 60))
    assert (np.diff(made.length, axis=1) >= -SHORTER).all()


@pytest.mark.parametrize("drill", [d for d in catalogue() if catalogue()[d].start == "run"])
@pytest.mark.parametrize("name", own.CLUB)
def test_more_strides_never_shorten_a_phase_of_a_plan(name: str, drill: str) -> None:
    most = own.member(name).strides
    venue = dataclasses.replace(venues()[own.pit_or_track(drill)], runway_length=120.0)
    chosen = [Choices(strides=s, despite="the coach of these tests") for s in range(3, most)]
    plans = [make_plan(own.member(name), catalogue()[drill], venue, own.ON, c) for c in chosen]
    for fewer, more in pairwise(plans):
        assert more.total >= fewer.total - SHORTER
        longer = np.array(
            [b.length - a.length for a, b in zip(fewer.flights, more.flights, strict=True)]
        )
        # A split that bends less gives back what it took from the hop and the step.
        bends = any(n.code == "bent-split" for n in fewer.notes)
        assert bends or (longer >= -SHORTER).all()


# --- height ---------------------------------------------------------------------------------------


DRIVEN = {
    "name": "x", "stature": 2.0411, "mass": 72.99, "leg": "right", "level": "intermediate", "born": 1994,
    "build": "female", "target": 7.144, "best": 7.119, "split": "38:27:35", "flying_30": 7.0,
}  # fmt: skip
"""Out of a low and of a natural hop they come as fast as a contact can drive them."""


@example(DRIVEN, 3, 0.9892)
@given(own.athlete_tables(), st.integers(1, 3), st.floats(0.45, 1.0))
def test_a_lower_first_hop_keeps_speed_and_lengthens_what_follows(
    table: dict[str, Any], hops: int, share: float
) -> None:
    able = _able(table)
    moves = ("hop",) * hops + ("step",)
    entry = np.array([share * able.form.entry])
    made = [
        march(able.who, able.form, Chain(moves, (arc, *("natural",) * hops)), entry)
        for arc in ("low", "natural", "high")
    ]
    most = fastest_from(able.form.entry, entry)[0]
    first = [float(m.length[0, 0]) for m in made]
    speed = [m.vx[:, 0] for m in made]
    after = [float(m.length[1:, 0].sum()) for m in made]
    for lower, higher in ((0, 1), (1, 2)):
        assert first[lower] <= first[higher] + SHORTER
        # Less is lost at the first take-off, unless either drives as far as a contact can.
        assert speed[lower][0] > speed[higher][0] or speed[higher][0] == most
        assert speed[lower][1] >= speed[higher][1] - 1e-9  # nor at the contact after it
        assert after[lower] >= after[higher] - SHORTER
    assert after[0] > after[2]


def test_arcs_are_lower_and_higher_within_what_was_shown() -> None:
    assert ARCS["low"] < ARCS["natural"] == 1.0 < ARCS["high"] <= 1.1 + 1e-9


@pytest.mark.parametrize("drill", [d for d in catalogue() if "hop" in catalogue()[d].moves])
@pytest.mark.parametrize("name", ["imka", "tevin"])
def test_low_and_high_hop_versions_of_a_plan(name: str, drill: str) -> None:
    """The arc a flight is labelled with is the arc it has."""
    venue = own.pit_or_track(drill)
    low, natural, high = (
        own.plan(name, drill, venue, arc=arc).flights[0] for arc in ("low", "natural", "high")
    )
    assert (low.phase, low.arc, natural.arc, high.arc) == ("hop", "low", "natural", "high")
    assert low.vy < natural.vy < high.vy
    assert low.apex_z < natural.apex_z < high.apex_z
    assert low.time < natural.time < high.time


# --- repeats --------------------------------------------------------------------------------------

EVEN = 0.02
"""Marks of a repeated move may waver by this [m] (ours: less than a foot is placed to)."""
REPEATED = [
    s for s, d in catalogue().items()
    if d.ends == "track" and d.start == "run" and d.finish == "run on"
]  # fmt: skip


def _wavers(lengths: Sequence[float]) -> float:
    """The most by which a row of lengths goes up and down again, or down and up."""
    steps = np.diff(lengths)
    turns = [min(abs(a), abs(b)) for a, b in pairwise(steps) if a * b < 0]
    return float(max(turns, default=0.0))


@settings(max_examples=200)
@given(
    own.athlete_tables(), st.sampled_from(REPEATED), st.none() | own.arcs, st.integers(3, 8),
    st.integers(1, 6),
)  # fmt: skip
def test_repeated_moves_are_even(
    table: dict[str, Any], slug: str, arc: str | None, strides: int, cycles: int
) -> None:
    """Hop by hop, and cycle by cycle, the marks go one way or stay: no long, short, long, short."""
    who, drill = athlete_from(table), catalogue()[slug]
    assume(strides <= who.strides)
    field = dataclasses.replace(venues()["track"], runway_length=120.0)
    arc = arc if "hop" in drill.moves else None
    choices = Choices(strides=strides, arc=arc, cycles=cycles, despite="the coach of these tests")
    plan = own.attempt(lambda: make_plan(who, drill, field, own.ON, choices))
    assume(not isinstance(plan, BadInput))
    assert not isinstance(plan, BadInput)
    lengths = [f.length for f in plan.flights]
    for _, run in groupby(plan.flights, key=lambda f: (f.phase, f.arc)):
        assert _wavers([f.length for f in run]) <= EVEN
    for number in range(len(drill.moves)):
        # The first cycle comes from a run-up, not from a step.
        assert _wavers(lengths[number :: len(drill.moves)][drill.cycles > 1 :]) <= EVEN


@pytest.mark.parametrize("arcs", [("low", "natural"), ("natural", "high"), ("high", "low")])
@pytest.mark.parametrize("move", ["hop", "step"])
def test_two_flights_of_a_move_in_proportion_to_their_arcs_use_up_the_contact_between(
    arcs: tuple[str, str], move: str
) -> None:
    """By another way: r vy + sqrt(vy^2 + 2 g drop) = most, solved by halving."""
    who, vx, most = body(1.80, 72.0, "male"), np.array([7.5]), 4.6
    drop = float(leave_at(who, move, vx)[1][0] - stance_at(who, move, vx)[1][0])
    ratio = {"low": 0.8, "natural": 1.0, "high": 1.1}[arcs[1]]
    ratio /= {"low": 0.8, "natural": 1.0, "high": 1.1}[arcs[0]]
    first = flips(lambda v: ratio * v + (v * v + 2.0 * GRAVITY * drop) ** 0.5 > most, 0.0, 5.0, 40)
    rooms = [9.0, most, 9.0]
    found = [float(np.ravel(even_lifts(who, (move, move), arcs, i, vx, rooms))[0]) for i in (0, 1)]
    assert found == pytest.approx([first, ratio * first])


def test_high_hops_on_one_leg_are_even() -> None:
    """They were 4.11, 3.03, 3.64, 3.13, 3.48."""
    for name in own.CLUB:
        for arc in ("low", "natural", "high"):
            plan = own.plan(name, "single-leg-hops", "track", arc=arc)
            lengths = [f.length for f in plan.flights]
            assert lengths == sorted(lengths, reverse=True), (name, arc)


@given(
    own.athlete_tables(),
    st.sampled_from([("step",), ("hop",), ("hop", "hop", "step"), ("hop", "step")]),
    st.floats(0.4, 1.0),
)
def test_repeated_cycles_settle(
    table: dict[str, Any], cycle: tuple[str, ...], share: float
) -> None:
    able = _able(table)
    moves = cycle * (60 // len(cycle))
    entry = np.array([share * able.form.entry])
    made = march(able.who, able.form, Chain(moves, ("natural",) * len(moves)), entry)
    rounds = made.length[:, 0].reshape(-1, len(cycle))
    change = np.abs(np.diff(rounds, axis=0)).max(axis=1)
    # Slow contacts push and fast ones brake, so a run-in may pass through both; after that every
    # change is smaller than the last.
    late = change[len(change) // 2 :]
    assert (np.diff(late) <= 1e-9).all()
    assert late.max() <= 0.5 * change.max() + 1e-6
    assert change[-1] < 0.005


@pytest.mark.parametrize("name", ["imka", "sefa", "odalys", "tevin"])
@pytest.mark.parametrize(
    ("drill", "kind"), [("alternate-bounds", "bound"), ("single-leg-hops", "hop")]
)
def test_grown_jumpers_bound_near_the_remembered_bands(name: str, drill: str, kind: str) -> None:
    """Remembered with low confidence: a fifth beyond either end is allowed (ours).

    From eight strides: four bring some of them in more slowly than the bands' slowest bound.
    """
    plan = own.plan(name, drill, "track", strides=8)
    lengths, speeds = [f.length for f in plan.flights], [f.vx for f in plan.flights]
    times = [c.time for c in plan.contacts if c.time is not None]
    for row, values in (("length", lengths), ("speed", speeds), ("contact", times)):
        band = BANDS[f"{kind}-{row}"]
        middle = float(np.median(values))
        assert 0.8 * band["low"] <= middle <= 1.2 * band["high"], (row, middle)


# --- the mechanics of a chain ---------------------------------------------------------------------


@given(own.athlete_tables(), own.drill_names, own.arcs, st.floats(1.5, 10.0))
def test_velocities_hand_over_from_flight_to_contact(
    table: dict[str, Any], drill: str, arc: str, entry: float
) -> None:
    able = _able(table)
    made = _run(able, drill, arc, np.array([entry]))
    assert made.vx_in[1:] == pytest.approx(made.vx)
    assert made.vy_in[1:] == pytest.approx(made.vy - 9.81 * made.time)
    assert made.length == pytest.approx(made.ahead + made.vx * made.time + made.landing[1:])
    drop = made.vy * made.time - 9.81 * made.time**2 / 2
    assert made.height + drop == pytest.approx(made.height_in[1:], abs=1e-9)
    assert (made.vx >= SLOWEST).all()
    assert made.total == pytest.approx(made.length.sum(axis=0))
    # No contact turns the body round faster than the athlete has shown; high arcs a little.
    gain = (made.vy - made.vy_in[:-1])[1 if catalogue()[drill].start == "stand" else 0 :]
    assert (
        gain <= max(able.form.gains) * ARCS["high" if arc == "high" else "natural"] + 1e-9
    ).all()


def test_many_assumptions_at_once_are_one_by_one() -> None:
    able = ability(own.member("imka"))
    moves, arcs = ("hop", "hop", "step"), ("low", "natural", "natural")
    entries, slopes = np.array([4.0, 6.0, 8.0]), np.array([0.5, 0.7, 1.0])
    chain = Chain(moves, arcs, sand=True)
    forms = [dataclasses.replace(able.form, slope=slope) for slope in (slopes, *slopes)]
    together = march(able.who, forms[0], chain, entries)
    for i in range(3):
        one = march(able.who, forms[i + 1], chain, entries[i : i + 1])
        assert together.length[:, i] == pytest.approx(one.length[:, 0])


@pytest.mark.parametrize("lift", [1.0, 1.05])
def test_nothing_is_asked_for_above_the_caps(lift: float) -> None:
    """A high arc stops at the greatest upward speed, a contact at the greatest change of it."""
    able = ability(own.member("tevin"))
    chain, entry = Chain(("hop", "step"), ("high", "high")), np.array([able.form.entry])
    for move in (0, 1):
        most = [np.inf] * 3
        most[move] = 0.9 * able.form.vy[move]
        form = dataclasses.replace(able.form, highest=tuple(most))
        made = march(able.who, form, chain, entry, lift)
        assert made.vy[move, 0] == pytest.approx(lift * most[move])
    hard = dataclasses.replace(able.form, highest=(np.inf,) * 3, hardest=0.8 * max(able.form.gains))
    made = march(able.who, hard, chain, entry, lift)
    assert max(made.vy[:, 0] - made.vy_in[:2, 0]) == pytest.approx(lift * hard.hardest)


def test_more_lift_flies_longer() -> None:
    able = ability(own.member("imka"))
    made = march(
        able.who, able.form, Chain(("step",), ("natural",)), np.full(2, 6.0), np.array([1.0, 1.05])
    )  # fmt: skip
    assert made.time[0, 1] > made.time[0, 0]


@pytest.mark.parametrize(
    ("moves", "arcs"),
    [
        ((), ()), (("hop",), ()), (("leap",), ("natural",)), (("hop",), ("steep",)),
        (("hop", "jump", "step"), ("natural",) * 3),
    ],
    ids=["none", "few arcs", "move", "arc", "after a jump"],
)  # fmt: skip
def test_refused(moves: tuple[str, ...], arcs: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match=r"^moves: "):
        Chain(moves, arcs)


# --- the young, beginners and the unknown ---------------------------------------------------------

YOUNG = (
    (12, 1.50, "female", 8.5), (13, 1.58, "average", 9.3), (14, 1.65, "male", 10.8),
    (15, 1.65, "female", 10.4), (16, 1.75, "male", 12.5), (17, 1.82, "male", 13.8),
)  # fmt: skip
OVER = 1.005
"""How far over what was forecast of them before the fit it may go: half a hundredth."""
SHORT = 0.965
"""Nor so careful that it tells nothing: no more than this under both."""


def _forecast(form: Form, run: Approach, who: Body, drill: Drill, strides: int) -> float:
    chain = chain_of(drill, Choices())
    entry = STAND_SPEED * form.entry if chain.stand else run.run_up(strides)[0]
    return float(march(who, form, chain, np.array([entry])).total[0])


@pytest.mark.parametrize(("age", "stature", "build", "best"), YOUNG)
def test_the_young_are_forecast_the_lesser_of_the_fit_and_of_what_was_before(
    age: int, stature: float, build: str, best: float
) -> None:
    table = {
        "name": "A", "stature": stature, "mass": 21 * stature**2, "leg": "left", "build": build,
        "best": best, "strides": 12, "level": "intermediate", "training_years": 2,
    }  # fmt: skip
    born: tuple[dict[str, Any], ...] = (
        {"born": own.ON.year - age - 1}, {}, {"born": 2000, "level": "beginner"}, {"born": 2000},
    )  # fmt: skip
    *held, grown = (ability(athlete_from({**table, **more}).on_day(own.ON)) for more in born)
    who = grown.who
    was = before_form(who, phases(best, parse_split("balanced", None)))
    was = dataclasses.replace(
        was, pull=BEFORE["pull"], drive=BEFORE["drive"], below=BEFORE["drive_below"], again=0.0,
        highest=tuple(map(with_margin, was.vy)), hardest=with_margin(max(was.gains)),
    )  # fmt: skip
    before = approach(was.entry, 12, stature)
    for drill in catalogue().values():
        for strides in (4, 6, 8):
            old = _forecast(was, before, who, drill, strides)
            new = _forecast(grown.form, grown.run, who, drill, strides)
            for one in held:
                ours = _forecast(one.form, one.run, who, drill, strides)
                assert SHORT * min(old, new) <= ours <= OVER * min(old, new), (drill.slug, strides)
