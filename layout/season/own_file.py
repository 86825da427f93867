"""A new athlete file with the athlete's own figures; the coach's own file stays as it is."""

from __future__ import annotations

import re
import tomllib
from typing import Final

from layout.athlete.athlete import Athlete, athlete_from
from layout.season.refit import Refit
from layout.words.faults import refuse

_DIGITS: Final = 3
_TABLE: Final = re.compile(r"\s*\[")
_OWN: Final = re.compile(r"""\s*\[\s*["']?calibration["']?\s*\]""")


def calibration_lines(athlete: Athlete, found: Refit, first: str, last: str) -> list[str]:
    """The [calibration] table as lines of an athlete file, each figure with its margin.

    Parameters
    ----------
    athlete : Athlete
        With what the attempts told put in.
    found : Refit
    first, last : str
        Days of the attempts.
    """
    known = athlete.calibration
    sure = {p.name: p for p in found.parameters}

    def margin(name: str) -> str:
        one = sure[name]
        if not one.moved:
            return "no evidence in the attempts"
        return f"+- {one.sure:.{_DIGITS}f}" + ("" if one.evidence == "good" else ", weak evidence")

    lines = [f"# Refitted to {found.attempts} attempts, {first} to {last}."] if found.enough else []
    lines.append("[calibration]")
    for key, name, value in (
        ("slope", "slope", known.slope), ("pull", "pull", known.pull), ("tau", "tau", known.tau),
        ("stand_speed", "stand", known.stand_speed),
    ):  # fmt: skip
        if value is not None:
            lines.append(f"{key} = {value:.{_DIGITS}f}  # {margin(name)}")
    if known.losses is not None:
        values = ", ".join(f"{v:.{_DIGITS}f}" for v in known.losses)
        three = [sure[f"loss_{move}"] for move in ("hop", "step", "jump")]
        each = ", ".join(f"{p.sure:.{_DIGITS}f}" for p in three)
        little = "" if all(p.evidence == "good" for p in three) else ", weak evidence"
        told = (
            f"+- {each}{little}" if any(p.moved for p in three) else "no evidence in the attempts"
        )
        lines.append(f"losses = [{values}]  # {told}")
    if known.run_up is not None:
        lines.append(f'run_up = "{known.run_up:.2f} m"  # as it was')
    return lines


def top_lines(before: Athlete, after: Athlete) -> list[str]:
    """Lines above the table that change: a speed that was not known, and a better best."""
    lines = []
    if after.speed is not None and after.speed != before.speed:
        was = "" if before.speed is None else f"; it was {before.speed:.2f}"
        lines.append(f"speed = {after.speed:.2f}  # usual at the full approach, timed{was}")
    if after.best is not None and after.best != before.best:
        was = "" if before.best is None else f"; it was {before.best:.2f} m"
        lines.append(f'best = "{after.best:.2f} m"  # from the book, toe to sand{was}')
    if after.jumped is not None and after.best is not None and after.jumped != before.jumped:
        phases = "/".join(f"{after.best * s:.2f}" for s in after.jumped.shares)
        lines.append(f'jumped = "{phases} m"  # from the book')
    return lines


def own_file(text: str, before: Athlete, after: Athlete, table: list[str]) -> str:
    """The coach's file with the changed lines in their places; everything else stays as it stands.

    Parameters
    ----------
    text : str
        The file as the book keeps it.
    before, after : Athlete
    table : list of str
        From `calibration_lines`.

    Raises
    ------
    BadInput
        The file is written in a way that lines cannot be put into.

    The result is read back and compared before it is given out.
    """
    changed = top_lines(before, after)
    keys = {line.partition(" =")[0] for line in changed}
    head: list[str] = []
    rest: list[str] = []
    inside, own = False, False
    for line in text.splitlines():
        if _TABLE.match(line) and not (inside and own and line.strip().startswith("[")
                                       and "=" in line):  # fmt: skip
            inside, own = True, bool(_OWN.match(line))
        if inside:
            rest += [] if own else [line]
            continue
        key = line.partition("=")[0].strip().strip("\"'")
        head += [] if key in keys else [line]
    made = "\n".join([*head, *changed, *([""] if rest else []), *rest, "", *table, ""])
    name = f"athlete file of {before.name}"
    rule = "cannot have lines put in; copy the printed lines by hand"
    try:
        got = athlete_from(tomllib.loads(made), name, made)
    except ValueError:
        raise refuse("file", rule, name) from None
    if not _same(got, after):
        raise refuse("file", rule, name)
    return made


def _same(got: Athlete, wanted: Athlete) -> bool:
    """Whether a file read back says what was wanted, to the digits that are written."""

    def near(a: float | None, b: float | None, by: float) -> bool:
        return a is b if a is None or b is None else abs(a - b) <= by

    by = 0.6 * 10.0**-_DIGITS
    one, two = got.calibration, wanted.calibration
    pairs = ((one.slope, two.slope), (one.pull, two.pull), (one.tau, two.tau),
             (one.stand_speed, two.stand_speed))  # fmt: skip
    losses = zip(one.losses or (), two.losses or (), strict=False)
    return (
        all(near(a, b, by) for a, b in (*pairs, *losses))
        and (one.losses is None) == (two.losses is None)
        and near(one.run_up, two.run_up, 0.006)
        and near(got.speed, wanted.speed, 0.006)
        and near(got.best, wanted.best, 0.006)
        and (got.name, got.stature, got.mass, got.leg) == (
            wanted.name, wanted.stature, wanted.mass, wanted.leg)
        and (got.target, got.split.shares) == (wanted.target, wanted.split.shares)
    )  # fmt: skip
