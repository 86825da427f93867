"""A squad shared out over a few sets of marks, so that the marks miss the athletes by least.

The misfit of athlete i on the marks of set g is

    sum over phases p of  w_p (x_ip - c_gp)^2

with x the lengths of the athlete's own phases and c those of the set; the total adds the athletes'
misfits, each times the athlete's weight. Squares: one athlete 20 cm off counts more than two who
are 10 cm off. The best marks of a set of athletes are the weighted means of their phases, or as
near them as suits everybody: those who may only be shortened are never given a longer phase than
their own, with or without a tolerance, also in a phase that does not count.

How far the answer is the best one is said in `Sharing.search`:

- up to `ALL` athletes, every way of sharing them out is compared: the best there is;
- where one phase counts and the same limits hold for everybody, athletes in order of its length: in
  the best sharing of all, sets are neighbours in that order, and the best sharing into neighbours is
  found exactly;
- otherwise the best sharing into neighbours is found exactly in each of a few orders, and athletes
  are then moved while that helps: at least as good as neighbours, not proven the best. `bound` says
  what no sharing can beat.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from animate.body.body import Array
from layout.rules.rule import rule
from layout.squad.grouping import (
    MANY,
    SLACK,
    Groups,
    all_neighbours,
    every_sharing,
    fewest,
    improved,
    least_misfit,
)
from layout.words.faults import refuse
from layout.words.reading import number_in
from layout.words.units import parse_length

ALL: Final = 12
"""Athletes up to which every way of sharing out is compared (ours: a tenth of a second)."""
TOLERANCE: Final[float] = rule("shared_mark")
"""How far a shared mark may be off an athlete's own phase [m]."""
EVERY: Final = "every way of sharing out was compared"
ONE_LENGTH: Final = "one length only, so neighbours in order of length are the best of all sharings"
MOVED: Final = (
    "neighbours in several orders were shared out exactly, then athletes moved while it helped; not "
    "proven the best"
)


Kind = Literal["length", "share"]


@dataclass(frozen=True)
class Tolerance:
    """How far off a shared mark may be in any phase."""

    size: float = TOLERANCE  # [m], or a share of the athlete's own phase [-]
    kind: Kind = "length"

    def __str__(self) -> str:
        return f"{100 * self.size:g} " + ("cm" if self.kind == "length" else "%")


def parse_tolerance(text: str) -> Tolerance:
    """A tolerance such as "15 cm", "0.15" [m] or "5 %".

    >>> str(parse_tolerance("15cm")), str(parse_tolerance("4,5 %"))
    ('15 cm', '4.5 %')
    """
    bare = text.strip()
    if not bare.endswith("%"):
        return Tolerance(parse_length(bare, "--tolerance", lowest=0.01, highest=2.0))
    share = number_in(bare[:-1]) or 0.0
    if not 0.5 <= share <= 50.0:
        raise refuse("--tolerance", "must be a length such as 15cm, or 0.5 % to 50 %", text)
    return Tolerance(share / 100.0, "share")


@dataclass(frozen=True)
class MarkSet:
    """One set of marks."""

    label: str  # A letter where athletes share it, a number where it is one athlete's own
    members: tuple[int, ...]  # Athletes, by their place in the squad
    lengths: tuple[float, ...]  # Phases, mark to mark [m]

    @property
    def shared(self) -> bool:
        """Whether more than one athlete uses it."""
        return len(self.members) > 1


@dataclass(frozen=True)
class Sharing:
    """A squad shared out."""

    sets: tuple[MarkSet, ...]  # Shared ones by length, shortest first, then single athletes' own
    wanted: int | None  # Sets asked for; None where the tolerance set their number
    misfit: float  # Least total found for that number of sets, before anybody got own marks [m^2]
    # Athletes over the tolerance in the sets asked for; they have their own marks
    off: tuple[int, ...]
    search: str  # How far this is the best sharing
    # Misfit that no sharing into as many sets can be under [m^2], or, where the tolerance set their
    # number, sets that no sharing can do without [-]; None where it was not worked out
    bound: float | None

    def widest(self, lengths: Array, counts: Sequence[bool], kind: Kind) -> Tolerance | None:
        """The least whole tolerance nobody is over here; None where none that wide goes."""
        marks = np.array([self.set_of(i).lengths for i in range(len(lengths))])
        off = np.abs(marks - lengths) / (lengths if kind == "share" else 1.0)
        whole = math.ceil(round(100.0 * float(off[:, list(counts)].max()), 6))
        return Tolerance(whole / 100, kind) if whole <= (50 if kind == "share" else 200) else None

    def set_of(self, athlete: int) -> MarkSet:
        """The set an athlete uses."""
        return next(s for s in self.sets if athlete in s.members)


