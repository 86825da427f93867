"""Motions worked out beside the desk: one process of low priority, and the newest wish wins."""

from __future__ import annotations

import os
import signal
import threading
from collections import OrderedDict
from dataclasses import dataclass, replace
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import TYPE_CHECKING, Final, Literal

from layout.words.faults import BadInput

if TYPE_CHECKING:
    from animate.motion.chain import Settings
    from animate.motion.motion import Motion
    from layout.plan.value import Plan

MOST_KEPT: Final = 24
"""Motions and refusals remembered (ours); motions are on the disk too."""
PATIENCE: Final = 2.0
"""How long the process may take to end by itself [s]."""


@dataclass(frozen=True, eq=False)
class Work:
    """How far the work on one figure is: `done` steps of `of` or so, or why it is not possible."""

    state: Literal["working", "stopped", "solved", "failed"]
    done: int = 0
    of: int = 0
    why: str = ""
    motion: Motion | None = None


def _solve(
    plan: Plan, settings: Settings, own: list[Motion], pipe: Connection, name: tuple[int, str]
) -> Work:
    """One motion, unless something newer is asked for on the way."""
    from animate.body.body import body
    from animate.motion.outcome import Stopped
    from animate.motion.solve import find
    from animate.refused import Refused
    from layout.moving.chain import chain_of
    from layout.moving.solved import refuse_unsound, solve_seconds

    def tell(done: int, of: int) -> None:
        pipe.send((name, Work("working", done, of)))

    who = body(plan.who.stature, plan.who.mass, plan.who.build)
    try:
        limit = solve_seconds()
        found = find(
            chain_of(plan), who, settings, tell, limit, stop=pipe.poll, own=own
        )  # newer asked for, or nobody left to ask
        return Work("solved", motion=refuse_unsound(found))
    except Stopped:
        return Work("stopped")
    except BadInput as error:
        return Work("failed", why=str(error.faults[0]))
    except (Refused, ValueError) as error:
        return Work("failed", why=getattr(error, "told", None) or str(error))


def serve(pipe: Connection) -> None:
    """The process: take the newest wish, work on it, tell what came of it; ends with the desk."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(10)
    own: dict[str, list[Motion]] = {}
    try:
        while True:
            asked = pipe.recv()
            while pipe.poll():
                asked = pipe.recv()
            if asked is None:
                continue  # a stop: what was under way has ended
            name, plan, settings = asked
            mine = own.setdefault(plan.who.name, [])
            made = _solve(plan, settings, mine, pipe, name)
            if made.motion is not None:
                mine[:] = [*mine[-5:], made.motion]
            pipe.send((name, made))
    except (EOFError, OSError):
        return


class Worker:
    """The desk's side of it. Nothing starts before something is asked for."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._works: OrderedDict[str, Work] = OrderedDict()
        self._pipe: Connection | None = None
        self._process: BaseProcess | None = None
        self._now, self._number = "", 0

    def about(self, key: str) -> Work | None:
        """What is known of a figure; None where nobody asked for it yet."""
        with self._lock:
            return self._works.get(key)

    def ask(self, key: str, plan: Plan, settings: Settings) -> Work:
        """Work a figure out, ahead of everything asked before; what is known is not done again."""
        with self._lock:
            known = self._works.get(key)
            if known is not None and known.state in ("solved", "failed"):
                return known
            if known is not None and known.state == "working" and self._now == key:
                return known
            self._stopped()
            self._now, self._number = key, self._number + 1
            if not self._sent(((self._number, key), plan, settings)):
                self._start()
                self._sent(((self._number, key), plan, settings))
            return self._put(key, Work("working"))

    def stop(self) -> None:
        """Leave what is being worked out."""
        with self._lock:
            self._stopped()
            if self._now:
                self._sent(None)
            self._now = ""

    def close(self) -> None:
        """End the process, if there is one."""
        with self._lock:
            pipe, process = self._pipe, self._process
            self._pipe = self._process = None
        if pipe is not None:
            pipe.close()
        if process is not None:
            process.terminate()
            process.join(PATIENCE)
            if process.is_alive():
                process.kill()

    def _sent(self, wish: object) -> bool:
        """Whether the process took a wish; not where there is none, or it was ended from outside."""
        if self._pipe is None or self._process is None or not self._process.is_alive():
            return False
        try:
            self._pipe.send(wish)
        except OSError:
            return False
        return True

    def _put(self, key: str, work: Work) -> Work:
        self._works[key] = work
        self._works.move_to_end(key)
        while len(self._works) > MOST_KEPT:
            self._works.popitem(last=False)
        return work

    def _stopped(self) -> None:
        work = self._works.get(self._now)
        if work is not None and work.state == "working":
            self._works[self._now] = replace(work, state="stopped")

    def _start(self) -> None:
        if self._pipe is not None:
            self._pipe.close()
        context = get_context("spawn")  # the same on every system
        here, there = context.Pipe()
        process = context.Process(target=serve, args=(there,), daemon=True)
        process.start()
        there.close()
        self._pipe, self._process = here, process
        threading.Thread(target=self._listen, args=(here,), daemon=True).start()

    def _listen(self, pipe: Connection) -> None:
        """Take in what the process tells, until it ends."""
        try:
            while True:
                (number, key), work = pipe.recv()
                with self._lock:
                    # An older wish for the same may still tell that it was stopped.
                    if work.state == "solved" or (number == self._number and key == self._now):
                        self._put(key, work)
        except (EOFError, OSError):
            with self._lock:
                work = self._works.get(self._now)
                if self._pipe is pipe and work is not None and work.state == "working":
                    # Ended from outside: that says nothing of the figure.
                    self._put(self._now, Work("stopped"))
                    self._now = ""
