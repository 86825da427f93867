"""Files that are read within bounds, and written whole or not at all."""

from __future__ import annotations

import os
import stat
import zlib
from collections.abc import Callable
from typing import Final

LONGEST_NAME: Final = 240
"""Longest file name accepted [bytes]; most disks end at 255."""


def shown(path: str | os.PathLike[str]) -> str:
    """A path as one printable line."""
    return "".join(c if c.isprintable() else "?" for c in os.fspath(path))


KINDS: Final = (
    (stat.S_ISDIR, "Is a directory"),
    (stat.S_ISFIFO, "a regular file wanted, not a pipe"),
    (stat.S_ISSOCK, "a regular file wanted, not a socket"),
    (lambda _mode: True, "a regular file wanted, not a device"),
)
"""What stands where a file is wanted."""


def _regular(mode: int) -> None:
    if not stat.S_ISREG(mode):
        raise OSError(next(said for is_one, said in KINDS if is_one(mode)))


def read_whole(path: str | os.PathLike[str], most: int) -> bytes:
    """All bytes of a regular file: the one rule before any read, so that none hangs or fills memory.

    Parameters
    ----------
    path : path
    most : int
        Bytes the file may have.

    Raises
    ------
    OSError
        Not there, not readable, or no regular file.
    ValueError
        A name that cannot be one, or too many bytes.
    """
    # Looked at before it is opened: opening alone can wait, or wind a device.
    _regular(os.stat(path).st_mode)
    number = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(number, "rb") as stream:
        found = os.fstat(number)
        _regular(found.st_mode)
        data = b"" if found.st_size > most else stream.read(most + 1)
    if found.st_size > most or len(data) > most:
        raise ValueError(f"at most {_size(most)} wanted")
    return data


def _size(count: int) -> str:
    return f"{count / 1e6:g} MB" if count >= 1_000_000 else f"{count / 1e3:g} kB"


def read_bounded(path: str | os.PathLike[str], most: int) -> bytes:
    """What a file holds, unpacked where it is packed, and never more than asked for.

    Parameters
    ----------
    path : path
    most : int
        Longest content accepted, packed or not [bytes].

    Raises
    ------
    OSError
        As `read_whole`.
    ValueError
        The same, or packed and damaged.
    """
    data = read_whole(path, most)
    if data[:2] != b"\x1f\x8b":
        return data
    packing = zlib.decompressobj(wbits=31)
    try:
        out = packing.decompress(data, most + 1)
    except zlib.error as error:
        raise ValueError(f"damaged ({error})") from None
    if len(out) > most:
        raise ValueError(f"at most {_size(most)} unpacked wanted")
    if not packing.eof:
        raise ValueError("damaged (cut off)")
    return out


def refuse_existing(path: str | os.PathLike[str], overwrite: bool) -> None:
    """Raise before any work is done if the file may not be written.

    Parameters
    ----------
    path : path
    overwrite : bool
        Whether a file already there may be replaced.

    Raises
    ------
    ValueError
        The name is too long, the folder is missing, the path is a folder, or the file exists and
        may not be replaced.
    """
    place = os.fspath(path)
    if len(os.fsencode(os.path.basename(place))) > LONGEST_NAME or "\0" in place:
        raise ValueError(f"file: a name of at most {LONGEST_NAME} bytes, got {shown(path)[:80]}")
    if not os.path.isdir(os.path.dirname(place) or "."):
        raise ValueError(f"file: its folder must exist, got {shown(path)}")
    if os.path.isdir(place):
        raise ValueError(f"file: a file name, not a folder, got {shown(path)}")
    if os.path.lexists(place) and not overwrite:
        raise ValueError(f"file: exists already and is kept (overwrite it?), got {shown(path)}")


def write_whole(
    path: str | os.PathLike[str], fill: Callable[[str], None], overwrite: bool = False
) -> None:
    """Let `fill` write a temporary file beside the target, then move it into place.

    Parameters
    ----------
    path : path
        Where the finished file goes.
    fill : callable
        Given the name of the temporary file, writes it.
    overwrite : bool
        Whether a file already there may be replaced.

    Raises
    ------
    ValueError
        As `refuse_existing`, or the disk refused.
    """
    refuse_existing(path, overwrite)
    place = os.fspath(path)
    folder, name = os.path.split(place)
    stem, ending = os.path.splitext(name)
    spare = os.path.join(folder, f".{stem[:40]}.{os.urandom(4).hex()}{ending}")
    try:
        fill(spare)
        if overwrite:
            os.replace(spare, place)
        else:
            _move_new(spare, place)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ValueError(f"file: could not be written ({reason}), got {shown(path)}") from error
    finally:
        if os.path.lexists(spare):
            os.unlink(spare)


def _move_new(spare: str, place: str) -> None:
    """Move without ever replacing, even a file that appeared while ours was being written."""
    try:
        os.link(spare, place)
    except FileExistsError as error:
        raise ValueError(f"file: exists already and is kept, got {shown(place)}") from error
    except OSError:  # a disk without hard links
        if os.path.lexists(place):
            raise ValueError(f"file: exists already and is kept, got {shown(place)}") from None
        os.replace(spare, place)
