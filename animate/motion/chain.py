"""Contacts in a row: where each foot goes down, how fast the body is then, and for how long.

A chain knows no drill and no athlete; `reachable` checks it against one athlete's legs.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import math
from dataclasses import asdict, dataclass, replace
from typing import Any, Final, Literal, get_args

from animate.body.body import Body
from animate.body.stances import GRAVITY
from animate.refused import Refused

Foot = Literal["r", "l", "both"]
Arrive = Literal["run", "hop", "step", "jump", "stand"]
Leave = Literal["run", "hop", "step", "jump", "end"]
Surface = Literal["track", "sand"]

_OTHER: Final[dict[str, Foot]] = {"r": "l", "l": "r", "both": "both"}

# Accepted ranges: wide enough for any jumper, tight enough that a slip of unit is caught.
_CONTACT: Final = (0.06, 2.0)
_FLIGHT: Final = (0.03, 1.2)
_VX: Final = (-0.5, 12.0)
_VY: Final = (-3.0, 5.0)
_X: Final = (-200.0, 200.0)


def _number(name: str, value: float, low: float, high: float, unit: str) -> None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise Refused(name, f"must be a finite number, got {value!r}")
    if not low <= value <= high:
        raise Refused(name, f"{low:g} to {high:g} {unit}, got {value:g}")


SAND_TIME: Final[dict[Foot, float]] = {"both": 0.23, "r": 0.17, "l": 0.17}
"""Of a landing in sand that is shown: about until the body has sunk [s] (ours)."""


@dataclass(frozen=True)
class Support:
    """One foot, or both, on the ground.

    side: {"r", "l", "both"}.
    toe: mark on the runway [m]: where the toe stands; in sand the nearest break, which the heel makes
        at first touch.
    arrive, leave: move that ends here ("stand": the motion starts here at rest) and the move that
        starts here ("end": the motion stops when this contact ends).
    vx_in: horizontal speed of the centre of mass at touchdown [m/s].
    vx, vy: velocity of the centre of mass at take-off [m/s]; not held to when `leave` is "end".
    duration: contact time [s].
    surface: {"track", "sand"}.
    """

    side: Foot
    toe: float
    arrive: Arrive
    leave: Leave
    vx_in: float
    vx: float
    vy: float
    duration: float
    surface: Surface = "track"

    def __post_init__(self) -> None:
        for name, options in (
            ("side", Foot),
            ("arrive", Arrive),
            ("leave", Leave),
            ("surface", Surface),
        ):
            value = getattr(self, name)
            if value not in get_args(options):
                raise Refused(name, f"{', '.join(get_args(options))}, got {value!r}")
        _number("toe", self.toe, *_X, "m")
        _number("vx_in", self.vx_in, *_VX, "m/s")
        _number("vx", self.vx, *_VX, "m/s")
        _number("vy", self.vy, *_VY, "m/s")
        _number("duration", self.duration, *_CONTACT, "s")
        if self.surface == "sand" and self.leave != "end":
            raise Refused("leave", f"a contact in sand ends the motion, got {self.leave!r}")

    @property
    def foot(self) -> Literal["r", "l"]:
        """The foot read of those on the ground: both are alike."""
        return "r" if self.side == "both" else self.side

    @property
    def held(self) -> bool:
        """Whether the body is to stand still here: a last contact on the track that leaves no speed."""
        return self.leave == "end" and self.surface == "track" and self.vx == 0.0


@dataclass(frozen=True)
class Chain:
    """Contacts in order and the flight times between them.

    supports: two or more; only the first may arrive by "stand", only the last leaves by "end".
    flights: duration of the flight after each contact but the last [s].
    """

    supports: tuple[Support, ...]
    flights: tuple[float, ...]

    def __post_init__(self) -> None:
        supports, flights = self.supports, self.flights
        if len(supports) < 2:
            raise Refused("supports", f"two contacts or more needed, got {len(supports)}")
        if len(flights) != len(supports) - 1:
            raise Refused("flights", f"{len(supports) - 1} needed (one fewer), got {len(flights)}")
        for i, time in enumerate(flights, 1):
            _number(f"flight after contact {i}", time, *_FLIGHT, "s")
        for i, (here, then) in enumerate(itertools.pairwise(supports), 1):
            _joins(i, here, then)
        if supports[-1].leave != "end":
            raise Refused(
                f"contact {len(supports)} leave",
                f"the last must be 'end', got {supports[-1].leave!r}",
            )

    @property
    def name(self) -> str:
        """Short tag of what the chain does, e.g. ``run-hop-step-jump:sand``."""
        moves = "-".join(s.leave for s in self.supports[:-1])
        return f"{self.supports[0].arrive}|{moves}:{self.supports[-1].surface}"

    def mirrored(self) -> Chain:
        """The same chain for the other leg."""
        return Chain(
            tuple(replace(s, side=_OTHER[s.side]) for s in self.supports), tuple(self.flights)
        )

    def as_dict(self) -> dict[str, Any]:
        """Plain data for JSON."""
        return {"supports": [asdict(s) for s in self.supports], "flights": list(self.flights)}

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Chain:
        """Back from `as_dict`, with the same checks."""
        return cls(
            tuple(Support(**s) for s in data["supports"]), tuple(float(f) for f in data["flights"])
        )

    @property
    def digest(self) -> str:
        """Content hash, the same on every machine; figures to 1e-6."""
        return digest(self.as_dict())


def digest(data: Any) -> str:
    """SHA-256 of plain data with numbers rounded to 1e-6, hexadecimal."""

    def plain(value: Any) -> Any:
        if isinstance(value, bool) or value is None or isinstance(value, str):
            return value
        if isinstance(value, int | float):
            return f"{float(value) + 0.0:.6f}"
        if isinstance(value, dict):
            return {k: plain(v) for k, v in value.items()}
        return [plain(v) for v in value]

    text = json.dumps(plain(data), sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _joins(i: int, here: Support, then: Support) -> None:
    """Raise where contact i and the next do not fit together."""
    if here.leave == "end":
        raise Refused(f"contact {i} leave", "only the last contact may be 'end'")
    if then.arrive != here.leave:
        raise Refused(
            f"contact {i + 1} arrive", f"{here.leave!r} as contact {i} leaves, got {then.arrive!r}"
        )
    if then.toe - here.toe < 1e-3:
        raise Refused(
            f"contact {i + 1} toe",
            f"ahead of contact {i} at {here.toe:g} m needed, got {then.toe:g}",
        )
    sides = (here.side, then.side)
    if here.leave == "hop" and "both" not in sides and sides[0] != sides[1]:
        raise Refused(f"contact {i + 1} side", f"a hop lands on the same leg, got {then.side!r}")
    if here.leave in ("step", "run") and "both" not in sides and sides[0] == sides[1]:
        raise Refused(
            f"contact {i + 1} side", f"a {here.leave} lands on the other leg, got {then.side!r}"
        )


def reachable(chain: Chain, body: Body) -> None:
    """Refuse contacts this body cannot reach, saying which and what would make it possible.

    The horizontal distance between two marks is flown, vx t, and the rest is made up by the legs:
    the toe can be at most about .9 leg length behind the centre of mass at take-off or ahead of it
    at touchdown. Over a contact the centre of mass travels (vx_in + vx) / 2 times the duration,
    which the leg must span. The height lost in flight must fit the legs too. The refusal names the
    contact and the least change that would do.
    """
    for i in range(1, len(chain.supports)):
        _flown(i, chain, body.leg)
    for i in range(1, len(chain.supports) + 1):
        _carried(i, chain, body.leg)


def _flown(i: int, chain: Chain, leg: float) -> None:
    """Refuse a flight after contact i that is too far, too near, too deep or too high."""
    s, then, t = chain.supports[i - 1], chain.supports[i], chain.flights[i - 1]
    span = 0.90 * leg
    flown = s.vx * t
    gap = then.toe - s.toe
    most = flown + 2 * span
    if then.surface == "sand":
        most = flown + span + 1.1 * leg
    if gap > most:
        raise Refused(
            f"contact {i + 1} toe",
            f"{gap:.2f} m from contact {i} is out of reach (at most "
            f"{most:.2f} m); bring the mark {gap - most:.2f} m back, or leave contact {i} at "
            f"{(gap - most + flown) / t:.2f} m/s or more",
        )
    least = flown - 0.35 * leg
    if gap < least:
        raise Refused(
            f"contact {i + 1} toe",
            f"{gap:.2f} m from contact {i} is overflown by "
            f"{least - gap:.2f} m; move the mark on, or leave contact {i} slower than "
            f"{max(gap + 0.35 * leg, 0) / t:.2f} m/s",
        )
    drop = GRAVITY * t * t / 2 - s.vy * t
    lowest = 0.75 * leg if then.surface == "sand" else 0.45 * leg
    if drop > lowest:
        raise Refused(
            f"flight after contact {i}",
            f"falls {drop:.2f} m, the legs allow {lowest:.2f} m; "
            f"shorten it to {(s.vy + math.sqrt(s.vy**2 + 2 * GRAVITY * lowest)) / GRAVITY:.2f}"
            f" s or leave with more vertical speed",
        )
    if -drop > 0.30 * leg:
        up = 0.30 * leg
        raise Refused(
            f"contact {i + 1}",
            f"met {-drop:.2f} m higher than left, the legs allow {up:.2f} m; "
            f"lengthen the flight after contact {i} or leave with less vertical speed",
        )


def _carried(i: int, chain: Chain, leg: float) -> None:
    """Refuse a contact too long for the leg to span or too short to turn the fall into a rise."""
    s = chain.supports[i - 1]
    if s.surface == "sand" or s.leave == "end":
        return
    travel = (s.vx_in + s.vx) / 2 * s.duration
    reach = 1.75 * leg
    if travel > reach:
        raise Refused(
            f"contact {i} duration",
            f"the body travels {travel:.2f} m over the foot, the leg "
            f"spans {reach:.2f} m; {2 * reach / (s.vx_in + s.vx):.3f} s or less needed, "
            f"got {s.duration:g}",
        )
    if s.arrive != "stand" and i > 1:
        before = chain.supports[i - 2]
        down = before.vy - GRAVITY * chain.flights[i - 2]
        mean = 1 + (s.vy - down) / (GRAVITY * s.duration)
        if mean > 12:
            least = (s.vy - down) / (GRAVITY * 11)
            raise Refused(
                f"contact {i} duration",
                f"no time to turn {down:.2f} into {s.vy:.2f} m/s "
                f"({mean:.0f} body weights on average); {least:.3f} s or more needed, "
                f"got {s.duration:g}",
            )


LIMITS: Final = {
    "knee_gap": (-0.1, 0.7, "m"),
    "knee_bend": (0.2, 2.3, "rad"),
    "thigh_high": (0.7, 1.75, "rad"),
    "hold": (0.0, 0.4, "s"),
    "trunk": (-0.5, 0.3, "rad"),
}
"""Least and most that may be asked of each position."""


@dataclass(frozen=True)
class Settings:
    """What the coach asks of the positions at the step; None leaves it to the key poses.

    The step contact is a contact that leaves by "step".

    knee_gap: support knee ahead of the free knee at touchdown of the step contact [m], -.1 to .7.
    knee_bend: flexion of the free knee then [rad], 0 straight; small is a long lever, large a short
        one.
    thigh_high: free thigh from hanging straight down, in the step flight [rad]; pi/2 is horizontal.
    hold: how long the thigh stays within 4 degrees of that or above [s].
    trunk: trunk at the step contact [rad], 0 upright, negative leaning forward.
    arms: {"alternate", "together"}.
    arc: {"low", "natural", "high"}, asked hop arc. The chain's own speeds and times carry it; here it
        is only kept on record.
    """

    knee_gap: float | None = None
    knee_bend: float | None = None
    thigh_high: float | None = None
    hold: float | None = None
    trunk: float | None = None
    arms: Literal["alternate", "together"] = "alternate"
    arc: Literal["low", "natural", "high"] = "natural"

    def __post_init__(self) -> None:
        for name, (low, high, unit) in LIMITS.items():
            value = getattr(self, name)
            if value is not None:
                _number(name, value, low, high, unit)
        if self.arms not in ("alternate", "together"):
            raise Refused("arms", f"alternate or together, got {self.arms!r}")
        if self.arc not in ("low", "natural", "high"):
            raise Refused("arc", f"low, natural or high, got {self.arc!r}")

    def as_dict(self) -> dict[str, Any]:
        """Plain data for JSON."""
        return asdict(self)


def structure(chain: Chain) -> str:
    """Kind of chain: motions of the same kind have the same unknowns."""
    return "|".join(f"{s.side}.{s.arrive}.{s.leave}.{s.surface}" for s in chain.supports)
