"""A whole squad into a folder: all or told, once, and by any executor."""

from __future__ import annotations

import datetime
import json
import pickle
import shutil
import sys
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest

from layout.commands.squad_text import card_bytes
from layout.plan.drill import catalogue
from layout.plan.spacing import make_plan
from layout.plan.stored import from_json
from layout.plan.venue import venues
from layout.squad.batch import Settings, athlete_files, run_batch, squad_files
from layout.squad.roster import Member
from layout.squad.work import LEDGER, Ledger, Report, Work
from layout.words.faults import BadInput
from tests.strategies import member

DRILLS = tuple(catalogue()[d] for d in ("hop-step-sand", "two-hops-step-track"))
SETTINGS = Settings(venues()["marram-point"], datetime.date(2026, 5, 1))
SQUAD = tuple(Member(member(n), file=f"{n}.toml") for n in ("odalys", "sefa", "imka"))
CHILD = Member(member("runa"), file="runa.toml")


class Here(Executor):
    """Work done at once in this process, counted."""

    def __init__(self) -> None:
        self.count = 0

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.count += 1
        future: Future[Any] = Future()
        future.set_result(fn(*pickle.loads(pickle.dumps(args)), **kwargs))
        return future


def go(folder: Path, members: tuple[Member, ...] = SQUAD, executor: Executor | None = None,
       settings: Settings = SETTINGS, **more: Any) -> Report:  # fmt: skip
    folder.mkdir(exist_ok=True)
    return run_batch(
        members, DRILLS, settings, Work(folder, **more), executor or Here(), card_bytes
    )


def contents(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in folder.rglob("*")
        if p.is_file() and p.name != LEDGER
    }


def wanted(members: tuple[Member, ...] = SQUAD) -> set[str]:
    out = {f for d in DRILLS for f in squad_files(d.slug)}
    return out | {f for d in DRILLS for m in members for f in athlete_files(m, d.slug)}


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made")
    go(folder)
    return folder


@pytest.fixture(scope="module")
def made(once: Path) -> dict[str, bytes]:
    return contents(once)


@pytest.fixture
def folder(tmp_path: Path, once: Path) -> Path:
    """A finished folder."""
    return Path(shutil.copytree(once, tmp_path / "out"))


def test_everything_is_made(made: dict[str, bytes]) -> None:
    assert set(made) == wanted()
    for name, data in made.items():
        if name.startswith("athletes/") and name.endswith(".json"):
            assert from_json(data.decode()).who.name in name
        elif name.endswith(".json"):
            table = json.loads(data)
            assert {a["name"] for s in table["sets"] for a in s["athletes"]} == {
                "Odalys",
                "Sefa",
                "Imka",
            }
            assert all(len(a["percent"]) == len(s["lengths"]) for s in table["sets"]
                       for a in s["athletes"])  # fmt: skip
        elif name.endswith(".svg"):
            assert data.startswith(b"<?xml")
        else:
            assert b"TAPE CARD" in data


def test_a_second_run_does_nothing(folder: Path) -> None:
    executor = Here()
    times = {p: p.stat().st_mtime_ns for p in folder.rglob("*.svg")}
    report = go(folder, executor=executor)
    assert executor.count == 0
    assert set(report.finished) == wanted()
    assert report.made == report.kept == []
    assert times == {p: p.stat().st_mtime_ns for p in folder.rglob("*.svg")}


def test_a_missing_file_is_made_again_and_only_it(folder: Path, made: dict[str, bytes]) -> None:
    gone = athlete_files(SQUAD[1], DRILLS[0].slug)[0]
    (folder / gone).unlink()
    executor = Here()
    report = go(folder, executor=executor)
    assert executor.count == 1
    assert gone in report.made
    assert contents(folder) == made


