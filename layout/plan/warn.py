"""What a coach should know about a plan before setting it out: warnings with reasons, and remarks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from animate.body.body import Body
from layout.athlete.ability import Ability
from layout.athlete.athlete import Athlete
from layout.athlete.carry import SHOWN_MARGIN, SLOWEST, vy_for_phase
from layout.athlete.flight import arrival
from layout.athlete.growth import SOURCE as GROWN
from layout.athlete.growth import far_over
from layout.athlete.inverse import enough_strides
from layout.athlete.march import Chain
from layout.athlete.questions import questions
from layout.plan.drill import Choices, Drill
from layout.plan.hurdles import wanted_height
from layout.plan.made import Made
from layout.plan.place import board_margins, counted_on
from layout.plan.value import Plan
from layout.plan.venue import UNDERFOOT, Footprint, Venue, misplaced
from layout.rules.budget import YOUTH_REPS, YOUTH_SETS, YOUTH_SOURCE
from layout.rules.demand import Reason
from layout.rules.ground import (
    EDGE_ROOM,
    FALL_SOURCE,
    FALLS,
    HARD_WORDS,
    INTO_SAND,
    RUN_OUT,
    SAND_SOURCE,
    SHORTFALL,
)
from layout.rules.load import FAST_SOURCE, LONGEST_FAST_CONTACT
from layout.rules.rule import source_of
from layout.rules.standing import HURDLE_SOURCE, Standing
from layout.rules.wind import COUNTED, DOUBT, LEGAL_WIND, WORTH_SOURCE, assisted, wind_text
from layout.words.note import Note
from layout.words.split import classify, step_check
from layout.words.trade import MOVES

REACH_DOUBT: Final = 0.20
"""Contact geometry a set of footprints cannot show [m]: .4 m of it in all trades for about .25 m/s of
vertical speed (derived, our algebra)."""
THICK: Final = 0.05
"""Half of what a hurdle takes up along the runway [m] (ours)."""
TOE_ROOM: Final = 0.10
"""How far beyond its mark a toe may come down [m] (ours)."""
FOOT_ROOM: Final = (0.30, 0.15)
"""Half of what a landing foot may need along and across the runway [m] (ours)."""
SEASON: Final = ("beyond-shown", "needs-speed", "target-below-best")
"""Codes that speak of the target: warnings of the full jump, remarks everywhere else (ours)."""
BENT: Final = 3
"""A phase this far from the target split stands among the warnings [cm] (ours)."""


def _split_notes(plan: Plan) -> Iterator[Note]:
    if not _whole(plan):
        return
    found = step_check(plan.shares)
    if found:
        yield Note("step-share", found, "common practice, no source")
    if classify(plan.shares).startswith("step"):
        yield Note("outside-scheme", "The step is the longest phase: outside the usual scheme of "
                   "hop-dominated, balanced and jump-dominated.", "Hay 1990, 1992")  # fmt: skip


def _whole(plan: Plan) -> bool:
    return tuple(f.phase for f in plan.flights) == MOVES and plan.ends == "sand"


def _bent_note(plan: Plan, wish: tuple[float, ...]) -> Iterator[Note]:
    """By how much each phase leaves the wanted split."""
    cm = [round(100 * (f.length - want)) for f, want in zip(plan.flights, wish, strict=False)]
    told = (
        f"the {f.phase} is {abs(off)} cm {'longer' if off > 0 else 'shorter'}"
        for f, off in zip(plan.flights, cm, strict=False)
        if off
    )
    if text := ", ".join(told):
        yield Note("bent-split", f"{text[0].upper()}{text[1:]} than the target split, which from here asks "
                   f"for more than {100 * SHOWN_MARGIN:.0f} % over the upward speeds of the best jump.",
                   "carry model, ours", grave=max(map(abs, cm)) >= BENT)  # fmt: skip


def _approach_notes(
    plan: Plan, drill: Drill, able: Ability, full: int, forecast: float
) -> Iterator[Note]:
    """A length asked for that is out of reach, and a run that is longer than the runway."""
    if plan.total > forecast + 0.05 and drill.start == "stand":
        yield Note("out-of-reach", f"The {plan.total:.2f} m asked for is more than the {forecast:.2f} m "
                   "forecast from standing.", "carry model, ours")  # fmt: skip
    elif plan.total > forecast + 0.05:
        moves, arcs = zip(*((f.phase, f.arc) for f in plan.flights), strict=True)
        need = enough_strides(able, Chain(moves, arcs, plan.ends == "sand"), plan.total, full)
        yield Note("out-of-reach", f"{plan.total:.2f} m is beyond the {forecast:.2f} m forecast from "
                   f"{plan.approach.strides} strides; {need}.", "carry model, ours")  # fmt: skip
    before = plan.place.start_x + plan.approach.length
    if before > 1e-9:
        room = -plan.place.start_x
        fits = int(np.searchsorted(able.run.distance, room, side="right")) - 1
        yield Note("off-runway", f"The approach of {plan.approach.length:.1f} m starts "
                   f"{before:.1f} m before the runway; {max(fits, 0)} strides would fit.",
                   "venue")  # fmt: skip


def _day_notes(plan: Plan, venue: Venue, wind: float | None, blown: float) -> Iterator[Note]:
    """Wind and a runway's fall: what they are worth, and where they are beyond the rules."""
    full = _whole(plan) and bool(plan.approach.strides)
    if wind is not None:
        told = f"the forecast is {100 * blown:+.0f} cm for it, ± {100 * DOUBT * abs(blown):.0f} cm"
        if not blown and wind:
            told = f"not taken into {'these targets' if plan.approach.strides else 'a drill from standing'}"
        elif abs(wind) > COUNTED:
            told += f"; counted up to {COUNTED:g} m/s only"
        yield Note("wind", f"Wind {wind_text(wind)}: {told}.", WORTH_SOURCE)
        if assisted(wind):
            text = f"Wind {wind_text(wind)} is over the legal +{LEGAL_WIND}: whole jumps are wind-assisted."
            yield Note("wind-assisted", text, source_of("wind_legal"), grave=full)
    for way, fall in (("along the run", venue.fall_along), ("across", venue.fall_across)):
        most = FALLS[way.split()[0]]
        over = 0.0 if fall is None else fall if way != "across" else abs(fall)
        if over * most > 1.0 + 1e-9:
            yield Note("runway-fall", f"The runway falls 1:{1.0 / over:.0f} {way}; the rules allow 1:{most}. "
                       "Jumps here are no records.", FALL_SOURCE, grave=full)  # fmt: skip


