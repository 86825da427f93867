"""Rows of approach and youth, and of arcs and the last stride, beside the planner."""

from __future__ import annotations

import csv
from functools import lru_cache

import numpy as np

from animate.body.body import SEGMENTS, Array, body
from animate.body.stances import GRAVITY
from layout.athlete.ability import Ability, ability
from layout.athlete.approach import MOST_STRIDES, SPRINT_TAU, approach
from layout.athlete.athlete import CHILD, CHILD_STRIDES, athlete_from, default_strides
from layout.athlete.bend import whole
from layout.athlete.carry import RUN_FALL
from layout.athlete.growth import SHORT, SPREAD, by_age, growth, guessed
from layout.athlete.march import Chain, march
from layout.plan.drill import Choices, find_drill
from layout.plan.made import made_of
from layout.plan.venue import venues
from layout.words.split_text import WORDS
from layout.words.trade import MOVES
from tests import strategies as own
from tests.published import FOLDER, Row
from tests.published.against_planner import like
from tests.published.held import Found, holds, rows

# --- approach -------------------------------------------------------------------------------------


@holds("approach", *(f"fraction-{n}" for n in ("standing", 4, 6, 8, 10, 12)))
def _fraction(row: Row) -> Found:
    """From memory, low confidence: within .02 of the band's ends (ours), full approach of 16 and more."""
    for name in (n for n in own.CLUB if own.member(n).strides >= 16):
        full = own.plan(name, "full-triple-jump").total
        if row["strides"] == 0:
            made = own.plan(name, "standing-triple-jump").total
        else:
            made = own.plan(name, "short-triple-jump", strides=row["strides"]).total
        yield "low..high", made / full, 0.02


@holds("approach", "strides-beginner", "strides-1-2-years", "strides-3-5-years")
def _strides(row: Row) -> Found:
    years = [row["years_low"], row["years_high"]] if "years_low" in row else [None, 0.5]
    level = "beginner" if row["id"] == "strides-beginner" else "intermediate"
    for year in years:
        yield "low..high", default_strides(level, year), None  # type: ignore[arg-type]


@holds("approach", "strides-age-11-13")
def _child(row: Row) -> Found:
    yield "low..high", CHILD_STRIDES, None
    yield "age_high", CHILD, None
    for age in (row["age_low"], row["age_high"]):
        who = athlete_from({"name": "A", "stature": 1.5, "mass": 42, "leg": "left", "target": 8.0,
                            "born": own.ON.year - age - 1})  # fmt: skip
        yield "low..high", who.full_strides(own.ON), None


@holds("approach", "boards-age-11-13")
def _young_boards(row: Row) -> Found:
    assert row["age_low"] < row["age_high"] <= CHILD
    for i, board in enumerate(venues()["youth"].boards):
        yield f"boards[{i}]", board, None


@holds("approach", "split-age-11-13")
def _young_split(row: Row) -> Found:
    assert row["age_low"] < row["age_high"] <= CHILD
    for move, share in zip(MOVES, WORDS["hop-dominated"][0], strict=True):
        yield move, share, None


KINDS = ("contact", "length", "speed")


@holds("approach", *(f"{k}-{w}" for k in ("bound", "hop") for w in KINDS))
def _bounds(row: Row) -> Found:
    """From memory, low confidence: a tenth beyond either end, grown jumpers from eight strides."""
    kind, what = row["id"].split("-")
    drill = {"bound": "alternate-bounds", "hop": "single-leg-hops"}[kind]
    for name in ("imka", "sefa", "odalys", "tevin"):
        plan = own.plan(name, drill, "track", strides=8)
        values = {
            "contact": [c.time for c in plan.contacts if c.time is not None],
            "length": [f.length for f in plan.flights], "speed": [f.vx for f in plan.flights],
        }[what]  # fmt: skip
        yield "low..high", float(np.median(values)), 0.2 * row["high"]


@holds("approach", "low-hop-rise", "high-hop-rise")
def _rise(row: Row) -> Found:
    """Of the flight, from take-off to its highest point."""
    for name in ("imka", "tevin"):
        arc = row["id"].split("-")[0]
        made, plain = (own.plan(name, "hop-step-sand", arc=a).flights[0] for a in (arc, "natural"))
        yield "low..high", (made.apex_z - made.start_z) / (plain.apex_z - plain.start_z), None


@holds("approach", "last-stride-flight")
def _last(row: Row) -> Found:
    """Half of the flight's time falls: what is fallen onto the board is g t / 2."""
    yield "low..high", -2.0 * RUN_FALL / GRAVITY, None


