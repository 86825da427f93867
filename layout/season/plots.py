"""Plots of a season: phases against plan, the step's share, positions on pictures, contacts by week."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

import numpy as np

from animate.body.body import Array
from animate.body.shapes import Role
from layout.book.record import Whole
from layout.book.typed import ENTRY_KINDS
from layout.page.chart import (
    DASH,
    DOTS,
    EDGE,
    SMALL,
    WIDE,
    Chart,
    chart_page,
    date_ticks,
    headed,
    say,
)
from layout.page.page import Ink, Page
from layout.season.positions import INSTANT, NAMES, Position
from layout.season.season import Season
from layout.season.told import Told
from layout.season.weeks import BEFORE, WeekLoad
from layout.sheet.plots import LEFT, STEP_LINE, padded
from layout.words.units import FOOT, System

CORNERS: Final = (24, 4, 3)
"""Of the marks of hop, step and jump: round, square and three-cornered."""
KINDS: Final = {"training": 4, "competition": 24}
"""Of the marks of pictures by the kind of day."""
HIGH: Final = 30.0
"""Height of one measure's chart [mm]."""
MOST_DOTS: Final = 400
"""Days drawn at most; the latest."""
WEEKS_DRAWN: Final = 30
DATE_WIDE: Final = 23.0
WEEK_WIDE: Final = 25.0
"""Width that a date and a week have along a plot [mm]."""
DAY_KEY: Final = "Mark: middle of a day; line: shortest to longest"
STEP_KEY: Final = (
    "Mark: middle of a day; line: least to greatest; dashed: about 30 %, common practice, no source"
)
POSITIONS_KEY: Final = "Square: in training; round: in competition; line: its margin"
WEEKS_KEY: Final = (
    "Bars: ground contacts; hatched and !: to be looked at; dashed: the most a week may hold; "
    f"dotted: mean of the {BEFORE} weeks before"
)
Draw = Callable[[float, float], tuple[list[Ink], float]]
"""Draws so wide from so far down [mm]; tells where it ends."""


def season_pages(season: Season, system: System = "cm") -> dict[str, Page]:
    """All plots that there is something for, by name; lengths in metres or feet."""
    out = {}
    told = most_telling(season)
    if told is not None:
        out["phases"] = phases_page(season.name, told, system=system)
    whole = with_shares(season)
    if whole is not None:
        out["step-share"] = step_page(season.name, whole)
    if season.positions:
        out["positions"] = positions_page(season.name, season.positions)
    if season.weeks:
        out["contacts"] = weeks_page(season.name, season.weeks)
    return out


def most_telling(season: Season) -> Told | None:
    """The drill whose phases are drawn: the full jump, a whole jump, or the one jumped most."""
    return next((t for t in season.told if t.phases), None)


def with_shares(season: Season) -> Told | None:
    """The whole jump whose step share is drawn."""
    return next((t for t in season.told if _shares(t)[0].size), None)


def _by_day(day: Whole, values: Array) -> tuple[Whole, Array, Array, Array]:
    """Days, and their middle, least and greatest value."""
    known = np.isfinite(values)
    day, values = day[known], values[known]
    days = np.unique(day)[-MOST_DOTS:]
    parts = [values[day == d] for d in days]
    pick = [np.array([f(p) for p in parts]) for f in (np.median, np.min, np.max)]
    return days, pick[0], pick[1], pick[2]


def _shares(told: Told) -> tuple[Whole, Array]:
    """Days and step shares of whole jumps [%]."""
    if not told.kind.whole:
        return np.zeros(0, np.int64), np.zeros(0)
    full = np.isfinite(told.lengths).all(axis=1)
    lengths = told.lengths[full]
    return told.day[full], np.asarray(100.0 * lengths[:, 1] / lengths.sum(axis=1))


def _run_up(told: Told) -> str:
    strides = told.kind.strides
    if told.kind.stand:
        return f"{told.kind.title}, from standing"
    return told.kind.title + (f", {strides} strides" if strides else "")


