"""What a season says, in plain sentences and rows of figures: the same on a page and in a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final, NamedTuple

from layout.book.record import Aside, Kind
from layout.book.typed import ENTRY_KINDS
from layout.rules.cautions import UNTIL_GONE
from layout.rules.wind import blown_text
from layout.season.next_phase import LEAST, NextPhase, best_split_text
from layout.season.refit import LITTLE, TOLD, Refit
from layout.season.rung import Spacing
from layout.season.season import Season
from layout.season.told import RECENT, Best, Phase, Told, Trend
from layout.season.weeks import BEFORE, RISE, WeekLoad
from layout.words.dates import said_day
from layout.words.names import counted
from layout.words.units import INCH, System, show_length

NAMED: Final = {
    "speed": ("speed at the board, m/s", 1.0, 2),
    "up_hop": ("upward speed, hop, m/s", 1.0, 2),
    "up_step": ("upward speed, step, m/s", 1.0, 2),
    "up_jump": ("upward speed, jump, m/s", 1.0, 2),
    "slope": ("speed lost per upward speed won", 1.0, 2),
    "pull": ("pull back to the own rhythm", 1.0, 2),
    "loss_hop": ("speed lost in the hop contact, %", 100.0, 1),
    "loss_step": ("speed lost in the step contact, %", 100.0, 1),
    "loss_jump": ("speed lost in the jump contact, %", 100.0, 1),
    "tau": ("time to build up speed, s", 1.0, 2),
    "stand": ("speed from standing, m/s", 1.0, 2),
}
"""Parameters as a coach may read them, the factor they are shown by, and decimals."""
_UNIT: Final[dict[System, tuple[str, float, int]]] = {
    "cm": ("cm", 100.0, 0), "ft": ("in", 1.0 / float(INCH), 0),
}  # fmt: skip
USUAL: Final = (
    f"Usual: the middle of the last {RECENT}, misread marks set aside (Phasemark's rule). "
    "Fouls are left out."
)
UNMEASURED: Final = "Nothing of it was measured, or all were fouls: only the load is known."


def small(metres: float, system: System, sign: bool = False) -> str:
    """A difference of lengths, in whole centimetres or inches."""
    unit, factor, _ = _UNIT[system]
    plain = round(factor * metres) + 0  # never -0
    return f"{plain:{'+' if sign and plain else ''}} {unit}"


def entries_text(season: Season) -> str:
    """The days that are told, and how many entries of them: "36 entries, 2 fouls"."""
    if not season.attempts:
        return "Nothing jumped in this time yet."
    first, last = map(said_day, season.span) if season.span else ("", "")
    entries = "entry" if season.attempts == 1 else "entries"
    span = f"{first} to {last}, " if first else ""
    return f"{span}{season.attempts} {entries}, {counted(season.fouls, 'foul')}."


def pain_text(days: Sequence[str]) -> str:
    """Pain that was put down of late; nothing where none was."""
    return f"Pain was put down on {', '.join(map(said_day, days))}: {UNTIL_GONE}." if days else ""


# --- jumped against planned -----------------------------------------------------------------------


def kind_text(told: Told) -> str:
    """A drill and its run-up: "Hop and step to the sand, low hops, 6 strides"."""
    kind = told.kind
    hops = {a for m, a in zip(kind.phases, kind.arcs, strict=False) if m == "hop"}
    arc = f", {hops.pop()} hops" if len(hops) == 1 and hops != {"natural"} else ""
    return f"{kind.title}{arc}, {start_text(0 if kind.stand else kind.strides)}"


def start_text(strides: int | None) -> str:
    """A run-up by its strides, 0 from standing: "6 strides"."""
    if strides is None:
        return "strides not noted"
    return f"{strides} strides" if strides else "from standing"


def best_text(best: Best, kind: Kind, system: System) -> str:
    """A best with its phases, day and wind: what was wind-assisted is marked w."""
    text = show_length(best.total, system)
    if best.official is not None and abs(best.official - best.total) > 0.0005:
        text += f" from the toe, {show_length(best.official, system, down=True)} from the mark"
    if len(best.phases) > 1:
        text += f" ({' + '.join(show_length(p, system, 'bare') for p in best.phases)})"
    text += f" on {said_day(best.day)}"
    if best.said is not None:
        text += f", {best.said}"
    if best.wind is not None:
        return f"{text}, {blown_text(best.wind)}"
    return text + (", wind not written down" if kind.whole else "")


def bests_text(told: Told, system: System) -> list[str]:
    """The best of a drill, and the best that was not wind-assisted where that is another."""
    if told.best is None:
        return []
    out = [f"Best {best_text(told.best, told.kind, system)}."]
    if told.best != told.legal:
        legal = best_text(told.legal, told.kind, system) if told.legal else "none yet"
        out.append(f"Best that was not wind-assisted: {legal}.")
    return out


def aside_text(aside: Sequence[Aside]) -> str:
    """How many attempts were left out; nothing where none was."""
    if not aside:
        return ""
    one = len(aside) == 1
    return (
        f"{len(aside)} attempt{'s' * (not one)} look{'s' * one} wrong and {'is' if one else 'are'} left "
        "out of every figure here; the load counts them."
    )


def why_text(row: Aside, system: System) -> str:
    """Why an attempt was left out."""
    if row.why == "size":
        return "a figure that no phase can have"
    value, beside = show_length(row.value, system), show_length(row.beside, system)
    if row.why == "far":
        return f"{row.name} {value} where {beside} is usual"
    if row.why == "sum":
        return f"phases make {value}, the total is {beside}"
    return f"{row.name} {value} beside {row.other} {beside}, with too few others to bear it out"


def days_text(days: Mapping[str, int], how: str = "") -> str:
    """How many entries were in training and in competition, and of how many nobody said.

    `how`: how to say it, in brackets.
    """
    hint = f" ({how})" if how else ""
    parts = [f"{days[k]} in {k}" for k in ENTRY_KINDS if days.get(k)]
    if days.get(""):
        parts.append(f"{days['']} of which nobody said{hint}" if parts else
                     f"training or competition: nobody said{hint}")  # fmt: skip
    return ", ".join(parts)


FEW_DAYS: Final = "too few days"
NO_TREND: Final = "none clear"


def _trend(trend: Trend | None, unit: str, factor: float, digits: int) -> str:
    if trend is None:
        return FEW_DAYS
    if not trend.clear:
        return NO_TREND
    change, sure = factor * trend.change, factor * trend.sure
    return f"{change:+.{digits}f} ± {sure:.{digits}f} {unit}"


class PhaseRow(NamedTuple):
    """One phase as it is shown; "-" where there is nothing, empty where nothing could be."""

    name: str
    usual: str
    sure: str
    planned: str
    off: str
    share: str
    planned_share: str
    trend: str


PHASE_TITLES: Final = PhaseRow("", "usual", "", "plan", "off", "share %", "plan %", "in four weeks")


def _phase_row(phase: Phase, system: System) -> PhaseRow:
    planned = "-" if phase.planned is None else show_length(phase.planned, system, "bare")
    off = "-" if phase.off is None else small(phase.off, system, True)
    shares = "-" if phase.share is None else f"{100 * phase.share:.1f}"
    wanted = "-" if phase.planned_share is None else f"{100 * phase.planned_share:.1f}"
    if phase.name == "total":
        shares, wanted = "", ""
    usual = show_length(phase.usual, system, "bare")
    return PhaseRow(phase.name, usual, f"± {small(phase.sure, system)}", planned, off, shares, wanted,
                    _trend(phase.trend, *_UNIT[system]))  # fmt: skip


def phase_rows(told: Told, system: System) -> list[PhaseRow]:
    """Each phase of a drill, and the total where there are several."""
    shown = [*told.phases, *([told.total] if told.total and len(told.kind.phases) > 1 else [])]
    return [_phase_row(p, system) for p in shown]


def trends_text(told: Told, system: System) -> str:
    """What changed clearly in four weeks, phase by phase, and what did not."""
    rows = phase_rows(told, system)
    clear = [f"{r.name} {r.trend}" for r in rows if r.trend not in (NO_TREND, FEW_DAYS)]
    if clear:
        return f"In four weeks: {', '.join(clear)}; else no clear change."
    if all(r.trend == FEW_DAYS for r in rows):
        return "In four weeks: too few days to tell."
    return "In four weeks: no clear change."


def step_text(told: Told) -> str:
    """The step's share of whole jumps and its trend; nothing for other drills."""
    if not told.kind.whole or len(told.phases) != 3 or told.phases[1].share is None:
        return ""
    share, trend = 100 * told.phases[1].share, told.step_trend
    moves = f", {_trend(trend, 'points in four weeks', 100.0, 1)}" if trend else ""
    moves = ", no clear trend" if trend and not trend.clear else moves
    return (
        f"The step is {share:.1f} % of the whole{moves}; about 30 % is common practice, no source."
    )


