"""Measures off pictures of a known pose: exact without errors, within the stated margin with them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from animate.motion.measures import MEASURE, Contact, Track, read_contact
from layout.picture.camera import Camera, Errors, Reader, errors_of
from layout.picture.measured import SURE, Measured, held_against, measure, slopes
from layout.picture.places import READ, measures_of, roles_of
from layout.picture.points import Click, points_from
from layout.words.faults import BadInput
from tests.layout.picture.pictures import (
    PLAIN,
    WHO,
    Picture,
    angles_of,
    centre,
    places,
    positions_of,
)

TRUE = {name: float(value) for name, value in measures_of(places(), WHO).items()}


def values(m: Measured) -> dict[str, float]:
    return {v.measure.name: v.value for v in m.values}


# --- the same as the motion's own reading ---------------------------------------------------------


def test_places_are_read_as_a_motion_is() -> None:
    """Every measure shared with `animate.motion.measures` is that one, for the pose carried along."""
    times = np.linspace(0.0, 1.0, 1001)
    run = np.stack([8.0 * times, 0.0 * times], axis=1)
    angles = np.repeat(angles_of()[None], times.size, axis=0)
    at = positions_of()[None] + run[:, None]
    com = (centre() + np.array([3.0, 0.0]))[None] + run
    read = read_contact(
        Track(times, angles, at, com), Contact("r", 0.2, 0.36, "hop", "step"), WHO.leg, until=0.7
    )
    shared = [m.name for m in READ if m.name in MEASURE]
    assert len(shared) == 8
    for name in shared:
        assert TRUE[name] == pytest.approx(read.values[name], abs=1e-9), name


def test_the_measures_of_our_own_by_hand() -> None:
    at = places()
    assert TRUE["toe_ahead_hip"] == pytest.approx(float(at["support toe"][0]))
    assert TRUE["support_thigh_touchdown"] == pytest.approx(math.radians(34.0 - 90.0))
    assert TRUE["toe_ahead"] == pytest.approx(float(at["support toe"][0] - centre()[0]))


def test_roles_follow_the_leg_that_is_down() -> None:
    right, left = roles_of(positions_of(), "r"), roles_of(positions_of(), "l")
    assert np.array_equal(right["support knee"], left["free knee"])
    assert np.array_equal(right["free toe"], left["support toe"])


# --- exact without errors -------------------------------------------------------------------------


@given(
    scale=st.floats(40.0, 2000.0),
    tilt=st.floats(-0.3, 0.3),
    runs=st.sampled_from(["right", "left"]),
    words=st.sampled_from(
        [("near", "far"), ("far", "near"), ("right", "left"), ("support", "free")]
    ),
    uprights=st.sampled_from([(), (0.9,), (-1.0, 0.8)]),
    marks=st.sampled_from([(), (-1.2, 1.3), (1.3, 0.1, -1.2), (-2.0, -1.0, 0.0, 1.0)]),
    turn=st.floats(-30.0, 30.0),
)
def test_a_known_pose_comes_back(
    scale: float,
    tilt: float,
    runs: str,
    words: tuple[str, str],
    uprights: tuple[float, ...],
    marks: tuple[float, ...],
    turn: float,
) -> None:
    if not marks and not uprights:
        uprights = (0.5,)
    pose = {"l_thigh": -22.0 + turn, "trunk": -4.0 + turn / 3.0}
    shot = Picture(scale, tilt, runs, words, marks, uprights, pose=pose)
    m = measure(shot.frame(), WHO)
    wanted = measures_of(places(**pose), WHO)
    assert values(m).keys() == wanted.keys() == {r.name for r in READ}
    for name, value in values(m).items():
        assert value == pytest.approx(float(wanted[name]), abs=1e-7), name
    assert m.scale == pytest.approx(scale)
    assert m.tilt == pytest.approx(tilt, abs=1e-9)
    assert m.runs == runs
    for name, place in m.places.items():
        off = 0.0 if marks else min(z for _, z in places(**pose).values())
        assert place == pytest.approx(tuple(places(**pose)[name] - np.array([0.0, off])), abs=1e-7)


def test_a_length_alone_gives_the_scale_and_no_level() -> None:
    m = measure(Picture(marks=(), lengths=(0.8,)).frame(), WHO)
    assert values(m) == pytest.approx(TRUE)
    assert m.tilt == 0.0
    assert m.tilt_margin == pytest.approx(SURE * math.radians(1.5))
    tilted = measure(Picture(marks=(), lengths=(0.8,), tilt=0.02).frame(), WHO)
    assert values(tilted)["trunk_lean_touchdown"] == pytest.approx(
        TRUE["trunk_lean_touchdown"] - 0.02
    )


@pytest.mark.parametrize("runs", ["right", "left"])
@pytest.mark.parametrize(("words", "down"), [(("near", "far"), True), (("far", "near"), False)])
def test_which_leg_it_is(runs: str, words: tuple[str, str], down: bool) -> None:
    m = measure(Picture(runs=runs, words=words).frame(), WHO)
    assert m.near == ("support" if down else "free")
    assert m.side == (runs if down else {"right": "left", "left": "right"}[runs])


@pytest.mark.parametrize(
    ("words", "side"), [(("left", "right"), "left"), (("right", "left"), "right")]
)
@pytest.mark.parametrize("runs", ["right", "left"])
def test_left_and_right_in_words(words: tuple[str, str], side: str, runs: str) -> None:
    m = measure(Picture(runs=runs, words=words).frame(), WHO)
    assert m.side == side
    assert m.near == ("support" if side == runs else "free")


def test_the_mirror_image() -> None:
    """Turned left for right a picture measures the same, to the bit of its margin."""
    rng = np.random.default_rng(3)
    text = Picture(tilt=0.03).text(noise=lambda: rng.normal(0.0, 2.0))
    lines = text.splitlines()
    turned = [lines[0]]
    for line in lines[1:]:
        name, x, y, value = line.split(";")
        turned.append(";".join((name, repr(1920.0 - float(x)), y, value)))
    one = measure(points_from(text).frames[0], WHO)
    two = measure(points_from("\n".join(turned)).frames[0], WHO)
    assert (one.runs, two.runs) == ("right", "left")
    assert one.tilt == pytest.approx(-two.tilt)
    assert values(one) == pytest.approx(values(two), abs=1e-9)
    assert [v.margin for v in one.values] == pytest.approx([v.margin for v in two.values], rel=1e-6)


def through_a_lens(far: float, beside: float, marks: float, apart: float) -> str:
    """Rows as a camera 1.2 m up sees them: distance to the athlete's line, the hip beside the
    picture's middle, marks nearer, and near and far limbs off the line by `apart` [m]."""
    focal = 2800.0

    def seen(name: str, x: float, z: float, depth: float, value: str = "") -> str:
        u, v = focal * (x + beside) / depth, focal * (z - 1.2) / depth
        return f"{name};{960.0 + u!r};{500.0 - v!r};{value}"

    rows = [seen("mark", x, 0.0, far - marks, repr(7.0 + x)) for x in (-1.5, 1.4)]
    for name, place in places().items():
        if name in PLAIN:
            off = {"s": -apart, "f": apart}.get(name[0] if " " in name else "", 0.0)
            plain = name.replace("support", "near").replace("free", "far")
            rows.append(seen(plain, float(place[0]), float(place[1]), far + off))
    return "\n".join(["point;x;y;value", *rows])


