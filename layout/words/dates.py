"""Days as people type them: one reader for every option, table and line."""

from __future__ import annotations

import datetime
import re
from typing import Final

from layout.words.faults import refuse
from layout.words.trade import date_text

_POINTS: Final = re.compile(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})")


def iso(ordinal: int) -> str:
    """A day kept as a number, as 2026-11-25."""
    return datetime.date.fromordinal(ordinal).isoformat()


def said_day(day: int | str) -> str:
    """A day kept as a number or as 2026-11-25, as people say it.

    >>> said_day("2026-11-25")
    'Wed 25 Nov 2026'
    """
    return date_text(datetime.date.fromisoformat(day if isinstance(day, str) else iso(day)))


def read_day(field: str, text: str) -> datetime.date:
    """A day as 2026-11-25 or 25.11.2026; a slash only where it can be read one way.

    >>> str(read_day("on", "5.3.2026")), str(read_day("on", "25/3/2026"))
    ('2026-03-05', '2026-03-25')
    """
    plain, rule = text.strip(), "must be a date such as 2026-11-25"
    match = _POINTS.fullmatch(plain)
    if (
        match
        and match[2] != "."
        and match[1] != match[3]
        and max(int(match[1]), int(match[3])) < 13
    ):
        raise refuse(field, f"day or month first? {rule}", text)
    try:
        if match:
            day, month, year = int(match[1]), int(match[3]), int(match[4])
            turned = match[2] != "." and month > 12
            return datetime.date(year, *((day, month) if turned else (month, day)))
        if len(plain) == 10 and plain.isascii():
            return datetime.date.fromisoformat(plain)
    except ValueError:  # no such day
        pass
    raise refuse(field, rule, text)


def day_or_today(field: str, text: str | None) -> datetime.date:
    """A day as typed; today where none is."""
    return datetime.date.today() if text is None else read_day(field, text)


def read_past_day(field: str, text: str | None) -> datetime.date:
    """A day on which something was jumped, today where none is given; never in the future."""
    day = day_or_today(field, text)
    # Tomorrow by this clock may be today where the coach stands.
    if day.year < 1900 or day > datetime.date.today() + datetime.timedelta(days=1):
        raise refuse(field, "must be a day from 1900 to today", day)
    return day
