"""Bounds, weights and margins of the program, in one place: ours unless a source is named."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

TOE_OFF_MARK: Final = 0.0015
"""How far the toe may be behind its mark while the heel leads at touchdown [m]."""
SPEED_WEIGHT: Final = 100.0
"""Pull towards the planned speeds, per (m/s)2."""
HEIGHT_WEIGHT: Final = 100.0
"""Pull of a take-off towards the height of the body's centre that the planner's own pose has, per m2."""
EASED: Final = 0.1
"""Share of the pull to the speeds, and none to the heights, where a motion is looked for with the run-in's
posture left to the mechanics."""
FORCE_CAP: Final = 13.0
"""Ground force at any instant [body weights]; 15.2 is the greatest mean published peak."""
CEILING: Final = {
    "plantar": 5.5, "dorsi": 1.5, "knee_extend": 6.0, "knee_bend": 4.0, "hip_extend": 7.5, "hip_bend": 6.0,
}  # fmt: skip
"""Moments the solver keeps below, at a cost above [N m/kg] (ours, no source)."""
LAST_CAP: Final = 2.2
LAST_LEAST: Final = 3.0
"""On the last foot of a drill that ends on the track, landed on softly: force at most, over what stops the
fall in the time shown, and a cap that is always allowed [body weights]."""
RUN_FADES: Final = 1.8
"""Force of a running stride half way through its contact, over its mean, at most; from there it falls to
nought (ours; 1.5, falling faster, in the open sprint stride)."""
STRAIGHT: Final = math.radians(15.0)
"""Bend left in hip and knee where both feet leave the ground [rad] (ours; one leg leaves with 165 to 178
degrees at the knee, from memory, low confidence)."""
SAND_HOLDS: Final = 3.0
"""Greatest forward or backward force of sand [body weights]: heels dug in do not slide as a shoe may."""
SAND_SINKS: Final = 0.4
SAND_SLOWS: Final = 0.6
"""How fast the centre of mass may still go down (it never comes up), and after a landing on both feet
forward, when what is shown of the sand ends [m/s]; one foot runs on."""
STILL_WEIGHT: Final = 60.0
"""Pull of a held landing to a standstill, per (m/s)2: where the marks are too far apart for one foot to stop
the body, it is still on its way."""
SEAT: Final = 0.055
"""Hip joint above the sand at least, as a share of stature: the seat is in it."""
SAND_TOES: Final = math.radians(-12.0)
"""The foot in sand points down at most this much: what is dug in lies on its heel [rad]."""
MU_TRACK: Final = 0.76
"""Friction of the track the solver uses at most; the check allows .8."""
BETWEEN: Final = (0.825,)
BETWEEN_RUN: Final = (0.625, 0.675, 0.775, 0.825)
"""Fractions of a contact on the track, and of the stride of the run-in, where rows are held beside the
even grid: the centre of pressure slips there between its points."""
DURATION_BAND: Final = {"contact": (0.80, 1.25), "flight": (0.75, 1.25)}
"""Durations over the plan's."""
CONTACT_TIME: Final = 0.010
"""Contacts between an approach and a landing last as planned, this near [s]."""
# Bounds of the free angles [degrees]: inside the joint limits of animate/motion/limits.py.
BOUNDS: Final = {
    "trunk": (-60, 22),
    "upper_arm": (-85, 185),
    "elbow": (8, 140),
    "thigh": (-45, 112),
    "knee": (3, 138),
    "foot": (-135, 85),
}
TALL: Final = -15.0
"""Trunk leans forward at most, between the start and the last landing [degrees]; published figures
are within 8 (from memory, low confidence)."""
BACK: Final = 17.0
"""The same backward (ours)."""
HIP: Final = (-38.0, 130.0)
"""Thigh to trunk [degrees]; below -20 is the pelvis and the loin, inside this trunk."""
SHOULDER: Final = (-72.0, 185.0)
"""Upper arm to trunk [degrees]."""
ANKLE: Final = (-50.0, 32.0)
"""Foot to shank [degrees], - pointed."""
# How much each angle leans towards the key poses, and how its bending is damped.
LEAN: Final = {
    "trunk": 8.0, "upper_arm": 0.25, "elbow": 0.15, "thigh": 1.0, "knee": 0.6, "foot": 0.15,
}  # fmt: skip
SMOOTH: Final = {
    "trunk": 4.0, "upper_arm": 12.0, "elbow": 6.0, "thigh": 1.0, "knee": 0.5, "foot": 0.15,
}  # fmt: skip
SMOOTH_WEIGHT: Final = 1e-7
JERK_WEIGHT: Final = 4e-12


@dataclass(frozen=True)
class Pull:
    """Where the solver is drawn harder to the key poses.

    phases: ``flight.`` or ``contact.`` and what the phase leaves into.
    angles: free angles, s for the stance (take-off) side and f for the other.
    start, end: fractions of the phase.
    times: how many times harder.
    """

    phases: tuple[str, ...]
    angles: tuple[str, ...]
    start: float
    end: float
    times: float


TOUCH: Final = 0.08
"""Share of the run-in stride's contact in which the thighs are drawn together, whatever becomes of the rest
of its posture."""
PULLS: Final = (
    # Heel recovery is what a coach looks for in the hop.
    Pull(("flight.hop",), ("s_knee", "s_thigh"), 0.1, 0.62, 6.0),
    # A straight free leg is slow to swing back.
    Pull(("flight.hop",), ("f_knee",), 0.25, 0.75, 4.0),
    # The push is finished: hip and knee straight as the foot leaves.
    Pull(("contact.hop", "contact.step", "contact.jump"), ("s_knee", "s_thigh"), 0.88, 1.0, 60.0),
    # A running stride: thighs together as the foot lands, far apart with a straight knee as it leaves.
    Pull(("contact.run",), ("s_knee", "s_thigh"), 0.5, 1.0, 24.0),
    Pull(("contact.run",), ("s_foot",), 0.75, 1.0, 12.0),
    Pull(("contact.run",), ("trunk",), 0.0, 1.0, 5.0),
    Pull(("contact.run",), ("f_thigh", "f_knee"), 0.0, 1.0, 8.0),
    Pull(("contact.run",), ("f_thigh",), 0.7, 1.0, 4.0),
    Pull(("contact.run",), ("f_thigh", "s_thigh"), 0.0, TOUCH, 30.0),
    # The thigh is held near level.
    Pull(("flight.step",), ("f_thigh",), 0.0, 0.62, 50.0),
    # The knee gives and stays soft; the free leg waits beside it.
    Pull(("contact.end",), ("s_knee", "s_thigh", "f_thigh", "f_knee"), 0.5, 1.0, 20.0),
)  # fmt: skip
"""Ours, tuned by solving and looking: what a coach looks for, and the plain weights leave out."""


def pair(degrees: tuple[float, float]) -> tuple[float, float]:
    """Degrees to radians."""
    return math.radians(degrees[0]), math.radians(degrees[1])


def part(name: str) -> str:
    """Free angle without its side."""
    return name[2:] if name[:2] in ("r_", "l_") else name
