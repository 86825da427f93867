"""Solved motions: do they keep what they promise, between the solver's points too."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from animate.body.body import SEGMENTS
from animate.body.pose import JOINT, SEGMENT, centre_of_mass, joints
from animate.body.stances import GRAVITY
from animate.film.ground import SAND_DEPTH
from animate.motion.chain import Settings
from animate.motion.check import check
from animate.motion.motion import Motion
from animate.motion.solver.form import basis
from animate.motion.solver.library import shipped

FILES = shipped()
NAMES = [p.name.removesuffix(".json.gz") for p in FILES]


def load(name: str) -> Motion:
    return Motion.load(FILES[NAMES.index(name)])


@pytest.fixture(scope="module")
def triple() -> Motion:
    return load("triple-175")


def test_there_is_a_library() -> None:
    assert len(FILES) >= 12
    assert sum(p.stat().st_size for p in FILES) < 3_000_000


@pytest.mark.parametrize("name", NAMES)
def test_every_shipped_motion_holds(name: str) -> None:
    motion = load(name)
    report = check(motion, 0.001)
    assert report.faults == ()
    for flight in report.flights:
        assert flight.parabola <= 1e-3
        mean = flight.drift / max(flight.drift_share, 1e-12)
        assert flight.drift <= max(0.01 * mean, 0.02)
    for contact in report.contacts:
        assert contact.slip <= 2e-3
        assert contact.penetration <= 2e-3
        assert contact.mark <= 2e-3
        assert contact.least >= -1e-3
        assert contact.impulse <= 0.01
        assert max(abs(contact.speed_in), abs(contact.speed_out), abs(contact.rise_out)) <= 0.1
    assert report.segment <= 1e-9
    assert report.limits == {}
    assert report.velocity <= 1e-2


@pytest.mark.parametrize("name", NAMES)
def test_bodies_come_to_rest_in_sand(name: str) -> None:
    """Down and never up, both feet slow at the end, the seat over the sand, the foot within it."""
    motion = load(name)
    last = motion.chain.supports[-1]
    if last.surface != "sand":
        return
    down, end = motion.starts[-2:]
    f = motion.frames(np.linspace(down, end, 300), len(motion.phases) - 1)
    assert f.com_velocity[:, 1].max() <= 0.1
    assert f.com_velocity[-1, 1] >= -0.7
    assert f.com_velocity[-1, 0] <= (1.6 if last.side == "both" else last.vx_in)
    assert f.positions[:, JOINT["hip"], 1].min() >= 0.05 * motion.body.stature
    stance = ("r", "l") if last.side == "both" else (last.side,)
    feet = f.positions[:, [JOINT[f"{s}_{e}"] for s in stance for e in ("heel", "toe")], 1]
    assert feet.min() >= -SAND_DEPTH


def test_the_parabola_by_hand(triple: Motion) -> None:
    for k in (1, 3, 5, 7):
        start, end = triple.starts[k], triple.starts[k + 1]
        t = np.linspace(start, end, 57)
        f = triple.frames(t, k)
        com = centre_of_mass(triple.body, joints(triple.body, f.angles, f.hip))
        off = triple.frames(np.array([start]), k - 1)
        s = t - start
        x = off.com[0, 0] + off.com_velocity[0, 0] * s
        z = off.com[0, 1] + off.com_velocity[0, 1] * s - GRAVITY * s**2 / 2
        assert np.abs(com[:, 0] - x).max() < 1e-3
        assert np.abs(com[:, 1] - z).max() < 1e-3


def test_rates_are_the_slopes_of_the_angles(triple: Motion) -> None:
    h = 1e-5
    for k, phase in enumerate(triple.phases):
        t = triple.starts[k] + phase.duration * np.linspace(0.03, 0.97, 41)
        a, b, c = (triple.frames(t + d, k) for d in (-h, 0.0, h))
        assert np.abs((c.angles - a.angles) / (2 * h) - b.rates).max() < 1e-3
        assert np.abs((c.rates - a.rates) / (2 * h) - b.accelerations).max() < 2.0
        assert np.abs((c.com - a.com) / (2 * h) - b.com_velocity).max() < 1e-4
        assert np.abs((c.com_velocity - a.com_velocity) / (2 * h) - b.com_acceleration).max() < 0.1
        assert np.abs((c.momentum - a.momentum) / (2 * h) - b.momentum_rate).max() < 0.5


def test_angular_momentum_by_hand(triple: Motion) -> None:
    """Sum of m r x v and I w from finite differences of the segments' positions."""
    from animate.body.pose import segment_coms

    h, t = 1e-5, np.array([0.5, 1.1, 1.6])
    body = triple.body
    before, here, after = (triple.frames(t + d) for d in (-h, 0.0, h))
    place = segment_coms(body, here.positions) - here.com[:, None]
    moved = segment_coms(body, after.positions) - after.com[:, None]
    moved = moved - (segment_coms(body, before.positions) - before.com[:, None])
    v = moved / (2 * h)
    cross = place[..., 0] * v[..., 1] - place[..., 1] * v[..., 0]
    turn = (after.angles - before.angles) / (2 * h)
    want = cross @ body.masses + turn @ body.inertias
    np.testing.assert_allclose(here.momentum, want, rtol=1e-5, atol=1e-5)


