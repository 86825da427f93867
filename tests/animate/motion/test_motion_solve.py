"""Finding motions: one real solve of a short chain, the cache, the library, what is refused."""

from __future__ import annotations

import pickle
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import animate.motion.solve as solver
from animate.body.body import body
from animate.motion.chain import Chain, Settings, Support, structure
from animate.motion.check import check
from animate.motion.motion import Motion
from animate.motion.outcome import NotFound, Stopped
from animate.motion.shipping import chain_for, shelf, sketches
from animate.motion.solve import canonical, find, fingerprint, outcome, solve
from animate.motion.solver.form import FREE, slots
from animate.motion.solver.library import features, motions, nearest, patchwork, shipped
from animate.motion.solver.reference import keys, pulls, reference, tables
from animate.motion.solver.tuning import CONTACT_TIME

ATHLETE = body(1.75, 70.0)
STRIDE = Chain(
    (
        Support("l", 0.0, "run", "run", 6.5, 6.5, 0.4, 0.128),
        Support("r", 1.42, "run", "end", 6.5, 6.5, 0.0, 0.13),
    ),
    (0.093,),
)


@pytest.fixture(scope="module")
def stride() -> tuple[Motion, list[int]]:
    told: list[int] = []

    def tell(done: int, of: int) -> None:
        assert 0 < done <= of
        told.append(done)

    return solve(STRIDE, ATHLETE, progress=tell), told


def test_a_short_chain_is_solved_and_holds(stride: tuple[Motion, list[int]]) -> None:
    motion, told = stride
    assert check(motion).faults == ()
    assert motion.chain == STRIDE
    assert abs(motion.contact_times[0] - STRIDE.supports[0].duration) <= CONTACT_TIME + 1e-9
    assert told == sorted(told)
    assert len(told) > 5


def test_the_next_setting_goes_on_from_the_last_and_can_be_stopped() -> None:
    """An outcome keeps where the solver stood, also through a pickle and for the other leg."""
    near = min(
        (m for m in motions() if m.chain.supports[-1].surface == "track"),
        key=lambda m: len(m.phases),
    )
    asked = near.chain.mirrored(), near.body
    first = outcome(*asked, near.settings, near.mirrored())
    moved = replace(near.settings, trunk=(near.settings.trunk or -0.05) + 0.02)
    again = outcome(*asked, moved, pickle.loads(pickle.dumps(first)))
    cold = outcome(*asked, moved, near.mirrored())
    assert again.steps < cold.steps
    assert check(again.motion).faults == ()
    assert again.motion.chain == asked[0]
    apart = again.motion.frames(again.motion.touchdowns).angles
    other = cold.motion.frames(cold.motion.touchdowns).angles
    assert np.abs(apart - other).max() < np.radians(15)
    with pytest.raises(Stopped):
        outcome(*asked, moved, near.mirrored(), stop=lambda: True)


