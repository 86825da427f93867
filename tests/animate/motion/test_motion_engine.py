"""Our mechanics against an independent rigid-body engine and against hand-computed cases."""

from __future__ import annotations

from typing import Any

import mujoco
import numpy as np
import pytest

from animate.body.body import SEGMENTS, Array, Body, body
from animate.body.pose import SEGMENT, segment_coms
from animate.body.stances import GRAVITY
from animate.motion.dynamics import ground_force, moments
from animate.motion.motion import Frames, Motion
from animate.motion.solver.library import shipped

# Parent of every segment, in an order in which parents come first.
TREE = {
    "trunk": "", "head": "trunk",
    **{s + a: b for s in ("r_", "l_") for a, b in (
        ("upper_arm", "trunk"), ("forearm", s + "upper_arm"), ("hand", s + "forearm"),
        ("thigh", "trunk"), ("shank", s + "thigh"), ("foot", s + "shank"))},
}  # fmt: skip
CHILDREN = {p: [c for c in TREE if TREE[c] == p] for p in ("", *TREE)}


def _xml(athlete: Body) -> str:
    """The athlete as the engine's own model: hinges about -y, all hanging down at zero."""
    length = dict(zip(SEGMENTS, athlete.lengths, strict=True))
    share = dict(zip(SEGMENTS, athlete.com, strict=True))
    mass = dict(zip(SEGMENTS, athlete.masses, strict=True))
    inertia = dict(zip(SEGMENTS, athlete.inertias, strict=True))

    def joint(name: str) -> tuple[float, float]:
        """Where the segment hangs in its parent's frame."""
        parent = TREE[name]
        if parent == "trunk":
            return (0.0, 0.0) if name.endswith("thigh") else (0.0, length["trunk"])
        return (0.0, -length[parent])

    def centre(name: str) -> tuple[float, float]:
        if name in ("trunk", "head"):
            return (0.0, length[name] * (1 - share[name]))
        if name.endswith("foot"):
            return (share[name] * length[name] - athlete.ankle[0], -athlete.ankle[1])
        return (0.0, -share[name] * length[name])

    def part(name: str) -> str:
        x, z = (0.0, 0.0) if name == "trunk" else joint(name)
        cx, cz = centre(name)
        joints = f'<joint name="{name}" type="hinge" axis="0 -1 0"/>'
        if name == "trunk":
            joints = (
                '<joint name="x" type="slide" axis="1 0 0"/>'
                '<joint name="z" type="slide" axis="0 0 1"/>' + joints
            )
        i = inertia[name]
        return (
            f'<body name="{name}" pos="{x} 0 {z}">{joints}'
            f'<inertial pos="{cx} 0 {cz}" mass="{mass[name]}" diaginertia="{i} {i} {i}"/>'
            + "".join(part(c) for c in CHILDREN[name])
            + "</body>"
        )

    return (
        f'<mujoco><compiler balanceinertia="false" boundmass="0"/>'
        f'<option gravity="0 0 -{GRAVITY}"><flag contact="disable"/></option>'
        f"<worldbody>{part('trunk')}</worldbody></mujoco>"
    )


class Engine:
    def __init__(self, athlete: Body) -> None:
        self.model = mujoco.MjModel.from_xml_string(_xml(athlete))
        self.data = mujoco.MjData(self.model)
        self.at = {n: self.model.joint(n).qposadr[0] for n in ("x", "z", *TREE)}

    def _relative(self, absolute: Array) -> Array:
        out = np.zeros(self.model.nq)
        for name, parent in TREE.items():
            base = absolute[SEGMENT[parent]] if parent else 0.0
            out[self.at[name]] = absolute[SEGMENT[name]] - base
        return out

    def put(self, f: Frames, i: int, hip: tuple[Array, Array]) -> Any:
        """Set one frame; `hip` is the hip's velocity and acceleration."""
        d = self.data
        for target, angles, point in (
            (d.qpos, f.angles[i], f.hip[i]),
            (d.qvel, f.rates[i], hip[0]),
            (d.qacc, f.accelerations[i], hip[1]),
        ):
            target[:] = self._relative(angles)
            target[self.at["x"]], target[self.at["z"]] = point
        mujoco.mj_inverse(self.model, d)
        mujoco.mj_subtreeVel(self.model, d)
        return d


def _hip_motion(f: Frames, motion: Motion) -> tuple[Array, Array]:
    """Velocity and acceleration of the hip from those of the centre of mass, by the chain rule."""
    from animate.motion.motion import placed
    from animate.motion.solver.form import offsets

    com = offsets(motion.body)["com"][None]
    _, v, a = placed(f.angles, f.rates, f.accelerations, com)
    return f.com_velocity - v[:, 0], f.com_acceleration - a[:, 0]


MOTIONS = [
    p for p in shipped() if p.name.startswith(("triple-175.", "hops-175", "two-hops-step-175."))
]


