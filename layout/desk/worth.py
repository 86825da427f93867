"""What a position is worth, on the desk: worked out beside it by one process, read from what is kept."""

from __future__ import annotations

import json
import os
import time
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing import active_children, get_context
from pathlib import Path
from typing import Final, Literal

from animate.motion.chain import Settings
from animate.motion.motion import Motion
from animate.motion.outcome import NotFound, Stopped
from animate.whole_file import fill_with, read_bounded, write_whole
from layout.moving.chain import body_of
from layout.moving.solved import mark_of, motion_of
from layout.moving.worth import Aim, curve
from layout.moving.worth_kept import folder_of
from layout.plan.value import Plan
from layout.words.faults import BadInput

LARGEST: Final = 4_000
"""Bytes of a note on how far the work is, at most."""

SILENT: Final = 900.0
"""After so long without a word the work is taken to have ended: its number may be another's by now [s]."""


@dataclass(frozen=True)
class Work:
    """How far the work is: `done` solves of `of` or so, or why it can't be told."""

    state: Literal["none", "working", "stopped", "failed"]
    done: int = 0
    of: int = 0
    why: str = ""


def begin(plan: Plan, of: str, aim: Aim) -> Work:
    """Work on a curve, unless somebody does."""
    path = _note(plan, of, aim)
    _stop(path).unlink(missing_ok=True)
    now = about(plan, of, aim)
    if now.state == "working":
        return now
    process = get_context("spawn").Process(
        target=_work, args=(plan, of, aim, str(path)), daemon=True
    )
    process.start()
    _write(path, {"pid": process.pid, "done": 0, "of": 1})
    return Work("working", 0, 1)


def stop(plan: Plan, of: str, aim: Aim) -> Work:
    """Have the work end after the motion it is at; what is kept stays."""
    if about(plan, of, aim).state == "working":
        _write(_stop(_note(plan, of, aim)), {})
    return about(plan, of, aim)


def about(plan: Plan, of: str, aim: Aim) -> Work:
    """How far the work is."""
    path = _note(plan, of, aim)
    active_children()  # lets go of what has ended, which seems alive until then
    try:
        told = json.loads(read_bounded(path, LARGEST))
        if told.get("why"):
            return Work("failed", why=str(told["why"]))
        far = int(told["done"]), int(told["of"])
        if "pid" not in told:
            return Work("stopped", *far)
        os.kill(int(told["pid"]), 0)
        if time.time() - path.stat().st_mtime > SILENT:
            return Work("none")
        return Work("stopped" if _stop(path).exists() else "working", *far)
    except (OSError, ValueError, KeyError, TypeError):
        return Work("none")


def _note(plan: Plan, of: str, aim: Aim) -> Path:
    mark = mark_of(plan, Settings())
    return folder_of() / f"work-{mark}-{of}-{aim}.json"


def _stop(note: Path) -> Path:
    """The file that says that the work is to end."""
    return note.with_suffix(".stop")


def _write(path: Path, told: dict[str, int | str | None]) -> None:
    with suppress(OSError, ValueError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, fill_with(json.dumps(told).encode()), overwrite=True)


def _work(plan: Plan, of: str, aim: Aim, note: str) -> None:
    """The process: works the curve out, point by point, each kept."""
    if hasattr(os, "nice"):
        os.nice(10)
    path = Path(note)

    def tell(done: int, total: int) -> None:
        if _stop(path).exists():
            _write(path, {"done": done, "of": total})
            raise Stopped("worth", "stopped")
        _write(path, {"pid": os.getpid(), "done": done, "of": total})

    try:
        motion: Motion = motion_of(plan, Settings())
        curve(motion, of, aim, body_of(plan).strength, tell, workers=1)
        path.unlink(missing_ok=True)
    except Stopped:
        return
    except NotFound as fault:
        _write(path, {"why": fault.told})
    except BadInput as error:
        _write(path, {"why": str(error.faults[0])})