def test_a_changed_athlete_redoes_their_files_and_the_squads(folder: Path) -> None:
    changed = replace(SQUAD[0], athlete=replace(SQUAD[0].athlete, target=13.5))
    report = go(folder, (changed, *SQUAD[1:]))
    mine = {f for d in DRILLS for f in athlete_files(changed, d.slug)}
    squads = {f for d in DRILLS for f in squad_files(d.slug)}
    assert set(report.made) == mine | squads
    assert set(report.finished) == wanted() - mine - squads


def test_weights_and_settings_are_part_of_what_a_file_is_made_from(folder: Path) -> None:
    heavier = (replace(SQUAD[0], weight=5.0), *SQUAD[1:])
    executor = Here()
    report = go(folder, heavier, executor)
    # Everybody is planned again and both drills shared out; what comes out the same is left.
    assert executor.count == len(SQUAD) + len(DRILLS)
    assert {f for d in DRILLS for f in squad_files(d.slug)} >= set(report.made) > set()
    assert set(report.made) | set(report.finished) == wanted()
    report = go(folder, heavier, settings=replace(SETTINGS, look="print-grey"))
    assert {f for f in wanted() if f.endswith(".svg")} == set(report.made)


@pytest.mark.parametrize("also_inputs", [False, True])
def test_a_file_the_coach_changed_is_kept_and_told(folder: Path, also_inputs: bool) -> None:
    mine = athlete_files(SQUAD[0], DRILLS[0].slug)[0]
    (folder / mine).write_text("my own notes", encoding="utf-8")
    members = SQUAD
    if also_inputs:
        members = (replace(SQUAD[0], athlete=replace(SQUAD[0].athlete, mass=61.0)), *SQUAD[1:])
    for _ in range(2):
        report = go(folder, members)
        assert report.kept == [mine]
        assert (folder / mine).read_text(encoding="utf-8") == "my own notes"
    report = go(folder, members, overwrite=True)
    assert mine in report.made
    assert (folder / mine).read_bytes().startswith(b"<?xml")
    assert go(folder, members).kept == []


def test_a_link_that_leads_nowhere_is_somebodys_and_replaced_only_when_asked(
    folder: Path, made: dict[str, bytes]
) -> None:
    gone = athlete_files(SQUAD[1], DRILLS[0].slug)[0]
    (folder / gone).unlink()
    (folder / gone).symlink_to(folder / "nowhere")
    report = go(folder)
    assert (report.kept, report.faults) == ([gone], [])
    assert not (folder / "nowhere").exists()
    assert go(folder, overwrite=True).faults == []
    assert contents(folder) == made


def test_a_file_that_was_there_before_is_kept(tmp_path: Path) -> None:
    (tmp_path / "hop-step-sand.txt").write_text("shopping", encoding="utf-8")
    assert go(tmp_path).kept == ["hop-step-sand.txt"]
    assert (tmp_path / "hop-step-sand.txt").read_text(encoding="utf-8") == "shopping"


@pytest.mark.parametrize("cut", [0, 1, 40, 500])
def test_a_stopped_run_goes_on(folder: Path, made: dict[str, bytes], cut: int) -> None:
    """The ledger cut anywhere: files it no longer knows are compared, and found the same."""
    ledger = folder / LEDGER
    data = ledger.read_bytes()
    ledger.write_bytes(data[:cut])
    report = go(folder)
    assert report.kept == report.made == []
    assert set(report.finished) == wanted()
    assert contents(folder) == made
    assert sorted(ledger.read_bytes().splitlines()) == sorted(data.splitlines())


@pytest.mark.parametrize("text", ["\0\0", "[]\n3\nnull\n", '{"file": 1}\n', "[" * 100_000])
def test_a_spoilt_ledger_is_no_trouble(folder: Path, text: str) -> None:
    (folder / LEDGER).write_text(text, encoding="utf-8")
    assert set(go(folder).finished) == wanted()


