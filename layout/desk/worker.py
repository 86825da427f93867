"""What takes long, worked out beside the desk by one process of low priority.

The figure a coach looks at goes first, and the newest wish for one wins; a squad's round goes on when
nobody waits for a figure.
"""

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

from layout.desk.rounds import Doing, Round, Told, failed
from layout.words.faults import BadInput

if TYPE_CHECKING:
    from animate.motion.chain import Settings
    from animate.motion.motion import Motion
    from layout.plan.value import Plan

MOST_KEPT: Final = 24
"""Motions and refusals remembered (ours); motions are on the disk too."""
AS_IT_IS: Final = ("working", "done")
"""States of a round that asking for the same again leaves as they are."""
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
    figure: _Figure | None = None
    doing: Doing | None = None
    try:
        while True:
            while pipe.poll() or (figure is None and doing is None):
                asked = pipe.recv()
                if isinstance(asked, _Rounds):
                    doing = _begun(asked, pipe)
                else:
                    figure = asked
            if figure is not None:
                name, plan, settings = figure
                mine = own.setdefault(plan.who.name, [])
                made = _solve(plan, settings, mine, pipe, name)
                if made.state == "stopped":
                    continue  # by what came: a newer figure, none, or a round, which waits
                if made.motion is not None:
                    mine[:] = [*mine[-5:], made.motion]
                pipe.send((name, made))
                figure = None
            elif doing is not None:
                doing = _stepped(doing, pipe)
    except (EOFError, OSError):
        return


_Figure = tuple[tuple[int, str], "Plan", "Settings"]


@dataclass(frozen=True)
class _Rounds:
    """A squad's round to begin; None ends the one under way."""

    wish: Round | None


def _begun(asked: _Rounds, pipe: Connection) -> Doing | None:
    if asked.wish is None:
        return None
    mark = asked.wish.mark
    try:
        doing = Doing(asked.wish)
    except Exception as error:  # told on the page; figures go on
        pipe.send((mark, failed(error)))
        return None
    pipe.send((mark, doing.told()))
    return doing


def _stepped(doing: Doing, pipe: Connection) -> Doing | None:
    """One piece of a round further; the same piece again where something came in between."""
    from animate.motion.outcome import Stopped

    try:
        told = doing.step(pipe.poll)
    except Stopped:
        return doing
    except Exception as error:
        told = failed(error)
    pipe.send((doing.wish.mark, told))
    return doing if told.state == "working" else None


class Worker:
    """The desk's side of it. Nothing starts before something is asked for."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._works: OrderedDict[str, Work] = OrderedDict()
        self._pipe: Connection | None = None
        self._process: BaseProcess | None = None
        self._now, self._number = "", 0
        self._round: tuple[Round, Told] | None = None

    def begin(self, wish: Round) -> None:
        """Begin a squad's round, in place of any other; one that is under way or done goes on as it is."""
        with self._lock:
            known = self._round
            if known is not None and known[0].mark == wish.mark and known[1].state in AS_IT_IS:
                return
            self._round = wish, Told("working")
            if not self._sent(_Rounds(wish)):
                self._start()

    def leave(self) -> None:
        """Stop the round; what it found is kept."""
        with self._lock:
            if self._halted():
                self._sent(_Rounds(None))

    def drop(self) -> None:
        """Let go of what a round made, since it is not of what the book has now."""
        with self._lock:
            if self._round is not None and self._round[1].state == "done":
                self._round = self._round[0], replace(self._round[1], state="stale", data=b"")

    def round(self) -> tuple[Round, Told, bool] | None:
        """The round there is, how far it is, and whether it waits for a figure."""
        with self._lock:
            if self._round is None:
                return None
            work = self._works.get(self._now)
            waits = work is not None and work.state == "working"
            return (*self._round, waits and self._round[1].state == "working")

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

    def _halted(self) -> bool:
        """Whether a round was under way, which it is no more."""
        known = self._round
        if known is None or known[1].state != "working":
            return False
        self._round = known[0], replace(known[1], state="stopped", now="")
        return True

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
        if self._round is not None and self._round[1].state == "working":
            self._sent(_Rounds(self._round[0]))

    def _listen(self, pipe: Connection) -> None:
        """Take in what the process tells, until it ends."""
        try:
            while True:
                name, work = pipe.recv()
                if isinstance(work, Told):
                    self._hear(name, work)
                    continue
                number, key = name
                with self._lock:
                    # An older wish for the same may still tell that it was stopped.
                    if work.state == "solved" or (number == self._number and key == self._now):
                        self._put(key, work)
        except (EOFError, OSError, TypeError):  # the last where this side closed it meanwhile
            with self._lock:
                if self._pipe is pipe:  # ended from outside: that says nothing of the figure
                    self._halted()
                    self._stopped()
                    self._now = ""

    def _hear(self, mark: str, told: Told) -> None:
        """Take in how far the round is, unless it was stopped or replaced meanwhile."""
        with self._lock:
            known = self._round
            if known is not None and known[0].mark == mark and known[1].state == "working":
                self._round = known[0], told
