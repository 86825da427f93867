"""What a jumper's leg can give: torque that falls with the speed a joint closes or opens at, from one
published column."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body.body import Array


@dataclass(frozen=True)
class Strength:
    """Torque of one joint one way, one leg: the greatest while giving (eccentric) and standing still
    (isometric) [N m/kg], and the greatest speed it can shorten at [rad/s]."""

    eccentric: float
    isometric: float
    fastest: float


STRENGTH: Final = {
    "hip-": Strength(9.20, 7.08, 26.0),
    "hip+": Strength(4.31, 3.32, 28.0),
    "knee+": Strength(7.44, 5.73, 36.0),
    "knee-": Strength(7.91, 4.97, 34.1),
    "ankle-": Strength(5.15, 3.75, 30.8),
    "ankle+": Strength(1.47, 0.88, 26.0),
}
"""Torques fitted to one national-level male triple jumper, scaled to 72.57 kg: seen in the source code
of a torque-driven simulation; that it is Allen 2009 is from memory, confidence medium. Knee bending
above knee straightening is as printed and suspicious. + bends the hip, straightens the knee, raises the
toes."""

CURVE: Final = 0.50
"""Speed of the shortening hyperbola over the greatest speed [-] (ours: the upper end of the usual .15 to
.5, from memory, since a tendon that springs back takes part of a joint's speed off the muscle)."""
STEEPER: Final = 4.3
"""Slope where a muscle gives over the slope where it shortens, at rest [-]: Huxley's theory as used in
Yeadon, King & Wilson 2006, J Biomech 39:476-482, from memory, confidence medium."""


def most(joint: str, speed: Array | float) -> Array:
    """Greatest torque of a joint that shortens at a speed.

    With T0 isometric, Te eccentric, w0 greatest speed, wc = .5 w0, two hyperbolas that meet at w = 0:

        T = T0 wc (w0 - w) / (w0 (wc + w))                    shortening, 0 <= w <= w0
        T = Te - (Te - T0) we / (we - w)                      giving, w < 0
        we = (Te - T0) w0 wc / (4.3 T0 (w0 + wc))

    Parameters
    ----------
    joint : str
        A key of `STRENGTH`.
    speed : ndarray (...)
        The way the torque turns the joint [rad/s]; minus where the joint gives.

    Returns
    -------
    ndarray (...)
        [N m/kg]; 0 above the greatest speed.

    Source: form by Yeadon, King & Wilson 2006 (from memory); the level of activation is left out.

    >>> most("knee+", np.array([-20.0, 0.0, 10.0, 36.0])).round(2).tolist()
    [7.37, 5.73, 2.66, 0.0]
    """
    s, w = STRENGTH[joint], np.asarray(speed, float)
    wc = CURVE * s.fastest
    more = s.eccentric - s.isometric
    we = more * s.fastest * wc / (STEEPER * s.isometric * (s.fastest + wc))
    up = np.clip(w, 0.0, s.fastest)
    shortening = s.isometric * wc * (s.fastest - up) / (s.fastest * (wc + up))
    giving = s.eccentric - more * we / (we - np.minimum(w, 0.0))
    return np.asarray(np.where(w >= 0.0, shortening, giving))
