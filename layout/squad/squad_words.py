"""A squad's set-out in words, for its drawing: sets, warnings and what is left to the tape card."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from layout.squad.laid import LaidSet, SetOut
from layout.squad.set_signs import sign_name
from layout.squad.setout_notes import GROUND
from layout.words.feet import as_read
from layout.words.units import show_length

MOST_ROWS: Final = (24, 16, 10, 6)
"""Sets that get a row on the page, as many as fit; the rest is left to the card, and said so."""
MOST_NAMES: Final = 10
MOST_NOTES: Final = 6
FIRST: Final = ("despite", "no-marks", "over", "assumed")
"""Codes of notes that are never left to the card: for whom the drill is closed, and who decided to go
on; more sets than asked for; what was taken instead of known."""


def drawn_sets(laid: SetOut, most: int = MOST_ROWS[0]) -> dict[str, int]:
    """The sets that get a row, and the number of each one's sign: shared ones come first."""
    return {s.label: i for i, s in enumerate(laid.sets[:most])}


def _some(names: Sequence[str], most: int = MOST_NAMES) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def set_text(laid: SetOut, item: LaidSet, most: int = MOST_NAMES) -> str:
    """One set in words: its phases, who uses it, and who is off by most."""
    phases = " + ".join(show_length(x, laid.system).removesuffix(" m") for x in item.lengths)
    legs = {a.leg for a in item.athletes}
    names = [
        a.name + (" (left)" if len(legs) > 1 and a.leg == "left" else "") for a in item.athletes
    ]
    out = f"{phases}; {_some(names, most)}"
    if not item.shared:
        return out + ("; own marks, over the tolerance" if item.athletes[0].over else "; own marks")
    who, i = max(
        ((a, i) for a in item.athletes for i in range(len(laid.phases))),
        key=lambda pair: abs(pair[0].off[pair[1]]),
    )
    by = as_read(f"{100 * abs(who.off[i]):.0f} cm", laid.system)
    return out + f"; most off: {who.name}, {laid.phases[i]} by {by}"


def set_list(laid: SetOut, signs: dict[str, int]) -> list[tuple[str, bool]]:
    """The sets drawn, each in words."""
    out = []
    for item in laid.sets:
        if item.label in signs:
            kind = sign_name(signs[item.label])
            out.append((f"{item.label} ({kind}): {set_text(laid, item)}", False))
    return out


def footnotes(laid: SetOut, signs: dict[str, int]) -> list[tuple[str, bool]]:
    """Warnings first, then cautions; what is left to the card is counted."""
    first = [n for n in laid.notes if n.code in FIRST]
    ground = [n for n in laid.notes if n.code in GROUND and n not in first]
    own = [n for n in laid.notes if n.code not in GROUND and n.grave]
    shown = [*first, *ground[:MOST_NOTES], *own[: max(MOST_NOTES - len(ground), 2)]]
    out = [(_short(n.text), n.grave) for n in shown]
    left = len(first) + len(ground) + len(own) - len(shown)
    if left:
        more = "1 more warning is" if left == 1 else f"{left} more warnings are"
        out.append((f"{more} on the tape card.", True))
    rest = [s for s in laid.sets if s.label not in signs]
    if rest:
        count = sum(len(s.athletes) for s in rest)
        sets = f"{len(rest)} set{'s' if len(rest) > 1 else ''}"
        who = f"{count} athlete{'s' if count > 1 else ''}"
        out.append((f"Not drawn, on the card only: {sets} of {who}.", True))
    out += [(_short(c), False) for c in laid.cautions]
    return [(as_read(text, laid.system), grave) for text, grave in out]


def _short(text: str) -> str:
    """A text whose list of names is cut to what a page holds."""
    head, colon, tail = text.partition(": ")
    if colon and head.count(", ") >= MOST_NAMES:
        return f"{_some(head.split(', '))}: {tail}"
    start, bracket, names = text.rpartition(" (")
    if bracket and names.count(", ") >= MOST_NAMES:
        return f"{start} ({_some(names.removesuffix(')').split(', '))})"
    return text
