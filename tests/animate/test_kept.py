"""A kept motion is measured, not trusted: whatever lies in its place costs time and nothing else."""

from __future__ import annotations

import copy
import gzip
import json
import math
import os
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import animate.motion.solve as solver
from animate.body.body import body
from animate.motion.chain import Chain, Settings
from animate.motion.motion import Motion
from animate.motion.solve import find, fingerprint, kept
from animate.motion.solver.library import motions, nearest

GOOD = next(m for m in motions() if len(m.chain.supports) == 5 and m.settings.knee_gap is not None)
OTHER = next(m for m in motions() if m.chain != GOOD.chain and m.settings == Settings())
PLAIN: dict[str, Any] = GOOD.as_dict()
Spoil = Callable[[dict[str, Any]], Any]


def deep(levels: int) -> bytes:
    return b"[" * levels + b"]" * levels


def put(*keys: str | int) -> Callable[[Any], Spoil]:
    """Setting one field of a motion's file."""

    def with_value(value: Any) -> Spoil:
        def spoil(data: dict[str, Any]) -> Any:
            here: Any = data
            for key in keys[:-1]:
                here = here[key]
            here[keys[-1]] = value(here[keys[-1]]) if callable(value) else value
            return data

        return spoil

    return with_value


def angles(change: Callable[[Any], Any]) -> Spoil:
    def spoil(data: dict[str, Any]) -> Any:
        for phase in data["phases"]:
            phase["angles"] = np.array(change(np.array(phase["angles"]))).tolist()
        return data

    return spoil


def shifted(number: int, column: int, by: float) -> Spoil:
    """One angle of one phase turned by a constant."""

    def spoil(data: dict[str, Any]) -> Any:
        for row in data["phases"][number]["angles"]:
            row[column] += by
        return data

    return spoil


