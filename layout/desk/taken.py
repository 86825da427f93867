"""Files taken into the book, told apart by what they hold; nothing is replaced or doubled unasked."""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from layout.athlete.athlete import athlete_from
from layout.book.exchange import back_from
from layout.book.filled import take_in_text
from layout.book.known import Changed, Compared
from layout.book.own import changes_of, is_own, put_own
from layout.book.people import Member, keep_plan_text, keep_texts, members
from layout.book.schema import TABLES, columns_of
from layout.book.store import Book
from layout.book.typed import Typed
from layout.desk.club import changed_lines, shown_value, text_with, told_of
from layout.squad.roster import NEEDED, squad_from
from layout.words.faults import BadInput, Fault, refuse
from layout.words.names import counted, same
from layout.words.reading import LARGEST_FILE, LARGEST_TOML, line_text, table_of, text_in
from layout.words.table import column_name, split_table, table_in

MOST_FILES: Final = 60
"""Files taken in at one time (ours): a squad's, and some."""
PASTED: Final = "pasted text"
WORDS: Final = ("new", "changed", "all", "again")
"""What is taken in where a file has things otherwise than the book: what is new, what differs, both; or
every row of a table as another attempt."""
MOST_SHOWN: Final = 20
_OPTION: Final = re.compile(r"[:;,]? ?(?:see phasemark |--)[^;]*")


@dataclass(frozen=True)
class File:
    """One file as it came."""

    name: str
    data: bytes

    @property
    def sent(self) -> str:
        """Its bytes as a form's field holds them."""
        return base64.urlsafe_b64encode(self.data).decode()


@dataclass(frozen=True)
class Outcome:
    """What became of one file: what was done, what is wrong, or what is asked before anything is done."""

    file: File
    told: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    asks: tuple[str, ...] = ()
    choices: tuple[tuple[str, str], ...] = ()


class _Asked(Exception):
    """What has to be decided first."""

    def __init__(self, asks: Sequence[str], *choices: tuple[str, str]) -> None:
        over = len(asks) - MOST_SHOWN
        self.asks = (*asks[:MOST_SHOWN], *([f"and {over} more"] if over > 0 else []))
        self.choices = choices


REPLACE: Final = ("all", "Take it in; what stood before stays in the book")


def files_of(given: Mapping[str, str]) -> list[File]:
    """The files of a form: `name0` and `data0`, ...; or a text that was pasted."""
    found = []
    for field, name in given.items():
        number = field.removeprefix("name")
        if field == "name" + number and number.isdecimal():
            data = given.get(f"data{number}", "")
            try:
                raw = base64.b64decode(data + "=" * (-len(data) % 4), b"-_", validate=True)
            except (binascii.Error, ValueError):
                raise refuse("file", "did not come whole; choose it again", name) from None
            found.append(File(line_text("file", name, 300), raw))
    text = given.get("text", "")
    if text.strip():
        found.append(File(PASTED, text.replace("\r\n", "\n").encode()))
    if len(found) > MOST_FILES:
        raise refuse("files", f"at most {MOST_FILES} at a time", len(found))
    if not found:
        raise refuse("files", "choose one, or paste what it holds")
    return found


def take(book: Book, files: Sequence[File], base: Typed, word: str = "") -> list[Outcome]:
    """Take files in, each whole or not at all; `base` is for what a table of attempts leaves out.

    word: one of `WORDS`, what the coach decided where a file has things otherwise than the book.
    """
    tables = [f for f in files if _is_table_of_book(book, f)]
    done = [_taken_back(book, tables)] if tables else []
    return done + [_one(book, f, base, word) for f in files if f not in tables]


def _one(book: Book, file: File, base: Typed, word: str) -> Outcome:
    try:
        return Outcome(file, tuple(_kept(book, file, base, word)))
    except _Asked as asked:
        return Outcome(file, asks=asked.asks, choices=asked.choices)
    except BadInput as error:
        if any("--again" in f.rule for f in error.faults) and not word:
            ask = "This table was taken in before, on another day or with other words beside it."
            again = ("again", "Take every row in as another attempt")
            return Outcome(file, asks=(ask,), choices=(again,))
        plain = BadInput(replace(f, rule=_OPTION.sub("", f.rule)) for f in error.faults)
        return Outcome(file, faults=plain.told())


