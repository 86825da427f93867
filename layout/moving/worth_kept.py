"""Points of a curve kept as they are found, so that a curve that was cut off goes on where it was."""

from __future__ import annotations

import contextlib
import gzip
import json
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from animate.motion.best import IMPACTS, Best, matched
from animate.motion.chain import Settings, digest
from animate.motion.motion import Motion
from animate.motion.outcome import NotFound, Outcome
from animate.motion.solve import cache_folder
from animate.motion.solver.freed import Terms
from animate.motion.solver.interior import Point
from animate.whole_file import fill_with, read_bounded, write_whole

VERSION: Final = 5
"""Raise it when the solver, or what is asked of it, changes: what was kept before is then left alone."""
LARGEST: Final = 2_000_000
"""Bytes of a kept point, unpacked, at most."""
_POINT: Final = ("x", "s", "y", "low", "high")
Answer = Best | str
"""A best motion, or why there is none."""


class NotKept(Exception):
    """A point of a curve is not kept."""


def folder_of() -> Path:
    """Where curves are kept: beside the motions of this machine."""
    return cache_folder() / "worth"


class Kept:
    """A folder of points of one part of a motion. What cannot be read or written is as good as none."""

    def __init__(self, part: Motion, folder: Path | None = None) -> None:
        self.folder = folder or folder_of()
        self.part = part.as_dict()

    def _path(self, settings: Settings, terms: Terms, way: str) -> Path:
        asked = {
            "version": VERSION, "part": self.part, "settings": settings.as_dict(),
            "terms": asdict(terms), "way": way,
        }  # fmt: skip
        return self.folder / f"{digest(asked)}.json.gz"

    def get(self, settings: Settings, terms: Terms, way: str = "") -> Answer | None:
        """What was found on these terms, if it is kept; `way` tells solves of the same apart."""
        try:
            data = json.loads(read_bounded(self._path(settings, terms, way), LARGEST))
            return str(data["none"]) if "none" in data else _best(data)
        except (OSError, ValueError, KeyError, TypeError):
            return None

    def put(self, settings: Settings, terms: Terms, found: Answer, way: str = "") -> None:
        """Keep it."""
        data = {"none": found} if isinstance(found, str) else _plain(found)
        path = self._path(settings, terms, way)
        with contextlib.suppress(OSError, ValueError):
            path.parent.mkdir(parents=True, exist_ok=True)
            packed = gzip.compress(json.dumps(data).encode(), mtime=0)
            write_whole(path, fill_with(packed), overwrite=True)


def _plain(found: Best) -> dict[str, Any]:
    return {
        "further": list(found.further),
        "speed": found.speed,
        "over": found.over,
        "edges": list(found.edges),
        "loads": found.loads,
        "motion": found.outcome.motion.as_dict(),
        "labels": list(found.outcome.labels),
        "point": {
            name: [float(f"{v:.12g}") for v in getattr(found.outcome.point, name)]
            for name in _POINT
        },
    }


def _best(data: dict[str, Any]) -> Best:
    point = Point(*(np.array(data["point"][name], float) for name in _POINT))
    labels = tuple(map(str, data["labels"]))
    outcome = Outcome(Motion.from_dict(data["motion"]), point, labels, 0)
    return Best(
        outcome,
        tuple(map(float, data["further"])),
        float(data["speed"]),
        float(data["over"]),
        tuple(map(str, data["edges"])),
        {str(k): float(v) for k, v in data["loads"].items()},
    )


def match(
    asked_of: tuple[Motion, Terms],
    worth: Callable[[Best], float],
    kept: Kept,
    tell: Callable[[], None] | None,
) -> tuple[Terms, Best]:
    """The matching strength and its best, kept under the terms that were to be matched."""
    part, terms = asked_of
    plain, unmatched = Settings(arms=part.settings.arms), replace(terms, strength=0.0)
    found = kept.get(plain, unmatched)
    if isinstance(found, Best):
        for impact in IMPACTS:
            # The kept one's own terms are its strength and impact, beside it.
            share = found.loads.get(_share(impact))
            if share is not None:
                return replace(terms, strength=share, impact=impact), found
    if isinstance(found, str):
        raise NotFound("strength", found)
    if tell is None:
        raise NotKept
    try:
        got, best_one = matched(part, terms, worth, lambda _: tell())
    except NotFound as fault:
        kept.put(plain, unmatched, fault.told)
        raise
    marked = {**best_one.loads, _share(got.impact): got.strength}
    kept.put(plain, unmatched, replace(best_one, loads=marked))
    return got, best_one


def _share(impact: float) -> str:
    return f"matched at {impact:g}"
