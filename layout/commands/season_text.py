"""A season told back as plain text for a small screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from layout.book.record import Aside
from layout.commands.ladder_text import care, columns, folded, noted, placed_text, reasons_text
from layout.commands.text import counted, section
from layout.rules.sources import said
from layout.season import words
from layout.season.next_phase import NextPhase
from layout.season.positions import position_rows, position_texts
from layout.season.refit import Refit
from layout.season.season import Season
from layout.season.told import Told
from layout.season.weeks import SHOWN, WeekLoad
from layout.training.ladder import Placing
from layout.training.seen import version_text
from layout.words.dates import iso
from layout.words.units import System

DRILLS: Final = 5
"""Drills told on the screen; all of them in JSON."""


def aside_text(aside: Sequence[Aside], system: System, most: int = 8) -> list[str]:
    """Attempts that were left out, and why."""
    if not aside:
        return []
    out = folded(words.aside_text(aside), "  ! ")
    for row in aside[:most]:
        said_of = f"{row.id}, {iso(row.day)}, {row.title}"
        out += folded(f"{said_of}: {words.why_text(row, system)}", "    ", "      ")
    if len(aside) > most:
        out.append(f"    and {len(aside) - most} more; --json has them all")
    return out + folded(
        "Wrong: phasemark book correct CLUB.book N --readings ..., or --strike. Right: it counts again "
        "when more attempts are like it (Phasemark's limits).", "    ",
    )  # fmt: skip


def told_text(told: Told, system: System) -> list[str]:
    """One drill: jumped against planned, phase by phase."""
    days = counted(told.days, "day")
    out = folded(f"{words.kind_text(told)}: {told.count} measured on {days}", "  ", "    ")
    rows = [tuple(words.PHASE_TITLES), *(tuple(row) for row in words.phase_rows(told, system))]
    out += ["  " + line for line in columns(rows, frozenset({1, 2, 3, 4, 5, 6}))]
    for text in filter(None, (words.step_text(told), *words.bests_text(told, system))):
        out += folded(text, "    ")
    return out


def _tolds(season: Season, system: System) -> list[str]:
    out = ["", "JUMPED AGAINST PLANNED", *folded(words.USUAL)]
    for told in season.told[:DRILLS]:
        out += ["", *told_text(told, system)]
    more = len(season.told) - DRILLS
    if more > 0:
        what = "drills or run-ups" if more > 1 else "drill or run-up"
        out += ["", f"  and {more} more {what}; --json has them all"]
    return out


def next_text(found: NextPhase, season: Season, system: System) -> list[str]:
    """Where the next centimetres are."""
    rows = words.next_rows(found, system)
    out = ["", "THE NEXT CENTIMETRES", *(columns(rows, frozenset({1, 2, 3})) if rows else ())]
    for text in words.next_texts(found, season, system):
        out += folded(text)
    return out


def refit_text(found: Refit, system: System = "cm") -> list[str]:
    """What the attempts say of the athlete's own parameters."""
    out = ["", "OWN PARAMETERS", *folded(words.refit_text(found))]
    if not found.enough:
        return out
    out += columns(words.refit_rows(found), frozenset({1, 2, 3, 4}))
    if linked := words.linked_text(found):
        out += folded(linked)
    for text in words.refit_mind(found, system):
        out += folded(text, "  ! ")
    return out + folded(words.EVIDENCE)


def spacings_text(season: Season, system: System) -> list[str]:
    """Old and new marks."""
    if not season.spacings or season.refit is None:
        return []
    enough = season.refit.enough
    new = "NEW SPACING" if enough else "SPACING"
    out = ["", f"{new}, toe to toe, in " + ("m" if system == "cm" else "feet")]
    for spacing in season.spacings:
        out += folded(words.spacing_title(spacing), "  ", "    ")
        rows = words.spacing_rows(spacing, enough, system)
        out += ["  " + line for line in columns([(f"  {when}", *more) for when, *more in rows])]
    if reached := words.reached_text(season, system):
        out += folded(reached, "  ! ")
    out += noted(season.asks)
    if not enough and season.told:
        out += folded(words.NOT_ENOUGH)
    return out + folded(words.FORECAST)


