"""Room on the runway and in the sand, and how far a runway may fall."""

from __future__ import annotations

from typing import Final

from layout.rules.rule import rule, source_of

INTO_SAND: Final[float] = rule("into_sand")
"""A jump must land over this far into the sand [m]."""
SAND_SOURCE: Final = source_of("into_sand")
SHORTFALL: Final[float] = rule("board_short")
"""A board should leave the sand in reach of a jump this much shorter than planned [-]."""
OVERSHOOT: Final[float] = rule("board_long")
"""A board is chosen for a hop and step this much longer than planned [-]."""
EDGE_ROOM: Final[float] = rule("edge_room")
"""A take-off toe stays at least this far before the pit's edge [m]."""
START_ROOM: Final[float] = rule("start_room")
RUN_OUT: Final[float] = rule("run_out")
FALLS: Final[dict[str, int]] = {"along": rule("fall_along"), "across": rule("fall_across")}
"""1 in so much is the most a runway may fall along the run and across it."""
FALL_SOURCE: Final = source_of("fall_along")
ONE_BOARD: Final = 0.02
"""Take-off lines this close are one: a board in feet and its twin in metres [m] (ours)."""
HARD_WORDS: Final[tuple[str, ...]] = rule("hard_ground")
"""Surfaces named poor for jumping."""
