"""A plan and its motion as a clip: the whole drill, held and measured at the step contact."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, Literal, NamedTuple, cast

import numpy as np

from animate.body import figure
from animate.body.body import Array
from animate.body.outlines import Side
from animate.body.shapes import Area, Point, Shape
from animate.body.wording import typeset
from animate.film import film
from animate.film.foot import foot_height, with_foot
from animate.film.ground import Runway
from animate.film.scene import Scene
from animate.film.staging import text_height
from animate.motion.chain import Support
from animate.motion.compare import compare
from animate.motion.measures import MEASURE, Reading, contacts_of, read_contact
from animate.motion.motion import Motion
from layout.moving import clearing
from layout.plan.value import Plan
from layout.rules.cautions import COMPUTED, in_short
from layout.words.faults import refuse

STEP: Final = 0.001
"""Spacing of the instants measures are read at [s]."""
HELD: Final = 1.6
HIGH_HELD: Final = 1.0
"""How long the clip rests at the step contact, and at the high thigh [s] (ours)."""
CLEAR: Final = 0.55
"""Least distance between the hips of two figures of a trail [m] (ours)."""
STILL_SMALL: Final = 14.0
"""Em of the small print under a still [px]."""
COLUMNS: Final = 7
"""Most pictures in a row of a strip."""
BEFORE: Final = 0.40
AFTER: Final = 0.60
"""What a comparison shows round the step touchdown [s] (ours)."""
ROWS: Final = (
    "knee_gap",
    "free_knee_touchdown",
    "free_thigh_highest",
    "free_thigh_hold",
    "contact_time",
    "speed_lost",
)
"""Measures under a comparison."""
GIVEN: Final = (
    "speed_touchdown", "fall_touchdown", "contact_time", "speed_takeoff", "rise_takeoff",
    "takeoff_angle", "speed_lost", "flight_time",
)  # fmt: skip
"""Measures that a plan sets: two ways of the same plan cannot differ in them, whatever they are worth."""
SET: Final = "set by plan"
Camera = Literal["fixed", "follow", "both"]


@dataclass(frozen=True, eq=False)
class StepContact:
    """The contact a clip is about: the first that a jump leads to and a step leaves, else the first
    that a step leaves, else the middle one.

    index: in the motion's chain.
    touchdown, high: when it begins, and when the free thigh is highest in the flight after it [s].
    support, free: {"r", "l"}.
    """

    index: int
    touchdown: float
    high: float
    support: Side
    free: Side
    reading: Reading


def has_step_contact(plan: Plan) -> bool:
    """Whether some step is taken off one foot: what positions can be asked of."""
    return any(c.leave == "step" and c.foot != "both" for c in plan.contacts)


@lru_cache(maxsize=4)
def step_contact(motion: Motion) -> StepContact:
    """Find and measure the step contact; refuses a motion with no contact on one foot that is left."""
    supports = motion.chain.supports
    ones = [i for i, s in enumerate(supports) if s.side != "both" and s.leave not in ("end", "run")]
    if not ones:
        raise refuse("motion", "a contact on one foot that is left again needed, got none")
    steps = [i for i in ones if supports[i].leave == "step"]
    jumped = [i for i in steps if supports[i].arrive not in ("run", "stand")]
    index = (jumped or steps or ones[len(ones) // 2 :])[0]
    down = float(motion.touchdowns[index])
    until = float(motion.touchdowns[index + 1])
    start = max(down - 0.05, 0.0)
    times = np.linspace(start, until, 1 + round((until - start) / STEP))
    frames = motion.frames(times)
    contacts = contacts_of(supports, motion.touchdowns, motion.takeoffs)
    reading = read_contact(
        frames, contacts[index], motion.body.leg, until=until, velocities=frames.com_velocity
    )
    support = cast(Side, supports[index].side)
    free: Side = "l" if support == "r" else "r"
    return StepContact(index, down, _highest(motion, index, free), support, free, reading)


def which_step(motion: Motion) -> str:
    """Which of several like contacts is measured, as "the first of 3"; empty where there is one."""
    supports, index = motion.chain.supports, step_contact(motion).index
    way = supports[index].leave
    like = [
        i
        for i, s in enumerate(supports)
        if s.leave == way and s.side != "both" and s.arrive not in ("run", "stand")
    ]
    if len(like) < 2 or index not in like:
        return ""
    number = like.index(index)
    names = ("first", "second", "third")
    nth = names[number] if number < len(names) else f"{number + 1}th"
    return f"the {nth} of {len(like)}"


def _highest(motion: Motion, index: int, free: Side) -> float:
    off, until = float(motion.takeoffs[index]), float(motion.touchdowns[index + 1])
    times = np.linspace(off, off + 0.75 * (until - off), 60)
    names = motion.frames(times).positions
    knee = names[:, figure.JOINTS.index(f"{free}_knee"), 1]
    hip = names[:, figure.JOINTS.index("hip"), 1]
    return float(times[int(np.argmax(knee - hip))])


def runway_of(plan: Plan, motion: Motion | None = None) -> Runway:
    """The runway of a clip: boards, marks named by foot and reading, hurdles jumped over, sand.

    motion: whose stride of the run-in the runway is to reach back to.
    """
    first = min(0.0, motion.chain.supports[0].toe) if motion else 0.0
    last = plan.contacts[-1].x
    marks = tuple(
        (c.x, f"{'' if c.foot == 'both' else c.foot[0].upper() + ' '}{c.x:.2f}")
        for c in plan.contacts
    )
    return Runway(
        start=first - 1.6,
        end=last + 2.0,
        sand=plan.place.pit_x if plan.ends == "sand" else None,
        boards=(0.0,) if plan.place.board is not None else (),
        marks=marks,
        hurdles=tuple((h.x, h.height) for h in plan.hurdles if h.place == "over"),
    )


def beside(plan: Plan) -> tuple[Shape, ...]:
    """What stands beside the athlete's way, light inside a dark outline as the far limbs are."""
    out: list[Shape] = []
    for hurdle in plan.hurdles:
        if hurdle.place == "over":
            continue
        x, top = hurdle.x, hurdle.height
        for left, right, low, high in (
            (x - 0.16, x + 0.16, 0.0, 0.03),
            (x - 0.02, x + 0.02, 0.03, max(top - 0.07, 0.03)),
            (x - 0.04, x + 0.04, max(top - 0.07, 0.03), top),
        ):
            box = ((left, low), (right, low), (right, high), (left, high))
            out.append(Area(box, "far", edge="hurdle"))
    return tuple(out)


