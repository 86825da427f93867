"""Seasons for tests: attempts from known parameters, with noise, blunders and gaps, kept in a book."""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from animate.body.body import Array
from layout.athlete.ability import ability
from layout.athlete.athlete import Athlete
from layout.athlete.march import Chain as Moves
from layout.athlete.march import march
from layout.book.people import find_member, keep_plan
from layout.book.record import Group, Kind, Record
from layout.book.store import Book, open_book
from layout.plan.drill import catalogue
from layout.plan.stored import to_json
from layout.season.comparison import INDEX, Problem, form_of, prior_of, speeds_of
from layout.season.gather import MODEL
from layout.season.refit import refit
from tests.layout.book.book_cases import empty_book, keep_file
from tests.strategies import CLUB_FOLDER, ON, member, plan

HSJ: Final = ("hop", "step", "jump")
HS: Final = ("hop", "step")
_NATURAL: Final = ("natural",)


@dataclass(frozen=True)
class Chain:
    """A drill that is jumped: moves, arcs, sand or not, from standing or not, and from which run-ups."""

    drill: str
    moves: tuple[str, ...]
    arcs: tuple[str, ...]
    sand: bool
    stand: bool
    strides: tuple[int, ...]


SEASON: Final = (
    Chain("full-triple-jump", HSJ, _NATURAL * 3, True, False, (14,)),
    Chain("short-triple-jump", HSJ, _NATURAL * 3, True, False, (4, 8)),
    Chain("hop-step-sand", HS, ("low", "natural"), True, False, (4, 6)),
    Chain("own-hop-step", HS, _NATURAL * 2, True, False, (4,)),
    Chain("standing-triple-jump", HSJ, _NATURAL * 3, True, True, (0,)),
)
"""All but the own drill are the catalogue's, so a book knows them without a plan."""


@lru_cache(maxsize=8)
def blank(name: str = "imka") -> Problem:
    """An athlete's priors with nothing gathered."""
    athlete = replace(member(name), strides_given=True).on_day(ON)
    able = ability(athlete)
    return Problem(athlete, able, (), (), *prior_of(athlete, able))


def drawn(name: str, rng: np.random.Generator, size: float = 1.0) -> Array:
    """True parameters (11, 1) as the priors have them, `size` of their standard deviations away."""
    problem = blank(name)
    return problem.theta(size * rng.standard_normal((problem.mean.size, 1)))


def attempts_of(
    name: str,
    chain: Chain,
    strides: int,
    theta: Array,
    rng: np.random.Generator,
    count: int,
    noise: float = 0.04,
    off: float = MODEL,
    entry_noise: float = 0.0,
    blunders: float = 0.0,
) -> tuple[Array, Array]:
    """Lengths (count, moves) and speeds (count,) [m], [m/s] of one drill from one run-up.

    Noise: of each phase, as a share. Off: how far the drill as a whole is off the march. Blunders:
    share of attempts in which one mark is misread by half a metre or a metre.
    """
    problem = blank(name)
    athlete = problem.athlete
    speed = speeds_of(theta, athlete.strides, athlete.stature, None)[strides, 0]
    speed = theta[INDEX["stand"], 0] if chain.stand else speed
    entry = speed * (1.0 + entry_noise * rng.standard_normal(count))
    many = np.repeat(theta, count, axis=1)
    moves = Moves(chain.moves, chain.arcs, chain.sand, chain.stand)
    made = march(problem.able.who, form_of(problem.able, many), moves, entry).length
    lengths = made.T * (1.0 + off * rng.standard_normal(len(chain.moves)))
    lengths = lengths * (1.0 + noise * rng.standard_normal(lengths.shape))
    for i in np.flatnonzero(rng.random(count) < blunders):
        mark, wrong = int(rng.integers(len(chain.moves))), float(rng.choice((-1.0, -0.5, 0.5, 1.0)))
        lengths[i, mark] += wrong
        if mark + 1 < len(chain.moves):
            lengths[i, mark + 1] -= wrong
    timed = entry + 0.08 * rng.standard_normal(count)
    return np.maximum(lengths, 0.2), np.full(count, np.nan) if chain.stand else timed


