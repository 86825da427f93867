"""Groups of athletes bettered by moving athletes, where no exact search reaches; never proven best.

Lengths and what each athlete may be given come as in `grouping`.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from animate.body.body import Array
from layout.squad.grouping import MANY, SLACK, Groups

FEW: Final = 1000
"""Athletes up to which sets are tried to be emptied into others (ours: to stay within a second)."""
STARTS: Final = 12
"""Sharings tried besides the best neighbours (ours)."""


def _marks(y: Array, u: Array, groups: Groups, low: Array, high: Array) -> Array:
    """Marks of groups: means, moved between what every member may be given."""
    out = []
    for group in groups:
        mean = np.average(y[group], axis=0, weights=u[group])
        out.append(np.clip(mean, low[group].max(axis=0), high[group].min(axis=0)))
    return np.array(out)


def misfit(y: Array, u: Array, groups: Groups, low: Array, high: Array) -> float:
    """Misfit of groups on their marks [m^2]."""
    marks = _marks(y, u, groups, low, high)
    return sum(
        float(u[g] @ ((y[g] - m) ** 2).sum(axis=1)) for g, m in zip(groups, marks, strict=True)
    )


def settled(y: Array, u: Array, groups: Groups, low: Array, high: Array) -> Groups:
    """Move athletes to the set nearest to them that they may use, until nobody gains by it."""
    n = len(y)
    at = np.empty(n, dtype=np.int64)
    for i, group in enumerate(groups):
        at[group] = i
    for _ in range(60 if n < MANY else 4):
        marks = _marks(y, u, groups, low, high)
        away = np.zeros((n, len(groups)))
        barred = np.zeros((n, len(groups)), dtype=bool)
        for p in range(y.shape[1]):
            away += (y[:, p, None] - marks[:, p]) ** 2
            barred |= (low[:, p, None] > marks[:, p] + SLACK) | (
                high[:, p, None] < marks[:, p] - SLACK
            )
        away[barred] = np.inf
        rows = np.arange(n)
        new = away.argmin(axis=1)
        new = np.where(away[rows, new] < away[rows, at] - 1e-12, new, at)
        if (new == at).all():
            break
        _, at = np.unique(new, return_inverse=True)
        order = np.argsort(at, kind="stable")
        groups = [g.tolist() for g in np.split(order, np.flatnonzero(np.diff(at[order])) + 1)]
    return groups


def gathered(y: Array, low: Array, high: Array) -> Groups:
    """Groups each round the athlete whose marks suit the most of those left, then filled up."""
    n = len(y)
    suits = np.ones((n, n), dtype=bool)
    for p in range(y.shape[1]):
        suits &= low[:, p, None] <= y[:, p] + SLACK
        suits &= high[:, p, None] >= y[:, p] - SLACK
    count = suits.sum(axis=0, dtype=np.int32)
    left = np.ones(n, dtype=bool)
    groups: Groups = []
    while left.any():
        inside = suits[:, int(count.argmax())] & left
        near = np.flatnonzero(left & ~inside)
        while True:
            least, most = low[inside].max(axis=0), high[inside].min(axis=0)
            fine = np.maximum(low[near], least) <= np.minimum(high[near], most) + SLACK
            near = near[fine.all(axis=1)]
            if not near.size:
                break
            next_ = int(((y[near] - y[inside].mean(axis=0)) ** 2).sum(axis=1).argmin())
            inside[near[next_]] = True
            near = np.delete(near, next_)
        groups.append(np.flatnonzero(inside).tolist())
        count -= suits[inside].sum(axis=0, dtype=np.int32)
        left &= ~inside
        count[~left & (count <= 0)] = -1
    return groups


def emptied(y: Array, groups: Groups, low: Array, high: Array) -> Groups:
    """Fewer groups, where all members of one can go to others."""
    groups = sorted((list(g) for g in groups), key=len)
    least = np.array([low[g].max(axis=0) for g in groups])
    most = np.array([high[g].min(axis=0) for g in groups])
    middle = np.array([y[g].mean(axis=0) for g in groups])
    i = 0
    while i < len(groups):
        # Marks that suit nobody, so that the group being emptied takes nobody in.
        lows, highs = least.copy(), most.copy()
        lows[i], highs[i] = np.inf, -np.inf
        moved = []
        for who in groups[i]:
            fine = (np.maximum(lows, low[who]) <= np.minimum(highs, high[who]) + SLACK).all(axis=1)
            if not fine.any():
                break
            away = np.where(fine, ((middle - y[who]) ** 2).sum(axis=1), np.inf)
            to = int(away.argmin())
            lows[to] = np.maximum(lows[to], low[who])
            highs[to] = np.minimum(highs[to], high[who])
            moved.append((who, to))
        if len(moved) < len(groups[i]):
            i += 1
            continue
        for who, to in moved:
            groups[to].append(who)
        keep = [j for j in range(len(groups)) if j != i]
        groups = [groups[j] for j in keep]
        least, most, middle = lows[keep], highs[keep], middle[keep]
        i = 0
    return groups


def seeded(y: Array, k: int, number: int) -> list[Groups]:
    """Sharings round k athletes drawn far from each other, the same each time."""
    random = np.random.default_rng(len(y))
    out = []
    for _ in range(number):
        away = np.full(len(y), np.inf)
        marks: list[Array] = []
        for i in range(k):
            chance = None if i == 0 or not away.any() else away / away.sum()
            marks.append(y[random.choice(len(y), p=chance)])
            away = np.minimum(away, ((y - marks[-1]) ** 2).sum(axis=1))
        at = ((y[:, None, :] - np.array(marks)) ** 2).sum(axis=2).argmin(axis=1)
        out.append([np.flatnonzero(at == i).tolist() for i in np.unique(at)])
    return out


def exchanged(y: Array, u: Array, groups: Groups) -> Groups:
    """Move single athletes while the means that follow them lower the misfit; for no limits on marks.

    Leaving a set of weight W at distance d saves u W / (W - u) d^2; joining one costs
    u W / (W + u) d^2.
    """
    at = np.empty(len(y), dtype=np.int64)
    for i, group in enumerate(groups):
        at[group] = i
    weight = np.array([u[g].sum() for g in groups])
    means = np.array([np.average(y[g], axis=0, weights=u[g]) for g in groups])
    count = np.bincount(at)
    moved = True
    while moved:
        moved = False
        for i in range(len(y)):
            home = at[i]
            if count[home] == 1:
                continue
            away = ((means - y[i]) ** 2).sum(axis=1)
            cost = u[i] * weight / (weight + u[i]) * away
            cost[home] = u[i] * weight[home] / (weight[home] - u[i]) * away[home]
            to = int(cost.argmin())
            if cost[to] >= cost[home] - 1e-12:
                continue
            for place, way in ((home, -1.0), (to, 1.0)):
                whole = weight[place] + way * u[i]
                means[place] = (means[place] * weight[place] + way * u[i] * y[i]) / whole
                weight[place] = whole
            count[home], count[to] = count[home] - 1, count[to] + 1
            at[i], moved = to, True
    return [np.flatnonzero(at == i).tolist() for i in range(len(groups))]


def improved(
    y: Array, u: Array, starts: list[Groups], k: int | None, low: Array, high: Array
) -> tuple[float, Groups]:
    """A sharing at least as good as those given, by moving athletes; not proven to be the best.

    Returns: misfit and groups.
    """
    few = len(y) <= FEW
    if k is not None:
        low, free = np.full_like(low, -np.inf), bool(np.isinf(high).all())
        starts = [*starts, *(seeded(y, min(k, len(y)), STARTS) if few else [])]
        ends = [settled(y, u, g, low, high) for g in starts]
        ends = [exchanged(y, u, g) for g in ends] if few and free else ends
    else:
        starts = [*starts, gathered(y, low, high)]
        if few:
            starts = [emptied(y, g, low, high) for g in starts]
        least = min(map(len, starts))
        ends = [settled(y, u, g, low, high) for g in starts if len(g) == least]
    tried = [(len(g) if k is None else 0, misfit(y, u, g, low, high), g) for g in ends]
    _, value, best = min(tried, key=lambda t: t[:2])
    return value, best
