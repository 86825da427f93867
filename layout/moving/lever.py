"""The free leg as a lever, for one athlete: a table to read."""

from __future__ import annotations

import numpy as np

from animate.body.body import Body
from animate.body.swing_table import HIP_MOMENT_PER_MASS, lever_table

KEPT = (40, 60, 80, 90, 110, 130, 150)
"""Knee bends shown [deg]."""


def lever_lines(who: Body) -> list[str]:
    """The lever table as text for a small screen."""
    out = [
        "FREE LEG AS A LEVER, computed, by free knee (180 = straight), at equal hip moment",
        "  knee  inertia  swing up  knee gap      thigh high     lift of",
        "        kg m2    s         at same time  before leaving body",
    ]
    for row in lever_table(who):
        bend = round(np.degrees(row.knee_bend))
        if bend not in KEPT:
            continue
        late = "late by" if row.late > 0 else "early by"
        out.append(
            f"  {180 - bend:>3}°  {row.inertia:>6.2f}  {row.time:>7.3f}  {100 * row.gap_same_time:>9.1f} cm  "
            f"{late:>9} {1000 * abs(row.late):>3.0f} ms  {100 * row.lift:>5.1f} cm"
        )
    out += [
        "  A longer lever swings up slower, is further behind at the same time and carries more.",
        "  Whether that pays is an open question of the trade.",
        f"  The hip moment, {HIP_MOMENT_PER_MASS:g} N m per kg of body, is Phasemark's estimate, no source:",
        "  all times move with it, their order does not.",
    ]
    return out