# --- the next centimetres -------------------------------------------------------------------------


def next_rows(found: NextPhase, system: System) -> list[tuple[str, ...]]:
    """What each phase has to give, under its titles; nothing where it is not known."""
    if not found.rooms:
        return []
    rows: list[tuple[str, ...]] = [("", "better day", "costs after it", "left", "comes first")]
    for room in found.rooms:
        figures = [small(d, system, True) for d in (room.better, room.cost, room.net)]
        figures[2] += f" ± {small(room.sure, system)}"
        rows.append((room.name, *figures, f"{100 * room.first:.0f} %"))
    return rows


def next_texts(found: NextPhase, season: Season, system: System) -> list[str]:
    """Where the next centimetres are, and how that is meant."""
    furthest = _furthest(season, system)
    if not found.rooms:
        text = (
            f"Not known yet: {LEAST} whole jumps with all three phases measured are needed "
            f"(Phasemark's rule); {found.count} so far."
        )
        return [f"{text} {furthest}".rstrip()]
    if found.room is not None:
        room = found.room
        left = "all" if room.worth > 0.99 else small(room.net, system)
        text = (
            f"Look to the {room.name} first: on a better day it is "
            f"{small(room.better, system)} longer, and {left} of that is left at the end."
        )
    else:
        text = "The phases cannot be told apart yet: work on what is furthest off the plan."
    start = f"at {found.strides} strides" if found.strides else "from the full approach"
    return [
        f"{text} {furthest}".rstrip(),
        f"From the last {found.count} whole jumps {start}: a better day is the phase "
        "that four of five fall short of; the cost is what the carry line takes from the phases after "
        "it. Ours; it says where there is room, not that it will come.",
    ]


