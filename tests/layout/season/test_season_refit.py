"""Parameters recovered from attempts that were made with known ones."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from animate.body.body import Array
from layout.athlete.ability import ability
from layout.athlete.approach import approach
from layout.athlete.march import Chain as Moves
from layout.athlete.march import march
from layout.book.record import Group, Kind, Record
from layout.plan.drill import catalogue
from layout.plan.made import chain_of
from layout.plan.spacing import Choices, make_plan
from layout.plan.venue import find_venue
from layout.season.comparison import (
    FITTED,
    INDEX,
    NAMES,
    form_of,
    prior_of,
    problem_of,
    speeds_of,
)
from layout.season.gather import gather
from layout.season.refit import NEEDED, _with_fixed, calibrated, lacking_of, refit
from layout.season.robust import HUBER, centre, count_of, huber_cost, least, line, spread_of
from tests.layout.season.season_cases import (
    HSJ,
    SEASON,
    Chain,
    blank,
    drawn,
    misses,
    record_from,
    truth,
)
from tests.published import published
from tests.strategies import CLUB, ON, member

# --- the model is the planner's -------------------------------------------------------------------


@pytest.mark.parametrize("name", CLUB)
def test_chains_are_marched_as_the_planner_marches_them(name: str) -> None:
    who = member(name).on_day(ON)
    able = ability(who)
    form = able.shown
    theta, _ = prior_of(who, able)
    many = np.repeat(theta[:, None], 3, axis=1)
    made = form_of(able, many)
    assert np.allclose(np.array(made.gains)[:, 1], form.gains, atol=1e-9)
    assert np.allclose(np.array(made.vx)[:, 2], form.vx, atol=1e-9)
    entry = np.array([0.5, 0.8, 1.0]) * form.entry
    for drill in catalogue().values():
        chain = chain_of(drill, Choices())
        ours = march(able.who, made, chain, entry).length
        theirs = march(able.who, form, chain, entry)
        assert np.allclose(ours, theirs.length, atol=1e-9), drill.slug


def test_speeds_are_those_of_the_approach() -> None:
    theta = np.repeat(blank().mean[:, None], 3, axis=1)
    theta[INDEX["tau"], 1], theta[INDEX["speed"], 2] = 1.5, 9.0
    made = speeds_of(theta, 14, 1.68, None)
    for k in range(3):
        run = approach(float(theta[0, k]), 14, 1.68, float(theta[INDEX["tau"], k]))
        assert np.allclose(made[:, k], run.speed)


# --- the solver -----------------------------------------------------------------------------------


def _scipy(residuals: object, start: Array, data: int) -> Array:
    """The minimum that scipy's trust region finds, Huber on the data and squares on the prior."""

    def both(u: Array) -> Array:
        return np.concatenate([residuals(u[:, None])[:, 0], u])  # type: ignore[operator]

    def loss(z: Array) -> Array:
        huber = np.stack([2 * np.sqrt(z) - 1, z**-0.5, -0.5 * z**-1.5]) if (z > 0).all() else None
        assert huber is not None
        square = np.stack([z, np.ones_like(z), np.zeros_like(z)])
        free = (z > 1.0) & (np.arange(z.size) < data)
        return np.where(free, huber, square)

    return np.asarray(
        least_squares(
            both, start + 1e-3, loss=loss, f_scale=HUBER, xtol=1e-12, ftol=1e-12, gtol=1e-12
        ).x
    )


@pytest.mark.parametrize(("bent", "anywhere"), [(0.0, True), (0.005, True), (0.05, False)])
@given(seed=st.integers(0, 10_000))
@settings(max_examples=20, deadline=None)
def test_least_finds_the_minimum_that_scipy_finds(bent: float, anywhere: bool, seed: int) -> None:
    """Strongly bent problems have several minima: there scipy must find nothing lower nearby."""
    rng = np.random.default_rng(seed)
    design, wanted = rng.standard_normal((15, 4)), 2.0 * rng.standard_normal(15)
    wanted[0] += 20.0

    def residuals(u: Array) -> Array:
        return np.asarray(wanted[:, None] - design @ u - bent * (design @ u) ** 2)

    wide = np.full(4, 50.0)
    ours, cover = least(residuals, np.ones(4, bool), -wide, wide, 200)
    theirs = _scipy(residuals, np.zeros(4) if anywhere else ours, 15)
    costs = [huber_cost(residuals(u[:, None])[:, 0]) + 0.5 * u @ u for u in (ours, theirs)]
    assert costs[0] <= costs[1] + 1e-4
    assert np.linalg.eigvalsh(cover).min() > 0.0
    assert cover.diagonal().max() <= 1.0 + 1e-9  # never less sure than the prior


