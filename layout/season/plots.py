"""Plots of a season: phases against plan, the step's share, contacts by week."""

from __future__ import annotations

import datetime
import textwrap
from typing import Any, Final

import numpy as np

from animate.body.body import Array
from layout.book.record import Whole
from layout.season.season import Season
from layout.season.told import Told
from layout.season.weeks import BEFORE, WeekLoad
from layout.sheet import plots
from layout.sheet.printed import families

LOOKS: Final = ("o", "s", "^")
"""Marks of hop, step and jump."""
MOST_DOTS: Final = 400
"""Days drawn at most; the latest."""
WEEKS_DRAWN: Final = 30


def season_plots(season: Season, kind: str = "svg", grey: bool = False) -> dict[str, bytes]:
    """All plots that there is something for, by name.

    Parameters
    ----------
    season : Season
    kind : {"svg", "png", "pdf"}
    grey : bool

    Raises
    ------
    ValueError
        Another kind.
    """
    out = {}
    told = most_telling(season)
    if told is not None:
        out["phases"] = phases_plot(season.name, told, kind, grey)
    whole = next((t for t in season.told if _shares(t)[0].size), None)
    if whole is not None:
        out["step-share"] = step_plot(season.name, whole, kind, grey)
    if season.weeks:
        out["contacts"] = weeks_plot(season.name, season.weeks, kind, grey)
    return out


def most_telling(season: Season) -> Told | None:
    """The drill whose phases are drawn: the full jump, a whole jump, or the one jumped most."""
    return next((t for t in season.told if t.phases), None)


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


def _title(figure: Any, name: str, text: str) -> None:
    first, _, second = text.partition("\n")
    said = "\n".join([*textwrap.wrap(f"{name}: {first}", 76), second]).rstrip()
    # A name may hold $ or \\: nothing here is mathematics.
    figure.suptitle(
        said, fontsize=11, ha="left", x=0.01, parse_math=False, fontfamily=families(said)
    )


def _dates(axes: Any) -> None:
    from matplotlib import dates

    known: Any = dates  # its stubs leave these untyped
    locator = known.AutoDateLocator(minticks=3, maxticks=9)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(known.ConciseDateFormatter(locator))


def _when(days: Whole) -> list[datetime.date]:
    return [datetime.date.fromordinal(int(d)) for d in days]


def _run_up(told: Told) -> str:
    strides = told.kind.strides
    if told.kind.stand:
        return f"{told.kind.title}, from standing"
    return told.kind.title + (f", {strides} strides" if strides else "")


def phases_plot(name: str, told: Told, kind: str = "svg", grey: bool = False) -> bytes:
    """Each phase by day against its plan.

    Parameters
    ----------
    name : str
    told : Told
    kind : {"svg", "png", "pdf"}
    grey : bool
    """
    colours = plots.colours_of(grey)
    count = min(len(told.phases), 4)
    figure = plots.blank(1.0 + 1.7 * count)
    rows = np.atleast_1d(figure.subplots(count, 1, sharex=True))
    for i, (axes, phase) in enumerate(zip(rows, told.phases, strict=False)):
        column = _column(told, i)
        days, middle, low, high = _by_day(told.day, told.lengths[:, column])
        when = _when(days)
        axes.vlines(when, low, high, color=colours["quiet"], linewidth=1.0, alpha=0.6)
        axes.plot(when, middle, LOOKS[i % 3], color=colours["near"], markersize=5)
        planned = told.planned[:, column]
        if np.isfinite(planned).any():
            marks = _by_day(told.day, planned)
            axes.step(_when(marks[0]), marks[1], where="post", color=colours["measure"],
                      linewidth=1.4, linestyle="--")  # fmt: skip
            axes.annotate("plan", (_when(marks[0])[-1], marks[1][-1]), (5, 0), va="center",
                          textcoords="offset points", fontsize=9, color=colours["measure"])  # fmt: skip
        axes.set_ylabel(f"{phase.name} [m]", fontsize=10)
        axes.margins(x=0.05, y=0.15)
        plots.plain(axes)
    _dates(rows[-1])
    _title(figure, name, f"{_run_up(told)}\nMark: middle of a day; line: shortest to longest")
    return plots.saved(figure, kind)


def _column(told: Told, number: int) -> int:
    """Column of the nth phase that was ever measured."""
    seen = np.flatnonzero(np.isfinite(told.lengths).any(axis=0))
    return int(seen[number])


