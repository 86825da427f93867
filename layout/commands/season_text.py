"""A season told back as plain text for a small screen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from layout.book.record import Aside, Kind
from layout.book.typed import ENTRY_KINDS
from layout.commands.ladder_text import MOVED, care, columns, folded, noted, version_text
from layout.commands.text import counted, section
from layout.rules.sources import said
from layout.rules.wind import assisted, wind_text
from layout.season.next_phase import LEAST, NextPhase, best_split_text
from layout.season.refit import LITTLE, TOLD, Refit
from layout.season.rung import Spacing
from layout.season.season import Season
from layout.season.told import RECENT, Best, Phase, Told, Trend
from layout.season.weeks import BEFORE, RISE, WeekLoad
from layout.training.ladder import Placing
from layout.words.dates import iso
from layout.words.units import INCH, System, show_length

DRILLS: Final = 5
"""Drills told on the screen; all of them in JSON."""
WEEKS: Final = 12
"""Weeks shown on the screen; all of them in JSON."""
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


def _small(metres: float, system: System, sign: bool = False) -> str:
    """A difference of lengths, in whole centimetres or inches."""
    unit, factor, _ = _UNIT[system]
    plain = round(factor * metres) + 0  # never -0
    return f"{plain:{'+' if sign and plain else ''}} {unit}"


def kind_text(told: Told) -> str:
    """A drill and its run-up: "Hop and step to the sand, low hops, 6 strides"."""
    kind = told.kind
    hops = {a for m, a in zip(kind.phases, kind.arcs, strict=False) if m == "hop"}
    arc = f", {hops.pop()} hops" if len(hops) == 1 and hops != {"natural"} else ""
    if kind.stand:
        return f"{kind.title}{arc}, from standing"
    start = "strides not noted" if kind.strides is None else f"{kind.strides} strides"
    return f"{kind.title}{arc}, {start}"


def best_text(best: Best, kind: Kind, system: System) -> str:
    """A best with its phases, day and wind: what was wind-assisted is marked w."""
    text = show_length(best.total, system)
    if best.official is not None and abs(best.official - best.total) > 0.0005:
        text += f" from the toe, {show_length(best.official, system, down=True)} from the mark"
    if len(best.phases) > 1:
        text += f" ({' + '.join(show_length(p, system, 'bare') for p in best.phases)})"
    text += f" on {iso(best.day)}"
    if best.said is not None:
        text += f", {best.said}"
    if best.wind is not None:
        return f"{text}, wind {wind_text(best.wind)}{' (wind-assisted)' * assisted(best.wind)}"
    return text + (", wind not written down" if kind.whole else "")


def aside_text(aside: Sequence[Aside], system: System, most: int = 8) -> list[str]:
    """Attempts that were left out, and why."""
    if not aside:
        return []
    one = len(aside) == 1
    out = folded(
        f"{len(aside)} attempt{'s' * (not one)} look{'s' * one} wrong and {'is' if one else 'are'} left "
        "out of every figure here; the load counts them.", "  ! ",
    )  # fmt: skip
    for row in aside[:most]:
        said_of = f"{row.id}, {iso(row.day)}, {row.title}"
        out += folded(f"{said_of}: {_why(row, system)}", "    ", "      ")
    if len(aside) > most:
        out.append(f"    and {len(aside) - most} more; --json has them all")
    return out + folded(
        "Wrong: phasemark book correct CLUB.book N --readings ..., or --strike. Right: it counts again "
        "when more attempts are like it (Phasemark's limits).", "    ",
    )  # fmt: skip


def _why(row: Aside, system: System) -> str:
    if row.why == "size":
        return "a figure that no phase can have"
    value, beside = show_length(row.value, system), show_length(row.beside, system)
    if row.why == "far":
        return f"{row.name} {value} where {beside} is usual"
    if row.why == "sum":
        return f"phases make {value}, the total is {beside}"
    return f"{row.name} {value} beside {row.other} {beside}, with too few others to bear it out"


def days_text(days: Mapping[str, int]) -> str:
    """How many entries were in training and in competition, and of how many nobody said."""
    parts = [f"{days[k]} in {k}" for k in ENTRY_KINDS if days.get(k)]
    if days.get(""):
        parts.append(f"{days['']} of which nobody said (--kind)" if parts else
                     "training or competition: nobody said (--kind)")  # fmt: skip
    return ", ".join(parts)


def _trend(trend: Trend | None, unit: str, factor: float, digits: int) -> str:
    if trend is None:
        return "too few days"
    if not trend.clear:
        return "none clear"
    change, sure = factor * trend.change, factor * trend.sure
    return f"{change:+.{digits}f} ± {sure:.{digits}f} {unit}"


def _phase_row(phase: Phase, system: System) -> tuple[str, ...]:
    planned = "-" if phase.planned is None else show_length(phase.planned, system, "bare")
    off = "-" if phase.off is None else _small(phase.off, system, True)
    shares = "-" if phase.share is None else f"{100 * phase.share:.1f}"
    wanted = "-" if phase.planned_share is None else f"{100 * phase.planned_share:.1f}"
    if phase.name == "total":
        shares, wanted = "", ""
    usual = show_length(phase.usual, system, "bare")
    return (phase.name, usual, f"± {_small(phase.sure, system)}", planned, off, shares, wanted,
            _trend(phase.trend, *_UNIT[system]))  # fmt: skip


def told_text(told: Told, system: System) -> list[str]:
    """One drill: jumped against planned, phase by phase."""
    out = folded(
        f"{kind_text(told)}: {told.count} measured on {counted(told.days, 'day')}", "  ", "    "
    )
    head = ("", "usual", "", "plan", "off", "share %", "plan %", "in four weeks")
    shown = [*told.phases, *([told.total] if told.total and len(told.kind.phases) > 1 else [])]
    rows = [head, *(_phase_row(p, system) for p in shown)]
    out += ["  " + line for line in columns(rows, frozenset({1, 2, 3, 4, 5, 6}))]
    if told.kind.whole and len(told.phases) == 3 and told.phases[1].share is not None:
        share = 100 * told.phases[1].share
        trend = told.step_trend
        moves = f", {_trend(trend, 'points in four weeks', 100.0, 1)}" if trend else ""
        moves = ", no clear trend" if trend and not trend.clear else moves
        out += folded(
            f"The step is {share:.1f} % of the whole{moves}; about 30 % is common practice, no source.",
            "    ",
        )  # fmt: skip
    if told.best is not None:
        out += folded(f"Best {best_text(told.best, told.kind, system)}.", "    ")
        if told.best != told.legal:
            legal = best_text(told.legal, told.kind, system) if told.legal else "none yet"
            out += folded(f"Best that was not wind-assisted: {legal}.", "    ")
    return out


def _tolds(season: Season, system: System) -> list[str]:
    out = ["", "MEASURED AGAINST PLANNED"]
    out += folded(
        f"Usual: the middle of the last {RECENT}, misread marks set aside (Phasemark's rule). "
        "Fouls are left out."
    )
    for told in season.told[:DRILLS]:
        out += ["", *told_text(told, system)]
    more = len(season.told) - DRILLS
    if more > 0:
        what = "drills or run-ups" if more > 1 else "drill or run-up"
        out += ["", f"  and {more} more {what}; --json has them all"]
    return out


def next_text(found: NextPhase, season: Season, system: System) -> list[str]:
    """Where the next centimetres are."""
    out = ["", "THE NEXT CENTIMETRES"]
    if not found.rooms:
        return out + folded(
            f"Not known yet: {LEAST} whole jumps with all three phases measured are needed "
            "(Phasemark's rule); "
            f"{found.count} so far. " + _furthest(season, system)
        )
    rows: list[tuple[str, ...]] = [("", "better day", "costs after it", "left", "comes first")]
    for room in found.rooms:
        figures = [_small(d, system, True) for d in (room.better, room.cost, room.net)]
        figures[2] += f" ± {_small(room.sure, system)}"
        rows.append((room.name, *figures, f"{100 * room.first:.0f} %"))
    out += columns(rows, frozenset({1, 2, 3}))
    if found.room is not None:
        room = found.room
        left = "all" if room.worth > 0.99 else _small(room.net, system)
        text = (
            f"Look to the {room.name} first: on a better day it is "
            f"{_small(room.better, system)} longer, and {left} of that is left at the end."
        )
    else:
        text = "The phases cannot be told apart yet: work on what is furthest off the plan."
    out += folded(f"{text} {_furthest(season, system)}".rstrip())
    start = f"at {found.strides} strides" if found.strides else "from the full approach"
    return out + folded(
        f"From the last {found.count} whole jumps {start}: a better day is the phase "
        "that four of five fall short of; the cost is what the carry line takes from the phases after "
        "it. Ours; it says where there is room, not that it will come."
    )


def _furthest(season: Season, system: System) -> str:
    found = season.furthest
    if found is None:
        return ""
    against, worst = f"Against the plan ({kind_text(found[0])})", found[1]
    if worst is None or worst.off is None:
        return f"{against} no phase is clearly short."
    return f"{against} the {worst.name} is furthest short, by {_small(-worst.off, system)}."


def refit_text(found: Refit, system: System = "cm") -> list[str]:
    """What the attempts say of the athlete's own parameters."""
    out = ["", "OWN PARAMETERS"]
    have = ", ".join(f"{n} from {s} strides" if s else f"{n} from standing" for s, n in found.have)
    if not found.enough:
        return out + folded(
            f"Defaults are kept. Needed before a refit (Phasemark's rule): {'; '.join(found.lacking)}. "
            f"So far: {have or 'none'}."
        )
    timed = f", {found.timed} timed runs" if found.timed else ", no timed run"
    out += folded(f"Refitted to {have}{timed}; {100 * found.blunders:.0f} % set aside as misread.")
    rows = [("", "default", "", "own", "", "evidence")]
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
    out += columns(rows, frozenset({1, 2, 3, 4}))
    if found.linked:
        pairs = "; ".join(f"{_short(a)} and {_short(b)}" for a, b in found.linked[:3])
        out += folded(f"Known only together: {pairs}.")
    if found.stretch > 1.0:
        out += folded(
            f"The drills lie {found.stretch:.1f} times as far from one line as supposed (were some not "
            "jumped in full?); the margins of error are widened by that.", "  ! ",
        )  # fmt: skip
    for misfit in found.misfits[:3]:
        side = "longer" if misfit.off > 0 else "shorter"
        out += folded(
            f"{misfit.title}, {misfit.strides} strides: the {misfit.name} is "
            f"{_small(abs(misfit.off), system)} {side} than the athlete's own line says.",
            "  ! ",
        )
    return out + folded(
        f"Evidence is good where the attempts narrow the margin by {100 * TOLD:.0f} % or more, weak from "
        f"{100 * LITTLE:.0f} % (Phasemark's own limits). ± is one standard deviation. Marks alone trade "
        "speed for height; only timed runs tell the two apart. No wind is taken off."
    )