def test_the_athletes_problem_has_the_minimum_that_scipy_finds() -> None:
    rng = np.random.default_rng(5)
    record = record_from("imka", drawn("imka", rng, 0.7), rng, blunders=0.1)
    problem, _ = problem_of(truth("imka"), record)
    low, high = problem.bounds()
    ours, cover = least(problem.residuals, np.ones(len(NAMES), bool), low, high)
    data = problem.residuals(ours[:, None]).shape[0]
    theirs = _scipy(problem.residuals, np.zeros(len(NAMES)), data)
    assert np.allclose(ours, theirs, atol=0.02)
    assert (np.sqrt(np.diag(cover)) < 1.0).all()


def test_bounds_hold() -> None:
    def residuals(u: Array) -> Array:
        return 100.0 * (u - 3.0)

    at, _ = least(residuals, np.ones(1, bool), np.array([-1.0]), np.array([0.5]))
    assert at[0] == 0.5


def test_what_stays_at_its_default_pulls_the_others_along() -> None:
    """Against the textbook, by drawing: u ~ prior, data of a line, one parameter held at 0."""
    rng = np.random.default_rng(1)
    design = rng.standard_normal((30, 3)) + np.array([1.0, 1.0, 0.0])
    full = np.linalg.inv(design.T @ design + np.eye(3))
    free = np.array([True, False, True])
    cover = _with_fixed(full, free)
    true = rng.standard_normal((3, 20_000))
    data = design @ true + rng.standard_normal((30, 20_000))
    part = design[:, free]
    got = np.zeros_like(true)
    got[free] = np.linalg.solve(part.T @ part + np.eye(2), part.T @ data)
    assert np.allclose(np.cov(true - got), cover, atol=0.03)


# --- recovered ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "more",
    [{}, {"blunders": 0.1}, {"entry_noise": 0.02}, {"timed": False}, {"off": 0.09}],
    ids=["plain", "blunders", "uneven run-ups", "untimed", "drills three times as far off"],
)
def test_margins_cover_the_truth(more: dict[str, object]) -> None:
    """Of 12 seeds x 11 parameters (not all independent); 60 seeds in tests/bench."""
    off, plain = misses(range(100, 112), **more)
    assert 0.60 < (np.abs(off) < 1.0).mean() < 0.87
    assert (np.abs(off) < 2.0).mean() > 0.90
    told = np.sqrt((plain**2).mean(axis=0))
    if "off" not in more:
        assert told[INDEX["pull"]] < 0.75
        assert told[INDEX["stand"]] < 0.75
    if more.get("timed", True):
        assert told[INDEX["speed"]] < 0.35
        assert told[INDEX["tau"]] < 0.75


def test_a_rhythm_of_ones_own_is_found_in_spite_of_misread_marks() -> None:
    theta = blank().mean[:, None].copy()
    theta[INDEX["pull"]], theta[INDEX["tau"]] = 0.20, 1.5
    rng = np.random.default_rng(3)
    found = refit(truth("imka"), record_from("imka", theta, rng, 20, off=0.0, blunders=0.1))
    assert found.find("pull").value == pytest.approx(0.20, abs=0.03)
    assert found.find("tau").value == pytest.approx(1.5, abs=0.12)
    assert found.find("pull").evidence == found.find("tau").evidence == "good"
    assert 0.05 < found.blunders < 0.15
    assert found.spread == pytest.approx(0.04, abs=0.01)


def test_a_refitted_plan_is_nearer_to_what_is_jumped() -> None:
    athlete = truth("imka")
    theta = blank().mean[:, None].copy()
    theta[INDEX["pull"]], theta[INDEX["tau"]] = 0.20, 1.5
    rng = np.random.default_rng(4)
    record = record_from("imka", theta, rng, 15, off=0.0)
    own = calibrated(athlete, refit(athlete, record))
    drill, venue = catalogue()["hop-step-sand"], find_venue("club")
    speed = speeds_of(theta, athlete.strides, athlete.stature, None)[4]
    able = blank().able
    jumped = march(able.who, form_of(able, theta), chain_of(drill, Choices()), speed).total
    before, after = (make_plan(a, drill, venue, ON).total for a in (athlete, own))
    assert abs(after - jumped) < 0.6 * abs(before - jumped)