@holds("approach", "sprint-rise")
def _rise_of_speed(row: Row) -> Found:
    """Speed rises by v (1 - exp(-t / tau)): steepest at the start, by v / tau."""
    yield "forward", row["peak"] / SPRINT_TAU, 0.5
    assert row["peak_sd"] / row["peak"] < row["forward_sd"] / row["forward"]


@holds("approach", "first-step-women", "first-step-men")
def _steps(row: Row) -> Found:
    """Of a jumper from standing, whose size and speed are ours."""
    run = approach(9.0, 16, 1.68) if row["id"].endswith("women") else approach(10.3, 18, 1.84)
    for key, step in zip(("first", "second"), np.diff(run.distance), strict=False):
        low, high = row[key]
        for end in (0, 1):
            yield f"{key}[{end}]", step, (low, high)


@holds("approach", "run-up-men")
def _run_up(row: Row) -> Found:
    """The page tells no strides: of 20 to 22, at the speed of a record jump (ours)."""
    for strides in (20, 22):
        yield "low..high", approach(10.3, strides, 1.84).run_up(strides)[1], 0.6


@holds("approach", "stride-at-speed")
def _stride(row: Row) -> Found:
    """Stature by the lengths of thigh and shank; the last of the most strides hardly gains speed."""
    who = body(1.80, 72.0)
    stature = (
        row["leg"]
        / float(sum(who.lengths[SEGMENTS.index(f"r_{s}")] for s in ("thigh", "shank")))
        * 1.80
    )
    run = approach(row["speed"], MOST_STRIDES, stature)
    yield "length", run.distance[-1] - run.distance[-2], 0.13
    yield "speed", run.speed[-2], 0.05


# --- the young ------------------------------------------------------------------------------------


@lru_cache(maxsize=2)
def _squads(sex: str) -> tuple[dict[str, float], ...]:
    """Rows of the open data set of one sex, of 13 to 17 years."""
    with (FOLDER / "youth-jumpers" / "data.csv").open(newline="", encoding="utf-8") as file:
        every = [r for r in csv.DictReader(file) if r["sex"] == sex and 13 <= float(r["CA"]) < 18]
    return tuple(
        {k: float(v) for k, v in r.items() if k in ("CA", "BH", "TH", "FJT", "30-60m") and v}
        for r in every
    )


def _apart(sex: str, *keys: str) -> list[Array]:
    """Columns of those who have all, each as a share of its mean at the age (height: metres over it)."""
    rows_ = [r for r in _squads(sex) if set(keys) <= set(r)]
    ages = np.array([int(r["CA"]) for r in rows_])
    out = []
    for key in keys:
        values = np.array([r[key] for r in rows_])
        means = np.array([values[ages == a].mean() for a in ages])
        out.append((values - means) / 100.0 if key == "BH" else values / means - 1.0)
    return out


@holds("youth", "shorter-less")
def _shorter(row: Row) -> Found:
    """What is taken off for height is what the data say, or a little more."""
    for key, sex in (("girls", "f"), ("boys", "m")):
        tall, five = _apart(sex, "BH", "FJT")
        yield key, float((tall * five).sum() / (tall**2).sum()), None
        yield key, SHORT, (row[key], row[key] + {"girls": 0.12, "boys": 0.05}[key])


@holds("youth", "three-hops-spread")
def _spread(row: Row) -> Found:
    for key, sex in (("girls", "f"), ("boys", "m")):
        yield key, float(_apart(sex, "TH")[0].std()), None
        yield key, SPREAD[0], (row[key], row[key] + 0.02)


@holds("youth", "three-hops-beside")
def _beside(row: Row) -> Found:
    for key, sex in (("girls", "f"), ("boys", "m")):
        both = [r for r in _squads(sex) if {"TH", "FJT"} <= set(r)]
        share = np.array([r["TH"] / r["FJT"] for r in both])
        yield key, float(share.std() / share.mean()), None
        timed = np.array(
            [(30.0 / r["30-60m"], r["TH"]) for r in _squads(sex) if {"TH", "30-60m"} <= set(r)]
        )
        line = np.polyfit(timed[:, 0], timed[:, 1], 1)
        off = timed[:, 1] - np.polyval(line, timed[:, 0])
        yield f"{key}_speed", float(off.std() / timed[:, 1].mean()), None
        for name in (key, f"{key}_speed"):
            yield name, SPREAD[1], 0.01


SIZES = {13: (1.58, 48.0), 14: (1.61, 51.0), 15: (1.63, 54.0), 16: (1.64, 56.0), 17: (1.65, 57.0)}
"""Stature [m] and mass [kg] of girls by age, from memory, about the middle."""