def _short(name: str) -> str:
    return NAMED[name][0].rpartition(", ")[0] or NAMED[name][0]


def _spacing_rows(spacing: Spacing, system: System) -> Iterable[tuple[str, ...]]:
    def marks(lengths: tuple[float, ...]) -> str:
        return " + ".join(show_length(d, system, "bare") for d in lengths)

    def start(back: float) -> str:
        return f"start {show_length(back, system, 'bare')}" if spacing.strides else ""

    title = f"{spacing.title}, {spacing.strides} strides" if spacing.strides else spacing.title
    yield f"{'next rung: ' if spacing.next else ''}{title}", "", " "
    yield "  now", start(spacing.start_before), marks(spacing.before)
    yield "  refitted", start(spacing.start_after), marks(spacing.after)


def spacings_text(season: Season, system: System) -> list[str]:
    """Old and new marks."""
    if not season.spacings or season.refit is None:
        return []
    new = "NEW SPACING" if season.refit.enough else "SPACING"
    out = ["", f"{new}, toe to toe, in " + ("m" if system == "cm" else "feet")]
    for spacing in season.spacings:
        title, *rows = _spacing_rows(spacing, system)
        out += folded(title[0], "  ", "    ")
        out += ["  " + line for line in columns(rows if season.refit.enough else rows[:1])]
    if season.reached is not None:
        best, target = season.reached
        out += folded(
            f"The book's best, {show_length(best, system)}, has reached the target of "
            f"{show_length(target, system)} these marks are for: set a new one.", "  ! ",
        )  # fmt: skip
    out += noted(season.asks)
    if not season.refit.enough and season.told:
        out += folded("Until there is enough for a refit, set out what is usual, as told above.")
    return out + folded(
        "For the target in the athlete file. A forecast: move a mark when the athlete says so."
    )


