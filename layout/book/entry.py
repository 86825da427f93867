"""One line per attempt: from what a coach types to a row of the book."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from layout.book import marks, typed
from layout.book.people import Planned, find_member, plan_for
from layout.book.store import Book
from layout.faults import refuse
from layout.plan.drill import Drill, catalogue
from layout.plan.units import parse_length, show_length
from layout.plan.words import MOVES
from layout.reading import line_text, nearest

DOUBTS: Final = 3.0
SHARE: Final = 0.15
"""A phase this many doubts, or this share, off its plan is asked about (ours)."""
FIELDS: Final[dict[str, Callable[[str, str], Any]]] = {
    "strides": lambda f, t: typed.read_whole(f, t, 0, 24),
    "speed": typed.read_speed,
    "wind": typed.read_wind,
    "surface": typed.read_surface,
    "foul": lambda f, t: int(typed.read_yes(f, t)),
    "note": typed.read_note,
    "runs": lambda f, t: typed.read_whole(f, t, 1, 99),
    "knee_gap": typed.read_gap,
    "support_knee": typed.read_angle,
    "free_knee": typed.read_angle,
    "free_thigh": typed.read_angle,
    "trunk": typed.read_angle,
    "kind": lambda f, t: typed.read_word(f, t, typed.KINDS),
}
"""Columns that are typed as they are, and how each is read."""
PLACE: Final = "training"
"""Place of the first session where none is given."""
AGREE: Final = 0.015
"""Total and phases, each rounded to a centimetre, may miss each other by this [m] (ours)."""
UNEVEN: Final = 2.0
"""Phases of one attempt further apart than so many times are asked about (ours)."""


@dataclass(frozen=True)
class Typed:
    """One attempt as typed.

    Attributes
    ----------
    athlete, drill : str
        Names, or the beginnings of names.
    readings : tuple of str
        In the order of the landings; see `layout.book.marks.places`.
    zero : str
    day, place : str or None
        Today, and the place of the latest session, where left out.
    pit, behind, total, moves : str or None
        Take-off line to pit, take-off toe behind its mark, measured total, moves such as "hop step".
    session_note : str or None
        Kept with the session; an earlier one stays among the corrections.
    run : str or None
        Its number in a table, with the set's before it where there are sets: 3, 2/3.
    fields : mapping of str to str
        Of `FIELDS`.
    """

    athlete: str
    drill: str
    readings: tuple[str, ...] = ()
    zero: str = "board"
    day: str | None = None
    place: str | None = None
    pit: str | None = None
    behind: str | None = None
    total: str | None = None
    moves: str | None = None
    session_note: str | None = None
    run: str | None = None
    fields: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Saved:
    """What was put down.

    Attributes
    ----------
    id : int
        Number of the attempt.
    athlete, drill, day, place : str
    moves : tuple of str
    lengths : tuple of float or None
        [m]
    total : float or None
        [m]
    warnings : tuple of str
        What looks unlikely and was kept all the same.
    """

    id: int
    athlete: str
    drill: str
    day: str
    place: str
    moves: tuple[str, ...]
    lengths: tuple[float | None, ...]
    total: float | None
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class Shape:
    """What entry needs to know of a drill."""

    slug: str
    moves: tuple[str, ...]
    sand: bool
    run: bool
    strides: int | None
    plan: Planned | None


def find_slug(book: Book, name: str, own: Mapping[str, Drill] | None = None) -> str:
    """A drill by its name or the beginning of it: the catalogue's, the coach's or a kept plan's.

    Raises
    ------
    BadInput
    """
    known = {**catalogue(), **(own or {})}
    slugs: dict[str, None] = dict.fromkeys(
        [*known, *(str(r[0]) for r in book.rows("SELECT DISTINCT drill FROM plan"))]
    )
    wanted = name.strip().lower()
    titles = {d.title.lower(): s for s, d in known.items()}
    if wanted in slugs:
        return wanted
    if wanted in titles:
        return titles[wanted]
    found = [s for s in slugs if s.startswith(wanted)] if len(wanted) >= 3 else []
    if len(found) == 1:
        return str(found[0])
    if found:
        raise refuse("drill", f"more of the name wanted: {', '.join(found[:5])}", name)
    hint = nearest(wanted, slugs) or "; see phasemark plan --list"
    raise refuse("drill", f"is not known{hint}", name)


def _moves(text: str) -> tuple[str, ...]:
    parts = tuple(text.lower().replace(",", " ").split())
    if not 1 <= len(parts) <= 30 or any(p not in MOVES for p in parts):
        raise refuse("moves", "1 to 30 of hop, step, jump wanted, such as 'hop step'", text)
    return parts


def shape_of(
    book: Book, given: Typed, athlete: int, day: str, own: Mapping[str, Drill] | None
) -> Shape:
    slug = find_slug(book, given.drill, own)
    plan = plan_for(book, athlete, slug, day)
    drill = {**catalogue(), **(own or {})}.get(slug)
    moves = _moves(given.moves) if given.moves else None
    if plan is not None:
        shape = Shape(slug, plan.moves, plan.sand, plan.run, plan.strides, plan)
    elif drill is not None:
        strides = None if drill.full else drill.strides
        shape = Shape(slug, drill.chain, drill.ends == "sand", drill.start == "run", strides, None)
    else:
        raise refuse("drill", "no plan of it is kept for this athlete; --moves wanted", slug)
    if moves is None or moves == shape.moves:
        return shape
    return Shape(slug, moves, shape.sand, shape.run, shape.strides, None)


def ends_in_sand(slug: str) -> bool:
    """Whether a drill of the catalogue ends in the sand; no for any other."""
    drill = catalogue().get(slug)
    return drill is not None and drill.ends == "sand"


def _zero_x(given: Typed, plan: Planned | None) -> float | None:
    """Where the tape's zero is, from the first contact's mark [m]; None when not known."""
    if given.zero == "pit":
        if given.pit is not None:
            return parse_length(given.pit, "board-at", lowest=1.0, highest=20.0)
        return None if plan is None else plan.pit_x
    if given.zero == "start":
        return -plan.run_up if plan is not None and plan.run and plan.run_up > 0 else None
    return 0.0


@dataclass(frozen=True)
class Jumped:
    """What readings say.

    Attributes
    ----------
    lengths : tuple of float or None
        Of the phases, toe to toe [m].
    total : float or None
        From the take-off toe [m]: the effective distance.
    behind : float or None
        Take-off toe behind its mark [m]; total less that is the distance from the mark, which from a
        board is the official one. None where it was not measured.
    looks : tuple of str
        What does not agree and was kept all the same.
    """

    lengths: tuple[float | None, ...]
    total: float | None
    behind: float | None
    looks: tuple[str, ...] = ()


def measured(given: Typed, moves: Sequence[str], sand: bool, plan: Planned | None) -> Jumped:
    """Lengths of the phases and the total, from what was read; a total typed is from the mark.

    effective = official + toe behind the line

    Raises
    ------
    BadInput

    Source: the definition by Hay 1990/1992, from memory.
    """
    if given.zero not in marks.ZEROS:
        hint = nearest(given.zero, marks.ZEROS)
        raise refuse("zero", f"one of {', '.join(marks.ZEROS)} wanted{hint}", given.zero)
    lengths: tuple[float | None, ...] = (None,) * len(moves)
    total = behind = None
    if given.behind is not None:
        behind = parse_length(given.behind, "behind", lowest=-0.5, highest=3.0)
        if not given.readings and given.total is None:
            raise refuse("behind", "has no meaning without readings or a total", given.behind)
    if given.readings:
        lengths, total, behind = _read(given, moves, sand, plan, behind)
    looks = []
    if given.total is not None:
        said = marks.parse_reading(given.total, "total")
        if said is None or said.value <= 0:
            raise refuse("total", "a length above 0 wanted", given.total)
        most = marks.LONGEST * len(moves)
        parse_length(said.value, "total", lowest=marks.SHORTEST * len(moves), highest=most)
        whole = round(said.value + (behind or 0.0), 6)
        lengths = marks.with_total(lengths, whole)
        total = marks.whole(lengths) or whole
        if abs(total - whole) > AGREE + 1e-9:
            from_toe = f" + {show_length(behind)} behind" if behind else ""
            looks.append(
                f"total {show_length(said.value)}{from_toe} and the phases' sum "
                f"{show_length(total)} do not agree; the sum is kept"
            )
    if behind is not None and behind < 0:
        looks.append(f"the toe is {show_length(-behind)} past its mark; on a board that is a foul")
    return Jumped(lengths, total, behind, tuple(looks))


def _read(
    given: Typed, moves: Sequence[str], sand: bool, plan: Planned | None, behind: float | None
) -> tuple[tuple[float | None, ...], float | None, float | None]:
    """Lengths, total and toe behind its mark from the tape's readings [m]."""
    count = len(given.readings)
    labels = marks.named(moves)
    toe_read = count == len(moves) + 1
    labels = ["take-off toe", *labels] if count != len(moves) else labels
    labels += [f"reading {i + 1}" for i in range(len(labels), count)]
    pairs = zip(given.readings, labels, strict=False)
    readings = [marks.parse_reading(text, label) for text, label in pairs]
    if given.zero == "each":
        lengths = tuple(None if r is None else r.value for r in readings)
        marks.check_lengths(lengths, moves)
        if behind is not None and given.total is None:
            raise refuse("behind", "has no meaning where each phase is measured by itself",
                         given.behind)  # fmt: skip
        return lengths, marks.whole(lengths), behind
    if toe_read and behind is not None:
        raise refuse("behind", "is not wanted where the take-off toe is read", given.behind)
    zero_x = _zero_x(given, plan)
    xs = marks.places(readings, moves, given.zero, zero_x, sand, behind or 0.0)
    if toe_read and xs[0] is not None and zero_x is not None:
        behind = round(-(zero_x + xs[0]), 6) + 0.0
    return marks.phases(xs, moves), marks.whole((), xs), behind