def test_mirrored_is_the_mirror(triple: Motion) -> None:
    mirror = triple.mirrored()
    t = np.linspace(0, triple.duration, 301)
    a, b = triple.frames(t), mirror.frames(t)
    np.testing.assert_allclose(a.com, b.com, rtol=0, atol=1e-12)  # the order of summing
    np.testing.assert_allclose(a.momentum, b.momentum, rtol=0, atol=1e-9)
    for name, i in SEGMENT.items():
        swapped = {"r_": "l_", "l_": "r_"}.get(name[:2], name[:2]) + name[2:]
        np.testing.assert_array_equal(a.angles[:, i], b.angles[:, SEGMENT[swapped]])
    assert mirror.chain == triple.chain.mirrored()
    assert check(mirror).faults == ()


def test_a_file_gives_the_same_motion_back(triple: Motion, tmp_path: Path) -> None:
    for name in ("m.json", "m.json.gz"):
        triple.save(tmp_path / name)
        again = Motion.load(tmp_path / name)
        t = np.linspace(0, again.duration, 97)
        np.testing.assert_allclose(
            again.frames(t).positions, triple.frames(t).positions, rtol=0, atol=1e-7
        )
        assert again.chain == triple.chain
        assert again.settings == triple.settings
    assert sorted(p.name for p in tmp_path.iterdir()) == ["m.json", "m.json.gz"]


@pytest.mark.parametrize(
    "spoil",
    [b"", b"{", b"[]", b'{"version": 99}', b'{"version": 1}', b"\x1f\x8bnot", b"\xff\xfe"],
)
def test_a_broken_file_is_named(spoil: bytes, tmp_path: Path) -> None:
    path = tmp_path / "broken.json"
    path.write_bytes(spoil)
    with pytest.raises(ValueError, match=r"broken\.json: "):
        Motion.load(path)
    with pytest.raises(ValueError, match=r"none\.json: "):
        Motion.load(tmp_path / "none.json")


def test_figures_that_are_not_numbers_are_refused(triple: Motion, tmp_path: Path) -> None:
    data = triple.as_dict()
    data["phases"][0]["angles"][0][0] = math.nan
    path = tmp_path / "nan.json"
    path.write_text(json.dumps(data))
    with pytest.raises(ValueError, match="angles of phase 1"):
        Motion.load(path)


def test_a_file_is_written_whole_or_not_at_all(
    triple: Motion, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.json"
    path.write_bytes(b"old")

    def broken(*_: object) -> None:
        raise OSError("disk full")

    with monkeypatch.context() as patch:
        patch.setattr("animate.whole_file.os.replace", broken)
        with pytest.raises(ValueError, match="disk full"):
            triple.save(path)
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.json"]
    triple.save(path)
    assert Motion.load(path).chain == triple.chain


def test_times_outside_are_refused(triple: Motion) -> None:
    for bad in ([math.nan], [-0.1], [triple.duration + 0.1], [[0.1]]):
        with pytest.raises(ValueError, match="times: "):
            triple.frames(np.array(bad))
    with pytest.raises(ValueError, match=r"dt: "):
        check(triple, 0.5)


def test_times_and_marks_of_the_events(triple: Motion) -> None:
    assert len(triple.touchdowns) == len(triple.chain.supports)
    np.testing.assert_allclose(triple.flight_times + triple.contact_times[:-1],
                               np.diff(triple.touchdowns))  # fmt: skip
    f = triple.frames(triple.touchdowns)
    for i, s in enumerate(triple.chain.supports[:-1]):
        assert abs(f.positions[i, JOINT[f"{s.side}_toe"], 0] - s.toe) < 0.01  # toe up: rolled down
        assert abs(f.positions[i, JOINT[f"{s.side}_heel"], 1]) < 2e-3
    heel = f.positions[-1, JOINT["r_heel"]]
    assert abs(heel[0] - triple.chain.supports[-1].toe) < 2e-3


def test_the_setting_is_met() -> None:
    for name, gap in (("triple-175-gap25", 0.25), ("triple-175-gap45", 0.45)):
        motion = load(name)
        f = motion.frames(motion.touchdowns[2:3])
        knees = f.positions[0, [JOINT["r_knee"], JOINT["l_knee"]], 0]
        assert abs(knees[0] - knees[1] - gap) < 0.005
    for name, bend in (("triple-175-bend55", 55), ("triple-175-bend115", 115)):
        motion = load(name)
        a = motion.frames(motion.touchdowns[2:3]).angles[0]
        assert abs(np.degrees(a[SEGMENT["l_thigh"]] - a[SEGMENT["l_shank"]]) - bend) < 1.1
    motion = load("triple-175-thigh86")
    t = np.linspace(motion.takeoffs[2], motion.touchdowns[3], 400)
    thigh = np.degrees(motion.frames(t).angles[:, SEGMENT["l_thigh"]])
    high = t[thigh >= 86 - 4]
    assert np.ptp(high) >= 0.12
    assert np.diff(high).max() < 0.01


def test_bases_sum_to_one_and_slope_right() -> None:
    breaks = np.array([0, 0.12, 0.25, 0.4, 0.55, 0.7, 0.85, 1.0])
    at = np.linspace(0, 1, 201)
    np.testing.assert_allclose(basis(breaks, at).sum(axis=1), 1.0)
    inner = np.linspace(0.01, 0.99, 95)
    h = 1e-6
    for d in (0, 1, 2):
        slope = (basis(breaks, inner + h, d) - basis(breaks, inner - h, d)) / (2 * h)
        np.testing.assert_allclose(slope, basis(breaks, inner, d + 1), rtol=1e-3, atol=2e-2 * 10**d)


def test_default_settings_are_kept(triple: Motion) -> None:
    assert triple.settings == Settings()
    assert len(SEGMENTS) == triple.frames(np.array([0.1])).angles.shape[1]