def _girl(age: int) -> Ability:
    """A girl whose best is what 1000 points stand for at her age."""
    table = rows()["youth", "points-girls"]
    best = table["total"][table["ages"].index(age)]
    return like(best, *SIZES[age], "female", own.ON.year - age - 1)


def _chain(able: Ability, moves: tuple[str, ...], strides: int, stand: bool = False) -> float:
    entry = 3.0 if stand else able.run.run_up(strides)[0]
    run = Chain(moves, ("natural",) * len(moves), sand=False, stand=stand)
    return float(march(able.who, able.form, run, np.array([entry])).total[0])


@holds("youth", "girls-triple-hop", "girls-five-jump")
def _youth(row: Row) -> Found:
    """Nobody told the start: ours from six strides, for a girl very good at her age; the means are of all
    who were tested, so within two standard deviations either way."""
    hops = row["id"] == "girls-triple-hop"
    moves = ("hop",) * 3 if hops else ("step",) * 5
    for i, age in enumerate(row["ages"]):
        made = _chain(_girl(age), moves, 6)
        sd = row["mean_sd"][i]
        yield f"mean[{i}]", made, 2.0 * sd


@holds("youth", "boys-triple-hop-14")
def _boy(row: Row) -> Found:
    boys = rows()["youth", "points-boys"]
    best = boys["total"][boys["ages"].index(row["age"])]
    able = like(best, 1.66, 54.0, "male", own.ON.year - row["age"] - 1)
    made = _chain(able, ("hop",) * 3, 6)
    yield "mean", made, 2.0 * row["mean_sd"]


@holds("youth", "girls-five-jump-by-speed")
def _by_speed(row: Row) -> Found:
    """The line through the groups' own means gives speeds a girl runs; ours bounds farther the faster."""
    five = rows()["youth", "girls-five-jump"]["mean"]
    for mean in (five[0], five[-1]):
        speed = (mean - row["base"]) / row["per_speed"]
        yield "base", mean - row["per_speed"] * min(max(speed, 6.5), 9.0), row["see"]
    able = _girl(15)
    slow, quick = (float(march(able.who, able.form, Chain(("step",) * 5, ("natural",) * 5),
                               np.array([v])).total[0]) for v in (5.0, 6.0))  # fmt: skip
    yield "per_speed", quick - slow, 1.0


@holds("youth", "points-girls", "points-boys")
def _points(row: Row) -> Found:
    """A jump very good for the age can be planned from an untimed speed a child can run."""
    build = row["id"].removeprefix("points-")
    for i, age in enumerate(row["ages"]):
        stature = float(np.interp(age, (10, 12, 14, 16, 19), (1.38, 1.50, 1.62, 1.70, 1.74)))
        mass = float(np.interp(age, (10, 14, 19), (32.0, 52.0, 64.0)))
        able = like(row["total"][i], stature, mass, {"girls": "female", "boys": "male"}[build],
                     own.ON.year - age - 1)  # fmt: skip
        made = whole(able.who, able.form)
        yield f"total[{i}]", float(made.total[0]), 0.02
        yield f"total[{i}]", by_age(growth()[able.who.build]["triple"], age), None


@holds("youth", "standing-long-girls", "standing-long-boys")
def _standing_long(row: Row) -> Found:
    """Who jumps as far as that is guessed to jump a triple of 1000 points too."""
    build = {"girls": "female", "boys": "male"}[row["id"].removeprefix("standing-long-")]
    for i, age in enumerate(row["ages"]):
        jump, mark = row["jump"][i], by_age(growth()[build]["triple"], age)
        usual = guessed(age, build, 1.6, {"standing_jump": jump}).usual
        yield f"jump[{i}]", jump * mark / usual, None


@holds("youth", "standing-triple")
def _standing_triple(row: Row) -> Found:
    """The planner's triple from standing, of who is planned from that long jump; size by eye."""
    for i, (jump, triple) in enumerate(zip(row["jump"], row["triple"], strict=True)):
        one = athlete_from({
            "name": "A", "stature": 0.6 * jump + 0.55, "mass": 50.0, "leg": "left",
            "best": round(triple / 0.575, 2), "standing_jump": jump,
        })  # fmt: skip
        able = ability(one)
        entry = made_of(one, find_drill("hop-step-hold"), Choices(), able).entry
        run = Chain(MOVES, ("natural",) * 3, sand=True, stand=True)
        yield (
            f"triple[{i}]",
            float(march(able.who, able.form, run, np.array([entry])).total[0]),
            0.01,
        )
