"""Tables that a coach keeps as text: any usual encoding, ; or tab or comma, decimal commas.

A line that begins with # above the titles is a remark. Below them every line is a row or a fault,
so nothing is passed over unseen; only lines with nothing in them are.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TextIO

from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import LARGEST_FILE, LONGEST_LINE, nearest, read_small

SEPARATORS: Final = (";", "\t", ",")
"""In the order they win where a line of titles has several: beside ; and tab, commas are decimal."""
MOST_COLUMNS: Final = 200
MOST_LINES: Final = 20_000
"""Of one table."""
_BREAK: Final = re.compile(r"\r\n|\r|\n")
_TOLD: Final = re.compile(r"\s*\"?sep=([;,\t])\"?[;,\t\s]*", re.IGNORECASE)
_REMARK: Final = re.compile(r"\s*\"?\s*#(?!\s*(?:[;,\t\"]|$))")
"""A first title that is the sign alone is a column that numbers the rows."""
_WESTERN: Final = frozenset("\xa0°½¼¾´·«»‘’“”–—…€")
"""Signs beside letters that a text in the western Windows encoding may hold."""
_ENCODINGS: Final = "must be text in UTF-8, UTF-16 or Windows-1252"


@dataclass(frozen=True)
class Row:
    """A row by place: the line it begins on, 1-based, and as many cells as there are titles."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class NamedRow:
    """A row by column: its line, 1-based, and the stripped text of every known column."""

    line: int
    cells: Mapping[str, str]


# --- bytes and numbers ----------------------------------------------------------------------------


def decoded(data: bytes) -> tuple[str, str]:
    """Text of a table and the encoding it is in.

    A mark at the start decides; without one UTF-8, then UTF-16 by its pattern of zeros, then the
    western Windows encoding, if what comes out is letters and common signs.

    >>> decoded("é".encode("utf-16"))[1], decoded("é".encode("cp1252"))[1]
    ('utf-16', 'cp1252')
    """
    wide = ""
    if data[:4] in (b"\xff\xfe\0\0", b"\0\0\xfe\xff"):
        wide = "utf-32"
    elif data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        wide = "utf-16"
    elif b"\0" in data[:200]:
        wide = "utf-16-le" if data[1:2] == b"\0" else "utf-16-be"
    if wide:
        try:
            return data.decode(wide), wide
        except UnicodeDecodeError:
            raise refuse("file", _ENCODINGS) from None
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
        raise BadInput([Fault("file", _ENCODINGS, None, line=line)])
    return text, "cp1252"


def read_table(path: Path) -> tuple[str, str]:
    """Text of a table and its encoding, refusing what is not there, empty, too large or no text."""
    return table_in(read_small(path), str(path))


def table_in(data: bytes, name: str) -> tuple[str, str]:
    """The same of a file's bytes; `name` is what it is called."""
    try:
        text, encoding = decoded(data)
        _bounded(text)
    except BadInput as error:
        raise error.at(name) from None
    return text.removeprefix("\ufeff"), encoding


