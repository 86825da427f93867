"""A squad's shared marks set out on a venue: lanes, one tape card, and what each athlete is off by."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from layout.plan.drill import Drill
from layout.plan.place import place_for
from layout.plan.tape import tape_card
from layout.plan.value import Hurdle, Plan
from layout.plan.venue import Venue
from layout.squad import squad_words as notes
from layout.squad.laid import SETOUT_VERSION, LaidHurdle, LaidSet, NoMarks, Served, SetOut, Station
from layout.squad.sets import MarkSet, Sharing, Tolerance
from layout.words.faults import BadInput, refuse
from layout.words.units import System, show_length, tape

MERGE: Final = 0.02  # Marks of different sets this close are laid as one [m] (ours)


def spread_over(sets: Sequence[MarkSet], lanes: int) -> dict[str, int]:
    """Lanes of sets: the largest first, each to the lane with the fewest athletes so far."""
    busy = dict.fromkeys(range(1, lanes + 1), 0)
    out = {}
    for item in sorted(sets, key=lambda s: -len(s.members)):
        lane = min(busy, key=lambda n: (busy[n], n))
        out[item.label] = lane
        busy[lane] += len(item.members)
    return out


def _set_plan(item: MarkSet, plans: Sequence[Plan], drill: Drill, venue: Venue,
              board: float | None) -> Plan:  # fmt: skip
    """A plan whose contacts are a set's marks: what the tape card is read from."""
    mine = [plans[i] for i in item.members]
    who = next((p for p in mine if p.who.leg == "right"), mine[0])
    xs = [0.0, *itertools.accumulate(item.lengths)]
    contacts = tuple(replace(c, x=x) for c, x in zip(who.contacts, xs, strict=True))
    hurdles = []
    for i, hurdle in enumerate(who.hurdles):
        # Under the same part of the flight as in the athletes' own plans; the lowest for all.
        at = hurdle.flight
        part = [(p.hurdles[i].x - p.contacts[at].x) / p.flights[at].length for p in mine]
        low = min((p.hurdles[i] for p in mine), key=lambda h: h.height)
        x = xs[at] + sum(part) / len(part) * item.lengths[at]
        hurdles.append(replace(hurdle, x=x, height=low.height, thing=low.thing))
    run_up = max(p.approach.length for p in mine)
    shortest = min(min(p.total, p.who.best or p.total) for p in mine)
    try:
        place = place_for(venue, drill, contacts, run_up, board, shortest)
    except BadInput:
        # No line fits everybody: the marks' own, and whom it does not fit is told.
        place = place_for(venue, drill, contacts, run_up, board)
    return replace(who, contacts=contacts, hurdles=tuple(hurdles), place=place, total=xs[-1])


def _merged(
    own: Mapping[str, Sequence[float]],
    kinds: Mapping[str, Sequence[str]],
    lanes: Mapping[str, int],
    merge: float,
    fine: Callable[[str, Sequence[float]], bool],
) -> dict[str, list[float]]:
    """Marks of all sets, those that nearly meet on one lane moved to one place.

    Marks meet at the middle of their spread, so none moves by more than half of `merge`, and only
    where that keeps every athlete within the tolerance (`fine`).
    """
    out = {label: list(xs) for label, xs in own.items()}
    spots = sorted(
        (lanes[label], kinds[label][i], x, label, i)
        for label, xs in own.items() for i, x in enumerate(xs)
    )  # fmt: skip
    for _, group in itertools.groupby(spots, key=lambda s: s[:2]):
        heap: list[tuple[int, str, float, str, int]] = []
        for spot in [*group, None]:
            met = spot is not None and heap and spot[2] - heap[0][2] <= merge + 1e-9
            if spot is not None and (not heap or (met and spot[3] not in {h[3] for h in heap})):
                heap.append(spot)
                continue
            if len(heap) > 1:
                middle = (heap[0][2] + heap[-1][2]) / 2.0
                trial = {h[3]: list(out[h[3]]) for h in heap}
                for h in heap:
                    trial[h[3]][h[4]] = middle
                if all(fine(label, xs) for label, xs in trial.items()):
                    out.update(trial)
            heap = [spot] if spot is not None else []
    return out


