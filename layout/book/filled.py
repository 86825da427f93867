"""A table that a coach filled in, taken into the book: one row for each attempt."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from layout.book import entry
from layout.book.entry import Saved
from layout.book.known import Changed, Compared, compare, put_change
from layout.book.known import Row as Held
from layout.book.people import find_member
from layout.book.store import Book
from layout.book.typed import Typed
from layout.plan.drill import Drill
from layout.words.dates import read_day
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import nearest
from layout.words.table import Row, read_table, split_table
from layout.words.trade import MOVES

SAME: Final[dict[str, str]] = {
    "name": "athlete", "jumper": "athlete", "date": "day", "distance": "total", "sum": "total",
    "comment": "note", "notes": "note", "remark": "note", "remarks": "note",
    "approach": "strides",
    "kind of day": "kind", "fouled": "foul", "tape zero": "zero", "venue": "place", "speed m/s": "speed",
}  # fmt: skip
"""Other words for a column."""
_ORDER: Final = ("run", "set")
"""Columns that only number the rows."""
_WHO: Final = ("athlete", "drill", "day", "place", "zero", "phases", "pit", *_ORDER)
"""Columns that a table may have filled in before anybody jumps."""
_PLAIN: Final = (
    "athlete", "drill", "day", "place", "total", "zero", "phases", "behind", "pit", "marks_met",
)  # fmt: skip
_PHASE: Final = re.compile(r"(hop|step|jump)(?: ?#?([0-9]{1,2}))?")
_MARK: Final = re.compile(r"(?:mark|reading|tape)(?: ?#?([0-9]{1,2}))?")
_UNIT: Final = re.compile(r"[\[(](m|cm|mm|ft|m/s|deg|°)[\])]")


def column(title: str) -> tuple[str, str]:
    """What a column is, and the unit its title names.

    Returns "" where it is not known; hop 1, mark 2 and the like for phases and tape readings.

    >>> column("Hop (cm)"), column("Date"), column("mark 2")
    (('hop', 'cm'), ('day', ''), ('mark 2', ''))
    """
    words = " ".join(title.lower().replace("_", " ").split())
    unit = ""
    if match := _UNIT.search(words):
        unit = match[1]
        words = " ".join(words.replace(match[0], "").split())
    words = SAME.get(words, words)
    if match := _PHASE.fullmatch(words):
        return match[1] + (f" {int(match[2])}" if match[2] else ""), unit
    if match := _MARK.fullmatch(words):
        return f"mark {int(match[1] or 1)}", unit
    key = words.replace(" ", "_")
    return (key if key in (*_PLAIN, *_ORDER, *entry.FIELDS) else ""), unit


def _titles(titles: Row, rows: Sequence[Row], file: str) -> list[tuple[str, str]]:
    out: list[tuple[str, str]] = []
    faults: list[Fault] = []
    plain = [column(title)[0] for title in titles.cells]
    for i, title in enumerate(titles.cells):
        name, unit = column(title)
        if name in MOVES and plain.count(name) > 1:  # as the handout prints them
            name = f"{name} {plain[: i + 1].count(name)}"
        used = any(row.cells[i] for row in rows)
        if not name and used:
            known = [*_PLAIN, *entry.FIELDS, *MOVES, "mark 1"]
            rule = f"is no column of a book{nearest(title, known)}"
            faults.append(Fault(title or f"column {i + 1}", rule, None, file, titles.line))
        if name and name in [n for n, _ in out]:
            faults.append(Fault(title, "stands twice", None, file, titles.line))
        out.append((name, unit))
    if faults:
        raise BadInput(faults)
    return out


def _with_unit(text: str, unit: str) -> str:
    """A bare number with the unit of its column."""
    bare = re.fullmatch(r"[+-]?[0-9.,]+", text)
    return f"{text} {unit}" if bare and unit in ("m", "cm", "mm", "ft") else text


def _phase_cells(cells: Mapping[str, str], phases: Sequence[str]) -> tuple[str, ...]:
    """The phases of a row in the order of the drill's phases; ? where not measured."""
    out, seen, used = [], dict.fromkeys(MOVES, 0), set()
    for move in phases:
        seen[move] += 1
        names = [f"{move} {seen[move]}", *([move] if seen[move] == 1 else [])]
        name = next((n for n in names if n in cells), "")
        used.add(name)
        out.append(cells.get(name) or "?")
    spare = [n for n in cells if n.split()[0] in MOVES and n not in used and cells[n]]
    if spare:
        raise refuse(spare[0], f"is no phase of this drill ({', '.join(phases)})", cells[spare[0]])
    return tuple(out) if any(text != "?" for text in out) else ()


