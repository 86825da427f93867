"""Groups of athletes whose shared marks miss them by least: exact searches, bounds, and what moves on.

Lengths come scaled by the roots of the phases' weights and about their mean, so that a misfit is a
plain square. `low` and `high` are the least and greatest marks each athlete may be given: their
tolerance where no number of sets is asked for, and for those who may only be shortened their own
length whatever is asked.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from animate.body.body import Array

SLACK: Final = 1e-9  # Noise of floats on a tolerance [m]
MANY: Final = 1500
"""Athletes from which fewer orders and improvements are tried (ours: to stay within a second)."""
Groups = list[list[int]]


def _sums(y: Array, u: Array) -> tuple[Array, Array, Array]:
    """Running sums of weight, weighted length and weighted square, from 0 athletes on."""
    n, m = y.shape
    s0, s1, s2 = np.zeros(n + 1), np.zeros((m, n + 1)), np.zeros(n + 1)
    s0[1:] = np.cumsum(u)
    s1[:, 1:] = np.cumsum(u * y.T, axis=1)
    s2[1:] = np.cumsum(u * (y**2).sum(axis=1))
    return s0, s1, s2


def neighbours(y: Array, u: Array, k: int, high: Array | None = None) -> tuple[float, list[int]]:
    """Least misfit of at most k runs of neighbours in the order given, and where each run starts.

    best_k(j) = min over i < j of  best_(k-1)(i) + cost(i, j)

    y (n, m): lengths times the roots of their weights, about their mean [m].
    u (n,): weights of athletes [-].
    high (n, m): greatest marks each athlete may be given; none when left out [m].
    """
    n, m = y.shape
    k = min(k, n)
    most = np.full((m, n), np.inf)
    s0, s1, s2 = _sums(y, u)
    best = np.full((k + 1, n + 1), np.inf)
    best[0, 0] = 0.0
    back = np.zeros((k + 1, n + 1), dtype=np.int32)
    layers = np.arange(k)
    for j in range(1, n + 1):
        if high is not None:
            np.minimum(most[:, :j], high[j - 1][:, None], out=most[:, :j])
        weight, gone = s0[j] - s0[:j], s1[:, j, None] - s1[:, :j]
        cost = s2[j] - s2[:j] + _placed_cost(weight, gone, -np.inf, most[:, :j])
        trial = best[:-1, :j] + np.maximum(cost, 0.0)
        i = trial.argmin(axis=1)
        best[1:, j], back[1:, j] = trial[layers, i], i
    layer = int(best[1:, n].argmin()) + 1
    value, starts, j = float(best[layer, n]), [], n
    while j:
        j = int(back[layer, j])
        starts.append(j)
        layer -= 1
    return value, starts[::-1]


def neighbours_within(y: Array, u: Array, low: Array, high: Array) -> tuple[int, float, list[int]]:
    """Fewest runs of neighbours whose marks suit everybody, least misfit of so many, each one's start.

    A run is allowed where some length lies between every member's `low` and `high` in each phase;
    its marks are the means, moved no further than that. Leaving an athlete out never forbids an
    allowed run, so the fewest runs never fall as athletes are added, and one pass finds both.

    low, high (n, m): least and greatest marks each athlete may be given, in the measure of y [m].
    """
    n, m = y.shape
    s0, s1, s2 = _sums(y, u)
    count, best = np.zeros(n + 1, dtype=np.int64), np.zeros(n + 1)
    back = np.zeros(n + 1, dtype=np.int64)
    least, most = np.full((m, n), -np.inf), np.full((m, n), np.inf)
    first = 0
    for j in range(1, n + 1):
        here = slice(first, j)
        np.maximum(least[:, here], low[j - 1][:, None], out=least[:, here])
        np.minimum(most[:, here], high[j - 1][:, None], out=most[:, here])
        fine = (least[:, here] <= most[:, here] + SLACK).all(axis=0)
        first += int(fine.argmax())
        here = slice(first, j)
        weight, gone = s0[j] - s0[here], s1[:, j, None] - s1[:, here]
        cost = s2[j] - s2[here] + _placed_cost(weight, gone, least[:, here], most[:, here])
        trial = best[here] + np.maximum(cost, 0.0)
        trial[count[here] > count[first]] = np.inf
        i = int(trial.argmin())
        count[j], best[j], back[j] = count[first] + 1, trial[i], first + i
    starts, j = [], n
    while j:
        j = int(back[j])
        starts.append(j)
    return int(count[n]), float(best[n]), starts[::-1]


def _placed_cost(weight: Array, gone: Array, least: Array | float, most: Array) -> Array:
    """Misfit less the sum of squares, on marks at the means moved between `least` and `most`."""
    marks = np.clip(gone / weight, least, most)
    return np.asarray((marks * (weight * marks - 2.0 * gone)).sum(axis=0))


def _subsets(values: Array, start: float, join: np.ufunc) -> Array:
    """One figure for every subset of athletes, subsets numbered by their bits."""
    out = np.full(1 << len(values), start)
    for bit, value in enumerate(values):
        out[1 << bit : 2 << bit] = join(out[: 1 << bit], value)
    return out


def every_sharing(
    y: Array, u: Array, k: int | None, low: Array, high: Array
) -> tuple[float, Groups]:
    """Least misfit over all ways of sharing out, and its groups, by dynamic programming over subsets.

    best(S) = min over T within S, T holding the first of S, of  best(S less T) + cost(T)

    For few athletes. k: at most so many sets; None: the fewest, and then the least misfit. The
    marks suit everybody in both.
    """
    n, m = y.shape
    weight = _subsets(u, 0.0, np.add)
    sums = np.array([_subsets(u * y[:, p], 0.0, np.add) for p in range(m)])
    cost = _subsets(u * (y**2).sum(axis=1), 0.0, np.add)
    weight[0] = 1.0
    least = np.array([_subsets(low[:, p], -np.inf, np.maximum) for p in range(m)])
    most = np.array([_subsets(high[:, p], np.inf, np.minimum) for p in range(m)])
    cost = np.maximum(cost + _placed_cost(weight, sums, least, most), 0.0)
    cost[(least > most + SLACK).any(axis=0)] = np.inf
    cost[0] = 0.0
    rows = n if k is None else min(k, n)
    best = np.full((rows + 1, 1 << n), np.inf)
    best[:, 0] = 0.0
    back = np.zeros((rows + 1, 1 << n), dtype=np.int64)
    layers = np.arange(rows)
    for whole in range(1, 1 << n):
        head = whole & -whole
        parts = np.array([head])
        rest = whole ^ head
        while rest:
            bit = rest & -rest
            parts = np.concatenate([parts, parts | bit])
            rest ^= bit
        trial = best[:-1, whole ^ parts] + cost[parts]
        i = trial.argmin(axis=1)
        best[1:, whole], back[1:, whole] = trial[layers, i], parts[i]
    whole = (1 << n) - 1
    layer = rows if k is not None else int(np.isfinite(best[:, whole]).argmax())
    value, groups = float(best[layer, whole]), []
    while whole:
        part = int(back[layer, whole])
        groups.append([i for i in range(n) if part >> i & 1])
        whole, layer = whole ^ part, layer - 1
    return value, groups


def orders(y: Array) -> dict[str, Array]:
    """Orders in which neighbours are looked for."""
    about = y - y.mean(axis=0)
    out = {"their main difference": about @ np.linalg.eigh(about.T @ about)[1][:, -1]}
    if len(y) < MANY:
        out["their total"] = y.sum(axis=1)
        out |= {f"phase {p + 1}": y[:, p] for p in range(y.shape[1])}
    return out


def fewest(low: Array, high: Array) -> int:
    """Sets that are needed whatever the sharing: the most that any one phase needs by itself [-].

    One phase alone is covered by the fewest marks when each stands as far on as its first athlete
    allows; all phases together need at least as many.
    """
    most = 1
    for p in range(low.shape[1]):
        sets, stand = 0, -np.inf
        for i in np.argsort(high[:, p], kind="stable"):
            if low[i, p] > stand + SLACK:
                sets, stand = sets + 1, float(high[i, p])
        most = max(most, sets)
    return most


def least_misfit(y: Array, u: Array, k: int) -> float:
    """A misfit no sharing into k sets can be under: each phase shared out by itself [m^2].

    Without the limits on what single athletes may be given: with them it can only be more.
    """
    out = 0.0
    for column in y.T:
        order = np.argsort(column, kind="stable")
        out += neighbours(column[order, None], u[order], k)[0]
    return out


def all_neighbours(
    y: Array, u: Array, k: int | None, low: Array, high: Array
) -> list[tuple[float, Groups, str]]:
    """Misfit, groups and name of the best sharing into neighbours in each order, the best one first.

    k None takes the fewest sets; with k given only `high` is a limit.
    """
    found: list[tuple[tuple[float, float], Groups, str]] = []
    for name, key in orders(y).items():
        order = np.argsort(key, kind="stable")
        if k is None:
            sets, value, starts = neighbours_within(y[order], u[order], low[order], high[order])
        else:
            sets, (value, starts) = k, neighbours(y[order], u[order], k, high[order])
        ends = [*starts[1:], len(y)]
        groups = [order[a:b].tolist() for a, b in zip(starts, ends, strict=True)]
        found.append(((sets, value), groups, name))
    found.sort(key=lambda f: f[0])
    return [(value, groups, name) for (_, value), groups, name in found]


FEW: Final = 1000
"""Athletes up to which sets are tried to be emptied into others (ours: to stay within a second)."""
STARTS: Final = 12  # Sharings tried besides the best neighbours (ours)


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
    n, at = len(y), np.empty(len(y), dtype=np.int64)
    at[np.concatenate(groups)] = np.repeat(np.arange(len(groups)), [len(g) for g in groups])
    for _ in range(60 if n < MANY else 4):
        marks = _marks(y, u, groups, low, high)
        away = np.zeros((n, len(groups)))
        barred = np.zeros((n, len(groups)), dtype=bool)
        for own, least, most, mark in zip(y.T, low.T, high.T, marks.T, strict=True):
            away += (own[:, None] - mark) ** 2
            barred |= (least[:, None] > mark + SLACK) | (most[:, None] < mark - SLACK)
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
    for own, least, most in zip(y.T, low.T, high.T, strict=True):
        suits &= (least[:, None] <= own + SLACK) & (most[:, None] >= own - SLACK)
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
    at[np.concatenate(groups)] = np.repeat(np.arange(len(groups)), [len(g) for g in groups])
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
    """Misfit and groups of a sharing at least as good as those given, not proven to be the best."""
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