@dataclass(frozen=True)
class Laying:
    """How a sharing is laid."""

    tolerance: Tolerance = field(default_factory=Tolerance)  # That the sharing was made with
    # Weights of phases; those of 0 have no tolerance to keep. All count when empty.
    phases: Sequence[float] = ()
    system: System = "cm"
    step: float | None = None  # Of the tape [m]
    board: float | None = None  # The coach's own take-off line to the pit [m]
    merge: float = MERGE  # Marks of different sets on a lane this close are laid as one [m]
    # Whose marks may only be shorter than their own phases, as in the sharing; nobody's when empty
    young: Sequence[bool] = ()
    no_marks: Sequence[NoMarks] = ()  # Athletes the drill is closed to, to be told


def set_out(
    plans: Sequence[Plan], sharing: Sharing, drill: Drill, venue: Venue, how: Laying | None = None
) -> SetOut:
    """Lay a shared-out squad's marks on a venue.

    Sets go over the venue's lanes side by side, athletes spread evenly. On a lane the sets share
    one zero: the pit's near edge where the drill ends in sand, the take-off line on the track. Plans
    are one of each athlete, in the order of the sharing.
    """
    if not plans or {p.drill for p in plans} != {drill.slug}:
        raise refuse("plans", "plans of one drill needed", sorted({p.drill for p in plans}))
    how = how or Laying()
    zero = "start line, toes of both feet" if drill.start == "stand" else "take-off line"
    if drill.ends == "sand":
        zero = "near edge of the pit"
    made, sets = _laid_sets(plans, sharing, drill, venue, how)
    first = plans[0]
    bare = SetOut(
        SETOUT_VERSION, drill.slug, drill.title, first.date, venue.title, drill.ends,
        tuple(f.phase for f in first.flights), zero, how.system,
        float(tape([0.0], how.system, how.step).step) / 2.0, str(how.tolerance), sharing.search,
        sharing.misfit, sharing.bound, venue.lanes, venue.lane_spacing, venue.runway_width,
        venue.pit_width, venue.pit_length, sets, (), (), (), (),
    )  # fmt: skip
    stations = _stations(bare, made, how.step)
    return replace(
        bare,
        stations=stations,
        notes=(
            *notes.no_marks_notes(how.no_marks),
            *notes.assumed_notes(plans),
            *notes.ground_notes(bare, stations, venue, drill),
            *notes.own_notes(plans),
        ),
        no_marks=tuple(how.no_marks),
        cautions=notes.told(plans, lambda p: p.cautions),
        doses=notes.told(plans, lambda p: (notes.dose(p),)),
    )


