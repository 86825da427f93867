"""The planner's defaults fitted to published rows: `python -m tests.fit_defaults` prints fit and errors.

Read are tests/published/velocities.toml and approach.toml alone. Of the rows of a kind, in the order of
the file, every third is held out. Shares of speed lost are pooled over groups that differ (DerSimonian &
Laird); the rest is least squares, each difference over its row's own spread. Loss is not fitted to gain
across athletes: that line is one athlete's.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.optimize import least_squares

from animate.body.body import Array, Body, body
from layout.athlete.ability import ability
from layout.athlete.approach import approach
from layout.athlete.athlete import athlete_from
from layout.athlete.carry import UPWARD_AT, Form, form_from_jump
from layout.athlete.march import Chain, march
from layout.plan.made import likely
from layout.rules.rule import rule
from layout.words.trade import MOVES
from tests.published import Row, published
from tests.published.against_velocities import FORWARD, UP, phases_of, who_of

NAMES: Final = (
    "losses",
    "loss_spread",
    "upward",
    "upward_power",
    "stand_speed",
    "pull",
    "drive",
    "drive_below",
    "hop_again",
)
CHAINS: Final = NAMES[4:]
MEMORY = 0.04
"""Spread of a remembered speed, as a share (ours)."""
AGAIN: Final = 0.03
"""Most that a hop out of a hop may be spared: with more, hops on one leg would grow along the row and
leave what is remembered of them (ours). The group of women jumped further than this gives."""
CONCAVE: Final = 0.002
"""By how much of the full jump each two strides more must give less than the two before (ours)."""
HELD: Final = 3
PRIOR: Final = {"upward_power": (0.5, 0.25), "stand_speed": (0.33, 0.05), "pull": (0.10, 0.05),
                "drive": (0.50, 0.30), "drive_below": (0.60, 0.10), "hop_again": (0.0, 0.10)}  # fmt: skip
"""What it was before, or what similar shapes give, and how freely it moves (ours)."""
JUMPERS: Final = (
    (1.85, 76.0, "male", 16.0, 18),
    (1.72, 60.0, "female", 13.5, 16),
    (1.80, 72.0, "male", 14.0, 16),
)
"""Whom the shares of short approaches are worked out for (ours): size, total [m], strides."""
BEFORE: Final = {
    "losses": (0.07, 0.085, 0.151), "loss_spread": (0.02, 0.02, 0.03), "stand_speed": 0.33, "pull": 0.10,
    "drive": 0.50, "drive_below": 0.60, "hop_again": 0.0,
}  # fmt: skip
"""Defaults until this fit; upward speeds then came of take-off angles, `ANGLES`."""
ANGLES: Final = (0.234, 0.192, 0.308)


@dataclass(frozen=True)
class Defaults:
    """What is fitted, by the names of the rules."""

    losses: tuple[float, float, float]
    loss_spread: tuple[float, float, float]
    upward: tuple[float, float, float]
    upward_power: float
    stand_speed: float
    pull: float
    drive: float
    drive_below: float
    hop_again: float

    def form(self, who: Body, phases: Sequence[float], speed: float | None = None) -> Form:
        """Of a jump, on these defaults."""
        usual = tuple(u * (sum(phases) / UPWARD_AT) ** self.upward_power for u in self.upward)
        made = form_from_jump(who, phases, speed, self.losses, pull=self.pull, usual=usual)
        return replace(made, drive=self.drive, below=self.drive_below, again=self.hop_again)


def shipped() -> Defaults:
    """As the rules have them."""
    return Defaults(**{name: rule(name) for name in NAMES})


def of_kind(kind: str, out: bool | None = None) -> list[Row]:
    """Rows of a kind: those fitted, those held `out`, or all."""
    rows = [r for r in published("velocities.toml") if r["kind"] == kind]
    return [r for i, r in enumerate(rows) if out is None or (i % HELD == HELD - 1) == out]


def bands(out: bool | None = None) -> list[Row]:
    """Rows of short approaches, as `of_kind`."""
    rows = [r for r in published("approach.toml") if r["id"].startswith("fraction-")]
    return [r for i, r in enumerate(rows) if out is None or (i % HELD == HELD - 1) == out]


def pooled(rows: list[Row]) -> tuple[float, float]:
    """Mean share lost over groups that differ, and its spread from athlete to athlete [-]."""
    y, s, n = (np.array([r[k] for r in rows], float) for k in ("share", "sd", "count"))
    w = n / s**2
    mean = float((w * y).sum() / w.sum())
    left = max(float(w.sum() - (w**2).sum() / w.sum()), 1e-9)
    between = max(0.0, (float((w * (y - mean) ** 2).sum()) - (len(rows) - 1)) / left)
    w = 1.0 / (between + s**2 / n)
    within = float((n * s**2).sum() / n.sum())
    return float((w * y).sum() / w.sum()) / 100.0, float(np.sqrt(between + within)) / 100.0


def fitted_losses() -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Shares lost in the three contacts and their spreads; a contact with one row has that one."""
    every = of_kind("loss", False)
    found = [pooled([r for r in every if r["contact"] == i]) for i in range(3)]
    return tuple(f[0] for f in found), tuple(f[1] for f in found)