def _kept(book: Book, file: File, base: Typed, word: str) -> list[str]:
    """Take one file in and tell what was done."""
    name, data = file.name, file.data
    if data[:15] == b"SQLite format 3":
        rule = "is a whole book; close this desk and open that one: phasemark desk FILE.book"
        raise BadInput([Fault("file", rule, None, name)])
    kind = _kind(file)
    most = LARGEST_TOML if kind == "toml" else LARGEST_FILE
    if len(data) > most:
        raise BadInput([Fault("file", f"at most {most:,} bytes allowed", len(data), name)])
    if kind == "json":
        who, drill, new = keep_plan_text(book, text_in(data, name))
        return [f"{who}: plan of {drill} {'kept' if new else 'was kept already'}"]
    if kind == "toml":
        text = text_in(data, name)
        table = table_of(text, name)
        own = is_own(table) and "name" not in table
        return _own(book, text, name, word) if own else _athlete(book, text, name, word)
    text, _ = table_in(data, name)
    titles = {column_name(t) for t in split_table(text, name)[0].cells}
    if set(NEEDED) <= titles:
        kept = _roster(book, text, name, word)
        weight = "weight counts where marks are shared; the book does not keep it"
        return [*kept, weight] if "weight" in titles else kept
    return _attempts(book, text, name, base, word)


def _kind(file: File) -> str:
    """What a file is written in: by its ending, or for a pasted text by how it reads."""
    ending = file.name.rpartition(".")[2].lower()
    if ending in ("toml", "json"):
        return ending
    if file.name != PASTED:
        return "table"
    text = file.data.decode("utf-8", "replace")
    if text.lstrip().startswith("{"):
        return "json"
    lines = [row for row in text.splitlines() if row.strip() and not row.lstrip().startswith("#")]
    bare = bool(lines) and bool(re.match(r"\s*(\[|[\w\"'.-]+\s*=)", lines[0]))
    return "toml" if bare else "table"


# --- athletes -------------------------------------------------------------------------------------


def _known(book: Book) -> dict[str, Member]:
    return {same(m.name): m for m in members(book)}


def _differing(name: str, before: str, after: str) -> list[str]:
    """Lines that go and come, as a coach reads them."""
    rows = changed_lines(before, after)
    return [f"{name}, {'book' if r[0] == '-' else 'file'}: {r[2:]}" for r in rows]


def _athlete(book: Book, text: str, name: str, word: str) -> list[str]:
    who = athlete_from(table_of(text, name), name, text)
    member = _known(book).get(same(who.name))
    if member is not None and member.file is not None:
        if member.file.strip() == text.strip():
            return [f"{who.name}: in the book already, as this file has it"]
        if word != "all":
            differing = _differing(who.name, member.file, text)
            raise _Asked(differing or [f"{who.name}: other spaces"], REPLACE)
    ((kept, new),) = keep_texts(book, [text], name)
    return [f"{kept}: {'new in the book' if new else 'brought up to date'}"]


def _roster(book: Book, text: str, name: str, word: str) -> list[str]:
    """A table of athletes: who is new is taken in; who is known keeps what the table does not say."""
    squad = squad_from(text, name)
    if squad.faults:
        raise BadInput(squad.faults)
    known, new, changed, asks = _known(book), [], [], []
    for row in squad.members:
        member = known.get(same(row.athlete.name))
        if member is None:
            new.append(row.text)
            continue
        before = member.file or ""
        told = {k: shown_value(v) for k, v in table_of(row.text, name).items()}
        made = text_with(before, {**told_of(member), **told, "name": member.name})
        if made.split() != before.split():
            changed.append(made)
            asks += _differing(member.name, before, made)
    if changed and word not in WORDS[:3]:
        first = [f"{counted(len(new), 'athlete')} new"] if new else []
        choices = [("new", "Take in only who is new")] if new else []
        raise _Asked([*first, *asks], *choices, ("all", "Bring these up to date too"))
    texts = (new if word != "changed" else []) + (changed if word in ("changed", "all") else [])
    kept = keep_texts(book, texts, name)
    same_count = len(squad.members) - len(new) - len(changed)
    lines = [
        f"{who}: {'new in the book' if fresh else 'brought up to date'}" for who, fresh in kept
    ]
    more = [f"{counted(same_count, 'athlete')} in the book already, the same"] if same_count else []
    return lines + more


