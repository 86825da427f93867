"""What it is worth on the desk: asked for, worked out, shown point by point, or not to be told."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from dataclasses import replace
from multiprocessing import active_children
from pathlib import Path

import numpy as np
import pytest

from animate.motion.best import Best
from animate.motion.motion import Motion
from animate.motion.outcome import Outcome
from animate.motion.solver import library
from animate.motion.solver.freed import Terms, from_contact
from animate.motion.solver.interior import Point
from layout.desk import worth as desk_worth
from layout.desk.worth import Work, about, begin, stop
from layout.moving import worth
from layout.moving.solved import motion_of, with_motion
from layout.moving.worth import At, Worth
from layout.moving.worth_topics import TOPICS
from layout.plan.value import Plan
from tests.layout.desk.desks import Asked, asked


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    with asked(tmp_path_factory.mktemp("desk")) as made:
        yield made


def made_curve() -> Worth:
    """A curve of three points, their motions the library's own."""
    motion = Motion.load(library.FOLDER / "drill-hop-step-sand-1.json.gz")
    number = next(i for i, s in enumerate(motion.chain.supports) if s.leave == "step")
    none = np.zeros(0)
    part = from_contact(motion, number)
    best = Best(Outcome(part, Point(*(none,) * 5), (), 0), (0.0,), 6.5, 1.0, (), {})
    points = (At(1.0, -0.30, best), At(1.2, 0.0, replace(best, speed=6.4)), At(1.4, -0.02, best))
    margins = (0.05, 0.0, 0.01)
    return Worth(TOPICS["lever"], "step", points, ("", ""), margins, Terms(0.5), 0.8, 0.01)


def test_nothing_is_worked_out_before_it_is_asked_for(desk: Asked) -> None:
    page = desk.set_out("Imka", "hop-step-sand", "/worth", of="lever")
    assert page.status_code == 200
    assert "Not worked out yet" in page.text
    assert "not a measurement" in page.text
    assert "work=1" in page.text


def test_what_goes_against_the_published_is_not_shown(desk: Asked) -> None:
    page = desk.set_out("Imka", "hop-step-sand", "/worth", of="knees")
    assert "It can&#39;t be told" in page.text or "It can't be told" in page.text
    assert "Kong &amp; Zhou 1999" in page.text
    assert "<svg" not in page.text.partition("<main")[2]


@pytest.mark.parametrize(
    ("drill", "more", "said"),
    [
        ("hop-step-sand", {"of": "feet"}, "of: must be one of"),
        ("hop-step-sand", {"aim": "far"}, "aim: must be one of"),
        ("single-leg-hops", {}, "needs a drill with one step"),
    ],
)
def test_what_cannot_be_asked_is_refused(
    desk: Asked, drill: str, more: dict[str, str], said: str
) -> None:
    page = desk.set_out("Imka", drill, "/worth", **more)
    assert page.status_code == 400
    assert said in page.text


def test_a_curve_is_shown_point_by_point(desk: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worth, "kept_curve", lambda *_: made_curve())
    page = desk.set_out("Imka", "hop-step-sand", "/worth", of="lever", aim="step")
    assert "at 123° it costs 30 cm ± 5 cm" in page.text
    assert "111°: best found" in page.text
    third = desk.set_out("Imka", "hop-step-sand", "/worth", of="lever", aim="step", at="0")
    assert "123°: −30 cm, ± 5 cm" in third.text
    for beyond in ("3", "²"):
        wrong = desk.set_out("Imka", "hop-step-sand", "/worth", of="lever", aim="step", at=beyond)
        assert wrong.status_code == 400
        assert "at: must be a number from 0 to 2" in wrong.text