@lru_cache(maxsize=64)
def _phases(name: str) -> tuple[float, ...]:
    (row,) = (r for r in of_kind("jump") if r["id"] == name)
    return phases_of(row)


def jump_errors(row: Row, form: Form) -> dict[str, float]:
    """Ours over the printed figures, less one."""
    if "vx" in row:
        pairs = {
            f"{way} {m}": (ours, was)
            for way in ("vx", "vy")
            for m, ours, was in zip(MOVES, getattr(form, way), row[way], strict=True)
        }
    elif "vx_hop" in row:
        up = row["vx_step"] * np.tan(np.radians(row["step_angle"]))
        pairs = {
            "vx hop": (form.vx[0], row["vx_hop"]),
            "vx step": (form.vx[1], row["vx_step"]),
            "vy step": (form.vy[1], up),
        }
    else:
        pairs = {"entry": (form.entry, (row["low"] + row["high"]) / 2.0)}
    return {k: ours / was - 1.0 for k, (ours, was) in pairs.items()}


def _spread(name: str) -> float:
    return MEMORY if name == "entry" else FORWARD if name.startswith("vx") else UP


def _jumpers(found: Defaults) -> Iterator[tuple[Body, Form, float, int]]:
    """Each of `JUMPERS`, their form on these defaults, total [m] and strides."""
    for stature, mass, build, total, strides in JUMPERS:
        who = body(stature, mass, build)
        yield who, found.form(who, (0.35 * total, 0.30 * total, 0.35 * total)), total, strides


def share_of_full(found: Defaults, row: Row) -> Array:
    """What a short approach makes of the full jump, for each of `JUMPERS` [-]."""
    out = []
    for who, form, total, strides in _jumpers(found):
        stand = row["strides"] == 0
        speed = approach(form.entry, strides, who.stature).run_up(row["strides"])[0]
        entry = np.array([found.stand_speed * form.entry if stand else speed])
        made = march(who, form, Chain(MOVES, ("natural",) * 3, True, stand), entry)
        out.append(float(made.total[0]) / total)
    return np.array(out)


def repeats(found: Defaults, out: bool | None = None) -> list[tuple[Row, Array]]:
    """Remembered lengths and speeds of bounds and of hops on one leg, and ours for `JUMPERS` from 8
    strides: the middle one of five [m, m/s]."""
    kinds = {f"{kind}-{what}": (move, what) for kind, move in (("bound", "step"), ("hop", "hop"))
             for what in ("length", "speed")}  # fmt: skip
    rows = [r for r in published("approach.toml") if r["id"] in kinds]
    pairs = []
    for row in (r for i, r in enumerate(rows) if out is None or (i % HELD == HELD - 1) == out):
        move, what = kinds[row["id"]]
        ours = []
        for who, form, _, strides in _jumpers(found):
            entry = np.array([approach(form.entry, strides, who.stature).run_up(8)[0]])
            made = march(who, form, Chain((move,) * 5, ("natural",) * 5), entry)
            ours.append(float(np.median(made.length if what == "length" else made.vx)))
        pairs.append((row, np.array(ours)))
    return pairs


