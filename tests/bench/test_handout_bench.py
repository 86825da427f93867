"""The handout's targets of time; by hand: python -m pytest tests/bench/test_handout_bench.py -s."""

from __future__ import annotations

import datetime
import time
from pathlib import Path

import pytest

from layout.commands.demo_ import COMPARED, plans
from layout.commands.working import pool
from layout.moving.clip import step_contact
from layout.moving.poses import key_poses
from layout.moving.solved import motion_of
from layout.page.page import Page
from layout.page.pdf import to_pdf
from layout.plan.drill import Choices, catalogue
from layout.plan.stored import to_json
from layout.plan.tape import tape_card
from layout.plan.venue import venues
from layout.sheet.handout import handout
from layout.squad.pack import Making, pack_pdf, run_pack
from layout.squad.roster import Member
from layout.squad.work import Work
from tests.bench.test_plan_bench import loaded, process, squad
from tests.bench.test_squad_bench import DRILLS, processor


def test_one_handout_cold(tmp_path: Path) -> None:
    """A whole process, the motion kept: under 1.5 s."""
    saved, out = tmp_path / "p.json", tmp_path / "a.pdf"
    saved.write_text(to_json(next(p for stem, p, *_ in plans() if stem == COMPARED)))
    words = ("-m", "layout", "handout", str(saved), "--to", str(out), "--overwrite")
    took = process(tmp_path / "cache", *words, rounds=5)
    print(f"\nhandout, whole process {1e3 * took:.0f} ms, {out.stat().st_size} bytes ({loaded()})")
    assert took < 1.5


def test_thirty_handouts_warm() -> None:
    """Thirty sheets from kept motions in one PDF, on one core [CPU time]: a third of the pack's 30 s."""
    start = time.process_time()
    pages: list[Page] = []
    count = 0
    while count < 30:
        for _, made, zero, system in list(plans())[: 30 - count]:
            motion = motion_of(made)
            reading = step_contact(motion).reading.shown()
            card = tape_card(made, zero, system)  # type: ignore[arg-type]
            pages += handout(made, card, key_poses(made, motion), reading)
            count += 1
    data = to_pdf(pages)
    took = time.process_time() - start
    print(f"\n{count} handouts, {len(pages)} pages, {len(data)} bytes, {took:.1f} s ({loaded()})")
    assert took < 10.0


def thirty() -> tuple[Member, ...]:
    """Thirty invented athletes of many sizes."""
    return tuple(Member(who, file="squad.csv", line=i) for i, who in enumerate(squad(30), start=2))


@pytest.mark.parametrize("folder", [False, True], ids=["one PDF", "folder"])
def test_a_pack_of_thirty(tmp_path: Path, folder: bool) -> None:
    """Thirty athletes from plans alone on both cores: under 30 s; CPU seconds said, too."""
    making = Making(venues()["club"], datetime.date(2026, 11, 25), figures=False)
    start, used = time.perf_counter(), processor()
    with pool(2) as executor:
        into = tmp_path if folder else None
        pack = run_pack(thirty(), (catalogue()["full-triple-jump"],), making, Work(into), executor)
    data = pack_pdf(pack.chapters, (), making, "Squad pack: 30 athletes", ("Club",))
    took, used = time.perf_counter() - start, processor() - used
    print(
        f"\npack of 30, {'folder' if folder else 'one PDF'}: {took:.1f} s, CPU {used:.1f} s, "
        f"{len(data) / 1000:.0f} kB ({loaded()})"
    )
    assert len(pack.chapters) == 30
    assert not pack.report.faults
    assert took < 30.0


def test_a_pack_of_thirty_by_six_with_positions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Thirty athletes, six drills, every motion worked out: 3 minutes on two cores, by processor time;
    and once more from the motions that were kept."""
    monkeypatch.setenv("PHASEMARK_CACHE", str(tmp_path / "cache"))
    despite = Choices(despite="figures to measure, nobody jumps them")
    making = Making(venues()["club"], datetime.date(2026, 11, 25), despite)
    drills = tuple(catalogue()[d] for d in DRILLS)
    for what in ("nothing kept", "every motion kept"):
        start, used = time.perf_counter(), processor()
        with pool(2) as executor:
            work = Work(tmp_path / what)
            pack = run_pack(thirty(), drills, making, work, executor)
        data = pack_pdf(pack.chapters, (), making, "Squad pack: 30 athletes", ("Club",))
        took, used = time.perf_counter() - start, processor() - used
        lacking = [f"{c.name}, {c.title}: {c.lacking}" for c in pack.chapters if c.lacking]
        print(
            f"\n{len(pack.chapters)} sheets with positions, {what}: {took:.0f} s, CPU {used:.0f} s, "
            f"{len(data) / 1e6:.1f} MB, {len(lacking)} without positions ({loaded()})", *lacking,
            sep="\n",
        )  # fmt: skip
        assert len(pack.chapters) == 180
        assert not pack.report.faults
        assert used < 2 * 180.0
