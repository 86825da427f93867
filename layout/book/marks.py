"""From what was read off a tape to the lengths of the phases, and what looks unlikely of them."""

from __future__ import annotations

import json
import math
import re
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, cast

from layout.book.people import Planned
from layout.book.store import Book
from layout.words.faults import BadInput, refuse
from layout.words.units import parse_length, show_length, tidy

ZEROS: Final = ("board", "start", "pit", "each")
"""Where the tape's zero is: at the take-off line, the start mark, the pit's edge; each: no zero, every
phase measured by itself."""
LONGEST: Final = 10.0
SHORTEST: Final = 0.2
"""A phase [m] (ours): a third beyond the longest ever measured, and under any child's."""
UNEVEN: Final = 2.0
STEP_MOST: Final = 1.5
"""Phases of one attempt further apart than so many times, and a step longer than so many times a hop
or jump beside it, are asked about (ours)."""
UNKNOWN: Final = ("?", "-", "x")
_CENTIMETRES: Final = re.compile(r"[+-]?[1-9][0-9]{2,5}")
FARTHEST: Final = 80.0


@dataclass(frozen=True)
class Reading:
    """One reading of the tape."""

    value: float  # [m]
    signed: bool  # whether a sign was typed


def parse_reading(text: str, field: str) -> Reading | None:
    """A reading as a coach types it; None where it was not measured.

    A bare whole number of 100 or more is centimetres: nothing on a runway is read 100 m away.

    >>> parse_reading("261", "hop"), parse_reading("8-6 3/4", "hop")
    (Reading(value=2.61, signed=False), Reading(value=2.60985, signed=False))
    """
    plain = tidy(text)
    if plain in UNKNOWN:
        return None
    if _CENTIMETRES.fullmatch(plain):
        plain += " cm"
    metres = parse_length(plain, field, lowest=-FARTHEST, highest=FARTHEST)
    return Reading(metres, plain[:1] in ("+", "-"))


def is_reading(text: str) -> bool:
    """Whether a word can be a reading and not a name."""
    try:
        parse_reading(text, "reading")
    except BadInput:
        return False
    return True


def places(
    readings: Sequence[Reading | None],
    phases: Sequence[str],
    zero: str,
    zero_x: float | None,
    sand: bool,
    behind: float = 0.0,
) -> list[float | None]:
    """Where the first toe and every landing are, from the first contact's mark [m].

    x = zero_x + reading, or zero_x - reading from the pit, whose tape is pulled back up the runway.

    `readings`: one for each landing; with one more, the first is the take-off toe itself, and then
    it does not matter where the zero is. `zero`: one of board, start, pit. `zero_x`: of the zero,
    from the first contact's mark [m]; needed where the toe was not read. `sand`: whether the last
    landing is in the sand: from the pit its reading lies beyond the zero, with or without a minus.
    `behind`: take-off toe behind its mark [m]. Refused: the wrong number of readings, or a zero
    whose place is not known.
    """
    count = len(phases)
    if len(readings) not in (count, count + 1):
        each = ", ".join(phases)
        rule = f"{count} needed ({each}), or {count + 1} with the take-off toe first"
        raise refuse("readings", rule, len(readings))
    way = -1.0 if zero == "pit" else 1.0
    values = [None if r is None else r.value for r in readings]
    last = readings[-1]
    if zero == "pit" and sand and last is not None and not last.signed:
        values[-1] = -last.value
    if len(readings) == count + 1:
        return [None if v is None else way * v for v in values]
    if zero_x is None:
        raise refuse("zero", _unknown_zero(zero), zero)
    return [-behind, *(None if v is None else zero_x + way * v for v in values)]


def _unknown_zero(zero: str) -> str:
    if zero == "pit":
        return "where the pit is must be known: give --board-at, keep a plan, or read the toe first"
    return "how long the run-up is must be known: keep a plan of it, or read the take-off toe first"


def lengths_between(xs: Sequence[float | None], phases: Sequence[str]) -> tuple[float | None, ...]:
    """Lengths between neighbouring places [m], checked; None beside a place that is not known."""
    known = [(i, x) for i, x in enumerate(xs) if x is not None]
    for (i, a), (j, b) in pairwise(known):
        _check(named(phases)[j - 1], b - a, j - i)
    return tuple(None if a is None or b is None else round(b - a, 6) for a, b in pairwise(xs))


def check_lengths(lengths: Sequence[float | None], phases: Sequence[str]) -> None:
    """Raise where a phase that was measured by itself is no phase."""
    if len(lengths) != len(phases):
        rule = f"{len(phases)} lengths needed ({', '.join(phases)})"
        raise refuse("readings", rule, len(lengths))
    for name, length in zip(named(phases), lengths, strict=True):
        if length is not None:
            _check(name, length, 1)


def _check(name: str, length: float, count: int) -> None:
    if length <= 0.0:
        rule = "each landing must be further than the one before; is a digit or the zero wrong?"
        raise refuse(name, rule, show_length(length))
    if not SHORTEST * count <= length <= LONGEST * count:
        rule = f"a phase is {SHORTEST:g} to {LONGEST:g} m"
        raise refuse(name, rule, show_length(length))


def whole(lengths: Sequence[float | None], xs: Sequence[float | None] = ()) -> float | None:
    """The total, as far as it is known: of all lengths, or from first to last place [m]."""
    if xs and xs[0] is not None and xs[-1] is not None:
        return round(xs[-1] - xs[0], 6)
    known = [d for d in lengths if d is not None]
    return round(math.fsum(known), 6) if known and len(known) == len(lengths) else None