def five_hops(found: Defaults, row: Row) -> float:
    """Five hops on one leg of the row's athlete [m]."""
    who, total = body(row["stature"], row["mass"], "female"), row["best"]
    form = found.form(who, (0.35 * total, 0.30 * total, 0.35 * total))
    entry = approach(form.entry, 14, row["stature"]).run_up(row["strides"])[0]
    return float(
        march(who, form, Chain(("hop",) * 5, ("natural",) * 5), np.array([entry])).total[0]
    )


def usual_at(power: float) -> tuple[float, float, float]:
    """Medians of upward speeds printed, as a jump of `UPWARD_AT` would have them [m/s]."""
    rows = [r for r in of_kind("jump", False) if "vy" in r]
    scaled = [np.array(r["vy"]) * (UPWARD_AT / sum(_phases(r["id"]))) ** power for r in rows]
    hop, step, jump = np.median(np.array(scaled), axis=0).tolist()
    return hop, step, jump


def fit() -> Defaults:
    """The defaults fitted to the rows that are not held out."""
    losses, spread = fitted_losses()
    start = replace(shipped(), losses=losses, loss_spread=spread, **{k: BEFORE[k] for k in CHAINS})

    def speeds(x: Array) -> Array:
        power = float(x[0])
        trial = replace(start, upward=usual_at(power), upward_power=power)
        off = [(power - PRIOR["upward_power"][0]) / PRIOR["upward_power"][1]]
        for row in of_kind("jump", False):
            found = jump_errors(row, trial.form(who_of(row), _phases(row["id"])))
            off += [e / _spread(k) for k, e in found.items()]
        return np.array(off)

    power = float(least_squares(speeds, [0.7], diff_step=1e-3).x[0])
    start = replace(start, upward=usual_at(power), upward_power=power)

    def chains(x: Array) -> Array:
        trial = replace(start, **dict(zip(CHAINS, x.tolist(), strict=True)))
        off = [(v - PRIOR[n][0]) / PRIOR[n][1] for n, v in zip(CHAINS, x, strict=True)]
        for row in bands(False):
            middle, half = (row["high"] + row["low"]) / 2.0, (row["high"] - row["low"]) / 2.0
            off += ((share_of_full(trial, row) - middle) / half).tolist()
        # Distance grows less and less with more strides (Béres et al. 2014, long jump).
        shares = np.array([share_of_full(trial, {"strides": n}) for n in (4, 6, 8, 10, 12)])
        off += (np.maximum(np.diff(shares, 2, axis=0) + CONCAVE, 0.0).ravel() / CONCAVE).tolist()
        for row, ours in repeats(trial, False):
            middle, half = (row["high"] + row["low"]) / 2.0, (row["high"] - row["low"]) / 2.0
            off += ((ours - middle) / half).tolist()
        (row,) = of_kind("chain")
        return np.array([*off, (five_hops(trial, row) - row["total"]) / (row["sd"] / 2.0)])

    x = least_squares(chains, [PRIOR[n][0] for n in CHAINS], diff_step=1e-3,
                      bounds=([0.2, 0.0, 0.0, 0.4, 0.0], [0.5, 0.3, 0.85, 0.9, AGAIN])).x  # fmt: skip
    return replace(start, **dict(zip(CHAINS, x.tolist(), strict=True)))