def _days_drawn(chart: Chart, corners: int, days: Whole, values: Array) -> list[Ink]:
    """A mark at the middle of each day's values, on a line from its least to its greatest."""
    when, middle, low, high = _by_day(days, values)
    out: list[Ink] = []
    for day, mid, least, most in zip(when.tolist(), middle, low, high, strict=True):
        out += chart.curve((day, day), (least, most), "quiet", 0.35)
        out.append(chart.spot(day, mid, corners))
    return out


def _page(name: str, said: Sequence[str], draw: Draw, wide: float | None) -> Page:
    """A plot under its title; for a screen so wide, which says that beside it, without one."""
    ink, top = headed(said) if wide is None else ([], 0.0)
    more, low = draw(WIDE if wide is None else wide, top)
    return chart_page(name, low, [*ink, *more], WIDE if wide is None else wide)


def phases_page(name: str, told: Told, wide: float | None = None, system: System = "cm") -> Page:
    """Each phase by day against its plan; `wide`: for a screen of this width [mm]."""
    said = (f"{name}: {_run_up(told)}", DAY_KEY)
    return _page(name, said, partial(_phases, told, system), wide)


def _phases(told: Told, system: System, wide: float, top: float) -> tuple[list[Ink], float]:
    unit, factor = ("m", 1.0) if system == "cm" else ("ft", 1.0 / float(FOOT))
    ink: list[Ink] = []
    columns = [_column(told, i) for i in range(min(len(told.phases), 4))]
    seen = np.unique(told.day[np.isfinite(told.lengths[:, columns]).any(axis=1)])[-MOST_DOTS:]
    span = padded(seen.astype(float), 0.05)
    when = date_ticks(*span, round(wide / DATE_WIDE))
    for i, (column, phase) in enumerate(zip(columns, told.phases, strict=False)):
        lengths, planned = (factor * a[:, column] for a in (told.lengths, told.planned))
        marks = _by_day(told.day, planned)
        _, _, low, high = _by_day(told.day, lengths)
        chart = Chart(LEFT, top + 8.0, wide - 14.0, top + 38.0, span,
                      padded(np.concatenate([low, high, marks[1]]), 0.12))  # fmt: skip
        ink += chart.frame(f"{phase.name} [{unit}]", when if i == len(columns) - 1 else [])
        ink += _days_drawn(chart, CORNERS[i % 3], told.day, lengths)
        if marks[0].size:
            edges = [*(d for d in marks[0].tolist() if d >= span[0]), span[1]]
            ink += chart.stairs(edges, marks[1][1 - len(edges) :].tolist(), "measure", DASH)
            _, y = chart.at(0.0, marks[1][-1])
            ink.append(say((chart.right + 1.0, y + 1.1), "plan", "measure"))
        top += 40.0
    return ink, top + 4.0


def _column(told: Told, number: int) -> int:
    """Column of the nth phase that was ever measured."""
    seen = np.flatnonzero(np.isfinite(told.lengths).any(axis=0))
    return int(seen[number])


def step_page(name: str, told: Told, wide: float | None = None) -> Page:
    """The step's share of whole jumps by day, with the 30 % line; `wide` as for `phases_page`."""
    return _page(name, (f"{name}: {_run_up(told)}", STEP_KEY), partial(_steps, told), wide)


def _steps(told: Told, wide: float, top: float) -> tuple[list[Ink], float]:
    days, values = _shares(told)
    when, _, low, high = _by_day(days, values)
    line = 100.0 * STEP_LINE
    ends = min(float(low.min()) - 0.5, line - 2.0), max(float(high.max()) + 0.5, line + 2.0)
    span = padded(when.astype(float), 0.05)
    chart = Chart(LEFT, top + 8.0, wide - 14.0, top + 66.0, span, ends)
    ink = chart.frame("step, share of the whole [%]", date_ticks(*span, round(wide / DATE_WIDE)))
    ink += [*chart.level(line, "measure"), *_days_drawn(chart, CORNERS[1], days, values)]
    ink.append(say((chart.right + 1.0, chart.at(0.0, line)[1] + 1.1), "30 %", "measure"))
    return ink, chart.low + 8.0


