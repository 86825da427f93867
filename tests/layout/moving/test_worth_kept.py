"""Points of a curve kept and found again; what a topic asks of a landing."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from animate.body.stances import GRAVITY
from animate.motion.best import Best
from animate.motion.chain import LIMITS, Settings
from animate.motion.motion import Motion
from animate.motion.outcome import Outcome
from animate.motion.solver import library
from animate.motion.solver.freed import Freed, Terms, from_contact
from animate.motion.solver.interior import Point
from layout.commands.demo_ import plans
from layout.moving import worth, worth_jobs, worth_kept
from layout.moving.solved import at_hand
from layout.moving.worth import VARIED, curve, kept_curve, step_contact_of
from layout.moving.worth_kept import Kept, NotKept
from layout.moving.worth_topics import NAMES, TOPICS, asked, middle_of, read
from layout.plan.value import Plan
from layout.words.faults import BadInput


def motion_of(name: str = "drill-hop-step-sand-1") -> Motion:
    return Motion.load(library.FOLDER / f"{name}.json.gz")


def plan_of(name: str) -> Plan:
    return next(plan for stem, plan, _, _ in plans() if stem == f"{name}-hop-step-sand")


def part_of() -> Motion:
    return from_contact(motion_of(), step_contact_of(motion_of()))


def best_of(part: Motion) -> Best:
    values = [np.array([0.1 * k, 1 / 3]) for k in range(5)]
    outcome = Outcome(part, Point(*values), ("a", "b"), 0)
    return Best(outcome, (0.25,), 6.5, 1.0, ("flight time",), {"hip of the take-off leg": 0.5})


def test_a_point_comes_back_as_it_was_kept(tmp_path: Path) -> None:
    part, terms = part_of(), Terms(0.5)
    kept = Kept(part, tmp_path)
    assert kept.get(Settings(), terms) is None
    kept.put(Settings(), terms, best_of(part))
    found = kept.get(Settings(), terms)
    assert isinstance(found, Best)
    assert (found.further, found.speed, found.edges) == ((0.25,), 6.5, ("flight time",))
    assert found.outcome.labels == ("a", "b")
    np.testing.assert_allclose(found.outcome.point.low, [0.3, 1 / 3], atol=1e-11)
    assert kept.get(Settings(), Terms(0.6)) is None
    assert kept.get(Settings(knee_gap=0.3), terms) is None


def test_no_motion_is_kept_too_and_a_spoilt_file_is_as_good_as_none(tmp_path: Path) -> None:
    kept, terms = Kept(part_of(), tmp_path), Terms(0.5)
    kept.put(Settings(), terms, "none found")
    assert kept.get(Settings(), terms) == "none found"
    (path,) = tmp_path.iterdir()
    for data in (b"", b"{}", b"\x1f\x8b broken", b'{"further": 3}'):
        path.write_bytes(data)
        assert kept.get(Settings(), terms) is None


def test_with_nobody_to_solve_what_is_not_kept_is_not_at_hand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "motions"))
    with pytest.raises(NotKept):
        curve(motion_of(), "lever", "step", 1.0, workers=0)
    assert not (tmp_path / "motions" / "worth").exists()


def written(folder: Path) -> dict[str, int]:
    """The kept points, and when each was written."""
    return {p.name: p.stat().st_mtime_ns for p in (folder / "motions" / "worth").iterdir()}


class Cut(Exception):
    """Somebody cut it off."""


def at_once(part: Motion, settings: Settings, terms: Terms, start: Outcome | None = None) -> Best:
    """An answer that depends on all that is asked and on what it starts from, with nothing solved."""
    begun = np.full(4, 0.3) if start is None else start.point.x
    own = 1.0 + 0.1 * terms.strength - 50.0 * ((settings.trunk or 0.0) + 0.05) ** 2
    x = 0.01 * begun + own / (1.0 + np.arange(4.0))
    outcome = Outcome(part, Point(x, *[x / k for k in range(2, 6)]), ("a", "b"), 0)
    return Best(outcome, (0.1 * float(x.sum()),), 6.5, 1.0, (), {"hip": float(x[0])})


def test_a_curve_that_was_cut_off_goes_on_where_it_was_and_ends_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Solved in earnest it is by the desk: `test_worth_browser`."""
    monkeypatch.setattr(worth_jobs, "best", at_once)
    monkeypatch.setattr(
        worth_kept, "matched", lambda part, terms, *_: (terms, at_once(part, Settings(), terms))
    )
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "motions"))
    monkeypatch.setattr(worth, "STEPS", 1)
    monkeypatch.setattr(worth, "VARIED", VARIED[:1])
    monkeypatch.setattr(worth, "LEAST", 1)

    def cut(done: int, total: int) -> None:
        if len(list((tmp_path / "motions" / "worth").glob("*"))) >= 3:
            raise Cut

    motion = at_hand(plan_of("bram"))
    assert motion is not None
    with pytest.raises(Cut):
        curve(motion, "trunk", "step", 1.0, cut, workers=1)
    before = written(tmp_path)
    assert kept_curve(plan_of("bram"), "trunk", "step") is None
    told: list[tuple[int, int]] = []
    whole = curve(motion, "trunk", "step", 1.0, lambda *at: told.append(at), workers=1)
    assert told == sorted(told)
    with monkeypatch.context() as elsewhere:
        elsewhere.setenv("PHASEMARK_CACHE", str(tmp_path / "uncut"))
        uncut = curve(motion, "trunk", "step", 1.0, workers=1)
    assert [p.gain for p in uncut.points] == pytest.approx([p.gain for p in whole.points])
    assert len(whole.points) >= 3
    assert min(whole.margins) >= whole.apart
    after = written(tmp_path)
    again = kept_curve(plan_of("bram"), "trunk", "step")
    assert again is not None
    assert [p.gain for p in again.points] == pytest.approx([p.gain for p in whole.points])
    assert again.margins == pytest.approx(whole.margins)
    assert before.items() <= after.items(), "what was kept is not written again"
    assert written(tmp_path) == after
    assert kept_curve(plan_of("runa"), "trunk", "step") is None, "another athlete's"
    assert kept_curve(plan_of("bram"), "lever", "step") is None, "another question's"


