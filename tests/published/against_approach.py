"""Rows of approach and youth, and of arcs and the last stride, beside the planner."""

from __future__ import annotations

import numpy as np

from animate.body.stances import GRAVITY
from layout.athlete.ability import Ability, ability
from layout.athlete.athlete import CHILD, CHILD_STRIDES, athlete_from, default_strides
from layout.athlete.bend import whole
from layout.athlete.carry import RUN_FALL
from layout.athlete.growth import by_age, growth, guessed
from layout.athlete.march import Chain, march
from layout.plan.drill import Choices, find_drill
from layout.plan.made import made_of
from layout.plan.venue import venues
from layout.words.split_text import WORDS
from layout.words.trade import MOVES
from tests import strategies as own
from tests.published import Row
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


# --- the young ------------------------------------------------------------------------------------


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
