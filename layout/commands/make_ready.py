"""Solve the demo club's motions once, to be shipped: python -m layout.commands.make_ready."""

from __future__ import annotations

import sys
import time

from animate.body import body
from animate.chain import Settings
from animate.motion import check
from animate.solve import canonical, find, fingerprint
from layout.commands.compare_ import OF, ways
from layout.commands.demo_ import COMPARED, plans
from layout.faults import BadInput
from layout.moving.chain import chain_of
from layout.moving.solved import SHIPPED
from layout.plan.value import Plan


def wanted() -> list[tuple[Plan, Settings]]:
    """Every plan of the demo as it stands, and the ways that the demo compares."""
    out = []
    for stem, plan, _, _ in plans():
        out.append((plan, Settings()))
        if stem == COMPARED:
            for of in OF:
                if of != "hops":
                    out += [(plan, settings) for _, settings in ways(of, Settings())]
    return out


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
        from animate.motion import Motion

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
    sys.exit(main())