def takeoff_name(support: Support) -> str:
    """What a coach calls the take-off of a contact."""
    return "last stride, take-off" if support.leave == "run" else f"{support.leave} take-off"


def touchdown_name(motion: Motion, index: int) -> str:
    """What a coach calls the beginning of a contact, by its number in the motion's chain."""
    support = motion.chain.supports[index]
    if support.arrive == "stand":
        return "start"
    if index == step_contact(motion).index and support.leave == "step":
        return "step contact, touchdown"
    if support.arrive == "run":
        return "last stride, touchdown" if support.leave == "run" else "take-off foot down"
    return f"{support.arrive} landing{', in sand' if support.surface == 'sand' else ''}"


def _knees_said(values: Mapping[str, float]) -> str:
    if "knee_gap" not in values:
        return ""
    gap = values["knee_gap"]
    said = typeset(MEASURE["knee_gap"].shown(abs(gap)))  # as the dimension beside it has it
    where = "behind" if gap > 0 else "ahead"
    return "knees level" if said.startswith("0.0") else f"free knee {said} {where}"


def _thigh_said(values: Mapping[str, float]) -> str:
    high = MEASURE["free_thigh_highest"].shown(values["free_thigh_highest"])
    said = f"thigh {typeset(high)}"
    held = values.get("free_thigh_hold", 0.0)
    return f"{said}, held {held:.2f} s" if held else said