def _laid_sets(
    plans: Sequence[Plan], sharing: Sharing, drill: Drill, venue: Venue, how: Laying
) -> tuple[dict[str, Plan], tuple[LaidSet, ...]]:
    """The sets on the ground, and of each the plan whose contacts are its marks."""
    young = how.young or [False] * len(plans)
    counts = np.array([w > 0.0 for w in how.phases or [1.0] * len(plans[0].flights)])
    members = {s.label: s.members for s in sharing.sets}

    def fine(label: str, xs: Sequence[float]) -> bool:
        """Whether marks keep to everybody's tolerance, and stretch nobody young."""
        laid = np.diff(xs)
        for i in members[label]:
            own = np.array([f.length for f in plans[i].flights])
            room = how.tolerance.size * (own if how.tolerance.kind == "share" else 1.0)
            over = ((np.abs(laid - own) > room + 1e-9) & counts).any()
            if over or (young[i] and (laid > own + 1e-9).any()):
                return False
        return True

    lanes = spread_over(sharing.sets, venue.lanes)
    made = {s.label: _set_plan(s, plans, drill, venue, how.board) for s in sharing.sets}
    line = {k: -p.place.end_x if drill.ends == "sand" else 0.0 for k, p in made.items()}
    own = {k: [line[k] + c.x for c in p.contacts] for k, p in made.items()}
    kinds = {k: [c.surface if c.number else "line" for c in p.contacts] for k, p in made.items()}
    laid = _merged(own, kinds, lanes, how.merge, fine)
    sets = []
    for item in sharing.sets:
        start, plan = laid[item.label][0], made[item.label]
        xs = [x - start for x in laid[item.label]]
        contacts = tuple(replace(c, x=x) for c, x in zip(plan.contacts, xs, strict=True))
        made[item.label] = replace(plan, contacts=contacts, total=xs[-1])
        sets.append(
            LaidSet(
                item.label, item.shared, lanes[item.label], start, tuple(xs),
                tuple(c.foot for c in contacts), plan.who.leg,
                len({plans[i].who.leg for i in item.members}) > 1,
                tuple(LaidHurdle(h.x, h.height, h.place, _side(h), h.thing) for h in plan.hurdles),
                tuple(_served(plans[i], xs, i in sharing.off, young[i]) for i in item.members),
            )
        )  # fmt: skip
    return made, tuple(sets)


def _side(hurdle: Hurdle) -> str:
    return "" if hurdle.place == "over" else "left" if hurdle.y0 > 0.0 else "right"


def _served(plan: Plan, xs: Sequence[float], over: bool, young: bool) -> Served:
    who, run = plan.who, plan.approach
    own = tuple(f.length for f in plan.flights)
    off = tuple(b - a - mine for (a, b), mine in zip(itertools.pairwise(xs), own, strict=True))
    return Served(who.name, who.leg, who.age, own, off, over, run.strides, run.length, young)


def _stations(laid: SetOut, made: Mapping[str, Plan], step: float | None) -> tuple[Station, ...]:
    """The walk: on each lane away from the zero."""
    sand = laid.ends == "sand"
    out: list[Station] = []
    for lane in sorted({s.lane for s in laid.sets}):
        things: dict[tuple[float, str], list[tuple[str, str]]] = {}
        for item in (s for s in laid.sets if s.lane == lane):
            other = "left" if item.leg == "right" else "right"
            for row in tape_card(made[item.label]).lines:
                if row.kind in ("start", "check", "pit"):
                    continue
                what = row.what
                if item.mixed and (row.foot in ("left", "right") or "side" in what):
                    turned = "other side" if row.kind == "hurdle" else "other foot"
                    what += f" ({other}-legged: {turned})"
                key = round(item.line + row.x, 9), row.kind
                things.setdefault(key, []).append((item.label, what))
        if sand:
            things[0.0, "pit"] = [("", "near edge of the pit: the tape's zero")]
        spots = sorted(things, key=lambda k: -k[0] if sand else k[0])
        made_tape = tape([(-x if sand else x) for x, _ in spots], laid.system, step)
        both = min(made_tape.readings) < 0 < max(made_tape.readings)
        for i, ((x, kind), reading) in enumerate(zip(spots, made_tape.readings, strict=True)):
            side = ""
            if sand and both:
                side = "into the sand" if reading < 0 else "back" if reading > 0 else ""
            gap = show_length(abs(made_tape.gaps[i - 1]), laid.system) if i else ""
            what = _grouped(things[x, kind])
            labels = tuple(label for label, _ in things[x, kind] if label)
            shown = show_length(abs(reading), laid.system)
            out.append(Station(lane, x, reading, shown, side, gap, kind, labels, what))
    return tuple(out)


def _grouped(rows: Iterable[tuple[str, str]]) -> str:
    """What a station is for: "A, C: take-off line"; sets that say the same told together."""
    by: dict[str, list[str]] = {}
    for label, what in rows:
        by.setdefault(what, []).append(label)
    return "; ".join(
        f"{', '.join(labels)}: {what}" if labels[0] else what for what, labels in by.items()
    )