def _ground_notes(plan: Plan, venue: Venue) -> Iterator[Note]:
    place, last = plan.place, plan.contacts[-1].x
    if plan.ends == "track" and last + RUN_OUT > place.end_x and plan.finish == "run on":
        after = "the sand" if place.pit_x is not None else "the end"
        yield Note("run-out", f"Only {place.end_x - last:.1f} m of runway after the last contact before "
                   f"{after}; {RUN_OUT:g} m needed. Fewer cycles or strides would fit.", "ours")  # fmt: skip
    if plan.ends == "sand":
        yield from _sand_notes(plan, venue)
    if any(word in venue.surface.lower() for word in HARD_WORDS):
        yield Note("surface", f"{venue.surface} is a poor surface for jumping: move to grass, rubber or a "
                   "sprung floor.", source_of("hard_ground"))  # fmt: skip


def _sand_notes(plan: Plan, venue: Venue) -> Iterator[Note]:
    place, last, take_off = plan.place, plan.contacts[-1].x, plan.contacts[-2].x
    edge = place.end_x
    if edge - take_off < EDGE_ROOM - 1e-9:
        cure = "The last flight is short." if place.board is None else "Use a farther board."
        yield Note("edge", f"The last take-off is {edge - take_off:.2f} m from the sand; {EDGE_ROOM:.2f} m "
                   f"needed. {cure}", "ours")  # fmt: skip
    if last - edge > place.pit_length - 0.5:
        yield Note("sand-end", f"The landing is {last - edge:.2f} m into {place.pit_length:g} m of sand.",
                   "venue")  # fmt: skip
    if place.board is None:
        return
    # Judged by what was jumped, not only by what is planned.
    best = plan.who.best
    sure = counted_on(last, best)
    before, after = board_margins(place.board, take_off, sure)
    short = after < SHORTFALL * sure
    jumped = ""
    if best is None:
        jumped = f", no best is known, so {sure:.2f} m are counted on"
    elif sure < last - 0.005:
        jumped = f", the best {sure:.2f} m"
    text = (
        f"Board at {place.board:g} m: the last take-off is {before:.2f} m before the sand. To land over "
        f"{INTO_SAND:.2f} m into it a jump must be over {place.board + INTO_SAND:.2f} m; planned are "
        f"{last:.2f} m{jumped}."
    )
    if short:
        nearer = [b for b in venue.boards if take_off + EDGE_ROOM <= b < place.board]
        text += f" A jump {100 * SHORTFALL:.0f} % shorter would not."
        text += f" The board at {max(nearer):g} m leaves more." if nearer else ""
    if _whole(plan):
        toe = f"{last:.2f} m are from the toe, the effective distance; the official one, from the line, is "
        yield Note(
            "effective", f"{toe}less by what the toe is short of it.", "Hay 1990, 1992", False
        )
    yield Note("board", text, f"{SAND_SOURCE}; {100 * SHORTFALL:.0f} %, ours", grave=short)
    if venue.boards and place.board not in venue.boards:
        known = ", ".join(f"{b:g}" for b in venue.boards)
        yield Note("board-unknown", f"{venue.title} has no board at {place.board:g} m; it has {known}. "
                   "Lay a line there, on the runway.",
                   "venue")  # fmt: skip


