"""Rows of velocities (speeds, losses, short runs) beside the planner's defaults."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np

from animate.body.body import Body, body
from layout.athlete.ability import Ability, ability
from layout.athlete.approach import approach
from layout.athlete.athlete import athlete_from
from layout.athlete.bend import WHOLE, whole
from layout.athlete.carry import LOSSES, carried, form_from_jump, form_of_march
from layout.athlete.march import STAND_SPEED, Chain, march
from layout.athlete.optimum import Optimum, best_split
from layout.words.split import classify
from layout.words.trade import MOVES
from tests import strategies as own
from tests.published import Row
from tests.published.against_planner import like
from tests.published.held import Found, holds, rows

FORWARD, UP = 0.06, 0.12
"""Spread from athlete to athlete of forward and upward speeds, as shares (ours)."""
FILE = "velocities"
OF = {k[1]: r for k, r in rows().items() if k[0] == FILE}


def _ids(kind: str) -> list[str]:
    return [name for name, row in OF.items() if row["kind"] == kind]


def who_of(row: Row) -> Body:
    return body(row["stature"], row["mass"], row["build"])


def phases_of(row: Row) -> tuple[float, ...]:
    """As printed, or as the row's velocities make them in the planner's own geometry [m]."""
    if "phases" in row:
        return tuple(row["phases"])
    vx, vy = np.array([row["vx"], row["vy"]])[:, :, None]
    made = carried(who_of(row), MOVES, vx[0], lambda i, *_: (vx[i], vy[i]))
    return tuple(made.length[:, 0].tolist())


@holds(FILE, *_ids("jump"))
def _jump(row: Row) -> Found:
    """Untimed, within three spreads of one athlete; and with the speed at the board that leaves the row's
    hop speed, within two and three. Of means of men, and of the record jump, nearer."""
    free = form_from_jump(who_of(row), phases_of(row))
    if "low" in row:
        yield "low..high", free.entry, 0.1
        return
    if "vx_hop" in row:
        up = row["vx_step"] * math.tan(math.radians(row["step_angle"]))
        yield "vx_hop", free.vx[0], 0.5 * FORWARD * row["vx_hop"]
        yield "vx_step", free.vx[1], 0.6 * FORWARD * row["vx_step"]
        yield "step_angle", math.degrees(math.atan2(free.vy[1], free.vx[1])), 1.5
        assert abs(free.vy[1] / up - 1.0) < 3.0 * UP
        return
    timed = form_from_jump(who_of(row), phases_of(row), row["vx"][0] / (1.0 - LOSSES[0]))
    for i in range(3):
        yield f"vx[{i}]", free.vx[i], 3.0 * FORWARD * row["vx"][i]
        yield f"vy[{i}]", free.vy[i], 4.0 * UP * row["vy"][i]
        yield f"vx[{i}]", timed.vx[i], 2.0 * FORWARD * row["vx"][i]
        yield f"vy[{i}]", timed.vy[i], 3.0 * UP * row["vy"][i]


@holds(FILE, "women-mean")
def _women(row: Row) -> Found:
    """Untimed, within three standard errors of their means; and the rows are what was averaged."""
    women = [OF[f"women-{i}"] for i in range(1, 9)]
    forms = [form_from_jump(who_of(w), phases_of(w)) for w in women]
    for key in ("vx", "vy"):
        ours, each = (np.array([f[key] for f in found]) for found in (map(vars, forms), women))
        for i, sd in enumerate(row[f"{key}_sd"]):
            yield f"{key}[{i}]", ours[:, i].mean(), 3.0 * sd / math.sqrt(len(women))
            yield f"{key}[{i}]", each[:, i].mean(), None
            yield f"{key}_sd[{i}]", each[:, i].std(ddof=1), 0.006


@holds(FILE, *_ids("loss"))
def _loss(row: Row) -> Found:
    """The default share within the row's spread from athlete to athlete, of whom it counts some."""
    yield "share", 100.0 * LOSSES[row["contact"]], row["sd"]
    assert row["count"] > 0


