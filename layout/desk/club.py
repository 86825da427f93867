"""One athlete as a form in either unit system, each fault beside its field; and the athlete's own figures."""

from __future__ import annotations

import contextlib
import difflib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from layout.athlete.athlete import Athlete, athlete_from
from layout.athlete.fields import Field, fields_of, toml_line
from layout.book.own import changes_of, put_own
from layout.book.people import Member, find_member, keep_text, members
from layout.book.store import Book
from layout.desk.form import beside, by_field, known_only, lines_of, mark_of, refuse_changed
from layout.rules.standing import CAREFUL_AGE
from layout.words.faults import BadInput, Fault, refuse
from layout.words.names import same
from layout.words.reading import table_of
from layout.words.trade import LEGS, LEVELS
from layout.words.units import FOOT, POUND, System, show_length

LABELS: Final = {
    "stature": "Height", "mass": "Mass", "leg": "Take-off leg", "best": "Best jump",
    "best_behind": "Toe behind the line at the best",
    "target": "Target", "best_phases": "Phases of the best", "born": "Year of birth",
    "build": "Body build", "training_years": "Years of training", "speed": "Speed at the board",
    "standing_jump": "Standing long jump", "five_bounds": "Five bounds from standing",
    "flying_30": "30 m flying [s]", "strides": "Strides of the full approach",
}  # fmt: skip
FIRST: Final = (
    "name", "stature", "born", "level", "training_years", "leg", "best", "target", "strides", "mass",
)  # fmt: skip
"""In the order a coach is asked: what is needed, what opens drills, what sets the marks; then the rest."""
UNKNOWN: Final = {
    "born": f"such as 2009; unknown counts as {CAREFUL_AGE} years, and most drills stay closed",
    "level": "unknown counts as beginner",
}
"""What it costs not to know a field."""
WORDS: Final[dict[str, tuple[str, ...]]] = {
    "leg": LEGS, "level": LEVELS, "build": ("male", "female", "average"),
}  # fmt: skip
"""Fields that are one of a few words."""
SUCH_AS: Final[dict[str, tuple[str, str]]] = {
    "stature": ("1.75 or 175 cm", "5-9 or 5 ft 9 in"), "mass": ("58 kg", "128 lb"),
    "best": ("12.10", "39-8 1/2"), "best_behind": ("12 cm", "5 in"), "target": ("12.50", "41-0 1/4"),
    "best_phases": ("4.30/3.50/4.10 m", "14-1/11-6/13-5"), "speed": ("8.3 or 29.9 km/h", "18.6 mph"),
    "standing_jump": ("1.85", "6-1"), "five_bounds": ("9.80", "32-2"), "flying_30": ("3.85", "3.85"),
}  # fmt: skip
"""What a field may hold, in metres and in feet."""
_MPH: Final[float] = float(FOOT) * 5280 / 3600
_READ_AS: Final[dict[str, Callable[[float, System], str]]] = {
    **dict.fromkeys(
        ("stature", "best", "best_behind", "target", "standing_jump", "five_bounds"), show_length
    ),
    "mass": lambda v, tape: f"{v:.1f} kg" if tape == "cm" else f"{v / float(POUND):.0f} lb",
    "speed": lambda v, tape: f"{v:.2f} m/s" if tape == "cm" else f"{v / _MPH:.1f} mph",
}  # fmt: skip
"""How a field's value in SI is read back."""


@dataclass(frozen=True)
class Row:
    """One field of the form: what it is called, what is in it, and what is wrong with that."""

    name: str
    label: str
    hint: str
    value: str
    words: tuple[str, ...]
    needed: bool
    faults: tuple[str, ...] = ()
    read: str = ""

    @property
    def pairs(self) -> list[tuple[str, str]]:
        """The words it is one of, each as it is sent and as it is read."""
        return [(word, word) for word in self.words]


