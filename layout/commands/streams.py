"""What a command may write to and is stopped by: never its own input; closed outputs; signals."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from types import FrameType
from typing import Final

from layout.words.faults import BadInput, refuse

STOPS: Final = tuple(
    getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name)
)
"""Signals that ask a program to end; each leaves as an interrupt from the keyboard does."""


class Stopped(KeyboardInterrupt):
    """A signal asked the program to end: half-written files are taken away on the way out."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number


class Gone(BrokenPipeError):
    """Whoever read standard output has gone: nothing is wrong, nothing more can be said."""


@contextlib.contextmanager
def stoppable() -> Iterator[None]:
    """While a command runs, a signal that would end the program at once lets it clean up first."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, _: FrameType | None) -> None:
        for each in STOPS:  # once is enough: the way out is not to be broken off
            signal.signal(each, signal.SIG_IGN)
        raise Stopped(number)

    before = {number: signal.getsignal(number) for number in STOPS}
    try:
        for number, usual in before.items():
            if usual is not signal.SIG_IGN:  # as under nohup
                signal.signal(number, stop)
        yield
    finally:
        for number, usual in before.items():
            signal.signal(number, usual if usual is not None else signal.SIG_DFL)


def ready_streams() -> None:
    """Output in UTF-8; what is closed gets a stand-in, lest a file opened later takes its number."""
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")


def tell(text: str, done: str = "") -> None:
    """Write to standard output at once; `done` is what is done all the same where that fails.

    `Gone` where nobody reads it any more, as after a pager was closed; `BadInput` where it takes nothing.
    """
    if sys.stdout is None:
        raise _untold("it is closed", done)
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        if done:
            complain(f"standard output: nobody reads it any more; {done}")
        raise Gone from None
    except (OSError, ValueError) as error:
        silence()
        raise _untold(getattr(error, "strerror", None) or str(error), done) from None


@contextlib.contextmanager
def progress(unit: str, of: str = "") -> Iterator[Callable[[int, int], None]]:
    """A line on the screen, where somebody looks, kept up by telling how many units of how many are done,
    after what it is of."""
    begun, shown = time.monotonic(), [0.0]

    def tell(done: int, total: int) -> None:
        now = time.monotonic()
        if not sys.stderr.isatty() or now - shown[-1] < 0.1:
            return
        left = f", about {(now - begun) * (total - done) / done:.0f} s left" if done else ""
        shown.append(now)
        sys.stderr.write(f"\r{f'{of[:40]}{done} of {total} {unit}s{left}':<78}")
        sys.stderr.flush()

    try:
        yield tell
    finally:
        if len(shown) > 1:
            sys.stderr.write("\r" + " " * 78 + "\r")


def _untold(reason: str, done: str) -> BadInput:
    done = done or "what was written and kept before is done"
    return refuse("standard output", f"cannot be written ({reason}); {done}")


def complain(line: str) -> None:
    """One line to standard error, where there is one."""
    with contextlib.suppress(OSError, ValueError):
        sys.stderr.write(f"phasemark: {line}\n")
        sys.stderr.flush()


def silence() -> None:
    """Nothing more can be said: let what still waits to be written go nowhere."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
