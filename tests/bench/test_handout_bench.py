"""The handout's targets of time; by hand: python -m pytest tests/bench/test_handout_bench.py -s."""

from __future__ import annotations

import time
from pathlib import Path

from layout.commands.demo_ import COMPARED, plans
from layout.moving.clip import step_contact
from layout.moving.poses import key_poses
from layout.moving.solved import motion_of
from layout.plan.stored import to_json
from layout.plan.tape import tape_card
from layout.sheet.handout import handout
from layout.sheet.page import Page
from layout.sheet.pdf import to_pdf
from tests.bench.test_plan_bench import loaded, process


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