def ladder_text(placing: Placing, seen: tuple[str, ...]) -> list[str]:
    """The next rung and why."""
    rung = placing.rung
    out = ["", "THE LADDER"]
    out += folded(f"{MOVED[placing.advice]} {rung.slug}, height {rung.height}: {rung.title}.")
    out += folded(f"Drill: {version_text(rung)}.")
    if seen:
        out += folded(f"The book saw: {'; '.join(seen)}.")
    out += noted(placing.reasons)
    if placing.up is not None and placing.advice != "rest":
        out += folded(f"Then {placing.up.slug}, after: {'; '.join(placing.ask) or 'nothing more'}.")
    return out


def weeks_text(weeks: tuple[WeekLoad, ...]) -> list[str]:
    """Contacts by week, the last twelve, with what is flagged."""
    out = ["", "CONTACTS BY WEEK"]
    if not weeks:
        return [*out, "  No session yet."]
    shown = weeks[-WEEKS:]
    most = max(max(w.contacts for w in shown), 1)
    rows = [("week of", "sessions", "contacts", "of", "hardest", "")]
    for week in shown:
        bar = "#" * round(20 * week.contacts / most)
        flag = " !" if week.notes else ""
        rows.append((week.monday, f"{week.sessions}", f"{week.contacts}", f"{week.budget}",
                     f"{week.hardest}", f"{bar}{flag}" or " "))  # fmt: skip
    out += columns(rows, frozenset({1, 2, 3, 4}))
    total, sessions = (sum(getattr(w, f) for w in weeks) for f in ("contacts", "sessions"))
    since = f"Since {weeks[0].monday}: {total} contacts in {sessions} sessions"
    out += folded(f"{since}, {len(weeks)} weeks.")
    for week in shown:
        for note in week.notes:
            out += folded(f"{week.monday}: {note.text} [{said(note.source)}]", "  ! ")
    return out + folded(
        "Of: the most a week may hold, for level and age. !: over that or over the most of a session, days "
        f"in a row, or over {RISE:g} times the mean of the {BEFORE} weeks before, empty weeks as zero "
        "(Phasemark's limits). Only what was written down is counted."
    )


