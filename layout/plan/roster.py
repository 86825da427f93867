"""A squad: athletes from one table (CSV) or from a folder of athlete files.

A table's columns are the fields of an athlete file, checked by the same rules; one column more,
`weight`, says how much an athlete counts when marks are shared. A broken athlete is left out and
told; only a file that cannot be read as a table refuses the squad.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from layout.faults import BadInput, Fault
from layout.plan.athlete import Athlete, athlete_from, read_athlete
from layout.plan.names import safe_name
from layout.reading import LARGEST_FILE, nearest, number

NEEDED: Final = ("name", "stature", "mass", "leg")
TOTALS: Final = ("target", "best")
OPTIONAL: Final = (
    "level", "born", "build", "training_years", "strides", "speed", "split", "jumped", "note",
)  # fmt: skip
OWN_VALUES: Final = ("slope", "pull", "losses", "tau", "run_up", "stand_speed")
"""Fields of an athlete file's [calibration]; columns are called calibration.slope and so on."""
COLUMNS: Final = (
    *NEEDED, *TOTALS, *OPTIONAL, *(f"calibration.{v}" for v in OWN_VALUES), "weight",
)  # fmt: skip
SEPARATORS: Final = (";", "\t", ",")
"""In the order they win where a heading line could be read with several."""
WEIGHTS: Final = (0.01, 100.0)
"""How much one athlete may count beside another (ours)."""
_BREAK: Final = re.compile(r"\r\n|\r|\n")
_WHOLE: Final = ("born", "strides")
_DECIMAL: Final = ("mass", "training_years", "calibration.slope", "calibration.pull",
                   "calibration.tau")  # fmt: skip
_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]{1,12}(?:[.,][0-9]{0,30})?|[.,][0-9]{1,30})")
_WESTERN: Final = frozenset("\xa0°½¼¾´·«»‘’“”–—…€")
"""Signs beside letters that a text in the western Windows encoding may hold."""


@dataclass(frozen=True)
class Member:
    """One athlete of a squad, how much they count, and where they came from.

    Attributes
    ----------
    athlete : Athlete
    weight : float
        [-]
    file : str
    line : int
        In a table, 1-based; 0 for an athlete file.
    """

    athlete: Athlete
    weight: float = 1.0
    file: str = ""
    line: int = 0


@dataclass(frozen=True)
class Squad:
    """The athletes that could be read, and every fault of those that could not.

    Attributes
    ----------
    members : tuple of Member
    faults : tuple of Fault
    encoding : str
        Of a table, as read; empty for a folder.
    """

    members: tuple[Member, ...]
    faults: tuple[Fault, ...] = ()
    encoding: str = ""


def decoded(data: bytes) -> tuple[str, str]:
    """Text of a table and the encoding it is in.

    A mark at the start decides; without one UTF-8, then UTF-16 by its pattern of zeros, then the
    western Windows encoding, if what comes out is letters and common signs.

    Parameters
    ----------
    data : bytes

    Returns
    -------
    tuple of str
        Text, encoding.

    Raises
    ------
    ValueError
        None of these; the message is the rule, with the line where it is known.

    >>> decoded("é".encode("utf-16"))[1], decoded("é".encode("cp1252"))[1]
    ('utf-16', 'cp1252')
    """
    if data[:4] in (b"\xff\xfe\0\0", b"\0\0\xfe\xff"):
        return data.decode("utf-32"), "utf-32"
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16"), "utf-16"
    if b"\0" in data[:200]:
        wide = "utf-16-le" if data[1:2] == b"\0" else "utf-16-be"
        return data.decode(wide), wide
    try:
        return data.decode("utf-8-sig"), "utf-8"
    except UnicodeDecodeError as error:
        line = len(re.findall(rb"\r\n|\r|\n", data[: error.start])) + 1
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        text = "\0"
    # Damaged UTF-8 read as cp1252 shows pairs such as Ã¼: that is not what was meant.
    damaged = re.search("[\xc2-\xdf][\x80-\xbf\u2018-\u2122]", text)
    strange = [c for c in text if ord(c) > 126 and not c.isalpha() and c not in _WESTERN]
    if damaged or strange or "\0" in text:
        raise ValueError(f"{line}: text in UTF-8, UTF-16 or Windows-1252 wanted")
    return text, "cp1252"


