"""Two contacts compared measure by measure, and one held beside the remembered bands.

Everything here is in the unit a coach reads; the readings come from `measures`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from animate.motion.measures import MEASURE, MEASURES, Measure, Reading


@dataclass(frozen=True)
class Difference:
    """One measure of two contacts side by side, in the unit a coach reads.

    Attributes
    ----------
    measure : Measure
    a, b : float or None
        [`measure.coach_unit`]; None where that one couldn't be read.
    difference : float or None
        b less a.
    """

    measure: Measure
    a: float | None
    b: float | None
    difference: float | None


def compare(a: Reading, b: Reading) -> tuple[Difference, ...]:
    """Two contacts measure by measure: what b has more than a.

    Returns
    -------
    tuple of Difference
        Every measure read in either, in the order of `MEASURES`.
    """
    rows = []
    for m in MEASURES:
        if m.name not in a.values and m.name not in b.values:
            continue
        x, y = (m.in_coach_units(r.values[m.name]) if m.name in r.values else None for r in (a, b))
        rows.append(Difference(m, x, y, None if x is None or y is None else y - x))
    return tuple(rows)


BandTag = Literal["ML", "CP"]
TAG_SAYS: Final[dict[BandTag, str]] = {
    "ML": "remembered band, unverified",
    "CP": "common practice, no source",
}
"""What a coach is told of a band; none of them has been validated."""


@dataclass(frozen=True)
class Band:
    """A range a step contact is held beside, for a look and not for a verdict.

    Attributes
    ----------
    measure : str
    low, high : float
        In the measure's coach unit; infinite where open.
    tag : {"ML", "CP"}
        From memory with low confidence, or common practice.
    note : str
        What else to know of it.
    """

    measure: str
    low: float
    high: float
    tag: BandTag
    note: str = ""


_INF: Final = float("inf")
_TEN = "10 degrees for 'near' are ours"
BANDS: Final[tuple[Band, ...]] = (
    Band("knee_gap", 0.0, _INF, "CP", "free knee still behind the support knee"),
    Band("free_thigh_touchdown", -_INF, -80.0, "ML", f"behind or near vertical; {_TEN}"),
    Band("support_knee_touchdown", 150.0, 163.0, "ML"),
    Band("support_knee_minimum", 128.0, 140.0, "ML"),
    Band("support_knee_takeoff", 165.0, 178.0, "ML"),
    Band("trunk_lean_most", -8.0, 8.0, "ML"),
    Band("toe_ahead", 60.0, 75.0, "ML", "for a jumper of 17 m; less for a shorter jump"),
    Band("free_thigh_takeoff", -10.0, _INF, "CP", f"near horizontal; {_TEN}"),
    Band("free_thigh_highest", -10.0, _INF, "CP", f"near horizontal, held; {_TEN}"),
    Band("free_knee_flight", 80.0, 110.0, "ML"),
)
"""Positions at the step as remembered."""


@dataclass(frozen=True)
class Beside:
    """A value beside its band.

    Attributes
    ----------
    band : Band
    value : float
        [coach unit of the measure]
    inside : bool
    says : str
        How sure the band is, in words to print next to it.
    """

    band: Band
    value: float
    inside: bool
    says: str


def beside_bands(reading: Reading) -> tuple[Beside, ...]:
    """A step contact's values beside the remembered bands.

    Returns
    -------
    tuple of Beside
        Empty unless the contact goes into a step: the bands are of no other.
    """
    if reading.contact.leave != "step":
        return ()
    rows = []
    for band in BANDS:
        if band.measure in reading.values:
            value = MEASURE[band.measure].in_coach_units(reading.values[band.measure])
            says = TAG_SAYS[band.tag] + (f" ({band.note})" if band.note else "")
            rows.append(Beside(band, value, band.low <= value <= band.high, says))
    return tuple(rows)
