"""What is wrong with an input, as one line a coach can act on."""

from __future__ import annotations

import os
import reprlib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from animate.refused import Refused

MOST_TOLD: Final = 40
"""Faults told of one input: enough to mend it by, and no flood."""
_LONGEST: Final = {"file": 300, "field": 120, "rule": 600}
"""Characters of each part of a fault that are told."""
OVERWRITE: Final = " (--overwrite replaces it)"
JOINERS: Final = "\u200c\u200d"
"""Signs without a width that tell letters of some scripts to join or not."""
_JOINED: Final = (
    "ARABIC", "SYRIAC", "MANDAIC", "NKO", "MONGOLIAN", "THAANA", "DEVANAGARI", "BENGALI", "GURMUKHI",
    "GUJARATI", "ORIYA", "TAMIL", "TELUGU", "KANNADA", "MALAYALAM", "SINHALA", "MYANMAR", "KHMER",
    "TIBETAN",
)  # fmt: skip


_LONG: Final = 60
"""Characters of a value that are told."""
_BRIEF: Final = reprlib.Repr()
"""Shows only the first things of a list or table, however long and deep it is."""
_BRIEF.maxlist = _BRIEF.maxtuple = _BRIEF.maxdict = _BRIEF.maxset = _BRIEF.maxfrozenset = 30
_BRIEF.maxlevel, _BRIEF.maxstring, _BRIEF.maxother, _BRIEF.maxlong = 4, _LONG, _LONG, _LONG


def _joins(text: str, at: int) -> bool:
    """Whether a joiner stands between two letters of a script that has a use for it."""
    around = (text[at - 1] if at else "", text[at + 1 : at + 2])
    return all(
        c and unicodedata.category(c)[0] in "LM" and unicodedata.name(c, "").startswith(_JOINED)
        for c in around
    )


def is_line(text: str) -> bool:
    """Whether a text is one line that shows what it is: nothing unseen but joiners in their place.

    >>> is_line("Imka"), is_line("\u0645\u06cc\u200c\u062f"), is_line("Im\u200cka")
    (True, True, False)
    """
    return printable(text) == text


def printable(text: str) -> str:
    """A text on one line: what does not print is written out."""
    if text.isprintable():
        return text
    return "".join(
        c if c.isprintable() or (c in JOINERS and _joins(text, i)) else repr(c)[1:-1]
        for i, c in enumerate(text)
    )


def shown(value: Any) -> str:
    """A value as one short printable line, never with control characters.

    >>> shown("a\\nb")
    "'a\\\\nb'"
    """
    try:
        if isinstance(value, str):
            text = repr(value[: _LONG + 1])
        elif isinstance(value, list | tuple | dict | set | frozenset):
            text = _BRIEF.repr(value)
        else:
            text = str(value)
    except ValueError:  # a whole number of thousands of digits
        text = "a number too long to show"
    return clipped(printable(text[: _LONG + 1]), _LONG)


def clipped(text: str, longest: int) -> str:
    """A text of at most so many characters; … says where more was.

    >>> clipped("abcdef", 4)
    'abc…'
    """
    return text if len(text) <= longest else text[: longest - 1] + "…"


@dataclass(frozen=True)
class Fault:
    """One thing wrong: the field, the rule it breaks, the value given, the file and line if known.

    The file as the coach gave it, empty when the value did not come from one; lines from 1, 0 unknown.
    """

    field: str
    rule: str
    value: Any = None
    file: str = ""
    line: int = 0

    def __str__(self) -> str:
        file, field, rule = (clipped(getattr(self, p), n) for p, n in _LONGEST.items())
        place = f"{file}: " if file else ""
        if self.line:
            place = f"{file}:{self.line}: " if file else f"line {self.line}: "
        given = "" if self.value is None else f", got {shown(self.value)}"
        return printable(f"{place}{field}: {rule}{given}")


class BadInput(ValueError):
    """Input that cannot be used; carries every fault found, each printed on its own line."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))

    def told(self) -> tuple[str, ...]:
        """One line a fault, and how many more there are where they are many."""
        over = len(self.faults) - MOST_TOLD
        more = [f"and {over} more; mend these first"] if over > 0 else []
        return (*(str(f) for f in self.faults[:MOST_TOLD]), *more)

    def at(self, file: str, line: int = 0) -> BadInput:
        """The same faults, placed in a file where they had no place yet."""
        return BadInput(
            f if f.file else replace(f, file=file, line=f.line or line) for f in self.faults
        )


def not_written(
    error: Refused, path: str | os.PathLike[str], field: str = "output", ask: str = OVERWRITE
) -> BadInput:
    """Why a file was not written, in the words of the command line; `ask` is how to replace one."""
    rule = error.rule.replace(" (overwrite it?)", ask)
    return BadInput([Fault(field, rule, None, os.fspath(path))])


def refuse(field: str, rule: str, value: Any = None) -> BadInput:
    """A `BadInput` with one fault, ready to raise."""
    return BadInput([Fault(field, rule, value)])