def with_total(lengths: Sequence[float | None], total: float) -> tuple[float | None, ...]:
    """The one phase that was not measured, from the total."""
    known = math.fsum(d for d in lengths if d is not None)
    lacking = [i for i, d in enumerate(lengths) if d is None]
    if not lacking and abs(total - known) > 0.30:
        rule = f"must be within 30 cm of the sum of the phases, {show_length(known)}"
        raise refuse("total", rule, show_length(total))
    if lacking and total - known < SHORTEST * len(lacking):
        rule = f"must be more than the phases' sum, {show_length(known)}"
        raise refuse("total", rule, show_length(total))
    out = list(lengths)
    if len(lacking) == 1:
        _check("the phase not measured", total - known, 1)
        out[lacking[0]] = round(total - known, 6)
    return tuple(out)


def pairs_apart(
    phases: Sequence[str], lengths: Sequence[float | None]
) -> list[tuple[str, float, str, float, float]]:
    """Phases of one attempt that hardly belong together: long, short and the limit between them [m]."""
    known = [
        (n, m, d) for n, m, d in zip(named(phases), phases, lengths, strict=True) if d is not None
    ]
    out = []
    for (name, move, d), (other, beside, e) in [*pairwise(known), *pairwise(known[::-1])]:
        if move == "step" != beside and STEP_MOST * e < d <= UNEVEN * e:
            out.append((name, d, other, e, STEP_MOST))
    known.sort(key=lambda k: k[2])
    if known and known[-1][2] > UNEVEN * known[0][2]:
        (short, _, e), (long, _, d) = known[0], known[-1]
        out.append((long, d, short, e, UNEVEN))
    return out


def uneven(phases: Sequence[str], lengths: Sequence[float | None]) -> list[str]:
    """`pairs_apart` in words.

    >>> uneven(("hop", "step"), (2.88, 5.33))
    ['step 5.33 m is more than 1.5 times hop 2.88 m']
    """
    return [
        f"{long} {show_length(d)} is more than {times:g} times {short} {show_length(e)}"
        for long, d, short, e, times in pairs_apart(phases, lengths)
    ]


def named(phases: Sequence[str]) -> list[str]:
    """Moves with a count where one comes several times.

    >>> named(("hop", "hop", "step"))
    ['hop 1', 'hop 2', 'step']
    """
    seen: dict[str, int] = {}
    out = []
    for move in phases:
        seen[move] = seen.get(move, 0) + 1
        out.append(f"{move} {seen[move]}" if list(phases).count(move) > 1 else move)
    return out


MARGINS: Final = 3.0
SHARE: Final = 0.15
"""A phase this many margins, or this share, off its plan is asked about (ours)."""
OFF: Final = 0.25
LEAST: Final = 3
LATEST: Final = 12
"""A phase this share off the middle of the athlete's latest, of which there are at least so many, is
asked about where there is no plan (ours)."""
_BACK: Final = 5000
"""Attempts looked back over, whoever's."""


def usual_of(
    book: Book, athlete: int, drill: str, phases: Sequence[str], strides: int | None
) -> tuple[float | None, ...]:
    """Middle of each phase of the athlete's latest attempts of this kind; None where too few [m]."""
    moment = book.rows("PRAGMA data_version")[0][0], book.db.total_changes
    key = repr((athlete, drill, tuple(phases), strides))
    known = book.memo.setdefault("usual", {}).get(key)
    if known is not None and known[0] == moment:
        return cast(tuple[float | None, ...], known[1])
    found = book.rows(
        "SELECT lengths FROM attempt WHERE id > (SELECT coalesce(max(id), 0) FROM attempt) - ? "
        "AND +athlete = ? AND drill = ? AND phases = ? AND strides IS ? AND foul = 0 AND struck = 0 "
        "AND total IS NOT NULL ORDER BY id DESC LIMIT ?",
        (_BACK, athlete, drill, " ".join(phases), strides, LATEST),
    )
    columns = zip(*(json.loads(text) for (text,) in found), strict=True)
    measured = [[d for d in column if d is not None] for column in columns]
    out = tuple(statistics.median(k) if len(k) >= LEAST else None for k in measured)
    book.memo["usual"][key] = moment, out
    return out


def unlikely(
    phases: Sequence[str],
    lengths: Sequence[float | None],
    plan: Planned | None,
    usual: Sequence[float | None] = (),
) -> list[str]:
    """What is far from the plan or, without one, from the attempt's other phases and the usual."""
    out = []
    aims: list[tuple[float | None, float]]
    if plan is None or plan.phases != tuple(phases):
        out = [f"{text}; a wrong digit?" for text in uneven(phases, lengths)]
        what, aims = "the athlete's usual", [(d, OFF * (d or 0.0)) for d in usual]
    else:
        what = "planned"
        aims = [
            (d, SHARE * d if margin is None else max(MARGINS * margin, 0.10))
            for d, margin in zip(plan.lengths, plan.margins, strict=True)
        ]
    for name, length, (aim, wide) in zip(named(phases), lengths, aims, strict=False):
        if length is not None and aim is not None and abs(length - aim) > wide:
            side = "longer" if length > aim else "shorter"
            out.append(
                f"{name} {show_length(length)} is {show_length(abs(length - aim))} {side} than "
                f"{what} ({show_length(aim)}); a wrong digit?"
            )
    return out