def as_typed(given: Typed) -> str | None:
    """Readings as they were typed, kept beside what was worked out from them."""
    parts = [*given.readings]
    for name, text in (("total", given.total), ("behind", given.behind), ("pit", given.pit)):
        if text is not None:
            parts.append(f"{name} {text}")
    return line_text("readings", " ; ".join(parts), 400) if parts else None


def session_of(book: Book, day: str, place: str | None) -> tuple[int, str]:
    """The session of a day and place, begun where there is none."""
    if place is not None:
        place = line_text("place", place, 60)
    else:
        latest = "SELECT place FROM session ORDER BY day = ? DESC, day DESC, id DESC LIMIT 1"
        found = book.rows(latest, (day,))
        place = found[0][0] if found else PLACE
    found = book.rows("SELECT id FROM session WHERE day = ? AND place = ?", (day, place))
    if found:
        return found[0][0], place
    made = book.db.execute("INSERT INTO session (day, place) VALUES (?, ?)", (day, place))
    return int(made.lastrowid or 0), place


def unlikely(
    moves: Sequence[str], lengths: Sequence[float | None], plan: Planned | None
) -> list[str]:
    """What is far from the plan, or from the attempt's other phases where there is none."""
    out = []
    if plan is None or plan.moves != tuple(moves):
        known = [(n, d) for n, d in zip(marks.named(moves), lengths, strict=True) if d is not None]
        known.sort(key=lambda k: k[1])
        if known and known[-1][1] > UNEVEN * known[0][1]:
            short, long = known[0], known[-1]
            out.append(
                f"{long[0]} {show_length(long[1])} is more than {UNEVEN:g} times {short[0]} "
                f"{show_length(short[1])}; a wrong digit?"
            )
        return out
    rows = zip(marks.named(moves), lengths, plan.lengths, plan.doubts, strict=True)
    for name, length, wanted, doubt in rows:
        if length is None:
            continue
        wide = max(DOUBTS * doubt, 0.10) if doubt is not None else SHARE * wanted
        if abs(length - wanted) > wide:
            side = "longer" if length > wanted else "shorter"
            out.append(
                f"{name} {show_length(length)} is {show_length(abs(length - wanted))} {side} than "
                f"planned ({show_length(wanted)}); a wrong digit?"
            )
    return out


