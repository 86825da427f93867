"""Phasemark: plan and set out triple-jump drills.

What another program would want stands here by name; each is imported when it is first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from animate.door import door

if TYPE_CHECKING:
    from layout.athlete.athlete import Athlete as Athlete
    from layout.athlete.athlete import read_athlete as read_athlete
    from layout.moving.clip import step_contact as step_contact
    from layout.moving.solved import motion_of as motion_of
    from layout.page.pdf import to_pdf as to_pdf
    from layout.page.svg import to_svg as to_svg
    from layout.plan.drill import find_drill as find_drill
    from layout.plan.spacing import Choices as Choices
    from layout.plan.spacing import make_plan as make_plan
    from layout.plan.stored import from_json as from_json
    from layout.plan.stored import to_json as to_json
    from layout.plan.tape import tape_card as tape_card
    from layout.plan.value import Plan as Plan
    from layout.plan.venue import find_venue as find_venue
    from layout.sheet.drawing import draw as draw
    from layout.sheet.handout import handout as handout
    from layout.words.faults import BadInput as BadInput

__version__ = "0.1.0"

DOOR: Final = {
    "athlete.athlete": "Athlete read_athlete",
    "moving.clip": "step_contact",
    "moving.solved": "motion_of",
    "page.pdf": "to_pdf",
    "page.svg": "to_svg",
    "plan.drill": "find_drill",
    "plan.spacing": "Choices make_plan",
    "plan.stored": "from_json to_json",
    "plan.tape": "tape_card",
    "plan.value": "Plan",
    "plan.venue": "find_venue",
    "sheet.drawing": "draw",
    "sheet.handout": "handout",
    "words.faults": "BadInput",
}
"""Where each public name is from."""
__getattr__, __dir__ = door(__name__, DOOR, globals())
