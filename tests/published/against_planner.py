"""Rows of jumps, mechanics and kinematics beside the planner."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import Any

import numpy as np

from animate.body.body import body
from animate.body.stances import GRAVITY
from layout.athlete.ability import Ability, ability
from layout.athlete.athlete import athlete_from
from layout.athlete.bend import whole
from layout.athlete.carry import (
    SHOWN_MARGIN,
    SLOPE,
    SLOPE_RANGE,
    March,
    form_from_jump,
    vy_for_phase,
)
from layout.athlete.flight import flight_time
from layout.athlete.march import Chain, march
from layout.athlete.optimum import best_split
from layout.athlete.questions import LONGEST
from layout.book.typed import Typed, measured
from layout.plan.warn import REACH_DOUBT
from layout.rules.load import COLLEGE, LONGEST_FAST_CONTACT, PEAKS, mean_vertical
from layout.rules.wind import WORTH
from layout.words.split import LEAD, STEP_BAND, STEP_CONTEXT, classify, lead, phases
from layout.words.split_text import WORDS, parse_split
from layout.words.trade import MOVES
from tests import strategies as own
from tests.published import Row
from tests.published.held import Found, holds, rows

TALL = body(1.86, 76.0, "male")
"""The size of a 17 m jumper (ours)."""
WOMEN, MEN = ("imka", "odalys"), ("sefa", "tevin")
B = {
    k[1].removeprefix("b-"): r
    for k, r in rows().items()
    if k[0] == "mechanics" and k[1][:2] == "b-"
}


@lru_cache(maxsize=1)
def fast() -> March:
    """A 17 m jump by this model: fixture B's phases at the approach that leaves its speed in the hop."""
    lengths = [B["phase"][m] for m in MOVES]
    entry = B["vx"]["hop"]
    for _ in range(8):
        form = form_from_jump(TALL, lengths, entry)
        entry *= B["vx"]["hop"] / form.vx[0]
    return whole(TALL, form)


def times(made: March) -> Any:
    """Contact times of a whole jump's three supports [s]."""
    gone = made.landing[:3, 0] + made.ahead[:, 0]
    return 2.0 * gone / (made.vx_in[:3, 0] + made.vx[:, 0])


@lru_cache(maxsize=64)
def like(best: float, stature: float, mass: float, build: str, born: int = 2000) -> Ability:
    table = {"name": "A", "stature": stature, "mass": mass, "leg": "left", "best": best,
             "build": build, "level": "advanced", "born": born}  # fmt: skip
    return ability(athlete_from(table))


# --- whole jumps ----------------------------------------------------------------------------------


def _split(row: Row) -> Any:
    if "phases" in row:
        text = "/".join(f"{p:.2f}" for p in row["phases"]) + " m"
        return parse_split(text, row["total"])
    return parse_split(":".join(f"{s:g}" for s in row["shares"]), row.get("total"))


@holds("jumps", "record-1995-phases", "record-1995-shares", "record-1985-phases", "record-1960-phases",
       "rule-of-thumb-17", "youth-10", "youth-7", "simulated-optimum", "womens-meeting-2008",
       "youth-award-split")  # fmt: skip
def _jump(row: Row) -> Found:
    split = _split(row)
    yield "class", classify(split), None
    if "lead" in row:
        yield "lead", lead(split)[1], None
    # Printed phases need not sum to the printed total: each is read as its share of it.
    for i, share in enumerate(split.shares):
        if "shares" in row:
            printed = row["shares"][i]
            yield f"shares[{i}]", 100.0 * share, 0.005 * printed + 0.5 * 10 ** -row["digits"]
            # The printed shares sum to 100, or nearly.
            yield f"shares[{i}]", 100.0 - sum(row["shares"]) + printed, 0.15
        if "phases" in row:
            longest = max(
                r["phases"][i] for (f, _), r in rows().items() if f == "jumps" and "phases" in r
            )
            if row["phases"][i] == longest:  # over which a coach is asked whether it is right
                yield f"phases[{i}]", LONGEST[MOVES[i]][0], None
            yield f"phases[{i}]", phases(row["total"], split)[i], 0.011
            yield "total", math.fsum(row["phases"]), 0.001
    if "total" in row:
        yield "total", math.fsum(phases(row["total"], split)), 0.001
    if row["id"] == "simulated-optimum":  # from 12.50 m, by the gain printed
        gain = rows()["velocities", "best-split-gain"]["gain"]
        yield "total", 12.50 * (1.0 + gain / 100.0), 0.01
    for i, mark in enumerate(accumulate(phases(row["total"], split)) if "marks" in row else ()):
        yield f"marks[{i}]", mark, None


