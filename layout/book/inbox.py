"""Runs from phones: kept until the coach takes each in, changes it or leaves it out; each only once.

Nothing goes into the book's attempts by itself.
"""

from __future__ import annotations

import datetime
import hashlib
import re
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from layout.book import entry, marks, rows
from layout.book.entry import Ready, Saved
from layout.book.message import Message, found_in, new_key, readings_in
from layout.book.people import find_member
from layout.book.schema import put_row
from layout.book.store import Book
from layout.book.typed import Typed
from layout.book.waits import SAID, SOUNDS, Waiting, count, one
from layout.words.faults import BadInput, Fault, refuse
from layout.words.units import tidy

MOST_TEXT: Final = 60_000
"""Characters of one text read at most: some hundreds of messages (ours)."""
MOST_WAITING: Final = 5_000
"""Runs that may wait at once (ours): no practice has so many."""
FULL: Final = f"{MOST_WAITING:,} runs wait already; take some in or leave them out first"
_FRACTION: Final = re.compile(r"(?<![0-9])([0-9]{1,2}-[0-9]{1,2}) ([1-7])/([248])(?![0-9])")
_BETWEEN: Final = re.compile(r"(?<=[0-9]) ?[/|] ?(?=[0-9x?])")
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{1,2}[.][0-9]{1,2}[.][0-9]{4}")


@dataclass(frozen=True)
class Received:
    """What a text brought: new runs, how many were here already or were struck out, and faults."""

    new: tuple[int, ...] = ()
    had: int = 0
    struck: int = 0
    faults: tuple[Fault, ...] = ()


# --- pages handed out -------------------------------------------------------------------------------


def hand_out(book: Book, plan: int) -> str:
    """The key of the page of a kept plan, made where there is none."""
    with book.writing() as db:
        asked = "SELECT key FROM handed WHERE plan = ? AND door IS NULL ORDER BY id"
        found = db.execute(asked, (plan,)).fetchone()
        return str(found[0]) if found else put_handed(db, plan)[1]


def put_handed(db: sqlite3.Connection, plan: int, **door: Any) -> tuple[int, str]:
    """Number and key of a new page of a plan, inside a change; `door`: what else its row says."""
    key = new_key()
    return put_row(db, "handed", {"key": key, "plan": plan, "made": _now(), **door}), key


def _now() -> str:
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")


# --- what comes ---------------------------------------------------------------------------------------


def receive(book: Book, text: str, only: str = "") -> Received:
    """Keep the runs of a text until they are looked at; what is here already counts once.

    `only`: the page whose messages alone are read, for what a phone sends by itself.
    """
    if len(text) > MOST_TEXT:
        return Received(faults=(Fault("text", f"at most {MOST_TEXT:,} characters allowed"),))
    got = Received()
    counts: dict[str, int] = {}
    with book.writing():
        for found in found_in(text):
            try:
                if found.fault is not None:
                    raise BadInput([found.fault])
                if found.message is not None:
                    got = _message(book, found.message, only, got)
                elif only:
                    raise refuse("message", "is not one of this page's")
                else:
                    got = _line(book, found.typed, counts, got)
            except BadInput as error:
                got = replace(got, faults=(*got.faults, *error.at("", found.line).faults[:1]))
    return got


def _message(book: Book, message: Message, only: str, got: Received) -> Received:
    asked = (
        "SELECT p.athlete, p.id, p.drill FROM handed h JOIN plan p ON p.id = h.plan WHERE h.key = ?"
    )
    page = book.rows(asked, (message.key,))
    if only and message.key != only:
        raise refuse("message", "is not one of this page's")
    if not page:
        rule = (
            "is of a page that this book does not know (another book's, or its athlete was erased)"
        )
        raise refuse("message", rule)
    if count(book) + len(message.runs) > MOST_WAITING:
        raise refuse("message", FULL)
    athlete, plan, drill = page[0]
    for number, run in enumerate(message.runs, 1):
        words = " ".join(run.words) or "x"
        whole = f"{message.phone} {message.day} {message.zero} {number} {words}"
        row = {
            "athlete": athlete, "plan": plan, "drill": drill, "day": message.day,
            "zero": message.zero, "phone": message.phone, "run": number, "words": words,
        }  # fmt: skip
        got = _put(book, whole, row, run.struck, got)
    return got


def _put(book: Book, whole: str, row: dict[str, Any], struck: bool, got: Received) -> Received:
    """One run, known by all that was said of it; one that is struck stays struck."""
    mark = hashlib.sha256(whole.encode()).hexdigest()
    found = book.rows("SELECT id, struck FROM waiting WHERE mark = ?", (mark,))
    if found:
        number, was = found[0]
        if struck and was == 0:
            book.db.execute("UPDATE waiting SET struck = 1 WHERE id = ?", (number,))
            return replace(got, struck=got.struck + 1)
        return replace(got, had=got.had + 1)
    values = {**row, "mark": mark, "came": _now(), "state": "waits", "struck": int(struck)}
    return replace(got, new=(*got.new, put_row(book.db, "waiting", values)))


