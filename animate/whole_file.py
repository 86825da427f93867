"""Files that are written whole or not at all, and read only so far."""

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


def read_bounded(path: str | os.PathLike[str], most: int) -> bytes:
    """What a file holds, unpacked where it is packed, and never more than asked for.

    Parameters
    ----------
    path : path
        A pipe or a device is refused without waiting for it.
    most : int
        Longest content accepted, packed or not [bytes].

    Returns
    -------
    bytes

    Raises
    ------
    ValueError
        Not a regular file, longer, or packed and damaged.
    OSError
        It cannot be read.
    """
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as stream:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise ValueError("a plain file wanted")
        raw = stream.read(most + 1)
    if raw[:2] == b"\x1f\x8b":
        unpacking = zlib.decompressobj(wbits=31)
        try:
            raw = unpacking.decompress(raw, most + 1)
        except zlib.error as error:
            raise ValueError(f"damaged ({error})") from None
        if len(raw) <= most and not unpacking.eof:
            raise ValueError("damaged (cut off)")
    if len(raw) > most:
        raise ValueError(f"at most {most} bytes")
    return raw


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