def step_plot(name: str, told: Told, kind: str = "svg", grey: bool = False) -> bytes:
    """The step's share of whole jumps by day, with the 30 % line.

    Parameters
    ----------
    name : str
    told : Told
        Of whole jumps.
    kind : {"svg", "png", "pdf"}
    grey : bool
    """
    colours = plots.colours_of(grey)
    days, middle, low, high = _by_day(*_shares(told))
    figure = plots.blank(3.2)
    axes = figure.subplots()
    when = _when(days)
    axes.vlines(when, low, high, color=colours["quiet"], linewidth=1.0, alpha=0.6)
    axes.plot(when, middle, LOOKS[1], color=colours["near"], markersize=5)
    line = 100.0 * plots.STEP_LINE
    axes.axhline(line, color=colours["measure"], linewidth=1.4, linestyle="--")
    axes.set_ylim(min(float(low.min()) - 0.5, line - 2.0), max(float(high.max()) + 0.5, line + 2.0))
    axes.margins(x=0.05)
    axes.annotate("30 %", (1.0, line), (4, 0), fontsize=9, va="center",
                  xycoords=("axes fraction", "data"), textcoords="offset points",
                  color=colours["measure"])  # fmt: skip
    axes.set_ylabel("step, share of the whole [%]", fontsize=10)
    plots.plain(axes)
    _dates(axes)
    _title(
        figure,
        name,
        f"{_run_up(told)}\nMark: middle of a day; line: least to greatest; dashed: about 30 %, "
        "common practice, no source",
    )
    return plots.saved(figure, kind)


def weeks_plot(
    name: str, weeks: tuple[WeekLoad, ...], kind: str = "svg", grey: bool = False
) -> bytes:
    """Contacts by week against the most a week may hold, flagged weeks hatched and marked.

    Parameters
    ----------
    name : str
    weeks : tuple of WeekLoad
    kind : {"svg", "png", "pdf"}
    grey : bool
    """
    colours = plots.colours_of(grey)
    shown = weeks[-WEEKS_DRAWN:]
    figure = plots.blank(3.6)
    axes = figure.subplots()
    at = np.arange(len(shown), dtype=float)
    contacts = np.array([w.contacts for w in shown], float)
    flagged = np.array([bool(w.notes) for w in shown])
    for which, hatch, label in ((~flagged, "", "contacts"), (flagged, plots.HATCH, "flagged (!)")):
        if which.any():
            axes.bar(at[which], contacts[which], 0.8, color=colours["far"], edgecolor=colours["near"],
                     hatch=hatch, linewidth=0.8, label=label)  # fmt: skip
    for x, y in zip(at[flagged], contacts[flagged], strict=True):
        axes.annotate("!", (x, y), (0, 2), ha="center", textcoords="offset points", fontsize=11,
                      fontweight="bold", color=colours["text"])  # fmt: skip
    budget = np.array([w.budget for w in shown], float)
    edges = np.concatenate([at - 0.5, [at[-1] + 0.5]])
    axes.stairs(budget, edges, baseline=None, color=colours["measure"], linewidth=1.4,
                linestyle="--", label="most in a week")  # fmt: skip
    before = np.array([np.nan if w.before is None else w.before for w in shown])
    if np.isfinite(before).any():
        axes.stairs(before, edges, baseline=None, color=colours["quiet"], linewidth=1.4,
                    linestyle=":", label=f"mean of the {BEFORE} weeks before")  # fmt: skip
    step = max(1, len(shown) // 8)
    axes.set_xticks(at[::step], [w.monday[5:] for w in shown[::step]])
    axes.set_xlabel(f"week of, {shown[0].monday[:4]}" + _to(shown), fontsize=10)
    axes.set_ylabel("ground contacts", fontsize=10)
    axes.set_ylim(0.0, 1.3 * max(float(contacts.max()), float(budget.max())))
    axes.legend(fontsize=9, loc="upper left", frameon=False, ncols=2)
    plots.plain(axes)
    _title(figure, name, "ground contacts by week; only what was written down")
    return plots.saved(figure, kind)


def _to(shown: tuple[WeekLoad, ...]) -> str:
    first, last = shown[0].monday[:4], shown[-1].monday[:4]
    return f" to {last}" if first != last else ""
