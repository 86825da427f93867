"""Reading a TOML table field by field, collecting every fault with its line."""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, TypeVar

from animate.refused import Refused
from animate.whole_file import read_whole
from layout.words.faults import MOST_TOLD, BadInput, Fault, is_line, refuse
from layout.words.trade import SLUG_RULE, is_slug
from layout.words.units import parse_length

T = TypeVar("T")
Whence = tuple[Mapping[str, Any], str, str]
"""A TOML table, its file's name and its text."""
MISSING: Any = object()
"""Stands for a field without a default."""
LARGEST_FILE: Final = 2_000_000
"""Bytes read at most from a table or a saved plan."""
LARGEST_TOML: Final = 400_000
"""Bytes read at most from a file that a person writes by hand: twenty times the drills shipped."""
LONGEST_LINE: Final = 5_000
"""Characters of one line of such a file."""
MOST_ENTRIES: Final = 500
"""Drills, rungs or venues of one file."""
_DASHES: Final = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2212", "-"))
_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
LONGEST_WORD: Final = 40
"""Letters without a gap that still fit a column on paper."""
NOW: Final = {"jumped": "best_phases"}
"""Fields of earlier versions, and what they are called now."""
_NESTED: Final = re.compile(
    r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){9}"""
)
"""Keys within keys, deeper than any field here."""


def nearest(word: str, known: Iterable[str], most: int = 3) -> str:
    """The known names nearest to a mistyped one, as ", did you mean a, b?" or an empty string."""
    if len(word) > 2 * LONGEST_WORD:
        return ""
    plain = {k.lower(): k for k in known}
    if (now := NOW.get(word.strip().lower())) in plain:
        return f"; it is called {now} now"
    found = difflib.get_close_matches(word.lower(), list(plain), n=most, cutoff=0.5)
    close = [plain[f] for f in found]
    return f"; did you mean {', '.join(close)}?" if close else ""


def is_file(name: str) -> bool:
    """Whether a word names a file that is there; never raises, whatever the word."""
    return _is(name, Path.is_file)


def is_folder(name: str) -> bool:
    """Whether a word names a folder that is there; never raises, whatever the word."""
    return _is(name, Path.is_dir)


def spread(words: Sequence[str]) -> str:
    """What a shell may have done where file names stand for a ? or a *, to end a rule with.

    >>> spread(["imka", "2.61"])
    ''
    """
    files = [w for w in words if is_file(w)]
    if len(files) < 2 and not any(len(w) == 1 for w in files):
        return ""
    return (
        "; the shell may have put names of files for a ? or a *: write x for a reading that was not "
        "taken, and others in quotes"
    )


def _is(name: str, asked: Callable[[Path], bool]) -> bool:
    try:
        return asked(Path(name))
    except (OSError, ValueError):
        return False


def read_small(path: Path, largest: int = LARGEST_FILE) -> bytes:
    """Bytes of a file, refusing what is not there, not a regular file or too large."""
    try:
        return read_whole(path, largest)
    except OSError as error:
        rule = f"cannot be read ({error.strerror or error})"
    except Refused as error:
        rule = error.rule
    except ValueError as error:  # what the system says of a name that cannot be one
        rule = f"cannot be read ({error})"
    raise BadInput([Fault("file", rule, None, str(path))])


def read_text(path: Path, largest: int = LARGEST_FILE) -> str:
    """Read a small text file, refusing what is not there, not a file, empty or not UTF-8."""
    return text_in(read_small(path, largest), str(path))


def text_in(data: bytes, name: str) -> str:
    """The text of a file's bytes, refusing what is empty or not UTF-8."""
    if not data.strip():
        raise BadInput([Fault("file", "is empty", None, name)])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise BadInput([Fault("file", "must be UTF-8 text", None, name, line)]) from None


def read_toml(path: Path) -> tuple[dict[str, Any], str]:
    """Read a TOML file; returns its table and its text."""
    text = read_text(path, LARGEST_TOML)
    return table_of(text, str(path)), text


def table_of(text: str, name: str) -> dict[str, Any]:
    """The table of a TOML text; what is none, or goes beyond all use, is refused with its line."""
    for at, row in enumerate(text.split("\n"), 1):
        if len(row) > LONGEST_LINE or _NESTED.search(row):
            long = len(row) > LONGEST_LINE
            rule = (
                f"lines of at most {LONGEST_LINE} characters allowed" if long else "nested too deep"
            )
            raise BadInput([Fault("file", rule, row, name, at)])
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        found = re.search(r"at line (\d+)", str(error))
        line = int(found.group(1)) if found else text.count("\n") + 1
        rule = f"not valid TOML ({re.sub(r' *[(]at .*', '', str(error)).strip()})"
        raise BadInput([Fault("file", rule, None, name, line)]) from None


