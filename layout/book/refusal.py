"""What the database says when it refuses, as words that a coach can act on.

It answers with one code for each cause: a full disk, a disk that cannot lock, one that cannot share
memory and a damaged file are four things, and only the last of them is the book's.
"""

from __future__ import annotations

import json
import sqlite3
import tempfile
from pathlib import Path
from typing import Final

NOTHING: Final = "nothing was changed"
_BROKEN: Final = ("CORRUPT", "NOTADB", "FORMAT", "MISMATCH", "TOOBIG", "IOERR_DATA",
                  "IOERR_SHORT_READ")  # fmt: skip
_SAID: Final = ("malformed", "no such", "not a database", "could not decode", "corrupt")
"""Damage that comes without a code of its own."""
_READS: Final = ("IOERR_READ", "IOERR_CORRUPTFS", "IOERR_FSTAT", "IOERR_ACCESS", "IOERR_SEEK",
                 "IOERR_MMAP")  # fmt: skip
_LOCKS: Final = ("IOERR_LOCK", "IOERR_RDLOCK", "IOERR_UNLOCK", "IOERR_CHECKRESERVEDLOCK",
                 "IOERR_BLOCKED", "PROTOCOL", "NOLFS", "PERM")  # fmt: skip


UNCODED: Final[dict[type[Exception], str]] = {
    UnicodeDecodeError: "malformed text",
    json.JSONDecodeError: "malformed text",
    MemoryError: "out of memory",
}
"""What comes from the database's rows as another kind of error, in the database's words."""
ANSWERS: Final[tuple[type[Exception], ...]] = (sqlite3.Error, *UNCODED)


def name_of(error: Exception) -> str:
    """The database's name of a fault without its prefix, such as IOERR_SHMSIZE; "" without one."""
    return str(getattr(error, "sqlite_errorname", "") or "").removeprefix("SQLITE_")


def said_by(error: Exception) -> str:
    """What the database says, in small letters."""
    return UNCODED.get(type(error), str(error)).lower()


def is_damage(error: Exception) -> bool:
    """Whether the file itself cannot be read as a book."""
    name, said = name_of(error), said_by(error)
    return bool({name, name.partition("_")[0]} & set(_BROKEN)) or any(w in said for w in _SAID)


def no_index(error: Exception) -> bool:
    """Whether all that lacks may be the shared index beside the book (-shm)."""
    name = name_of(error)
    return name.startswith(("IOERR_SHM", "CANTOPEN", "READONLY_CANTINIT")) or name == "FULL"


def can_lock(folder: Path) -> bool:
    """Whether files of a folder can be locked, tried on one of our own; yes where that is not known."""
    try:
        import fcntl
    except ImportError:  # Windows has its own, which always lock
        return True
    try:
        spare = tempfile.NamedTemporaryFile(dir=folder, suffix=".book")  # noqa: SIM115
    except OSError:
        return True
    with spare:
        try:
            fcntl.lockf(spare, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
    return True


def rule_of(error: Exception, path: Path, state: str = NOTHING) -> str:
    """What went wrong, in which state the book is, and what to do.

    `path`: of the book. `state`: what stands now, such as "nothing was changed".
    """
    name, said = name_of(error), said_by(error)
    first = name.partition("_")[0]
    no_locks = (
        f"cannot be locked on its disk (a network or shared one?); {state}; "
        "copy the book to a disk of this machine"
    )
    if name in _LOCKS:
        return no_locks
    if first in ("BUSY", "LOCKED") or (not name and said == "locked"):
        if first == "BUSY" and not can_lock(path.absolute().parent):
            return no_locks
        return f"is in use by another program; {state}, try again when it is closed"
    if first == "FULL" or "disk is full" in said:
        return f"the disk is full; {state}; make room and try again"
    if name.startswith("IOERR_SHM"):
        return (
            f"has no shared memory for its index ({path.name}-shm): the disk is full, or it is a "
            f"network one; {state}; make room, or copy the book to a disk of this machine"
        )
    if name in ("NOMEM", "IOERR_NOMEM") or "out of memory" in said:
        return f"this machine has no memory left; {state}; close other programs and try again"
    if first in ("READONLY", "CANTOPEN") or "readonly" in said or "unable to open" in said:
        return f"cannot be written in this folder (is it read-only?); {state}"
    if name in _READS:
        return (
            f"cannot be read off its disk just now ({name}: is it unplugged or failing?); {state}; "
            "try again, and copy the book to another disk"
        )
    if first == "IOERR":
        unsure = "the last entry may be missing: make room, then list before you type it again"
        return (
            f"its disk took no more ({name}: no room left for you, unplugged or failing?); "
            f"{unsure if state == NOTHING else state}"
        )
    return f"refused ({said}); {state}"
