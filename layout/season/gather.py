"""Attempts gathered by drill, arc and run-up: one middle each, how sure it is, and what looks wrong."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array
from layout.athlete.march import Chain
from layout.book.marks import named, pairs_apart
from layout.book.record import Aside, Group, Kind, Record, Whole
from layout.book.typed import AGREE
from layout.season.robust import centre, count_of, spread_of

_Key = tuple[tuple[str, ...], tuple[str, ...], int, bool, bool]
SPREAD: Final = 0.04
"""From one attempt to the next, as a share of a phase, where too few tell it (ours)."""
SPREAD_WEIGHT: Final = 8
"""Attempts that this default counts as (ours)."""
MODEL: Final = 0.03
"""By how much the march may be off for one drill and run-up, as a share of a phase (ours): no number
of attempts makes a middle surer than this."""
SPEED_SPREAD: Final = 0.15
"""Of timed speeds at one run-up [m/s] (ours)."""
SPEED_MODEL: Final = 0.015
"""By how much the approach curve may be off, as a share of speed (ours)."""
OWN: Final = 10
"""Attempts from which a gathering's own ups and downs count as much as the common ones (ours)."""


def drawn(own: Array | float, n: Array | int, common: Array | float) -> Array:
    """Standard deviation of n values, drawn to a common one that counts as `SPREAD_WEIGHT` of them."""
    return np.sqrt((SPREAD_WEIGHT * common**2 + n * own**2) / (SPREAD_WEIGHT + n))


@dataclass(frozen=True, eq=False)
class Cell:
    """Attempts at one chain from one run-up."""

    title: str
    chain: Chain
    strides: int
    total: bool  # whether only totals are known
    seen: NDArray[np.bool_]  # (m,) which phases were measured
    middle: Array  # (s,) of those phases, or of the total [m]
    root: Array  # (s, s) lower Cholesky factor of its covariance [m]
    count: int

    @property
    def sure(self) -> Array:
        """Standard deviation of each [m]."""
        return np.asarray(np.sqrt((self.root**2).sum(axis=1)))


@dataclass(frozen=True)
class SpeedCell:
    """Timed speeds after so many strides: middle and standard deviation [m/s]."""

    strides: int
    middle: float
    sure: float
    count: int


@dataclass(frozen=True)
class Gathered:
    """All of an athlete's; `have` are measured attempts by strides."""

    cells: tuple[Cell, ...]
    speeds: tuple[SpeedCell, ...]
    have: tuple[tuple[int, int], ...]
    timed: int
    blunders: float
    spread: float


def strides_of(kind: Kind, full: int | None) -> int | None:
    """Strides of an attempt's approach; those of the full one where the drill wants that."""
    if kind.stand:
        return 0
    if kind.strides is None:
        return full if kind.full else None
    return kind.strides


def gather(record: Record, full: int) -> Gathered:
    """Gather what can be compared with the march.

    full: strides of the full approach.
    Returns attempts whose strides are not known are left out.
    """
    together: dict[_Key, list[Group]] = defaultdict(list)
    for group in record.groups:
        kind, strides = group.kind, strides_of(group.kind, full)
        fits = kind.phases and "jump" not in kind.phases[:-1] and len(kind.arcs) == len(kind.phases)
        if strides is not None and fits:
            key = (kind.phases, kind.arcs, strides, kind.sand, kind.stand)
            together[key].append(group)
    pools = []
    for key, groups in together.items():
        lengths = np.concatenate([g.lengths for g in groups])
        totals = np.concatenate([record.total[g.rows] for g in groups])
        pools.append((key, groups[0].kind, lengths, totals))
    spread = _spread([lengths for _, _, lengths, _ in pools])
    cells: list[Cell] = []
    have: dict[int, int] = defaultdict(int)
    aside = measured = len(record.aside)
    for key, kind, lengths, totals in pools:
        strides = key[2]
        known = np.isfinite(lengths).any(axis=1)
        made, weights = _cell(kind, strides, lengths[known], spread)
        cells += made
        aside, measured = aside + int((weights < 0.05).sum()), measured + weights.size
        have[strides] += int((weights >= 0.05).sum())
        cells += _totals(kind, strides, totals[~known & np.isfinite(totals)], spread)
    speeds = _speeds(record, full)
    return Gathered(
        tuple(cells),
        speeds,
        tuple(sorted((s, n) for s, n in have.items() if n)),
        sum(s.count for s in speeds),
        aside / measured if measured else 0.0,
        spread,
    )


def _spread(pools: list[Array]) -> float:
    """Robust spread of all phases round the median of their gathering, as a share."""
    off = []
    for lengths in pools:
        if lengths.shape[0] < 3:
            continue
        for column in lengths.T:
            known = column[np.isfinite(column)]
            if known.size >= 3:
                middle = np.median(known)
                off.append((known / middle - 1.0) * np.sqrt(known.size / (known.size - 1.0)))
    values = np.concatenate(off) if off else np.zeros(0)
    if not values.size:
        return SPREAD
    return float(drawn(spread_of(values), values.size, SPREAD))


def _cell(kind: Kind, strides: int, lengths: Array, spread: float) -> tuple[list[Cell], Array]:
    if not lengths.shape[0]:
        return [], np.zeros(0)
    seen = np.asarray(np.isfinite(lengths).any(axis=0))
    values = lengths[:, seen]
    first = np.array([np.median(c[np.isfinite(c)]) for c in values.T])
    middle, weights = centre(values, spread * first)
    kept = weights > 0
    if not kept.any():
        return [], weights
    worth = np.array([count_of(weights * np.isfinite(c)) for c in values.T])
    sure = np.diag((spread * middle) ** 2)
    n = int(kept.sum())
    if n >= 4 and np.isfinite(values[kept]).all():
        off = (values[kept] - middle) * np.sqrt(weights[kept])[:, None]
        own = off.T @ off / weights[kept].sum() * n / (n - 1)
        sure = (n * own + OWN * sure) / (n + OWN)
    root_worth = np.sqrt(np.maximum(worth, 0.5))
    cover = sure / np.outer(root_worth, root_worth) + np.diag((MODEL * middle) ** 2)
    cell = Cell(kind.title, _chain(kind), strides, False, seen, middle,
                np.asarray(np.linalg.cholesky(cover), float), n)  # fmt: skip
    return [cell], weights


