"""The Plan: one frozen value that drawings, tape cards, motions and the book read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from layout.rules.budget import Budget, budget_of
from layout.rules.standing import Standing
from layout.words.note import Note

PLAN_VERSION: Final = 3


@dataclass(frozen=True)
class Contact:
    """One time on the ground. Velocities and forces are None where there is none.

    Contact 0 is the take-off after the approach, or the stand. x, y are of the toe, in sand of the
    nearest break [m]. `arrive` is run, stand, hop, step or jump; `leave` hop, step, jump or end.
    vx_in, vy_in and vx, vy are the centre of mass's at touchdown and take-off [m/s], height_in and height
    its height then [m]; `landing` is the toe ahead of it at touchdown, `ahead` it ahead of the toe at
    take-off [m]. `time` is its travel over its mean speed [s]; `vertical` and `braking` are mean forces
    [body weights].
    """

    number: int
    foot: str
    x: float
    y: float
    arrive: str
    leave: str
    surface: str
    vx_in: float | None = None
    vy_in: float | None = None
    vx: float | None = None
    vy: float | None = None
    landing: float | None = None
    ahead: float | None = None
    height_in: float | None = None
    height: float | None = None
    time: float | None = None
    vertical: float | None = None
    braking: float | None = None


@dataclass(frozen=True)
class Flight:
    """One flight, between contacts `number` and `number` + 1.

    `length` is of the phase, mark to mark [m]; vx, vy at take-off and vy_end at touchdown [m/s]; start,
    end and apex are places of the centre of mass [m]; `time` [s]; `plus_minus` is the margin of the length
    [m], None where it is a target, not a forecast.
    """

    number: int
    phase: str
    arc: str
    length: float
    time: float
    vx: float
    vy: float
    vy_end: float
    start_x: float
    start_z: float
    end_x: float
    end_z: float
    apex_x: float
    apex_z: float
    plus_minus: float | None


def thrown(x: float, z: float, vx: float, vy: float, time: float) -> dict[str, float]:
    """Where a thrown body ends and where it is highest, with its velocity upward at the end [m, m/s].

    x + vx t, z + vy t - g t^2 / 2, vy - g t; highest after max(vy, 0) / g.

    >>> {name: round(v, 2) for name, v in thrown(0.3, 1.0, 8.0, 2.0, 0.45).items()}
    {'end_x': 3.9, 'end_z': 0.91, 'vy_end': -2.41, 'apex_x': 1.93, 'apex_z': 1.2}
    """
    from animate.body.stances import GRAVITY

    return {
        "end_x": x + vx * time,
        "end_z": z + vy * time - GRAVITY * time * time / 2.0,
        "vy_end": vy - GRAVITY * time,
        "apex_x": x + vx * (max(vy, 0.0) / GRAVITY),
        "apex_z": z + max(vy, 0.0) ** 2 / (2.0 * GRAVITY),
    }


@dataclass(frozen=True)
class Clearing:
    """How the moving body passes a hurdle, from what its outlines sweep.

    `gap` is the lowest point of the sweep over the top bar, less the height; negative is a hit [m].
    `worst` is the least gap within the slack either way of where it stands [m]. That point: the `part`
    that is lowest ("left foot"), when in the motion [s], and where (x, z) [m]. `greatest` is the greatest
    height a hurdle comes in that leaves the margin there and that the athlete's age allows, 0 for none
    [m]; `moved` how far it stands beyond the highest point of the body's centre [m]; `aside` from a
    hurdle beside the line to the nearest foot on the ground on that side [m]; `under` the underside of
    the sweep near the hurdle [m].
    """

    gap: float
    worst: float
    part: str
    time: float
    x: float
    z: float
    greatest: float
    moved: float
    aside: float | None
    under: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Hurdle:
    """A low hurdle, a cone or a line, beside the line or over it, under flight number `flight`.

    y0, y1 are its ends across the runway [m]; `body_above` is the centre of mass above its top as it
    passes [m], and says nothing of the feet; `checked` says what has and has not been checked, `clearing`
    is None where the moving body has not been checked against it.
    """

    flight: int
    x: float
    y0: float
    y1: float
    height: float
    place: str
    thing: str
    body_above: float
    checked: str
    clearing: Clearing | None


@dataclass(frozen=True)
class ApproachPlan:
    """The run before the first contact: `speed` at the first touchdown, or at take-off from standing [m/s].

    `marks` are strides to go, and metres before the first contact; the start first.
    """

    strides: int
    speed: float
    length: float
    marks: tuple[tuple[int, float], ...]


@dataclass(frozen=True)
class Load:
    """Contacts of the drill's dose in one session, and the budget of the athlete's level.

    Contacts by foot are of one run.
    """

    sets: int
    runs: int
    per_run: int
    contacts: int
    left: int
    right: int
    both: int
    budget_low: int
    budget_high: int


@dataclass(frozen=True)
class Who:
    """The athlete as far as a plan needs them.

    The age is as it counts: unknown or impossible is the most careful [years]. `assumed` is what was taken
    instead of known, each with the field that mends it.
    """

    name: str
    leg: str
    level: str
    stature: float
    mass: float
    build: str
    age: int
    target: float
    best: float | None
    assumed: tuple[str, ...] = ()

    @property
    def standing(self) -> Standing:
        """How the athlete counts in this plan, with no training years: it does not keep them."""
        return Standing(self.age, self.level, 0.0)


@dataclass(frozen=True)
class Place:
    """The venue as far as a plan needs it, x from the first contact [m].

    `pit_x` is the near edge of the pit, None where there is none; `end_x` the runway's end: the pit's
    edge, or the end of the straight; `board` the distance from the take-off line to the pit when the first
    contact is on a board.
    """

    slug: str
    title: str
    width: float
    start_x: float
    pit_x: float | None
    end_x: float
    pit_length: float
    pit_width: float
    board: float | None
    lanes: int
    lane_spacing: float


@dataclass(frozen=True)
class Plan:
    """Everything set out for one athlete, one drill and one venue; x from the first contact's toe.

    `shares` are of the total; `gaps` are phases less those of the best jump [m], where known;
    `despite` says why the drill is closed to the athlete and who decided to go on, empty where it
    is open.
    """

    version: int
    date: str
    who: Who
    drill: str
    title: str
    job: str
    level: str
    intensity: str
    ends: str
    finish: str
    place: Place
    approach: ApproachPlan
    contacts: tuple[Contact, ...]
    flights: tuple[Flight, ...]
    hurdles: tuple[Hurdle, ...]
    total: float
    shares: tuple[float, ...]
    gaps: tuple[float, ...]
    forecast: bool
    style: str
    load: Load
    points: tuple[str, ...]
    faults: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[Note, ...]
    despite: str = ""

    @property
    def budget(self) -> Budget:
        """The athlete's own, by the age and level the plan counted with."""
        return budget_of(self.who.standing)

    @property
    def assumed(self) -> tuple[str, ...]:
        """What was taken instead of known, where no warning says it."""
        told = " ".join(n.text for n in self.warnings)
        return tuple(text for text in self.who.assumed if text not in told)

    @property
    def warnings(self) -> tuple[Note, ...]:
        """The grave notes."""
        return tuple(n for n in self.notes if n.grave)
