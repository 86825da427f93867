"""What lens, depth and panning add to what is measured, by a camera that sees in perspective."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from layout.picture.measured import Measured, measure
from layout.picture.places import roles_of
from layout.picture.points import Click, Frame, Mark
from layout.picture.signs import signs_of
from layout.picture.target import target_of
from tests.layout.picture.shots import TAPPED, solved

MOTION = next(m for p, m in solved() if p.drill == "short-triple-jump")
TARGET = target_of(MOTION)
TRUE = {name: float(v) for name, v in TARGET.measures.items()}
AWAY, HIGH, FOCAL, HALF = 10.0, 1.1, 1800.0, 960.0
"""Camera to the athlete and above the ground [m]; focal length and half the picture's width [px]."""


@dataclass(frozen=True)
class Eye:
    """A camera: athlete right of its middle [m], turned aside [rad], barrel at the picture's edge [-].

    depth: near joints nearer and far ones farther by [m].
    """

    off: float = 0.0
    turned: float = 0.0
    barrel: float = 0.0
    depth: float = 0.0

    def pixel(self, x: float, nearer: float, z: float) -> Click:
        along, ahead = x + self.off, AWAY - nearer
        c, s = np.cos(self.turned), np.sin(self.turned)
        far = s * along + c * ahead
        place = FOCAL * np.array([c * along - s * ahead, z - HIGH]) / far
        place = place * (1.0 - self.barrel * float(place @ place) / HALF**2)
        return Click(HALF + float(place[0]), 540.0 - float(place[1]))

    def seen(self) -> tuple[Measured, tuple[str, ...]]:
        """What is measured, and what is warned of."""
        body = {}
        near = "support" if TARGET.support == "r" else "free"
        for name, (x, z) in roles_of(TARGET.positions, TARGET.support).items():
            role, _, part = name.partition(" ")
            side = ("near" if role == near else "far") if part else ""
            nearer = {"near": self.depth, "far": -self.depth}.get(side, 0.0)
            key = f"{side} {part}" if part else name
            if key in TAPPED:
                body[key] = self.pixel(float(x), nearer, float(z))
        marks = tuple(Mark(self.pixel(x, 0.0, 0.0), 4.0 + x) for x in (-1.3, 0.2, 1.4))
        frame = Frame("", body, marks, (), "right")
        found = measure(frame, MOTION.body)
        return found, signs_of(frame, MOTION.body, found)


def off(eye: Eye, name: str = "knee_gap") -> tuple[float, float]:
    """How far off a measure is, and its margin."""
    found = next(v for v in eye.seen()[0].values if v.measure.name == name)
    return found.value - TRUE[name], found.margin


def test_in_the_middle_perspective_does_no_harm() -> None:
    assert abs(off(Eye())[0]) < 1e-6
    assert abs(off(Eye(depth=0.1))[0]) < 0.002


@pytest.mark.parametrize("metres", [1.0, 2.0, 4.0])
def test_depth_shifts_the_knees_by_2_cm_a_metre_from_the_middle(metres: float) -> None:
    """Knees 20 cm apart in depth, filmed from 10 m: what the page says is not in the margin."""
    error, margin = off(Eye(off=metres, depth=0.1))
    assert error == pytest.approx(0.02 * metres, rel=0.06)
    # Beyond 2 m off the middle it is as large as the margin.
    assert (abs(error) > margin) is (metres > 2.5)


def test_a_usual_lens_stays_inside_the_margin_and_a_wide_one_is_warned_of() -> None:
    for name in ("knee_gap", "free_knee_touchdown", "free_thigh_touchdown", "trunk_lean_touchdown"):
        for eye in (Eye(barrel=0.05), Eye(barrel=0.05, off=3.0), Eye(barrel=0.15, off=3.0)):
            error, margin = off(eye, name)
            assert abs(error) < margin
    assert not any("scale differs" in sign for sign in Eye(barrel=0.05, off=3.0).seen()[1])
    assert any("scale differs" in sign for sign in Eye(barrel=0.15, off=3.0).seen()[1])


@pytest.mark.parametrize("degrees", [5.0, 10.0, 15.0])
def test_a_camera_that_pans_along_stays_inside_the_margin(degrees: float) -> None:
    turned = float(np.radians(degrees))
    eye = Eye(turned=turned, off=AWAY * float(np.tan(turned)))
    for name in ("knee_gap", "free_knee_touchdown", "free_thigh_touchdown", "trunk_lean_touchdown"):
        error, margin = off(eye, name)
        assert abs(error) < margin
    assert any("scale differs" in sign for sign in eye.seen()[1]) is (degrees > 12.0)