def _mark_cells(cells: Mapping[str, str]) -> tuple[str, ...]:
    marks = sorted((int(n.split()[1]), t) for n, t in cells.items() if n.startswith("mark "))
    while marks and not marks[-1][1]:
        marks.pop()
    return tuple(text or "?" for _, text in marks)


def _typed(
    book: Book,
    cells: Mapping[str, str],
    base: Typed,
    own: Mapping[str, Drill] | None,
    used: set[str],
) -> Typed:
    """One row as if typed, with what the row leaves out from `base`; those fields go into `used`."""

    def cell(name: str, other: str | None) -> str | None:
        if not cells.get(name):
            used.add(name)
        return cells.get(name) or other

    athlete, drill = cell("athlete", base.athlete), cell("drill", base.drill)
    if not athlete or not drill:
        raise refuse("athlete" if not athlete else "drill", "is missing")
    day, place = cell("day", base.day), cell("place", base.place)
    readings, zero, pit = _mark_cells(cells), "board", cells.get("pit") or None
    said = cells.get("phases") or None
    measured = any(t for n, t in cells.items() if n.split()[0] in MOVES)
    if measured and readings:
        raise refuse("row", "phases or tape readings needed, not both")
    if measured:
        probe = Typed(athlete, drill, phases=said)
        when = read_day("day", day).isoformat() if day else "9999-12-31"
        shape = entry.shape_of(book, probe, find_member(book, athlete).id, when, own)
        readings, zero = _phase_cells(cells, shape.phases), "each"
    elif readings:
        zero = cell("zero", base.zero) or "board"
        pit = cell("pit", base.pit) if zero == "pit" else pit
    fields = {k: t for k, t in cells.items() if k in entry.FIELDS and t}
    if met := cells.get("marks_met"):
        fields["note"] = "; ".join([f"marks met: {met}", *filter(None, [cells.get("note")])])
    run = "/".join(filter(None, [cells.get("set"), cells.get("run")])) or None
    return Typed(
        athlete=athlete, drill=drill, readings=readings, zero=zero, day=day, place=place, pit=pit,
        behind=cells.get("behind") or None, total=cells.get("total") or None, phases=said,
        run=run, fields=fields,
    )  # fmt: skip


@dataclass(frozen=True)
class Taken:
    """What a table brought."""

    new: tuple[Saved, ...]
    changed: tuple[Changed, ...]  # corrected now
    not_taken: Compared  # what was left as it is


Decide = Callable[[Compared], str]
TAKE: Final = ("new", "changed", "all")


def take_in(
    book: Book,
    path: Path,
    base: Typed,
    own: Mapping[str, Drill] | None = None,
    again: bool = False,
    decide: Decide | None = None,
    only: Mapping[str, str] | None = None,
) -> Taken:
    """Take a filled table into the book, all of it or nothing; what is there already stays single.

    `path`: CSV with a first line of titles: athlete, drill, date, hop, step, jump (or mark 1, mark
    2, ... with a zero), total, strides, speed, wind, foul, note ...; separators and decimal commas
    as a spreadsheet writes them. `base`: for what the table leaves out; empty texts where it has to
    be there. `own`: the coach's own drills. `again`: whether every row is another attempt, whatever
    the book has. `decide`: from what is new and changed to one of `TAKE`, or it raises; `undecided`
    where left out. `only`: fields of `base` by the option they were given with: refused where no
    row needs them.

    A row with nothing but names, numbers and a day is one that nobody jumped. Every fault is told
    with its line; nothing is kept then.
    """
    return take_in_text(book, (str(path), read_table(path)[0]), base, own, again, decide, only)