def _standing_notes(plan: Plan, stands: Standing, shut: Sequence[Reason]) -> Iterator[Note]:
    """Why the drill is closed to the athlete and who goes on, and what is not known of their age."""
    for number, why in enumerate(shut):
        yield Note(why.code, why.text if number else plan.despite, why.source)
    if not shut:
        for one in stands.assumed:
            if one.field in ("born", "on"):
                yield Note("age-unknown", one.text, "ours")


def _age_notes(athlete: Athlete, stands: Standing) -> Iterator[Note]:
    """A question where a total given is far over what is jumped at a known young age."""
    if athlete.guess is None and stands.young and not stands.taken("born"):
        total = max(athlete.target, athlete.best or 0.0)
        if asked := far_over(stands.age, athlete.build, total):
            yield Note("is-that-right", asked, GROWN)


def _load_notes(plan: Plan, cut: bool) -> Iterator[Note]:
    load = plan.load
    if load.contacts > load.budget_high:
        budget = plan.budget
        text = f"{load.contacts} contacts in this dose; {budget.text}."
        yield Note("over-budget", text, budget.source)
    if cut:
        text = f"Dose cut to {YOUTH_SETS} sets of at most {YOUTH_REPS} contacts."
        yield Note("youth-dose", text, YOUTH_SOURCE, grave=False)


def _motion_notes(plan: Plan, drill: Drill, height: float | None) -> Iterator[Note]:
    slow = [c.number for c in plan.contacts if c.time is not None and c.time > LONGEST_FAST_CONTACT]
    if slow:
        which = ", ".join(str(n + 1) for n in slow)
        yield Note("slow-contact", f"Contact {which} lasts over {LONGEST_FAST_CONTACT:g} s: no longer a fast "
                   "rebound.", FAST_SOURCE, grave=False)  # fmt: skip
    carried = plan.flights[plan.contacts[0].arrive == "stand" :]
    if any(f.vx <= SLOWEST + 1e-9 for f in carried):
        yield Note("runs-down", "The athlete runs out of speed before the last contact: fewer cycles or a "
                   "longer approach.", "carry model, ours")  # fmt: skip
    for hurdle in plan.hurdles[:1]:
        asked = wanted_height(drill, plan.who.level, height)
        if hurdle.height < asked - 1e-9:
            yield Note("hurdle-lowered", f"Hurdles of {100 * asked:.0f} cm lowered to a "
                       f"{100 * hurdle.height:.0f} cm {hurdle.thing} for the athlete's age.",
                       HURDLE_SOURCE)  # fmt: skip
        yield Note("hurdle-unchecked", f"Heights are {hurdle.checked}. Set one out with a line or a cone "
                   "first; the feet pass much lower than the middle of the body.", "ours")  # fmt: skip