@lru_cache(maxsize=2)
def _lines(text: str) -> tuple[str, ...]:
    return tuple(text.splitlines())


def line_of(text: str, key: str, header: str = "") -> int:
    """The line a key stands on, inside a [header] table where one is named; 0 when not found."""
    inside = not header
    start = 0
    for number, line in enumerate(_lines(text), 1):
        bare = line.strip()
        if bare.startswith("["):
            name = bare.strip("[]# \t").replace('"', "").replace("'", "")
            if header and name == header:
                inside, start = True, number
            elif header and name == f"{header}.{key}":
                return number
            elif inside and not (header and name.startswith(header + ".")):
                inside = False
        elif inside and re.match(rf"[\"']?{re.escape(key)}[\"']?\s*[=.]", bare):
            return number
    return start


@dataclass(eq=False)
class Fields:
    """One table being read; every wrong field is noted, and `done` raises them all at once.

    `text` is for line numbers, `header` the [header] it stands under, `label` put before field names,
    `options` the keys that came from the command line, and `called` those options that are not called
    as their key is.
    """

    table: Mapping[str, Any]
    file: str = ""
    text: str = ""
    header: str = ""
    label: str = ""
    options: frozenset[str] = frozenset()
    called: Mapping[str, str] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    asked: set[str] = field(default_factory=set)

    def fault(self, key: str, rule: str, value: Any = None) -> None:
        """Note one fault of a key."""
        if key in self.options:
            called = self.called.get(key, key).replace("_", "-")
            self.faults.append(Fault(f"--{called}", rule, value))
            return
        line = line_of(self.text, key.partition(".")[0], self.header) if self.text else 0
        named = f"{self.label}.{key}" if self.label else key
        self.faults.append(Fault(named, rule, value, self.file, line))

    def given(self, key: str) -> bool:
        """Whether the table has a key."""
        return key in self.table

    def take(self, key: str, default: Any = MISSING) -> Any:
        """The raw value of a key, or its default; a fault when it is missing and has none."""
        self.asked.add(key)
        if key in self.table:
            return self.table[key]
        if default is MISSING:
            self.fault(key, "is missing")
            return None
        return default

    def via(self, key: str, parse: Callable[[Any], T], default: Any = MISSING) -> T | Any:
        """A value through a parser that raises `BadInput`; the default where it is absent or bad."""
        missing = key not in self.table
        value = self.take(key, default)
        if missing:
            return value
        try:
            return parse(value)
        except BadInput as error:
            for fault in error.faults:
                inner = fault.field.removeprefix(f"{key}.")
                at = fault.field if inner != fault.field else key
                self.fault(at, fault.rule, fault.value)
            return None if default is MISSING else default

    def number(self, key: str, low: float, high: float, default: Any = MISSING) -> Any:
        """A finite number within bounds, inclusive."""
        return self.via(key, lambda v: number(key, v, low, high), default)

    def whole(self, key: str, low: int, high: int, default: Any = MISSING) -> Any:
        """A whole number within bounds, inclusive."""
        return self.via(key, lambda v: whole(key, v, low, high), default)

    def choice(self, key: str, known: Sequence[str], default: Any = MISSING) -> Any:
        """One of a few words."""
        return self.via(key, lambda v: one_of(key, v, known), default)

    def string(self, key: str, longest: int = 200, default: Any = MISSING) -> Any:
        """A text with something in it, whole on one line."""
        return self.via(key, lambda v: line_text(key, v, longest), default)

    def length(self, key: str, low: float, high: float, default: Any = MISSING) -> Any:
        """A length as a coach writes it, within bounds [m]."""
        return self.via(key, lambda v: parse_length(v, key, lowest=low, highest=high), default)

    def flag(self, key: str) -> bool:
        """True or false; false where it is absent."""

        def parse(value: Any) -> bool:
            if not isinstance(value, bool):
                raise refuse(key, "must be true or false", value)
            return value

        return bool(self.via(key, parse, False))

    def slug(self, name: str) -> None:
        """Note a name that no option could give."""
        if not is_slug(name):
            self.fault("name", SLUG_RULE, name)

    def strings(self, key: str, least: int, most: int, longest: int, default: Any = MISSING) -> Any:
        """A list of one-line texts."""

        def parse(value: Any) -> tuple[str, ...]:
            if not isinstance(value, list) or not least <= len(value) <= most:
                raise refuse(key, f"must be a list of {least} to {most} texts", value)
            return tuple(line_text(key, item, longest) for item in value)

        return self.via(key, parse, default)

    def done(self) -> None:
        """Raise every fault found, unknown keys included."""
        unknown = [key for key in self.table if key not in self.asked]
        for key in unknown[:MOST_TOLD]:
            self.fault(key, f"is not a known field{nearest(key, self.asked)}")
        if len(unknown) > MOST_TOLD:
            self.fault("fields", f"{len(unknown) - MOST_TOLD} more are not known")
        if self.faults:
            raise BadInput(self.faults)


