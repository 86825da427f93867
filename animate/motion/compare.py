"""Two contacts compared measure by measure, in the unit a coach reads."""

from __future__ import annotations

from dataclasses import dataclass

from animate.motion.measures import MEASURES, Measure, Reading


@dataclass(frozen=True)
class Difference:
    """One measure of two contacts side by side, in the unit a coach reads.

    a, b: [`measure.coach_unit`]; None where that one couldn't be read.
    difference: b less a.
    """

    measure: Measure
    a: float | None
    b: float | None
    difference: float | None


def compare(a: Reading, b: Reading) -> tuple[Difference, ...]:
    """Two contacts measure by measure: what b has more than a.

    Returns every measure read in either, in the order of `MEASURES`.
    """
    rows = []
    for m in MEASURES:
        if m.name not in a.values and m.name not in b.values:
            continue
        x, y = (m.in_coach_units(r.values[m.name]) if m.name in r.values else None for r in (a, b))
        rows.append(Difference(m, x, y, None if x is None or y is None else y - x))
    return tuple(rows)