def test_a_broken_athlete_stops_nobody(tmp_path: Path) -> None:
    slow = replace(
        SQUAD[1].athlete, name="Stuck", speed=3.0, target=19.0, best=None, best_phases=None
    )
    broken = Member(slow, file="s.csv", line=7)
    report = go(tmp_path, (*SQUAD, broken))
    assert report.faults
    assert all((f.file, f.line) == ("s.csv", 7) and "Stuck" in f.field for f in report.faults)
    assert wanted() <= set(contents(tmp_path))
    again = go(tmp_path, (*SQUAD, broken))
    assert [str(f) for f in again.faults] == [str(f) for f in report.faults]


def test_nothing_is_made_for_whom_a_drill_is_closed_to(tmp_path: Path) -> None:
    """The child of 11 gets the hop and step to the sand, and no two hops, by name everywhere."""
    report = go(tmp_path, (*SQUAD, CHILD))
    ((slug, why),) = report.closed
    assert (slug, why.name) == ("two-hops-step-track", "Runa")
    assert not report.faults
    mine = set(athlete_files(CHILD, "hop-step-sand"))
    assert set(contents(tmp_path)) == wanted() | mine
    shut = json.loads((tmp_path / "two-hops-step-track.json").read_text())
    assert [r["name"] for r in shut["no_marks"]] == ["Runa"]
    assert "Runa" not in {a["name"] for s in shut["sets"] for a in s["athletes"]}
    for ending in ("svg", "txt"):
        assert "No marks for Runa" in (tmp_path / f"two-hops-step-track.{ending}").read_text()
    fine = json.loads((tmp_path / "hop-step-sand.json").read_text())
    assert fine["no_marks"] == []
    (runa,) = (a for s in fine["sets"] for a in s["athletes"] if a["name"] == "Runa")
    assert runa["young"]
    again = go(tmp_path, (*SQUAD, CHILD))
    assert (again.made, again.closed) == ([], report.closed)
    # Nobody left: no files of that drill, and nothing of it breaks.
    alone = go(tmp_path / "alone", (CHILD,))
    assert not alone.faults
    assert set(contents(tmp_path / "alone")) == mine | set(squad_files("hop-step-sand"))


