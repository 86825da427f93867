"""What is finished in a folder, so that nothing is made twice and nothing a coach changed is lost.

One line a file: a fingerprint of what it was made from and one of its content. A file whose content
is no longer the ledger's was changed by somebody: it is kept, never replaced unless asked.
"""

from __future__ import annotations

import json
from hashlib import blake2b
from pathlib import Path
from typing import Any, Final

from animate.refused import Refused
from animate.whole_file import fill_with, read_whole, write_whole
from layout import __version__
from layout.words.faults import BadInput, Fault

LEDGER: Final = "phasemark-done.jsonl"
LARGEST: Final = 500_000_000
"""A file looked at most [bytes]: a pack of a large squad has tens of millions."""


def fingerprint(*values: Any) -> str:
    """What a file was made from, as 32 hexadecimal figures."""
    return blake2b(repr((__version__, *values)).encode(), digest_size=16).hexdigest()


class Ledger:
    """What is finished in a folder: one line a file, added as files are written."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.path = folder, folder / LEDGER
        self.rows = self._read()
        if self.path.is_file():
            self.close()

    def _read(self) -> dict[str, tuple[str, str]]:
        try:
            text = read_whole(self.path, LARGEST).decode(errors="replace")
        except (OSError, ValueError):
            return {}
        rows = {}
        for line in text.splitlines():
            # A line cut short by a stopped run says nothing; its file is then compared instead.
            try:
                row = json.loads(line)
                rows[str(row["file"])] = str(row["made_from"]), str(row["content"])
            except (ValueError, KeyError, TypeError, RecursionError):
                continue
        return rows

    def state(self, name: str, made_from: str) -> str:
        """Of one file: missing, finished, stale, changed (by somebody) or unknown (not ours)."""
        try:
            data = read_whole(self.folder / name, LARGEST)
        except FileNotFoundError:
            return "missing"
        except (OSError, ValueError):
            return "unknown"
        if name not in self.rows:
            return "unknown"
        inputs, content = self.rows[name]
        if content != fingerprint(data):
            return "changed"
        return "finished" if inputs == made_from else "stale"

    def write(self, name: str, data: bytes, made_from: str, state: str, overwrite: bool) -> str:
        """Write one file and its line; returns "made", "finished" or "kept".

        Raises BadInput: the disk refuses.
        """
        path = self.folder / name
        outcome = "made"
        if state != "missing" and _holds(path, data):
            outcome = "finished"
        elif state in ("changed", "unknown") and not overwrite:
            return "kept"
        else:
            try:
                _write(path, data, state != "missing")
            except BadInput:
                if state != "missing" or not path.is_file():
                    raise
                # Another run in the same folder was faster.
                if not _holds(path, data):
                    return "kept"
                outcome = "finished"
        self.rows[name] = made_from, fingerprint(data)
        self._add(name)
        return outcome

    def _line(self, name: str) -> str:
        inputs, content = self.rows[name]
        row = {"file": name, "made_from": inputs, "content": content}
        return json.dumps(row, ensure_ascii=False) + "\n"

    def _add(self, name: str) -> None:
        try:
            with open(self.path, "a", encoding="utf-8") as stream:
                stream.write(self._line(name))
        except OSError as error:
            rule = f"cannot be written ({error.strerror})"
            raise BadInput([Fault("output", rule, None, str(self.path))]) from None

    def close(self) -> None:
        """Put the ledger in order: one line a file, also of those that another run added meanwhile."""
        self.rows = {**self._read(), **self.rows}
        text = "".join(self._line(name) for name in sorted(self.rows))
        _write(self.path, text.encode(), True)


def _holds(path: Path, data: bytes) -> bool:
    """Whether a file is there with just this content."""
    try:
        return read_whole(path, LARGEST) == data
    except (OSError, ValueError):
        return False


def _write(path: Path, data: bytes, overwrite: bool) -> None:
    try:
        write_whole(path, fill_with(data), overwrite)
    except Refused as error:
        raise BadInput([Fault("output", error.rule, None, str(path))]) from None