def test_drills_far_off_one_line_widen_the_margins() -> None:
    wide = []
    for seed in range(6):
        both = []
        for off in (0.0, 0.12):
            rng = np.random.default_rng(seed)
            both.append(
                refit(truth("imka"), record_from("imka", drawn("imka", rng, 0.5), rng, off=off))
            )
        assert both[0].stretch == 1.0
        wide.append(both[1].stretch)
        assert both[1].find("up_hop").sure > both[0].find("up_hop").sure
    assert min(wide) > 1.2


def test_nothing_timed_leaves_the_speed_alone() -> None:
    rng = np.random.default_rng(6)
    found = refit(truth("imka"), record_from("imka", drawn("imka", rng), rng, timed=False))
    speed = found.find("speed")
    assert (speed.value, speed.sure, speed.evidence) == (speed.prior, speed.prior_sure, "none")
    assert calibrated(truth("imka"), found).speed is None


def test_one_drill_from_two_run_ups_says_next_to_nothing_of_most() -> None:
    rng = np.random.default_rng(7)
    chains = [Chain("short-triple-jump", HSJ, ("natural",) * 3, True, False, (4, 6))]
    found = refit(truth("imka"), record_from("imka", drawn("imka", rng), rng, 8, False, chains))
    assert found.enough
    silent = [p.name for p in found.parameters if p.evidence == "none"]
    assert {"speed", "slope", "stand"} <= set(silent)
    for p in found.parameters:
        assert (p.value == p.prior) == (not p.moved)
        assert p.sure <= p.prior_sure * (1.0 + 1e-9) or p.moved


def test_draws_are_like_the_stated_margin() -> None:
    rng = np.random.default_rng(8)
    found = refit(truth("imka"), record_from("imka", drawn("imka", rng, 0.3), rng))
    for i, p in enumerate(found.parameters):
        assert found.draws[i, 0] == pytest.approx(p.value)
        assert found.draws[i].std() == pytest.approx(p.sure, rel=0.2)
        assert (found.draws[i] >= FITTED[p.name][0]).all()


# --- too little -----------------------------------------------------------------------------------


def _nothing() -> Record:
    none, whole = np.zeros(0), np.zeros(0, np.int64)
    no = np.zeros(0, bool)
    return Record(whole, whole, whole, whole, no, none, none, none, (), whole, none, none, ())


def test_without_attempts_all_stays_as_it_was() -> None:
    athlete = truth("imka")
    found = refit(athlete, _nothing())
    assert not found.enough
    assert found.lacking == (f"{NEEDED} measured attempts (0 so far)", lacking_of(())[1])
    assert all(p.value == p.prior and p.sure == p.prior_sure for p in found.parameters)
    assert calibrated(athlete, found) == athlete


@pytest.mark.parametrize(
    ("have", "count"),
    [(((4, 40),), 1), (((4, 6), (5, 6)), 1), (((4, 3), (8, 9)), 1), (((4, 4), (8, 7)), 1),
     (((4, 4), (8, 8)), 0), (((0, 6), (4, 6)), 0), ((), 2)],
)  # fmt: skip
def test_how_much_is_wanted(have: tuple[tuple[int, int], ...], count: int) -> None:
    assert len(lacking_of(have)) == count


def test_what_a_coach_gave_is_the_default() -> None:
    athlete = replace(truth("imka"), calibration=replace(truth("imka").calibration, slope=0.9))
    found = refit(athlete, _nothing())
    assert found.find("slope").prior == 0.9


def test_missing_phases_and_totals_alone_are_used() -> None:
    rng = np.random.default_rng(9)
    record = record_from("imka", drawn("imka", rng, 0.5), rng)
    groups = []
    for i, group in enumerate(record.groups):
        lengths = group.lengths.copy()
        if i == 1:
            lengths[:] = np.nan  # only the totals stay
        if i == 2:
            lengths[::2, 1] = np.nan
        groups.append(Group(group.kind, group.rows, lengths))
    thin = replace(record, groups=tuple(groups))
    whole, part = refit(truth("imka"), record), refit(truth("imka"), thin)
    assert part.attempts == whole.attempts - 12
    for a, b in zip(whole.parameters, part.parameters, strict=True):
        assert b.value == pytest.approx(a.value, abs=3.0 * a.sure)
    assert sum(c.total for c in gather(thin, 14).cells) == 1


def test_attempts_without_known_strides_are_left_out() -> None:
    kind = Kind("x", "x", HSJ, ("natural",) * 3, None, None, True, False, False, ())
    rows = np.arange(20)
    nothing = np.full(20, np.nan)
    groups = (Group(kind, rows, np.full((20, 3), 3.0)),)
    record = replace(_nothing(), total=nothing, speed=nothing, groups=groups)
    assert refit(truth("imka"), record).have == ()


