"""Ground contacts: how many, how hard, and the budgets they are checked against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from layout.rules.budget import Budget, budget_of
from layout.rules.rule import rule, source_of
from layout.rules.standing import Standing

if TYPE_CHECKING:
    from animate.body.body import Array

REST: Final[tuple[int, int]] = rule("rest")
"""Least and most hours asked between sessions."""
LONGEST_FAST_CONTACT: Final[float] = rule("fast_contact")
"""Over this a contact is no longer a fast stretch-shortening one [s]."""
FAST_SOURCE: Final = source_of("fast_contact")


@dataclass(frozen=True)
class Peak:
    """A published peak vertical force [body weights], and what was measured; `low` is `high` where one
    figure is printed."""

    low: float
    high: float
    what: str
    source: str


COLLEGE: Final = Peak(7.0, 12.0, "first peak, college jumpers", "Ramey & Williams 1985")
STEP_PEAK: Final = Peak(15.2, 15.2, "highest in the step contact", "Perttunen et al. 2000")
PEAKS: Final[dict[str, tuple[Peak, ...]]] = {
    "run take-off": (COLLEGE,),
    "hop": (COLLEGE,),
    "step": (COLLEGE, STEP_PEAK),
    "jump": (COLLEGE,),
    "track landing": (),
    "sand landing": (),
}
"""By kind of contact, named by what it takes off into: full triple jumps of grown jumpers, so a
ceiling for anything slower. Ramey & Williams's range is not told apart by contact. None at hand for
landings."""
COMPARED: Final = (
    Peak(3.34, 3.34, "vertical jump", "Wallace et al. 2010"),
    Peak(4.22, 4.22, "standing long jump", "Wallace et al. 2010"),
    Peak(5.39, 5.39, "drop from 90 cm", "Wallace et al. 2010"),
)
"""What other jumps peak at, to compare with."""


def mean_vertical(gain: Array | float, time: Array | float) -> Array:
    """Mean vertical ground force of a contact [body weights].

    F/W = 1 + gain / (g t), with the change of vertical velocity [m/s] and the contact time [s], above 0.
    """
    import numpy as np  # here, since cautions go with commands that need nothing heavy

    from animate.body.stances import GRAVITY

    return 1.0 + np.asarray(gain, float) / (GRAVITY * np.asarray(time, float))


def mean_braking(loss: Array | float, time: Array | float) -> Array:
    """Mean braking force of a contact [body weights]: loss / (g t)."""
    import numpy as np

    from animate.body.stances import GRAVITY

    return np.asarray(loss, float) / (GRAVITY * np.asarray(time, float))


@dataclass(frozen=True)
class Dose:
    """Sets, runs and contacts of one drill in a session, and whether a youth limit lowered them."""

    sets: int
    runs: int
    contacts_per_run: int
    budget: Budget
    cut_for_youth: bool

    @property
    def contacts(self) -> int:
        """Contacts of the whole dose."""
        return self.sets * self.runs * self.contacts_per_run


def dose_for(sets: int, runs: int, contacts_per_run: int, standing: Standing) -> Dose:
    """Hold a drill's dose against the youth limits where they apply.

    Source: ACSM leaflet (1-3 sets x 6-10), read strictly: contacts, not runs.
    """
    was, budget = (sets, runs), budget_of(standing)
    if budget.sets:
        sets = min(sets, budget.sets)
        runs = max(1, min(runs, budget.reps // contacts_per_run))
    return Dose(sets, runs, contacts_per_run, budget, was != (sets, runs))
