"""Where on the venue a drill is set out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from layout.faults import refuse
from layout.plan.drill import Drill
from layout.plan.value import Contact, Place
from layout.plan.venue import EDGE_ROOM, INTO_SAND, Venue

START_ROOM: Final = 1.0
"""Free runway behind the start mark of a drill on the track [m] (ours)."""
OVERSHOOT: Final = 0.05
SHORTFALL: Final = 0.10
"""A board is chosen for hop and step 5 % longer and a total 10 % shorter than planned (ours)."""


def board_margins(board: float, last_take_off: float, total: float) -> tuple[float, float]:
    """Room between the last take-off and the sand, and sand to spare at the landing [m].

    Parameters
    ----------
    board : float
        Take-off line to the near edge of the pit [m].
    last_take_off, total : float
        From the take-off line [m].

    Returns
    -------
    tuple of float
        Both as planned; the landing's is counted from half a metre into the sand.
    """
    return board - last_take_off, total - board - INTO_SAND


def choose_board(boards: Sequence[float], last_take_off: float, total: float) -> float:
    """The board whose smaller margin is the larger, for a longer step and for a shorter jump.

    Equal ones: the nearer board, since it is the landing that must not fall short.

    Raises
    ------
    BadInput
        No boards.
    """
    if not boards:
        raise refuse("venue", "a drill from a board wants a venue with boards")

    def least(board: float) -> float:
        before, _ = board_margins(board, last_take_off * (1.0 + OVERSHOOT), total)
        _, after = board_margins(board, last_take_off, total * (1.0 - SHORTFALL))
        return min(before, after)

    return max(sorted(boards), key=lambda b: round(least(b), 6))


def place_for(
    venue: Venue,
    drill: Drill,
    contacts: Sequence[Contact],
    run_up: float,
    board: float | None = None,
) -> Place:
    """Set a drill out on a venue.

    Parameters
    ----------
    venue : Venue
    drill : Drill
    contacts : sequence of Contact
    run_up : float
        Length of the approach [m].
    board : float or None
        The coach's own choice [m].

    Returns
    -------
    Place
        With x measured from the first contact.

    Raises
    ------
    BadInput
        Sand or boards wanted where the venue has none.
    """
    last_take_off, total = contacts[-2].x, contacts[-1].x
    chosen = None
    if drill.ends == "sand" and not venue.has_pit:
        raise refuse("venue", "this drill ends in sand and this venue has no pit", venue.slug)
    if drill.ends == "sand" and (drill.board or board is not None):
        chosen = choose_board(venue.boards, last_take_off, total) if board is None else board
        edge = chosen
    elif drill.ends == "sand":
        # A third of what the last flight has over half a metre goes to the track side.
        spare = (total - last_take_off - INTO_SAND) / 3.0
        edge = last_take_off + max(EDGE_ROOM, spare)
    else:
        edge = -venue.start - START_ROOM - run_up
    return Place(
        slug=venue.slug,
        title=venue.title,
        width=venue.runway_width,
        start_x=edge + venue.start,
        pit_x=edge if venue.has_pit else None,
        end_x=edge,
        pit_length=venue.pit_length,
        pit_width=venue.pit_width,
        board=chosen,
        lanes=venue.lanes,
        lane_spacing=venue.lane_spacing,
    )