def positions_page(name: str, positions: Sequence[Position], wide: float | None = None) -> Page:
    """Each measure at the step touchdown by day; `wide` as for `phases_page`."""
    said = (f"{name}: positions at the {INSTANT}", POSITIONS_KEY)
    return _page(name, said, partial(_positions, positions), wide)


def _positions(positions: Sequence[Position], wide: float, top: float) -> tuple[list[Ink], float]:
    ink: list[Ink] = []
    every = [d for p in positions for m in (p.training, p.competition) if m for d in m.dots]
    span = padded(np.array([float(d.day) for d in every]), 0.05)
    when = date_ticks(*span, round(wide / DATE_WIDE))
    for i, p in enumerate(positions):
        sides = [(kind, m) for kind in ENTRY_KINDS if (m := getattr(p, kind))]
        shown = p.measure.in_coach_units
        ends = [
            shown(d.value + way * d.margin) for _, m in sides for d in m.dots for way in (-1, 1)
        ]
        box = Chart(
            LEFT, top + 8.0, wide - 6.0, top + 8.0 + HIGH, span, padded(np.array(ends), 0.1)
        )
        last = i == len(positions) - 1
        # A thigh is said to the level or the vertical, which one axis cannot do.
        unit = "°; 0 level, -90 straight down" if p.measure.words else p.measure.coach_unit
        ink += box.frame(f"{NAMES[p.measure.name]} [{unit}]", when if last else [])
        for kind, m in sides:
            for d in m.dots:
                reach = [shown(d.value + way * d.margin) for way in (-1, 1)]
                ink += box.curve((d.day, d.day), reach, "quiet", 0.35)
                ink.append(box.spot(d.day, shown(d.value), KINDS[kind]))
        top += HIGH + 10.0
    return ink, top + SMALL


def weeks_page(name: str, weeks: tuple[WeekLoad, ...], wide: float | None = None) -> Page:
    """Contacts by week against the most a week may hold, flagged weeks hatched and marked.

    `wide` as for `phases_page`.
    """
    said = (f"{name}: ground contacts by week; only what was written down",)
    draw = partial(_weeks, weeks[-WEEKS_DRAWN:], wide is None)
    return _page(name, said, draw, wide)


def _weeks(
    shown: tuple[WeekLoad, ...], legend: bool, wide: float, top: float
) -> tuple[list[Ink], float]:
    most = max(max(w.contacts, w.budget) for w in shown)
    chart = Chart(LEFT, top + 8.0, wide - EDGE, top + 70.0, (-0.7, len(shown) - 0.3),
                  (0.0, 1.1 * (most or 1)))  # fmt: skip
    under = f"week of, {shown[0].monday[:4]}" + _to(shown)
    step = max(1, len(shown) // round(wide / WEEK_WIDE))
    at = [(float(i), w.monday[5:] if i % step == 0 else "") for i, w in enumerate(shown)]
    ink = chart.frame("ground contacts", at, under)
    for i, week in enumerate(shown):
        if week.contacts:
            ink += chart.bar(i, 0.8, week.contacts, "far", bool(week.notes), f"week-{week.monday}")
        if week.notes:
            x, y = chart.at(i, week.contacts)
            ink.append(say((x, y - 0.8), "!", "text", "middle", True))
    edges = [i - 0.5 for i in range(len(shown) + 1)]
    before = [np.nan if w.before is None else w.before for w in shown]
    ink += chart.stairs(edges, [w.budget for w in shown], "measure", DASH)
    ink += chart.stairs(edges, before, "quiet", DOTS)
    told: list[tuple[str, Role, bool | tuple[float, ...], bool]] = [
        ("contacts", "far", False, any(w.contacts and not w.notes for w in shown)),
        ("flagged (!)", "far", True, any(w.notes for w in shown)),
        ("most in a week", "measure", DASH, True),
        (f"mean of the {BEFORE} weeks before", "quiet", DOTS, bool(np.isfinite(before).any())),
    ]
    if legend:
        ink += chart.legend([(text, role, kind) for text, role, kind, there in told if there])
    return ink, chart.low + 13.0


def _to(shown: tuple[WeekLoad, ...]) -> str:
    first, last = shown[0].monday[:4], shown[-1].monday[:4]
    return f" to {last}" if first != last else ""
