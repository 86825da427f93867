"""Files that are read within bounds, and written whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import zlib
from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

from animate.refused import Refused

LONGEST_NAME: Final = 240
"""Longest file name accepted [bytes]; most disks end at 255."""


def shown(path: str | os.PathLike[str]) -> str:
    """A path as one printable line."""
    return "".join(c if c.isprintable() else "?" for c in os.fspath(path))


KINDS: Final = (
    (stat.S_ISDIR, "Is a directory"),
    (stat.S_ISFIFO, "must be a regular file, not a pipe"),
    (stat.S_ISSOCK, "must be a regular file, not a socket"),
    (lambda _mode: True, "must be a regular file, not a device"),
)
"""What stands where a file is wanted."""


def _regular(mode: int) -> None:
    if not stat.S_ISREG(mode):
        raise OSError(next(said for is_one, said in KINDS if is_one(mode)))


def read_whole(path: str | os.PathLike[str], most: int) -> bytes:
    """All bytes of a regular file: the one rule before any read, so that none hangs or fills memory.

    OSError where it is not there, not readable or no regular file; `Refused` above `most` bytes.
    """
    # Looked at before it is opened: opening alone can wait, or wind a device.
    _regular(os.stat(path).st_mode)
    number = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(number, "rb") as stream:
        found = os.fstat(number)
        _regular(found.st_mode)
        data = b"" if found.st_size > most else stream.read(most + 1)
    if found.st_size > most or len(data) > most:
        raise Refused("file", f"at most {_size(most)} allowed")
    return data


def _size(count: int) -> str:
    return f"{count / 1e6:g} MB" if count >= 1_000_000 else f"{count / 1e3:g} kB"


def read_bounded(path: str | os.PathLike[str], most: int) -> bytes:
    """What a file holds, unpacked where it is packed, and never more than asked for.

    Raises as `read_whole`; `most` bytes hold for the file and what is in it.
    """
    data = read_whole(path, most)
    if data[:2] != b"\x1f\x8b":
        return data
    packing = zlib.decompressobj(wbits=31)
    try:
        out = packing.decompress(data, most + 1)
    except zlib.error as error:
        raise Refused("file", f"damaged ({error})") from None
    if len(out) > most:
        raise Refused("file", f"at most {_size(most)} unpacked allowed")
    if not packing.eof:
        raise Refused("file", "damaged (cut off)")
    return out


def refuse_existing(path: str | os.PathLike[str], overwrite: bool) -> None:
    """Refuse, before any work is done, a file that may not be written."""
    place = os.fspath(path)
    if len(os.fsencode(os.path.basename(place))) > LONGEST_NAME:
        raise Refused("file", f"a name of at most {LONGEST_NAME} bytes", shown(path)[:80])
    if not os.path.isdir(os.path.dirname(place) or "."):
        raise Refused("file", "its folder must exist", shown(path))
    if os.path.isdir(place):
        raise Refused("file", "a file name, not a folder", shown(path))
    if os.path.lexists(place) and not overwrite:
        raise Refused("file", "exists already and is kept (overwrite it?)", shown(path))


Fill = Callable[[str], None]
"""Writes a file, given its name."""


def fill_with(data: bytes) -> Fill:
    """Writes these bytes into a file that is not there yet."""

    def fill(spare: str) -> None:
        with open(spare, "xb") as stream:
            stream.write(data)

    return fill


def write_whole(
    path: str | os.PathLike[str], fill: Fill, overwrite: bool = False, sync: bool = False
) -> None:
    """Let `fill` write a temporary file beside the target, then move it into place.

    A file already there is only replaced with `overwrite`; with `sync` it is on the disk on return.
    """
    write_all([(path, fill)], overwrite, sync)


def write_all(
    files: Sequence[tuple[str | os.PathLike[str], Fill]],
    overwrite: bool = False,
    sync: bool = False,
) -> None:
    """Write several files, all of them or none.

    Every file is written beside its place first; if one then cannot be moved there, those moved
    before it are taken back.
    """
    places = [os.fspath(path) for path, _ in files]
    for place in places:
        refuse_existing(place, overwrite)
    if len({os.path.realpath(place) for place in places}) < len(places):
        raise Refused("file", "must be a name of its own for each", shown(places[0]))
    spares = [_beside(place) for place in places]
    undo: list[Callable[[], None]] = []
    backups: list[str] = []
    place = places[0] if places else ""
    try:
        for place, spare, (_, fill) in zip(places, spares, files, strict=True):  # noqa: B007
            fill(spare)
            if sync:
                _onto_disk(spare)
        for place, spare in zip(places, spares, strict=True):
            if overwrite and os.path.lexists(place):
                undo.append(_replace(spare, place, backups if len(places) > 1 else None))
            else:
                _move_new(spare, place)
                undo.append(partial(os.unlink, place))
        undo.clear()
        for folder in {os.path.dirname(place) or "." for place in places} if sync else ():
            _onto_disk(folder)
    except OSError as error:
        reason = error.strerror or str(error)
        raise Refused("file", f"could not be written ({reason})", shown(place)) from error
    finally:
        for step in reversed(undo):
            with contextlib.suppress(OSError):
                step()
        for spare in (*spares, *backups):
            if os.path.lexists(spare):
                os.unlink(spare)


def _beside(place: str) -> str:
    """A hidden name beside a file's."""
    folder, name = os.path.split(place)
    stem, ending = os.path.splitext(name)
    return os.path.join(folder, f".{stem[:40]}.{os.urandom(4).hex()}{ending}")


def _onto_disk(place: str) -> None:
    """Wait until a file, or what a folder holds, is on the disk; a disk that cannot say is not asked."""
    try:
        number = os.open(place, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(number)
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EIO, errno.EDQUOT):
            raise
    finally:
        os.close(number)


def _replace(spare: str, place: str, backups: list[str] | None) -> Callable[[], None]:
    """Move over a file that is there; returns how to take that back, where it may be wanted."""
    if backups is None:
        os.replace(spare, place)
        return lambda: None
    backup = _beside(place)
    backups.append(backup)
    try:
        os.link(place, backup)
    except OSError:  # a disk without hard links
        import shutil  # brings three kinds of packing with it

        shutil.copy2(place, backup)
    os.replace(spare, place)
    return partial(os.replace, backup, place)


def _move_new(spare: str, place: str) -> None:
    """Move without ever replacing, even a file that appeared while ours was being written."""
    try:
        os.link(spare, place)
    except FileExistsError as error:
        raise Refused("file", "exists already and is kept", shown(place)) from error
    except OSError:  # a disk without hard links
        if os.path.lexists(place):
            raise Refused("file", "exists already and is kept", shown(place)) from None
        os.replace(spare, place)
