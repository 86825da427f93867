"""What motions do, measured from outside and held beside what is published; by hand.

``python -m tests.bench.motion_seen shipped`` measures the library's drill motions; ``... plans 40 [seed]``
solves that many random plans;
files of motions can be named instead. Prints one table: medians, with 5 and 95 % of the contacts.
"""

from __future__ import annotations

import datetime
import math
import random
import sys
import tempfile
import time
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np

from animate.body.body import body
from animate.motion.chain import Settings
from animate.motion.motion import Motion
from animate.motion.solve import find
from animate.motion.strength import SLACK, STRENGTH, share
from layout.athlete.athlete import athlete_from
from layout.moving.chain import chain_of
from layout.plan.drill import catalogue
from layout.plan.spacing import Choices, make_plan
from layout.plan.value import Plan
from layout.plan.venue import venues
from tests.bench.outside import Array, G, Part, part

DAY = datetime.date(2026, 5, 1)
LIBRARY = Path(__file__).resolve().parents[2] / "animate" / "motion" / "motions"
WAYS: Final = {
    "hip-": "hip straightens", "hip+": "hip bends", "knee+": "knee straightens",
    "knee-": "knee bends", "ankle-": "toes down", "ankle+": "toes up",
}  # fmt: skip
BANDS: Final = (1.0, 1.15, 1.3)
BESIDE: Final = tomllib.loads(
    (Path(__file__).resolve().parents[1] / "published" / "contacts.toml").read_text("utf-8")
)["row"]
"""Published figures that a table is read beside."""
Table = dict[str, dict[str, list[float]]]


@dataclass
class Seen:
    """Figures gathered: by kind of contact and name; and by motion the times the column it asks."""

    rows: Table = field(default_factory=lambda: defaultdict(lambda: defaultdict(list)))
    asked: dict[str, list[dict[float, float]]] = field(default_factory=lambda: defaultdict(list))
    where: list[str] = field(default_factory=list)

    def put(self, kind: str, **values: float) -> None:
        """Add figures of one contact or flight."""
        for name, value in values.items():
            self.rows[kind][name].append(float(value))


def settings_of(rng: random.Random) -> Settings:
    """None, one or two of the positions a coach may ask for."""
    kind = rng.choice(["none", "none", "gap", "bend", "thigh", "trunk", "together", "two"])
    gap, trunk = rng.uniform(0.22, 0.46), math.radians(rng.uniform(-10, 3))
    bend, high = math.radians(rng.uniform(55, 115)), math.radians(rng.uniform(70, 90))
    hold = rng.uniform(0.05, 0.13)
    return {
        "none": Settings(),
        "gap": Settings(knee_gap=gap),
        "bend": Settings(knee_bend=bend),
        "thigh": Settings(thigh_high=high, hold=hold),
        "trunk": Settings(trunk=trunk),
        "together": Settings(arms="together"),
        "two": Settings(knee_gap=gap, arms="together", trunk=trunk),
    }[kind]


def random_plans(seed: int, count: int) -> Iterator[tuple[Plan, Settings]]:
    """Random athletes x the whole catalogue x settings, the same for the same seed."""
    rng, drills, ground = random.Random(seed), catalogue(), venues()
    for _ in range(count):
        stature = rng.uniform(1.40, 2.05)
        mass, total = stature**2 * rng.uniform(17.5, 24), stature * rng.uniform(4.9, 8.7)
        hop, step = rng.randint(33, 38), rng.randint(28, 31)
        level = "beginner" if total < 9.5 else "intermediate" if total < 12.5 else "advanced"
        asked = {
            "name": "Any", "stature": round(stature, 3), "mass": round(mass, 1),
            "leg": rng.choice(["right", "left"]), "level": level, "born": 2000,
            "build": rng.choice(["male", "female", "average"]),
            "target": round(total, 2), "split": f"{hop}:{step}:{100 - hop - step}",
        }  # fmt: skip
        if rng.random() < 0.5:
            asked["best"] = round(total * rng.uniform(0.94, 1), 2)
        drill = drills[rng.choice(sorted(drills))]
        arc = rng.choice(["natural", "natural", "low", "high"])
        venue = ground["club" if drill.ends == "sand" else "track"]
        choices = Choices(arc=arc if "hop" in drill.moves else None, despite="nobody jumps this")
        yield make_plan(athlete_from(asked), drill, venue, DAY, choices), settings_of(rng)