# --- robust pieces --------------------------------------------------------------------------------


@given(seed=st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_a_middle_shrugs_off_a_tenth(seed: int) -> None:
    rng = np.random.default_rng(seed)
    values = 3.0 + 0.1 * rng.standard_normal((40, 2))
    clean, _ = centre(values, np.full(2, 0.1))
    values[:4] += rng.choice((-1.0, 1.0), (4, 2))
    spoilt, weights = centre(values, np.full(2, 0.1))
    assert np.abs(spoilt - clean).max() < 0.06
    assert (weights[:4] == 0.0).all()
    assert count_of(weights) < 38


def test_a_middle_of_one_and_of_none() -> None:
    middle, weights = centre(np.array([[2.0, np.nan]]), np.array([0.1, 0.1]))
    assert middle[0] == 2.0
    assert np.isnan(middle[1])
    assert weights.tolist() == [1.0]
    assert np.isnan(spread_of(np.zeros(0)))


def test_a_line_and_its_margin() -> None:
    rng = np.random.default_rng(2)
    x = np.arange(24.0)
    within = 0
    for _ in range(200):
        y = 0.3 * x + rng.standard_normal(24)
        y[3] += 15.0
        slope, sure = line(x, y)
        within += abs(slope - 0.3) < 2.0 * sure
    assert within >= 180


# --- published bands ------------------------------------------------------------------------------


def test_short_approaches_in_the_remembered_bands_are_met_by_a_refit() -> None:
    """Attempts at the middle of each remembered band: the refitted athlete stays inside the band,
    give or take the model's own 3 %."""
    athlete = truth("imka")
    rows = [r for r in published("approach.toml") if r["id"].startswith("fraction-")]
    full = np.array([4.22, 3.50, 4.18])
    groups, at = [], 0
    for row in rows:
        middle = (row["low"] + row["high"]) / 2.0
        kind = Kind("x", "x", HSJ, ("natural",) * 3, None, row["strides"], True,
                    row["strides"] == 0, False, ())  # fmt: skip
        share = np.array([0.25, 0.33, 0.42]) if row["strides"] == 0 else full / full.sum()
        lengths = np.tile(middle * full.sum() * share, (6, 1))
        groups.append(Group(kind, np.arange(at, at + 6), lengths))
        at += 6
    nothing = np.full(at, np.nan)
    record = replace(_nothing(), total=nothing, speed=nothing, groups=tuple(groups))
    found = refit(athlete, record)
    assert found.enough
    theta = found.draws[:, :1]
    speed = speeds_of(theta, athlete.strides, athlete.stature, None)
    able, arcs = ability(athlete), ("natural",) * 3
    form = form_of(able, theta)
    for row in rows:
        stand = row["strides"] == 0
        entry = theta[INDEX["stand"]] if stand else speed[row["strides"]]
        chain = Moves(HSJ, arcs, True, stand)
        made = float(march(able.who, form, chain, entry).total[0]) / full.sum()
        assert 0.97 * row["low"] <= made <= 1.03 * row["high"], row["id"]


def test_margins_hold_the_published_group_values() -> None:
    """The remembered range of the slope lies within two of its prior margins or little more, and the
    15 jumpers' losses within two of theirs."""
    mean, sigma = prior_of(truth("imka"), ability(truth("imka")))
    (slope,) = (r for r in published("mechanics.toml") if r["id"] == "carry-slope")
    middle, sure = mean[INDEX["slope"]], sigma[INDEX["slope"]]
    assert slope["low"] == pytest.approx(middle - 1.5 * sure)
    assert slope["high"] == pytest.approx(middle + 2.5 * sure)
    assert FITTED["slope"][0] < slope["low"] < slope["high"] < FITTED["slope"][1]
    (fall,) = (r for r in published("mechanics.toml") if r["id"] == "vx-fall")
    for name, key in (("loss_step", "hop_to_step"), ("loss_jump", "step_to_jump")):
        assert abs(mean[INDEX[name]] - fall[key] / 100) < 2.0 * sigma[INDEX[name]]


def test_the_season_of_the_tests_is_of_the_catalogue() -> None:
    for chain in SEASON:
        if chain.drill in catalogue():
            drill = catalogue()[chain.drill]
            assert (drill.chain, drill.ends == "sand") == (chain.moves, chain.sand)
            assert drill.arcs * drill.cycles == chain.arcs
