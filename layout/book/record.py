"""One athlete's attempts as columns, read once: a report over a hundred thousand takes no time."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from animate.body.body import Array
from layout.book.own import drills_known
from layout.book.people import planned
from layout.book.store import Book, told
from layout.plan.drill import Drill
from layout.words.trade import MOVES

_KIND: Final = ("drill", "phases", "plan", "strides")
_COLUMNS: Final = (
    "s.day", *(f"a.{name}" for name in _KIND), "a.lengths", "a.total", "a.speed", "a.knee_gap",
    "a.foul", "a.runs", "a.contacts", "a.session", "a.id", "a.wind", "a.behind", "a.kind",
)  # fmt: skip
_ASKED: Final = (
    f"SELECT {', '.join(_COLUMNS)} FROM attempt a JOIN session s ON s.id = a.session "
    "WHERE a.athlete = ? AND a.struck = 0 AND s.day >= ? AND s.day <= ?"
)
LONGEST: Final = 10.0
"""A phase longer than this in a book is no phase [m]; such a row is left out (ours)."""
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Kind:
    """What attempts have in common."""

    drill: str
    title: str
    phases: tuple[str, ...]
    arcs: tuple[str, ...]
    plan: int | None
    strides: int | None  # 0 from standing; None where not known
    # sand, stand, full: ends in sand, starts from standing, wants the full approach
    sand: bool
    stand: bool
    full: bool
    planned: tuple[float, ...]  # phases of the plan [m]; empty without one

    @property
    def whole(self) -> bool:
        """Whether it is a whole jump to the sand from a run."""
        return self.phases == MOVES and self.sand and not self.stand


@dataclass(frozen=True, eq=False)
class Group:
    """Attempts of one kind, by day."""

    kind: Kind
    rows: Whole  # (n,) places in the record's columns
    lengths: Array  # (n, m) [m]; nan where not measured, in fouls and where no such phase can be


@dataclass(frozen=True)
class Aside:
    """An attempt that is left out."""

    id: int
    day: int  # ordinal
    title: str  # of the drill
    # far or uneven or sum or size: far from the athlete's middle; phases that hardly belong
    # together, with too few others to bear them out; phases and total that do not agree; a figure
    # that no phase can have
    why: str
    # name, other: the phase, and what it is compared with
    name: str
    # value, beside: theirs [m]; nan where there is none
    value: float
    other: str
    beside: float


@dataclass(frozen=True, eq=False)
class Record:
    """An athlete's attempts, without those struck out, as columns (n,)."""

    # day, session, runs, contacts: day as ordinal
    day: Whole
    session: Whole
    runs: Whole
    contacts: Whole
    foul: NDArray[np.bool_]
    # total, speed, knee_gap: [m], [m/s], [m]; nan where not measured; totals of fouls are nan
    total: Array
    speed: Array
    knee_gap: Array
    groups: tuple[Group, ...]
    id: Whole
    # wind, behind: wind [m/s]; take-off toe behind its mark [m]; nan where not measured
    wind: Array
    behind: Array
    said: tuple[str | None, ...]  # training or competition
    aside: tuple[Aside, ...] = ()  # attempts left out of every figure; see `layout.season.gather`

    def __len__(self) -> int:
        return int(self.day.size)


def read_record(
    book: Book,
    athlete: int,
    since: str | None = None,
    until: str | None = None,
    own: Mapping[str, Drill] | None = None,
) -> Record:
    """Read one athlete's attempts; `since` and `until` are days, both included."""
    found = book.rows(_ASKED, (athlete, since or "", until or "9999-99-99"))
    with told(book.path):
        return _record(book, found, drills_known(book, own))


def _record(book: Book, found: Sequence[Any], drills: Mapping[str, Drill]) -> Record:
    of = dict(zip(_COLUMNS, zip(*found, strict=True) if found else [()] * 17, strict=True))
    days = {text: datetime.date.fromisoformat(text).toordinal() for text in set(of["s.day"])}
    day = np.array([days[text] for text in of["s.day"]], np.int64)
    by_kind: dict[Any, list[int]] = {}
    keys = list(zip(*(of[f"a.{name}"] for name in _KIND), strict=True))
    for row in np.argsort(day, kind="stable").tolist():
        by_kind.setdefault(keys[row], []).append(row)
    foul, total = np.array(of["a.foul"], bool), np.array(of["a.total"], float)
    total[foul] = np.nan
    groups, aside = [], []
    for key, rows in by_kind.items():
        kind = _kind(book, key, drills)
        at = np.array(rows, np.int64)
        lengths, odd = _lengths([of["a.lengths"][r] for r in rows], kind, foul[at])
        groups.append(Group(kind, at, lengths))
        total[at[odd]] = np.nan
        for row in at[odd].tolist():
            aside.append(Aside(of["a.id"][row], int(day[row]), kind.title, "size", "", np.nan, "",
                               np.nan))  # fmt: skip
    kinds: dict[str, Any] = dict.fromkeys(("session", "runs", "contacts", "id"), np.int64)
    kinds |= dict.fromkeys(("speed", "knee_gap", "wind", "behind"), float)
    columns = {name: np.array(of[f"a.{name}"], kind) for name, kind in kinds.items()}
    return Record(day=day, foul=foul, total=total, groups=tuple(groups), said=tuple(of["a.kind"]),
                  aside=tuple(aside), **columns)  # fmt: skip


def _lengths(
    texts: Sequence[str], kind: Kind, foul: NDArray[np.bool_]
) -> tuple[Array, NDArray[np.bool_]]:
    """Lengths of attempts of one kind, and which attempts have what no phase can be."""
    count = len(kind.phases)
    lists = json.loads(f"[{','.join(texts)}]")
    nothing = [None] * count
    values = np.array([r if len(r) == count else nothing for r in lists], float)
    values = values.reshape(len(texts), count)
    values[foul] = np.nan
    wrong = np.isfinite(values) & ~((values > 0.0) & (values < LONGEST))
    odd = wrong.any(axis=1) | (np.array([len(r) != count for r in lists], bool) & ~foul)
    values[odd] = np.nan
    return values, odd


def _kind(book: Book, key: Any, drills: Mapping[str, Drill]) -> Kind:
    slug, text, plan, strides = key
    phases = tuple(text.split())
    drill = drills.get(slug)
    fits = planned(book, plan) if plan is not None else None
    if fits is not None and fits.phases != phases:
        fits = None
    arcs: tuple[str, ...] = ("natural",) * len(phases)
    if drill is not None and drill.chain == phases:
        arcs = drill.arcs * drill.cycles
    sand, stand = bool(drill and drill.ends == "sand"), bool(drill and drill.start == "stand")
    if fits is not None:
        arcs, sand, stand = fits.arcs, fits.sand, not fits.run
        strides = fits.strides if strides is None else strides
    return Kind(
        drill=slug,
        title=drill.title if drill else slug,
        phases=phases,
        arcs=arcs,
        plan=plan,
        strides=0 if stand else strides,
        sand=sand,
        stand=stand or strides == 0,
        full=bool(drill and drill.full),
        planned=fits.lengths if fits else (),
    )