@pytest.mark.parametrize("path", MOTIONS, ids=lambda p: p.name)
def test_the_engine_agrees(path: Any) -> None:
    motion = Motion.load(path)
    engine = Engine(motion.body)
    compared = 0
    for k, phase in enumerate(motion.phases):
        sand = phase.slot.support.surface == "sand"
        if phase.slot.kind == "contact" and sand:
            continue
        t = motion.starts[k] + phase.duration * np.linspace(0.02, 0.98, 7)
        f = motion.frames(t, k)
        velocity, acceleration = _hip_motion(f, motion)
        side = phase.slot.support.side if phase.slot.kind == "contact" else ""
        force, about = ground_force(motion, f)
        ours = moments(motion, f, force, about, side)
        for i in range(len(t)):
            d = engine.put(f, i, (velocity[i], acceleration[i]))
            com = d.subtree_com[1]
            np.testing.assert_allclose(com[[0, 2]], f.com[i], atol=1e-9)
            np.testing.assert_allclose(-d.subtree_angmom[1][1], f.momentum[i], atol=1e-7)
            np.testing.assert_allclose(d.subtree_linvel[1][[0, 2]], f.com_velocity[i], atol=1e-8)
            need = d.qfrc_inverse
            root = need[[engine.at["x"], engine.at["z"]]]
            np.testing.assert_allclose(root, force[i], atol=1e-5)
            # Moment of the ground force about the hip, from the engine's root hinge.
            hip = f.hip[i]
            want = about[i] - (hip[0] * force[i, 1] - hip[1] * force[i, 0])
            np.testing.assert_allclose(need[engine.at["trunk"]], want, atol=1e-4)
            _joints(engine, d, f, i, side, force[i], about[i], ours)
            compared += 1
    assert compared > 30


def _joints(
    engine: Engine, d: Any, f: Frames, i: int, side: str, force: Array, about: float,
    ours: dict[str, Array],
) -> None:  # fmt: skip
    applied = np.zeros(engine.model.nv)
    if side:
        point = np.array([(about) / force[1] if abs(force[1]) > 1 else 0.0, 0.0, 0.0])
        foot = engine.model.body(f"{side}_foot").id
        mujoco.mj_applyFT(
            engine.model, d, np.array([force[0], 0.0, force[1]]), np.zeros(3), point, foot, applied
        )
        if abs(force[1]) <= 1:
            return
    left = d.qfrc_inverse - applied
    for s in ("r", "l"):
        for joint, segment in (
            ("ankle", "foot"), ("knee", "shank"), ("hip", "thigh"), ("elbow", "forearm"),
            ("shoulder", "upper_arm"),
        ):  # fmt: skip
            np.testing.assert_allclose(
                left[engine.at[f"{s}_{segment}"]], ours[f"{s}_{joint}"][i], atol=2e-4
            )
    # What is left on the root is nothing: the ground force explains the whole motion.
    if side:
        free = left[[engine.at["x"], engine.at["z"], engine.at["trunk"]]]
        np.testing.assert_allclose(free, 0.0, atol=1e-3)


@pytest.mark.parametrize("build", ["male", "female", "average"])
def test_the_whole_bodys_inertia(build: Any) -> None:
    athlete = body(1.70, 62.0, build)
    engine = Engine(athlete)
    rng = np.random.default_rng(3)
    angles = rng.uniform(-1, 1, (5, len(SEGMENTS)))
    from animate.body.pose import centre_of_mass, joints

    for a in angles:
        engine.data.qpos[:] = engine._relative(a)
        mujoco.mj_forward(engine.model, engine.data)
        full = np.zeros((engine.model.nv, engine.model.nv))
        mujoco.mj_fullM(engine.model, engine.data, full)
        place = joints(athlete, a, np.zeros(2))
        com = centre_of_mass(athlete, place)
        r = segment_coms(athlete, place) - com
        ours = float(athlete.masses @ (r**2).sum(axis=1) + athlete.inertias.sum())
        about_hip = full[engine.at["trunk"], engine.at["trunk"]]
        assert about_hip - athlete.mass * float(com @ com) == pytest.approx(ours, rel=1e-9)
        assert full[0, 0] == pytest.approx(athlete.mass)


def test_a_body_at_rest_by_hand() -> None:
    """Standing still: the ground carries the weight and an unbent leg needs no knee moment."""
    athlete = body(1.75, 70.0)
    engine = Engine(athlete)
    engine.data.qpos[:] = 0
    engine.data.qvel[:] = 0
    engine.data.qacc[:] = 0
    mujoco.mj_inverse(engine.model, engine.data)
    assert engine.data.qfrc_inverse[engine.at["z"]] == pytest.approx(70.0 * GRAVITY)
    # A foot hanging from the ankle: m g times its centre's distance ahead of the ankle, turning it
    # down (-); the moment that holds it is the opposite.
    i = SEGMENT["r_foot"]
    arm = athlete.com[i] * athlete.lengths[i] - athlete.ankle[0]
    assert engine.data.qfrc_inverse[engine.at["r_foot"]] == pytest.approx(
        athlete.masses[i] * GRAVITY * arm
    )
