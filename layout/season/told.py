"""What was jumped against what was planned, drill by drill, with its trend."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array
from layout.book.marks import named
from layout.book.record import Kind, Record, Whole
from layout.rules.wind import LEGAL_WIND
from layout.season.gather import SPREAD, drawn, spread_about, strides_of
from layout.season.robust import centre, count_of, line, spread_of

RECENT: Final = 12
"""The usual is the middle of so many latest measured attempts (ours)."""
TREND_DAYS: Final = 84
"""A trend looks back twelve weeks from the latest attempt (ours)."""
TREND_LEAST: Final = (4, 8, 21)
"""Days with attempts, attempts and days from first to last that a trend wants (ours)."""
MONTH: Final = 28.0
"""Trends are told for four weeks [days]."""
CLEAR: Final = 2.5758
"""A trend is called clear where chance alone makes one as large once in a hundred (ours: a coach
looks at twenty trends at a time); the normal quantile, widened for few days as Student's t."""


Key = tuple[str, tuple[str, ...], tuple[str, ...], int | None]


@dataclass(frozen=True)
class Trend:
    """Change in four weeks and its standard error, in the unit of what it is of, from so many days."""

    change: float
    sure: float
    days: int

    @property
    def clear(self) -> bool:
        """Whether it stands out from the ups and downs."""
        return abs(self.change) > students(self.days - 2) * self.sure


def students(free: int) -> float:
    """How many standard errors chance alone passes once in a hundred, by degrees of freedom.

    t = z + (z^3 + z) / 4n + (5 z^5 + 16 z^3 + 3 z) / 96n^2 + (3 z^7 + 19 z^5 + 17 z^3 - 15 z) / 384n^3

    `free`: at least 2.

    Source: series of Cornish and Fisher; within 4 % from three degrees of freedom on, 12 % at two.

    >>> round(students(10), 2)
    3.17
    """
    z, n = CLEAR, float(free)
    one, two = (z**3 + z) / 4, (5 * z**5 + 16 * z**3 + 3 * z) / 96
    return z + one / n + two / n**2 + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * n**3)


class Best(NamedTuple):
    """The greatest total that is no blunder."""

    total: float  # from the take-off toe [m]
    day: int  # ordinal
    phases: tuple[float, ...]  # [m]; () where not all were measured
    # wind, official: wind [m/s], and the distance from the mark [m], where they were measured
    wind: float | None
    official: float | None
    said: str | None  # training or competition


@dataclass(frozen=True)
class Phase:
    """One phase, or the total."""

    name: str
    count: int  # measured
    # usual, sure: middle of the latest, and its standard error [m]
    usual: float
    sure: float
    # planned, off: of the latest plan, and the usual less that [m]
    planned: float | None
    off: float | None
    # share, planned_share: of the total [-]; for a total None
    share: float | None
    planned_share: float | None
    trend: Trend | None  # [m]


@dataclass(frozen=True, eq=False)
class Told:
    """Attempts at one drill from one run-up."""

    kind: Kind  # of the latest attempt
    # count, days: measured attempts, and days with any
    count: int
    days: int
    phases: tuple[Phase, ...]  # those ever measured
    total: Phase | None
    step_trend: Trend | None  # of the step's share of whole jumps [-]
    # best, legal: the greatest, and the greatest that was not wind-assisted; no wind measured
    # counts as none
    best: Best | None
    legal: Best | None
    # day, id: (n,) of the measured attempts, and their numbers in the book
    day: Whole
    id: Whole
    # lengths, planned: (n, m) by day, nan where not measured or planned [m]
    lengths: Array
    planned: Array
    totals: Array  # (n,), nan where not measured [m]

    @property
    def key(self) -> Key:
        """As `key_of` has it of each of its attempts."""
        return self.kind.drill, self.kind.phases, self.kind.arcs, self.kind.strides


def key_of(kind: Kind, full: int | None) -> Key:
    """What attempts that are told together have in common: drill, phases, arcs and strides.

    `full`: strides of the full approach, for attempts at it that were noted without.
    """
    return kind.drill, kind.phases, kind.arcs, strides_of(kind, full)


def trend_of(day: Whole, values: Array) -> Trend | None:
    """Change in four weeks over the last twelve, from the middles of days; None where too few.

    `day`: (n,) ordinals. `values`: (n,).
    """
    known = np.isfinite(values)
    if not known.any():
        return None
    known &= day > day[known].max() - TREND_DAYS
    day, values = day[known], values[known]
    days = np.unique(day)
    least_days, least, least_span = TREND_LEAST
    if days.size < least_days or day.size < least or days[-1] - days[0] < least_span:
        return None
    middles = np.array([np.median(values[day == d]) for d in days])
    slope, sure = line(days.astype(float), middles)
    return Trend(slope * MONTH, sure * MONTH, int(days.size))


def usual_of(values: Array) -> tuple[float, float]:
    """Middle of the latest measured values and its standard error; nan without any."""
    latest = values[np.isfinite(values)][-RECENT:]
    if not latest.size:
        return float("nan"), float("nan")
    rough = float(np.median(latest))
    own = spread_of(latest - rough) if latest.size > 1 else 0.0
    spread = drawn(own, latest.size, SPREAD * rough)
    middle, weights = centre(latest[:, None], np.array([spread]))
    return float(middle[0]), float(spread / np.sqrt(max(count_of(weights), 0.5)))


