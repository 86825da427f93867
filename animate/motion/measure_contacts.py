"""Contacts with their times, as the measures are read from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike

from animate.refused import Refused

Foot = Literal["r", "l", "both"]


@dataclass(frozen=True)
class Contact:
    """When which foot is down, and what it comes from and goes into.

    side: {"r", "l", "both"}.
    touchdown, takeoff: [s].
    arrive, leave: run, hop, step, jump; arrive "stand" has no touchdown and leave "end" no take-off to
        read.
    """

    side: Foot
    touchdown: float
    takeoff: float
    arrive: str = ""
    leave: str = ""

    def __post_init__(self) -> None:
        if self.side not in ("r", "l", "both"):
            raise Refused("side", "r, l or both", f"{self.side!r}")
        if not (
            np.isfinite([self.touchdown, self.takeoff]).all() and self.takeoff > self.touchdown
        ):
            raise Refused(
                "takeoff", f"after the touchdown at {self.touchdown:g} s", f"{self.takeoff:g}"
            )


class Stood(Protocol):
    """A contact without its times, such as a chain's."""

    @property
    def side(self) -> Foot: ...
    @property
    def arrive(self) -> str: ...
    @property
    def leave(self) -> str: ...


def contacts_of(
    stood: Sequence[Stood], touchdowns: ArrayLike, takeoffs: ArrayLike
) -> tuple[Contact, ...]:
    """Contacts of a chain with the times a motion gives them.

    touchdowns, takeoffs: (n,), [s].
    """
    down, off = np.asarray(touchdowns, dtype=float), np.asarray(takeoffs, dtype=float)
    if not down.shape == off.shape == (len(stood),):
        raise Refused(
            "touchdowns, takeoffs", f"{len(stood)} each needed", f"{down.size} and {off.size}"
        )
    return tuple(
        Contact(s.side, float(t), float(u), s.arrive, s.leave)
        for s, t, u in zip(stood, down, off, strict=True)
    )