@holds("jumps", "two-point-rule")
def _two(row: Row) -> Found:
    yield "lead", LEAD, None


@holds("mechanics", "dominance-threshold")
def _threshold(row: Row) -> Found:
    """Found by trying: the least lead of the hop over the jump that is called dominating, step 30 %."""

    def leads(points: int) -> bool:
        hop = 0.35 + points / 2000.0
        return classify((hop, 0.30, 0.70 - hop)) != "balanced"

    yield "points", next(n for n in range(1, 999) if leads(n)) / 10.0, 0.05


def _context() -> list[float]:
    return [float(x) for x in re.findall(r"\d+\.\d+", STEP_CONTEXT)]


@holds("jumps", "finalists-step-share")
def _finalists(row: Row) -> Found:
    for key, ours in zip(("men", "men_sd", "women", "women_sd"), _context(), strict=True):
        yield key, ours, None


@holds("mechanics", "step-share-finalists-men", "step-share-finalists-women")
def _step_share(row: Row) -> Found:
    """Ours that no warning is given for reaches as far as these go, and the words' steps lie within them."""
    low, high = (100.0 * s for s in STEP_BAND)
    yield "mean", (low + high) / 2.0, 3.0 * row["sd"] if row["mean"] > 28 else 1.2 * row["sd"]
    yield "mean", min(max(row["mean"], low), high), 0.31
    at = 0 if row["id"].endswith("-men") else 2
    yield "sd", _context()[at + 1], 0.001


@holds("jumps", "step-about-30")
@holds("mechanics", "step-share-trade")
def _thirty(row: Row) -> Found:
    key = "share" if "share" in row else "step"
    yield key, 50.0 * sum(STEP_BAND), None
    for (_, step, _), _ in WORDS.values():
        yield key, step, 1.0


@holds("jumps", "effective-distance")
def _effective(row: Row) -> Found:
    given = Typed(
        "A", "full-triple-jump", total=str(row["official"]), behind=str(row["toe_to_line"])
    )
    found = measured(given, MOVES, True, None)
    assert found.total is not None
    assert found.behind is not None
    yield "effective", found.total, None
    yield "toe_to_line", found.behind, None
    yield "official", found.total - found.behind, None
    who = {"name": "A", "stature": 1.8, "mass": 70, "leg": "left", "best": row["official"]}
    yield "effective", athlete_from({**who, "best_behind": row["toe_to_line"]}).jumped, None


@holds("kinematics", "men-thirty-shares")
def _thirty_men(row: Row) -> Found:
    """The words' splits, and the best split the model finds for a 17 m jumper, lie where men's did."""
    best = best_split(like(17.0, 1.86, 76.0, "male")).shares
    for i, move in enumerate(MOVES):
        low, high = row[move]
        for three in (*(w for w, _ in WORDS.values()), tuple(100.0 * s for s in best)):
            yield f"{move}[0]", three[i], (low - 0.5, high + 0.5)
            yield f"{move}[1]", three[i], (low - 0.5, high + 0.5)


# --- mechanics ------------------------------------------------------------------------------------


@holds("mechanics", "vx-fall")
def _fall(row: Row) -> Found:
    """Other groups' are 11.0 (SD 3.6) and 14.7 at the step, 17.4 (SD 5.3) at the jump: one SD either way."""
    vx = fast().vx[:, 0]
    yield "hop_to_step", 100.0 * (1.0 - vx[1] / vx[0]), 3.6
    yield "step_to_jump", 100.0 * (1.0 - vx[2] / vx[1]), 5.3


