"""The entries of a season in words: days, bests, and what is left out."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence

from layout.book.record import Aside, Kind
from layout.book.typed import ENTRY_KINDS, assisted, wind_text
from layout.commands.ladder_text import folded
from layout.season.told import Best
from layout.words.units import System, show_length


def iso(ordinal: int) -> str:
    """A day as 2026-11-25."""
    return datetime.date.fromordinal(ordinal).isoformat()


def best_text(best: Best, kind: Kind, system: System) -> str:
    """A best with its phases, day and wind: what was wind-assisted is marked w."""
    text = show_length(best.total, system)
    if best.official is not None and abs(best.official - best.total) > 0.0005:
        text += f" from the toe, {show_length(best.official, system)} from the mark"
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
        out += folded(
            f"{row.id}, {iso(row.day)}, {row.title}: {_why(row, system)}", "    ", "      "
        )
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
