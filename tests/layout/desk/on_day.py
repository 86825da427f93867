"""phasemark on a day that is told: `python -m tests.layout.desk.on_day 2026-11-25 desk ...`; for pictures."""

from __future__ import annotations

import datetime
import sys


def stand_still(day: str) -> None:
    """Let every file that is imported from here on think that it is a day."""
    told = datetime.date.fromisoformat(day)

    class Day(datetime.date):
        @classmethod
        def today(cls) -> Day:
            return cls(told.year, told.month, told.day)

    datetime.date = Day  # type: ignore[misc]


if __name__ == "__main__":
    stand_still(sys.argv[1])
    from layout.cli import main

    sys.exit(main(sys.argv[2:]))