def _margin_note(plan: Plan, who: Body) -> Note:
    first = plan.flights[0]
    leave = "stand" if plan.contacts[0].arrive == "stand" else first.phase
    landing = arrival(first.phase, plan.ends == "sand" and len(plan.flights) == 1)
    lengths = (first.length - REACH_DOUBT, first.length + REACH_DOUBT)
    low, high = (
        float(vy_for_phase(who, leave, landing, np.array([first.vx]), length)[0])
        for length in lengths
    )
    return Note(
        "footprints",
        f"Marks cannot tell height from reach: with {100 * REACH_DOUBT:.0f} cm more or less reach at the "
        f"contacts than this model's, the {first.phase}'s {first.vy:.2f} m/s upward would be "
        f"{low:.2f} to {high:.2f} m/s. The marks stay the same.",
        "derived",
        grave=False,
    )


def footprints(plan: Plan) -> tuple[tuple[Footprint, ...], tuple[Footprint, ...]]:
    """Things set out, and the landing areas of feet on the track."""
    along, across = FOOT_ROOM
    things = (
        Footprint(
            f"the {h.thing} under flight {h.flight + 1}", h.x - THICK, h.x + THICK, h.y0, h.y1
        )
        for h in plan.hurdles
    )
    landings = (
        Footprint(f"contact {c.number + 1}", c.x - 2 * along + TOE_ROOM, c.x + TOE_ROOM,
                  c.y - across, c.y + across)
        for c in plan.contacts if c.surface == "track"
    )  # fmt: skip
    return tuple(things), tuple(landings)


@dataclass(frozen=True, eq=False)
class Behind:
    """What a plan is made from; `shut` is why the drill is closed to the athlete."""

    athlete: Athlete
    drill: Drill
    venue: Venue
    able: Ability
    made: Made
    stands: Standing
    shut: tuple[Reason, ...]
    choices: Choices


def notes_for(plan: Plan, behind: Behind, cut: bool) -> Plan:
    """The same plan with its style, warnings and remarks; `cut`: a youth limit lowered the dose."""
    drill, venue, able, athlete = behind.drill, behind.venue, behind.able, behind.athlete
    things, landings = footprints(plan)
    notes = [
        *_standing_notes(plan, behind.stands, behind.shut),
        *_split_notes(plan),
        *(
            replace(n, grave=n.grave and (drill.full or n.code not in SEASON))
            for n in (*able.notes, *questions(athlete))
        ),
        *_age_notes(athlete, behind.stands),
        *_bent_note(plan, behind.made.wish),
        *_approach_notes(plan, drill, able, athlete.strides, behind.made.forecast),
        *_ground_notes(plan, venue),
        *_day_notes(plan, venue, behind.choices.wind, behind.made.blown),
        *(
            Note(
                "underfoot" if what == UNDERFOOT else "misplaced",
                f"{name[0].upper()}{name[1:]} {what}.",
                "venue",
            )
            for name, what in misplaced(venue, plan.place.end_x, things, landings)
        ),
        *_load_notes(plan, cut),
        *_motion_notes(plan, drill, behind.choices.hurdle),
        _margin_note(plan, able.who),
    ]
    notes.sort(key=lambda n: not n.grave)
    return replace(plan, style=classify(plan.shares) if _whole(plan) else "", notes=tuple(notes))