@holds("kinematics", "step-vx-college", "step-vx-best")
def _step_vx(row: Row) -> Found:
    """The default loss put on their own speed in; one and a half of the spread that was printed."""
    fall = 1.0 - float(fast().vx[1, 0] / fast().vx[0, 0])
    college = "fall_sd" in row
    yield "fall", 100.0 * fall, 1.5 * row["fall_sd"] if college else 1.0
    yield "out", row["into"] * (1.0 - fall), 1.1 * row["out_sd"] if college else 0.1
    # Their own figures agree with each other: what went in, less the fall, is what came out.
    yield "into", row["out"] / (1.0 - row["fall"] / 100.0), 0.01


@holds("kinematics", "step-vy-college")
def _step_vy(row: Row) -> Found:
    yield "down", -fast().vy_in[1, 0], row["down_sd"]
    yield "up", fast().vy[1, 0], row["up_sd"]


@holds("kinematics", "women-national-angles")
def _angles(row: Row) -> Found:
    """Of an untimed woman of 13.8 m; two of the printed spread."""
    shown = like(13.8, 1.72, 59.0, "female").shown
    for move, vx, vy in zip(MOVES, shown.vx, shown.vy, strict=True):
        yield move, math.degrees(math.atan2(vy, vx)), 2.0 * row["spread"]


@holds("kinematics", "women-national-run-up")
def _women_run_up(row: Row) -> Found:
    """What the model asks of a woman of 13.5 to 14.2 m whose speed nobody timed."""
    for total in (13.5, 14.2):
        yield "speed", like(total, 1.72, 59.0, "female").shown.entry, 0.6


@holds("kinematics", "speed-and-distance-women")
def _with_speed(row: Row) -> Found:
    """By the model faster is always farther: over one form, distance rises with speed all the way."""
    able = like(13.5, 1.72, 59.0, "female")
    speed = np.linspace(0.85, 1.05, 9) * able.shown.entry
    total = march(able.who, able.shown, Chain(MOVES, ("natural",) * 3, sand=True), speed).total
    yield "r", float(np.corrcoef(speed, total)[0, 1]), (row["r"], 1.0)


@holds("mechanics", "energy-kept")
def _energy(row: Row) -> Found:
    """Within .05 of the group's means (ours: no spread was printed)."""
    made = fast()
    before = (made.vx_in**2 + made.vy_in**2)[:3, 0] / 2 + GRAVITY * made.height_in[:3, 0]
    after = (made.vx**2 + made.vy**2)[:, 0] / 2 + GRAVITY * made.height[:, 0]
    for move, kept in zip(MOVES, after / before, strict=True):
        yield move, kept, 0.06


@holds("mechanics", "step-apex-lower")
def _apex(row: Row) -> Found:
    top = fast().height[:, 0] + fast().vy[:, 0] ** 2 / (2.0 * GRAVITY)
    yield "lower", 100.0 * (1.0 - top[1] / ((top[0] + top[2]) / 2.0)), 5.0


@holds("mechanics", "contact-times")
def _contacts(row: Row) -> Found:
    """Within the tenth that contact time and travel are said to agree to."""
    for move, time in zip(MOVES, times(fast()), strict=True):
        yield move, time, 0.10 * row[move]


@holds("mechanics", "support-travel")
def _travel(row: Row) -> Found:
    """The published times at fixture B's speeds make the travel that our poses reach."""
    made, printed = fast(), rows()["mechanics", "contact-times"]
    mean = (made.vx_in[:3, 0] + made.vx[:, 0]) / 2.0
    for i, move in enumerate(MOVES):
        reach = float(made.landing[i, 0] + made.ahead[i, 0])
        off = 100.0 * (printed[move] * float(mean[i]) / reach - 1.0)
        yield "within", off, (-row["within"], row["within"])


@holds("mechanics", "fast-contact-limit")
def _fast(row: Row) -> Found:
    yield "high", LONGEST_FAST_CONTACT, None
    yield "high", float(times(fast()).max()), (0.05, row["high"])


