"""The target figure at an instant of a plan's motion: what a picture of that instant is held against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np

from animate.body.body import Array
from animate.body.outlines import Side
from animate.motion.motion import Motion
from layout.moving.clip import step_contact
from layout.picture.kept import USUAL
from layout.picture.places import measures_of, roles_of
from layout.words.faults import refuse


@dataclass(frozen=True, eq=False)
class Target:
    """The figure at one instant."""

    positions: Array  # (17, 2) [m]
    support: Side  # the leg that is down: r or l
    measures: dict[str, Array]  # by measure name [its unit]


def target_of(motion: Motion, instant: str = USUAL) -> Target:
    """The figure of a motion at an instant of `layout.book.pictures.INSTANTS`.

    Of several like contacts the step's is the one that `step_contact` tells of, of the others the first.
    Refused: the motion has no such contact on one foot.
    """
    move, end = instant.split(" ")
    supports = motion.chain.supports
    like = [i for i, s in enumerate(supports) if s.leave == move and s.side != "both"]
    if not like:
        raise refuse("instant", f"the drill has no contact on one foot into a {move}", instant)
    index = like[0]
    if move == "step":
        index = step_contact(motion).index
    times = motion.touchdowns if end == "touchdown" else motion.takeoffs
    positions = motion.frames(np.array([float(times[index])])).positions[0]
    support = cast(Side, supports[index].side)
    found = measures_of(roles_of(positions, support), motion.body)
    return Target(positions, support, found)
