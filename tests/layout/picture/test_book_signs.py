"""Signs of lens, panning and misclicks: each told where it is there, hardly any where it isn't."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from animate.body.body import body
from layout.picture.measured import measure
from layout.picture.points import Click, Frame
from layout.picture.signs import moved, signs_of
from tests.layout.picture.pictures import WHO, Picture

MANY = (-1.8, -0.6, 0.6, 1.8)


def told(shot: Picture | Frame) -> list[str]:
    frame = shot.frame() if isinstance(shot, Picture) else shot
    return list(signs_of(frame, WHO, measure(frame, WHO)))


def clicked(frame: Frame, name: str, dx: float, dy: float) -> Frame:
    at = frame.body[name]
    return replace(frame, body={**frame.body, name: Click(at.x + dx, at.y + dy)})


@pytest.mark.parametrize("runs", ["right", "left"])
@pytest.mark.parametrize("tilt", [-0.1, 0.0, 0.12])
def test_a_clean_picture_says_nothing(runs: str, tilt: float) -> None:
    shot = Picture(marks=MANY, uprights=(1.5, -1.4), lengths=(1.0,), runs=runs, tilt=tilt)
    assert told(shot) == []


def test_clicks_alone_hardly_ever_warn() -> None:
    """With errors of the stated size few pictures of a good camera are warned of."""
    rng = np.random.default_rng(8)
    shot = Picture(marks=MANY, uprights=(1.5,))
    warned = 0
    for _ in range(150):
        frame = shot.frame(noise=lambda: rng.normal(0.0, 2.0))
        warned += bool(told(frame))
    assert warned <= 0.08 * 150


def oblique(x: float, z: float) -> tuple[float, float]:
    """A camera 8 m off that looks 20 degrees along the runway."""
    turn = np.radians(20.0)
    depth = 8.0 + x * np.sin(turn)
    return 8.0 * x * np.cos(turn) / depth, 8.0 * z / depth


def barrel(x: float, z: float) -> tuple[float, float]:
    """A wide lens aimed 1 m above the ground."""
    z -= 1.0
    shrink = 1.0 - 0.02 * (x * x + z * z)
    return x * shrink, z * shrink + 1.0


def test_scale_differing_between_marks() -> None:
    (first, *_) = told(Picture(marks=MANY, bend=oblique))
    assert first.startswith("The scale differs between marks by")
    assert "2.20 to 3.40 m" in first
    assert "panned" in first


def test_marks_that_disagree_widen_the_margin() -> None:
    good, bad = (measure(Picture(marks=MANY, bend=b).frame(), WHO) for b in (None, oblique))
    assert good.errors.plane == pytest.approx(0.01)
    # Scale between two marks goes with one over the product of their depths.
    depths = 8.0 + np.array(MANY) * np.sin(np.radians(20.0))
    share = depths[3] * depths[2] / (depths[0] * depths[1]) - 1.0
    assert bad.errors.plane == pytest.approx(np.hypot(0.01, share / 2.0))
    assert bad.scale_margin > 6.0 * good.scale_margin
    assert bad.values[0].margin > 1.5 * good.values[0].margin
    stretched = measure(Picture(uprights=(1.5,), bend=lambda x, z: (x, 0.9 * z)).frame(), WHO)
    assert stretched.errors.plane == pytest.approx(np.hypot(0.01, (1 / 0.9 - 1) / 2))


def test_a_wide_lens_bends_the_line_of_marks() -> None:
    signs = told(Picture(marks=MANY, bend=barrel))
    assert any("off the line of the others: a wide lens bends it" in s for s in signs)


def test_two_marks_cannot_show_it() -> None:
    assert not [s for s in told(Picture(marks=(-1.8, 1.8), bend=oblique)) if "differs" in s]


def test_upright_against_marks() -> None:
    (one, *_) = told(Picture(uprights=(1.5,), bend=lambda x, z: (x, 0.9 * z)))
    assert one.startswith("The upright gives a scale 10 % smaller than the marks")
    leaning = Picture(uprights=(1.5,), bend=lambda x, z: (x + (0.1 * z if x > 1.4 else 0.0), z))
    assert any("differ by 5.7° in what is level" in s for s in told(leaning))


def test_length_against_marks() -> None:
    frame = Picture(lengths=(1.0,)).frame()
    rod = replace(frame.rods[0], length=1.2)
    signs = told(replace(frame, rods=(rod,)))
    assert any(s.startswith("The known length gives a scale 17 % smaller") for s in signs)


def test_level() -> None:
    (sign,) = told(Picture(marks=(), lengths=(1.0,)))
    assert sign.startswith("Nothing in the picture shows what is level")
    (sign,) = told(Picture(tilt=0.25))
    assert sign.startswith("The camera is tilted by 14°")


def test_segments_against_stature() -> None:
    frame = Picture().frame()
    (sign,) = told(clicked(frame, "far ankle", -50.0, 0.0))
    assert sign.startswith("The free shank comes out 5")
    assert "about 42 cm is usual" in sign
    slid = clicked(frame, "near knee", 30.0, -45.0)
    assert any("support thigh" in s or "support shank" in s for s in told(slid))


def test_a_wrong_scale_is_one_sentence() -> None:
    frame = Picture().frame()
    marks = tuple(replace(m, reading=1.3 * m.reading) for m in frame.marks)
    (sign,) = told(replace(frame, marks=marks))
    assert sign.startswith("All segments come out longer than the athlete's stature says, by 30 %")
    small = body(1.72 / 0.75, 61.0, "female")
    (sign,) = signs_of(frame, small, measure(frame, small))
    assert "shorter" in sign


def test_thigh_against_shank() -> None:
    """A knee clicked along the leg: neither segment is far off, but the two together are."""
    frame = Picture().frame()
    hip, knee, ankle = (frame.body[n] for n in ("hip", "near knee", "near ankle"))
    dx, dy = (ankle.x - hip.x), (ankle.y - hip.y)
    signs = told(clicked(frame, "near knee", 0.062 * dx, 0.062 * dy))
    assert knee != hip
    assert signs == [
        "The support thigh is long beside the support shank: is the knee clicked right?"
    ]


def test_foot_off_the_ground() -> None:
    frame = Picture().frame()
    marks = tuple(replace(m, at=Click(m.at.x, m.at.y + 50.0)) for m in frame.marks)
    (sign,) = told(replace(frame, marks=marks))
    assert sign.startswith("The foot that is down lies 16 cm above the line of the marks")


@pytest.mark.parametrize("marks", [(2.0, 3.5), (-3.5, -2.0)])
@pytest.mark.parametrize("runs", ["right", "left"])
def test_athlete_outside_the_marks(marks: tuple[float, float], runs: str) -> None:
    (sign,) = told(Picture(marks=marks, runs=runs))
    assert sign.startswith("The athlete is well outside the marks")


def test_swapped_direction() -> None:
    signs = told(Picture(extra=("runs;;;left",)))
    assert any(
        s.startswith("The toe of the foot that is down points against the run") for s in signs
    )


def test_a_camera_that_moved() -> None:
    a = replace(Picture().frame(), name="a")
    panned = replace(Picture(at=(870.0, 800.0)).frame(), name="b")
    (sign,) = moved((a, panned), 2.0)
    assert sign.startswith("The camera moved by 30 pixels between frames a and b")
    assert moved((a, replace(a, name="c")), 2.0) == ()
    assert moved((a, replace(panned, marks=())), 2.0) == ()
