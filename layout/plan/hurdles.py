"""Low hurdles under the flights: where, how high, and what has been checked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from layout.plan.drill import HURDLE_HEIGHTS, Drill
from layout.plan.value import Contact, Flight, Hurdle, Plan
from layout.rules.rule import rule
from layout.rules.standing import CONE, hurdle_allowed
from layout.words.trade import LEVELS

UNCHECKED: Final = "not checked for clearance"
CHECKED: Final = "checked against the outline of the moving body"
MINUS: Final = "\N{MINUS SIGN}"
BESIDE: Final = (0.30, 0.55)
"""Where a hurdle beside the line stands, from the runway's middle [m] (ours)."""
OVER: Final = 0.45
"""Half the width of a hurdle over the line [m] (ours)."""
SHOE: Final = 0.36
"""Width of a sole as a share of its length (ours)."""
MARGIN: Final[float] = rule("hurdle_margin")
"""Between a hurdle's top and the lowest part of the body [m]."""
SLACK: Final[float] = rule("hurdle_slack")
"""Either way along the runway that the margin is kept, since nobody hits a mark exactly [m]."""


def height_of(flight: Flight, x: float) -> float:
    """Height of the centre of mass over a place under a flight [m].

    z = z0 + vy s - g s^2 / 2 with s = (x - x0) / vx
    """
    from animate.body.stances import GRAVITY

    s = (x - flight.start_x) / flight.vx
    return flight.start_z + flight.vy * s - GRAVITY * s * s / 2.0


def wanted_height(drill: Drill, level: str, height: float | None) -> float:
    """The coach's own height, or the drill's for the level [m]."""
    assert drill.hurdle is not None
    return height if height is not None else drill.hurdle.heights[LEVELS.index(level)] / 100.0


def hurdles_for(
    drill: Drill,
    flights: Sequence[Flight],
    level: str,
    age: int,
    leg: str,
    height: float | None = None,
) -> tuple[Hurdle, ...]:
    """Stand the drill's hurdles under the highest point of their flights.

    Parameters
    ----------
    drill : Drill
    flights : sequence of Flight
    level : str
    age : int
        Counted [years].
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
    tall, thing = hurdle_allowed(tall, age)
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
            kind = (drill.hurdle.place, thing)
            out.append(Hurdle(flight.number, x, y0, y1, tall, *kind, above, UNCHECKED, None))
    return tuple(out)


def greatest(room: float, age: int) -> float:
    """The greatest height hurdles come in that leaves `MARGIN` and that youth limits allow [m].

    Parameters
    ----------
    room : float
        Lowest point of what the body sweeps near the place [m].
    age : int
        Counted [years].

    Returns
    -------
    float
        0 where none does; for the youngest a cone's height.

    >>> greatest(0.376, 25), greatest(0.376, 13), greatest(0.09, 25)
    (0.3, 0.23, 0.0)
    """
    fits = [
        tall
        for tall in (CONE, *(h / 100.0 for h in HURDLE_HEIGHTS))
        if tall <= room - MARGIN + 1e-9 and hurdle_allowed(tall, age)[0] >= tall - 1e-9
    ]
    return max(fits, default=0.0)


def sideways(hurdle: Hurdle, contacts: Sequence[Contact], foot: float) -> float | None:
    """From a hurdle beside the line to the edge of the nearest shoe on the ground [m].

    Parameters
    ----------
    hurdle : Hurdle
    contacts : sequence of Contact
    foot : float
        Length of the athlete's foot [m].

    Returns
    -------
    float or None
        None for a hurdle over the line. Of feet in the air a side view knows nothing.
    """
    if hurdle.place != "beside":
        return None
    side = 1.0 if hurdle.y0 > 0 else -1.0
    edge = min(side * hurdle.y0, side * hurdle.y1)
    ground = max(side * c.y for c in contacts[hurdle.flight : hurdle.flight + 2])
    return edge - ground - SHOE * foot / 2.0


def flight_text(plan: Plan, number: int) -> str:
    """A flight as a coach says it: "hop 2", or "step" where there is one."""
    move = plan.flights[number].phase
    several = sum(f.phase == move for f in plan.flights) > 1
    nth = sum(f.phase == move for f in plan.flights[: number + 1])
    return f"{move} {nth}" if several else move


def cm(metres: float) -> str:
    """Centimetres of room rounded down, of too little room rounded up.

    >>> cm(0.049), cm(-0.001)
    ('4 cm', '1 cm')
    """
    return f"{abs(math.floor(100 * metres + 1e-6))} cm"


def signed_cm(metres: float) -> str:
    """A clearance with its sign: minus is a hit.

    >>> signed_cm(0.149)
    '+14 cm'
    """
    return f"{'+' if metres >= 0 else MINUS}{cm(metres)}"