def record_from(
    name: str,
    theta: Array,
    rng: np.random.Generator,
    count: int = 12,
    timed: bool = True,
    chains: Sequence[Chain] = SEASON,
    **more: Any,
) -> Record:
    """A record as if read from a book."""
    groups, totals, speeds = [], [], []
    row = 0
    for chain in chains:
        for strides in chain.strides:
            lengths, speed = attempts_of(name, chain, strides, theta, rng, count, **more)
            kind = Kind(chain.drill, chain.drill, chain.moves, chain.arcs, None, strides, chain.sand,
                        chain.stand, chain.drill.startswith("full"), ())  # fmt: skip
            groups.append(Group(kind, np.arange(row, row + count), lengths))
            totals.append(lengths.sum(axis=1))
            speeds.append(speed if timed else np.full(count, np.nan))
            row += count
    at = np.arange(row)
    return Record(
        day=738000 + at % 20, session=at % 20, runs=np.ones(row, np.int64),
        contacts=np.full(row, 4), foul=np.zeros(row, bool), total=np.concatenate(totals),
        speed=np.concatenate(speeds), knee_gap=np.full(row, np.nan), groups=tuple(groups),
        id=at + 1, wind=np.full(row, np.nan), behind=np.full(row, np.nan), said=(None,) * row,
    )  # fmt: skip


def misses(seeds: Sequence[int], **more: Any) -> tuple[Array, Array]:
    """Errors of a refit in its own margins, and in those of the defaults (seeds, 11)."""
    own, plain = [], []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        theta = drawn("imka", rng)
        found = refit(truth("imka"), record_from("imka", theta, rng, **more))
        values = np.array([(p.value, p.sure, p.prior_sure) for p in found.parameters]).T
        own.append((values[0] - theta[:, 0]) / values[1])
        plain.append((values[0] - theta[:, 0]) / values[2])
    return np.array(own), np.array(plain)


def put(book: Book, athlete: int, rows: Sequence[dict[str, Any]]) -> None:
    """Attempts straight into the tables; each row with day, drill, phases and lengths at least."""
    with book.writing() as db:
        for row in rows:
            row = dict(row)
            day = row.pop("day")
            db.execute("INSERT OR IGNORE INTO session (day, place) VALUES (?, 'club')", (day,))
            (session,) = db.execute("SELECT id FROM session WHERE day = ?", (day,)).fetchone()
            lengths = row.pop("lengths")
            known = [d for d in lengths if d is not None]
            values = {
                "session": session, "athlete": athlete, "foul": 0, "lengths": json.dumps(lengths),
                "made": "2026-05-01T10:00:00.000+00:00", "contacts": len(lengths) + 1,
                "total": round(sum(known), 4) if known and len(known) == len(lengths) else None,
                **row,
            }  # fmt: skip
            marks = ", ".join("?" * len(values))
            db.execute(f"INSERT INTO attempt ({', '.join(values)}) VALUES ({marks})",
                       tuple(values.values()))  # fmt: skip


def season_book(folder: Path, name: str = "imka", seed: int = 3, weeks: int = 14) -> Path:
    """A book with one athlete's season: two sessions a week, plans for two drills, timed run-ups."""
    rng = np.random.default_rng(seed)
    path = empty_book(folder, "season.book")
    problem = blank(name)
    theta = problem.mean[:, None].copy()
    theta[1:4, 0] *= 0.97
    theta[INDEX["speed"]] *= 1.01
    theta[INDEX["pull"]], theta[INDEX["tau"]] = 0.17, 1.7
    planned: dict[str, int] = {}
    with open_book(path) as book:
        keep_file(book, CLUB_FOLDER / f"{name}.toml")
        for drill, strides in (("full-triple-jump", None), ("hop-step-sand", 6)):
            saved = folder / f"{drill}.json"
            text = json.loads(to_json(plan(name, drill, strides=strides)))
            saved.write_text(json.dumps({**text, "date": "2026-01-05"}), encoding="utf-8")
            keep_plan(book, saved)
            planned[drill] = len(planned) + 1
        who = find_member(book, name).id
        start = datetime.date(2026, 2, 2)
        rows: list[dict[str, Any]] = []
        for week in range(weeks):
            if week in (5, 6):
                continue
            for offset in (0, 3):
                day = (start + datetime.timedelta(weeks=week, days=offset)).isoformat()
                for chain in SEASON:
                    for strides in chain.strides:
                        own = chain.drill not in catalogue()
                        if own or (offset == 0) == chain.drill.startswith("full"):
                            continue
                        lengths, speed = attempts_of(name, chain, strides, theta, rng, 3, off=0.01)
                        lengths[:, 1] *= 1.0 + 0.004 * week
                        fits = planned.get(chain.drill) if strides in (14, 6) else None
                        for one, timed in zip(lengths, speed, strict=True):
                            rows.append({
                                "day": day, "drill": chain.drill, "phases": " ".join(chain.moves),
                                "lengths": np.round(one, 2).tolist(), "strides": strides,
                                "plan": fits, "foul": int(rng.random() < 0.05),
                                "speed": None if np.isnan(timed) else round(float(timed), 2),
                            })  # fmt: skip
        put(book, who, rows)
    return path


def truth(name: str) -> Athlete:
    """The athlete as the cases have them."""
    return blank(name).athlete
