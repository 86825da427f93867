"""Tables as spreadsheets write them: commas, semicolons or tabs, decimal points or commas."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from layout.faults import BadInput, Fault
from layout.plan.roster import SEPARATORS


@dataclass(frozen=True)
class Row:
    """One row that has something in it.

    Attributes
    ----------
    line : int
        1-based.
    cells : tuple of str
        As many as the header has.
    """

    line: int
    cells: tuple[str, ...]


def separator(header: str) -> str:
    """The separator of a table from its title line: where it has a semicolon or a tab, commas are
    decimal commas."""
    return next((sign for sign in SEPARATORS if sign in header), ",")


def plain(cell: str) -> str:
    """A cell on one line: breaks and hard spaces become spaces, none around it."""
    return "".join(" " if c.isspace() else c for c in cell).strip()


def split_table(text: str, file: str = "", trim: bool = True) -> tuple[tuple[str, ...], list[Row]]:
    """Header and rows of a table.

    Parameters
    ----------
    text : str
    file : str
        For messages.
    trim : bool
        Make every cell one line, without spaces around it.

    Returns
    -------
    header : tuple of str
    rows : list of Row
        Those with something in them.

    Raises
    ------
    BadInput
        No header, a quote left open, a row longer than the header.
    """
    lines = text.removeprefix("\ufeff")
    first = next((line for line in lines.splitlines() if line.strip()), "")
    told = first.strip().lower()
    sign = told[4] if len(told) == 5 and told[:4] == "sep=" else separator(first)
    header: tuple[str, ...] | None = None
    rows: list[Row] = []
    faults: list[Fault] = []
    for line, cells in _walk(lines, sign, file):
        if trim:
            cells = [plain(c) for c in cells]
        if not any(cells) or (header is None and "".join(cells).lower() == "sep="):
            continue
        if header is None:
            header = tuple(cells)
            continue
        if any(cells[len(header) :]):
            rule = f"at most the header's {len(header)} columns wanted"
            faults.append(Fault("row", rule, len(cells), file, line))
            continue
        filled = [*cells, *[""] * (len(header) - len(cells))][: len(header)]
        rows.append(Row(line, tuple(filled)))
    if faults:
        raise BadInput(faults[:20])
    if header is None:
        raise BadInput([Fault("table", "a first line with names of columns wanted", None, file)])
    return header, rows


def _walk(text: str, sign: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Rows with the line each begins on."""
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise BadInput([Fault("table", "plain text wanted", None, file, line)])
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign, strict=True)
    line = 0
    try:
        for cells in reader:
            begun, line = line + 1, reader.line_num
            yield begun, cells
    except csv.Error as error:
        rule = f"cannot be read as a table ({error})"
        raise BadInput([Fault("table", rule, None, file, line + 1)]) from None
