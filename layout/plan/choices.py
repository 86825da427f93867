"""What a coach may change of a drill for one plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from layout.words.faults import refuse
from layout.words.reading import line_text, number
from layout.words.split import Split
from layout.words.trade import ARC_WORDS, LEGS

LONGEST_DESPITE: Final = 120
"""Characters in which a coach says who decided to go on with a closed drill, and why."""


@dataclass(frozen=True)
class Choices:
    """What a coach may change of a drill for one plan; None keeps the drill's own.

    `arc` is of every hop, `total` the length from the first contact to the last [m], `split` for whole
    jumps instead of the athlete's own, `lead` the leg of the first contact, `board` the take-off line to
    the pit [m], `hurdle` a height [m], `despite` who decided to go on with a closed drill, and why.
    """

    strides: int | None = None
    arc: str | None = None
    cycles: int | None = None
    total: float | None = None
    split: Split | None = None
    lead: str | None = None
    board: float | None = None
    hurdle: float | None = None
    despite: str | None = None

    def __post_init__(self) -> None:
        for field, value, low, high in (
            ("strides", self.strides, 1, 24),
            ("cycles", self.cycles, 1, 12),
            ("length", self.total, 1.0, 60.0),
            ("board-at", self.board, 1.0, 20.0),
            ("hurdle", self.hurdle, 0.05, 0.60),
        ):
            if value is not None:
                number(field, value, low, high)
        for field, count in (("strides", self.strides), ("cycles", self.cycles)):
            if count is not None and type(count) is not int:
                raise refuse(field, "must be a whole number", count)
        for field, word, known in (("hops", self.arc, ARC_WORDS), ("lead", self.lead, LEGS)):
            if word is not None and word not in known:
                raise refuse(field, f"must be one of {', '.join(known)}", word)
        if self.despite is not None:
            line_text("despite", self.despite, LONGEST_DESPITE)