# --- own drills and venues ------------------------------------------------------------------------


def _own(book: Book, text: str, name: str, word: str) -> list[str]:
    found = changes_of(book, text, name)
    other = [c for c in found if c.state == "changed"]
    if other and word != "all":
        raise _Asked([f"{c.kind} {c.title}: the book has it otherwise" for c in other], REPLACE)
    put_own(book, found)
    return [f"{c.kind} {c.title}: {_STATES[c.state]}" for c in found]


_STATES: Final = {
    "new": "new", "changed": "changed; the earlier one stays in the book",
    "back": "offered again", "same": "there already",
}  # fmt: skip


# --- attempts -------------------------------------------------------------------------------------


def _attempts(book: Book, text: str, name: str, base: Typed, word: str) -> list[str]:
    def decide(found: Compared) -> str:
        if word in WORDS[:3]:
            return word
        if found.changed:
            raise _Asked(
                [_otherwise(c) for c in found.changed],
                ("changed", "Correct these; the earlier figures stay in the book"),
                *([("new", f"Leave these, take in {len(found.new)} new")] if found.new else []),
                *([("all", "Correct these and take in what is new")] if found.new else []),
            )
        return "new"

    fields = {"athlete": base.athlete, "drill": base.drill, "day": base.day, "place": base.place}
    only = {field: field for field, value in fields.items() if value}
    taken = take_in_text(book, (name, text), base, None, word == "again", decide, only)
    rest = taken.not_taken
    lines = [
        text
        for count, text in (
            (len(taken.new), f"{counted(len(taken.new), 'attempt')} taken in"),
            (len(taken.changed), f"{counted(len(taken.changed), 'attempt')} corrected; the earlier "
             "figures stay in the book"),
            (len(rest.same), f"{counted(len(rest.same), 'attempt')} in the book already"),
            (len(rest.new) + len(rest.changed),
             f"{counted(len(rest.new) + len(rest.changed), 'row')} of the table left out"),
            (len(rest.left), f"{counted(len(rest.left), 'attempt')} of these days in the book but "
             "not in the table"),
        )
        if count
    ]  # fmt: skip
    looks = [f"look at {s.athlete}: {w}" for s in taken.new for w in s.warnings]
    looks += [f"look at {c.ready.athlete}: {w}" for c in taken.changed for w in c.ready.warnings]
    return lines + looks[:MOST_SHOWN]


def _otherwise(change: Changed) -> str:
    """One row beside the book."""

    def said(value: Any) -> str:
        return "nothing" if value is None else str(value)

    parts = [f"{k}: {said(change.before[k])} to {said(v)}" for k, v in change.after.items()]
    return f"line {change.line}, {change.ready.athlete}, {change.ready.day}: {'; '.join(parts)}"


# --- a whole book's tables ------------------------------------------------------------------------


def _table_name(file: File) -> str:
    return re.split(r"[/\\]", file.name)[-1].removesuffix(".csv")


def _is_table_of_book(book: Book, file: File) -> bool:
    """Whether a file is one that "the same as tables" wrote."""
    table = _table_name(file)
    if table not in TABLES:
        return False
    head = file.data.split(b"\n", 1)[0].decode("utf-8", "replace").strip("\ufeff\r\n ")
    return set(head.split(",")) == set(columns_of(book.db, table))


def _taken_back(book: Book, files: Sequence[File]) -> Outcome:
    """A whole book's tables, into an empty book only."""
    texts = {_table_name(f): f for f in files}
    all_of = File("tables of a whole book", b"")

    def read(table: str) -> tuple[str, str]:
        if table in texts:
            return text_in(texts[table].data, texts[table].name), texts[table].name
        if table == "own":
            return "", ""
        raise BadInput([Fault(f"{table}.csv", "is missing; choose all tables together")])

    if any(book.rows(f"SELECT 1 FROM {table} LIMIT 1") for table in TABLES[1:]):
        rule = "go into an empty book only, and this one is not; nothing was taken in"
        return Outcome(all_of, faults=(str(Fault("tables", rule)),))
    try:
        counts = back_from(book, read)
    except BadInput as error:
        return Outcome(all_of, faults=error.told())
    told = f"{counted(counts['attempt'], 'attempt')} of {counted(counts['athlete'], 'athlete')}"
    return Outcome(all_of, (told,))