def _chain(kind: Kind) -> Chain:
    return Chain(kind.phases, kind.arcs, kind.sand, kind.stand)


def _totals(kind: Kind, strides: int, totals: Array, spread: float) -> list[Cell]:
    """A cell of attempts of which only the total was measured."""
    if not totals.size:
        return []
    each = spread * float(np.median(totals)) / np.sqrt(len(kind.phases))
    middle, weights = centre(totals[:, None], np.array([each]))
    worth = max(count_of(weights), 0.5)
    sure = np.hypot(each / np.sqrt(worth), MODEL * float(middle[0]) / np.sqrt(len(kind.phases)))
    return [Cell(kind.title, _chain(kind), strides, True, np.zeros(len(kind.phases), bool), middle,
                 np.array([[sure]]), int((weights > 0).sum()))]  # fmt: skip


def _speeds(record: Record, full: int) -> tuple[SpeedCell, ...]:
    by_strides: dict[int, list[Array]] = defaultdict(list)
    for group in record.groups:
        strides = strides_of(group.kind, full)
        values = record.speed[group.rows]
        values = values[(values > 1.0) & (values < 13.0)]
        if strides and values.size:
            by_strides[strides].append(values)
    out = []
    for strides, parts in sorted(by_strides.items()):
        values = np.concatenate(parts)
        middle, weights = centre(values[:, None], np.array([SPEED_SPREAD]))
        sure = np.hypot(SPEED_SPREAD / np.sqrt(max(count_of(weights), 0.5)),
                        SPEED_MODEL * float(middle[0]))  # fmt: skip
        out.append(SpeedCell(strides, float(middle[0]), float(sure), int((weights > 0).sum())))
    return tuple(out)


LEAST: Final = 4
"""From so many attempts of a kind on, an attempt is compared with their middle (ours)."""
FAR: Final = 0.20
"""Nearer than this share to the middle no phase is called wrong (ours)."""


def spread_about(values: Array, rough: Array) -> Array:
    """Standard deviation of good rows about a rough middle, drawn to the common one where few [m].

    `values`: (n, m) nan where not measured. `rough`: (m,).

    Source: ours.
    """
    own = np.array([spread_of(c - m) for c, m in zip(values.T, rough, strict=True)])
    n = np.isfinite(values).sum(axis=0)
    return drawn(own, n, SPREAD * rough)


def set_aside(record: Record) -> Record:
    """The record with what looks wrong left out of lengths and totals, and listed in `aside`."""
    together: dict[object, list[Group]] = defaultdict(list)
    for group in record.groups:
        kind = group.kind
        together[kind.drill, kind.phases, kind.arcs, kind.strides].append(group)
    found: list[Aside] = []
    bad: set[int] = set()
    for groups in together.values():
        rows = np.concatenate([g.rows for g in groups])
        lengths = np.concatenate([g.lengths for g in groups])
        for at, why, name, value, other, beside in _wrong(
            groups[0].kind.phases, lengths, record.total[rows]
        ):
            row = int(rows[at])
            bad.add(row)
            title, number, day = groups[0].kind.title, int(record.id[row]), int(record.day[row])
            found.append(Aside(number, day, title, why, name, value, other, beside))
    if not bad:
        return record
    total = record.total.copy()
    total[sorted(bad)] = np.nan
    kept = tuple(replace(g, lengths=_without(g.lengths, g.rows, bad)) for g in record.groups)
    found = sorted((*record.aside, *found), key=lambda a: (a.day, a.id))
    return replace(record, total=total, groups=kept, aside=tuple(found))


def _without(lengths: Array, rows: Whole, bad: set[int]) -> Array:
    out = lengths.copy()
    out[np.isin(rows, sorted(bad))] = np.nan
    return out


def _wrong(
    phases: Sequence[str], lengths: Array, total: Array
) -> Iterator[tuple[int, str, str, float, str, float]]:
    """Rows of one kind that look wrong, each with why."""
    values = np.concatenate([lengths, total[:, None]], axis=1)
    whole = lengths.sum(axis=1)
    for at in np.flatnonzero(np.abs(whole - total) > AGREE + 1e-9):
        yield int(at), "sum", "phases", float(whole[at]), "total", float(total[at])
        values[at] = np.nan
    known = np.isfinite(values).any(axis=1)
    if known.sum() < LEAST:
        for at in np.flatnonzero(known):
            row = [None if np.isnan(v) else float(v) for v in values[at, :-1]]
            for long, d, short, e, _ in pairs_apart(phases, row)[:1]:
                yield int(at), "uneven", long, d, short, e
        return
    seen = np.flatnonzero(np.isfinite(values).any(axis=0))
    names = [*named(phases), "total"]
    rough = np.nanmedian(values[:, seen], axis=0)
    middle, weights = centre(values[:, seen], spread_about(values[:, seen], rough))
    off = np.nan_to_num(np.abs(values[:, seen] / middle - 1.0))
    for at in np.flatnonzero(known & (weights <= 0.0) & (off.max(axis=1) > FAR)):
        worst = int(off[at].argmax())
        yield (int(at), "far", names[seen[worst]], float(values[at, seen[worst]]), "usual",
               float(middle[worst]))  # fmt: skip
