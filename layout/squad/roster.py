"""A squad: athletes from one table (CSV) or from a folder of athlete files.

A table's columns are the fields of an athlete file, checked by the same rules; one column more,
`weight`, says how much an athlete counts when marks are shared. A broken athlete is left out and
told; only a file that cannot be read as a table refuses the squad.
"""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, TypeVar

from layout.athlete.athlete import FIELDS, Athlete, athlete_from, read_athlete
from layout.athlete.fields import toml_line, typed_number
from layout.words.faults import BadInput, Fault
from layout.words.names import safe_name
from layout.words.reading import is_folder, number
from layout.words.table import named_rows, read_table

NEEDED: Final = tuple(name for name, field in FIELDS.items() if field.needed)
COLUMNS: Final = (*FIELDS, "weight")
WEIGHTS: Final = (0.01, 100.0)  # How much one athlete may count beside another (ours)
MOST_MEMBERS: Final = 5000  # Athletes of one squad
_Row = TypeVar("_Row")
_TOO_MANY: Final = f"at most {MOST_MEMBERS} athletes allowed"


@dataclass(frozen=True)
class Member:
    """One athlete of a squad, how much they count, and where they came from."""

    athlete: Athlete
    weight: float = 1.0
    file: str = ""
    line: int = 0  # In a table, 1-based; 0 for an athlete file
    text: str = ""  # What a row says, as an athlete file (TOML); empty for an athlete file


@dataclass(frozen=True)
class Squad:
    """The athletes that could be read, and every fault of those that could not."""

    members: tuple[Member, ...]
    faults: tuple[Fault, ...] = ()
    encoding: str = ""  # Of a table, as read; empty for a folder


def _row(cells: Mapping[str, str], columns: Sequence[str], file: str, line: int) -> Member:
    """One athlete from one line; faults with the line and the columns."""
    table: dict[str, Any] = {}
    own: dict[str, Any] = {}
    for column in columns:
        text = cells[column]
        if not text:
            continue
        value = FIELDS[column].kind.typed(text) if column in FIELDS else typed_number(text)
        (own if column.startswith("calibration.") else table)[column.rpartition(".")[2]] = value
    if own:
        table["calibration"] = own
    faults: list[Fault] = []
    member = None
    weight = table.pop("weight", 1.0)
    try:
        member = Member(athlete_from(table), 1.0, file, line, _told(table))
    except BadInput as error:
        faults += error.faults
    try:
        weight = number("weight", weight, *WEIGHTS)
    except BadInput as error:
        faults = [*error.faults, *faults]
    if faults or member is None:
        raise BadInput(_placed(f, columns, file, line) for f in faults)
    return replace(member, weight=weight)


def _told(table: Mapping[str, Any]) -> str:
    """A table of an athlete as the text of a file."""
    own = table.get("calibration", {})
    top = [toml_line(name, value) for name, value in table.items() if name != "calibration"]
    below = ["[calibration]", *(toml_line(name, value) for name, value in own.items())]
    return "\n".join(top + (below if own else [])) + "\n"


def _placed(fault: Fault, columns: Sequence[str], file: str, line: int) -> Fault:
    """A fault of a field as one of a column."""
    field = fault.field
    near = next((c for c in (field, f"calibration.{field}") if c in columns), "")
    where = f"column {columns.index(near) + 1} ({near})" if near else field
    return replace(fault, field=where, file=file, line=line)


def _squad(
    rows: Sequence[_Row], member: Callable[[_Row], Member], faults: list[Fault], column: str
) -> Squad:
    """The members whose rows can be read and whose name is not another's before them."""
    seen: dict[str, Member] = {}
    twice: list[Fault] = []
    for row in rows:
        try:
            made = member(row)
        except BadInput as error:
            faults += error.faults
            continue
        name = made.athlete.name
        # What two names share that would meet in one file name.
        first = seen.setdefault(unicodedata.normalize("NFC", safe_name(name)).casefold(), made)
        if first is not made:
            at = f"line {first.line}" if first.line else first.file
            rule = f"must be a name of its own, this one is in {at} already"
            twice.append(Fault(column, rule, name, made.file, made.line))
    return Squad(tuple(seen.values()), (*faults, *twice))


def squad_from(text: str, file: str = "", encoding: str = "utf-8") -> Squad:
    """A squad from the text of a table.

    A line of titles and one line an athlete; cells missing at a line's end count as empty.
    Raises BadInput: the titles cannot be used, or no line below them.
    """
    faults: list[Fault] = []
    columns, rows = named_rows(text, COLUMNS, NEEDED, file, faults, short=False)
    if not columns:
        raise BadInput(faults)
    if len(rows) > MOST_MEMBERS:
        raise BadInput([Fault("file", _TOO_MANY, len(rows), file)])
    column = f"column {columns.index('name') + 1} (name)"
    squad = _squad(rows, lambda row: _row(row.cells, columns, file, row.line), faults, column)
    if not (squad.members or squad.faults):
        raise BadInput([Fault("file", "must be one line an athlete", None, file)])
    return Squad(squad.members, tuple(sorted(squad.faults, key=lambda f: f.line)), encoding)


def _from_folder(folder: Path) -> Squad:
    try:
        paths = sorted(p for p in folder.iterdir() if p.suffix.lower() == ".toml")
    except OSError as error:
        rule = f"cannot be read ({error.strerror or error})"
        raise BadInput([Fault("folder", rule, None, str(folder))]) from None
    if len(paths) > MOST_MEMBERS:
        raise BadInput([Fault("folder", _TOO_MANY, len(paths), str(folder))])
    if not paths:
        raise BadInput([Fault("folder", "athlete files (.toml) needed", None, str(folder))])
    return _squad(paths, _from_athlete, [], "name")


def _from_athlete(path: Path) -> Member:
    return Member(read_athlete(path), file=str(path))


def read_squad(path: Path, today: datetime.date | None = None) -> Squad:
    """A squad from a table (.csv, .txt, .tsv) or a folder of athlete files (.toml).

    Names are all different, also as names of files; faults of single athletes are in the squad.
    today: for days over a year later the age of this day counts.
    """
    squad = (_from_folder if is_folder(str(path)) else _from_file)(path)
    told = (replace(m, athlete=replace(m.athlete, read_on=today)) for m in squad.members)
    return replace(squad, members=tuple(told))


def _from_file(path: Path) -> Squad:
    if path.suffix.lower() == ".toml":
        return Squad((_from_athlete(path),))
    text, encoding = read_table(path)
    return squad_from(text, str(path), encoding)