def _furthest(season: Season, system: System) -> str:
    found = season.furthest
    if found is None:
        return ""
    against, worst = f"Against the plan ({kind_text(found[0])})", found[1]
    if worst is None or worst.off is None:
        return f"{against} no phase is clearly short."
    return f"{against} the {worst.name} is furthest short, by {small(-worst.off, system)}."


# --- own figures ----------------------------------------------------------------------------------


def refit_text(found: Refit) -> str:
    """What the figures were fitted to, or what is still needed."""
    have = ", ".join(f"{n} from {s} strides" if s else f"{n} from standing" for s, n in found.have)
    if not found.enough:
        return (
            f"Defaults are kept. Needed before a refit (Phasemark's rule): {'; '.join(found.lacking)}. "
            f"So far: {have or 'none'}."
        )
    timed = f", {found.timed} timed runs" if found.timed else ", no timed run"
    return f"Refitted to {have}{timed}; {100 * found.blunders:.0f} % set aside as misread."


def refit_rows(found: Refit) -> list[tuple[str, ...]]:
    """Each figure, default and own with their margins, and the evidence, under their titles."""
    rows: list[tuple[str, ...]] = [("", "default", "", "own", "", "evidence")]
    for p in found.parameters:
        label, factor, digits = NAMED[p.name]
        prior, value, was, now = (
            f"{factor * v:.{digits}f}" for v in (p.prior, p.value, p.prior_sure, p.sure)
        )
        evidence = p.evidence if p.moved else "none: default kept"
        if p.name == "speed" and not p.moved and not found.timed:
            evidence = "none: needs a timed run"
        rows.append((label, prior, f"± {was}", value if p.moved else "=", f"± {now}" if p.moved else "",
                     evidence))  # fmt: skip
    return rows


