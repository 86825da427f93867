"""How strong an athlete is taken to be, beside the jumper whose torques were published."""

from __future__ import annotations

from typing import Final

import numpy as np

from layout.rules.rule import rule
from layout.rules.standing import Standing

BY_LEVEL: Final[dict[str, float]] = rule("strength_level")
WOMEN: Final[float] = rule("strength_women")
BY_AGE: Final[tuple[tuple[float, float], ...]] = rule("strength_age")


def strength_of(standing: Standing, build: str) -> float:
    """Torque per kilogram over the published column's [-]: share by level x by age x 1 or .9.

    Source: shares ours, in `rules.toml`.

    standing: unknown age or level counts as the most careful.
    build: {"male", "female", "average"}, all but male count as a woman: the more careful.

    >>> strength_of(Standing(25, "advanced", 6.0), "male")
    1.0
    >>> round(strength_of(Standing(13, "beginner", 0.0), "female"), 3)
    0.432
    """
    ages, shares = zip(*BY_AGE, strict=True)
    grown = float(np.interp(standing.age, ages, shares))
    return BY_LEVEL[standing.level] * grown * (1.0 if build == "male" else WOMEN)