def test_a_drill_without_one_step_is_refused() -> None:
    with pytest.raises(BadInput, match="one step"):
        step_contact_of(motion_of("drill-single-leg-hops-0"))


@pytest.mark.parametrize("rise", [0.05, 0.12, 0.2])
def test_another_hop_has_the_same_energy_and_lands_as_high(rise: float) -> None:
    part = part_of()
    _, terms, longer = asked(TOPICS["hops"], rise, part, Terms(0.5))
    assert terms.hop is not None
    phase = part.phases[1]
    assert math.hypot(*terms.hop) == pytest.approx(math.hypot(*phase.velocity))
    assert terms.hop[1] ** 2 / (2 * GRAVITY) == pytest.approx(rise)
    build = Freed(part, Settings(), terms)
    landing, usual = (b.places[2].landing for b in (build, Freed(part, Settings(), Terms(0.5))))
    assert landing is not None
    assert usual is not None
    plain = Freed(part, Settings(), Terms(0.5))
    assert build.low[landing[1]] == pytest.approx(plain.low[usual[1]])
    assert longer == pytest.approx(-build.back, abs=1e-9)


@pytest.mark.parametrize("name", TOPICS)
def test_a_topic_reads_what_it_asks_for(name: str) -> None:
    part, topic = part_of(), TOPICS[name]
    value = read(topic, part)
    assert math.isfinite(value)
    middle = middle_of(topic, 100.0)
    if name in NAMES:
        low, high, _ = LIMITS[NAMES[name]]
        assert low <= middle <= high
        assert getattr(asked(topic, middle, part, Terms(0.5))[0], NAMES[name]) == middle
