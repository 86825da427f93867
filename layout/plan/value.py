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

    Attributes
    ----------
    number : int
        0 is the take-off after the approach, or the stand.
    foot : {"left", "right", "both"}
    x, y : float
        Toe mark; in sand the nearest break [m].
    arrive, leave : str
        run, stand, hop, step, jump; and hop, step, jump, end.
    surface : {"track", "sand"}
    vx_in, vy_in, vx, vy : float or None
        Velocity of the centre of mass at touchdown and take-off [m/s].
    landing, ahead : float or None
        Toe ahead of the centre of mass at touchdown; centre of mass ahead of the toe at take-off [m].
    height_in, height : float or None
        Centre of mass above the ground then [m].
    time : float or None
        Contact time: its travel over its mean speed [s].
    vertical, braking : float or None
        Mean force in the contact [body weights].
    """

    number: int
    foot: str
    x: float
    y: float
    arrive: str
    leave: str
    surface: str
    vx_in: float | None
    vy_in: float | None
    vx: float | None
    vy: float | None
    landing: float | None
    ahead: float | None
    height_in: float | None
    height: float | None
    time: float | None
    vertical: float | None
    braking: float | None


@dataclass(frozen=True)
class Flight:
    """One flight, between contacts `number` and `number` + 1.

    Attributes
    ----------
    number : int
    move, arc : str
    length : float
        Of the phase, mark to mark [m].
    time : float
        [s]
    vx, vy, vy_end : float
        At take-off and at touchdown [m/s].
    start_x, start_z, end_x, end_z : float
        Centre of mass at take-off and touchdown [m].
    apex_x, apex_z : float
        Highest point of the centre of mass [m].
    plus_minus : float or None
        Doubt of the length [m]; None where it is a target, not a forecast.
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


@dataclass(frozen=True)
class Clearing:
    """How the moving body passes a hurdle, from what its outlines sweep.

    Attributes
    ----------
    gap : float
        Lowest point of the sweep over the top bar, less the height; negative is a hit [m].
    worst : float
        The same, the least within the slack either way of where it stands [m].
    part : str
        Which part is lowest: "left foot".
    time : float
        When, in the motion [s].
    x, z : float
        That lowest point [m].
    greatest : float
        Greatest height a hurdle comes in that leaves the margin there and that the athlete's age
        allows [m]; 0 for none.
    moved : float
        How far it stands beyond the highest point of the body's centre [m].
    aside : float or None
        From a hurdle beside the line to the nearest foot on the ground on that side [m].
    under : tuple of (float, float)
        Underside of the sweep near the hurdle [m].
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
    """A low hurdle, a cone or a line to jump past or over.

    Attributes
    ----------
    flight : int
        The flight it stands under.
    x : float
        [m]
    y0, y1 : float
        Its ends across the runway [m].
    height : float
        [m]
    place : {"beside", "over"}
    thing : {"hurdle", "cone"}
    body_above : float
        Centre of mass above its top as it passes [m]; says nothing of the feet.
    checked : str
        What has and has not been checked.
    clearing : Clearing or None
        None where the moving body has not been checked against it.
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
    """The run before the first contact.

    Attributes
    ----------
    strides : int
    speed : float
        At the first touchdown, or at take-off from standing [m/s].
    length : float
        [m]
    marks : tuple of (int, float)
        Strides to go, and metres before the first contact; the start first.
    """

    strides: int
    speed: float
    length: float
    marks: tuple[tuple[int, float], ...]


@dataclass(frozen=True)
class Load:
    """Contacts of the drill's dose in one session.

    Attributes
    ----------
    sets, runs, per_run, contacts : int
    left, right, both : int
        Contacts by foot in one run.
    budget_low, budget_high : int
        For the athlete's level.
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

    Attributes
    ----------
    age : int
        As it counts: unknown or impossible is the most careful [years].
    assumed : tuple of str
        What was taken instead of known, each with the field that mends it.
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
    """The venue as far as a plan needs it.

    Attributes
    ----------
    slug, title : str
    width : float
        Of the runway [m].
    start_x : float
        Where the runway starts [m].
    pit_x : float or None
        Near edge of the pit [m]; None where there is none.
    end_x : float
        Runway's end: the pit's edge, or the end of the straight [m].
    pit_length, pit_width : float
        [m]
    board : float or None
        Distance from the take-off line to the pit [m] when the first contact is on a board.
    lanes : int
    lane_spacing : float
        [m]
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