def shown_value(value: Any) -> str:
    """A value of a file as one would type it."""
    if isinstance(value, list):
        return "/".join(map(str, value))
    return "" if value is None else str(value)


def told_of(member: Member | None) -> dict[str, str]:
    """What a form about an athlete begins with."""
    if member is None:
        return {}
    if member.file is not None:
        return {k: shown_value(v) for k, v in table_of(member.file, member.name).items()}
    names = ("name", "leg", "born", "level", "stature", "mass")
    return {n: shown_value(getattr(member, n)) for n in names}


def rows(
    values: Mapping[str, str], faults: tuple[Fault, ...] = (), tape: System = "cm"
) -> tuple[list[Row], list[str]]:
    """The form's fields in their order, and the faults that belong to none of them."""
    known = {field.name: field for field in fields_of(Athlete)}
    wrong, other = by_field(faults, known)
    names = [*FIRST, *(n for n in known if n not in FIRST)]
    return [_row(known[n], values.get(n, ""), wrong.get(n, []), tape) for n in names], other


def _row(field: Field, value: str, faults: list[Fault], tape: System) -> Row:
    words = WORDS.get(field.name, ())
    if words and value not in ("", *words):
        words = (*words, value)  # told as it is, and refused when it is kept
    label = LABELS.get(field.name, field.name.replace("_", " ").capitalize())
    told = tuple(map(beside, faults))
    # A help that only says the label again is none.
    hint = field.help if not words and any(c in field.help for c in ",;:") else ""
    if field.name in SUCH_AS:
        hint = f"such as {SUCH_AS[field.name][tape == 'ft']}"
    hint = UNKNOWN.get(field.name, hint)
    read = "" if told or not value else _read_as(field, value, tape)
    return Row(field.name, label, hint, value, words, field.needed, told, read)


def _read_as(field: Field, value: str, tape: System) -> str:
    """A value that is kept as it was typed, as it reads in a unit system; empty where that says no more."""
    if field.name not in _READ_AS:
        return ""
    try:
        shown = _READ_AS[field.name](field.kind.read(field.name, field.kind.typed(value), {}), tape)
    except BadInput:
        return ""
    return "" if shown == value else shown


class OwnFigure(NamedTuple):
    """One of an athlete's own figures: its name, its value, and what its file says of how sure it is."""

    label: str
    value: str
    sure: str


def own_figures(member: Member | None) -> list[OwnFigure]:
    """What stands in an athlete's file instead of the usual figures, with its margins."""
    if member is None or member.file is None:
        return []
    own = table_of(member.file, member.name).get("calibration", {})
    text = member.file.partition("[calibration]")[2]
    said = {m["name"]: m["said"].strip() for m in _REMARK.finditer(text)}
    return [
        OwnFigure(label, shown_value(own[name]), said.get(name, "").replace("+-", "±"))
        for name, label in OWN.items()
        if name in own
    ]


OWN: Final = {
    "slope": "Speed lost for height gained", "pull": "Pull back to the own rhythm",
    "tau": "Build-up of the run-up [s]", "stand_speed": "Take-off speed from standing [m/s]",
    "losses": "Speed lost at hop, step, jump", "run_up": "Measured run-up",
    "margin": "Margin of a forecast",
}  # fmt: skip
_REMARK: Final = re.compile(r"^[ \t]*(?P<name>\w+)[ \t]*=[^#\n]*#(?P<said>[^\n]*)", re.MULTILINE)


def text_with(before: str, values: Mapping[str, str]) -> str:
    """An athlete file with the form's values in it; everything else stays as it stands.

    Refused where the file is written in a way that lines cannot be put into.
    """
    table = table_of(before, "athlete file")
    lines = before.splitlines()
    head = next((i for i, row in enumerate(lines) if row.lstrip().startswith("[")), len(lines))
    typed = {f.name: f.kind.typed for f in fields_of(Athlete)}
    top, wanted = lines_with(lines[:head], table, values, typed)
    return sure("\n".join([*top, *lines[head:]]) + "\n", wanted)