def typed_lines(stream: TextIO | None) -> Iterator[tuple[int, str]]:
    """Lines that are typed or piped in, with their numbers, whatever usual encoding they are in.

    Each comes as soon as it is there; only UTF-16 is read whole first.
    """
    raw = getattr(stream, "buffer", None)
    if stream is None or raw is None:
        yield from enumerate(stream or (), 1)
        return
    number = 0
    while line := raw.readline(4 * LONGEST_LINE):
        number += 1
        try:
            if number == 1 and (line[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in line):
                text = decoded(line + raw.read(LARGEST_FILE))[0].removeprefix("\ufeff")
                yield from enumerate(text.splitlines(), 1)
                return
            text = decoded(line)[0]
        except BadInput:
            raise BadInput([Fault("line", _ENCODINGS, None, line=number)]) from None
        if len(text) > LONGEST_LINE:
            rule = f"at most {LONGEST_LINE} characters allowed"
            raise BadInput([Fault("line", rule, None, line=number)])
        yield number, text


def _bounded(text: str) -> None:
    """Refuse what is empty, and lines and numbers of lines that no table has."""
    if not text.strip("\ufeff \t\r\n;,"):
        raise refuse("file", "is empty")
    lines = _BREAK.split(text)
    if len(lines) > MOST_LINES:
        rule = f"at most {MOST_LINES} lines allowed"
        raise BadInput([Fault("file", rule, None, line=MOST_LINES + 1)])
    at = next((i for i, line in enumerate(lines, 1) if len(line) > LONGEST_LINE), 0)
    if at:
        rule = f"lines of at most {LONGEST_LINE} characters allowed"
        raise BadInput([Fault("file", rule, None, line=at)])


# --- cells that a spreadsheet would run ------------------------------------------------------------

_BEGINS: Final = "(?:^|(?<=[;\t\r\n]))"
_RUNS: Final = r"'*(?:[^\S\t\r\n]|[\ufeff\u200b])*[=+\-@\uff0b\uff0d\uff1d\uff20]"
_FORMULA: Final = re.compile(rf"{_BEGINS}(?={_RUNS})|^(?='*[\t\r\n])")
_GUARDED: Final = re.compile(rf"{_BEGINS}'(?={_RUNS})|^'(?='*[\t\r\n])")
"""A text is held behind any sign that a spreadsheet may take to part cells or rows."""


def guarded(text: str) -> str:
    """A text that no spreadsheet runs as a formula: a ' stands before what could begin one.

    >>> guarded("=1+1"), guarded("'=1"), guarded("'twas windy")
    ("'=1+1", "''=1", "'twas windy")
    """
    return _FORMULA.sub("'", text)


def unguarded(text: str) -> str:
    """The text before `guarded`, letter for letter.

    >>> unguarded("'=1+1"), unguarded("''=1"), unguarded("'twas windy")
    ('=1+1', "'=1", "'twas windy")
    """
    return _GUARDED.sub("", text)


def separator(titles: str) -> str:
    """What parts the cells, from the line of titles.

    >>> separator('name;"mass, kg"'), separator('"a;b",c')
    (';', ',')
    """
    bare = re.sub(r'"[^"]*"', "", titles)
    return next((sign for sign in SEPARATORS if sign in bare), ",")


def _lines(text: str) -> Iterator[tuple[int, int, str]]:
    """Number, place in the text and text of each line with something in it."""
    at, line = 0, 1
    for end in (*_BREAK.finditer(text), None):
        raw = text[at : end.start() if end else len(text)]
        if raw.strip(' \t;,"'):
            yield line, at, raw
        if end:
            at, line = end.end(), line + 1


def _titles(text: str) -> tuple[int, int, str, str]:
    """Number, place and text of the line of titles, and the separator; line 0 where there is none.

    Spreadsheets write the separator above it as "sep=;", which is heeded.
    """
    told = ""
    for line, at, raw in _lines(text):
        if sign := _TOLD.fullmatch(raw):
            told = sign[1]
        elif not _REMARK.match(raw):
            return line, at, raw, told or separator(raw)
    return 0, len(text), "", told


def _cells(raw: str, sign: str) -> list[str]:
    """Cells of one line, stripped."""
    return [c.strip() for c in next(csv.reader([raw], delimiter=sign, strict=True))]


def column_name(title: str) -> str:
    """A title as a column's name.

    >>> column_name(" Training years")
    'training_years'
    """
    return re.sub(r"[ _-]+", "_", title.strip().lower())


def _names(first: str, sign: str) -> list[str]:
    """Names of columns out of the line of titles; empty ones at its end are none."""
    try:
        titles = [column_name(c) for c in _cells(first, sign)]
    except csv.Error:
        titles = [column_name(first)]
    while len(titles) > 1 and not titles[-1]:
        titles.pop()
    return titles


def named_rows(
    text: str,
    columns: Sequence[str],
    needed: Sequence[str],
    file: str,
    faults: list[Fault],
    short: bool = True,
) -> tuple[tuple[str, ...], list[NamedRow]]:
    """Titles and rows of a table of known columns in any order; faults found are added to `faults`.

    Each line is read by itself, so that one bad line never swallows those after it. `short`: a row may
    end before its last needed cell. Titles are empty where they cannot be used.
    """
    start, _, first, sign = _titles(text)
    if not start:
        rule = f"a line of titles needed, with at least {', '.join(needed)}"
        faults.append(Fault("titles", rule, None, file))
        return (), []
    titles = _names(first, sign)
    wrong = [*_title_faults(titles, columns, needed, file, start)]
    if wrong:
        faults += wrong
        return (), []
    fewest = 0 if short else max((titles.index(n) for n in needed), default=-1) + 1
    rows: list[NamedRow] = []
    for line, _, raw in _lines(text):
        if line <= start:
            continue
        try:
            cells = _cells(raw, sign)
        except csv.Error as error:
            faults.append(Fault("cells", _csv_rule(error), raw, file, line))
            continue
        over = any(cells[len(titles) :])
        if over or len(cells) < fewest:
            hint = "; put a decimal comma in quotes, or ; between cells"
            rule = f"{len(titles)} cells needed, one a column{hint if over and sign == ',' else ''}"
            faults.append(Fault("cells", rule, f"{len(cells)}: {raw}", file, line))
            continue
        full = dict.fromkeys(columns, "")
        full.update(zip(titles, cells, strict=False))
        rows.append(NamedRow(line, full))
    return tuple(titles), rows


def _csv_rule(error: csv.Error) -> str:
    """What the library says of a line, as a rule."""
    if "field limit" in str(error):
        return f"cells of at most {csv.field_size_limit()} characters allowed"
    return 'a quoted cell ends with one " before the next separator, a " inside is ""'


def _title_faults(
    titles: Sequence[str], columns: Sequence[str], needed: Sequence[str], file: str, line: int
) -> Iterator[Fault]:
    """One fault for each title that is unknown, twice there or missing."""
    if len(titles) > MOST_COLUMNS:
        yield Fault("titles", f"at most {MOST_COLUMNS} columns allowed", len(titles), file, line)
        return
    known = f"; known: {', '.join(columns)}"
    for i, name in enumerate(titles):
        at = f"column {i + 1}"
        if name not in columns:
            hint = nearest(name, columns)
            yield Fault(at, f"is not a known column{hint or known}", name, file, line)
            known = "" if not hint else known  # once is enough
        elif name in titles[:i]:
            yield Fault(at, "is there twice", name, file, line)
    for name in needed:
        if name not in titles:
            yield Fault(f"column {name}", "is missing", None, file, line)


# --- whole texts, whose cells may run over lines --------------------------------------------------


def plain(cell: str) -> str:
    """A cell on one line: breaks and hard spaces become spaces, none around it."""
    return "".join(" " if c.isspace() else c for c in cell).strip()


def split_table(text: str, file: str = "", trim: bool = True) -> tuple[Row, list[Row]]:
    """Titles and rows of a table whose titles are not known here, whose cells may run over lines.

    `trim` makes every cell one line, without spaces around it.
    """
    text = text.removeprefix("\ufeff")
    start, at, _, sign = _titles(text)
    titles: Row | None = None
    rows: list[Row] = []
    faults: list[Fault] = []
    for line, found in _walk(text[at:], sign or ",", file, start):
        cells = [plain(c) for c in found] if trim else found
        if not any(cells):
            continue
        if titles is None:
            if len(cells) > MOST_COLUMNS:
                rule = f"at most {MOST_COLUMNS} columns allowed"
                raise BadInput([Fault("titles", rule, len(cells), file, line)])
            titles = Row(line, tuple(cells))
            continue
        width = len(titles.cells)
        if any(cells[width:]):
            rule = f"at most the titles' {width} columns allowed"
            faults.append(Fault("row", rule, len(cells), file, line))
            continue
        rows.append(Row(line, tuple([*cells, *[""] * (width - len(cells))][:width])))
    if faults:
        raise BadInput(faults[:20])
    if titles is None:
        raise BadInput([Fault("table", "a first line with names of columns needed", None, file)])
    return titles, rows


def _walk(text: str, sign: str, file: str, start: int) -> Iterator[tuple[int, list[str]]]:
    """Rows with the line each begins on; `start` is that of the first."""
    if "\0" in text:
        line = start + len(_BREAK.findall(text[: text.index("\0")]))
        raise BadInput([Fault("table", "must be plain text", None, file, line)])
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign, strict=True)
    line = 0
    try:
        for cells in reader:
            begun, line = line, reader.line_num
            yield begun + start, cells
    except csv.Error as error:
        rule = f"cannot be read as a table; {_csv_rule(error)}"
        raise BadInput([Fault("table", rule, None, file, line + start)]) from None