def test_the_cache_gives_it_back(
    stride: tuple[Motion, list[int]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls: list[Chain] = []

    def counted(chain: Chain, *_: object) -> Motion:
        calls.append(chain)
        return stride[0]

    monkeypatch.setattr(solver, "solve", counted)
    monkeypatch.setenv(solver.CACHE_VARIABLE, str(tmp_path / "kept"))
    first = find(STRIDE, ATHLETE)
    again = find(STRIDE, ATHLETE)
    assert len(calls) == 1
    t = np.linspace(0, first.duration - 1e-6, 50)
    np.testing.assert_allclose(
        again.frames(t).positions, first.frames(t).positions, rtol=0, atol=1e-6
    )
    (kept,) = (tmp_path / "kept").iterdir()
    kept.write_text("{damaged")
    find(STRIDE, ATHLETE)
    assert len(calls) == 2
    assert Motion.load(kept).chain == STRIDE
    find(STRIDE, body(1.76, 70.0))
    assert len(calls) == 3


def test_a_left_legged_athlete_gets_the_mirror(
    stride: tuple[Motion, list[int]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solved: list[Chain] = []

    def once(chain: Chain, *_: object) -> Motion:
        solved.append(chain)
        return stride[0]

    monkeypatch.setattr(solver, "solve", once)
    assert canonical(STRIDE)
    assert not canonical(STRIDE.mirrored())
    right = find(STRIDE, ATHLETE, cache=tmp_path)
    left = find(STRIDE.mirrored(), ATHLETE, cache=tmp_path)
    assert solved == [STRIDE]
    assert left.chain == right.chain.mirrored()
    t = np.linspace(0, right.duration - 1e-6, 40)
    np.testing.assert_allclose(left.frames(t).com, right.frames(t).com, rtol=0, atol=1e-6)


def test_a_cache_that_cannot_be_written_is_no_fault(
    stride: tuple[Motion, list[int]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(solver, "solve", lambda *_: stride[0])
    (tmp_path / "file").write_text("")
    assert find(STRIDE, ATHLETE, cache=tmp_path / "file").chain == STRIDE


def test_out_of_reach_is_refused_before_any_solving() -> None:
    far = Chain((STRIDE.supports[0], replace(STRIDE.supports[1], toe=4.0)), STRIDE.flights)
    with pytest.raises(ValueError, match=r"contact 2 toe: .* out of reach"):
        solve(far, ATHLETE)
    with pytest.raises(ValueError, match=r"contact 2 toe: .* out of reach"):
        find(far, ATHLETE)


def test_no_time_to_solve_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    chain = chain_for(sketches()[0], ATHLETE)
    with pytest.raises(NotFound, match=r"motion: none found \(after 0\.1 s\)"):
        solve(chain, ATHLETE, limit=0.1)
    import animate.motion.solver.run as run

    monkeypatch.setattr(run, "LONG", 3)
    with pytest.raises(NotFound, match=r"motion: none found \(hardest: .*, off by .*\)"):
        solve(chain, ATHLETE)


def test_the_fingerprint_tells_requests_apart() -> None:
    plain = fingerprint(STRIDE, ATHLETE, Settings())
    assert plain == fingerprint(STRIDE, body(1.75, 70.0), Settings())
    assert plain != fingerprint(STRIDE, body(1.75, 71.0), Settings())
    assert plain != fingerprint(STRIDE, ATHLETE, Settings(knee_gap=0.3))
    assert plain != fingerprint(STRIDE.mirrored(), ATHLETE, Settings())


def test_the_nearest_of_the_library_is_of_the_same_kind_and_near() -> None:
    for motion in motions():
        near = nearest(motion.chain, motion.body, motion.settings)
        assert near is not None
        assert structure(near.chain) == structure(motion.chain)
        own = features(motion.chain, motion.body, motion.settings)
        assert np.allclose(features(near.chain, near.body, near.settings), own)
    tall = body(1.90, 85.0)
    triple = chain_for(sketches()[0], tall)
    near = nearest(triple, tall, Settings(arms="together"))
    assert near is not None
    assert nearest(STRIDE, ATHLETE, Settings()) is None


def test_a_patchwork_fits_its_chain() -> None:
    bounds = next(s for s in sketches() if s.name == "bounds")
    long = replace(
        bounds,
        moves=("run", *("step",) * 7),
        sides=("l", "r", "l", "r", "l", "r", "l", "r", "l"),
        rises=(0.4, *(1.7,) * 7),
    )
    chain = chain_for(long, ATHLETE)
    start = patchwork(chain, ATHLETE, Settings())
    assert start is not None
    assert len(start.phases) == 2 * len(chain.supports) - 1
    for phase, slot in zip(start.phases, [p.slot for p in start.phases], strict=True):
        assert phase.angles.shape[0] == slot.count


def test_key_poses_meet_their_rows() -> None:
    """The reference passes through the authored poses, and every row says why."""
    chain = chain_for(sketches()[0], ATHLETE)
    where, poses = keys(chain, Settings())
    assert (np.diff(where) > 0).all()
    for w, pose in zip(where, poses, strict=True):
        phase = min(int(w), len(chain.supports) + len(chain.flights) - 1)
        if w - phase < 1:
            got = reference(chain, Settings(), phase, np.array([w - phase]))[0]
            np.testing.assert_allclose(got, pose, atol=1e-6)

    def rows(table: object) -> list[dict[str, object]]:
        if isinstance(table, list):
            return [r for t in table for r in rows(t)]
        assert isinstance(table, dict)
        if "pose" in table or "arms" in table:
            return [table]
        return [r for t in table.values() for r in rows(t)]

    found = rows(tables())
    assert len(found) > 30
    for row in found:
        assert isinstance(row["why"], str)
        assert len(row["why"]) > 5
        assert len(row.get("pose", [0] * 11)) == 11  # type: ignore[arg-type]


def test_what_a_coach_looks_for_is_pulled_harder_on_its_own_side() -> None:
    """The heel of the take-off leg in a hop: that leg's knee and no arm, mirrored with the legs."""
    chain = chain_for(sketches()[0], ATHLETE)
    for made, side in ((chain, "r"), (chain.mirrored(), "l")):
        index = next(
            k for k, s in enumerate(slots(made)) if s.kind == "flight" and s.support.leave == "hop"
        )
        slot = slots(made)[index]
        hard = pulls(slot, None, None, np.array([0.0, 0.4, 0.9]))
        assert slot.support.side == side
        assert hard[1, FREE.index(f"{side}_knee")] > 1
        assert (hard >= 1).all()
        assert (hard[[0, 2]] == 1).all()
        arms = [i for i, name in enumerate(FREE) if name.endswith(("arm", "elbow"))]
        assert (hard[:, arms] == 1).all()


def test_reading_a_motion_needs_no_optimiser() -> None:
    code = (
        "import sys; import animate.motion.motion, animate.motion.solve, animate.motion.check\n"
        "from animate.motion.solver.library import motions; motions()\n"
        "bad = [m for m in ('casadi', 'scipy', 'mujoco', 'matplotlib') if m in sys.modules]\n"
        "assert not bad, bad"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def test_the_library_is_what_the_sketches_make() -> None:
    files = {p.name: p for p in shipped()}
    rows = list(shelf())
    assert {n for n, *_ in rows} == {n for n in files if not n.startswith(("drill-", "plan-"))}
    for name, chain, who, settings in rows[::7]:
        motion = Motion.load(files[name])
        assert motion.chain.digest == (chain if canonical(chain) else chain.mirrored()).digest
        assert (motion.body.stature, motion.settings) == (who.stature, settings)