def linked_text(found: Refit) -> str:
    """Figures of which only a mixture is told; nothing where each is told by itself."""
    pairs = "; ".join(f"{_short(a)} and {_short(b)}" for a, b in found.linked[:3])
    return f"Known only together: {pairs}." if pairs else ""


def refit_mind(found: Refit, system: System) -> list[str]:
    """What does not fit."""
    out = []
    if found.stretch > 1.0:
        out.append(
            f"The drills lie {found.stretch:.1f} times as far from one line as supposed (were some not "
            "jumped in full?); the margins of error are widened by that."
        )
    for misfit in found.misfits[:3]:
        side = "longer" if misfit.off > 0 else "shorter"
        out.append(
            f"{misfit.title}, {misfit.strides} strides: the {misfit.name} is "
            f"{small(abs(misfit.off), system)} {side} than the athlete's own line says."
        )
    return out


EVIDENCE: Final = (
    f"Evidence is good where the attempts narrow the margin by {100 * TOLD:.0f} % or more, weak from "
    f"{100 * LITTLE:.0f} % (Phasemark's own limits). ± is one standard deviation. Marks alone trade "
    "speed for height; only timed runs tell the two apart. No wind is taken off."
)
UNUSABLE: Final = (
    "With these figures the athlete file's totals cannot be made: look at best, target and speed "
    "there."
)


def _short(name: str) -> str:
    return NAMED[name][0].rpartition(", ")[0] or NAMED[name][0]


# --- new marks ------------------------------------------------------------------------------------

FORECAST: Final = (
    "For the target in the athlete file. A forecast: move a mark when the athlete says so."
)


def spacing_title(spacing: Spacing) -> str:
    """A drill and its strides, and whether it is the next rung's."""
    title = f"{spacing.title}, {spacing.strides} strides" if spacing.strides else spacing.title
    return f"{'next rung: ' if spacing.next else ''}{title}"


def spacing_rows(spacing: Spacing, enough: bool, system: System) -> list[tuple[str, str, str]]:
    """When, start mark and phases: as it is now and, where there was enough, refitted."""

    def row(when: str, back: float, lengths: Iterable[float]) -> tuple[str, str, str]:
        start = f"start {show_length(back, system, 'bare')}" if spacing.strides else ""
        return when, start, " + ".join(show_length(d, system, "bare") for d in lengths)

    now = row("now", spacing.start_before, spacing.before)
    return [now, row("refitted", spacing.start_after, spacing.after)] if enough else [now]


def reached_text(season: Season, system: System) -> str:
    """That the target was reached; nothing where it was not."""
    if season.reached is None:
        return ""
    best, target = season.reached
    return (
        f"The book's best, {show_length(best, system)}, has reached the target of "
        f"{show_length(target, system)} these marks are for: set a new one."
    )


NOT_ENOUGH: Final = "Until there is enough for a refit, set out what is usual, as told above."


def split_text(season: Season) -> str:
    """The best split beside the usual one; empty where nothing was jumped."""
    if season.split is None or not season.attempts:
        return ""
    whole = any(t.kind.whole for t in season.told)
    return best_split_text(season.split) if whole else "No whole jump in the book to compare with."


# --- contacts by week -----------------------------------------------------------------------------


def load_text(weeks: Sequence[WeekLoad]) -> str:
    """Contacts and sessions since the first week."""
    total, sessions = sum(w.contacts for w in weeks), sum(w.sessions for w in weeks)
    over = f"{counted(sessions, 'session')}, {counted(len(weeks), 'week')}"
    return f"Since {said_day(weeks[0].monday)}: {counted(total, 'contact')} in {over}."


WEEK_KEY: Final = (
    "Of: the most a week may hold, for level and age. !: over that or over the most of a session, days "
    f"in a row, or over {RISE:g} times the mean of the {BEFORE} weeks before, empty weeks as zero "
    "(Phasemark's limits). Only what was written down is counted."
)
