"""The true-scale drawing of a plan: side view over plan view, tape readings, title and cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from animate.body.shapes import Shape
from layout.page.page import MARGIN, Ink, Page, choose_scale, paper_size
from layout.page.widths import text_width, wrapped
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet import runway
from layout.sheet.band import band
from layout.sheet.run_in import WAYS
from layout.sheet.texts import SMALL, foot_of, run_in, spare, text_at
from layout.words.units import System, show_length

HEAD: Final = 20.0
"""Height of the title, at least [mm]."""


@dataclass(frozen=True)
class Sheet:
    """What a drawing is made on.

    Attributes
    ----------
    paper : str
    upright : bool
    scale : int or None
        None takes the largest that fits.
    """

    paper: str = "A4"
    upright: bool = False
    scale: int | None = None


def _head(plan: Plan, size: tuple[float, float], system: System) -> tuple[list[Ink], float]:
    """Title, facts, place and day, and how high they are [mm]; all but the scale."""
    wide = size[0] - MARGIN
    venue = wrapped(plan.place.title, SMALL, 70.0)[0]
    room = wide - MARGIN - max(30.0, text_width(venue, SMALL) + 6.0)
    title = f"{plan.who.name}: {plan.title}"
    big = next((s for s in (6.0, 5.0, 4.2, 3.6) if text_width(title, s, True) <= wide - 40.0), 3.2)
    first, *rest = wrapped(title, big, wide - 40.0, True)
    length = show_length(plan.total, system)
    kind = f", {plan.style}" if plan.style else ""
    facts = [
        *rest,
        f"{length} from the first contact to the last{kind}; take-off leg {plan.who.leg}; "
        f"counts as {plan.who.age} years old.",
        *plan.assumed,
        run_in(plan, system),
    ]
    lines = [line for text in facts for line in wrapped(text, SMALL + 0.3, room)]
    ink: list[Ink] = [
        text_at((MARGIN, MARGIN + 5.2), first, big, bold=True),
        text_at((wide, MARGIN + 10.2), plan.date, SMALL + 0.3, align="right"),
        text_at((wide, MARGIN + 14.8), venue, SMALL, align="right", role="quiet"),
    ]
    for i, line in enumerate(lines):
        ink.append(text_at((MARGIN, MARGIN + 10.2 + i * 4.6), line, SMALL + 0.3))
    return ink, max(HEAD, 10.8 + 4.6 * len(lines))


def draw(
    plan: Plan,
    card: TapeCard,
    sheet: Sheet | None = None,
    figures: Sequence[Sequence[Shape]] = (),
) -> Page:
    """Compose the drawing of a plan on one page, at an exact scale.

    Parameters
    ----------
    plan : Plan
    card : TapeCard
        Whose readings are shown.
    sheet : Sheet, optional
    figures : sequence of sequence of Shape
        `layout.moving.poses.at_marks`; a sketch where left out.

    Raises
    ------
    BadInput
        It does not fit; says which scale or paper would.
    """
    sheet = sheet or Sheet()
    size = paper_size(sheet.paper, sheet.upright)
    foot, deep = foot_of(plan, size, card.system)
    head, high_head = _head(plan, size, card.system)

    def taken(scale: int) -> float:
        """Height that texts need [mm]."""
        return high_head + band(plan, card, scale, figures).texts + deep

    low, high = runway.extent(plan)
    tall = runway.HEADROOM + runway.width(plan)
    scale = choose_scale(high - low, tall, size, taken, sheet.scale)
    room = size[0] - 2 * MARGIN
    tall = size[1] - 2 * MARGIN - high_head - deep
    # The start mark belongs on the drawing wherever there is paper for it.
    ways = [band(plan, card, scale, figures, way) for way in WAYS]
    drawn = next((b for b in ways if b.width <= room and b.height <= tall), ways[-1])
    free = tall - drawn.height
    top = MARGIN + high_head + free * 0.12
    under = top + drawn.height + 2.5
    ink = [
        *head,
        text_at((size[0] - MARGIN, MARGIN + 5.2), f"1:{scale}", 6.4, align="right", bold=True),
        *drawn.ink(MARGIN + (room - drawn.width) / 2.0, MARGIN + 2.0, top),
        *spare(plan, card, under, size[1] - MARGIN - deep - 2.0, room - 4.0),
        *foot,
    ]
    title = f"{plan.who.name}: {plan.title}, 1:{scale}"
    return Page(size[0], size[1], scale, title, tuple(ink))