def take_in_text(
    book: Book,
    table: tuple[str, str],
    base: Typed,
    own: Mapping[str, Drill] | None = None,
    again: bool = False,
    decide: Decide | None = None,
    only: Mapping[str, str] | None = None,
) -> Taken:
    """The same for a table as what it is called and its text."""
    name, text = table
    header, rows = split_table(text, name)
    titles = _titles(header, rows, name)
    if not rows:
        raise BadInput([Fault("table", "rows needed below the titles", None, name)])
    key = "taken:" + hashlib.sha256(text.encode()).hexdigest()
    columns = frozenset(title for title, _ in titles)
    try:
        made = _read_all(book, rows, titles, base, own, only or {})

        def held() -> Compared:
            return Compared(tuple(made), (), (), ()) if again else compare(book, made, columns)

        found = held()
        return _put(book, found, (decide or undecided)(found), key, again, held)
    except BadInput as error:
        raise error.at(name) from None


def _put(
    book: Book, found: Compared, take: str, key: str, again: bool, held: Callable[[], Compared]
) -> Taken:
    """Write what is taken of a table, which is known by its key from now on."""
    with book.writing() as db:
        taken = db.execute("SELECT 1 FROM setting WHERE key = ?", (key,)).fetchone()
        if taken and found.new and not again:
            rule = "was taken in before, on another day or with other options"
            raise refuse("table", f"{rule}; --again takes it in as further attempts")
        if held() != found:
            raise refuse("book", "was changed by another program meanwhile; try again")
        new = [entry.put(book, row) for _, row in found.new] if take != "changed" else []
        changed = found.changed if take != "new" else ()
        for change in changed:
            put_change(book, change)
        db.execute("INSERT OR REPLACE INTO setting VALUES (?, ?)", (key, "yes"))
    left = found.new if take == "changed" else ()
    return Taken(tuple(new), changed, replace(found, new=left,
                 changed=found.changed if take == "new" else ()))  # fmt: skip


def undecided(found: Compared) -> str:
    """New rows are taken in; where any is in the book with other figures, nothing is."""
    if not found.changed:
        return "new"
    lines = ", ".join(str(c.line) for c in found.changed[:5])
    more = "" if len(found.changed) <= 5 else " ..."
    rule = f"rows are in the book with other figures (line {lines}{more})"
    raise refuse(
        "table",
        f"{rule}: --take changed corrects them, --take new leaves them, --take all takes in both, "
        "--again makes every row another attempt; nothing was changed",
    )


def _read_all(
    book: Book,
    rows: Sequence[Row],
    titles: Sequence[tuple[str, str]],
    base: Typed,
    own: Mapping[str, Drill] | None,
    only: Mapping[str, str],
) -> list[Held]:
    """Every row that somebody jumped, as it would be put down."""
    made: list[Held] = []
    faults: list[Fault] = []
    used: set[str] = set()
    empty = True
    for row in rows:
        pairs = zip(titles, row.cells, strict=True)
        cells = {n: _with_unit(text, unit) for (n, unit), text in pairs if n}
        if not any(text for n, text in cells.items() if n not in _WHO):
            continue  # a row of the printed table that nobody jumped
        empty = False
        try:
            made.append((row.line, entry.ready(book, _typed(book, cells, base, own, used), own)))
        except BadInput as error:
            faults += error.at("", row.line).faults
    if empty:
        faults.append(Fault("table", "no row has anything measured, a foul or runs"))
    if not faults:
        for name, option in only.items():
            if name not in used:
                faults.append(Fault(option, "is needed by no row of this table"))
    if faults:
        raise BadInput(faults)
    return made