def letters(number: int) -> str:
    """Letters of a set, counted from 0.

    >>> letters(0), letters(25), letters(26)
    ('A', 'Z', 'AA')
    """
    text = chr(ord("A") + number % 26)
    return text if number < 26 else letters(number // 26 - 1) + text


def _checked(given: Array | None, field: str, count: int) -> Array:
    """Weights of so many things, 1 each when left out."""
    out = np.ones(count) if given is None else np.asarray(given, float)
    if out.shape != (count,) or not (np.isfinite(out) & (out >= 0.0)).all() or not out.any():
        raise refuse(field, f"{count} weights of 0 or more needed, not all 0", out.tolist())
    return out


def share(
    lengths: Array,
    k: int | None = None,
    tolerance: Tolerance | None = None,
    phases: Array | None = None,
    athletes: Array | None = None,
    shorter: Array | None = None,
) -> Sharing:
    """Share a squad out over sets of marks.

    lengths (n, m): phases of each athlete's own plan, all of one drill [m].
    k: sets wanted, at most; None takes the fewest in which nobody is off by more than the tolerance
        in any phase that counts.
    tolerance: 15 cm when left out (ours).
    phases (m,): how much each phase counts, 0 not at all; 1 each when left out [-].
    athletes (n,): how much each athlete counts, above 0; 1 each when left out [-].
    shorter (n,): athletes whose marks may be shorter than their own phases but never longer, such
        as children.
    Returns: with k given, athletes over the tolerance get marks of their own; the sets' marks then
        are the means of those who stay, moved no further than keeps them within the tolerance.

    >>> import numpy as np
    >>> made = share(np.array([[4.0, 3.4], [4.1, 3.5], [5.0, 4.2]]))
    >>> [(s.label, s.members) for s in made.sets]
    [('A', (0, 1)), ('1', (2,))]
    """
    x = np.asarray(lengths, dtype=float)
    if x.ndim != 2 or not x.size or not np.isfinite(x).all() or not (x > 0.0).all():
        raise refuse("lengths", "one row of phases above 0 m for each athlete needed", x.shape)
    n, m = x.shape
    if k is not None and k < 1:
        raise refuse("--sets", "at least 1 needed", k)
    tolerance = tolerance or Tolerance()
    w, u = _checked(phases, "phases", m), _checked(athletes, "athletes", n)
    if not (u > 0.0).all():
        raise refuse("athletes", "weights above 0 needed", u.tolist())
    room = np.full((n, m), tolerance.size) * (x if tolerance.kind == "share" else 1.0)
    young = np.zeros(n, bool) if shorter is None else np.asarray(shorter, bool)
    if young.shape != (n,):
        raise refuse("shorter", f"{n} values needed", young.shape)
    value, groups, search, bound = _searched(x, k, room, w, u, young)
    # A phase that does not count sets no limit.
    free = np.where(w > 0.0, room, np.inf)
    limits = x - free, x + np.where(young[:, None], 0.0, free), np.where(young[:, None], x, np.inf)
    sets, off = _mark_sets(x, u, groups, limits, k is not None)
    return Sharing(sets, k, value, off, search, bound)


def _searched(
    x: Array, k: int | None, room: Array, w: Array, u: Array, young: Array
) -> tuple[float, Groups, str, float | None]:
    """The best groups found: their misfit, they, how far they are the best, and the bound."""
    root = np.sqrt(w)
    y = (x - x.mean(axis=0)) * root
    limited = (w > 0.0) & (k is None)
    low = np.where(limited, y - room * root, -np.inf)
    high = np.where(young[:, None], y, np.where(limited, y + room * root, np.inf))
    if len(x) <= ALL:
        value, groups = every_sharing(y, u, k, low, high)
        return value, groups, EVERY, float(len(groups)) if k is None else value
    found = all_neighbours(y, u, k, low, high)
    value, groups, _ = found[0]
    if (w > 0.0).sum() == 1 and young.all() == young.any():
        return value, groups, ONE_LENGTH, float(len(groups)) if k is None else value
    value, groups = improved(y, u, [g for _, g, _ in found], k, low, high)
    if k is None:
        return value, groups, MOVED, float(fewest(low, high))
    return value, groups, MOVED, least_misfit(y, u, k) if len(x) < MANY else None


def _mark_sets(
    x: Array, u: Array, groups: Groups, limits: tuple[Array, Array, Array], asked: bool
) -> tuple[tuple[MarkSet, ...], tuple[int, ...]]:
    """Marks and labels of groups, and those over the tolerance, who are by themselves.

    `limits` are each athlete's least and greatest marks, and what theirs may never be over; `asked`
    says that a number of sets was asked for, so that some can be over.
    """
    low, high, cap = limits
    shared, alone, off = list[tuple[list[int], Array]](), list[int](), list[int]()
    for group in groups:
        if asked:
            marks = np.average(x[group], axis=0, weights=u[group])
            marks = np.minimum(marks, cap[group].min(axis=0))
            fine = ((low[group] <= marks + SLACK) & (marks <= high[group] + SLACK)).all(axis=1)
            off += [i for i, ok in zip(group, fine, strict=True) if not ok]
            group = [i for i, ok in zip(group, fine, strict=True) if ok]
        if len(group) < 2:
            alone += group
            continue
        marks = np.average(x[group], axis=0, weights=u[group])
        shared.append((group, np.clip(marks, low[group].max(axis=0), high[group].min(axis=0))))
    shared.sort(key=lambda s: (float(s[1].sum()), s[0]))
    own = sorted({*alone, *off}, key=lambda i: (float(x[i].sum()), i))
    sets = [
        MarkSet(letters(i), tuple(sorted(group)), tuple(map(float, marks)))
        for i, (group, marks) in enumerate(shared)
    ]
    sets += [MarkSet(str(i + 1), (who,), tuple(map(float, x[who]))) for i, who in enumerate(own)]
    return tuple(sets), tuple(sorted(off))
