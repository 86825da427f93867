"""The cells of a table that a coach keeps as text: any separator, any usual encoding, every line.

Each line is read by itself, so that one bad line never swallows those after it.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from layout.faults import BadInput, Fault
from layout.plan.roster import SEPARATORS, decoded
from layout.reading import LARGEST_FILE, nearest

_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_TOLD: Final = frozenset(f"sep={s}".strip() for s in SEPARATORS)
_BREAK: Final = re.compile(r"\r\n|\r|\n")


@dataclass(frozen=True)
class Row:
    """One line of a table.

    Attributes
    ----------
    line : int
        In the file, 1-based.
    cells : mapping of str to str
        Stripped text by column; an empty text where the line has none.
    """

    line: int
    cells: Mapping[str, str]


def read_table(path: Path) -> str:
    """The text of a table, refusing what is not there, empty, too large or no text.

    Raises
    ------
    BadInput
        With the file named.
    """
    try:
        data = path.read_bytes() if path.stat().st_size <= LARGEST_FILE else None
    except (OSError, ValueError) as error:
        rule = f"cannot be read ({getattr(error, 'strerror', None) or error})"
        raise BadInput([Fault("file", rule, None, str(path))]) from None
    rule, text = "at most 2 MB wanted", ""
    if data is not None:
        try:
            text = decoded(data)[0].removeprefix("\ufeff")
            rule = "" if text.strip() else "is empty"
        except ValueError:
            rule = "text in UTF-8, UTF-16 or Windows-1252 wanted"
    if rule:
        raise BadInput([Fault("file", rule, None, str(path))])
    return text


def number_in(text: str) -> float | None:
    """A number written with a point or a comma, or None; never a thousands sign.

    >>> number_in("312,5"), number_in(" -3.0 "), number_in("1.234,5"), number_in("nan")
    (312.5, -3.0, None, None)
    """
    bare = text.strip().replace("\u2212", "-")
    if not _NUMBER.fullmatch(bare):
        return None
    return float(bare.replace(",", "."))


def rows_of(
    text: str, columns: Sequence[str], needed: Sequence[str], file: str, faults: list[Fault]
) -> list[Row]:
    """The lines of a table under a heading line, in any order of columns.

    Empty lines and lines that begin with # are passed over; anything else is either a row or a
    fault.

    Parameters
    ----------
    text : str
        The whole file.
    columns, needed : sequence of str
        Names of columns known, and those that must be there.
    file : str
        Its name, for faults.
    faults : list of Fault
        Faults found are added here.

    Returns
    -------
    list of Row
        Empty where the heading cannot be used.
    """
    heading: list[str] | None = None
    separator = ","
    out: list[Row] = []
    for line, raw in enumerate(_BREAK.split(text), 1):
        if not raw.strip(" \t;,") or raw.lstrip().startswith("#"):
            continue
        if heading is None:
            if raw.strip().lower() in _TOLD:  # spreadsheets write it; the heading says it too
                continue
            # Where the heading has a semicolon or a tab, commas are decimal commas.
            separator = next((s for s in SEPARATORS if s in raw), ",")
        try:
            cells = [c.strip() for c in next(csv.reader([raw], delimiter=separator, strict=True))]
        except csv.Error as error:
            faults.append(Fault("line", f"cannot be split into cells ({error})", raw, file, line))
            if heading is None:
                return []
            continue
        if heading is None:
            heading = [c.lower() for c in cells]
            while heading and not heading[-1]:
                heading.pop()
            if not _heading_fits(heading, columns, needed, file, line, faults):
                return []
            continue
        if len(cells) > len(heading) and any(cells[len(heading) :]):
            hint = "" if separator != "," else "; with decimal commas put ; between cells"
            rule = f"at most {len(heading)} cells wanted, as in the heading{hint}"
            faults.append(Fault("line", rule, raw, file, line))
            continue
        full = dict.fromkeys(columns, "")
        full.update(zip(heading, cells, strict=False))
        out.append(Row(line, full))
    if heading is None:
        faults.append(Fault("heading", f"columns {', '.join(columns)} wanted", None, file))
    return out


def _heading_fits(
    heading: list[str],
    columns: Sequence[str],
    needed: Sequence[str],
    file: str,
    line: int,
    faults: list[Fault],
) -> bool:
    before = len(faults)
    for i, name in enumerate(heading):
        if name not in columns:
            rule = f"columns {', '.join(columns)} wanted{nearest(name, columns)}"
            faults.append(Fault("heading", rule, name, file, line))
        elif name in heading[:i]:
            faults.append(Fault("heading", "each column once wanted", name, file, line))
    for name in needed:
        if name not in heading:
            rule = f"column {name} is missing; {', '.join(needed)} wanted"
            faults.append(Fault("heading", rule, None, file, line))
    return len(faults) == before
