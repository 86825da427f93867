"""Attempts that look wrong and are left out of every figure, and why; the load still counts them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from animate.body.body import Array
from layout.book.jumped import AGREE
from layout.book.marks import named, pairs_apart
from layout.book.record import Aside, Group, Record, Whole
from layout.season.gather import SPREAD, SPREAD_WEIGHT
from layout.season.robust import centre, spread_of

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
    return np.asarray(
        np.sqrt((SPREAD_WEIGHT * (SPREAD * rough) ** 2 + n * own**2) / (SPREAD_WEIGHT + n)), float
    )


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
