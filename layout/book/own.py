"""The club's own drills and venues in a book: kept as they were written, read by the catalogue's rules."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Final, NamedTuple

from layout.book.store import Book
from layout.plan.drill import Drill, catalogue, drills_from
from layout.plan.venue import Venue, venues, venues_from
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import one_of, table_of

Read = Callable[[Mapping[str, Any], str, str], Mapping[str, Any]]
KINDS: Final[dict[str, Read]] = {"drill": drills_from, "venue": venues_from}
"""What may be a club's own, and what reads the text of one."""
_COMES: Final[dict[str, Callable[[], Mapping[str, Any]]]] = {"drill": catalogue, "venue": venues}
_HEAD: Final = re.compile(
    r"[ \t]*\[[ \t]*([\"']?)(?P<kind>\w+)\1[ \t]*\.[ \t]*([\"']?)(?P<name>[^\]\"'.]+)"
)


@dataclass(frozen=True)
class Own:
    """A club's own drills and venues by slug; `wrong`: entries that today's rules refuse, and why.

    newest: the venue that was put in last.
    """

    drills: Mapping[str, Drill] = field(default_factory=dict)
    venues: Mapping[str, Venue] = field(default_factory=dict)
    wrong: tuple[str, ...] = ()
    newest: str = ""

    def all_venues(self) -> dict[str, Venue]:
        """The club's own venues, and those that come with Phasemark."""
        return {**self.venues, **venues()}


class Change(NamedTuple):
    """One entry of a file beside the book: `state` is new, changed, back (it was taken away) or same."""

    kind: str
    name: str
    title: str
    text: str
    state: str


def own_of(book: Book) -> Own:
    """The club's own drills and venues, as a book has them now."""
    return book.remembered("own", lambda: _own(book))


def _own(book: Book) -> Own:
    found: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
    wrong: list[str] = []
    order: dict[str, int] = {}
    kept = "SELECT kind, file, name, id FROM own WHERE struck = 0 ORDER BY name"
    for kind, text, name, number in book.rows(kept):
        try:
            found[kind] |= _read(kind, text)
        except BadInput as error:
            wrong += [str(f) for f in error.faults]
        else:
            order |= {name: number} if kind == "venue" else {}
    newest = max(order, key=order.__getitem__, default="")
    return Own(found["drill"], found["venue"], tuple(wrong), newest)


def drills_known(book: Book, own: Mapping[str, Drill] | None = None) -> dict[str, Drill]:
    """Drills of the catalogue, the book's and `own`; the later win."""
    return {**catalogue(), **own_of(book).drills, **(own or {})}


@lru_cache(maxsize=256)
def _read(kind: str, text: str) -> Mapping[str, Any]:
    where = f"own {kind} in the book"
    return KINDS[kind](table_of(text, where), where, text)


def is_own(table: Mapping[str, Any]) -> bool:
    """Whether a file holds drills or venues, and no athlete."""
    return any(isinstance(table.get(kind), Mapping) for kind in KINDS)


def changes_of(book: Book, text: str, file: str = "") -> list[Change]:
    """Every drill and venue of a file beside what the book has; refused with every fault of every entry."""
    table = table_of(text, file)
    faults = [Fault(key, "is not known here", None, file) for key in table if key not in KINDS]
    found: list[Change] = []
    for kind, read in KINDS.items():
        if kind not in table:
            continue
        try:
            entries = read({kind: table[kind]}, file, text)
        except BadInput as error:
            faults += error.faults
            continue
        parts = _parts(text, kind)
        for name, entry in entries.items():
            if name in _COMES[kind]():
                rule = f"is the name of a {kind} that comes with Phasemark; give yours another"
                faults.append(Fault(f"{kind}.{name}", rule, None, file))
            elif _apart(kind, name, parts.get(name, ""), table):
                found.append(_beside(book, kind, name, entry.title, parts[name]))
            else:
                rule = f"must stand together under a heading of its own, [{kind}.{name}]"
                faults.append(Fault(f"{kind}.{name}", rule, None, file))
    if faults:
        raise BadInput(faults)
    return found


def _parts(text: str, kind: str) -> dict[str, str]:
    """The lines of each entry, with the remarks above its heading."""
    out: dict[str, list[str]] = {}
    waiting: list[str] = []
    now = ""
    for row in text.splitlines():
        head = _HEAD.match(row)
        if head and head["kind"] == kind:
            now = head["name"].strip()
            out.setdefault(now, []).extend(waiting)
            waiting = []
        elif row.lstrip().startswith("["):
            now = ""
        if row.lstrip().startswith("#") or not row.strip():
            waiting.append(row)
        elif now:
            out[now] += [*waiting, row]
            waiting = []
        else:
            waiting = []
    return {name: "\n".join(rows).strip("\n") + "\n" for name, rows in out.items()}


def _apart(kind: str, name: str, part: str, table: Mapping[str, Any]) -> bool:
    """Whether lines by themselves say the same as they do in their file."""
    try:
        return table_of(part, "") == {kind: {name: table[kind][name]}}
    except BadInput:
        return False


def _beside(book: Book, kind: str, name: str, title: str, text: str) -> Change:
    asked = "SELECT file, struck FROM own WHERE kind = ? AND name = ?"
    kept = book.rows(asked, (kind, name))
    if not kept:
        return Change(kind, name, title, text, "new")
    same = kept[0][0].split() == text.split()
    return Change(kind, name, title, text, "back" if kept[0][1] else "same" if same else "changed")


def put_own(book: Book, changes: list[Change]) -> None:
    """Keep entries as they are written; what stood before stays among the corrections."""
    with book.writing() as db:
        for change in changes:
            if change.state == "new":
                put = "INSERT INTO own (kind, name, file) VALUES (?, ?, ?)"
                db.execute(put, (change.kind, change.name, change.text))
            elif change.state != "same":
                put = "UPDATE own SET file = ?, struck = 0 WHERE kind = ? AND name = ?"
                db.execute(put, (change.text, change.kind, change.name))
    book.memo.pop("own", None)


def text_of(book: Book, kind: str, name: str) -> str:
    """An entry as it was written; refused where the book has none."""
    one_of("kind", kind, tuple(KINDS))
    asked = "SELECT file FROM own WHERE kind = ? AND name = ? AND struck = 0"
    found = book.rows(asked, (kind, name))
    if not found:
        raise refuse(kind, "is not one of the club's own", name)
    return str(found[0][0])


def take_away(book: Book, kind: str, name: str) -> None:
    """Offer an entry no more; it stays in the book, and comes back when it is taken in again."""
    text_of(book, kind, name)
    with book.writing() as db:
        db.execute("UPDATE own SET struck = 1 WHERE kind = ? AND name = ?", (kind, name))
    book.memo.pop("own", None)
