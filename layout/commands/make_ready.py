"""Solve once what is shipped solved.

``python -m layout.commands.make_ready`` solves the demo club's motions;
``python -m layout.commands.make_ready library`` adds to animate/motion/motions, the starts for new
motions, what is missing of the sketches in `animate.motion.shipping` and of every drill of the
catalogue for a spread of invented athletes. The ``plan-`` files there are motions of the demo, copied
by hand.
"""

from __future__ import annotations

import itertools
import math
import sys
import time
from collections.abc import Iterator
from typing import Any, Final

from animate.body.body import Body, body
from animate.motion import shipping
from animate.motion.chain import Chain, Settings
from animate.motion.check import check
from animate.motion.motion import Motion
from animate.motion.solve import canonical, find, fingerprint, solve
from animate.motion.solver.library import FOLDER, motions, nearest, patchwork, shipped
from layout.athlete.athlete import athlete_from
from layout.commands.demo_ import COMPARED, DEMO_DAY, VENUE, member, plans
from layout.commands.handout_poster import ARCS, asked
from layout.moving.chain import chain_of
from layout.moving.solved import SHIPPED
from layout.moving.ways import OF, ways
from layout.plan.drill import find_drill
from layout.plan.spacing import Choices, make_plan
from layout.plan.value import Plan
from layout.plan.venue import find_venue
from layout.words.faults import BadInput

SHELF: Final = (
    "full-triple-jump", "two-hops-step-over", "hop-step-sand", "three-hops-step-over",
    "step-jump-sand", "hop-step-hold", "two-hops-step-sand", "standing-triple-jump",
    "short-triple-jump", "single-leg-hops", "alternate-bounds", "two-hops-step-track",
)  # fmt: skip
"""One drill of every kind of chain in the catalogue."""


def _spread() -> tuple[tuple[float, float, float, str, str, str, Settings], ...]:
    """Stature [m], mass over stature squared, target over stature, arc, build, split, settings."""
    return (
        (1.72, 21, 6.8, "natural", "average", "35:30:35", Settings()),
        (1.60, 19, 5.7, "natural", "female", "37:30:33", Settings()),
        (1.86, 22, 8.0, "natural", "male", "34:29:37", Settings()),
        (1.84, 21, 5.8, "high", "male", "36:30:34", Settings(knee_gap=0.30, arms="together")),
        (1.60, 20, 7.8, "low", "female", "35:29:36", Settings(knee_bend=math.radians(70))),
        (1.72, 21, 6.2, "high", "average", "35:30:35",
         Settings(thigh_high=math.radians(84), hold=0.09)),
        (1.78, 21, 7.2, "low", "male", "35:30:35",
         Settings(knee_gap=0.40, knee_bend=math.radians(100))),
    )  # fmt: skip


def shelf() -> Iterator[tuple[str, Chain, Body, Settings]]:
    """Every chain of the library that comes from a drill, with its file's name."""
    for number, (stature, index, ratio, arc, build, split, settings) in enumerate(_spread()):
        total = stature * ratio
        level = "beginner" if total < 9.5 else "intermediate" if total < 12.5 else "advanced"
        table: dict[str, Any] = {
            "name": "Any", "stature": stature, "mass": round(index * stature**2, 1),
            "leg": "right", "level": level, "build": build, "target": round(total, 2),
            "split": split, "born": 2000,
        }  # fmt: skip
        who = athlete_from(table)
        for name in SHELF:
            drill = find_drill(name)
            venue = find_venue("club" if drill.ends == "sand" else "track")
            hops = arc if "hop" in drill.moves else None
            choices = Choices(arc=hops, despite="figures for the library, nobody jumps them")
            chain = chain_of(make_plan(who, drill, venue, DEMO_DAY, choices))
            chain = chain if canonical(chain) else chain.mirrored()
            person = body(who.stature, who.mass, who.build)
            yield f"drill-{name}-{number}.json.gz", chain, person, settings


def library() -> int:
    """Solve what the library lacks, each from those before it; only what holds is kept."""
    failed = 0
    for name, chain, who, settings in itertools.chain(shipping.shelf(), shelf()):
        if (FOLDER / name).is_file():
            continue
        near = nearest(chain, who, settings) or patchwork(chain, who, settings)
        began = time.process_time()
        try:
            motion = solve(chain, who, settings, near, limit=240.0)
        except ValueError as error:
            failed += 1
            sys.stderr.write(f"{name}: {error}\n")
            continue
        faults = check(motion).faults
        said = "; ".join(f.text for f in faults) or "holds"
        sys.stderr.write(f"{name} {time.process_time() - began:.0f} s: {said}\n")
        failed += bool(faults)
        if not faults:
            motion.save(FOLDER / name)
            shipped.cache_clear()
            motions.cache_clear()
    return failed


def poster() -> list[tuple[Plan, Settings]]:
    """The six motions of the demo's teaching poster."""
    name, _, slug = COMPARED.partition("-")
    made = [
        make_plan(member(name), find_drill(slug), find_venue(VENUE), DEMO_DAY, Choices(arc=arc))
        for arc in (None, *ARCS)
    ]
    return [(one[1], one[2]) for pair in asked(made[0], made[1], made[2]) for one in pair]


def wanted() -> list[tuple[Plan, Settings]]:
    """Every plan of the demo as it stands, the ways that the demo compares, and its poster's."""
    out = []
    for stem, plan, _, _ in plans():
        out.append((plan, Settings()))
        if stem == COMPARED:
            for of in OF:
                if of != "hops":
                    out += [(plan, settings) for _, settings in ways(of, Settings(), plan)]
    return out + poster()


def main() -> int:
    """Solve what is missing, drop what is no longer wanted, and say how each checks."""
    SHIPPED.mkdir(exist_ok=True)
    kept = set()
    failed = 0
    for plan, settings in wanted():
        who = body(plan.who.stature, plan.who.mass, plan.who.build)
        chain = chain_of(plan)
        asked = chain if canonical(chain) else chain.mirrored()
        path = SHIPPED / f"{fingerprint(asked, who, settings)}.json.gz"
        kept.add(path.name)
        began = time.process_time()
        if not path.is_file():
            try:
                find(asked, who, settings, limit=240.0).save(path)
            except (ValueError, BadInput) as error:
                failed += 1
                sys.stderr.write(f"{plan.who.name} {plan.drill}: {error}\n")
                continue
        report = check(Motion.load(path))
        seconds = time.process_time() - began
        sys.stderr.write(
            f"{plan.who.name} {plan.drill} {seconds:.0f} s: {report.faults or 'holds'}\n"
        )
    for path in SHIPPED.glob("*.json.gz"):
        if path.name not in kept:
            path.unlink()
    return failed


if __name__ == "__main__":
    sys.exit(library() if sys.argv[1:] == ["library"] else main())
