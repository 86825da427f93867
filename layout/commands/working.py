"""Work shared over processes, its progress on the screen, and what came of it in words."""

from __future__ import annotations

import argparse
import os
import signal
import threading
from concurrent.futures import Executor, ProcessPoolExecutor
from multiprocessing import get_context, parent_process

from layout.commands.text import counted, folded
from layout.squad.work import Report
from layout.words.names import some_of
from layout.words.reading import read_count


def cores_from(given: argparse.Namespace) -> int:
    """Processes asked for, or one a core."""
    if given.cores is None:
        return os.cpu_count() or 1
    return read_count("--cores", given.cores, 1, 256)


def _follow() -> None:
    """In a worker: leave the interrupt to the process that asked, and end when that one has."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def pool(cores: int | None = None) -> Executor:
    """Processes that start afresh, so that it is the same on every system."""
    return ProcessPoolExecutor(cores, mp_context=get_context("spawn"), initializer=_follow)


def report_lines(report: Report) -> list[str]:
    """How many files were made, found finished and kept."""
    made = f"  {counted(len(report.made), 'file')} made, {len(report.finished)} found finished"
    if not report.kept:
        return [made]
    return [made, *folded(
        f"{len(report.kept)} kept as they are, since somebody changed them (--overwrite replaces "
        f"them): {some_of(report.kept, 5)}")]  # fmt: skip


def faults_line(count: int) -> str:
    """That there are faults, told after."""
    return f"  {counted(count, 'fault')}, told below; the others are done"
