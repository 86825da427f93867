"""The true-scale drawing of a plan: side view over plan view, tape readings, title and cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from animate.body.shapes import Shape
from layout.page.page import MARGIN, Page, choose_scale, paper_size
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet import runway
from layout.sheet.band import band
from layout.sheet.runway import WAYS
from layout.sheet.texts import facts, foot_of, scale_sign, spare, titled


@dataclass(frozen=True)
class Sheet:
    """What a drawing is made on."""

    paper: str = "A4"
    upright: bool = False
    scale: int | None = None  # None takes the largest that fits


def draw(
    plan: Plan, card: TapeCard, sheet: Sheet | None = None, figures: Sequence[Sequence[Shape]] = ()
) -> Page:
    """Compose the drawing of a plan on one page, at an exact scale.

    card: whose readings are shown.
    figures: `layout.moving.poses.at_marks`; a sketch where left out.
    Raises BadInput: it does not fit; says which scale or paper would.
    """
    sheet = sheet or Sheet()
    size = paper_size(sheet.paper, sheet.upright)
    foot, deep = foot_of(plan, size, card.system)
    title, (first, approach) = f"{plan.who.name}: {plan.title}", facts(plan, card.system)
    told = (first, *plan.assumed, approach)
    head, high_head = titled(title, told, plan.place.title, plan.date, size)

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
        scale_sign(scale, size),
        *drawn.ink(MARGIN + (room - drawn.width) / 2.0, MARGIN + 2.0, top),
        *spare(plan, card, under, size[1] - MARGIN - deep - 2.0, room - 4.0),
        *foot,
    ]
    return Page(size[0], size[1], scale, f"{title}, 1:{scale}", tuple(ink))