def test_marks_at_the_edge_of_the_runway() -> None:
    """Marks .6 m nearer to a camera 9 m from the athlete's line."""
    text = through_a_lens(9.0, 0.0, 0.6, 0.0)
    raw = measure(points_from(text).frames[0], WHO)
    told = points_from(text + "\ncamera;;;9,0\nnearer;;;60 cm").frames[0]
    m = measure(told, WHO)
    assert values(raw)["knee_gap"] == pytest.approx(TRUE["knee_gap"] * 8.4 / 9.0)
    assert values(m) == pytest.approx(TRUE)
    assert m.places["support toe"][1] == pytest.approx(float(places()["support toe"][1]), abs=1e-6)
    assert m.errors.plane == pytest.approx(math.hypot(0.01, 0.1 * 0.6 / 9.0))


def test_limbs_seen_at_a_slant() -> None:
    """What the command says of depth: from 10 m, limbs 10 cm off the line and the athlete 1 m
    beside the middle put some 2 cm on the knee gap, and next to nothing in the middle."""

    def wrong(beside: float) -> float:
        frame = points_from(through_a_lens(10.0, beside, 0.0, 0.1)).frames[0]
        return values(measure(frame, WHO))["knee_gap"] - TRUE["knee_gap"]

    assert abs(wrong(0.0)) < 0.003
    assert wrong(1.0) - wrong(0.0) == pytest.approx(0.02, abs=0.001)
    assert wrong(-1.0) - wrong(0.0) == pytest.approx(-0.02, abs=0.001)


# --- what is not given ----------------------------------------------------------------------------


def test_heels_and_hands_may_be_missing() -> None:
    parts = tuple(p for p in PLAIN if not p.endswith("heel"))
    m = measure(Picture(parts=parts).frame(), WHO)
    # A hand that goes on from its forearm moves the centre of mass by a little.
    assert values(m)["toe_ahead"] == pytest.approx(TRUE["toe_ahead"], abs=1e-9)
    bent = {"l_hand": 160.0}
    m = measure(Picture(parts=parts, pose=bent).frame(), WHO)
    wanted = float(places()["support toe"][0] - centre(**bent)[0])
    assert 1e-4 < abs(values(m)["toe_ahead"] - wanted) < 0.003


