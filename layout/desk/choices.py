"""What a coach may change on Set out: by what this drill, venue and athlete have."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from layout.desk.pages import UNITS
from layout.desk.setout import SetOut
from layout.moving.clip import has_step_contact
from layout.plan.drill import HURDLE_HEIGHTS
from layout.words.feet import as_read
from layout.words.trade import ARC_WORDS
from layout.words.units import System, show_length

if TYPE_CHECKING:
    from layout.desk.where import Usual
    from layout.plan.venue import Venue

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


class Pick(NamedTuple):
    """One question: its part of the address, its title, what may be chosen as the address and a reader have
    it, and what is chosen; `note` is said under it."""

    name: str
    title: str
    choices: list[tuple[str, str]]
    now: str
    note: str = ""


def pick(name: str, title: str, rows: Iterable[tuple[Any, str]], now: Any) -> Pick:
    """A question over values and their texts; None is what the drill or the body has."""
    return Pick(name, title, [(_said(v), text) for v, text in rows], _said(now))


def in_cm(metres: float, system: System) -> str:
    """A length as a choice has it, in whole centimetres or in inches."""
    return as_read(f"{100 * metres:.0f} cm", system)


def line_at(metres: float, system: System) -> str:
    """How far a take-off line is, as a choice has it."""
    return show_length(metres, "ft") if system == "ft" else f"{metres:g} m"


def _said(value: Any) -> str:
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


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
        return any(pick.now for pick in self.positions)


def _strides(out: SetOut) -> tuple[int, int, int] | None:
    """Strides: least, most, and as they are now; None from standing."""
    if out.drill.start != "run":
        return None
    most = out.athlete.strides
    usual = most if out.drill.full else min(out.drill.strides, most)
    now = out.plan.approach.strides if out.plan is not None else out.asked.strides or usual
    return 1, most, min(max(now, 1), most)


def _with(
    usual: str, rows: Iterable[tuple[float, str]], now: float | None, text: Callable[[float], str]
) -> list[tuple[float | None, str]]:
    """Numbers to choose from behind what is usual; one asked for in the address stands among them."""
    known = dict(rows)
    if now is not None:
        known.setdefault(now, text(now))
    return [(None, usual), *sorted(known.items())]


def where(places: Iterable[Venue], now: str, start: Usual) -> Pick:
    """Which venue, and why the desk starts from this one."""
    rows = [(v.slug, v.title) for v in places]
    return Pick("v", "Where", rows, now, start.why if now == start.slug else "")


def controls(out: SetOut, start: Usual) -> Controls:
    """What may be changed here; `start` is the venue where none is named."""
    asked, drill = out.asked, out.drill
    step = has_step_contact(out.plan) if out.plan is not None else "step" in drill.moves

    def cm(metres: float) -> str:
        return in_cm(metres, asked.tape)

    def line(metres: float) -> str:
        return line_at(metres, asked.tape)

    hops = [(None, "as the drill"), *((word, word) for word in ARC_WORDS)]
    gaps = _with("as it comes", ((g, cm(g)) for g in KNEE_GAPS), asked.gap, cm)
    boards = _with("as it fits", ((b, line(b)) for b in out.venue.boards), asked.board, line)
    heights = (h / 100 for h in HURDLE_HEIGHTS)
    hurdles = _with("as the drill", ((h, cm(h)) for h in heights), asked.hurdle, cm)
    first = [
        pick("hops", "Hop height", hops if "hop" in drill.moves else [], asked.hops),
        pick("gap", "Knee gap at the step contact", gaps if step else [], asked.gap),
        _angle("lever", "Lever: the free knee there", LEVERS if step else [], asked.lever),
    ]
    places = [
        pick("board", "Take-off line to the pit",
             boards if drill.ends == "sand" and out.venue.boards else [], asked.board),
        pick("hurdle", "Hurdles", hurdles if drill.hurdle else [], asked.hurdle),
        where(out.places, asked.v, start),
    ]  # fmt: skip
    return Controls(
        _strides(out), _there(first), _there(_positions(out, step)), _tape(out), _there(places)
    )


def _there(picks: list[Pick]) -> list[Pick]:
    return [pick for pick in picks if pick.choices]


def _angle(name: str, title: str, rows: Sequence[tuple[float, str]], now: float | None) -> Pick:
    return pick(name, title, _with("as it comes", rows, now, "{:g}°".format) if rows else [], now)


def _positions(out: SetOut, step: bool) -> list[Pick]:
    """Thigh and trunk at the step contact, and the arms."""
    asked = out.asked
    arms = [(None, "alternate"), ("together", "together")]
    now = None if asked.arms == "alternate" else asked.arms
    picks = [pick("arms", "Arms", arms, now)]
    if step:
        held = _with("as it comes", ((s, f"{s:g} s") for s in HOLDS), asked.held, "{:g} s".format)
        picks[:0] = [
            _angle("thigh", "Free thigh in the step", THIGHS, asked.thigh),
            pick("held", "and held there", held, asked.held),
            _angle("trunk", "Trunk at the step contact", TRUNKS, asked.trunk),
        ]
    return picks


def _tape(out: SetOut) -> list[Pick]:
    """Where the tape's zero is held, and in what it is read."""
    run = out.drill.start == "run"
    zeros = [("board", "take-off line" if run else "start line")]
    zeros += [("start", "start mark")] if run else []
    zeros += [("pit", "pit")] if out.venue.has_pit else []
    return [
        pick("zero", "Tape zero at the", zeros, out.asked.zero),
        pick("tape", "Tape in", UNITS, out.asked.tape),
    ]  # fmt: skip
