"""What a fit says put into the coach's own athlete file."""

from __future__ import annotations

import re
import tomllib
from typing import Final

from layout.athlete.athlete import Athlete, Calibration, athlete_from
from layout.athlete.fields import fields_of
from layout.season.refit import Refit
from layout.words.faults import refuse

_FITTED: Final = {"stand_speed": ("stand",), "losses": ("loss_hop", "loss_step", "loss_jump")}
"""What the fit calls a field."""
_TABLE: Final = re.compile(r"\s*\[")
_OWN: Final = re.compile(r"""\s*\[\s*["']?calibration["']?\s*\]""")


def calibration_lines(athlete: Athlete, found: Refit, first: str, last: str) -> list[str]:
    """The [calibration] table as lines of an athlete file, each figure with its margin.

    `athlete`: with what the attempts told put in. `first`, `last`: days of the attempts.
    """
    known = athlete.calibration
    sure = {p.name: p for p in found.parameters}

    def margin(field: str) -> str:
        if field == "margin" and found.enough:
            return "one sigma of a drill's forecast, as a share of a phase"
        names = _FITTED.get(field, (field,))
        each = [sure[name] for name in names if name in sure]
        if not each:
            return "as it was"
        if not any(p.moved for p in each):
            return "no evidence in the attempts"
        weak = "" if all(p.evidence == "good" for p in each) else ", weak evidence"
        return f"+- {', '.join(f'{p.sure:.3f}' for p in each)}{weak}"

    lines = [f"# Refitted to {found.attempts} attempts, {first} to {last}."] if found.enough else []
    values = ((f, getattr(known, f.name)) for f in fields_of(Calibration))
    return [*lines, "[calibration]", *(
        f"{f.name} = {f.kind.written(v)}  # {margin(f.name)}" for f, v in values if v is not None
    )]  # fmt: skip


def top_lines(before: Athlete, after: Athlete) -> dict[str, str]:
    """Lines above the table that change, by field: a speed that was not known, and a better best."""
    lines = {}
    if after.speed is not None and after.speed != before.speed:
        was = "" if before.speed is None else f"; it was {before.speed:.2f}"
        lines["speed"] = f"speed = {after.speed:.2f}  # usual at the full approach, timed{was}"
    if after.best is not None and after.best != before.best:
        was = "" if before.best is None else f"; it was {before.best:.2f} m"
        lines["best"] = f'best = "{after.best:.2f} m"  # from the book, toe to sand{was}'
        if before.best_behind and after.best_behind is None:
            lines["best_behind"] = (
                f"# best_behind was {100 * before.best_behind:.0f} cm of the best before"
            )
    if (
        after.best_phases is not None
        and after.best is not None
        and after.best_phases != before.best_phases
    ):
        phases = "/".join(f"{after.best * s:.2f}" for s in after.best_phases.shares)
        lines["best_phases"] = f'best_phases = "{phases} m"  # from the book'
    return lines


def own_file(text: str, before: Athlete, after: Athlete, table: list[str]) -> str:
    """The coach's file with the changed lines in their places; everything else stays as it stands.

    `table` is from `calibration_lines`. The result is read back and compared before it is given out;
    a file written in a way that lines cannot be put into is refused.
    """
    changed = top_lines(before, after)
    head: list[str] = []
    rest: list[str] = []
    inside, own = False, False
    for line in text.splitlines():
        if _TABLE.match(line) and not (own and "=" in line):
            inside, own = True, bool(_OWN.match(line))
        if inside:
            rest += [] if own else [line]
            continue
        key = line.partition("=")[0].strip().strip("\"'")
        head += [] if key in changed else [line]
    made = "\n".join([*head, *changed.values(), *([""] if rest else []), *rest, "", *table, ""])
    name = f"athlete file of {before.name}"
    rule = "cannot have lines put in; copy the printed lines by hand"
    try:
        got = athlete_from(tomllib.loads(made), name, made)
    except ValueError:
        raise refuse("file", rule, name) from None
    if not _same(got, after):
        raise refuse("file", rule, name)
    return made


def _same(got: Athlete, asked: Athlete) -> bool:
    """Whether a file read back says what was asked for, to the digits that are written."""

    def told(one: Athlete) -> list[str]:
        own = one.calibration
        values = [(f, getattr(one, f.name)) for f in fields_of(Athlete) if f.name != "best_phases"]
        values += [(f, getattr(own, f.name)) for f in fields_of(Calibration)]
        return ["" if value is None else f.kind.written(value) for f, value in values]

    return told(got) == told(asked)
