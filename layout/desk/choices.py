"""What a coach may change on Set out: by what this drill, venue and athlete have."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, Final, NamedTuple

from layout.desk.setout import SetOut
from layout.moving.clip import has_step_contact
from layout.plan.drill import HURDLE_HEIGHTS
from layout.words.feet import as_read
from layout.words.trade import ARC_WORDS
from layout.words.units import show_length

KNEE_GAPS: Final = (0.2, 0.3, 0.4, 0.5)
"""Knee gaps offered at the step contact [m] (ours)."""
LEVERS: Final = ((125.0, "long, 125°"), (95.0, "95°"), (65.0, "short, 65°"))
"""Free knees offered there, 180 straight [degrees]; the ends are those of two ways side by side (ours)."""
THIGHS: Final = ((-20.0, "20° below level"), (-10.0, "10° below level"), (0.0, "level"))
HOLDS: Final = (0.1, 0.2)
"""Heights of the free thigh offered in the flight after [degrees], and how long it stays there [s] (ours)."""
TRUNKS: Final = (
    (-5.0, "5° back"),
    (0.0, "upright"),
    (5.0, "5° forward"),
    (10.0, "10° forward"),
)
"""Leans of the trunk offered at the step contact [degrees] (ours)."""


class Choice(NamedTuple):
    """One thing to choose: what the address says, what is read, and whether it is chosen."""

    value: str
    text: str
    chosen: bool


class Pick(NamedTuple):
    """One question: its part of the address, its title, and what may be chosen."""

    name: str
    title: str
    choices: list[Choice]


class Controls(NamedTuple):
    """What a coach may change here: questions that this drill has no place for are left out.

    strides: least, most and now. positions: the body's, beside knee gap and lever, which are asked first.
    """

    strides: tuple[int, int, int] | None
    first: list[Pick]
    positions: list[Pick]
    tape: list[Pick]
    places: list[Pick]

    @property
    def asked(self) -> bool:
        """Whether a position is asked for that is not asked first."""
        return any(c.chosen and c.value for pick in self.positions for c in pick.choices)


def _strides(out: SetOut) -> tuple[int, int, int] | None:
    """Strides: least, most, and as they are now; None from standing."""
    if out.drill.start != "run":
        return None
    most = out.athlete.strides
    usual = most if out.drill.full else min(out.drill.strides, most)
    now = out.plan.approach.strides if out.plan is not None else out.asked.strides or usual
    return 1, most, min(max(now, 1), most)


def _choices(rows: Iterable[tuple[Any, str]], now: Any) -> list[Choice]:
    """Choices of values and their texts; nothing is what the drill or the body has."""
    said = {float: "{:g}".format, type(None): lambda _: ""}
    return [Choice(said.get(type(v), str)(v), text, v == now) for v, text in rows]


def _with(
    usual: str, rows: Iterable[tuple[float, str]], now: float | None, text: Callable[[float], str]
) -> list[Choice]:
    """Numbers to choose from behind what is usual; one asked for in the address stands among them."""
    known = dict(rows)
    if now is not None:
        known.setdefault(now, text(now))
    return _choices([(None, usual), *sorted(known.items())], now)


def controls(out: SetOut) -> Controls:
    """What may be changed here."""
    asked, drill, feet = out.asked, out.drill, out.asked.tape == "ft"
    step = has_step_contact(out.plan) if out.plan is not None else "step" in drill.moves

    def cm(metres: float) -> str:
        return as_read(f"{100 * metres:.0f} cm", asked.tape)

    def line(metres: float) -> str:
        return show_length(metres, "ft") if feet else f"{metres:g} m"

    hops = [(None, "as the drill"), *((word, word) for word in ARC_WORDS)]
    gaps = _with("as it comes", ((g, cm(g)) for g in KNEE_GAPS), asked.gap, cm)
    boards = _with("as it fits", ((b, line(b)) for b in out.venue.boards), asked.board, line)
    heights = (h / 100 for h in HURDLE_HEIGHTS)
    hurdles = _with("as the drill", ((h, cm(h)) for h in heights), asked.hurdle, cm)
    first = [
        Pick("hops", "Hop height", _choices(hops, asked.hops) if "hop" in drill.moves else []),
        Pick("gap", "Knee gap at the step contact", gaps if step else []),
        Pick("lever", "Lever: the free knee there", _angles(LEVERS, asked.lever) if step else []),
    ]
    places = [
        Pick("board", "Take-off line to the pit",
             boards if drill.ends == "sand" and out.venue.boards else []),
        Pick("hurdle", "Hurdles", hurdles if drill.hurdle else []),
        Pick("v", "Where", _choices(((v.slug, v.title) for v in out.places), asked.v)),
    ]  # fmt: skip
    return Controls(
        _strides(out), _there(first), _there(_positions(out, step)), _tape(out), _there(places)
    )


def _there(picks: list[Pick]) -> list[Pick]:
    return [pick for pick in picks if pick.choices]


def _angles(rows: Iterable[tuple[float, str]], now: float | None) -> list[Choice]:
    return _with("as it comes", rows, now, "{:g}°".format)


def _positions(out: SetOut, step: bool) -> list[Pick]:
    """Thigh and trunk at the step contact, and the arms."""
    asked = out.asked
    arms = [(None, "alternate"), ("together", "together")]
    now = None if asked.arms == "alternate" else asked.arms
    picks = [Pick("arms", "Arms", _choices(arms, now))]
    if step:
        held = _with("as it comes", ((s, f"{s:g} s") for s in HOLDS), asked.held, "{:g} s".format)
        picks[:0] = [
            Pick("thigh", "Free thigh in the step", _angles(THIGHS, asked.thigh)),
            Pick("held", "and held there", held),
            Pick("trunk", "Trunk at the step contact", _angles(TRUNKS, asked.trunk)),
        ]
    return picks


def _tape(out: SetOut) -> list[Pick]:
    """Where the tape's zero is held, and in what it is read."""
    run = out.drill.start == "run"
    zeros = [("board", "take-off line" if run else "start line")]
    zeros += [("start", "start mark")] if run else []
    zeros += [("pit", "pit")] if out.venue.has_pit else []
    return [
        Pick("zero", "Tape zero at the", _choices(zeros, out.asked.zero)),
        Pick("tape", "Tape in",
             _choices((("cm", "metres"), ("ft", "feet and inches")), out.asked.tape)),
    ]  # fmt: skip