FIELDS: dict[str, Spoil] = {
    "another stature": put("body", 0)(1.60),
    "another mass": put("body", 1)(90.0),
    "another build": put("body", 2)(lambda b: "male" if b == "average" else "average"),
    "a body of words": put("body")(["tall", "heavy", "lean"]),
    "a body of lists": put("body", 0)([[1.75]]),
    "an endless body": put("body", 0)(1e308),
    "no body": put("body")(None),
    "all angles zero": angles(np.zeros_like),
    "angles halved": angles(lambda a: 0.5 * a),
    "angles in degrees": angles(np.degrees),
    "angles past counting": angles(lambda a: a * 1e300),
    "one angle not a number": put("phases", 0, "angles", 0, 0)(math.nan),
    "one angle endless": put("phases", 0, "angles", 0, 0)(math.inf),
    "an angle as a word": put("phases", 0, "angles", 0, 0)("wide"),
    "a row too few": put("phases", 0, "angles")(lambda a: a[1:]),
    "rows of unlike length": put("phases", 0, "angles", 0)(lambda a: a[1:]),
    "a phase too few": put("phases")(lambda p: p[1:]),
    "phases as one number": put("phases")(7),
    "phases of nothing": put("phases")([None] * len(PLAIN["phases"])),
    "trunk bent in one phase": shifted(2, 0, 0.2),
    "arm turned in the air": shifted(3, 1, 0.6),
    "a phase of no time": put("phases", 1, "duration")(0.0),
    "a phase before its start": put("phases", 1, "duration")(-0.1),
    "a phase of an hour": put("phases", 1, "duration")(3600.0),
    "a phase half as long": put("phases", 2, "duration")(lambda t: t / 2),
    "a phase twice as long": put("phases", 3, "duration")(lambda t: t * 2),
    "a whole number past floats": put("phases", 1, "duration")(10**400),
    "centre of mass elsewhere": put("phases", 1, "com", 0)(lambda x: x + 0.5),
    "centre of mass not a number": put("phases", 1, "com", 0)(math.nan),
    "centre of mass in three figures": put("phases", 1, "com")([0.0, 1.0, 2.0]),
    "too fast": put("phases", 1, "velocity", 0)(lambda v: v + 2.0),
    "no path in the sand": put("phases", -1, "base")(None),
    "a path of one point": put("phases", -1, "base")([[0.0, 0.0]]),
    "another chain": put("chain")(OTHER.chain.as_dict()),
    "a mark moved": put("chain", "supports", 2, "toe")(lambda x: x + 0.3),
    "no chain": put("chain")({}),
    "a chain of words": put("chain")("hop, step and jump"),
    "a hundred thousand contacts": put("chain", "supports")([{}] * 100_000),
    "other settings": put("settings", "knee_gap")(0.11),
    "unknown settings": put("settings", "wings")(2),
    "another version": put("version")(99),
    "another athlete": lambda _: OTHER.as_dict(),
    "another athlete under this name": lambda d: OTHER.as_dict() | {k: d[k] for k in ("body",)},
    "a list": lambda _: [1, 2, 3],
    "nothing": lambda _: None,
}
RAW: dict[str, Callable[[], bytes]] = {
    "empty": lambda: b"",
    "cut off": lambda: json.dumps(PLAIN).encode()[:-100],
    "not text": lambda: bytes(range(256)) * 20,
    "nested without end": lambda: deep(200_000),
    "nested in a field": lambda: b'{"version":1,"body":' + deep(100_000) + b"}",
    "a bomb": lambda: gzip.compress(b" " * 300_000_000, 6),
    "a bomb of digits": lambda: gzip.compress(b"1" * 100_000_000, 6),
    "packed and cut off": lambda: gzip.compress(json.dumps(PLAIN).encode())[:-50],
    "packed and damaged": lambda: b"\x1f\x8b" + bytes(200),
    "long": lambda: b" " * 50_000_000,
}
"""Made when they are asked for: some are large."""


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the motion of `GOOD` is kept."""
    monkeypatch.setenv(solver.CACHE_VARIABLE, str(tmp_path))
    return tmp_path / f"{fingerprint(GOOD.chain, GOOD.body, GOOD.settings)}.json"


def solved_again(monkeypatch: pytest.MonkeyPatch) -> bool:
    """Whether `find` goes to the solver, and that it is quick and small about it."""
    calls: list[Chain] = []

    def counted(chain: Chain, *_: object) -> Motion:
        calls.append(chain)
        return GOOD

    monkeypatch.setattr(solver, "solve", counted)
    nearest(GOOD.chain, GOOD.body, GOOD.settings)  # the library is read once in a process
    tracemalloc.start()
    began = time.process_time()
    assert find(GOOD.chain, GOOD.body, GOOD.settings) is not None
    spent, (_, most) = time.process_time() - began, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert spent < 2.0
    assert most < 60e6
    return bool(calls)


def test_a_motion_that_is_what_it_says_is_used(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    GOOD.save(place)
    assert not solved_again(monkeypatch)
    assert kept(GOOD.chain.mirrored(), GOOD.body, GOOD.settings) is not None
    assert kept(GOOD.chain, body(GOOD.body.stature + 0.01, GOOD.body.mass), GOOD.settings) is None


@pytest.mark.parametrize("name", FIELDS)
def test_a_motion_that_is_not_is_solved_again(
    name: str, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place.write_text(json.dumps(FIELDS[name](copy.deepcopy(PLAIN))))
    assert solved_again(monkeypatch)
    assert not solved_again(monkeypatch)  # the sound one has taken its place


@pytest.mark.parametrize("name", RAW)
def test_bytes_that_are_no_motion_cost_time_only(
    name: str, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place.write_bytes(RAW[name]())
    assert solved_again(monkeypatch)


def test_what_is_no_plain_file_costs_time_only(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    os.mkfifo(place)
    assert solved_again(monkeypatch)
    place.unlink()
    place.mkdir()
    assert solved_again(monkeypatch)
    place.rmdir()
    place.symlink_to("/dev/zero")
    assert solved_again(monkeypatch)
    place.unlink()
    place.symlink_to(place.name)
    assert solved_again(monkeypatch)


@pytest.mark.parametrize(
    "folder", ["no/such/folder", "x" * 300, "a\0b", "/dev/null", "/proc/1/root/kept"]
)
def test_a_folder_that_cannot_be_costs_time_only(
    folder: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(solver, "cache_folder", lambda: Path(folder))
    assert solved_again(monkeypatch)


@pytest.mark.parametrize(
    "settings",
    [
        {"knee_gap": 0.11},
        {"knee_bend": math.radians(60)},
        {"trunk": 0.2},
        {"thigh_high": 1.7},
    ],
)
def test_positions_are_measured_too(settings: dict[str, float], place: Path) -> None:
    """A sound motion under the name of other settings."""
    asked = replace(Settings(), **settings)  # type: ignore[arg-type]
    wrong = Motion(GOOD.body, GOOD.chain, asked, GOOD.phases)
    wrong.save(place.with_name(f"{fingerprint(GOOD.chain, GOOD.body, asked)}.json"))
    assert kept(GOOD.chain, GOOD.body, asked) is None


def test_every_shipped_motion_would_be_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(solver.CACHE_VARIABLE, str(tmp_path))
    for m in motions():
        m.save(tmp_path / f"{fingerprint(m.chain, m.body, m.settings)}.json")
        assert kept(m.chain, m.body, m.settings) is not None, m.chain.name