def kind_of(motion: Motion, i: int) -> str:
    """What a contact is to a coach."""
    s = motion.chain.supports[i]
    if s.arrive == "stand":
        return "two-foot start" if s.side == "both" else "one-foot start"
    if s.leave == "end":
        return "sand" if s.surface == "sand" else "hold"
    return {"run": "run-in stride"}.get(s.leave, f"into {s.leave}")


def degrees(a: Array) -> float:
    """One angle in degrees."""
    return float(np.degrees(a))


def contact(seen: Seen, motion: Motion, i: int, p: Part) -> None:
    """Everything read off one contact."""
    s, kind = motion.chain.supports[i], kind_of(motion, i)
    side = s.foot
    free = "l" if side == "r" else "r"
    weight = motion.body.mass * G
    knee = 180.0 - np.degrees(p.angle[f"{side}_thigh"] - p.angle[f"{side}_shank"])
    split = np.degrees(p.angle[f"{free}_thigh"] - p.angle[f"{side}_thigh"])
    up = p.force[:, 1] / weight
    hip = 180.0 - np.degrees(p.angle[f"{side}_thigh"] - p.angle["trunk"])
    seen.put(
        kind,
        **{
            "contact, motion [ms]": 1e3 * (p.times[-1] - p.times[0]),
            "contact, motion - plan [ms]": 1e3 * (p.times[-1] - p.times[0] - s.duration),
            "peak up [body weights]": up.max(),
            "peak at [% of contact]": 100 * (p.times[1:-1][up.argmax()] - p.times[0])
            / (p.times[-1] - p.times[0]),
            "knee touchdown [deg]": knee[0],
            "knee least [deg]": knee.min(),
            "knee take-off [deg]": knee[-1],
            "hip take-off [deg]": hip[-1],
            "thighs apart touchdown [deg]": abs(split[0]),
            "thighs apart take-off [deg]": abs(split[-1]),
            "trunk farthest from upright [deg]": np.degrees(np.abs(p.angle["trunk"]).max()),
        },
    )  # fmt: skip
    if s.arrive != "stand":
        down = p.com[0] - p.point[f"{side}_toe"][0]
        seen.put(kind, **{"landing angle, toe to centre [deg]": math.degrees(
            math.atan2(down[1], -down[0]))})  # fmt: skip
    if s.leave == "end":
        seen.put(
            kind, **{"end up [m/s]": p.velocity[-1, 1], "end forward [m/s]": p.velocity[-1, 0]}
        )
        return
    vx, vy = p.velocity[-1]
    seen.put(
        kind,
        **{
            "vx out - plan [m/s]": vx - s.vx,
            "vy out - plan [m/s]": vy - s.vy,
            "take-off angle [deg]": math.degrees(math.atan2(vy, vx)),
        },
    )


def torques(seen: Seen, motion: Motion, parts: list[Part]) -> None:
    """Moments of both legs against what they can give, in every phase."""
    worst = {
        "all of it": dict.fromkeys(BANDS, 0.0),
        "the plan's contacts": dict.fromkeys(BANDS, 0.0),
    }
    most, at = 0.0, ""
    for k, p in enumerate(parts):
        i, aloft = divmod(k, 2)
        kind = f"{'flight after ' if aloft else ''}{kind_of(motion, i)}"
        for name in STRENGTH:
            sign = 1.0 if name[-1] == "+" else -1.0
            pairs = [
                (sign * p.moment[f"{s}_{name[:-1]}"], sign * p.speed[f"{s}_{name[:-1]}"])
                for s in "rl"
            ]
            times = {b: max(float(share(name, *pair, b).max()) for pair in pairs) for b in BANDS}
            seen.put(kind, **{f"{WAYS[name]} [N m/kg]": max(float(m.max()) for m, _ in pairs)})
            seen.put(kind, **{f"{WAYS[name]}, times it can": times[1.0]})
            for scope, found in worst.items():
                if scope == "all of it" or not (aloft or kind == "run-in stride"):
                    worst[scope] = {b: max(found[b], times[b]) for b in BANDS}
            if times[1.0] > most and not (aloft or kind == "run-in stride"):
                most, at = times[1.0], f"{WAYS[name]}, {kind}"
    for scope, found in worst.items():
        seen.asked[scope].append(found)
    seen.where.append(at)