def put(book: Book, given: Typed, own: Mapping[str, Drill] | None = None) -> Saved:
    """Put one attempt down, inside a change that the caller holds (`Book.writing`).

    Parameters
    ----------
    book : Book
    given : Typed
    own : mapping, optional
        The coach's own drills.

    Returns
    -------
    Saved

    Raises
    ------
    BadInput
        Anything impossible; nothing is kept then.
    """
    member = find_member(book, given.athlete)
    day = typed.read_past_day("on", given.day)
    shape = shape_of(book, given, member.id, day, own)
    jumped = measured(given, shape.moves, shape.sand, shape.plan)
    lengths, total = jumped.lengths, jumped.total
    values: dict[str, Any] = {"strides": shape.strides, "foul": 0, "runs": 1}
    values |= {key: FIELDS[key](key, text) for key, text in given.fields.items()}
    if values["runs"] > 1 and total is not None:
        raise refuse("runs", "readings belong to one run; write them one by one", values["runs"])
    session, place = session_of(book, day, given.place)
    if given.session_note is not None:
        note = typed.read_note("session-note", given.session_note)
        book.db.execute("UPDATE session SET note = ? WHERE id = ?", (note, session))
    readings = as_typed(given)
    values |= {
        "session": session,
        "athlete": member.id,
        "plan": shape.plan.id if shape.plan else None,
        "drill": shape.slug,
        "moves": " ".join(shape.moves),
        "lengths": json.dumps(lengths),
        "total": total,
        "behind": jumped.behind,
        "run": given.run,
        "readings": readings,
        "zero": given.zero if given.readings else None,
        "contacts": values["runs"] * (len(shape.moves) + shape.run),
        "made": datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds"),
    }
    warnings = [*jumped.looks, *unlikely(shape.moves, lengths, shape.plan)]
    if readings is not None:
        twin = (
            "SELECT id, readings, drill FROM attempt WHERE athlete = ? AND session = ? ORDER BY id"
        )
        last = book.rows(twin + " DESC LIMIT 1", (member.id, session))
        if last and last[0][1:] == (readings, shape.slug):
            warnings.append(f"the same readings as attempt {last[0][0]}; entered twice?")
    keys = ", ".join(values)
    slots = ", ".join("?" * len(values))
    made = book.db.execute(f"INSERT INTO attempt ({keys}) VALUES ({slots})", tuple(values.values()))
    return Saved(
        int(made.lastrowid or 0), member.name, shape.slug, day, place, shape.moves, lengths, total,
        tuple(warnings),
    )  # fmt: skip


def add(book: Book, given: Typed, own: Mapping[str, Drill] | None = None) -> Saved:
    """Put one attempt down for good.

    Raises
    ------
    BadInput
        Anything impossible, or the book cannot be written; nothing is kept then.
    """
    with book.writing():
        return put(book, given, own)