def test_work_under_way_is_not_begun_twice_and_a_dead_one_is_none(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, a_plan: Plan
) -> None:
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "motions"))
    started: list[str] = []

    class Process:
        pid = 1  # always there

        def __init__(self, **given: object) -> None:
            started.append(str(given["args"]))

        def start(self) -> None:
            pass

    class Context:
        pass

    Context.Process = Process  # type: ignore[attr-defined]
    monkeypatch.setattr(desk_worth, "get_context", lambda _: Context)
    monkeypatch.setattr(desk_worth.os, "kill", lambda pid, _: None)
    assert about(a_plan, "lever", "step") == Work("none")
    assert begin(a_plan, "lever", "step").state == "working"
    assert begin(a_plan, "lever", "step").state == "working"
    assert len(started) == 1

    (note,) = (tmp_path / "motions" / "worth").iterdir()
    os.utime(note, (1.0, 1.0))
    assert about(a_plan, "lever", "step") == Work("none")
    os.utime(note)

    def gone(pid: int, _: int) -> None:
        raise ProcessLookupError

    monkeypatch.setattr(desk_worth.os, "kill", gone)
    assert about(a_plan, "lever", "step") == Work("none")


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no such processes here")
def test_work_whose_process_was_killed_is_none(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, a_plan: Plan
) -> None:
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "motions"))
    assert begin(a_plan, "lever", "step").state == "working"
    (child,) = (p for p in active_children() if p.name.startswith("SpawnProcess"))
    assert child.pid is not None
    os.kill(child.pid, signal.SIGKILL)
    os.waitid(os.P_PID, child.pid, os.WEXITED | os.WNOWAIT)  # ended, and nobody was told
    assert about(a_plan, "lever", "step") == Work("none")


def test_work_is_found_again_once_the_motion_has_told_its_plan_more(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, a_plan: Plan
) -> None:
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "motions"))
    path = desk_worth._note(a_plan, "lever", "step")
    desk_worth._write(path, {"pid": os.getpid(), "done": 3, "of": 40})
    told = with_motion(a_plan, motion_of(a_plan))
    assert told != a_plan
    assert about(told, "lever", "step") == Work("working", 3, 40)
    assert about(told, "lever", "both") == about(told, "trunk", "step") == Work("none")


@pytest.fixture
def a_plan() -> Plan:
    from layout.commands.demo_ import plans

    return next(plans())[1]


def test_work_that_is_stopped_ends_after_its_motion_and_goes_on(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, a_plan: Plan
) -> None:
    """The note as the working process writes it; stopping, going on, and the process's own end."""
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "motions"))
    path = desk_worth._note(a_plan, "lever", "step")
    assert stop(a_plan, "lever", "step") == Work("none"), "nothing to stop"
    desk_worth._write(path, {"pid": os.getpid(), "done": 3, "of": 40})
    assert stop(a_plan, "lever", "step") == Work("stopped", 3, 40)
    assert begin(a_plan, "lever", "step") == Work("working", 3, 40), "it had not ended yet"

    def solves(*given: object, **_: object) -> None:
        tell = given[4]
        assert callable(tell)
        tell(4, 40)
        assert about(a_plan, "lever", "step") == Work("working", 4, 40)
        stop(a_plan, "lever", "step")
        tell(5, 40)
        raise AssertionError("went on")

    monkeypatch.setattr(desk_worth, "curve", solves)
    desk_worth._work(a_plan, "lever", "step", str(path))
    assert "pid" not in path.read_text(encoding="utf-8")
    assert about(a_plan, "lever", "step") == Work("stopped", 5, 40)


def test_the_sheet_is_printed_where_the_curve_is_kept(
    desk: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted = {"of": "lever", "aim": "step"}
    none = desk.set_out("Imka", "hop-step-sand", "/worth.pdf", **wanted)
    assert (none.status_code, "not worked out yet" in none.text) == (400, True)
    closed = desk.set_out("Imka", "hop-step-sand", "/worth.pdf", of="knees")
    assert (closed.status_code, "Kong &amp; Zhou" in closed.text) == (400, True)
    monkeypatch.setattr(worth, "kept_curve", lambda *_: made_curve())
    assert "/worth.pdf?" in desk.set_out("Imka", "hop-step-sand", "/worth", **wanted).text
    sheet = desk.set_out("Imka", "hop-step-sand", "/worth.pdf", **wanted)
    assert sheet.content.startswith(b"%PDF")