def measure(seen: Seen, motion: Motion, plan: Plan | None = None) -> None:
    """Add one motion to the figures."""
    parts = [part(motion, k) for k in range(len(motion.phases))]
    for k in range(0, len(parts), 2):
        contact(seen, motion, k // 2, parts[k])
    torques(seen, motion, parts)
    first = 0 if plan is None else len(motion.chain.supports) - len(plan.contacts)
    for k in range(1, len(parts), 2):
        i = k // 2
        late = motion.flight_times[i] - motion.chain.flights[i]
        seen.put(kind_of(motion, i), **{"flight, motion - plan [ms]": 1e3 * late})
        if plan is not None and i >= first:
            off = float(parts[k].com[:, 1].max()) - plan.flights[i - first].apex_z
            seen.put(kind_of(motion, i), **{"highest, motion - plan [cm]": 100 * off})


def told(seen: Seen, spent: list[float]) -> Iterator[str]:
    """The table, line by line."""
    for kind, figures in sorted(seen.rows.items()):
        n = max(len(v) for v in figures.values())
        yield f"\n{kind} ({n})"
        for name, values in figures.items():
            low, mid, high = np.percentile(values, (5, 50, 95))
            ends = f"{min(values):.2f} .. {max(values):.2f}"
            yield f"  {name:<36}{mid:>9.2f}   5-95 %{low:>9.2f}{high:>9.2f}   all {ends}"
    yield "\nPublished, beside it:"
    for row in BESIDE:
        figures = {n: v for n, v in row.items() if isinstance(v, float)}
        yield f"  {row['what']}: {', '.join(f'{n} {v:g}' for n, v in figures.items())}"
    for scope, asked in seen.asked.items():
        held = ", ".join(f"{sum(a[b] <= SLACK for a in asked)} at {b:g}" for b in BANDS)
        times = [a[1.0] for a in asked]
        yield f"\nMotions inside what they can give, {scope}, of {len(asked)}: {held}"
        yield f"  times asked: median {np.median(times):.2f}, most {max(times):.2f}"
    names = Counter(seen.where)
    yield "  most, of the plan's contacts: " + "; ".join(f"{n} {w}" for w, n in names.most_common())
    if spent:
        mid, late = np.percentile(spent, (50, 95))
        yield f"\nsolve: median {mid:.2f} s, 95 % {late:.2f}, most {max(spent):.2f}"


def main(words: list[str]) -> None:
    """Measure and print."""
    seen, spent = Seen(), []
    if words[:1] == ["plans"]:
        count, seed = int(words[1]), int(words[2]) if len(words) > 2 else 1
        with tempfile.TemporaryDirectory() as kept:
            for plan, settings in random_plans(seed, count):
                who = body(plan.who.stature, plan.who.mass, plan.who.build)
                began = time.process_time()
                try:
                    motion = find(chain_of(plan), who, settings, cache=Path(kept))
                except ValueError as fault:
                    sys.stdout.write(f"not found: {plan.title}, {who.stature:.2f} m: {fault}\n")
                    continue
                finally:
                    spent.append(time.process_time() - began)
                measure(seen, motion, plan)
    else:
        paths = sorted(LIBRARY.glob("drill-*")) if words == ["shipped"] else map(Path, words)
        for path in paths:
            measure(seen, Motion.load(path))
    sys.stdout.write("\n".join(told(seen, spent)) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
