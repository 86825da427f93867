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
from layout.book.people import planned
from layout.book.store import Book, told
from layout.plan.drill import Drill, catalogue
from layout.words.trade import MOVES

_ASKED: Final = (
    "SELECT s.day, a.drill, a.phases, a.plan, a.strides, a.lengths, a.total, a.speed, a.knee_gap, "
    "a.foul, a.runs, a.contacts, a.session, a.id, a.wind, a.behind, a.kind "
    "FROM attempt a JOIN session s ON s.id = a.session "
    "WHERE a.athlete = ? AND a.struck = 0"
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
    aside: tuple[Aside, ...] = ()  # attempts left out of every figure; see `layout.season.aside`

    def __len__(self) -> int:
        return int(self.day.size)


def read_record(
    book: Book,
    athlete: int,
    since: str | None = None,
    until: str | None = None,
    own: Mapping[str, Drill] | None = None,
) -> Record:
    """Read one athlete's attempts.

    `since`, `until`: days, both included. `own`: the coach's own drills. Refused: the book is
    damaged.
    """
    asked, values = _ASKED, [athlete]
    for test, day in ((" AND s.day >= ?", since), (" AND s.day <= ?", until)):
        if day is not None:
            asked += test
            values.append(day)  # type: ignore[arg-type]
    found = book.rows(asked, values)
    with told(book.path):
        return _record(book, found, {**catalogue(), **(own or {})})


def _record(book: Book, found: Sequence[Any], drills: Mapping[str, Drill]) -> Record:
    columns = list(zip(*found, strict=True)) if found else [()] * 17
    days = {text: datetime.date.fromisoformat(text).toordinal() for text in set(columns[0])}
    day = np.array([days[text] for text in columns[0]], np.int64)
    order = np.argsort(day, kind="stable")
    by_kind: dict[Any, list[int]] = {}
    keys = list(zip(columns[1], columns[2], columns[3], columns[4], strict=True))
    for row in order.tolist():
        by_kind.setdefault(keys[row], []).append(row)
    foul = np.array(columns[9], bool)
    total = _floats(columns[6])
    total[foul] = np.nan
    groups = []
    aside = []
    for key, rows in by_kind.items():
        kind = _kind(book, key, drills)
        at = np.array(rows, np.int64)
        lengths, odd = _lengths([columns[5][r] for r in rows], kind, foul[at])
        groups.append(Group(kind, at, lengths))
        for row in at[odd].tolist():
            total[row] = np.nan
            aside.append(Aside(columns[13][row], int(day[row]), kind.title, "size", "", np.nan, "",
                               np.nan))  # fmt: skip
    session, runs, contacts = (np.array(columns[i], np.int64) for i in (12, 10, 11))
    return Record(
        day=day,
        session=session,
        runs=runs,
        contacts=contacts,
        foul=foul,
        total=total,
        speed=_floats(columns[7]),
        knee_gap=_floats(columns[8]),
        groups=tuple(groups),
        id=np.array(columns[13], np.int64),
        wind=_floats(columns[14]),
        behind=_floats(columns[15]),
        said=tuple(columns[16]),
        aside=tuple(aside),
    )


def _floats(values: Sequence[float | None]) -> Array:
    return np.array(values, float)


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
    if fits is not None and plan is not None:
        arcs = _arcs(book, plan)
    elif drill is not None and drill.chain == phases:
        arcs = drill.arcs * drill.cycles
    sand, stand = fits.sand if fits else bool(drill and drill.ends == "sand"), False
    if fits is not None:
        stand = not fits.run
    elif drill is not None:
        stand = drill.start == "stand"
    if strides is None and fits is not None:
        strides = fits.strides
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


def _arcs(book: Book, plan: int) -> tuple[str, ...]:
    (text,) = book.rows("SELECT json FROM plan WHERE id = ?", (plan,))[0]
    return tuple(f["arc"] for f in json.loads(text)["flights"])
