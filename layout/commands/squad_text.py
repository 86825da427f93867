"""A squad's set-out as plain text: sets, misfits, the one tape card, start marks, warnings."""

from __future__ import annotations

from layout.commands.text import columns, folded, listed, noted, section
from layout.squad.laid import LaidSet, SetOut
from layout.squad.squad_words import (
    FIRST,
    YOUNG,
    drawn_sets,
    near_text,
    off_text,
    sign_name,
    starts,
    sure_text,
)
from layout.words.feet import as_read
from layout.words.units import show_length


def _set_lines(laid: SetOut, item: LaidSet, sign: str) -> list[str]:
    phases = ", ".join(
        f"{move} {show_length(x, laid.system)}".replace(" ", "\u00a0")
        for move, x in zip(laid.phases, item.lengths, strict=True)
    )
    kind = "shared" if item.shared else "own marks"
    lane = f", lane {item.lane}" if laid.lanes > 1 else ""
    out = folded(f"{item.label} ({kind}{lane}{sign}): {phases}", "  ", "      ")
    rows = []
    for who in item.athletes:
        tail = "  ".join(off_text(who, laid.system)) if item.shared else "0"
        tail = "over the tolerance: own marks" if who.over else tail
        rows.append((f"  {who.name}", f"{who.leg}-legged", f"counts as {who.age}", tail))
    return out + columns(rows)


def _station_lines(laid: SetOut) -> list[str]:
    out: list[str] = []
    for lane in sorted({s.lane for s in laid.stations}):
        if laid.lanes > 1:
            out += ["", f"  Lane {lane}"]
        rows = [("reading", "", "gap", "what goes there")]
        rows += [(s.shown, s.side, s.gap, s.what) for s in laid.stations if s.lane == lane]
        out += columns(rows, frozenset({0, 2}))
    return out


def _start_lines(laid: SetOut) -> list[str]:
    found = starts(laid)
    if not found:
        return []
    rows = [("back", "strides", "set", "who")]
    rows += [(back, str(n), label, ", ".join(who)) for back, n, label, who in found]
    return ["", "START MARKS, back from the athlete's own take-off line",
            *columns(rows, frozenset({0, 1}))]  # fmt: skip


def squad_text(laid: SetOut, wanted: int | None = None) -> list[str]:
    """A whole set-out as text; `wanted` sets were asked for."""
    out = [f"Squad of {laid.athletes}: {laid.title}", *folded(f"{laid.venue}. {laid.date}.")]
    # Who gets no marks, who decided to go on, more sets than asked for: before anything is laid.
    first = [n for n in laid.notes if n.grave and n.code in FIRST]
    out += ["", *noted(first, "", system=laid.system)] if first else []
    out += ["", "SETS, phase lengths mark to mark; then each athlete: marks less own phases"]
    out += folded(as_read(sure_text(laid, wanted), laid.system))
    young = [a.name for s in laid.sets for a in s.athletes if a.young]
    if young:
        out += folded(f"{YOUNG}: {', '.join(young)}.")
    signs = drawn_sets(laid)
    for item in laid.sets:
        sign = f", {sign_name(signs[item.label])}" if item.label in signs else ""
        out += _set_lines(laid, item, sign)
    out += ["", f"TAPE CARD, zero at the {laid.zero}, walk away from it"]
    out += folded(near_text(laid))
    out += _station_lines(laid)
    out += _start_lines(laid)
    grave = [n for n in laid.notes if n.grave and n not in first]
    out += section("WARNINGS", noted(grave, system=laid.system))
    taken = [n for n in laid.notes if not n.grave]
    out += section("TAKEN, NOT KNOWN", noted(taken, system=laid.system))
    out += listed("DOSE", laid.doses, laid.system)
    return out + listed("TAKE CARE", laid.cautions, laid.system)


def card_bytes(laid: SetOut, wanted: int | None = None) -> bytes:
    """The text as a file."""
    return ("\n".join(squad_text(laid, wanted)) + "\n").encode()
