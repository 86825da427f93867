"""Room on the runway and in the sand."""

from __future__ import annotations

from typing import Final

INTO_SAND: Final = 0.50
"""A jump must land over this far into the sand [m] (source youth-sand-rule: one youth rule; used
here for everybody, ours)."""
SAND_SOURCE: Final = "one youth rule, used for everybody: ours"
SHORTFALL: Final = 0.10
"""A board should leave the sand in reach of a jump this much shorter than planned (ours)."""
OVERSHOOT: Final = 0.05
"""A board is chosen for a hop and step this much longer than planned (ours)."""
EDGE_ROOM: Final = 0.30
"""A take-off toe stays at least this far before the pit's edge [m] (ours)."""
START_ROOM: Final = 1.0
"""Free runway behind the start mark of a drill on the track [m] (ours)."""
RUN_OUT: Final = 8.0
"""Free runway wanted after the last contact of a drill that runs on [m] (ours)."""
ONE_BOARD: Final = 0.02
"""Take-off lines this close are one: a board in feet and its twin in metres [m] (ours)."""
HARD_WORDS: Final = ("concrete", "tile", "asphalt")
"""Surfaces named poor for jumping (NSCA Essentials of Strength Training, from memory)."""
