"""What the desk finds again on this machine: who was here today, and a squad's round that is not done.

It stands beside the motions that are kept, a small file a book; no name is in it, only numbers.
"""

from __future__ import annotations

import contextlib
import datetime
import json
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast

from animate.refused import Refused
from animate.whole_file import fill_with, read_whole, write_whole
from layout.desk.roll import Roll, rolled
from layout.words.dates import read_day
from layout.words.faults import BadInput

if TYPE_CHECKING:
    from layout.desk.rounds import Kind

LARGEST: Final = 20_000
"""Bytes of such a file, at most."""


@dataclass(frozen=True)
class Kept:
    """`here` is who was here on `day`; `kind` of `round` is under way, or waits as it was stopped.

    `place` is the venue that was set out at last, on the day `placed`.
    """

    day: str = ""
    here: Roll | None = None
    kind: Kind | None = None
    round: Roll | None = None
    stopped: bool = False
    place: str = ""
    placed: str = ""

    def today(self, today: datetime.date) -> Roll | None:
        """Who is here, if that was said today."""
        return self.here if self.day == today.isoformat() else None


def place_of(book: Path) -> Path:
    """Where what is kept of a book stands."""
    from animate.motion.solve import cache_folder

    mark = blake2b(str(book.resolve()).encode(errors="replace"), digest_size=8).hexdigest()
    return cache_folder() / f"desk-{mark}.json"


def _roll(table: dict[str, Any], name: str) -> Roll | None:
    said = table.get(name)
    return rolled({str(k): str(v) for k, v in said.items()}) if isinstance(said, dict) else None


def _place(table: dict[str, Any]) -> tuple[str, str]:
    place, day = table.get("place"), table.get("placed")
    return (str(place), read_day("placed", str(day)).isoformat()) if place and day else ("", "")


def kept_of(book: Path) -> Kept:
    """What is kept of a book; nothing where there is no file or it cannot be read."""
    try:
        table = json.loads(read_whole(place_of(book), LARGEST))
        kind = table.get("kind")
        return Kept(
            str(table.get("day", "")), _roll(table, "here"),
            cast("Kind", kind) if kind in ("figures", "sheets") else None, _roll(table, "round"),
            table.get("stopped") is True, *_place(table),
        )  # fmt: skip
    except (OSError, ValueError, AttributeError, TypeError, RecursionError, BadInput):
        return Kept()


def keep(book: Path, kept: Kept) -> None:
    """Keep it; where nothing can be written it is lost with the desk, and nothing else is."""
    table = {
        "day": kept.day, "here": kept.here and kept.here.fields(), "kind": kept.kind,
        "round": kept.round and kept.round.fields(), "stopped": kept.stopped,
        "place": kept.place, "placed": kept.placed,
    }  # fmt: skip
    path = place_of(book)
    with contextlib.suppress(OSError, Refused):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, fill_with(json.dumps(table).encode()), overwrite=True)