def _read(path: Path) -> tuple[str, str]:
    name, line = str(path), 0
    try:
        data = path.read_bytes() if path.stat().st_size <= LARGEST_FILE else None
        if data is None:
            raise ValueError("at most 2 MB wanted")
        text, encoding = decoded(data)
        text = text.removeprefix("\ufeff")
        if not text.strip(" \t\r\n;,"):
            raise ValueError("is empty")
    except UnicodeError:
        rule = "text in UTF-8, UTF-16 or Windows-1252 wanted"
    except OSError as error:
        rule = f"cannot be read ({error.strerror or error})"
    except ValueError as error:
        at, _, rest = str(error).partition(": ")
        rule, line = (rest, int(at)) if at.isdigit() else (str(error), 0)
    else:
        return text, encoding
    raise BadInput([Fault("file", rule, None, name, line)])


def _cells(raw: str, separator: str) -> list[str]:
    """Cells of one line, stripped.

    Raises
    ------
    csv.Error
    """
    return [c.strip() for c in next(csv.reader([raw], delimiter=separator, strict=True))]


def _column(heading: str) -> str:
    """A heading as a field's name: "Training years" is training_years."""
    return re.sub(r"[ _-]+", "_", heading.strip().lower())


def _heading(raw: str, file: str, line: int, told: str) -> tuple[list[str], str]:
    """Column names and the separator.

    Raises
    ------
    BadInput
        One fault for each column that is unknown, twice there or missing.
    """
    best: list[str] = []
    separator = told
    for trial in (told,) if told else SEPARATORS:
        try:
            names = [_column(c) for c in _cells(raw, trial)]
        except csv.Error:
            continue
        known = sum(n in COLUMNS for n in names)
        if not separator or known > sum(n in COLUMNS for n in best):
            best, separator = names, trial
    best = best or [_column(raw)]
    while len(best) > 1 and not best[-1]:
        best.pop()
    faults: list[Fault] = []
    for i, name in enumerate(best):
        at = f"column {i + 1}"
        if name not in COLUMNS:
            more = "" if faults else f"; known: {', '.join(COLUMNS)}"
            hint = nearest(name, COLUMNS) or more
            faults.append(Fault(at, f"is not a known column{hint}", name, file, line))
        elif name in best[:i]:
            faults.append(Fault(at, "is there twice", name, file, line))
    missing = [n for n in NEEDED if n not in best]
    if not set(TOTALS) & set(best):
        missing.append("target")
    faults += [Fault(f"column {n}", "is missing", None, file, line) for n in missing]
    if faults:
        raise BadInput(faults)
    return best, separator


def _value(column: str, text: str) -> Any:
    """A cell as an athlete file would hold it; what is no number stays text and is refused there."""
    bare = text.replace("\u2212", "-")
    if column in _WHOLE and re.fullmatch(r"[+-]?[0-9]{1,12}(?:[.,]0+)?", bare):
        return int(re.split("[.,]", bare)[0])
    if column in (*_DECIMAL, "weight") and _NUMBER.fullmatch(bare):
        return float(bare.replace(",", "."))
    if column == "calibration.losses":
        parts = re.split(r"[/:; ]+", bare)
        fine = all(_NUMBER.fullmatch(p) for p in parts)
        return [float(p.replace(",", ".")) for p in parts] if fine else text
    return text


def _row(cells: Sequence[str], columns: Sequence[str], file: str, line: int) -> Member:
    """One athlete from one line.

    Raises
    ------
    BadInput
        With the line and the columns.
    """
    table: dict[str, Any] = {}
    own: dict[str, Any] = {}
    for column, text in zip(columns, cells, strict=False):
        if not text:
            continue
        if column.startswith("calibration."):
            own[column.partition(".")[2]] = _value(column, text)
        else:
            table[column] = _value(column, text)
    if own:
        table["calibration"] = own
    faults: list[Fault] = []
    weight = table.pop("weight", 1.0)
    try:
        weight = number("weight", weight, *WEIGHTS)
    except BadInput as error:
        faults += error.faults
    athlete = None
    try:
        athlete = athlete_from(table)
    except BadInput as error:
        faults += error.faults
    if faults or athlete is None:
        raise BadInput(_placed(f, columns, file, line) for f in faults)
    return Member(athlete, weight, file, line)


def _placed(fault: Fault, columns: Sequence[str], file: str, line: int) -> Fault:
    """A fault of a field as one of a column."""
    field = fault.field
    near = next((c for c in (field, f"calibration.{field}") if c in columns), "")
    where = f"column {columns.index(near) + 1} ({near})" if near else field
    return Fault(where, fault.rule, fault.value, file, line)


def _same(name: str) -> str:
    """What two names share that would meet in one file name."""
    return unicodedata.normalize("NFC", safe_name(name)).casefold()


