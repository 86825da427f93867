"""Find the motion of a chain: solve the program, start from a neighbour, remember.

The solver is imported when a solve is asked for, not before.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from animate.body.body import Body
from animate.motion.chain import Chain, Settings, digest, reachable
from animate.motion.check import check
from animate.motion.motion import Motion
from animate.motion.outcome import NotFound, Outcome, Progress


def solve(
    chain: Chain,
    body: Body,
    settings: Settings | None = None,
    neighbour: Motion | Outcome | None = None,
    progress: Progress | None = None,
    limit: float = 90.0,
    stop: Callable[[], bool] | None = None,
) -> Motion:
    """Find a motion of this body through these contacts that obeys mechanics: `outcome`'s motion."""
    return outcome(chain, body, settings, neighbour, progress, limit, stop).motion


def outcome(
    chain: Chain,
    body: Body,
    settings: Settings | None = None,
    neighbour: Motion | Outcome | None = None,
    progress: Progress | None = None,
    limit: float = 90.0,
    stop: Callable[[], bool] | None = None,
) -> Outcome:
    """Find a motion of this body through these contacts that holds every check of `check`.

    neighbour: a motion through a chain of the same kind to start from; from an outcome (the same
        athlete's, a little different) it goes on with its multipliers, which is several times quicker.
    progress: told before each step how many are done and how many there may be.
    limit: processor seconds to try [s].
    stop: asked before each step; true ends the solve.
    Returns can be pickled, so that a solve can run in another process.
    """
    settings = settings or Settings()
    reachable(chain, body)
    if not canonical(chain):
        if isinstance(neighbour, Outcome):
            near: Motion | Outcome | None = replace(neighbour, motion=neighbour.motion.mirrored())
        else:
            near = neighbour.mirrored() if neighbour is not None else None
        found = outcome(chain.mirrored(), body, settings, near, progress, limit, stop)
        return replace(found, motion=found.motion.mirrored())
    from animate.motion.solver.run import Watch, run

    return run((chain, body, settings), neighbour, Watch(progress, stop, limit))


def canonical(chain: Chain) -> bool:
    """Whether the first take-off that is not a running stride is from the right leg."""
    for s in chain.supports:
        if s.leave != "run" and s.side != "both":
            return s.side == "r"
    return True


def fingerprint(chain: Chain, body: Body, settings: Settings) -> str:
    """Content hash of what was asked of the solver."""
    return digest(
        {
            "version": SOLVER[chain.supports[-1].surface],
            "chain": chain.as_dict(),
            "body": [body.stature, body.mass, body.build],
            "settings": settings.as_dict(),
        }
    )


SOLVER = {"track": 5, "sand": 6}
"""By where a chain ends; raise one when the solver changes what it finds there: old cached motions are
then left alone."""
CACHE_VARIABLE = "PHASEMARK_CACHE"
"""Environment variable naming the folder solved motions are kept in."""


def cache_folder() -> Path:
    """Where solved motions are kept: the environment's choice, else the user's cache."""
    chosen = os.environ.get(CACHE_VARIABLE)
    if chosen:
        return Path(chosen)
    base = os.environ.get("XDG_CACHE_HOME")
    try:
        home = Path(base) if base else Path.home() / ".cache"
    except RuntimeError:  # nobody's home: a place where nothing can be kept
        home = Path(os.devnull)
    return home / "phasemark" / "motions"


def kept(
    chain: Chain, body: Body, settings: Settings | None = None, *places: tuple[Path, str]
) -> Motion | None:
    """A motion solved before, where a file holds it and it stands up to being measured again.

    A file is not taken at its word: its chain, body and settings must be those asked for, its
    mechanics must hold and its positions be as asked. Any other file is as good as none.

    chain, body, settings: as `solve` takes them.
    *places: folders to look in and the ending of the files there; the cache when none is given.
    """
    settings = settings or Settings()
    if not canonical(chain):
        found = kept(chain.mirrored(), body, settings, *places)
        return None if found is None else found.mirrored()
    wanted = fingerprint(chain, body, settings)
    for folder, ending in places or ((cache_folder(), ".json"),):
        found = _sound(folder / f"{wanted}{ending}", wanted)
        if found is not None:
            return found
    return None


def _sound(path: Path, wanted: str) -> Motion | None:
    from animate.motion.solver.asked import as_asked

    # Finite figures out of all proportion overflow on the way to being found wrong.
    try:
        motion = Motion.load(path)
        if fingerprint(motion.chain, motion.body, motion.settings) != wanted:
            return None
        with np.errstate(all="raise", under="ignore"):
            return None if check(motion).faults or not as_asked(motion) else motion
    except (ValueError, ArithmeticError):
        return None


def find(
    chain: Chain,
    body: Body,
    settings: Settings | None = None,
    progress: Progress | None = None,
    limit: float = 90.0,
    cache: Path | None = None,
    stop: Callable[[], bool] | None = None,
    own: Sequence[Motion] = (),
) -> Motion:
    """The motion of a chain: from the cache, else solved from the nearest of the library.

    chain, body, settings, progress, limit, stop: as `outcome` takes them; the limit holds for each of
        the two tries, from the library and from the key poses.
    cache: folder; None is `cache_folder`.
    own: the athlete's own kept motions, to start from if one is nearer than the library's.
    """
    settings = settings or Settings()
    reachable(chain, body)
    folder = cache_folder() if cache is None else cache
    if not canonical(chain):
        mine = [m.mirrored() for m in own]
        mirror = find(chain.mirrored(), body, settings, progress, limit, folder, stop, mine)
        return mirror.mirrored()
    found = kept(chain, body, settings, (folder, ".json"))
    if found is not None:
        return found
    from animate.motion.solver.library import nearest, patchwork

    start = nearest(chain, body, settings, own) or patchwork(chain, body, settings)
    try:
        motion = solve(chain, body, settings, start, progress, limit, stop)
    except NotFound:
        if start is None:
            raise
        motion = solve(chain, body, settings, None, progress, limit, stop)
    # Rounded as its file will be, so that what is drawn the first time is drawn every time.
    motion = Motion.from_dict(motion.as_dict())
    # A cache that cannot be written costs time, nothing else.
    with contextlib.suppress(OSError, ValueError):
        motion.save(folder / f"{fingerprint(chain, body, settings)}.json")
    return motion