def before_form(who: Body, phases: Sequence[float], speed: float | None = None) -> Form:
    """As the planner made it before: the entry whose take-off angles come nearest `ANGLES`."""
    entries = [speed] if speed else np.arange(3.0, 12.5, 0.02).tolist()

    def off(form: Form) -> float:
        return float(((np.array(form.vy) / np.array(form.vx) - ANGLES) ** 2).sum())

    forms = []
    for entry in entries:
        try:
            forms.append(form_from_jump(who, phases, entry, BEFORE["losses"]))
        except ValueError:
            continue
    return min(forms, key=off)


def in_margins(row: Row, timed: bool) -> Array:
    """A row's speeds less ours, in the spread that forms as likely have of them, untimed or with the speed at
    the board that leaves the row's hop speed [-]."""
    lengths = phases_of(row)
    text = "/".join(f"{d:.4f}" for d in lengths) + " m"
    given = {
        "name": "A", "stature": row["stature"], "mass": row["mass"], "leg": "left", "born": 2000,
        "build": row["build"], "best": sum(lengths), "best_phases": text, "split": text, "level": "advanced",
        **({"speed": row["vx"][0] / (1.0 - rule("losses")[0])} if timed else {}),
    }  # fmt: skip
    able = ability(athlete_from(given))
    form = able.shown
    many, _ = likely(replace(able, form=form), timed)
    off = []
    for name in ("vx", "vy"):
        for own, each, seen in zip(
            getattr(form, name), getattr(many, name), row[name], strict=True
        ):
            pairs = np.asarray(each)[1:].reshape(-1, 2)
            off.append((seen - own) / np.hypot.reduce(np.diff(pairs, axis=1).ravel() / 2.0))
    return np.array(off)


def table() -> list[tuple[str, str, str, str]]:
    """Quantity, rows, error before and after, fitted and held-out rows apart."""
    now = shipped()
    old = replace(now, **BEFORE)
    out = []
    for name, held in (("fitted", False), ("held out", True)):
        for timed in (False, True):
            got: dict[str, list[tuple[float, float]]] = {}
            for row in of_kind("jump", held):
                if timed and "vx" not in row:
                    continue
                who, phases = who_of(row), _phases(row["id"])
                speeds = [row["vx"][0] / (1 - d.losses[0]) if timed else None for d in (old, now)]
                a, b = before_form(who, phases, speeds[0]), now.form(who, phases, speeds[1])
                for (k, was), new in zip(
                    jump_errors(row, a).items(), jump_errors(row, b).values(), strict=True
                ):
                    got.setdefault(k, []).append((was, new))
            for k, pairs in got.items():
                e = 100 * np.array(pairs)
                m, r = e.mean(axis=0), np.sqrt((e**2).mean(axis=0))
                what = f"{k}, {'hop speed given' if timed else 'untimed'} [%]"
                both = (
                    f"mean {mean:+.1f}, rms {root:.1f}" for mean, root in zip(m, r, strict=True)
                )
                out.append((what, f"{name}, {len(pairs)}", *both))
        for row in of_kind("loss", held):
            e = [100 * d.losses[row["contact"]] - row["share"] for d in (old, now)]
            out.append((row["id"] + " [points]", name, f"{e[0]:+.1f}", f"{e[1]:+.1f}"))
        for row in bands(held):
            e = [
                100 * (share_of_full(d, row).mean() - (row["low"] + row["high"]) / 2)
                for d in (old, now)
            ]
            out.append(
                (row["id"] + " [points from the middle]", name, f"{e[0]:+.1f}", f"{e[1]:+.1f}")
            )
    (row,) = of_kind("chain")
    out.append(
        (
            "five hops from 4 strides [m]",
            "fitted",
            *(f"{five_hops(d, row) - row['total']:+.2f}" for d in (old, now)),
        )
    )
    return out


def main() -> None:
    """Print the fit beside what is shipped, and the errors."""
    found, ships = fit(), shipped()
    for name in NAMES:
        print(f"{name:14} fit {np.round(getattr(found, name), 4)}  shipped {getattr(ships, name)}")
    for line in table():
        print(" | ".join(line))


if __name__ == "__main__":
    main()
