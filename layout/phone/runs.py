"""Where a phone page takes what was jumped: a row a run, kept on the phone, sent home as lines."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from animate.film.themes import Theme
from layout.book.marks import FARTHEST, LONGEST, SHORTEST
from layout.book.message import MOST_RUNS
from layout.book.waits import SOUNDS, WENT
from layout.page.svg import escaped
from layout.plan.hurdles import flight_text
from layout.plan.tape import TapeCard, planned_reading, read_from
from layout.plan.value import Plan
from layout.rules.cautions import PAIN
from layout.words.units import System, show_length

SYSTEMS: Final[tuple[tuple[System, str], ...]] = (("cm", "metres"), ("ft", "feet and inches"))
KEYS: Final = "123<456x789>.0"
"""The keys in their order; < takes the last sign away, x is not measured, > is the next landing."""
FEET: Final = ("ft", "¼", "½", "¾")
NAMED: Final = {"<": "⌫", ">": "Next", "x": "not read"}
SPOKEN: Final = {
    "<": "Take the last sign away", ">": "Next landing", ".": "Point", "ft": "Feet",
    "¼": "a quarter", "½": "a half", "¾": "three quarters",
}  # fmt: skip


@dataclass(frozen=True)
class Sent:
    """How a page is handed out.

    look: of what is printed; the light one when left out.
    key: of the page, known to the book; without one its runs are sent as lines with the name.
    home: whether it comes from the desk and can send its runs there by itself.
    """

    look: Theme | None = None
    key: str = ""
    home: bool = False


def choice(
    name: str, title: str, rows: Iterable[tuple[str, str]], chosen: str, look: str = "speeds wrap"
) -> str:
    """One out of a few as buttons in a row; `look`: its classes."""
    labels = "".join(
        f'<label><input type="radio" name="{name}" value="{value}"'
        f"{' checked' if value == chosen else ''}><span>{escaped(text)}</span></label>"
        for value, text in rows
    )
    return f'<fieldset class="{look}"><legend>{escaped(title)}</legend>{labels}</fieldset>'


def _pads(plan: Plan, zeros: list[tuple[str, str]], system: System) -> str:
    """A field for each landing, with what is planned there in small."""
    out = []
    for flight in plan.flights:
        planned = [
            show_length(planned_reading(plan, flight.number, zero), unit)
            for zero, _ in zeros
            for unit, _ in SYSTEMS
        ]
        first = planned[system == "ft"]
        out.append(
            f"<label><span>{escaped(flight_text(plan, flight.number))} <small>{escaped(first)}</small>"
            '</span><input type="text" inputmode="none" autocomplete="off" maxlength="16" '
            f'data-planned="{escaped("|".join(planned))}"></label>'
        )
    return f'<div class="pads">{"".join(out)}</div>'


def _keys() -> str:
    def key(sign: str, more: str = "") -> str:
        spoken = f' aria-label="{SPOKEN[sign]}"' if sign in SPOKEN else ""
        tags = f'type="button"{more} data-key="{escaped(sign)}"{spoken}'
        return f"<button {tags}>{NAMED.get(sign, sign)}</button>"

    signs = "".join(key(sign) for sign in KEYS)
    feet = "".join(key(sign, ' class="feet" hidden') for sign in FEET)
    return f'<div class="keys" role="group" aria-label="Keys">{signs}{feet}</div>'


def _typed(plan: Plan, system: System) -> str:
    """The line to send where no script runs, with the plan's own figures."""
    ends = (planned_reading(plan, flight.number, "board") for flight in plan.flights)
    read = " ".join(show_length(x, system, "bare") for x in ends)
    return f"{plan.who.name} {plan.drill} {read}"


def _unscripted(plan: Plan, system: System) -> str:
    line = "the start line" if plan.contacts[0].arrive == "stand" else "the take-off line"
    return (
        '<div class="unscripted"><p>This page runs no script here, so it takes no runs. Write them on '
        "the printed sheet, or send each as a line of a message:</p>"
        f"<p><kbd>{escaped(_typed(plan, system))}</kbd></p>"
        f"<p>Name, drill, then the readings from {line}, as planned here; x for one that was not read. "
        f"Where it was so, behind them: {', '.join((*WENT[1:], *SOUNDS))}. "
        "The line says who it is of: send it to the coach alone.</p></div>"
    )


def taking_runs(plan: Plan, card: TapeCard, sent: Sent) -> str:
    """The part of the page that takes runs and brings them home."""
    zeros = read_from(plan)
    data = {
        "key": sent.key, "home": sent.home, "name": f"{plan.who.name} {plan.drill}",
        "each": [SHORTEST, LONGEST], "far": FARTHEST, "most": MOST_RUNS, "words": [*WENT[1:], *SOUNDS],
    }  # fmt: skip
    return (
        f'{_unscripted(plan, card.system)}<div class="scripted" id="runs" '
        f'data-runs="{escaped(json.dumps(data))}">'
        f'<details><summary id="how">Each phase by itself</summary>'
        f"{choice('from', 'Read', zeros, 'each')}{choice('unit', 'In', SYSTEMS, card.system)}</details>"
        f'<h3 id="which">Run 1</h3>{_pads(plan, zeros, card.system)}'
        f'<p id="wrong" class="warned" role="alert"></p>{_keys()}'
        f"{choice('went', 'The run went', [(w, w) for w in WENT], WENT[0])}"
        f"{choice('sound', 'Landing', [('', 'not said'), *((s, s) for s in SOUNDS)], '')}"
        '<p class="row"><button type="button" id="put" class="main">Put down</button></p>'
        "<p>In small, what is planned. Left empty is not measured. 2.61, 261 and 8-7 are all lengths. "
        "Stop at once on any pain.</p>"
        f'<p id="hurt" class="warned" role="alert" hidden>{escaped(PAIN)}</p>'
        '<ol id="kept" aria-label="Runs put down"></ol>'
        f'<p id="home" role="status"></p>{_away(sent)}</div>'
    )


def _away(sent: Sent) -> str:
    """Ways home by hand."""
    whose = "It names nobody." if sent.key else "It says who it is of: send it to the coach alone."
    return (
        '<div id="away" hidden><p class="row"><button type="button" id="copy">Copy the text</button>'
        '<button type="button" id="share" hidden>Share</button>'
        '<button type="button" id="save">Save as a file</button></p>'
        f'<label class="out">Text to send to the coach. {whose}'
        '<textarea id="out" readonly rows="4"></textarea></label><p id="cannot"></p></div>'
    )
