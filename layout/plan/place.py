"""Where on the venue a drill is set out."""

from __future__ import annotations

import math
from collections.abc import Sequence

from layout.plan.drill import Drill
from layout.plan.value import Contact, Place
from layout.plan.venue import Venue
from layout.rules.ground import EDGE_ROOM, INTO_SAND, OVERSHOOT, SHORTFALL, START_ROOM
from layout.words.faults import refuse


def board_margins(board: float, last_take_off: float, total: float) -> tuple[float, float]:
    """Room from the last take-off to the sand, and sand to spare at the landing, both as planned [m].

    before = board - last_take_off; after = total - board - `INTO_SAND`, all from the take-off line [m].

    >>> [round(room, 2) for room in board_margins(7.0, 6.1, 9.3)]
    [0.9, 1.8]
    """
    return board - last_take_off, total - board - INTO_SAND


def counted_on(total: float, best: float | None) -> float:
    """The landing that a board is judged by: the shorter of plan and best; `SHORTFALL` shorter than
    planned where no best is known [m]."""
    return (1.0 - SHORTFALL) * total if best is None else min(total, best)


def choose_board(boards: Sequence[float], last_take_off: float, total: float) -> float:
    """The board whose smaller margin is the larger, for a longer step and for a shorter jump.

    Equal ones: the nearer board, since it is the landing that must not fall short. A step may come out
    `OVERSHOOT` longer, a jump `SHORTFALL` shorter (shares, ours).

    >>> choose_board((7.0, 9.0, 11.0), 7.6, 11.0)
    9.0
    """
    if not boards:
        raise refuse("venue", "a drill from a board wants a venue with boards")

    def least(board: float) -> float:
        before, _ = board_margins(board, last_take_off * (1.0 + OVERSHOOT), total)
        _, after = board_margins(board, last_take_off, total * (1.0 - SHORTFALL))
        return min(before, after)

    return max(sorted(boards), key=lambda b: round(least(b), 6))


def _line(take_off: float, sure: float) -> float:
    """A line to lay where no board fits, as `choose_board` would like it, in whole decimetres [m]."""
    most = sure - INTO_SAND
    least = min(take_off + EDGE_ROOM, most)
    if most < take_off:
        return _edge(take_off, sure)
    even = (take_off * (1.0 + OVERSHOOT) + sure * (1.0 - SHORTFALL) - INTO_SAND) / 2.0
    round_one = math.floor(10.0 * min(max(even, least), most) + 1e-9) / 10.0
    return round_one if round_one >= least else math.floor(100.0 * most + 1e-9) / 100.0


def _board(venue: Venue, take_off: float, sure: float, asked: float | None) -> float:
    """The coach's take-off line, refused where the landing is not well in the sand; else the best
    board, or a line to lay where no board fits."""
    if asked is None and not venue.boards:
        raise refuse("venue", "a drill from a board wants a venue with boards")
    far = sure - INTO_SAND
    fit = [b for b in venue.boards if take_off <= b <= far + 1e-9]
    own = choose_board(fit, take_off, sure) if fit else _line(take_off, sure)
    if asked is None:
        return own
    board = venue.line_at(asked)
    better = f"{'the board' if fit else 'a line'} at {own:g} m fits"
    if board > far + 1e-9:
        into = sure - board
        lands = f"only {math.floor(100.0 * into) / 100.0:.2f} m into the sand"
        lands = lands if into >= 0.0 else f"{-into:.2f} m before the sand"
        rule = f"a jump of {sure:.2f} m lands {lands}; over {INTO_SAND:.2f} m into it"
        raise refuse("board-at", f"{rule} is needed: {better}", round(board, 2))
    if board < take_off:
        rule = f"the last take-off, {take_off:.2f} m on, would be in the sand: {better}"
        raise refuse("board-at", rule, round(board, 2))
    return board


def _edge(take_off: float, sure: float) -> float:
    """Where the sand begins for a drill that is free to be set out anywhere: a third of what the last
    flight has over `INTO_SAND` goes to the track side, and the landing comes first."""
    edge = take_off + max(EDGE_ROOM, (sure - take_off - INTO_SAND) / 3.0)
    edge = min(edge, sure - INTO_SAND)
    if edge < take_off:
        rule = f"the last flight is too short to land over {INTO_SAND:.2f} m into the sand"
        raise refuse(
            "drill", f"{rule}; do it on the track or from more strides", f"{sure - take_off:.2f} m"
        )
    return edge


def _on_track(venue: Venue, drill: Drill, contacts: Sequence[Contact], run_up: float) -> float:
    """Where the runway ends, refused where a foot would land beyond it."""
    edge = -venue.start - START_ROOM - run_up
    over = contacts[-1].x - edge
    if over > 1e-9:
        ends = [c.x for c in contacts[len(drill.moves) :: len(drill.moves)]]
        fits = sum(x <= edge for x in ends)
        what = "the sand" if venue.has_pit else "the end of the runway"
        cure = f"{fits} of its {len(ends)} cycles fit"
        cure = cure if fits else "a shorter run-up or a longer runway fits"
        rule = f"run-up and drill reach {over:.1f} m past {what}; {cure}"
        raise refuse("cycles", rule, len(ends)) if fits else refuse("strides", rule, venue.slug)
    return edge


def place_for(
    venue: Venue,
    drill: Drill,
    contacts: Sequence[Contact],
    run_up: float,
    board: float | None = None,
    best: float | None = None,
) -> Place:
    """Set a drill out on a venue, x measured from the first contact.

    `run_up` is the approach [m], `board` the coach's own choice [m]; a landing is judged by the shorter
    of the plan and `best`, what the athlete has jumped [m]; where that is not known, from a board it is
    taken to come out `SHORTFALL` shorter than planned. Refused where the venue has no sand or boards
    for it, a landing is not well in the sand, or feet come beyond the runway.
    """
    last_take_off, total = contacts[-2].x, contacts[-1].x
    sure = total if best is None else min(total, best)
    chosen = None
    if drill.ends == "sand" and not venue.has_pit:
        raise refuse("venue", "this drill ends in sand and this venue has no pit", venue.slug)
    if drill.ends == "sand" and (drill.board or board is not None):
        edge = chosen = _board(venue, last_take_off, counted_on(total, best), board)
    elif drill.ends == "sand":
        edge = _edge(last_take_off, sure)
    else:
        edge = _on_track(venue, drill, contacts, run_up)
    if drill.ends == "sand" and total - edge > venue.pit_length:
        rule = f"a jump of {total:.2f} m lands beyond the {venue.pit_length:g} m of sand"
        raise refuse("venue" if board is None else "board-at", rule, venue.slug)
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