def _line(book: Book, text: str, counts: dict[str, int], got: Received) -> Received:
    """A line as a coach types it: name, drill, readings, and words of `SAID`, a zero or a day.

    The same line twice in one text is two runs; in another text of that day it is here already.
    """
    typed, said = _as_typed(book, text)
    made = entry.ready(book, typed)  # nobody confirmed it on a phone: what cannot be is refused now
    words = " ".join((*typed.readings, *said)) or "x"
    whole = f"typed {made.values['athlete']} {made.values['drill']} {made.day} {typed.zero} {words}"
    counts[whole] = counts.get(whole, 0) + 1
    row = {
        "athlete": made.values["athlete"], "plan": made.values["plan"],
        "drill": made.values["drill"], "day": made.day, "zero": typed.zero, "words": words,
    }  # fmt: skip
    return _put(book, f"{whole} {counts[whole]}", row, False, got)


def _as_typed(book: Book, text: str) -> tuple[Typed, tuple[str, ...]]:
    """What a line says: at its end readings, words of `SAID`, a zero, a day; before them who and what."""
    flat = _FRACTION.sub(_decimal, tidy(text))
    words = _BETWEEN.sub(" ", flat).split()
    zero, day = "board", None
    said: list[str] = []
    readings: list[str] = []
    while words:
        word = words[-1].strip(",;|")
        if word in marks.ZEROS:
            zero = word
        elif word in SAID:
            said.insert(0, word)
        elif _DAY.fullmatch(word):
            day = word
        elif word and (word in marks.UNKNOWN or marks.is_reading(word)):
            readings.insert(0, word)
        elif word:
            break
        words.pop()
    if not words or not (readings or said):
        rule = "a name, a drill and readings needed, such as: imka hop-step-sand 2.61 4.80"
        raise refuse("line", rule, text)
    if count(book) >= MOST_WAITING:
        raise refuse("line", FULL)
    athlete, drill = _who(book, words)
    read = readings_in(readings)
    return Typed(athlete, drill, read, zero, day=day, fields=fields_of(said)), tuple(said)


def _decimal(found: re.Match[str]) -> str:
    """Feet and inches with a fraction as one word."""
    return found[1] + f"{int(found[2]) / int(found[3]):g}".removeprefix("0")


def _who(book: Book, words: Sequence[str]) -> tuple[str, str]:
    """Name and drill out of the words before the readings; without a drill, the athlete's last."""
    wrong: BadInput | None = None
    for cut in range(len(words), 0, -1):
        name, drill = " ".join(words[:cut]).rstrip(":,"), "-".join(words[cut:]).strip(":,-").lower()
        try:
            member = find_member(book, name)
        except BadInput as error:
            wrong = error
            continue
        if drill:
            return member.name, entry.find_slug(book, drill)
        last = rows.attempts(book, member.id, last=1)
        if not last:
            raise refuse("drill", "needed with the first attempt of an athlete", " ".join(words))
        return member.name, last[0].drill
    assert wrong is not None
    raise wrong


def fields_of(said: Sequence[str]) -> dict[str, str]:
    """What was said of a run as fields of an attempt."""
    order = [w for w in SAID if w in said and w != "foul"]
    notes = [f"{w} landing" if w in SOUNDS else w for w in order]
    out = {"note": "; ".join(notes)} if notes else {}
    return {**out, "foul": "yes"} if "foul" in said else out


# --- taken in or left out -------------------------------------------------------------------------------


def as_typed(run: Waiting, changed: Mapping[str, Any] | None = None) -> Typed:
    """A run as if typed; `changed`: fields of `Typed` that the coach says otherwise."""
    typed = Typed(
        run.athlete, run.drill, readings_in(run.words.split()), run.zero, day=run.day,
        plan=run.plan, fields=fields_of(run.said),
    )  # fmt: skip
    return replace(typed, **(changed or {}))


def looked_at(book: Book, run: Waiting) -> Ready:
    """A run as it would be put down; refused where it cannot be as it is."""
    return entry.ready(book, as_typed(run))


def take(book: Book, number: int, changed: Mapping[str, Any] | None = None) -> Saved:
    """Put one run down as an attempt, as it came or changed; once."""
    with book.writing() as db:
        run = one(book, number)
        if run.state == "taken":
            raise refuse("run", f"was taken in already, as attempt {run.attempt}", number)
        saved = entry.put(book, entry.ready(book, as_typed(run, changed)))
        db.execute(
            "UPDATE waiting SET state = 'taken', attempt = ?, struck = min(2, 2 * struck) WHERE id = ?",
            (saved.id, number),
        )
    return saved


def leave(book: Book, number: int) -> None:
    """Leave a run out of the book; it can be taken in later all the same."""
    with book.writing() as db:
        run = one(book, number)
        if run.state == "taken" and not run.struck:
            raise refuse("run", f"was taken in already, as attempt {run.attempt}", number)
        left = "struck = 2" if run.state == "taken" else "state = 'left'"
        db.execute(f"UPDATE waiting SET {left} WHERE id = ?", (number,))