def ladder_text(placing: Placing, seen: tuple[str, ...]) -> list[str]:
    """The next rung and why."""
    rung = placing.rung
    out = ["", "THE LADDER"]
    out += folded(f"{placed_text(placing)} {rung.slug}, height {rung.height}: {rung.title}.")
    out += folded(f"Drill: {version_text(rung)}.")
    if seen:
        out += folded(f"The book saw: {'; '.join(seen)}.")
    out += reasons_text(placing)
    if placing.up is not None and placing.advice != "rest":
        out += folded(f"Then {placing.up.slug}, after: {'; '.join(placing.ask) or 'nothing more'}.")
    return out


def weeks_text(weeks: tuple[WeekLoad, ...]) -> list[str]:
    """Contacts by week, the last twelve, with what is flagged."""
    out = ["", "CONTACTS BY WEEK"]
    if not weeks:
        return [*out, "  No session yet."]
    shown = weeks[-SHOWN:]
    most = max(max(w.contacts for w in shown), 1)
    rows = [("week of", "sessions", "contacts", "of", "hardest", "")]
    for week in shown:
        bar = "#" * round(20 * week.contacts / most)
        flag = " !" if week.notes else ""
        rows.append((week.monday, f"{week.sessions}", f"{week.contacts}", f"{week.budget}",
                     f"{week.hardest}", f"{bar}{flag}" or " "))  # fmt: skip
    out += columns(rows, frozenset({1, 2, 3, 4}))
    out += folded(words.load_text(weeks))
    for week in shown:
        for note in week.notes:
            out += folded(f"{week.monday}: {note.text} [{said(note.source)}]", "  ! ")
    return out + folded(words.WEEK_KEY)


def season_text(season: Season, system: System) -> list[str]:
    """The whole season."""
    out = folded(f"{season.name}: the season to {season.on.isoformat()}", "")
    if pain := words.pain_text(season.pains):
        out += folded(f"{pain} Then: --pain-gone.", "  ! ")
    out += folded(season.standing.text)
    out += folded(words.entries_text(season))
    if season.attempts:
        out += folded(f"{words.days_text(season.days, '--kind').capitalize()}.")
        out += aside_text(season.aside, system)
    if season.told:
        out += _tolds(season, system)
    elif season.attempts:
        out += folded(words.UNMEASURED)
    if season.athlete is None:
        out += ["", "NO ATHLETE FILE TO GO BY"]
        out += folded(
            f"Spacing, ladder and parameters need one with a best or target in the book "
            f"({season.why_not}): phasemark book keep CLUB.book ATHLETE.toml"
        )
    if season.positions:
        rows = [("", "training", "competition", "difference"), *position_rows(season.positions)]
        out += ["", "POSITIONS ON PICTURES", *columns(rows)]
        for text in position_texts(season.positions):
            out += folded(text)
    if season.next_phase is not None and season.attempts:
        out += next_text(season.next_phase, season, system)
    if season.refit is not None:
        out += refit_text(season.refit, system)
        if season.refitted is None:
            out += folded(words.UNUSABLE, "  ! ")
    out += spacings_text(season, system)
    if season.placing is not None:
        out += ladder_text(season.placing, season.seen)
    elif season.no_rung:
        out += ["", "THE LADDER", *folded(season.no_rung[0].upper() + season.no_rung[1:], "  ! ")]
    out += section("IN THE BOOK, THOUGH CLOSED NOW", noted(season.closed))
    out += weeks_text(season.weeks)
    if split := words.split_text(season):
        out += ["", "BEST SPLIT", *folded(split)]
    return out + care(season.cautions)