def _told_apart(members: Sequence[Member], faults: list[Fault], column: str) -> tuple[Member, ...]:
    """The members whose name is not another's before them."""
    seen: dict[str, Member] = {}
    for member in members:
        first = seen.setdefault(_same(member.athlete.name), member)
        if first is not member:
            at = f"line {first.line}" if first.line else first.file
            rule = f"a name of its own wanted, this one is in {at} already"
            faults.append(Fault(column, rule, member.athlete.name, member.file, member.line))
    return tuple(seen.values())


def squad_from(text: str, file: str = "", encoding: str = "utf-8") -> Squad:
    """A squad from the text of a table.

    Parameters
    ----------
    text : str
        A heading line and one line an athlete; cells parted by ; or tab or comma, as the heading
        shows ("sep=;" in the first line is heeded). Cells may be quoted. Empty lines are passed
        over; there are no comment lines. Decimal commas are read where cells are parted by
        something else or quoted. Cells missing at a line's end count as empty.
    file, encoding : str

    Returns
    -------
    Squad

    Raises
    ------
    BadInput
        The heading cannot be used, or no line below it.
    """
    columns: list[str] | None = None
    told = separator = ""
    members: list[Member] = []
    faults: list[Fault] = []
    for line, raw in enumerate(_BREAK.split(text), 1):
        if columns is None and (sign := re.fullmatch(r"\s*\"?sep=([;,\t])\"?[;,\t\s]*", raw)):
            told = sign[1]
            continue
        if not raw.strip(' \t;,"'):
            continue
        if columns is None:
            columns, separator = _heading(raw, file, line, told)
            continue
        try:
            members.append(_row(_fitted(raw, separator, columns, file, line), columns, file, line))
        except BadInput as error:
            faults += error.faults
    if columns is None or not (members or faults):
        raise BadInput([Fault("file", "a heading and one line an athlete wanted", None, file)])
    column = f"column {columns.index('name') + 1} (name)"
    apart = _told_apart(members, faults, column)
    return Squad(apart, tuple(sorted(faults, key=lambda f: f.line)), encoding)


def _fitted(raw: str, separator: str, columns: Sequence[str], file: str, line: int) -> list[str]:
    """Cells of a line, as many as there are columns or fewer.

    Raises
    ------
    BadInput
    """
    try:
        cells = _cells(raw, separator)
    except csv.Error:
        rule = 'a quoted cell ends with one " before the next separator, a " inside is written ""'
        raise BadInput([Fault("cells", rule, raw, file, line)]) from None
    last = max(columns.index(n) for n in NEEDED)
    if len(cells) > len(columns) and any(cells[len(columns) :]):
        hint = "; put a decimal comma in quotes" if separator == "," else ""
        rule = f"{len(columns)} cells wanted, one a column{hint}"
    elif len(cells) <= last:
        rule = f"{len(columns)} cells wanted, one a column"
    else:
        return cells
    raise BadInput([Fault("cells", rule, f"{len(cells)}: {raw}", file, line)])


def _from_folder(folder: Path) -> Squad:
    try:
        paths = sorted(p for p in folder.iterdir() if p.suffix.lower() == ".toml")
    except OSError as error:
        rule = f"cannot be read ({error.strerror or error})"
        raise BadInput([Fault("folder", rule, None, str(folder))]) from None
    members: list[Member] = []
    faults: list[Fault] = []
    for path in paths:
        try:
            members.append(Member(read_athlete(path), file=str(path)))
        except BadInput as error:
            faults += error.faults
    if not paths:
        raise BadInput([Fault("folder", "athlete files (.toml) wanted", None, str(folder))])
    return Squad(_told_apart(members, faults, "name"), tuple(faults))


def read_squad(path: Path) -> Squad:
    """A squad from a table (.csv, .txt, .tsv) or a folder of athlete files (.toml).

    Parameters
    ----------
    path : Path

    Returns
    -------
    Squad
        Names are all different, also as names of files.

    Raises
    ------
    BadInput
        Neither, or a table whose heading cannot be used. Faults of single athletes are in the
        squad instead.
    """
    reader: Callable[[Path], Squad] = _from_folder
    try:
        if not path.is_dir():
            reader = _from_file
    except (OSError, ValueError):
        reader = _from_file
    return reader(path)


def _from_file(path: Path) -> Squad:
    if path.suffix.lower() == ".toml":
        return Squad((Member(read_athlete(path), file=str(path)),))
    text, encoding = _read(path)
    return squad_from(text, str(path), encoding)