def entry_of(text: str) -> tuple[list[str], list[str], list[str]]:
    """Lines of a file of one own entry: to its head, what it says itself, and tables below that."""
    lines = text.splitlines()
    heads = [i for i, row in enumerate(lines) if row.lstrip().startswith("[")]
    first, end = heads[0] + 1, heads[1] if len(heads) > 1 else len(lines)
    return lines[:first], lines[first:end], lines[end:]


def put_entry(book: Book, entry: str, made: Callable[[], str], faults: list[Fault]) -> None:
    """Keep an own drill or venue as a form makes its file; refused with every fault, `faults` first.

    entry: such as `drill.rhythm`; what is wrong with its name stands beside the form's own field.
    """
    try:
        found = changes_of(book, made())
    except BadInput as error:
        faults += [f for f in error.faults if f.field != entry]
    if faults:
        raise BadInput(faults)
    put_own(book, found)


def lines_with(
    top: list[str],
    table: Mapping[str, Any],
    values: Mapping[str, str],
    typed: Mapping[str, Callable[[str], Any]],
) -> tuple[list[str], dict[str, Any]]:
    """Lines with a form's values in them, and the table they are to say; `typed` reads each field's text."""
    wanted = dict(table)
    lines: dict[str, str | None] = {}
    for name, read in typed.items():
        text = values.get(name, "").strip()
        if text == shown_value(table.get(name)):
            continue
        wanted.pop(name, None)
        lines[name] = None
        if text:
            wanted[name] = read(text)
            lines[name] = toml_line(name, wanted[name])
    return put_lines(top, lines), wanted


def put_lines(top: list[str], lines: Mapping[str, str | None]) -> list[str]:
    """Lines of a file with those of some names in place of what they said; None takes a name away."""
    for name, line in lines.items():
        new = [] if line is None else line.splitlines()
        at = [i for i, row in enumerate(top) if row.partition("=")[0].strip(" \t\"'") == name]
        where = at[0] if at else len(top)
        top = [*top[:where], *new, *top[where + (_length(top[where:]) if at else 0) :]]
    return top


def _length(rows: list[str]) -> int:
    """How many lines the value takes that begins on the first."""
    for end in range(1, len(rows) + 1):
        with contextlib.suppress(BadInput):
            table_of("\n".join(rows[:end]), "")
            return end
    return 1


def sure(text: str, wanted: Mapping[str, Any]) -> str:
    """A text that says what is wanted; refused where it does not."""
    try:
        if table_of(text, "file") == wanted:
            return text
    except BadInput:  # such as a table of its own that a line of the same name stands beside
        pass
    raise refuse("file", "cannot have lines put in; change the file itself and take it in again")


def changed_lines(before: str, after: str) -> tuple[str, ...]:
    """Lines that go ("- ") and come ("+ ") where one text follows another."""
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return tuple(line for line in lines if line[:1] in "+-" and line[1:].strip())


def keep(book: Book, member: Member | None, given: Mapping[str, str]) -> int:
    """Keep an athlete as the form says; the earlier values stay in the book's corrections.

    Refused with every fault; where the athlete was changed meanwhile, or a new one's name is taken.
    """
    names = {f.name for f in fields_of(Athlete)}
    known_only(given, names | {"a", "was", "tape"})
    values = lines_of(given, names)
    if member is None and any(same(m.name) == same(values.get("name", "")) for m in members(book)):
        raise refuse("name", "is in this book already; choose it on Club to change it")
    if member is not None:
        values["name"] = member.name
        refuse_changed("athlete", given, mark_of(member), member.name)
    text = text_with((member.file if member is not None else None) or "", values)
    athlete_from(table_of(text, ""), "", text)  # every fault by its field
    name, _ = keep_text(book, text)
    return find_member(book, name, exact=True).id