def _notes(step: StepContact) -> list[film.Note]:
    def knees(points: list[Point]) -> tuple[Shape, ...]:
        return figure.knee_gap(points, step.support)

    def thigh(points: list[Point]) -> tuple[Shape, ...]:
        return figure.thigh_angle(points, step.free)

    down, top, values = step.touchdown, step.high, step.reading.values
    out = [film.Note(top, top, thigh, _thigh_said(values))]
    if "knee_gap" in values:
        out.insert(0, film.Note(down, down, knees, _knees_said(values)))
    return out


def title_of(plan: Plan) -> str:
    """Whose drill it is and which."""
    return f"{plan.who.name}: {plan.title}"


def small_print_of(plan: Plan) -> tuple[str, ...]:
    """What stands under every picture: which drill, what the figure is, and what to mind."""
    return (f"{plan.title}. {COMPUTED}", in_short(plan.who.standing, plan.despite))


def _small(size: tuple[int, int]) -> float:
    return max(11.0, 0.6 * text_height(size))


def clip_of(
    plan: Plan,
    motion: Motion,
    slow: float = 4.0,
    camera: Camera = "both",
    theme: str = "light",
    fps: float = 25.0,
    size: tuple[int, int] = (960, 540),
) -> Scene:
    """The whole drill in slow motion, held at the step contact, the high thigh and the hurdles.

    slow: times slower than life.
    camera: {"fixed", "follow", "both"}.
    theme: {"light", "print-grey"}.
    fps: [1/s].
    size: [px]; with a fixed camera the height is cut to what the runway takes.
    """
    step = step_contact(motion)
    holds: tuple[tuple[float, float], ...]
    holds = ((step.touchdown, HELD), (step.high, HIGH_HELD))
    taken = [t for t, _ in holds]
    holds += clearing.holds(plan, taken, max(clearing.APART, 1.01 / (fps * slow)))
    shown = film.schedule(0.0, motion.duration, fps, slow, holds)
    frames = motion.frames(np.array(shown.instants))
    ground = runway_of(plan, motion)
    take = film.Take(frames.positions, frames.com, plan.who.name, "r", ground, beside(plan))
    notes = [*_notes(step), *clearing.shown(plan)]
    em = _small(size)
    room = (size[0], size[1] - foot_height(small_print_of(plan), size[0], em))
    scene = film.clip(take, shown, notes, camera, room, theme, trim=True)
    return with_foot(scene, small_print_of(plan), em)


def stills_of(plan: Plan, motion: Motion, kind: str, theme: str = "light") -> Scene:
    """A ghost trail or a pose strip of the whole drill.

    kind: {"trail", "strip"}.
    """
    step = step_contact(motion)
    moments = _moments(motion, step)
    if kind == "trail":
        moments = _apart(motion, moments)
    instants = tuple(m.time for m in moments)
    # In a trail the contacts are drawn in full and what lies between them pale.
    full = tuple(i for i, m in enumerate(moments) if kind == "trail" and m.down)
    shown = film.Schedule(instants, (0.2,) * len(instants), 1.0, full)
    frames = motion.frames(np.array(instants))
    name = title_of(plan)
    dense = motion.frames(np.linspace(0.0, motion.duration, 200)).com.tolist()
    path = figure.path([(x, z) for x, z in dense])
    still = (*path, *beside(plan))
    take = film.Take(frames.positions, None, name, "r", runway_of(plan, motion), still)
    notes = _notes(step)
    if kind == "trail":
        notes = [
            replace(n, text=f"step contact: {n.text}") for n in notes if n.start == step.touchdown
        ]
        scene = film.ghost_trail(take, shown, theme=theme, notes=notes)
    else:
        captions = [m.name for m in moments]
        scene = film.pose_strip(take, shown, captions, COLUMNS, theme=theme, notes=notes)
    return with_foot(scene, small_print_of(plan), STILL_SMALL)


class _Moment(NamedTuple):
    """An instant of a drill: its time [s], what it is, and whether a foot just came down."""

    time: float
    name: str
    down: bool


