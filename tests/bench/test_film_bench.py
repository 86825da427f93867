"""Clips against the plotting library's own writers: whole processes, side by side, in one run."""

from __future__ import annotations

import marshal
import os
import resource
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from animate.body.figure import athlete
from animate.body.shapes import Area
from animate.film.themes import hexed, theme
from tests.animate.film.film_motion import END, body_at

CHILD = Path(__file__).with_name("film_bench_child.py")
ROOT = Path(__file__).parents[2]


@dataclass
class Run:
    """One whole process: wall clock and processor time [s], file and peak memory [bytes], and how
    much of the memory is a helper's that it starts."""

    seconds: float
    processor: float
    bytes: int
    memory: int
    helper: int


def _run(who: str, file: Path) -> Run:
    file = file.with_name(f"{who}{file.suffix}")
    if who == "theirs" and file.suffix == ".svg":
        file = file.with_suffix(".gif")
    file.unlink(missing_ok=True)
    # Both start as from installed packages: without the hook that an editable install of this
    # project adds to every start of Python (-S); it is a fifth of what our SVG takes.
    path = [str(ROOT), *(p for p in sys.path if p.endswith("site-packages"))]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(path)}
    # Installed packages are compiled; so that ours are too, both sides get the same cache.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    environment["PYTHONPYCACHEPREFIX"] = str(file.parent / "cache")
    command = [sys.executable, "-S", str(CHILD), who, str(file), str(file.with_suffix(".given"))]
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    done = subprocess.run(command, env=environment, check=True, stdout=subprocess.PIPE, text=True)
    seconds = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    processor = after.ru_utime + after.ru_stime - used.ru_utime - used.ru_stime
    own, helper = (1024 * int(kilo) for kilo in (done.stdout or "0 0").split())
    return Run(seconds, processor, file.stat().st_size, own + helper, helper)


def _side_by_side(file: Path, ours: int = 3, theirs: int = 3) -> tuple[Run, Run]:
    """The fastest run of each, run in turns so that a busy machine is busy for both."""
    for who in ("ours", "theirs"):
        _run(who, file)  # fills the caches of both sides; not counted
    mine, other = [], []
    for _ in range(theirs):
        mine += [_run("ours", file) for _ in range(ours)]
        other.append(_run("theirs", file))
    return min(mine, key=_seconds), min(other, key=_seconds)


def _seconds(run: Run) -> float:
    return run.seconds


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("bench")
    colours = {role: hexed(colour) for role, colour in theme("light").colours.items()}
    bodies = [body_at(END * i / 89) for i in range(90)]
    outlines = [
        [
            (shape.points, colours[shape.role], colours[shape.edge or shape.role])
            for shape in athlete(body)
            if isinstance(shape, Area)
        ]
        for body in bodies
    ]
    (place / "ours.given").write_bytes(marshal.dumps(bodies))
    (place / "theirs.given").write_bytes(marshal.dumps({"bodies": bodies, "outlines": outlines}))
    return place


def _report(what: str, ours: Run, theirs: Run) -> None:
    for who, run in (("ours", ours), ("theirs", theirs)):
        print(
            f"\n{what} {who}: {run.seconds:.3f} s ({run.processor:.3f} s of processor), "
            f"{run.bytes / 1000:.0f} kB, {run.memory / 1e6:.0f} MB, {run.helper / 1e6:.0f} of a helper",
            end="",
        )
    print(
        f"\n{what}: {theirs.seconds / ours.seconds:.1f} x faster "
        f"({theirs.processor / ours.processor:.1f} x by processor time), "
        f"{ours.bytes / theirs.bytes:.3f} of the bytes, "
        f"{ours.memory / theirs.memory:.3f} of the memory"
    )


def test_gif_is_fast_small_and_light(folder: Path) -> None:
    pytest.importorskip("matplotlib", reason="no comparison possible without matplotlib")
    ours, theirs = _side_by_side(folder / "x.gif")
    _report("GIF", ours, theirs)
    assert theirs.seconds >= 15 * ours.seconds
    assert ours.bytes <= 0.55 * theirs.bytes
    assert ours.memory, "peak memory is read from /proc, which this machine has not"
    assert ours.memory <= theirs.memory / 4


def test_svg_is_faster_and_smaller_than_the_other_gif(folder: Path) -> None:
    """The other library has no animated SVG, so its GIF of the same scene is the measure."""
    pytest.importorskip("matplotlib", reason="no comparison possible without matplotlib")
    ours, theirs = _side_by_side(folder / "x.svg", ours=6)
    _report("SVG (against the other GIF)", ours, theirs)
    assert theirs.seconds >= 100 * ours.seconds
    assert ours.bytes <= theirs.bytes / 6


def test_mp4_is_faster(folder: Path) -> None:
    pytest.importorskip("matplotlib", reason="no comparison possible without matplotlib")
    pytest.importorskip("av", reason="no MP4 without the extra `video`")
    if shutil.which("ffmpeg") is None:
        pytest.skip("not measured: the other writer needs ffmpeg (apt-get install ffmpeg)")
    ours, theirs = _side_by_side(folder / "x.mp4")
    _report("MP4", ours, theirs)
    assert theirs.seconds >= 3 * ours.seconds
    assert theirs.processor >= 4.5 * ours.processor
    assert ours.bytes <= theirs.bytes
    assert ours.memory <= 0.7 * theirs.memory
