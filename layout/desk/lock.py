"""One desk at a time for a book: a lock that goes with the process, however it ends."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from layout.words.faults import BadInput, Fault


def _taken(number: int) -> bool:
    """Whether another process holds the file; no where the disk knows no locks."""
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(number, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return True
    except OSError:
        return False
    return False


def _held(place: Path) -> int | None:
    """The open file with its lock; None where another process has it."""
    while True:
        number = os.open(place, os.O_RDWR | os.O_CREAT, 0o600)
        if _taken(number):
            os.close(number)
            return None
        with contextlib.suppress(FileNotFoundError):
            if os.path.samestat(os.fstat(number), os.stat(place)):
                return number
        os.close(number)  # another desk put it away between the two, at its end


@contextlib.contextmanager
def only_desk(book: Path) -> Iterator[None]:
    """Hold a book for this desk; refused where another desk of this machine has it.

    The lock lies on a small file beside the book, since the database's own are on the book.
    """
    real = Path(os.path.realpath(book))
    place = real.with_name(f".{real.name}.desk")
    try:
        number = _held(place)
    except OSError as error:
        rule = f"cannot be locked ({error.strerror or error}); copy it to a folder of yours"
        raise BadInput([Fault("book", rule, None, str(book))]) from None
    if number is None:
        rule = "is open on another desk of this machine; go on there, or close that one first"
        raise BadInput([Fault("book", rule, None, str(book))])
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            place.unlink()
        os.close(number)