def test_what_cannot_be_read_is_said() -> None:
    parts = ("hip", "support knee", "free knee")
    m = measure(
        Picture(parts=parts, words=("support", "free"), extra=("runs;;;right",)).frame(), WHO
    )
    assert set(values(m)) == {
        "knee_gap", "knee_gap_share", "thighs_apart_touchdown", "free_thigh_touchdown",
        "support_thigh_touchdown",
    }  # fmt: skip
    assert {*values(m), *(x.name for x in m.missing)} == {r.name for r in READ}
    assert m.side == ""


def test_a_missing_arm_leaves_out_the_centre_only() -> None:
    m = measure(Picture(parts=tuple(p for p in PLAIN if p != "free wrist")).frame(), WHO)
    assert [x.name for x in m.missing] == ["toe_ahead"]


# --- margin ----------------------------------------------------------------------------------------


def test_margins_by_hand() -> None:
    """Two marks and clicks of a known error, against the formulas on paper."""
    e = Errors(click=3.0, joint=0.008, tape=0.004, plane=0.02)
    shot = Picture(scale=300.0, marks=(-1.0, 1.5))
    m = measure(shot.frame(), WHO, e)
    share = math.sqrt(2) * math.hypot(3.0 / (2.5 * 300.0), 0.004 / 2.5)
    assert m.scale_margin == pytest.approx(SURE * math.hypot(share, 0.02), rel=1e-3)
    assert m.tilt_margin == pytest.approx(SURE * math.sqrt(2) * 3.0 / (2.5 * 300.0), rel=1e-3)
    point = math.hypot(3.0 / 300.0, 0.008)
    found = {v.measure.name: v for v in m.values}
    assert found["knee_gap"].from_clicks == pytest.approx(SURE * math.sqrt(2) * point, rel=1e-3)
    trunk = float(WHO.lengths[1])
    lean = found["trunk_lean_touchdown"]
    assert lean.from_clicks == pytest.approx(SURE * math.sqrt(2) * point / trunk, rel=1e-3)
    assert lean.from_scale == pytest.approx(m.tilt_margin, rel=1e-3)
    gap = found["knee_gap"]
    rise = float(places()["support knee"][1] - places()["free knee"][1])
    turn = m.tilt_margin * rise
    assert gap.from_scale == pytest.approx(math.hypot(m.scale_margin * gap.value, turn), rel=1e-2)
    for v in m.values:
        assert v.margin == pytest.approx(math.hypot(v.from_scale, v.from_clicks))


SHOTS = [
    Picture(tilt=0.04, marks=(-1.2, 1.3)),
    Picture(marks=(-1.5, 0.0, 1.4), uprights=(1.6,), runs="left"),
    Picture(marks=(), lengths=(1.0,), words=("far", "near"), scale=180.0),
]


@pytest.mark.parametrize("shot", SHOTS)
def test_slopes_against_trials(shot: Picture) -> None:
    """The margin to first order against the spread of 20,000 trials of all errors."""
    frame = shot.frame()
    reader = Reader(frame, WHO)
    sd = reader.camera.deviations(errors_of(frame), shot.scale)
    found = slopes(reader, sd)
    rng = np.random.default_rng(6)
    trials = reader.evaluate(reader.camera.nominal + sd * rng.normal(size=(20_000, sd.size)))
    for name, slope in found.items():
        # The standard error of a spread from 20,000 trials is .5 %; the rest is curvature.
        assert float(np.std(trials[name])) == pytest.approx(
            float(np.linalg.norm(slope)), rel=0.03
        ), name
        assert abs(
            float(np.mean(trials[name])) - float(reader.evaluate(reader.camera.nominal)[name])
        ) < (0.1 * float(np.linalg.norm(slope))), name


