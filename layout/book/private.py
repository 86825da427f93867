"""Files and folders that only their owner can read, written whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from animate.refused import Refused
from animate.whole_file import write_whole
from layout.words.faults import BadInput, Fault


def _fill(place: str, data: bytes) -> None:
    number = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(number, "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def save_private(path: Path, data: bytes, overwrite: bool = False) -> None:
    """Write a file that only its owner can read.

    Refused: it exists, or the disk refused.
    """
    try:
        write_whole(path, lambda spare: _fill(spare, data), overwrite)
    except Refused as error:
        rule = error.rule.replace("(overwrite it?)", "(--overwrite replaces it)")
        raise BadInput([Fault("output", rule, None, str(path))]) from None


def save_folder(folder: Path, files: Mapping[str, bytes], overwrite: bool = False) -> None:
    """Write a folder of files that only its owner can read; all of them or none.

    `files`: content by name. `overwrite`: replace a folder that holds nothing but files of these
    names. Refused: it exists, holds something else, or the disk refused.
    """

    def wrong(rule: str) -> BadInput:
        return BadInput([Fault("output", rule, None, str(folder))])

    there = os.path.lexists(folder)
    if there and not overwrite:
        raise wrong("exists already and is kept (--overwrite replaces it)")
    spare = folder.with_name(f".{folder.name[:40]}.{os.urandom(4).hex()}")
    old = folder.with_name(f".{folder.name[:40]}.{os.urandom(4).hex()}.old")
    try:
        if there and (not folder.is_dir() or {p.name for p in folder.iterdir()} - set(files)):
            raise wrong("holds something else and is kept; use another name")
        os.mkdir(spare, 0o700)
        for name, data in files.items():
            _fill(str(spare / name), data)
        if there:
            os.rename(folder, old)
        os.rename(spare, folder)
        if there:
            shutil.rmtree(old)
    except (OSError, ValueError) as error:
        if isinstance(error, BadInput):
            raise
        if os.path.lexists(old) and not os.path.lexists(folder):
            os.rename(old, folder)
        raise wrong(f"could not be written ({getattr(error, 'strerror', '') or error})") from None
    finally:
        shutil.rmtree(spare, ignore_errors=True)