def told_of(record: Record, full: int | None = None) -> tuple[Told, ...]:
    """Each drill and run-up that was ever measured: full and other whole jumps, then by attempts.

    `full`: strides of the full approach, for attempts at it that were noted without.
    """
    together = defaultdict(list)
    for group in record.groups:
        kind = replace(group.kind, strides=strides_of(group.kind, full))
        together[key_of(kind, full)].append(replace(group, kind=kind))
    out = []
    for groups in together.values():
        rows = np.concatenate([g.rows for g in groups])
        lengths = np.concatenate([g.lengths for g in groups])
        planned = np.concatenate([
            np.tile(g.kind.planned or (np.nan,) * len(g.kind.phases), (g.rows.size, 1))
            for g in groups
        ])  # fmt: skip
        latest = max(groups, key=lambda g: (record.day[g.rows[-1]], g.rows[-1])).kind
        order = np.lexsort((rows, record.day[rows]))
        found = _drill_told(latest, record, rows[order], lengths[order], planned[order])
        if found is not None:
            out.append(found)
    return tuple(sorted(out, key=_order))


def _order(told: Told) -> tuple[bool, bool, int, str, int]:
    kind = told.kind
    return not kind.full, not kind.whole, -told.count, kind.drill, kind.strides or 0


def _drill_told(
    kind: Kind, record: Record, rows: Whole, lengths: Array, planned: Array
) -> Told | None:
    total = record.total[rows]
    measured = np.isfinite(lengths).any(axis=1) | np.isfinite(total)
    if not measured.any():
        return None
    day = record.day[rows]
    plans = planned[np.isfinite(planned).any(axis=1)]
    marks = plans[-1] if plans.size else np.full(lengths.shape[1], np.nan)
    usual = [usual_of(c) for c in lengths.T]
    whole = sum(u for u, _ in usual)
    phases = []
    for i, name in enumerate(named(kind.phases)):
        middle, sure = usual[i]
        if not np.isfinite(middle):
            continue
        mark = float(marks[i]) if np.isfinite(marks[i]) else None
        phases.append(Phase(
            name, int(np.isfinite(lengths[:, i]).sum()), middle, sure, mark,
            None if mark is None else middle - mark,
            middle / whole if np.isfinite(whole) else None,
            None if mark is None else mark / float(marks.sum()),
            trend_of(day, lengths[:, i]),
        ))  # fmt: skip
    share = lengths[:, 1] / lengths.sum(axis=1) if kind.whole else np.zeros(0)
    return Told(
        kind=kind,
        count=int(measured.sum()),
        days=int(np.unique(day[measured]).size),
        phases=tuple(phases),
        total=_total(day, total, marks),
        step_trend=trend_of(day, share) if kind.whole else None,
        best=_best(record, rows, lengths, rows >= 0),
        legal=_best(record, rows, lengths, ~(record.wind[rows] > LEGAL_WIND)),
        day=day[measured],
        id=record.id[rows[measured]],
        lengths=lengths[measured],
        planned=planned[measured],
        totals=total[measured],
    )


def _total(day: Whole, total: Array, marks: Array) -> Phase | None:
    middle, sure = usual_of(total)
    if not np.isfinite(middle):
        return None
    mark = float(marks.sum()) if np.isfinite(marks).all() else None
    off = None if mark is None else middle - mark
    count = int(np.isfinite(total).sum())
    return Phase("total", count, middle, sure, mark, off, None, None, trend_of(day, total))


def _best(record: Record, rows: Whole, lengths: Array, counts: NDArray[np.bool_]) -> Best | None:
    """The greatest total that counts: every figure of it must belong with the others."""
    total = record.total[rows]
    values = np.concatenate([lengths, total[:, None]], axis=1)
    values = values[:, np.isfinite(values).any(axis=0)]
    if not np.isfinite(total).any():
        return None
    rough = np.nanmedian(values, axis=0)
    _, weights = centre(values, spread_about(values, rough))
    kept = np.where((weights > 0.0) & counts & np.isfinite(total), total, -np.inf)
    at = int(kept.argmax())
    if not np.isfinite(kept[at]):
        return None
    row = int(rows[at])
    phases = tuple(float(v) for v in lengths[at])
    wind, behind = float(record.wind[row]), float(record.behind[row])
    return Best(
        float(total[at]), int(record.day[row]), phases if np.isfinite(phases).all() else (),
        None if np.isnan(wind) else wind,
        None if np.isnan(behind) else round(float(total[at]) - behind, 6), record.said[row],
    )  # fmt: skip


def best_whole(tolds: Sequence[Told], strides: int) -> tuple[float, tuple[float, ...]] | None:
    """The best whole jump from the full approach, not wind-assisted, and its phases, all measured [m].

    None without one.
    """
    found = [
        (sum(t.legal.phases), t.legal.phases)
        for t in tolds
        if t.kind.whole
        and t.legal
        and t.legal.phases
        and (t.kind.full or t.kind.strides == strides)
    ]
    return max(found) if found else None