@pytest.mark.parametrize("shot", SHOTS)
def test_the_margin_holds_19_times_of_20(shot: Picture) -> None:
    """Pictures with all the errors of the stated sizes, measured from the file on."""
    e = Errors()
    rng = np.random.default_rng(12)
    many = 600
    inside: dict[str, list[tuple[bool, bool]]] = {}
    for _ in range(many):
        plane = rng.normal(0.0, e.plane)
        level = rng.normal(0.0, e.level) if shot.lengths else 0.0
        clean = replace(shot, tilt=shot.tilt + level)
        frame = clean.frame()
        body = {
            n: replace(c, x=c.x + dx, y=c.y + dy)
            for (n, c), (dx, dy) in zip(
                frame.body.items(),
                rng.normal(0.0, math.hypot(e.click, e.joint * shot.scale), (len(frame.body), 2)),
                strict=True,
            )
        }

        def off(c: Click) -> Click:
            return Click(c.x + rng.normal(0.0, e.click), c.y + rng.normal(0.0, e.click))

        # References nearer or farther than the athlete: everything about them that much larger.
        grown = 1.0 / (1.0 + plane)
        marks = tuple(
            replace(k, at=off(k.at), reading=(k.reading + rng.normal(0, e.tape)) / grown)
            for k in frame.marks
        )
        rods = tuple(
            replace(
                r, one=off(r.one), two=off(r.two), length=(r.length + rng.normal(0, e.tape)) / grown
            )
            for r in frame.rods
        )
        m = measure(replace(frame, body=body, marks=marks, rods=rods), WHO)
        for v in m.values:
            miss = abs(v.value - TRUE[v.measure.name])
            inside.setdefault(v.measure.name, []).append((miss < v.margin, miss < v.margin / SURE))
    two = {n: float(np.mean([a for a, _ in rows])) for n, rows in inside.items()}
    one = {n: float(np.mean([b for _, b in rows])) for n, rows in inside.items()}
    # Of 600, 95.4 % have a standard error of .86 % and 68.3 % one of 1.9 %: within 4.5 of them.
    for name in TRUE:
        assert 0.915 <= two[name] <= 0.993, (name, two[name])
        assert 0.597 <= one[name] <= 0.769, (name, one[name])
    assert 0.935 <= float(np.mean(list(two.values()))) <= 0.973


def test_errors_of_a_file() -> None:
    frame = Picture(extra=("click;;;4,5", "joint;;;2 cm")).frame()
    e = errors_of(frame)
    assert (e.click, e.joint, e.tape) == (4.5, 0.02, Errors().tape)
    assert errors_of(Picture().frame()) == Errors()
    rough = measure(frame, WHO)
    fine = measure(Picture().frame(), WHO)
    assert all(a.margin > b.margin for a, b in zip(rough.values, fine.values, strict=True))


def test_longer_references_weigh_more() -> None:
    """Lengths by their square, marks by their spread: as least squares would have it."""
    frame = Picture(marks=(-1.0, 1.5), lengths=(0.8, 2.0)).frame()
    short, long = frame.rods
    shares = np.array([1.0, 1.1, 0.95])
    rods = (
        replace(short, length=short.length * float(shares[1])),
        replace(long, length=long.length * float(shares[2])),
    )
    camera = Camera(replace(frame, rods=rods))
    scale, _ = camera.solve(camera.nominal)
    weights = np.array([2.5, 0.8 * 1.1, 2.0 * 0.95]) ** 2
    assert float(scale) == pytest.approx(310.0 * float((weights / shares).sum() / weights.sum()))


# --- beside the target ----------------------------------------------------------------------------


def test_held_against_a_target() -> None:
    target = measures_of(places(l_thigh=-5.0), WHO)
    m = measure(Picture().frame(), WHO)
    held = {h.measure.name: h for h in held_against(target, m)}
    assert list(held) == [r.name for r in READ]
    gap = held["knee_gap"]
    assert gap.difference == pytest.approx(gap.measured - gap.target)
    assert gap.difference > gap.margin
    assert gap.clear
    same = held["trunk_lean_touchdown"]
    assert same.difference == pytest.approx(0.0, abs=1e-9)
    assert not same.clear
    assert [h.measure.name for h in held_against({"knee_gap": 0.3}, m)] == ["knee_gap"]


# --- refused --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shot", "rule"),
    [
        (Picture(scale=2.0), "must be a scale of 5 to 50000 pixels to the metre, got '2'"),
        (Picture(scale=60_000.0, at=(0.0, 0.0), marks=(-0.5, 0.5)), "pixels"),
        (
            Picture(parts=("hip", "support knee", "free knee"), words=("support", "free")),
            "toe and heel of the leg that is down needed, or a row runs with right or left",
        ),
        (
            Picture(parts=tuple(p for p in PLAIN if p not in ("support toe", "support heel"))),
            "for the direction",
        ),
    ],
)
def test_refused(shot: Picture, rule: str) -> None:
    with pytest.raises(BadInput, match=rule):
        measure(shot.frame(), WHO)


def test_joints_on_one_place_are_refused() -> None:
    frame = Picture().frame()
    body = {**frame.body, "near knee": frame.body["hip"]}
    with pytest.raises(BadInput, match="support knee and hip at least 2 cm apart needed"):
        measure(replace(frame, body=body), WHO)


def test_marks_that_no_scale_fits() -> None:
    frame = Picture(marks=(-1.0, 0.0, 1.0)).frame()
    a, b, c = frame.marks
    folded = (a, replace(b, at=c.at), replace(c, at=a.at))
    found = Camera(replace(frame, marks=folded)).solve(Camera(frame).nominal)[0]
    assert float(found) == pytest.approx(310.0)
    with pytest.raises(BadInput, match="a scale of"):
        measure(replace(frame, marks=folded), WHO)