def _moments(motion: Motion, step: StepContact) -> list[_Moment]:
    """The instants that tell a drill: touchdowns, take-offs, mid-flights and the high thigh."""
    found = [_Moment(step.high, "free thigh high", False)]
    supports = motion.chain.supports
    for i, s in enumerate(supports):
        off = min(float(motion.takeoffs[i]), motion.duration)
        found.append(_Moment(float(motion.touchdowns[i]), touchdown_name(motion, i), True))
        if s.leave == "end":
            sand = "in the sand" if s.side == "both" else "on through the sand"
            found.append(_Moment(off, sand if s.surface == "sand" else "the end", False))
            continue
        found.append(_Moment(off, takeoff_name(s), False))
        if i != step.index and s.leave != "run":
            middle = (off + float(motion.touchdowns[i + 1])) / 2
            found.append(_Moment(middle, f"{s.leave} flight", False))
    return sorted(found)


def _apart(motion: Motion, moments: list[_Moment]) -> list[_Moment]:
    """The touchdowns, and of the others those whose figure stands clear of its neighbours."""
    hips = motion.frames(np.array([m.time for m in moments])).positions[:, 0, 0]
    kept = [i for i, m in enumerate(moments) if m.down]
    # The high thigh before the take-offs: it says more, and the two are near each other.
    for i in sorted(range(len(moments)), key=lambda i: "take-off" in moments[i].name):
        if all(abs(hips[i] - hips[j]) >= CLEAR for j in kept):
            kept.append(i)
    return [moments[i] for i in sorted(kept)]


def ground_at(plan: Plan, x: float) -> Runway:
    """The ground round a contact whose toe is at x [m], 0 there: the sand is where the plan has it."""
    pit = plan.place.pit_x
    sand = pit - x if plan.ends == "sand" and pit is not None else None
    return Runway(-8.0, 8.0, sand, marks=((0.0, "step contact"),))


def rows_beside(one: Motion, two: Motion, names: Sequence[str]) -> tuple[film.Row, ...]:
    """Measures of two step contacts side by side; what the same marks set in both is no answer."""
    found = compare(step_contact(one).reading, step_contact(two).reading)
    level = {name: SET for name in GIVEN if one.chain == two.chain}
    return tuple(
        replace(row, level=level.get(name, row.level))
        for name in names
        for row in film.rows_of(found, (name,))
    )


def side_by_side_of(
    plans: tuple[Plan, Plan], one: Motion, two: Motion, names: tuple[str, str], theme: str = "light"
) -> Scene:
    """Two motions next to each other, time 0 at the step touchdown, with measures and differences.

    plans: of each motion; the same one twice where only positions differ.
    """
    steps = [step_contact(m) for m in (one, two)]
    start = -min(BEFORE, *(s.touchdown for s in steps))
    end = min(AFTER, *(m.duration - s.touchdown for m, s in zip((one, two), steps, strict=True)))
    shown = film.schedule(start, end, 25.0, 4.0, ((0.0, HELD),))
    takes = []
    for plan, motion, step, name in zip(plans, (one, two), steps, names, strict=True):
        at = np.clip(np.array(shown.instants) + step.touchdown, 0.0, motion.duration)
        frames = motion.frames(at)
        toe = motion.chain.supports[step.index].toe
        off = np.array([toe, 0.0])
        positions: Array = frames.positions - off
        takes.append(film.Take(positions, frames.com - off, name, "r", ground_at(plan, toe)))
    rows = rows_beside(one, two, ROWS)
    support = steps[0].support
    note = film.Note(0.0, 0.0, lambda points: figure.knee_gap(points, support), "")
    left, right = takes
    title = title_of(plans[0])
    texts = (f"{title}. {COMPUTED}", small_print_of(plans[0])[1])
    size, em = (960, 540), _small((960, 540))
    room = (size[0], size[1] - foot_height(texts, size[0], em))
    scene = film.side_by_side(left, right, shown, rows, (note,), room, theme)
    return with_foot(replace(scene, title=title), texts, em)