def means() -> Any:
    made = fast()
    return mean_vertical(made.vy[:, 0] - made.vy_in[:3, 0], times(made))


@holds("mechanics", "force-first-college", "force-second-college")
def _forces(row: Row) -> Found:
    """A mean over a contact lies under its first, sharp peak and about the second, broad one."""
    first = row["id"].startswith("force-first")
    if first:  # as the sheets tell it
        yield "low", COLLEGE.low, None
        yield "high", COLLEGE.high, None
    for mean in means()[1:]:
        yield "low", mean, (0.0 if first else row["low"], row["low"] if first else row["high"])
        yield "high", mean, (1.0, row["high"])


@holds("mechanics", "peak-force-step", "force-highest-cited")
def _peak(row: Row) -> Found:
    key = "peak" if "peak" in row else "high"
    known = max(p.high for kind in PEAKS.values() for p in kind)
    yield key, known, None if key == "peak" else (1.0, row["high"])
    # One hump as tall as this would have a mean of half of it; ours lies under that.
    yield key, float(means()[1]), (row[key] / 6.0, row[key] / 2.0)


@holds("mechanics", "vx-lost-women")
def _lost(row: Row) -> Found:
    for name in WOMEN:
        vx = ability(own.member(name)).shown.vx
        for before, after in pairwise(vx):
            yield "loss", before - after, 0.5


@holds("mechanics", "flight-alone-misses")
def _misses(row: Row) -> Found:
    made = fast()
    share = float((made.vx * made.time).sum() / made.total[0])
    yield "low..high", 100.0 * (1.0 - share), 0.5


@holds("mechanics", "geometry-speed-trade-length", "geometry-speed-trade-speed")
def _trade(row: Row) -> Found:
    if "geometry" in row:
        yield "geometry", 2.0 * REACH_DOUBT, None
        return
    made = fast()
    off = [vy_for_phase(TALL, "hop", "hop", made.vx[0], float(made.length[0, 0]) + d)[0]
           for d in (-REACH_DOUBT, REACH_DOUBT)]  # fmt: skip
    yield "vy", off[1] - off[0], 0.03


@holds("mechanics", "carry-slope", "carry-slope-flat")
def _slope(row: Row) -> Found:
    if row["id"] == "carry-slope":
        yield "low", SLOPE_RANGE[0], None
        yield "high", SLOPE_RANGE[1], None
    yield "low..high", SLOPE, None


@holds("mechanics", "vy-loss-fit")
def _rival(row: Row) -> Found:
    """The rival law on our own: speeds and upward speeds of one form varied, loss against take-off vy."""
    form = ability(own.member("tevin")).shown
    grid = np.linspace(-1.0, 1.0, 9)
    vx, vy = (a.ravel() for a in np.meshgrid(1.0 + 0.03 * grid, 1.0 + 0.10 * grid))
    loss = form.loss(1, vx * form.vx[0], (vy - 1.0) * form.vy[1] + form.gains[1])
    yield "r2", float(np.corrcoef(loss, vy)[0, 1] ** 2), (row["r2"], 1.0)


@holds("mechanics", "vy-bound")
def _bound(row: Row) -> Found:
    yield "within", 100.0 * SHOWN_MARGIN, None


@holds("mechanics", "speed-worth")
def _worth(row: Row) -> Found:
    flights = [
        float(flight_time(B["vy"][m], B["cm-takeoff"][m], B["cm-landing"][m])) for m in MOVES
    ]
    yield "gain", row["vx_gain"] * sum(flights), None
    yield "total", float(fast().total[0]), 0.2


@holds("mechanics", "tailwind-worth")
def _tail(row: Row) -> Found:
    """As much longer as a forecast of the athlete's own full length comes out."""
    yield "gain", WORTH * row["wind"], None
    still, blown = (own.plan("tevin", "short-triple-jump", wind=w) for w in (None, row["wind"]))
    share = still.total / ability(own.member("tevin")).reach
    yield "gain", (blown.total - still.total) / share, 0.004