def season_text(season: Season, system: System) -> list[str]:
    """The whole season."""
    first, last = (iso(day) for day in season.span) if season.span else ("", "")
    entries = "entry" if season.attempts == 1 else "entries"
    rows = f"{season.attempts} {entries}, {counted(season.fouls, 'foul')}"
    span = f"{first} to {last}, " if first else ""
    out = folded(f"{season.name}: the season to {season.on.isoformat()}", "")
    out += folded(season.standing.text)
    out += folded(f"{span}{rows}." if season.attempts else "Nothing jumped in this time yet.")
    if season.attempts:
        out += folded(f"{days_text(season.days).capitalize()}.")
        out += aside_text(season.aside, system)
    if season.told:
        out += _tolds(season, system)
    elif season.attempts:
        out += folded("Nothing of it was measured, or all were fouls: only the load is known.")
    if season.athlete is None:
        out += ["", "NO ATHLETE FILE TO GO BY"]
        out += folded(
            f"Spacing, ladder and parameters need one with a best or target in the book "
            f"({season.why_not}): phasemark book keep CLUB.book ATHLETE.toml"
        )
    if season.next_phase is not None and season.attempts:
        out += next_text(season.next_phase, season, system)
    if season.refit is not None:
        out += refit_text(season.refit, system)
        if season.refitted is None:
            out += folded(
                "With these figures the athlete file's totals cannot be made: look at best, target and "
                "speed there.", "  ! ",
            )  # fmt: skip
    out += spacings_text(season, system)
    if season.placing is not None:
        out += ladder_text(season.placing, season.seen)
    elif season.no_rung:
        out += ["", "THE LADDER", *folded(season.no_rung[0].upper() + season.no_rung[1:], "  ! ")]
    out += section("IN THE BOOK, THOUGH CLOSED NOW", noted(season.closed))
    out += weeks_text(season.weeks)
    if season.split is not None and season.attempts:
        whole = any(t.kind.whole for t in season.told)
        none = "No whole jump in the book to compare with."
        out += ["", "BEST SPLIT", *folded(best_split_text(season.split) if whole else none)]
    return out + care(season.cautions)