def test_a_fault_of_the_program_stops_nobody(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = make_plan

    def plan(athlete: Any, *rest: Any) -> Any:
        if athlete.name == SQUAD[1].athlete.name:
            raise ZeroDivisionError("on purpose\n")
        return real(athlete, *rest)

    monkeypatch.setattr("layout.squad.batch.make_plan", plan)
    report = go(tmp_path)
    assert len(report.faults) == len(DRILLS)
    assert all("a fault of the program" in str(f) and "\n" not in str(f) for f in report.faults)
    assert wanted((SQUAD[0], SQUAD[2])) <= set(contents(tmp_path))


class Breaks(Here):
    """A pool whose worker dies after some tasks."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        from concurrent.futures.process import BrokenProcessPool

        if self.count < 2:
            return super().submit(fn, *args, **kwargs)
        future: Future[Any] = Future()
        future.set_exception(BrokenProcessPool("gone"))
        return future


def test_a_dead_worker_is_told_and_the_next_run_goes_on(
    tmp_path: Path, made: dict[str, bytes]
) -> None:
    report = go(tmp_path, executor=Breaks())
    assert any("a worker stopped" in str(f) for f in report.faults)
    report = go(tmp_path)
    assert not report.faults
    assert contents(tmp_path) == made


class Dies(Here):
    """A pool whose worker dies over the first task, while others are done."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        from concurrent.futures.process import BrokenProcessPool

        future = super().submit(fn, *args, **kwargs)
        if self.count > 1:
            return future
        gone: Future[Any] = Future()
        gone.set_exception(BrokenProcessPool("gone"))
        return gone


def test_what_others_had_done_when_a_worker_died_is_written(tmp_path: Path) -> None:
    report = go(tmp_path, executor=Dies())
    assert [str(f) for f in report.faults if "a worker stopped" in str(f)]
    assert {f for d in DRILLS for m in SQUAD[1:] for f in athlete_files(m, d.slug)} == set(
        contents(tmp_path)
    )


def test_no_drawing_is_written_by_half(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_room(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("animate.whole_file.os.replace", no_room)
    monkeypatch.setattr("animate.whole_file.os.link", no_room)
    with pytest.raises(BadInput, match="No space left"):
        go(tmp_path)
    assert contents(tmp_path) == {}


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "athletes").write_text("a file", encoding="utf-8")
    with pytest.raises(BadInput, match="cannot be made"):
        go(tmp_path)


def test_progress_is_told_to_the_end(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    go(tmp_path, tell=lambda done, total: told.append((done, total)))
    assert told[0][0] == 0
    assert told[-1] == (len(SQUAD) + len(DRILLS), len(SQUAD) + len(DRILLS))


# --- executors ------------------------------------------------------------------------------------


def test_threads_make_the_same(tmp_path: Path, made: dict[str, bytes]) -> None:
    with ThreadPoolExecutor(3) as executor:
        go(tmp_path, executor=executor)
    assert contents(tmp_path) == made


def test_processes_that_start_afresh_make_the_same(tmp_path: Path, made: dict[str, bytes]) -> None:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as executor:
        go(tmp_path, executor=executor)
    assert contents(tmp_path) == made


@pytest.mark.skipif(
    sys.platform == "win32", reason="the cluster's processes are slow to start there"
)
# What a cluster's processes and sockets leave as they are shut down is not ours to judge.
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_clusters_executor_makes_the_same(tmp_path: Path, made: dict[str, bytes]) -> None:
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=1, processes=True, dashboard_address=":0",
            local_directory=str(tmp_path / "cluster"),
        ) as cluster,
        distributed.Client(cluster) as client,
    ):  # fmt: skip
        go(tmp_path / "out", executor=client.get_executor())
    assert contents(tmp_path / "out") == made


def test_the_ledger_names_states(tmp_path: Path) -> None:
    ledger = Ledger(tmp_path)
    assert ledger.state("a", "1") == "missing"
    assert ledger.write("a", b"x", "1", "missing", False) == "made"
    assert ledger.state("a", "1") == "finished"
    assert ledger.state("a", "2") == "stale"
    (tmp_path / "a").write_bytes(b"y")
    assert ledger.state("a", "1") == "changed"
    (tmp_path / "b").write_bytes(b"z")
    assert ledger.state("b", "1") == "unknown"
    assert ledger.write("b", b"z", "1", "unknown", False) == "finished"
    assert ledger.write("a", b"q", "1", "changed", False) == "kept"
    assert Ledger(tmp_path).state("b", "1") == "finished"


def test_two_runs_in_one_folder_lose_nothing(tmp_path: Path) -> None:
    """Both began when nothing was there; each finds files that the other made meanwhile."""
    one, two = Ledger(tmp_path), Ledger(tmp_path)
    assert one.write("a", b"x", "1", "missing", False) == "made"
    assert two.write("a", b"x", "1", "missing", False) == "finished"
    assert two.write("b", b"y", "1", "missing", False) == "made"
    assert one.write("b", b"z", "2", "missing", False) == "kept"
    assert one.write("c", b"c", "1", "missing", False) == "made"
    one.close()
    two.close()
    again = Ledger(tmp_path)
    assert [again.state(n, "1") for n in "abc"] == ["finished"] * 3
    assert (tmp_path / "b").read_bytes() == b"y"
    with pytest.raises(BadInput):
        one.write("gone/d", b"d", "1", "missing", False)


def test_hurdles_are_checked_in_everybody_s_own_drawing(tmp_path: Path) -> None:
    """Those of a motion that comes solved with the program."""
    drill = catalogue()["three-hops-step-over"]
    tevin = Member(member("tevin"), file="tevin.toml")
    settings = replace(SETTINGS, on=datetime.date(2026, 11, 25))
    run_batch((tevin,), (drill,), settings, Work(tmp_path), Here(), card_bytes)
    svg, data = (tmp_path / name for name in athlete_files(tevin, drill.slug))
    assert all(h.clearing is not None for h in from_json(data.read_text("utf-8")).hurdles)
    assert "not checked for clearance" not in svg.read_text("utf-8")
