"""A body that moves through given contacts; knows no drill.

What another program would want stands here by name; each is imported when it is first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from animate.door import door

if TYPE_CHECKING:
    from animate.body.body import Body as Body
    from animate.film.film import clip as clip
    from animate.film.film import save as save
    from animate.motion.chain import Chain as Chain
    from animate.motion.chain import Settings as Settings
    from animate.motion.chain import Support as Support
    from animate.motion.check import check as check
    from animate.motion.compare import compare as compare
    from animate.motion.measure_contacts import contacts_of as contacts_of
    from animate.motion.measures import read_motion as read_motion
    from animate.motion.motion import Motion as Motion
    from animate.motion.solve import find as find

DOOR: Final = {
    "body.body": "Body",
    "film.film": "clip save",
    "motion.chain": "Chain Settings Support",
    "motion.check": "check",
    "motion.compare": "compare",
    "motion.measure_contacts": "contacts_of",
    "motion.measures": "read_motion",
    "motion.motion": "Motion",
    "motion.solve": "find",
}
"""Where each public name is from."""
__getattr__, __dir__ = door(__name__, DOOR, globals())
