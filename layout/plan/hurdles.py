"""Low hurdles under the flights: where, how high, and what has been checked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from layout.plan.drill import Drill
from layout.plan.value import Flight, Hurdle
from layout.plan.words import LEVELS

UNCHECKED: Final = "not yet checked against the moving body"
CONE_AGE: Final = 12
CONE: Final = 0.05
"""Under 12 a line or a 5 cm cone (seen, youth sources in facts.md)."""
YOUNG_AGE: Final = 15
YOUNG_MOST: Final = 0.23
"""Greatest hurdle under 15 [m] (ours, conservative)."""
BESIDE: Final = (0.30, 0.55)
"""Where a hurdle beside the line stands, from the runway's middle [m] (ours)."""
OVER: Final = 0.45
"""Half the width of a hurdle over the line [m] (ours)."""


def height_of(flight: Flight, x: float) -> float:
    """Height of the centre of mass over a place under a flight [m].

    z = z0 + vy s - g s^2 / 2 with s = (x - x0) / vx
    """
    from animate.stances import GRAVITY

    s = (x - flight.start_x) / flight.vx
    return flight.start_z + flight.vy * s - GRAVITY * s * s / 2.0


def allowed(height: float, level: str, age: int | None) -> tuple[float, str]:
    """The height [m] and kind of hurdle that youth limits leave; a beginner of unknown age is young."""
    if age is not None and age < CONE_AGE:
        return CONE, "cone"
    if age < YOUNG_AGE if age is not None else level == "beginner":
        return min(height, YOUNG_MOST), "hurdle"
    return height, "hurdle"


def wanted_height(drill: Drill, level: str, height: float | None) -> float:
    """The coach's own height, or the drill's for the level [m]."""
    assert drill.hurdle is not None
    return height if height is not None else drill.hurdle.heights[LEVELS.index(level)] / 100.0


def hurdles_for(
    drill: Drill,
    flights: Sequence[Flight],
    level: str,
    age: int | None,
    leg: str,
    height: float | None = None,
) -> tuple[Hurdle, ...]:
    """Stand the drill's hurdles under the highest point of their flights.

    Parameters
    ----------
    drill : Drill
    flights : sequence of Flight
    level : str
    age : int or None
        [years]
    leg : {"right", "left"}
        A hurdle beside the line stands on the other leg's side.
    height : float or None
        The coach's own height [m], instead of the drill's.

    Returns
    -------
    tuple of Hurdle
        Height over the centre of mass's path only; the feet come lower.
    """
    if drill.hurdle is None:
        return ()
    tall = wanted_height(drill, level, height)
    tall, thing = allowed(tall, level, age)
    side = 1.0 if leg == "right" else -1.0
    if drill.hurdle.place == "beside":
        y0, y1 = sorted((side * BESIDE[0], side * BESIDE[1]))
    else:
        y0, y1 = -OVER, OVER
    out = []
    for flight in flights:
        if flight.number % len(drill.moves) in drill.hurdle.under:
            x = flight.apex_x
            above = height_of(flight, x) - tall
            out.append(
                Hurdle(flight.number, x, y0, y1, tall, drill.hurdle.place, thing, above, UNCHECKED)
            )
    return tuple(out)