@holds(FILE, *_ids("chain"))
def _hops(row: Row) -> Found:
    total = row["best"]
    table = {"name": "A", "stature": row["stature"], "mass": row["mass"], "leg": "left", "best": total,
             "build": "female", "born": own.ON.year - 19, "level": "intermediate"}  # fmt: skip
    able = ability(athlete_from(table))
    entry = approach(able.form.entry, 14, row["stature"]).run_up(row["strides"])[0]
    run = Chain(("hop",) * 5, ("natural",) * 5)
    made = float(march(able.who, able.form, run, np.array([entry])).total[0])
    yield "total", made, row["sd"]


@lru_cache(maxsize=1)
def _standing() -> tuple[Any, Any]:
    """Standing long jumps and standing triple jumps of the model, over athletes of many totals [m]."""
    long: list[float] = []
    triple: list[float] = []
    for total in np.linspace(5.0, 16.0, 23):
        size = body(float(np.interp(total, (5.0, 14.0), (1.40, 1.80))), 60.0)
        form = form_from_jump(size, (0.35 * total, 0.30 * total, 0.35 * total))
        for moves, out in ((("jump",), long), (MOVES, triple)):
            run = Chain(moves, ("natural",) * len(moves), sand=True, stand=True)
            out.append(float(march(size, form, run, np.array([STAND_SPEED * form.entry])).total[0]))
    return np.array(long), np.array(triple)


@holds(FILE, *_ids("standing"))
def _triple(row: Row) -> Found:
    """The model's standing triple jump of an athlete with this standing long jump."""
    long, triple = _standing()
    yield "triple", float(np.interp(row["long"], long, triple)), 0.05 * row["triple"]


@holds(FILE, *(name for name in _ids("other") if name != "faster-approach"))
def _other(row: Row) -> Found:
    if "loss" in row:  # one woman's board contact
        yield "loss", LOSSES[0] * 9.0, 0.5
    if "gain" in row:
        able = ability(own.member("tevin"))
        found = best_split(able)
        yield "gain", 100.0 * found.gain / (found.total - found.gain), 1.0
    if "slope" in row:  # across the women themselves: the printed relation is in their rows
        women = [OF[f"women-{i}"] for i in range(1, 9)]
        into, out = (np.array([w["vx"][i] for w in women]) for i in (1, 2))
        loss = into - out
        yield "r", float(np.corrcoef(into, loss)[0, 1]), 0.01
        yield "slope", float(np.polyfit(into, loss, 1)[0]), 0.01
        yield "sd_out", float(out.std(ddof=1)), 0.01
        forms = [whole(who_of(w), form_from_jump(who_of(w), phases_of(w))) for w in women]
        gain = [w["vy"][2] - f.vy_in[2, 0] for w, f in zip(women, forms, strict=True)]
        yield "r_gain", float(np.corrcoef(gain, loss)[0, 1]), 0.35


SLOPES = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Of the line, round the default and on."""
FLAT_AT = (0.7, 0.9)
"""Where two phases are worth the same, so that the best split may turn over."""
FASTER = 1.03


def quicker(able: Ability, share: float = FASTER) -> Ability:
    """The same line and upward speeds from a faster approach."""
    made = march(able.who, able.shown, WHOLE, np.array([share * able.shown.entry]))
    return replace(able, shown=form_of_march(made, able.shown))


def by_slope(slope: float, total: float = 17.0) -> tuple[Optimum, Optimum]:
    """The best split of a 17 m jumper on a line of that slope, and from a faster approach."""
    able = like(total, 1.86, 76.0, "male")
    able = replace(able, shown=replace(able.shown, slope=slope))
    return best_split(able), best_split(quicker(able))


@holds("velocities", "faster-approach")
def _faster(row: Row) -> Found:
    """Of the best split: little, on every slope but where the splits are worth the same."""
    for slope in SLOPES:
        slow, fast_ = by_slope(slope)
        if slope in FLAT_AT:
            continue
        change = 100.0 * (np.array(fast_.shares) - np.array(slow.shares))
        yield "hop", float(change[0]), (row["hop"], 0.0)
        yield "jump", float(change[2]), (0.0, row["jump"])
        yield "classes", len({classify(one.shares) for one in (slow, fast_)}), 0.0