def shipped(name: str) -> Whence:
    """A file of the catalogue that comes with Phasemark."""
    from importlib.resources import files

    text = files("layout.catalogue").joinpath(name).read_text(encoding="utf-8")
    return tomllib.loads(text), name, text


def own_file(path: Path) -> Whence:
    """A coach's own TOML file."""
    table, text = read_toml(path)
    return table, str(path), text


def read_entries(key: str, read: Callable[[str, Fields], T], whence: Whence) -> dict[str, T]:
    """Read every [key.name] of a file, noting every fault of every entry before refusing."""
    table, file, text = whence
    entries = table.get(key)
    faults = [
        Fault(other, f"is not known here; entries stand under [{key}.name]", None, file)
        for other in table
        if other != key
    ]
    if isinstance(entries, Mapping) and len(entries) > MOST_ENTRIES:
        rule = f"at most {MOST_ENTRIES} [{key}.name] allowed"
        raise BadInput([Fault(key, rule, len(entries), file)])
    if not isinstance(entries, Mapping) or not entries:
        faults.append(Fault(key, f"at least one [{key}.name] needed", None, file))
        entries = {}
    out: dict[str, T] = {}
    for name, entry in entries.items():
        if len(faults) > MOST_TOLD:  # more are not told, and each costs a search
            break
        try:
            if not isinstance(entry, Mapping):
                raise BadInput([Fault(f"{key}.{name}", "must be a table", entry, file)])
            label = f"{key}.{name}"
            out[name] = read(name, Fields(entry, file, text, label, label))
        except BadInput as error:
            faults += error.faults
    if faults:
        raise BadInput(faults)
    return out


def number(field: str, value: Any, low: float, high: float) -> float:
    """Check a finite number within bounds."""
    fine = isinstance(value, int | float) and not isinstance(value, bool)
    # Bounds before isfinite: a whole number may be too large for a float.
    if not fine or not low <= value <= high or not math.isfinite(value):
        raise refuse(field, f"must be a number from {low:g} to {high:g}", value)
    return float(value)


def number_in(text: str) -> float | None:
    """A number written with a point or a comma, or None; never a thousands sign.

    >>> number_in("312,5"), number_in(" -3.0 "), number_in("1.234,5"), number_in("nan")
    (312.5, -3.0, None, None)
    """
    bare = text.strip().translate(_DASHES)
    found = len(bare) <= LONGEST_WORD and _NUMBER.fullmatch(bare)
    return float(bare.replace(",", ".")) + 0.0 if found else None


def read_number(field: str, text: str, low: float, high: float, unit: str = "") -> float:
    """A number typed with a decimal point or comma and perhaps its unit."""
    found = number_in(text.strip().lower().removesuffix(unit))
    if found is None or not low <= found <= high:
        raise refuse(field, f"must be a number from {low:g} to {high:g} {unit}".rstrip(), text)
    return found


def number_or_text(field: str, value: Any, low: float, high: float, unit: str = "") -> float:
    """A number as a file holds it, or as it is typed."""
    if isinstance(value, str):
        return read_number(field, value, low, high, unit)
    return number(field, value, low, high)


def read_count(field: str, text: str, low: int, high: int) -> int:
    """A whole number as it is typed."""
    found = number_in(text)
    exact = found is not None and found.is_integer()
    return whole(field, int(found or 0) if exact else text, low, high)


def whole(field: str, value: Any, low: int, high: int) -> int:
    """Check a whole number within bounds."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise refuse(field, f"must be a whole number from {low} to {high}", value)
    return value


def one_of(field: str, value: Any, known: Sequence[str]) -> str:
    """Check a word out of a few."""
    if not isinstance(value, str) or value not in known:
        rule = f"must be one of {', '.join(known)}{nearest(str(value), known)}"
        raise refuse(field, rule, value)
    return value


def line_text(field: str, value: Any, longest: int) -> str:
    """Check a one-line text."""
    if not isinstance(value, str) or not value.strip():
        raise refuse(field, "must be a text", value)
    if len(value) > longest:
        raise refuse(field, f"at most {longest} characters allowed", value)
    if not is_line(value):
        raise refuse(field, "must be one line of printable text", value)
    return value.strip()
